import { defineConfig } from 'vitest/config';

export default defineConfig({
  resolve: { conditions: ['duskbank-source'] },
  ssr: { resolve: { conditions: ['duskbank-source', 'import', 'node', 'default'] } },
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 120_000,
    hookTimeout: 120_000,
    // Vitest leaves one core idle: of two, half.
    maxWorkers: '100%',
    // The count that a server reads is made from the JSON.
    reporters:
      process.env.CI === undefined ? ['default'] : ['default', ['json', { outputFile: '.test-results/vitest.json' }]],
  },
});
