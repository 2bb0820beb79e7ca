import { defineConfig } from 'tsdown';

export default defineConfig({
  entry: ['src/index.ts', 'src/*/index.ts'],
  format: 'esm',
  platform: 'neutral',
  target: 'es2022',
  dts: true,
  clean: true,
  // A file a source file: what a page doesn't import it doesn't carry. Joined into chunks, one name brought all schemas.
  unbundle: true,
});
