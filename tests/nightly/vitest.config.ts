import { defineConfig, mergeConfig } from 'vitest/config';
import main from '../../vitest.config.ts';

const nightly = mergeConfig(main, defineConfig({}));
nightly.test = {
  ...nightly.test,
  projects: undefined,
  // Arguments of exported functions: ten times as many as the law tries, from the night's seed.
  include: ['tests/nightly/**/*.nightly.ts', 'tests/laws/door/door.test.ts'],
  // Memory that V8 could collect and doesn't is none that a file takes.
  execArgv: ['--expose-gc', '--max-old-space-size=400'],
  maxWorkers: 5,
  env: { DOOR_CALLS: '600', DOOR_SEED: process.env.NIGHTLY_SEED ?? '1' },
  reporters: ['default'],
};
export default nightly;
