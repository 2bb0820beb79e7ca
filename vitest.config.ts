import { defineConfig } from 'vitest/config';

export default defineConfig({
  resolve: { conditions: ['duskbank-source'] },
  ssr: { resolve: { conditions: ['duskbank-source', 'import', 'node', 'default'] } },
  test: {
    include: ['tests/**/*.test.ts'],
    testTimeout: 60_000,
  },
});
