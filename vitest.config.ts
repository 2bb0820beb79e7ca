import { defineConfig } from 'vitest/config';

/** Tests that run the command line or a browser, or weigh time, which what others left to be collected would add to: each file alone. */
const ALONE = ['tests/cli/**/*.test.ts', 'tests/browser/**/*.test.ts', 'tests/laws/growth*.test.ts'];

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
      { extends: true, test: { name: 'core', include: ['tests/**/*.test.ts'], exclude: ALONE, isolate: false } },
      { extends: true, test: { name: 'alone', include: ALONE } },
    ],
    // The count that a server reads is made from the JSON.
    reporters:
      process.env.CI === undefined ? ['default'] : ['default', ['json', { outputFile: '.test-results/vitest.json' }]],
  },
});
