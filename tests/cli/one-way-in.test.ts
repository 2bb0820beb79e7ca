import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test, vi } from 'vitest';
import { parse } from 'yaml';
import { copyOf, duskbank, folderWith, ROOT } from './support.ts';

/**
 * Sites that a program used to read otherwise than the command line did: files joined, corrected, with gaps, with a
 * reach of their own, planned solar, tariffs with successors, and broken ones.
 */

// Plain JSON stands for any site or tariff here.
// biome-ignore lint/suspicious/noExplicitAny: cases reach into every corner of the files on purpose
type Json = any;

interface Awkward {
  readonly name: string;
  readonly fixture?: 'small' | 'planned';
  readonly site?: (site: Json) => void;
  readonly tariff?: (tariff: Json) => void;
  readonly files?: (home: string[]) => Record<string, string>;
}

/** The home's rows with one cell of a column changed. */
function cell(rows: readonly string[], row: number, column: number, text: string): string {
  return `${rows
    .map((line, k) =>
      k === row
        ? line
            .split(',')
            .map((value, c) => (c === column ? text : value))
            .join(',')
        : line,
    )
    .join('\n')}\n`;
}

const half = (rows: readonly string[]) => Math.floor(rows.length / 2);
const joined = (rows: readonly string[]) => `${rows.join('\n')}\n`;
const file = (more: Json) => (site: Json) => {
  site.meter.files = [{ path: 'home.csv', ...more }];
};

const SITES: readonly Awkward[] = [
  { name: 'as it is' },
  { name: 'planned solar from a file', fixture: 'planned' },
  { name: 'scaled import', site: file({ adjust: { scale: { import: 2 } } }) },
  { name: 'scaled load', site: file({ adjust: { scale: { load: 2 } } }) },
  { name: 'scaled solar', site: file({ adjust: { scale: { solar: 0.5 } } }) },
  { name: 'a clock an hour late', site: file({ adjust: { shiftMinutes: -60 } }) },
  { name: 'solar in load', site: file({ adjust: { solarInLoad: true } }) },
  { name: 'standard time all year', site: file({ clock: 'standard' }) },
  { name: 'UTC', site: file({ clock: 'utc' }) },
  { name: 'interval ends', site: file({ intervalEnd: true }) },
  { name: 'a stated unit', site: file({ unit: 'kW' }) },
  {
    name: 'two halves of a span',
    site: (site) => void Object.assign(site.meter, { files: ['first.csv', 'second.csv'] }),
    files: (rows) => ({
      'first.csv': joined(rows.slice(0, half(rows))),
      'second.csv': joined([rows[0]!, ...rows.slice(half(rows))]),
    }),
  },
  { name: 'one half only', files: (rows) => ({ 'home.csv': joined(rows.slice(0, half(rows))) }) },
  { name: 'the same file twice', site: (site) => void Object.assign(site.meter, { files: ['home.csv', 'home.csv'] }) },
  { name: 'a short gap', files: (rows) => ({ 'home.csv': joined(rows.filter((_, k) => k < 100 || k > 103)) }) },
  { name: 'a long gap', files: (rows) => ({ 'home.csv': joined(rows.filter((_, k) => k < 100 || k > 300)) }) },
  {
    name: 'a long gap, filled when asked',
    site: (site) => void Object.assign(site.meter, { repair: { maxGapHours: 72 } }),
    files: (rows) => ({ 'home.csv': joined(rows.filter((_, k) => k < 100 || k > 300)) }),
  },
  {
    name: 'gaps that may not be filled',
    site: (site) => void Object.assign(site.meter, { repair: { maxGapHours: 0 } }),
    files: (rows) => ({ 'home.csv': joined(rows.filter((_, k) => k < 100 || k > 103)) }),
  },
  { name: 'a word in a number', files: (rows) => ({ 'home.csv': cell(rows, 50, 1, 'abc') }) },
  { name: 'a negative load', files: (rows) => ({ 'home.csv': cell(rows, 50, 1, '-0.4') }) },
  { name: 'a cut last line', files: (rows) => ({ 'home.csv': joined(rows).slice(0, -6) }) },
  { name: 'a date that is none', files: (rows) => ({ 'home.csv': cell(rows, 50, 0, '2025-02-30 10:00') }) },
  {
    name: 'two readings of one interval',
    files: (rows) => ({
      'home.csv': joined([...rows.slice(0, 60), cell([rows[59]!], 0, 1, '0.999').trim(), ...rows.slice(60)]),
    }),
  },
  { name: 'no such meter file', site: (site) => void Object.assign(site.meter, { files: ['elsewhere.csv'] }) },
  { name: 'a meter file that is empty', files: () => ({ 'home.csv': '' }) },
  { name: 'a header alone', files: (rows) => ({ 'home.csv': `${rows[0]}\n` }) },
  { name: 'a reach that is a share', site: (site) => void Object.assign(site.plant, { reach: { share: 0.4 } }) },
  {
    name: 'a reach from a file',
    site: (site) => void Object.assign(site.plant, { reach: { file: 'panel.csv', column: 'load kWh' } }),
    files: (rows) => ({
      'panel.csv': joined(rows.map((row, k) => (k === 0 ? 'start,load kWh' : `${row.split(',')[0]},0.05`))),
    }),
  },
  {
    name: 'a reach file that is not there',
    site: (site) => void Object.assign(site.plant, { reach: { file: 'panel.csv' } }),
  },
  {
    name: 'a reach of another span',
    site: (site) => void Object.assign(site.plant, { reach: { file: 'panel.csv', column: 'load kWh' } }),
    files: (rows) => ({
      'panel.csv': joined(
        rows.slice(0, half(rows)).map((row, k) => (k === 0 ? 'start,load kWh' : `${row.split(',')[0]},0.05`)),
      ),
    }),
  },
  {
    name: 'planned solar without any',
    site: (site) => void Object.assign(site, { plannedSolar: { scaleOfExisting: 0.5 } }),
  },
  {
    name: 'a floor that keeps hours',
    site: (site) => void Object.assign(site, { backup: { ...site.backup, reserve: { keepHours: 4 } } }),
  },
  { name: 'an import limit', site: (site) => void Object.assign(site, { service: { importLimitKw: 3 } }) },
  { name: 'another zone', site: (site) => void Object.assign(site, { zone: 'Australia/Lord_Howe' }) },
  { name: 'a zone that is none', site: (site) => void Object.assign(site, { zone: 'Mars/Olympus' }) },
  { name: 'a wrong key', site: (site) => void Object.assign(site.plant, { flor: {} }) },
  { name: 'another format', site: (site) => void Object.assign(site, { format: 'duskbank.site/9' }) },
  { name: 'a tariff that is not there', site: (site) => void Object.assign(site, { tariff: 'other.json' }) },
  { name: 'a tariff with a wrong key', tariff: (tariff) => void Object.assign(tariff, { curency: 'USD' }) },
  { name: 'a tariff that ends', tariff: (tariff) => void Object.assign(tariff, { life: { endsOn: '2025-12-31' } }) },
  {
    name: 'a tariff whose successor is not there',
    tariff: (tariff) =>
      void Object.assign(tariff, { life: { endsOn: '2025-12-31', successor: 'Next', successorFile: 'next.json' } }),
  },
  {
    name: 'faults in site and tariff',
    site: (site) => void Object.assign(site.plant.battery, { units: 0 }),
    tariff: (tariff) => void Object.assign(tariff, { windows: [] }),
  },
];

function prepare({ fixture = 'small', site, tariff, files }: Awkward): string {
  const folder = copyOf(fixture);
  // One of the fixtures is YAML, which the guide's program doesn't read.
  for (const name of ['site', 'tariff']) {
    const yaml = join(folder, `${name}.yaml`);
    if (existsSync(yaml))
      writeFileSync(
        join(folder, `${name}.json`),
        JSON.stringify(parse(readFileSync(yaml, 'utf8').replace('tariff.yaml', 'tariff.json'))),
      );
  }
  const change = (name: string, by: ((document: Json) => void) | undefined) => {
    if (by === undefined) return;
    const document = JSON.parse(readFileSync(join(folder, name), 'utf8'));
    by(document);
    writeFileSync(join(folder, name), JSON.stringify(document, null, 2));
  };
  change('site.json', site);
  change('tariff.json', tariff);
  const rows = readFileSync(join(folder, 'home.csv'), 'utf8').trimEnd().split('\n');
  for (const [name, text] of Object.entries(files?.(rows) ?? {})) writeFileSync(join(folder, name), text);
  return folder;
}

/** Runs the code that the guide prints on a site, and gives what it printed. */
async function guidePrints(sitePath: string): Promise<string[]> {
  const printed: string[] = [];
  const log = vi.spyOn(console, 'log').mockImplementation((...parts) => void printed.push(parts.join(' ')));
  const given = process.argv;
  process.argv = [given[0]!, given[1]!, sitePath];
  try {
    // Under another name each time, so that it runs again, and the core that it imports is loaded once.
    await import(`${join(ROOT, 'docs/examples/import-the-core.ts')}?site=${encodeURIComponent(sitePath)}`);
  } finally {
    log.mockRestore();
    process.argv = given;
  }
  return printed;
}

/** The same lines, made of what the command line printed. */
function commandLinePrints(sitePath: string): string[] {
  const run = duskbank(['compare', sitePath, '--json'], folderWith());
  if (run.status === 2) return run.stderr.split('\n').filter((line) => line.startsWith('error: '));
  expect(run.status, run.stderr).toBe(0);
  const report = JSON.parse(run.stdout);
  return [
    `${report.currency} ${report.baseline.bill.total.toFixed(2)} without a battery`,
    ...report.strategies
      .filter((row: Json) => row.savings !== null && row.backupHours !== null)
      .map(
        (row: Json) =>
          `${row.strategy} saves ${row.savings.toFixed(2)} and leaves ${row.backupHours.median.toFixed(1)} h of backup`,
      ),
  ];
}

test.each(SITES.map((each) => [each.name, each] as const))(
  'the guide and the command line agree on %s',
  async (_, each) => {
    const site = join(prepare(each), 'site.json');
    const guide = await guidePrints(site);
    const commandLine = commandLinePrints(site);
    expect(guide.length).toBeGreaterThan(0);
    expect(commandLine.length).toBe(guide.length);
    for (const [k, line] of commandLine.entries()) {
      if (!line.startsWith('error: ')) expect(guide[k]).toBe(line);
      else {
        const [, received, expected] = /received (.*); expected (.*)$/.exec(line)!;
        expect(guide[k]).toContain(`: ${received}, not ${expected}`);
      }
    }
  },
);
