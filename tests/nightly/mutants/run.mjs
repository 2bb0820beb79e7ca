// Do the tests fail when the code is wrong? Builds single faults into a copy of core and runs the tests that come by each.
//   node tests/nightly/mutants/run.mjs [--count 200] [--seed 1] [--since REF] [--folder tariff] [--workers 2]
//     [--budget SECONDS] of tests a fault, its own folder's and kept answers first; what is left of them isn't run [--tests tests/unit --tests tests/laws …]
//     [--golden compare --golden outage …] of tests/cli: whole runs of the command line, which what lived is tried with [--golden none]
// Prints one line a fault, ends with the score, and writes .test-results/mutants.md. Changes nothing in this tree.
import { execFileSync, spawn } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { availableParallelism, tmpdir } from 'node:os';
import { dirname, join, relative, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { faultsOf, sampled, withFaults } from './choose.mjs';

const { values } = parseArgs({
  options: {
    count: { type: 'string', default: '200' },
    seed: { type: 'string', default: process.env.NIGHTLY_SEED ?? '1' },
    since: { type: 'string' },
    folder: { type: 'string' },
    workers: { type: 'string', default: String(availableParallelism()) },
    budget: { type: 'string', default: 'Infinity' },
    // Of core alone, in one process: these are quick.
    tests: { type: 'string', multiple: true, default: ['tests/unit', 'tests/kept', 'tests/laws', 'tests/reference'] },
    // Those that hold a whole printed answer to a kept one, each run in a process of its own.
    golden: {
      type: 'string',
      multiple: true,
      default: 'baseline bill compare explain inspect no-battery outage planned settings tariff docs'.split(' '),
    },
  },
});
const HOME = resolve(import.meta.dirname, '../../..');
const SOURCES = 'packages/core/src';
/** The quickest tests first: most faults die there. */
const FIRST_SECONDS = 20;
/** A fault that makes tests this many times slower, or keeps them for two minutes more, is seen as one that hangs. */
const [SLOWER, SLOWER_SECONDS] = [10, 120];

const git = (...args) => execFileSync('git', args, { cwd: HOME, encoding: 'utf8' });

function changedLines(ref) {
  const changed = new Map();
  let path;
  for (const line of git('diff', '-U0', ref, '--', SOURCES).split('\n')) {
    if (line.startsWith('+++ b/')) path = line.slice(6);
    const hunk = /^@@ -\S+ \+(\d+)(?:,(\d+))? @@/.exec(line);
    if (hunk === null) continue;
    const [first, count] = [Number(hunk[1]), Number(hunk[2] ?? 1)];
    changed.set(path, [...(changed.get(path) ?? []), ...Array.from({ length: count }, (_, k) => first + k)]);
  }
  return changed;
}

function allFaults() {
  const changed = values.since === undefined ? undefined : changedLines(values.since);
  const byFolder = new Map();
  for (const path of git('ls-files', SOURCES).trim().split('\n')) {
    if (!path.endsWith('.ts')) continue;
    const folder = dirname(relative(SOURCES, path)).split('/').slice(0, 2).join('/');
    if (values.folder !== undefined && !folder.startsWith(values.folder)) continue;
    const text = readFileSync(join(HOME, path), 'utf8');
    const faults = faultsOf(text, path).map((fault) => ({
      ...fault,
      path,
      line: text.slice(0, fault.start).split('\n').length,
    }));
    const wanted = changed === undefined ? faults : faults.filter((f) => changed.get(path)?.includes(f.line));
    byFolder.set(folder, [...(byFolder.get(folder) ?? []), ...wanted]);
  }
  return byFolder;
}

/** A clone of the last commit with the faults asleep in it. */
function copyWith(faults) {
  const root = mkdtempSync(join(tmpdir(), 'duskbank-faults-'));
  const copy = join(root, 'main');
  git('clone', '--quiet', HOME, copy);
  const shared = resolve(HOME, '../shared');
  if (existsSync(shared)) symlinkSync(shared, join(root, 'shared'));
  execFileSync('npx', ['--yes', 'pnpm@12.4.2', 'install', '--prefer-offline', '--frozen-lockfile'], { cwd: copy });
  for (const path of new Set(faults.map((fault) => fault.path))) {
    const own = faults.filter((fault) => fault.path === path);
    const text = readFileSync(join(copy, path), 'utf8');
    if (own.some((fault) => text.slice(fault.start, fault.end) !== fault.from))
      throw new Error(`${path} differs from its last commit: commit it first`);
    writeFileSync(join(copy, path), withFaults(text, own));
  }
  writeFileSync(
    join(copy, 'faults.config.ts'),
    `import { defineConfig, mergeConfig } from 'vitest/config';
import main from './vitest.config.ts';
const config = mergeConfig(main, defineConfig({}));
config.test = {
  ...config.test,
  projects: undefined,
  isolate: false,
  setupFiles: ['./tests/nightly/mutants/switch.ts'],
  testTimeout: 900_000,
  hookTimeout: 900_000,
  experimental: { fsModuleCache: true },
  reporters: [['json', { outputFile: process.env.FAULT_REPORT }]],
};
export default config;
`,
  );
  return { root, copy };
}

/** Runs test files of the copy; resolves to what vitest reported, or `undefined` where it was stopped for its time. */
function runTests(copy, files, { alive, notes, options, met, workers = 1, seconds, name }) {
  const report = join(copy, `../report-${name}.json`);
  rmSync(report, { force: true });
  const env = { ...process.env, FAULT_REPORT: report, ALIVE_FAULT: String(alive ?? -1) };
  if (options !== undefined) env.NODE_OPTIONS = options;
  if (met !== undefined) env.MET_FAULTS = met;
  if (notes !== undefined) env.FAULT_NOTES = notes;
  const args = ['vitest', 'run', '--config', 'faults.config.ts', `--maxWorkers=${workers}`];
  if (alive !== undefined) args.push('--bail=1');
  const child = spawn('npx', [...args, ...files], { cwd: copy, env, stdio: 'ignore', detached: true });
  return new Promise((done) => {
    const late = seconds && setTimeout(() => process.kill(-child.pid, 'SIGKILL'), seconds * 1000);
    child.on('close', (status, signal) => {
      clearTimeout(late);
      if (signal !== null) return done(undefined);
      // A run that ends without its report broke before its first test: the fault did that.
      const { testResults } = existsSync(report) ? JSON.parse(readFileSync(report, 'utf8')) : { testResults: [] };
      done({ status, testResults });
    });
  });
}

const secondsOf = (file) => (file.endTime - file.startTime) / 1000;

/** The files in their order that fit into so many seconds together; the first one in any case. */
function within(files, seconds) {
  let sum = 0;
  return files.filter((file, k) => {
    const fits = k === 0 || sum + file.seconds <= seconds;
    if (fits) sum += file.seconds;
    return fits;
  });
}

/** What a process that isn't ours loads first: it wakes the fault of its environment, and notes which ones it met. */
const WAKES = `import { appendFileSync } from 'node:fs';
const met = new Set();
const alive = Number(process.env.ALIVE_FAULT);
globalThis.aliveFault ??= (id) => (met.add(id), id === alive);
if (process.env.MET_FAULTS) process.on('exit', () => appendFileSync(process.env.MET_FAULTS, [...met].join('\\n') + '\\n'));
`;

/** The golden files that pass with all faults asleep, with their time and the faults that their runs come by, quickest first. */
async function goldenFiles(root, copy) {
  const wakes = join(root, 'wakes.mjs');
  writeFileSync(wakes, WAKES);
  execFileSync('npx', ['--yes', 'pnpm@12.4.2', 'build'], { cwd: copy });
  const options = `--import ${wakes}`;
  const files = [];
  for (const name of values.golden.filter((own) => own !== 'none')) {
    const path = `tests/cli/${name}.test.ts`;
    const notesOf = join(root, `met-${name}`);
    writeFileSync(notesOf, '');
    const { status, testResults } = await runTests(copy, [path], { options, met: notesOf, name: 'golden' });
    if (status !== 0) process.stdout.write(`set aside, since it fails with all faults asleep: ${path}\n`);
    const met = new Set(readFileSync(notesOf, 'utf8').split('\n').map(Number));
    if (status === 0) files.push({ path, options, met, seconds: secondsOf(testResults[0]) });
  }
  return files.sort((a, b) => a.seconds - b.seconds);
}

async function verdictOf(copy, fault, files, slot) {
  if (files.length === 0) return { died: false, by: 'no test comes by' };
  // A whole run of the command line is slower, and few faults are left to try.
  const run = within(files, Number(values.budget) * (files[0].options === undefined ? 1 : 2));
  const first = within(run, FIRST_SECONDS);
  for (const stage of [first, run.filter((file) => !first.includes(file))]) {
    if (stage.length === 0) continue;
    const quiet = stage.reduce((total, file) => total + file.seconds, 0);
    const paths = stage.map((file) => file.path);
    const { options } = stage[0];
    const limits = { alive: fault.id, options, name: slot, seconds: quiet * SLOWER + SLOWER_SECONDS };
    const result = await runTests(copy, paths, limits);
    if (result === undefined) return { died: true, by: 'its time' };
    const failed = result.testResults.find((file) => file.status === 'failed');
    if (failed !== undefined) return { died: true, by: relative(copy, failed.name) };
    if (result.testResults.length === 0) return { died: true, by: 'nothing loads' };
    // A file whose process ends, out of memory say, stands in no report: the run says so by its status alone.
    if (result.status !== 0) return { died: true, by: 'a process that ended' };
  }
  return { died: false, by: `${run.length} of ${files.length} files that come by pass` };
}

const faults = sampled(allFaults(), Number(values.count), Number(values.seed));
process.stdout.write(`${faults.length} faults from seed ${values.seed}\n`);
const { root, copy } = copyWith(faults);
const notes = join(root, 'notes.jsonl');
const sound = await runTests(copy, values.tests, { notes, workers: values.workers, name: 'sound' });
// Tests that read the sources see the faults asleep there.
const failing = sound.testResults.filter((file) => file.status === 'failed').map((file) => relative(copy, file.name));
process.stdout.write(`set aside, since they fail with all faults asleep: ${failing.join(', ') || 'none'}\n`);
const taken = new Map(sound.testResults.map((file) => [relative(copy, file.name), secondsOf(file)]));
const reach = new Map(faults.map(({ id }) => [id, new Set()]));
const atLoad = new Set(faults.filter((fault) => fault.atLoad).map(({ id }) => id));
for (const line of readFileSync(notes, 'utf8').trim().split('\n')) {
  const note = JSON.parse(line);
  for (const id of note.met) reach.get(id).add(relative(copy, note.file));
  for (const id of note.loading) atLoad.add(id);
}
const sources = [...taken.keys()].filter((path) => !failing.includes(path));
/**
 * Files that come by a fault: those of its own folder first; in each group kept answers first, which look at whole outcomes, and the
 * quickest of these first. A fault of a schema meets every file while it loads: the documents made of schemas come before all others.
 */
function filesBy(fault) {
  const [folder] = fault.folder.split('/');
  const isKept = (path) => path.startsWith('tests/kept/');
  const isOwn = (path) => path.split('/')[2] === folder || path.includes(fault.folder.split('/').at(-1));
  const isMadeOf = (path) => /schema/.test(fault.path) && path.startsWith('tests/unit/docs/');
  return sources
    .filter((path) => atLoad.has(fault.id) || reach.get(fault.id).has(path))
    .map((path) => ({ path, seconds: taken.get(path), made: isMadeOf(path), own: isOwn(path), kept: isKept(path) }))
    .sort(
      (a, b) =>
        Number(b.made) - Number(a.made) ||
        Number(b.own) - Number(a.own) ||
        Number(b.kept) - Number(a.kept) ||
        a.seconds - b.seconds,
    );
}

/** Tries each of the faults with the files that come by it, as many at a time as there are workers, and tells each verdict. */
async function tried(untried, files) {
  const verdicts = [];
  const waiting = [...untried];
  await Promise.all(
    Array.from({ length: Number(values.workers) }, async (_, slot) => {
      for (let fault = waiting.shift(); fault !== undefined; fault = waiting.shift()) {
        const verdict = { fault, ...(await verdictOf(copy, fault, files(fault), slot)) };
        verdicts.push(verdict);
        const { path, line, from, to } = fault;
        const what = `${relative(SOURCES, path)}:${line} ${from} → ${to}`.replace(/\s+/g, ' ').slice(0, 160);
        process.stdout.write(`${verdict.died ? 'died    ' : 'SURVIVED'} ${what}  (${verdict.by})\n`);
      }
    }),
  );
  return verdicts;
}

const byCore = await tried(faults, filesBy);
process.stdout.write(`${byCore.filter((one) => one.died).length} of ${faults.length} died by tests of core\n`);
const golden = values.golden.includes('none') ? [] : await goldenFiles(root, copy);
const lived = byCore.filter((one) => !one.died).map((one) => one.fault);
const byGolden =
  golden.length === 0 ? [] : await tried(lived, (fault) => golden.filter((file) => file.met.has(fault.id)));
const verdicts = byCore.map((one) => byGolden.find((later) => later.died && later.fault === one.fault) ?? one);

const lines = ['| folder | faults | died | survived |', '|---|---|---|---|'];
for (const folder of new Set(faults.map((fault) => fault.folder))) {
  const own = verdicts.filter((verdict) => verdict.fault.folder === folder);
  const died = own.filter((verdict) => verdict.died).length;
  lines.push(`| ${folder} | ${own.length} | ${died} | ${own.length - died} |`);
}
const died = verdicts.filter((verdict) => verdict.died).length;
lines.push(`| all | ${verdicts.length} | ${died} | ${verdicts.length - died} |`, '');
for (const { fault, by } of verdicts.filter((verdict) => !verdict.died)) {
  const cell = (text) => `\`${text.replace(/\s+/g, ' ').slice(0, 120)}\``.replaceAll('|', '\\|');
  lines.push(`- ${relative(SOURCES, fault.path)}:${fault.line} ${cell(fault.from)} → ${cell(fault.to)} (${by})`);
}
mkdirSync(join(HOME, '.test-results'), { recursive: true });
writeFileSync(join(HOME, '.test-results/mutants.md'), `${lines.join('\n')}\n`);
rmSync(root, { recursive: true, force: true });
process.stdout.write(`${died} of ${verdicts.length} died; the rest stand in .test-results/mutants.md\n`);
