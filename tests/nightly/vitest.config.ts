import { defineConfig, mergeConfig } from 'vitest/config';
import main from '../../vitest.config.ts';

const nightly = mergeConfig(main, defineConfig({}));
nightly.test = {
  ...nightly.test,
  projects: undefined,
  include: ['tests/nightly/**/*.nightly.ts'],
  reporters: ['default'],
};
export default nightly;
