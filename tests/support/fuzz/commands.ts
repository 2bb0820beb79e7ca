import { spawnSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { randomOf } from '../mutate-meter.mjs';
import { type Fuzzer, unspeakable } from './fuzzer.ts';

const ROOT = join(import.meta.dirname, '../../..');
const BINARY = join(ROOT, 'packages/cli/bin/duskbank.js');
/** Memory of a command, MB: one that needs more ends by a signal. */
const HEAP = '--max-old-space-size=400';
const SMALL = join(ROOT, 'fixtures/small');
const files = Object.fromEntries(
  ['site.yaml', 'tariff.yaml', 'home.csv'].map((name) => [name, readFileSync(join(SMALL, name))]),
);

const COMMANDS = [
  'compare',
  'outage',
  'settings',
  'bill',
  'check',
  'inspect',
  'tariff',
  'circuits',
  'explain',
  'init',
  'schema',
  'nonsense',
];
const WORDS = [
  'site.yaml',
  'tariff.yaml',
  'home.csv',
  'missing.yaml',
  '.',
  '/dev/null',
  '',
  '-',
  '--',
  '0',
  '-1',
  '1e308',
  'NaN',
  '2025-04-02',
  '2025-04-02T13:00',
  '2025-02-30',
  '17:00-21:00',
  '25:00-26:00',
  'window',
  'optimum',
  '50',
  'Etc/UTC',
  'kWh',
  '\u001b[31mred',
  '\u202e',
  'x'.repeat(3000),
  'import=2',
];
const OPTIONS = [
  '--json',
  '--csv',
  '--force',
  '--help',
  '--full',
  '--all',
  '--wear',
  '--at',
  '--strategy',
  '--tariff',
  '--intervals',
  '--actual',
  '--try',
  '--charge',
  '--charge-to',
  '--charge-kw',
  '--carry',
  '--reserve',
  '--zone',
  '--unit',
  '--sheet',
  '--scale',
  '--flip',
  '--clock',
  '--meter',
  '--floors',
  '--nonsense',
];

/** Command lines of words that exist, in an order that nobody means: never our fault, no input file changed. */
export const commands: Fuzzer = {
  name: 'commands',
  make(seed, n) {
    const random = randomOf(seed + n * 7919);
    const pick = <T>(list: readonly T[]) => list[Math.floor(random() * list.length)]!;
    const args = [
      pick(COMMANDS),
      ...(random() < 0.7 ? [pick(['site.yaml', 'site.yaml', 'tariff.yaml', 'home.csv'])] : []),
    ];
    for (let k = Math.floor(random() * 5); k > 0; k--) args.push(random() < 0.6 ? pick(OPTIONS) : pick(WORDS));
    return { name: args.map((arg) => arg.slice(0, 40)).join(' '), files, args };
  },
  wrongWith({ args, files: given }) {
    const folder = mkdtempSync(join(tmpdir(), 'duskbank-fuzz-'));
    try {
      for (const [name, bytes] of Object.entries(given)) writeFileSync(join(folder, name), bytes);
      const { status, signal, stdout, stderr } = spawnSync(process.execPath, [HEAP, BINARY, ...args!], {
        cwd: folder,
        encoding: 'utf8',
        input: '',
        timeout: 60_000,
      });
      if (status !== 0 && status !== 2) return `exit ${status ?? signal}: ${stderr.slice(0, 2000)}`;
      for (const [name, bytes] of Object.entries(given))
        if (!readdirSync(folder).includes(name) || !readFileSync(join(folder, name)).equals(bytes))
          return `${name} was changed`;
      const left = readdirSync(folder).find((name) => name.startsWith('.'));
      if (left !== undefined) return `left ${left} behind`;
      // What was understood of a file that can't be trusted is an answer of these two.
      const shows = ['check', 'inspect'].includes(args![0]!) || args!.includes('--json');
      if (status === 2 && !shows && stdout !== '') return `refused, and printed ${stdout.slice(0, 200)}`;
      const typed = args!.join(' ');
      return unspeakable(stdout, typed) ?? unspeakable(stderr, typed);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  },
};
