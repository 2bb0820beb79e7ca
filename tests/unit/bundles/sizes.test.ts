import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { expect, test } from 'vitest';

const ROOT = join(import.meta.dirname, '../../..');

/** What a page that imports one name of core carries: bundled, minified, gzipped. */
async function bundleOf(name: string, folder: string): Promise<{ gzipBytes: number; inputs: string[] }> {
  const { outputFiles, metafile } = await build({
    stdin: { contents: `export { ${name} } from '@duskbank/core/${folder}';`, resolveDir: ROOT },
    bundle: true,
    minify: true,
    format: 'esm',
    platform: 'browser',
    conditions: ['duskbank-source'],
    write: false,
    metafile: true,
  });
  // What has bytes in the bundle: what was looked through and left out doesn't count.
  const [output] = Object.values(metafile.outputs);
  const inputs = Object.entries(output!.inputs).flatMap(([path, { bytesInOutput }]) =>
    bytesInOutput > 0 ? [path] : [],
  );
  return { gzipBytes: gzipSync(outputFiles[0]!.contents, { level: 9 }).length, inputs };
}

test.each([
  // With their checks 23.5 (what is sold on a meter of its own counts 0.1 of it) and 4.9 kB.
  ['optimalDispatch', 'dispatch', 23_600],
  ['backupHours', 'outage', 5_200],
])('%s alone is small, and carries no library of the schemas', async (name, folder, mostBytes) => {
  const { gzipBytes, inputs } = await bundleOf(name, folder);
  expect(gzipBytes).toBeGreaterThan(500);
  expect(gzipBytes).toBeLessThanOrEqual(mostBytes);
  expect(inputs.filter((path) => /node_modules\/(zod|papaparse|luxon)\//.test(path))).toEqual([]);
});
