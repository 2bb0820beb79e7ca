// A block a day: a line with the date, then rows with the time of day, or with the number of the hour. Layouts are invented;
// a day of a clock change has 23 or 25 hours.
import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { table } from '../../support/meter-tables.ts';

const zone = 'Europe/Berlin';
const HOUR_MS = 3_600_000;
/** Days of 24 hours from a date on, by UTC. */
const dates = (first: string, days: number) =>
  Array.from({ length: days }, (_, d) => new Date(Date.parse(first) + d * 24 * HOUR_MS).toISOString().slice(0, 10));
const DAYS = dates('2026-01-28', 20);
const dmy = (iso: string) => iso.split('-').reverse().join('.');
const kwh = (day: number, hour: number) => 0.3 + ((day * 24 + hour) % 7) * 0.1 + (hour > 17 ? 0.8 : 0);
const two = (hour: number) => String(hour).padStart(2, '0');
const de = (value: number) => value.toFixed(3).replace('.', ',');
const ofDay = (day: number) => Array.from({ length: 24 }, (_, h) => kwh(day, h)).reduce((a, b) => a + b, 0);
const SUM = DAYS.reduce((sum, _, day) => sum + ofDay(day), 0);

type Line = (day: number, hour: number) => string;
const hourly: Line = (day, h) => `${two(h)}:00;${de(kwh(day, h))}`;
const blocks = (heading: (iso: string, day: number) => string, row: Line = hourly, hours = [...Array(24).keys()]) =>
  DAYS.flatMap((iso, day) => [...heading(iso, day).split('\n'), ...hours.map((h) => row(day, h))]);
const read = (text: string, options = {}) => parseIntervalData(text, { zone, ...options });
const sum = (values?: Float64Array) => values?.reduce((all, value) => all + (value || 0), 0);
/** kWh of each local day of the series. */
const perDay = (text: string, options = {}) => {
  const { series } = read(text, options);
  const days = new Map<number, number>();
  for (const [i, value] of (series?.importKwh ?? []).entries()) {
    const day = series!.axis.calendar.day[i]!;
    days.set(day, (days.get(day) ?? 0) + value);
  }
  return [...days.values()].map((value) => Number(value.toFixed(3)));
};
const TRUTH = DAYS.map((_, day) => Number(ofDay(day).toFixed(3)));

describe('a block a day', () => {
  test.each<[string, string, readonly string[]]>([
    ['a date alone, one header', 'Uhrzeit;Verbrauch kWh', blocks(dmy)],
    ['a date with empty fields', 'Uhrzeit;Verbrauch kWh', blocks((iso) => `${dmy(iso)};`)],
    ['a word before the date', 'Uhrzeit;Verbrauch kWh', blocks((iso) => `Datum: ${dmy(iso)}`)],
    ['a word in a field of its own', 'Uhrzeit;Verbrauch kWh', blocks((iso) => `Datum;${dmy(iso)}`)],
    [
      'weekdays before the date',
      'Uhrzeit;Verbrauch kWh',
      blocks((iso, d) => `${['Mittwoch', 'Donnerstag'][d % 2]}, ${dmy(iso)}`),
    ],
    [
      'weekdays in a field beside the date',
      'Uhrzeit;Verbrauch kWh',
      blocks((iso, d) => `${['Mittwoch', 'Donnerstag', 'Freitag'][d % 3]};${dmy(iso)}`),
    ],
    [
      'months by name',
      'Heure;Consommation kWh',
      blocks((iso) => `${Number(iso.slice(8))} ${iso.slice(5, 7) === '01' ? 'janvier' : 'février'} ${iso.slice(0, 4)}`),
    ],
    ['a header in each block', 'Calle Mayor', blocks((iso) => `\nFecha: ${iso}\nHora;Consumo kWh`)],
    ['a total beside the date', 'Ora;Prelievo kWh', blocks((iso, day) => `${dmy(iso)};${de(ofDay(day))}`)],
    [
      'both ends of each hour',
      'Tijd;Verbruik kWh',
      blocks(dmy, (day, h) => `${two(h)}:00 - ${two((h + 1) % 24)}:00;${de(kwh(day, h))}`),
    ],
    [
      'ends of hours, the last of which is midnight',
      'Uhrzeit;Verbrauch kWh',
      blocks(dmy, (day, h) => `${two((h + 1) % 24)}:00;${de(kwh(day, h))}`),
    ],
    ['newest first within the day', 'Uhrzeit;Verbrauch kWh', blocks(dmy, hourly, [...Array(24).keys()].reverse())],
    [
      'ends of hours, newest first',
      'Uhrzeit;Verbrauch kWh',
      blocks(dmy, (day, h) => `${two((h + 1) % 24)}:00;${de(kwh(day, h))}`, [...Array(24).keys()].reverse()),
    ],
    ['hours by their number', 'Stunde;Verbrauch kWh', blocks(dmy, (day, h) => `${h + 1};${de(kwh(day, h))}`)],
    [
      'numbers from 0, the date in a field',
      'Uur;Verbruik kWh',
      blocks(
        (iso) => `${dmy(iso)};`,
        (day, h) => `${h};${de(kwh(day, h))}`,
      ),
    ],
    ['a meter number before the time', 'Zähler;Uhrzeit;kWh', blocks(dmy, (day, h) => `7700123456;${hourly(day, h)}`)],
  ])('%s', (_, header, rows) => {
    expect(perDay(table(header, rows))).toEqual(TRUTH);
  });

  test('a total at the foot of each day is held against its rows', () => {
    const withTotals = (times: number) =>
      DAYS.flatMap((iso, day) => [
        dmy(iso),
        ...Array.from({ length: 24 }, (_, h) => hourly(day, h)),
        `Summe;${de(ofDay(day) * times)}`,
      ]);
    const right = read(table('Uhrzeit;Verbrauch kWh', withTotals(1)));
    expect(sum(right.series?.importKwh)).toBeCloseTo(SUM, 6);
    expect(right.layout.evidence.join('\n')).toMatch(/block below a line with its date.*the total on line/s);
    const off = read(table('Uhrzeit;Verbrauch kWh', withTotals(1.3))).findings.find(
      ({ code }) => code === 'totals-differ',
    );
    expect(off?.data).toMatchObject({ withheld: true });
  });

  test('import and export beside each other', () => {
    const rows = blocks(dmy, (day, h) => `${hourly(day, h)};${h === 12 ? '1,500' : '0,000'}`);
    const { series } = read(table('Uhrzeit;Bezug kWh;Einspeisung kWh', rows));
    expect(sum(series?.importKwh)).toBeCloseTo(SUM, 6);
    expect(sum(series?.exportKwh)).toBeCloseTo(1.5 * DAYS.length, 6);
    expect(read(table('Uhrzeit;Bezug kWh;Einspeisung kWh', rows)).layout.evidence).toContain(
      'column 2 "Bezug kWh" is import, in kWh',
    );
  });

  test.each([
    ['23 hours in spring', '2026-03-25', 2, -1],
    ['25 hours in autumn', '2026-10-21', 2, 1],
  ])('a day of %s', (_, first, hour, more) => {
    const days = dates(first, 8);
    const hoursOf = (iso: string) => {
      const hours = [...Array(24).keys()];
      if (!['2026-03-29', '2026-10-25'].includes(iso)) return hours;
      return more < 0 ? hours.filter((h) => h !== hour) : [...hours.slice(0, hour), hour, ...hours.slice(hour)];
    };
    let truth = 0;
    const rows = days.flatMap((iso, day) => [
      dmy(iso),
      ...hoursOf(iso).map((h, k) => {
        truth += Number(kwh(day, k % 24).toFixed(3));
        return `${two(h)}:00;${de(kwh(day, k % 24))}`;
      }),
    ]);
    const { series, findings } = read(table('Uhrzeit;Verbrauch kWh', rows));
    expect(series?.axis.intervals).toBe(8 * 24 + more);
    expect(sum(series?.importKwh)).toBeCloseTo(truth, 6);
    expect(findings.map(({ code }) => code)).not.toContain('gap');
  });

  test('a day that is left out is a gap, and hours whose date is lost are of no day', () => {
    const lost = blocks(dmy).filter((line) => line !== dmy(DAYS[18]!));
    const { series, findings } = read(table('Uhrzeit;Verbrauch kWh', lost));
    expect(sum(series?.importKwh)).toBeCloseTo(SUM - ofDay(18), 6);
    expect(findings.find(({ code }) => code === 'gap')).toMatchObject({ count: 24 });
    expect(findings.find(({ code }) => code === 'row-without-time')).toMatchObject({ count: 24 });
  });

  test.each<[string, readonly string[]]>([
    [
      'a number beside the date that is no sum: midnight, perhaps',
      blocks((iso, day) => `${dmy(iso)};${de(kwh(day, 0))}`, hourly, [...Array(24).keys()].slice(1)),
    ],
    ['the same date for two blocks', blocks((_, day) => dmy(DAYS[Math.floor(day / 2)]!))],
    [
      'a date below its rows',
      DAYS.flatMap((iso, day) => [...Array.from({ length: 24 }, (_, h) => hourly(day, h)), dmy(iso)]),
    ],
    [
      'a date below its rows, under one of the whole file',
      [
        '05.03.2026',
        ...DAYS.flatMap((iso, day) => [...Array.from({ length: 24 }, (_, h) => hourly(day, h)), dmy(iso), '']),
      ],
    ],
    ['dates of other words: one is of the file', ['Erstellt: 05.03.2026', ...blocks(dmy).slice(1)]],
    ['times in no order', blocks(dmy, hourly, [3, 20, 5, 7, 1, ...Array(19).keys()])],
  ])('is no layout with %s', (_, rows) => {
    expect(read(table('Uhrzeit;Verbrauch kWh', rows)).series).toBeUndefined();
  });

  test('a date above the whole file doesn’t take the place of a day’s', () => {
    expect(perDay(table('Erstellt;05.03.2026\n\nUhrzeit;Verbrauch kWh', blocks(dmy)))).toEqual(TRUTH);
  });
});
