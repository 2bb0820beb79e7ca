// Thousands of broken interval files: never an exception, a hang, an impossible number, or memory over 300 MB.
//   node tests/nightly/meter-fuzz.mjs [files, default 20000] [seed, default 1]      (after a build)
import { parseIntervalData } from '../../packages/core/dist/meter/index.js';
import { loadCorpus, monsters, mutated, wrongWith } from '../support/mutate-meter.mjs';

const files = Number(process.argv[2] ?? 20_000);
const seed = Number(process.argv[3] ?? 1);
const LIMIT_MS = 20_000;
const LIMIT_MB = 300;

let failed = 0;
let withSeries = 0;
let slowest = { ms: 0, name: '' };

function tryOne({ name, bytes, options }) {
  const begun = performance.now();
  try {
    const result = parseIntervalData(bytes, options);
    const wrong = wrongWith(result);
    if (wrong !== undefined) fail(name, wrong);
    if (result.series !== undefined) withSeries++;
  } catch (error) {
    fail(name, error.stack);
  }
  const ms = performance.now() - begun;
  if (ms > slowest.ms) slowest = { ms, name };
  if (ms > LIMIT_MS) fail(name, `took ${ms.toFixed(0)} ms`);
}

function fail(name, why) {
  failed++;
  process.stdout.write(`FAILED ${name}: ${why}\n`);
}

const corpus = loadCorpus();
for (let n = 0; n < files; n++) tryOne(mutated(corpus, seed, n));
const ofMutated = process.resourceUsage().maxRSS / 1e3;
let count = files;
for (const monster of monsters()) {
  tryOne(monster);
  count++;
}
// The monsters themselves are made in this process (up to 120 MB each): their limit has that on top.
const ofAll = process.resourceUsage().maxRSS / 1e3;
if (ofMutated > LIMIT_MB) fail('memory', `${ofMutated.toFixed(0)} MB`);
process.stdout.write(
  `${count} files, ${failed} failed; ${withSeries} gave a series; slowest ${slowest.ms.toFixed(0)} ms (${slowest.name}); most memory ${ofMutated.toFixed(0)} MB, with the hostile files and their making ${ofAll.toFixed(0)} MB\n`,
);
process.exitCode = failed === 0 ? 0 : 1;
