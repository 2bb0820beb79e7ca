import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { dirname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { beforeAll, describe, expect, test } from 'vitest';
import { folderWith, ROOT } from './support.ts';

const CORE = join(ROOT, 'packages/core');
const manifest = JSON.parse(readFileSync(join(CORE, 'package.json'), 'utf8'));
const SUBPATHS = readdirSync(join(CORE, 'src'), { withFileTypes: true })
  .filter((entry) => entry.isDirectory() && existsSync(join(CORE, 'src', entry.name, 'index.ts')))
  .map((entry) => entry.name);
const SPECIFIERS = ['@duskbank/core', ...SUBPATHS.map((name) => `@duskbank/core/${name}`)];

describe('the packed core package, unpacked in a folder of its own', () => {
  const consumer = folderWith({ 'package.json': '{"type": "module"}' });
  const unpacked = join(consumer, 'node_modules/@duskbank/core');

  beforeAll(() => {
    // pnpm names itself to what it runs; else the version that the workspace states is fetched.
    const script = process.env.npm_execpath;
    const pack = ['pack', '--pack-destination', consumer];
    // It may be a script for Node or a program of its own.
    if (script !== undefined && /pnpm\.[cm]?js$/.test(script))
      execFileSync(process.execPath, [script, ...pack], { cwd: CORE, stdio: 'pipe' });
    else if (script?.endsWith('pnpm')) execFileSync(script, pack, { cwd: CORE, stdio: 'pipe' });
    else {
      const { packageManager } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
      execFileSync('npx', ['--yes', packageManager, ...pack], { cwd: CORE, stdio: 'pipe' });
    }
    const tarball = readdirSync(consumer).find((name) => name.endsWith('.tgz'))!;
    mkdirSync(unpacked, { recursive: true });
    execFileSync('tar', ['-xzf', join(consumer, tarball), '-C', unpacked, '--strip-components=1']);
    for (const name of Object.keys(manifest.dependencies)) {
      const link = join(consumer, 'node_modules', name);
      mkdirSync(dirname(link), { recursive: true });
      symlinkSync(join(CORE, 'node_modules', name), link);
    }
  });

  test('every folder of the source is a sub-path that plain Node imports, and the root works', () => {
    const program = `
      const out = {};
      for (const name of ${JSON.stringify(SPECIFIERS)}) out[name] = Object.keys(await import(name)).length;
      const { parseIntervalData } = await import('@duskbank/core/meter');
      out.read = parseIntervalData('start,load kWh\\n2026-01-01T00:00Z,1\\n2026-01-01T01:00Z,2\\n2026-01-01T02:00Z,3\\n', { zone: 'UTC' }).series.axis.intervals;
      console.log(JSON.stringify(out));`;
    const run = spawnSync(process.execPath, ['--input-type=module', '-e', program], {
      cwd: consumer,
      encoding: 'utf8',
    });
    expect(run.stderr).toBe('');
    const exported = JSON.parse(run.stdout);
    for (const name of SPECIFIERS) expect(exported[name], name).toBeGreaterThan(0);
    expect(exported.read).toBe(3);
  });

  test('each has types, which a strict program sees', () => {
    for (const name of SUBPATHS) expect(existsSync(join(unpacked, 'dist', name, 'index.d.ts')), name).toBe(true);
    writeFileSync(
      join(consumer, 'use.ts'),
      `${SPECIFIERS.map((name, k) => `import * as m${k} from '${name}';`).join('\n')}
import { compareReportSchema, type CompareReport } from '@duskbank/core/study';
const total: number = (compareReportSchema.parse({}) as CompareReport).baseline.bill.total;
// @ts-expect-error - the field is a number
const wrong: string = total;
export { wrong, ${SPECIFIERS.map((_, k) => `m${k}`).join(', ')} };
`,
    );
    const flags = ['--noEmit', '--strict', '--module', 'nodenext', '--target', 'es2022', '--skipLibCheck'];
    const run = spawnSync(process.execPath, [join(ROOT, 'node_modules/typescript/bin/tsc'), ...flags, 'use.ts'], {
      cwd: consumer,
      encoding: 'utf8',
    });
    expect(run.stdout).toBe('');
    expect(run.status).toBe(0);
  });

  test('what is built imports nothing of Node, and nothing that isn’t a dependency', () => {
    const scripts = readdirSync(join(unpacked, 'dist'), { recursive: true })
      .map(String)
      .filter((name) => name.endsWith('.js'));
    expect(scripts.length).toBeGreaterThanOrEqual(SPECIFIERS.length);
    const imported = new Set<string>();
    for (const name of scripts)
      for (const match of readFileSync(join(unpacked, 'dist', name), 'utf8').matchAll(
        /^(?:import|export)\b[^'"\n]*?["']([^"'\n]+)["'];?$|\bimport\(["']([^"']+)["']\)|\brequire\(["']([^"']+)["']\)/gm,
      )) {
        const specifier = match[1] ?? match[2] ?? match[3]!;
        if (!specifier.startsWith('.')) imported.add(specifier);
      }
    expect([...imported].filter((name) => name.startsWith('node:') || builtinModules.includes(name))).toEqual([]);
    expect(imported.size).toBeGreaterThan(0);
    for (const name of imported) expect(Object.keys(manifest.dependencies)).toContain(name);
  });

  test('the tarball holds what it must and nothing else', () => {
    expect(readdirSync(unpacked).sort()).toEqual(['LICENSE', 'README.md', 'dist', 'package.json']);
    const built = readdirSync(join(unpacked, 'dist'), { recursive: true, encoding: 'utf8' });
    expect(built.filter((name) => /\.\w+$/.test(name) && !/\.(js|d\.ts)$/.test(name))).toEqual([]);
  });

  /** What a page that imports one name carries: bundled, minified, gzipped. */
  async function bundleOf(name: string, specifier: string): Promise<{ gzipBytes: number; inputs: string[] }> {
    const { outputFiles, metafile } = await build({
      stdin: { contents: `export { ${name} } from '${specifier}';`, resolveDir: consumer },
      bundle: true,
      minify: true,
      format: 'esm',
      platform: 'browser',
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
    // With their checks 23.5 (what is sold on a meter of its own counts 0.1 of it) and 5.3 kB (steps too cold to charge count 0.1).
    ['optimalDispatch', '@duskbank/core/dispatch', 23_600],
    ['optimalDispatch', '@duskbank/core', 23_600],
    ['backupHours', '@duskbank/core/outage', 5_300],
    ['backupHours', '@duskbank/core', 5_300],
  ])('%s of %s alone is small, and carries no library of the schemas', async (name, specifier, mostBytes) => {
    const { gzipBytes, inputs } = await bundleOf(name, specifier);
    expect(gzipBytes).toBeGreaterThan(500);
    expect(gzipBytes).toBeLessThanOrEqual(mostBytes);
    expect(inputs.filter((path) => path.includes('@duskbank/core/src'))).toEqual([]);
    expect(inputs.filter((path) => /node_modules\/(zod|papaparse|luxon|saxes|fflate)\//.test(path))).toEqual([]);
  });
});
