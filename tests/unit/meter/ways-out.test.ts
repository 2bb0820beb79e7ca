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

async function load(meter: Entry, files: Readonly<Record<string, string>>, more: Entry = {}) {
  const site = { format: 'duskbank.site/1', name: 'Alder Row', zone, meter, tariff: 'tariff.json', ...more };
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
const isDay = (iso: string) => Number(time(iso).slice(0, 2)) >= 7;
/** Days of Denver as UTC shows them, over the clock change of 10 March 2024. */
const fromSevenOn = hours(41, Date.UTC(2024, 1, 20)).slice(7, -18);
interface Case {
  readonly name: string;
  readonly code: string;
  readonly text: string;
  /** Which of the hint's answers is the true one here. */
  readonly answer?: number | 'any' | 'each';
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
    name: 'price windows and their total, without a unit',
    code: 'columns-unclear',
    text: `Start,Peak,Off-Peak,Total\n${rows(two, (iso, i) => `${start(iso)},${isDay(iso) ? kwh(i) : 0},${isDay(iso) ? 0 : kwh(i)},${kwh(i)}`)}`,
    answer: 'each',
    truthKwh: sum(two),
  },
  {
    name: 'price windows alone',
    code: 'columns-unclear',
    text: `Start,Day,Night\n${rows(two, (iso, i) => `${start(iso)},${isDay(iso) ? kwh(i) : 0},${isDay(iso) ? 0 : kwh(i)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'price windows beside a total that isn’t theirs',
    code: 'columns-unclear',
    text: `Start,Peak,Off-Peak,Total\n${rows(two, (iso, i) => `${start(iso)},${isDay(iso) ? kwh(i) : 0},${isDay(iso) ? 0 : kwh(i)},${(2 * kwh(i + 7)).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'mains and the circuits behind them',
    code: 'columns-unclear',
    text: `Start,Mains (kWh),Kitchen (kWh),Heat pump (kWh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)},${(kwh(i) * 0.3).toFixed(3)},${(kwh(i) * 0.4).toFixed(3)}`)}`,
    answer: 'each',
    truthKwh: sum(two),
  },
  {
    name: 'a column of kVAh that holds kWh',
    code: 'not-active-energy',
    text: `Start,Usage (kVAh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'dates that may be read in any order',
    code: 'date-order-unclear',
    text: `Start,kWh\n${rows(hours(1), (iso, i) => `10-11-12 ${time(iso)},${kwh(i)}`)}`,
    truthKwh: sum(hours(1)),
  },
  {
    name: 'labels in UTC that don’t say so',
    code: 'clock-unclear',
    text: `Start,kWh\n${rows(fromSevenOn, (iso, i) => `${start(iso)},${kwh(i)}`)}`,
    truthKwh: sum(fromSevenOn),
  },
  {
    name: 'rows of two energies at one time, one of which counts',
    code: 'parts-unclear',
    text: `Start,Type,kWh\n${rows(two, (iso, i) => `${start(iso)},Usage,${kwh(i)}\n${start(iso)},Consumption,${(kwh(i + 4) * 1.3).toFixed(3)}`)}`,
    answer: 1,
    truthKwh: sum(two),
  },
  {
    name: 'rows of two energies at one time, both of which count',
    code: 'parts-unclear',
    text: `Start,Type,kWh\n${rows(two, (iso, i) => `${start(iso)},Usage,${kwh(i)}\n${start(iso)},Consumption,${(kwh(i + 4) * 1.3).toFixed(3)}`)}`,
    truthKwh: sum(two, (i) => kwh(i) + Number((kwh(i + 4) * 1.3).toFixed(3))),
  },
  {
    name: 'an import and a net that it doesn’t make',
    code: 'parts-unclear',
    text: `Start,Import (kWh),Net (kWh)\n${rows(two, (iso, i) => `${start(iso)},${kwh(i)},${(kwh(i + 5) * 1.4).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'two meters, the first of which is the home’s',
    code: 'several-usage-points',
    text: `Start,Meter Number,kWh\n${rows(two, (iso, i) => `${start(iso)},111,${kwh(i)}\n${start(iso)},222,${(kwh(i + 3) / 2).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'three meters of one home',
    code: 'several-usage-points',
    text: `Start,Meter Number,kWh\n${rows(two, (iso, i) => ['111', '222', '333'].map((meter) => `${start(iso)},${meter},${kwh(i)}`).join('\n'))}`,
    answer: 1,
    truthKwh: 3 * sum(two),
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
    name: 'rows of a text that says nothing beside their total',
    code: 'rows-unclear',
    text: `Start,Register,kWh\n${rows(two, (iso, i) => `${start(iso)},Q7,${kwh(i)}\n${start(iso)},Total,${(kwh(i) * 1.2).toFixed(3)}`)}`,
    truthKwh: sum(two),
  },
  {
    name: 'rows of registers beside a total that isn’t theirs: the total',
    code: 'parts-unclear',
    text: `Start,Register,kWh\n${rows(two, (iso, i) => `${start(iso)},Peak,${isDay(iso) ? kwh(i) : 0}\n${start(iso)},Off-peak,${isDay(iso) ? 0 : kwh(i)}\n${start(iso)},Total,${(kwh(i) * 1.2).toFixed(3)}`)}`,
    truthKwh: sum(two, (i) => Number((kwh(i) * 1.2).toFixed(3))),
  },
  {
    name: 'rows of registers beside a total that isn’t theirs: the registers',
    code: 'parts-unclear',
    text: `Start,Register,kWh\n${rows(two, (iso, i) => `${start(iso)},Peak,${isDay(iso) ? kwh(i) : 0}\n${start(iso)},Off-peak,${isDay(iso) ? 0 : kwh(i)}\n${start(iso)},Total,${(kwh(i) * 1.2).toFixed(3)}`)}`,
    answer: 1,
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
    answer: 2,
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
    const followed = typeof answer === 'string' ? offered : offered.slice(answer, answer + 1);
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
    if (answer === 'each') expect(new Set(read).size).toBe(1);
  });

  test('the kWh printed for each answer are those that the answer gives', async () => {
    // Three rows an hour, one of them the sum of the others, and some that repeat the first exactly.
    const row = (iso: string, i: number) =>
      [i % 5 < 2 ? kwh(i) : 0, i % 5 < 2 ? 0 : kwh(i), kwh(i)].map((value) => `${start(iso)},${value}`).join('\n');
    const files = { 'meter.csv': `Start,Usage (kWh)\n${rows(two, row)}\n` };
    const issue = await refused({ files: ['meter.csv'] }, files);
    expect(issue.code).toBe('duplicate-differs');
    for (const repeats of ['first', 'last', 'add'] as const) {
      const series = await load({ files: [{ path: 'meter.csv', repeats }] }, files);
      const read = series.importKwh!.reduce((total, value) => total + value, 0);
      expect(issue.data?.[`${repeats}Kwh`], repeats).toBeCloseTo(read, 6);
    }
    expect(issue.data?.addKwh).toBeCloseTo(2 * sum(two), 6);
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

  test.each([1000, 0.001])(
    'a file is split where its unit changes, each part with the unit printed for it: × %d',
    async (times) => {
      const labels = hours(20);
      const change = 24 * 9;
      const [before, after] = times > 1 ? [1, 1000] : [1000, 1];
      const row = (iso: string, i: number) => `${start(iso)},${(kwh(i) * (i < change ? before : after)).toFixed(3)}`;
      const whole = `Start,Usage (${times > 1 ? 'kWh' : 'Wh'})\n${rows(labels, row)}\n`;
      const issue = await refused({ files: ['meter.csv'] }, { 'meter.csv': whole });
      expect(issue).toMatchObject({ code: 'unit-changes', data: { date: '2024-01-10' } });
      const parts = snippets(issue.hint!).map((snippet, k) => parse(snippet.replace('…', `part-${k}.csv`)));
      const lines = whole.split('\n');
      const files = {
        'part-0.csv': lines.slice(0, change + 1).join('\n'),
        'part-1.csv': [lines[0], ...lines.slice(change + 1)].join('\n'),
      };
      const series = await load({ files: parts }, files);
      expect(series.importKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(sum(labels), 3);
    },
  );

  test('a file is split where its step changes', async () => {
    const step = (from: number, count: number, minutes: number) =>
      Array.from({ length: count }, (_, i) => {
        const iso = new Date(Date.UTC(2024, 0, 1) + (from + i * minutes) * 60_000).toISOString();
        return `${start(iso)},0.1`;
      });
    const [first, second] = [step(0, 96, 30), step(2880, 400, 20)];
    const head = 'Start,Usage (kWh)';
    const whole = [head, ...first, ...second].join('\n');
    const issue = await refused({ files: ['meter.csv'] }, { 'meter.csv': whole });
    expect(issue.code).toBe('mixed-steps');
    const files = { 'a.csv': [head, ...first].join('\n'), 'b.csv': [head, ...second].join('\n') };
    const next = await load({ files: ['a.csv', 'b.csv'] }, files).catch((error: InputError) => error.issues[0]!);
    // 20 and 30 minutes have no step in common that both fill: the next honest word, or the whole energy.
    if ('code' in next) expect(next.code).toBe('steps-differ');
    else expect(next.importKwh!.reduce((a, b) => a + b, 0)).toBeCloseTo(49.6, 6);
  });

  test('a reading above the service: blanked, or the service stated', async () => {
    const file = (cell: (i: number) => string | number) =>
      `Start,Usage (kWh)\n${rows(two, (iso, i) => `${start(iso)},${cell(i)}`)}\n`;
    const high = { 'meter.csv': file((i) => (i === 100 ? 130 : kwh(i))) };
    const issue = await refused({ files: ['meter.csv'] }, high);
    expect(issue).toMatchObject({ code: 'reading-above-service', where: { line: 102 } });
    expect(issue.hint).toContain('service.importLimitKw');
    const blanked = { 'meter.csv': file((i) => (i === 100 ? '' : kwh(i))) };
    expect((await load({ files: ['meter.csv'] }, blanked)).importKwh!.length).toBe(two.length);
    const stated = await load({ files: ['meter.csv'] }, high, { service: { importLimitKw: 150 } });
    expect(stated.importKwh![100]).toBe(130);
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
