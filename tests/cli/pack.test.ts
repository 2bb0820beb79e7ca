import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { dirname, join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { build } from 'esbuild';
import { beforeAll, describe, expect, test } from 'vitest';
import { LICENCES } from '../../packages/cli/notices.ts';
import { folderWith, ROOT } from './support.ts';

const CORE = join(ROOT, 'packages/core');
const manifest = JSON.parse(readFileSync(join(CORE, 'package.json'), 'utf8'));
const SUBPATHS = readdirSync(join(CORE, 'src'), { withFileTypes: true })
  .filter((entry) => entry.isDirectory() && existsSync(join(CORE, 'src', entry.name, 'index.ts')))
  .map((entry) => entry.name);
const SPECIFIERS = ['@duskbank/core', ...SUBPATHS.map((name) => `@duskbank/core/${name}`)];

/** Packs a package as it would be published, and unpacks it into a folder. */
function packInto(folder: string, destination: string, unpacked: string): void {
  // pnpm names itself to what it runs; else the version that the workspace states is fetched.
  const script = process.env.npm_execpath;
  const pack = ['pack', '--pack-destination', destination];
  // It may be a script for Node or a program of its own.
  if (script !== undefined && /pnpm\.[cm]?js$/.test(script))
    execFileSync(process.execPath, [script, ...pack], { cwd: folder, stdio: 'pipe' });
  else if (script?.endsWith('pnpm')) execFileSync(script, pack, { cwd: folder, stdio: 'pipe' });
  else {
    const { packageManager } = JSON.parse(readFileSync(join(ROOT, 'package.json'), 'utf8'));
    execFileSync('npx', ['--yes', packageManager, ...pack], { cwd: folder, stdio: 'pipe' });
  }
  const tarball = readdirSync(destination).find((name) => name.endsWith('.tgz'))!;
  mkdirSync(unpacked, { recursive: true });
  execFileSync('tar', ['-xzf', join(destination, tarball), '-C', unpacked, '--strip-components=1']);
}

interface Component {
  readonly name: string;
  readonly group?: string;
  readonly version: string;
}

/** What the bill of materials of an unpacked package lists, without our own. */
function componentsOf(unpacked: string): string[] {
  const { components } = JSON.parse(readFileSync(join(unpacked, 'dist/bom.cdx.json'), 'utf8'));
  return (components as Component[])
    .filter(({ group }) => group !== '@duskbank')
    .map(({ group, name, version }) => `${group === undefined ? '' : `${group}/`}${name}@${version}`);
}

/** A package as it is installed: `name@version`. */
function installed(nameAndVersion: string): { license: string; scripts?: Record<string, string>; folder: string } {
  const name = nameAndVersion.slice(0, nameAndVersion.lastIndexOf('@'));
  const folder = join(ROOT, 'node_modules/.pnpm', nameAndVersion.replace('/', '+'), 'node_modules', name);
  return { ...JSON.parse(readFileSync(join(folder, 'package.json'), 'utf8')), folder };
}

describe('the packed core package, unpacked in a folder of its own', () => {
  const consumer = folderWith({ 'package.json': '{"type": "module"}' });
  const unpacked = join(consumer, 'node_modules/@duskbank/core');

  beforeAll(() => {
    packInto(CORE, consumer, unpacked);
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
    expect(built.filter((name) => /\.\w+$/.test(name) && !/\.(js|d\.ts)$/.test(name))).toEqual(['bom.cdx.json']);
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
    // With their checks 35.0 (a store that decays, planned and followed by runs, counts 2.3 of it, plain plans followed run by run count 0.9 of it, names of files in marks that they can't end count 0.2 of it, classes of power chosen and bounded period by period, and netted energy that a minimum bill counts, count 1.0 of it, blocks that a minimum bill counts and what is tried with less allowed count 0.7 of it, several peaks of a month lowered together count 0.5 of it, multipliers sought within classes of power and a schedule that sells nothing count 0.2 of it, classes of power, minimum bills that count demand and charges on one peak count 1.1 of it, mixtures of schedules count 3.0 of it, the least of a minimum bill 0.8, what is sold on a meter of its own 0.1) and 6.4 kB (stretches of an outage read from one sum count 0.7, those marks 0.2, steps too cold to charge count 0.1, a floor as it was known 0.2).
    ['optimalDispatch', '@duskbank/core/dispatch', 35_300],
    ['optimalDispatch', '@duskbank/core', 35_300],
    ['backupHours', '@duskbank/core/outage', 6_600],
    ['backupHours', '@duskbank/core', 6_600],
  ])('%s of %s alone is small, and carries no library of the schemas', async (name, specifier, mostBytes) => {
    const { gzipBytes, inputs } = await bundleOf(name, specifier);
    expect(gzipBytes).toBeGreaterThan(500);
    expect(gzipBytes).toBeLessThanOrEqual(mostBytes);
    expect(inputs.filter((path) => path.includes('@duskbank/core/src'))).toEqual([]);
    expect(inputs.filter((path) => /node_modules\/(zod|papaparse|luxon|saxes|fflate)\//.test(path))).toEqual([]);
  });
});

describe('what others wrote and we hand on', () => {
  const folder = folderWith({});
  const [core, cli] = ['core', 'cli'].map((name) => join(folder, 'unpacked', name)) as [string, string];

  beforeAll(() => {
    for (const [name, unpacked] of [
      ['core', core],
      ['cli', cli],
    ] as const) {
      const destination = join(folder, 'packed', name);
      mkdirSync(destination, { recursive: true });
      packInto(join(ROOT, 'packages', name), destination, unpacked);
    }
  });

  test('core’s bill of materials lists its dependencies, and none of what only tests and builds need', () => {
    const names = componentsOf(core).map((each) => each.slice(0, each.lastIndexOf('@')));
    expect(names).toEqual(expect.arrayContaining(Object.keys(manifest.dependencies)));
    expect(names).not.toContain('tsdown');
    expect(names).not.toContain('vitest');
  });

  test('the command line’s tarball has its licence, a notice of each package with code in it, and lists them', async () => {
    expect(readdirSync(cli).sort()).toEqual(['LICENSE', 'bin', 'dist', 'package.json']);
    const noticed = readFileSync(join(cli, 'dist/NOTICES.txt'), 'utf8')
      .split(`${'-'.repeat(80)}\n\n`)
      .slice(1)
      .map((notice) => ({ title: notice.split('\n')[0]!, text: notice }));
    // Another bundler finds by itself what the program draws in.
    const { metafile } = await build({
      entryPoints: [join(ROOT, 'packages/cli/src/main.ts')],
      bundle: true,
      splitting: true,
      format: 'esm',
      platform: 'node',
      conditions: ['duskbank-source'],
      outdir: join(folder, 'other'),
      metafile: true,
      write: false,
    });
    const drawnIn = Object.values(metafile.outputs).flatMap(({ inputs }) =>
      Object.entries(inputs).flatMap(([path, { bytesInOutput }]) => {
        const name = /^.*node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(path)?.[1];
        return name === undefined || bytesInOutput === 0 ? [] : [name];
      }),
    );
    const names = noticed.map(({ title }) => title.split(' ')[0]!);
    expect([...new Set(drawnIn)].filter((name) => !names.includes(name))).toEqual([]);
    expect(names.length).toBeGreaterThan(8);
    for (const { title, text } of noticed) {
      const [name, version] = title.split(' ') as [string, string];
      expect(componentsOf(cli)).toContain(`${name}@${version}`);
      expect(text, name).toMatch(/Permission (?:is hereby granted|to use, copy, modify)|holds no text of the licence/);
    }
  });

  test('all of it is under a licence that we accept, and runs nothing when it is installed', () => {
    const all = [...new Set([...componentsOf(core), ...componentsOf(cli)])];
    expect(all.length).toBeGreaterThan(10);
    for (const each of all) {
      const { license, scripts = {}, folder: where } = installed(each);
      expect(LICENCES, each).toContain(license);
      for (const hook of ['preinstall', 'install', 'postinstall']) expect(scripts[hook], each).toBeUndefined();
      // npm would build it with a compiler, asked or not.
      expect(existsSync(join(where, 'binding.gyp')), each).toBe(false);
    }
  });
});
