import { defineConfig, mergeConfig } from 'vitest/config';
import main from '../../vitest.config.ts';

const nightly = mergeConfig(main, defineConfig({}));
nightly.test = {
  ...nightly.test,
  projects: undefined,
  // Arguments of exported functions: ten times as many as the law tries, from the night's seed.
  include: ['tests/nightly/**/*.nightly.ts', 'tests/laws/door/door.test.ts'],
  env: { DOOR_CALLS: '600', DOOR_SEED: process.env.NIGHTLY_SEED ?? '1' },
  reporters: ['default'],
};
export default nightly;
