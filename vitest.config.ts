import { defineConfig } from 'vitest/config';

/** Tests that run the command line or a browser, each file alone. */
const RUNS = ['tests/cli/**/*.test.ts', 'tests/browser/**/*.test.ts'];

export default defineConfig({
  resolve: { conditions: ['duskbank-source'] },
  ssr: { resolve: { conditions: ['duskbank-source', 'import', 'node', 'default'] } },
  test: {
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // Vitest leaves one core idle: of two, half.
    maxWorkers: '100%',
    projects: [
      // All others call the core, which keeps no state (tests/unit/structure.test.ts), so files share one loaded copy:
      // loading it anew for each took half of their time.
      { extends: true, test: { name: 'core', include: ['tests/**/*.test.ts'], exclude: RUNS, isolate: false } },
      { extends: true, test: { name: 'runs', include: RUNS } },
    ],
    // The count that a server reads is made from the JSON.
    reporters:
      process.env.CI === undefined ? ['default'] : ['default', ['json', { outputFile: '.test-results/vitest.json' }]],
  },
});
