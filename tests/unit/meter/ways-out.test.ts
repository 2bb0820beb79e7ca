// Ways out that work: a refusal is provoked, its hint is applied as printed, and the file is then read to its true total.
import { InputError, type InputIssue } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { readerOf } from '../../support/panel/index.ts';

const zone = 'America/Denver';
const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'One price',
  currency: 'USD',
  energy: [{ name: 'All', pricePerKwh: 0.2 }],
};

/** Local labels of whole hours from midnight on. */
const hours = (days: number, first = Date.UTC(2024, 0, 1)) =>
  Array.from({ length: 24 * days }, (_, i) => new Date(first + i * 3600e3).toISOString());
const day = (iso: string) => iso.slice(0, 10);
const time = (iso: string) => iso.slice(11, 16);
const start = (iso: string) => `${day(iso)} ${time(iso)}`;
/** kWh an hour that is never twice the same and always above zero, about 20 a day. */
const kwh = (i: number) => Number((0.4 + 0.5 * Math.abs(Math.sin(i / 3.7)) + ((i * 7919) % 13) / 100).toFixed(3));
const sum = (labels: readonly string[], value: (i: number) => number = kwh) =>
  labels.reduce((total, _, i) => total + value(i), 0);
const rows = (labels: readonly string[], row: (iso: string, i: number) => string) => labels.map(row).join('\n');

type Entry = Readonly<Record<string, unknown>>;

async function load(meter: Entry, files: Readonly<Record<string, string>>) {
  const site = { format: 'duskbank.site/1', name: 'Alder Row', zone, meter, tariff: 'tariff.json' };
  const all = { ...files, 'site.json': JSON.stringify(site), 'tariff.json': JSON.stringify(TARIFF) };
  const loaded = await loadSite('site.json', readerOf(all));
  return loaded.pastOf(loaded.tariffs[0]!).series;
}

async function refused(meter: Entry, files: Readonly<Record<string, string>>): Promise<InputIssue> {
  const error = await load(meter, files).then(
    () => undefined,
    (thrown: unknown) => thrown,
  );
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).issues[0]!;
}

/** What a hint says to write, in its order: each `{ path: …, … }`. */
function snippets(hint: string): string[] {
  const found: string[] = [];
  for (let at = hint.indexOf('{ path: …'); at >= 0; at = hint.indexOf('{ path: …', at + 1)) {
    let depth = 0;
    let end = at;
    do {
      if (hint[end] === '{') depth++;
      if (hint[end] === '}') depth--;
      end++;
    } while (depth > 0);
    found.push(hint.slice(at, end));
  }
  return found;
}

const two = hours(20);
interface Case {
  readonly name: string;
  readonly code: string;
  readonly text: string;
  /** Which of the hint's answers is the true one here. */
  readonly answer?: number | 'any';
  /** What is stated besides. */
  readonly more?: Entry;
  readonly channel?: 'import' | 'load' | 'solar';
  readonly truthKwh: number;
}

const CASES: readonly Case[] = [
  {
    name: 'columns without a header',
    code: 'columns-unclear',
    text: rows(two, (iso, i) => `${day(iso)},${time(iso)},${kwh(i)},${(kwh(i) / 3).toFixed(3)}`),
    truthKwh: sum(two),
  },
  {
    name: 'columns that are called alike',
    code: 'columns-unclear',
    text: `Start,Usage A (kWh),Usage B (kWh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)},${(kwh(i + 5) / 2).toFixed(3)}`)}`,
    // Both together, as two mains are.
    truthKwh: sum(two, (i) => Number(kwh(i)) + Number((kwh(i + 5) / 2).toFixed(3))),
  },
  {
    name: 'columns with names that say nothing',
    code: 'columns-unclear',
    text: `Start,Alpha,Beta\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)},${(kwh(i + 5) / 2).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'a mark that may part thousands',
    code: 'decimal-unclear',
    text: `Start;Usage (Wh)\n${rows(two, (iso, i) => `${start(iso)};${i % 3 === 0 ? 950 : `1.${String(100 + (i % 800)).padStart(3, '0')}`}`)}`,
    truthKwh: sum(two, (i) => (i % 3 === 0 ? 0.95 : (1100 + (i % 800)) / 1000)),
  },
  {
    name: 'values without a unit, each of 10 Wh',
    code: 'unit-unknown',
    text: `Start,Usage\n${rows(two, (iso, i) => `${start(iso)},${Math.round(kwh(i) * 100)}`)}`,
    answer: 'any',
    truthKwh: sum(two, (i) => Math.round(kwh(i) * 100) / 100),
  },
  {
    name: 'pulses of 1/800 kWh',
    code: 'unit-unknown',
    text: `Start,Usage\n${rows(two, (iso, i) => `${start(iso)},${Math.round(kwh(i) * 800)}`)}`,
    answer: 'any',
    truthKwh: sum(two, (i) => Math.round(kwh(i) * 800) / 800),
  },
  {
    name: 'rows whose text says nothing',
    code: 'rows-unclear',
    text: `Start,Register,kWh\n${rows(two, (iso, i) => `${start(iso)},Q7,${kwh(i)}\n${start(iso)},Q8,${(kwh(i + 3) / 2).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'a file that says weather and holds energy all the same',
    code: 'not-meter-data',
    text: `Start,Temperature (°C),Global irradiance (W/m²),Wind\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)},${kwh(i)},${kwh(i)}`)}`,
    truthKwh: sum(two),
    more: { unit: 'kWh' },
  },
  {
    name: 'two readings of one hour',
    code: 'duplicate-differs',
    text: `Start,Usage (kWh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)}\n${start(iso)},${(kwh(i) * 0.3).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'the shape of solar',
    code: 'solar-shaped',
    text: `Start,kWh\n${rows(two, (iso) => `${start(iso)},${Math.max(0, Math.sin((Math.PI * (Number(time(iso).slice(0, 2)) - 6.5)) / 11)).toFixed(3)}`)}`,
    answer: 1,
    truthKwh: sum(two, (i) => Number(Math.max(0, Math.sin((Math.PI * ((i % 24) - 6.5)) / 11)).toFixed(3))),
  },
  {
    name: 'a unit with a number before it',
    code: 'unit-multiple',
    text: `Start,Usage (10 Wh)\n${rows(two, (iso, i) => `${start(iso)},${Math.round(kwh(i) * 100)}`)}`,
    truthKwh: sum(two, (i) => Math.round(kwh(i) * 100) / 100),
  },
  {
    name: 'a unit that makes no home’s year',
    code: 'unit-implausible',
    text: `Start,Usage (Wh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)}`)}`,
    truthKwh: sum(two),
  },
];

describe('a hint followed as it is printed', () => {
  test.each(CASES)('$name', async ({ code, text, answer = 0, more = {}, truthKwh }) => {
    const files = { 'meter.csv': `${text}\n` };
    const issue = await refused({ files: ['meter.csv'] }, files);
    expect(issue.code).toBe(code);
    const offered = snippets(issue.hint ?? '');
    const followed = answer === 'any' ? offered : offered.slice(answer, answer + 1);
    expect(followed.length, issue.hint).toBeGreaterThan(0);
    const read: number[] = [];
    for (const snippet of followed) {
      // A household replaces the ellipsis and nothing else.
      const entry = { ...parse(snippet.replace('…', 'meter.csv')), ...more };
      const series = await load({ files: [entry], repair: { maxGapHours: 0 } }, files).catch((error: unknown) => {
        throw new Error(`${snippet}: ${(error as Error).message}`);
      });
      read.push(Number(series.importKwh!.reduce((total, value) => total + (value || 0), 0).toFixed(3)));
    }
    expect(read).toContain(Number(truthKwh.toFixed(3)));
  });

  test('a cell that holds no number is blanked', async () => {
    const file = (cell: string) =>
      `Start,Usage (kWh)\n${rows(two, (iso, i) => `${start(iso)},${i === 100 ? cell : kwh(i)}`)}\n`;
    const issue = await refused({ files: ['meter.csv'] }, { 'meter.csv': file('n.a.?') });
    expect(issue).toMatchObject({ code: 'not-a-number', where: { line: 102 } });
    expect(issue.hint).toContain('blank the cell');
    const series = await load({ files: ['meter.csv'] }, { 'meter.csv': file('') });
    expect(series.axis.intervals).toBe(two.length);
    expect(series.importKwh!.every((value) => value > 0)).toBe(true);
  });

  test('dates that a spreadsheet exchanged name no option: none mends them', async () => {
    const labels = hours(60);
    // Read as month first and written again: a day up to 12 has changed places.
    const exchanged = (iso: string) => {
      const [year, month, date] = day(iso).split('-') as [string, string, string];
      return Number(date) <= 12 ? `${date}/${month}/${year}` : `${month}/${date}/${year}`;
    };
    const text = `Date,Time,Usage (kWh)\n${rows(labels, (iso, i) => `${exchanged(iso)},${time(iso)},${kwh(i)}`)}\n`;
    const issue = await refused({ files: ['meter.csv'] }, { 'meter.csv': text });
    expect(issue.code).toBe('date-order-unclear');
    expect(issue.hint).not.toContain('dateOrder');
  });

  test('channels of other spans: the dates that are printed are the files’ own', async () => {
    const [long, short] = [hours(40), hours(20, Date.UTC(2024, 0, 6))];
    const file = (name: string, labels: readonly string[]) =>
      `start,${name} kWh\n${rows(labels, (iso, i) => `${start(iso)},${kwh(i)}`)}\n`;
    const files = { 'a.csv': file('load', long), 'b.csv': file('solar', short) };
    const issue = await refused({ files: ['a.csv', 'b.csv'] }, files);
    expect(issue.code).toBe('span-differs');
    const span = /"span": (\{.*?\})/.exec(issue.hint!)![1]!;
    expect(parse(span)).toEqual({ from: '2024-01-06', to: '2024-01-25' });
    const series = await load({ files: ['a.csv', 'b.csv'], span: parse(span) }, files);
    expect(series.axis.calendar.days.length).toBe(20);
  });
});
