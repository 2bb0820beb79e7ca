// Prints the table of benchmarks: `node tests/bench/run.mjs [NAME …] [--against REF] [--once]`, after a build. Each file here is run in a
// process of its own, so that none meets what another has taught the engine. With `--against`, the core of that commit is built
// as well, and both versions are timed in the same rounds of the same process. `--once` runs each line a single time, to see whether
// results agree: its times say nothing.
import { spawn } from 'node:child_process';
import { readdirSync } from 'node:fs';
import { cpus } from 'node:os';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { buildIn, commitOf, inWorktree, sameLibraries } from './harness/against.mjs';
import { measureLimits } from './harness/limit.mjs';
import { figure, headOf, LEGEND } from './harness/table.mjs';

/** What a person reads first. */
const FIRST = ['dispatch', 'optimum'];

const repo = fileURLToPath(new URL('../..', import.meta.url));
const folder = new URL('.', import.meta.url);
const known = readdirSync(folder)
  .filter((name) => name.endsWith('.mjs') && name !== 'run.mjs')
  .map((name) => name.replace('.mjs', ''))
  .sort((a, b) => place(a) - place(b) || (a < b ? -1 : 1));

function place(name) {
  return FIRST.includes(name) ? FIRST.indexOf(name) : FIRST.length;
}

try {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: { against: { type: 'string' }, once: { type: 'boolean', default: false } },
  });
  const stray = positionals.find((name) => !known.includes(name));
  if (stray !== undefined) throw new Error(`no bench is named "${stray}"; there are ${known.join(', ')}`);
  const files = known.filter((name) => positionals.length === 0 || positionals.includes(name));
  if (values.against === undefined) process.exitCode = await table(files, values.once, start);
  else {
    const commit = commitOf(repo, values.against);
    process.exitCode = await inWorktree(repo, commit, async (before, startIn) => {
      await buildIn(before, repo, startIn);
      console.log(`before: ${values.against} (${commit.slice(0, 12)}); after: this checkout as it is built`);
      if (!sameLibraries(repo, commit)) console.log('both with the libraries of this checkout: the lock file differs');
      return table(files, values.once, startIn, before);
    });
  }
} catch (error) {
  console.error(`error: ${error.message}`);
  process.exitCode = 2;
}

async function table(files, once, startIn, before) {
  const { arrayNs, bareNs, letterNs, intervals } = measureLimits({ once });
  const each = ({ median, spread }) => `${figure(median)} ± ${figure(spread)} ns`;
  console.log(`${cpus()[0]?.model.trim()}, ${cpus().length} cores, Node ${process.version}`);
  console.log(`bare loop over a year of ${intervals} quarter hours: ${each(bareNs)} a step`);
  console.log(`physical limit: an array's entry read once ${each(arrayNs)}, a letter ${each(letterNs)}`);
  if (once) console.log('each line was run once: read the results, not the times');
  console.log(['', ...LEGEND, '', headOf(before !== undefined)].join('\n'));
  let failed = 0;
  for (const name of files) {
    const parts = [new URL('harness/file.mjs', folder), new URL(`${name}.mjs`, folder)].map((url) =>
      fileURLToPath(url),
    );
    const code = await startIn(process.execPath, [
      '--expose-gc',
      ...parts,
      JSON.stringify({ once }),
      repo,
      ...(before ? [before] : []),
    ]);
    if (code !== 0) failed++;
  }
  return failed === 0 ? 0 : 1;
}

function start(command, args) {
  return new Promise((resolve, reject) => {
    const child = spawn(command, args, { stdio: 'inherit' });
    child.on('error', reject);
    child.on('close', (code) => resolve(code ?? 1));
  });
}
