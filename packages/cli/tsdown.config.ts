import { defineConfig } from 'tsdown';
import { notices } from './notices.ts';

export default defineConfig({
  entry: ['src/main.ts'],
  format: 'esm',
  platform: 'node',
  target: 'node20',
  dts: false,
  outExtensions: () => ({ js: '.js' }),
  sourcemap: false,
  clean: true,
  minify: true,
  deps: { alwaysBundle: [/.*/] },
  plugins: [notices()],
  inputOptions: { resolve: { conditionNames: ['duskbank-source', 'import', 'node', 'default'] } },
});
