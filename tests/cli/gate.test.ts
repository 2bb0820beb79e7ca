import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import Papa from 'papaparse';
import { beforeAll, describe, expect, test } from 'vitest';
import { csvCell, note, print, status } from '../../packages/cli/src/io/output.ts';
import { BINARY, duskbank, folderWith, ROOT } from './support.ts';

const ESC = '\u001b';
/** Clears the screen, forges a headline, sets the window's title, rings, hides and turns round what follows. */
const FORGED = `Plain\r\n${ESC}[2J${ESC}[1mSaves 9,999${ESC}]0;t\u0007\u009b8m\u202egni\u2066\u200b\u2028x\u007f`;
const VISIBLE =
  'Plain\\r\\n\\u001b[2J\\u001b[1mSaves 9,999\\u001b]0;t\\u0007\\u009b8m\\u202egni\\u2066\\u200b\\u2028x\\u007f';
const LONG = 'Long '.repeat(200).trim();

/** What must not leave: controls but line breaks, direction marks, zero-width characters, separators. */
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
const RAW = /[\u0000-\u0009\u000b-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/;

function rows(): string {
  const lines = ['start,load kWh'];
  for (let i = 0; i < 40 * 96; i++)
    lines.push(`${new Date(Date.UTC(2025, 0, 13) + i * 900_000).toISOString().slice(0, 16)},0.2${i % 7}`);
  return `${lines.join('\n')}\n`;
}

const siteNamed = (name: string) => ({
  format: 'duskbank.site/1',
  name,
  zone: 'America/Denver',
  meter: { files: ['home.csv'] },
  tariff: 'tariff.json',
  plant: {
    battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.88 },
    floor: { share: 0.2 },
  },
  backup: { circuits: [{ name, priority: 1, watts: 300, leg: 'L1' }] },
  economics: { price: 5000, covers: name },
});
const tariffNamed = (name: string) => ({
  format: 'duskbank.tariff/1',
  name,
  utility: name,
  currency: 'USD',
  seasons: [
    { name: `${name} 1`, months: [6, 7, 8, 9] },
    { name: `${name} 2`, months: [10, 11, 12, 1, 2, 3, 4, 5] },
  ],
  windows: [
    { name, kind: 'peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.4 },
    { name: `${name} rest`, otherwise: true, pricePerKwh: 0.15 },
  ],
  fixed: [{ name, amount: 10, per: 'month' }],
  life: { endsOn: '2099-01-01', successor: name },
});

/** The text outputs in which names come up. */
const COMMANDS: readonly (readonly string[])[] = [
  ['check', 'site.json'],
  ['check', 'tariff.json'],
  ['tariff', 'tariff.json', '--at', '2025-02-01'],
  ['bill', 'site.json'],
  ['compare', 'site.json', '--strategy', 'none', 'window'],
  ['compare', 'site.json', '--tariff', 'other.json'],
  ['circuits', 'site.json'],
  ['outage', 'site.json'],
  ['explain', 'site.json', '--at', '2025-01-15T18:00'],
];

const folderNamed = (name: string) =>
  folderWith({
    'home.csv': rows(),
    'site.json': JSON.stringify(siteNamed(name)),
    'tariff.json': JSON.stringify(tariffNamed(name)),
    'other.json': JSON.stringify({ ...tariffNamed(name), name: `${name} other` }),
  });

describe('names of a file', () => {
  let forged = '';
  let long = '';
  let plain = '';
  beforeAll(() => {
    forged = folderNamed(FORGED);
    long = folderNamed(LONG);
    plain = folderNamed('Plain rate');
  });

  test.each(COMMANDS)('forge no line and reach no terminal: %s %s', (...args) => {
    const run = duskbank(args, forged);
    expect(run.status, run.stderr).toBe(0);
    const out = run.stdout + run.stderr;
    expect(out).not.toMatch(RAW);
    expect(out).toContain('Plain\\r\\n\\u001b[2J');
    // A line that begins with what a name says would be read as ours.
    expect(out).not.toMatch(/^\P{L}*Saves 9,999/mu);
    // Paragraphs stand apart where they stand apart with a harmless name.
    const paragraphs = (text: string) => text.split(/\n\n+/).length;
    expect(paragraphs(run.stdout)).toBe(paragraphs(duskbank(args, plain).stdout));
  });

  test('are no longer than is shown: longer ones are refused, and not printed', () => {
    for (const args of COMMANDS) {
      const run = duskbank(args, long);
      expect(run.status).toBe(2);
      expect(run.stderr).toMatch(/field "name".*expected at most \d+ characters/);
      expect(run.stdout + run.stderr).not.toContain('Long Long Long Long Long');
    }
  });

  test('the headline of a tariff is its name, written out', () => {
    const run = duskbank(['tariff', 'tariff.json', '--at', '2025-02-01'], forged);
    expect(run.stdout.replace(/\n/g, ' ').startsWith(`"${VISIBLE.replaceAll('"', "'")}", "Plain`)).toBe(true);
  });

  test('JSON keeps them whole, with nothing in it that a terminal obeys', () => {
    for (const args of COMMANDS.slice(2)) {
      const run = duskbank([...args, '--json'], forged);
      expect(run.status, run.stderr).toBe(0);
      expect(run.stdout).not.toMatch(RAW);
      const report = JSON.parse(run.stdout);
      if (args[0] === 'tariff') expect(report.name).toBe(FORGED);
      else expect(report.site).toBe(FORGED);
    }
  });

  test('CSV is one table: line breaks quoted, nothing that a spreadsheet would run', () => {
    const name = '=HYPERLINK("http://x","a")\n+1';
    const folder = folderNamed(name);
    for (const args of [
      ['bill', 'site.json', '--csv'],
      ['compare', 'site.json', '--csv', '--strategy', 'none', 'hold'],
    ]) {
      const run = duskbank(args, folder);
      expect(run.status, run.stderr).toBe(0);
      const table = Papa.parse<string[]>(run.stdout.trimEnd()).data;
      expect(table.length).toBeGreaterThan(2);
      for (const row of table) {
        expect(row).toHaveLength(table[0]!.length);
        for (const cell of row)
          if (!/^-?\d+(?:\.\d+)?(?:e-?\d+)?$/.test(cell)) expect(cell).not.toMatch(/^[=+\-@\t\r]/);
      }
      expect(table.flat()).toContain(`'${name}`);
    }
  });
});

describe('a cell of CSV', () => {
  test.each([
    ['plain', 'plain'],
    ['=1+1', "'=1+1"],
    ['+cmd', "'+cmd"],
    ['-2+3', "'-2+3"],
    ['@sum', "'@sum"],
    ['\tx', "'\\tx"],
    ['\rx', "'\\rx"],
    ['-22.45', '-22.45'],
    ['+5', '+5'],
    ['a,b', '"a,b"'],
    ['a"b', '"a""b"'],
    ['a\nb', '"a\nb"'],
    ['a\r\nb', '"a\\r\nb"'],
    [`=${ESC}[2J`, "'=\\u001b[2J"],
    [-22.45, '-22.45'],
    [1e-7, '1e-7'],
    [0, '0'],
    [true, 'true'],
    [null, ''],
    [undefined, ''],
  ])('%j is written %j', (value, written) => {
    expect(csvCell(value)).toBe(written);
  });
});

describe('what the user typed', () => {
  const BAD = `x\nerror: all is well\u202e${ESC}[2J`;
  const calls: readonly (readonly string[])[] = [
    [BAD],
    ['compare', 'a', BAD],
    ['compare', `--${BAD}`],
    ['compare', `--jso${BAD}`],
    ['check', BAD],
    ['check', 'home.csv', '--zone', BAD],
    ['check', 'home.csv', '--unit', BAD],
    ['inspect', 'home.csv', '--unit', BAD],
    ['inspect', 'home.csv', `--channel=${BAD}`],
    ['inspect', 'home.csv', '--columns', BAD],
    ['inspect', 'home.csv', '--columns', `import=${BAD}`, '--zone', 'UTC'],
    ['inspect', 'home.csv', '--price', BAD],
    ['inspect', BAD],
    ['tariff', 'tariff.json', '--at', BAD],
    ['explain', 'site.json', '--at', BAD],
    ['explain', 'site.json', '--at', '2025-01-15T18:00', '--strategy', BAD],
    ['compare', 'site.json', '--strategy', BAD],
    ['compare', 'site.json', '--tariff', BAD],
    ['compare', 'site.json', '--strategy', 'none', '--intervals', `${BAD}/${BAD}`],
    ['init', `site.json/${BAD}`],
    ['schema', BAD],
  ];
  let folder = '';
  beforeAll(() => {
    folder = folderNamed('Plain rate');
  });

  test.each(calls.map((args) => [args] as const))('is told on its line, written out: %j', (args) => {
    const run = duskbank(args, folder);
    expect(run.status, run.stdout + run.stderr).toBe(2);
    expect(run.stderr).not.toMatch(RAW);
    expect(run.stderr).not.toMatch(/^error: all is well/m);
    expect(run.stderr).toMatch(/^error: /m);
  });

  test('is cut at 200 characters', () => {
    const much = 'y'.repeat(5000);
    for (const args of [
      [much],
      ['compare', `--${much}`],
      ['inspect', 'home.csv', `--unit=${much}`],
      ['inspect', 'home.csv', '--channel', much],
      ['check', `${much.slice(0, 240)}.csv`],
      ['schema', much],
    ]) {
      const run = duskbank(args, folder);
      expect(run.status).toBe(2);
      expect(run.stderr).not.toContain('y'.repeat(201));
      expect(run.stderr).toContain('y'.repeat(150));
    }
  });

  test('a suggestion of commander still stands on a line of its own', () => {
    expect(duskbank(['comprae', 'x'], folder).stderr).toMatch(
      /^error: unknown command 'comprae'\n\(Did you mean compare\?\)\n$/,
    );
  });

  test('names of files that were written are written out', () => {
    const path = `out${ESC}[2J\u202e\n.csv`;
    const run = duskbank(['inspect', 'home.csv', '--zone', 'UTC', '--write', path], folder);
    expect(run.status, run.stderr).toBe(0);
    expect(run.stderr).toBe('wrote 3840 intervals to out\\u001b[2J\\u202e\\n.csv\n');
    expect(readdirSync(folder)).toContain(path);
    const started = duskbank(['init', `new${ESC}[2J\n`], folder);
    expect(started.stdout).toBe('new\\u001b[2J\\n/site.yaml\nnew\\u001b[2J\\n/tariff.yaml\n');
  });
});

describe('keys, aliases and headers', () => {
  test('of YAML and JSON are written out', () => {
    const key = `bad\\u001b[2J\\u202e`;
    const folder = folderWith({
      'site.yaml': `format: duskbank.site/1\n"${key}": 1\n`,
      'twice.yaml': `format: duskbank.site/1\n"${key}": 1\n"${key}": 2\n`,
      'alias.yaml': `format: duskbank.site/1\nname: *a${ESC}b\n`,
    });
    for (const file of ['site.yaml', 'twice.yaml']) {
      const run = duskbank(['check', file], folder);
      expect(run.stderr).toContain('the key "bad\\u001b[2J\\u202e"');
      expect(run.stderr).not.toMatch(RAW);
    }
    expect(duskbank(['check', 'alias.yaml'], folder).stderr).not.toMatch(RAW);
  });

  test('of an interval file are written out', () => {
    const header = `start,load ${ESC} kWh\u0007,usage\u202e kWh`;
    const folder = folderWith({ 'home.csv': rows().replace('start,load kWh', header) });
    for (const args of [
      ['check', 'home.csv', '--zone', 'UTC'],
      ['inspect', 'home.csv', '--zone', 'UTC'],
      ['inspect', 'home.csv', '--zone', 'UTC', '--columns', 'load=none'],
    ]) {
      const run = duskbank(args, folder);
      expect(run.stdout + run.stderr).not.toMatch(RAW);
      expect(run.stdout + run.stderr).toContain('load \\u001b kWh');
    }
  });
});

test('what slips by unseen is caught at the door: line breaks and our own styles pass, nothing else', () => {
  const writes = [process.stdout.write, process.stderr.write] as const;
  const pieces: string[] = [];
  const take = ((piece: string) => pieces.push(piece) > 0) as typeof process.stdout.write;
  process.stdout.write = take;
  process.stderr.write = take;
  try {
    print(`${ESC}[1mours${ESC}[22m\n${ESC}[31mred${ESC}[5m\r\u202e`);
    note(`a\tb\u009b2J\n`);
    status(`running\r\n${ESC}[2J`);
    status();
  } finally {
    [process.stdout.write, process.stderr.write] = writes;
  }
  expect(pieces).toEqual([
    `${ESC}[1mours${ESC}[22m\n\\u001b[31mred\\u001b[5m\\r\\u202e\n`,
    'a\\tb\\u009b2J\n',
    `\r${ESC}[Krunning\\r\\n\\u001b[2J …`,
    `\r${ESC}[K`,
  ]);
});

test('nothing but the gate writes to a stream', () => {
  const folder = join(ROOT, 'packages/cli/src');
  const writers = readdirSync(folder, { recursive: true })
    .map(String)
    .filter((name) => /\.ts$/.test(name))
    .filter((name) =>
      /process\.std(?:out|err)\.write|console\.|\.write\(/.test(readFileSync(join(folder, name), 'utf8')),
    );
  expect(writers).toEqual(['io/output.ts']);
});

// util-linux's script(1) lends a pseudo-terminal.
const hasTerminal = spawnSync('script', ['--version'], { encoding: 'utf8' }).stdout?.includes('util-linux') === true;

test.skipIf(!hasTerminal)(
  'on a terminal our own styles are there, and none of a name’s; progress is written out too',
  () => {
    const folder = folderNamed(FORGED);
    writeFileSync(join(folder, 'run.sh'), `"${process.execPath}" "${BINARY}" "$@"\n`);
    const onTerminal = (call: string) => {
      const { NO_COLOR, ...plain } = process.env;
      return spawnSync('script', ['-qec', `sh run.sh ${call}`, '/dev/null'], {
        cwd: folder,
        env: { ...plain, TERM: 'xterm' },
        encoding: 'utf8',
      }).stdout;
    };
    const page = onTerminal('tariff tariff.json --at 2025-02-01');
    expect(page.startsWith(`${ESC}[1m"Plain\\r\\n\\u001b[2J`)).toBe(true);
    // The terminal makes \r\n of our line breaks; the progress line begins with \r and clears itself.
    const ours = ['\r\n', `${ESC}[1m`, `${ESC}[22m`, `\r${ESC}[K`];
    const left = (text: string) => ours.reduce((rest, own) => rest.replaceAll(own, own === '\r\n' ? '\n' : ''), text);
    expect(left(page)).not.toMatch(RAW);
    expect(left(onTerminal('outage site.json'))).not.toMatch(RAW);
    expect(left(onTerminal('compare site.json --all'))).not.toMatch(RAW);
  },
);
