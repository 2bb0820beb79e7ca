import { type IntervalSeries, joinSeries, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

// A home that begins to sell in the midst of its data has no export before (docs/reference/interval-files.md).

const ZONE = 'Europe/Berlin';
const two = (n: number) => String(n).padStart(2, '0');
const comma = (kwh: number) => String(kwh).replace('.', ',');
/** March 2026 up to the change of the clock: bought 0.3 kWh an hour, and from a day on nothing from 10 to 15 h, when 0.5 is sold. */
const boughtKwh = (hasSun: boolean, hour: number) => (hasSun && hour >= 10 && hour < 15 ? 0 : 0.3);
const soldKwh = (hour: number) => (hour >= 10 && hour < 15 ? 0.5 : 0);
interface Told {
  readonly sun?: (day: number) => boolean;
  readonly sold?: (day: number) => boolean;
  readonly more?: string;
}
const table = (from: number, to: number, { sun = () => true, sold = () => true }: Told, hasColumn = true) => {
  const lines = [`Zeitpunkt;Bezug (kWh)${hasColumn ? ';Einspeisung (kWh)' : ''}`];
  for (let day = from; day <= to; day++)
    for (let hour = 0; hour < 24; hour++) {
      const bought = comma(boughtKwh(sun(day), hour));
      const own = sold(day) ? comma(soldKwh(hour)) : '';
      lines.push(`${two(day)}.03.2026 ${two(hour)}:00;${bought}${hasColumn ? `;${own}` : ''}`);
    }
  return [...lines, ''].join('\n');
};
const read = (text: string, options: ParseOptions = {}): IntervalSeries => {
  const { series, findings } = parseIntervalData(text, { zone: ZONE, ...options });
  expect(findings.filter(({ severity }) => severity === 'error')).toEqual([]);
  return series!;
};
const told = ({ findings }: Pick<ReturnType<typeof joinSeries>, 'findings'>, code = 'export-begins') =>
  findings.filter((finding) => finding.code === code);
const exported = ({ exportKwh }: IntervalSeries) => ({
  kwh: exportKwh!.reduce((sum, kwh) => sum + (kwh || 0), 0),
  gaps: exportKwh!.filter(Number.isNaN).length,
});
const later = (day: number) => day > 14;

describe('a home that began to sell', () => {
  test('sold nothing in the file before, which has no export: told', () => {
    for (const files of [
      [read(table(1, 14, { sun: later }, false)), read(table(15, 28, {}))],
      [read(table(15, 28, {})), read(table(1, 14, { sun: later }, false))],
    ]) {
      const joined = joinSeries(files);
      expect(joined.series!.axis.intervals).toBe(28 * 24);
      expect(exported(joined.series!)).toEqual({ kwh: expect.closeTo(14 * 2.5, 9), gaps: 0 });
      expect(told(joined)).toMatchObject([
        { severity: 'warning', data: { from: '2026-03-15', days: 14, by: 'no-reading' } },
      ]);
      expect(told(joined, 'gap')).toEqual([]);
    }
  });

  test('sold nothing where its column is blank before', () => {
    const joined = joinSeries([read(table(1, 28, { sun: later, sold: later }))]);
    expect(exported(joined.series!)).toEqual({ kwh: expect.closeTo(14 * 2.5, 9), gaps: 0 });
    expect(told(joined)).toMatchObject([{ data: { from: '2026-03-15', days: 14 } }]);
  });

  test('and its solar began with it', () => {
    const solar = ['Zeitpunkt;Solar kWh'];
    for (let day = 15; day <= 28; day++)
      for (let hour = 0; hour < 24; hour++)
        solar.push(`${two(day)}.03.2026 ${two(hour)}:00;${hour >= 10 && hour < 15 ? '0,8' : '0'}`);
    const own = read([...solar, ''].join('\n'));
    const joined = joinSeries([read(table(1, 14, { sun: later }, false)), read(table(15, 28, {})), own]);
    expect(joined.series!.solarKwh!.slice(0, 14 * 24).every((kwh) => kwh === 0)).toBe(true);
    expect(told(joined)).toHaveLength(1);
  });

  test('is not taken for one where nothing is bought by day before: it had sun, and export is missing', () => {
    const joined = joinSeries([read(table(1, 14, {}, false)), read(table(15, 28, {}))]);
    expect(joined.series).toBeUndefined();
    expect(told(joined, 'span-differs')).toHaveLength(1);
    const blank = joinSeries([read(table(1, 28, { sold: later }))]);
    expect(exported(blank.series!).gaps).toBe(14 * 24);
    expect(told(blank)).toEqual([]);
  });

  test('is not taken for one where as little is bought at noon before as after, though never nothing: phases are counted apart', () => {
    const phases = (text: string) => text.replace(/(:00);0(?=;|$)/gm, '$1;0,02');
    const joined = joinSeries([read(phases(table(1, 14, {}, false))), read(phases(table(15, 28, {})))]);
    expect(joined.series).toBeUndefined();
    expect(told(joined, 'span-differs')).toHaveLength(1);
    const blank = joinSeries([read(phases(table(1, 28, { sold: later })))]);
    expect(exported(blank.series!).gaps).toBe(14 * 24);
    const began = joinSeries([read(phases(table(1, 14, { sun: later }, false))), read(phases(table(15, 28, {})))]);
    expect(exported(began.series!)).toEqual({ kwh: expect.closeTo(14 * 2.5, 9), gaps: 0 });
    // No less is bought at noon than before: nothing shows that a roof is new.
    const same = joinSeries([read(table(1, 14, { sun: later }, false)), read(table(15, 28, { sun: () => false }))]);
    expect(told(same, 'span-differs')).toHaveLength(1);
  });

  test('is not taken for one where nothing is bought at many hours of the night either: a battery may carry it', () => {
    const carried = table(1, 14, {}, false).replace(/( (?:0[0-6]|2[0-3]):00);0,3/g, '$1;0');
    const joined = joinSeries([read(carried), read(table(15, 28, {}))]);
    expect(told(joined, 'span-differs')).toHaveLength(1);
  });

  test('is not taken for one where solar was made before', () => {
    const solar = ['Zeitpunkt;Solar kWh'];
    for (let day = 1; day <= 28; day++)
      for (let hour = 0; hour < 24; hour++)
        solar.push(`${two(day)}.03.2026 ${two(hour)}:00;${hour >= 10 && hour < 15 ? '0,8' : '0'}`);
    const own = read([...solar, ''].join('\n'));
    const joined = joinSeries([read(table(1, 14, { sun: later }, false)), read(table(15, 28, {})), own]);
    expect(told(joined, 'span-differs')).toHaveLength(1);
  });

  test('is not taken for one that stops selling: those readings are missing', () => {
    const joined = joinSeries([read(table(1, 14, {})), read(table(15, 28, {}, false))]);
    expect(told(joined, 'span-differs')).toHaveLength(1);
  });

  test('keeps gaps that lie within what it sold', () => {
    const joined = joinSeries([read(table(1, 28, { sun: later, sold: (day) => day > 14 && day !== 20 }))]);
    expect(exported(joined.series!).gaps).toBe(24);
  });
});

describe('a connection point whose configuration names export later', () => {
  const zone = 'Australia/Brisbane';
  const values = (kwh: (slot: number) => number) => Array.from({ length: 48 }, (_, k) => kwh(k)).join(',');
  const block = (suffix: string, from: number, to: number, configuration: string, kwh: (slot: number) => number) => [
    `200,6000000001,${configuration},${suffix},${suffix},N1,M1,kWh,30,`,
    ...Array.from({ length: to - from + 1 }, (_, d) => `300,202603${two(from + d)},${values(kwh)},A,,,,`),
  ];
  const file = (...blocks: string[][]) => ['100,NEM12,202604010000,MDP,RET', ...blocks.flat(), '900', ''].join('\n');
  const bought = (k: number) => (k >= 20 && k < 30 ? 0 : 0.2);
  const sold = (k: number) => (k >= 20 && k < 30 ? 0.4 : 0);

  test('has none before, in one file and in two', () => {
    const one = parseIntervalData(
      file(block('E1', 1, 10, 'E1', bought), block('E1', 11, 20, 'E1B1', bought), block('B1', 11, 20, 'E1B1', sold)),
      { zone },
    );
    expect(exported(one.series!)).toEqual({ kwh: expect.closeTo(10 * 4, 9), gaps: 0 });
    expect(told(one)).toMatchObject([{ data: { from: '2026-03-11', days: 10, by: 'configuration' } }]);
    const two = joinSeries([
      read(file(block('E1', 1, 10, 'E1', bought)), { zone }),
      read(file(block('E1', 11, 20, 'E1B1', bought), block('B1', 11, 20, 'E1B1', sold)), { zone }),
    ]);
    expect(exported(two.series!)).toEqual({ kwh: expect.closeTo(10 * 4, 9), gaps: 0 });
    expect(told(two)).toMatchObject([{ data: { from: '2026-03-11', days: 10, by: 'configuration' } }]);
  });

  test('lacks days that the configuration names it on: told, and not known', () => {
    const data = parseIntervalData(file(block('E1', 1, 20, 'E1B1', bought), block('B1', 11, 20, 'E1B1', sold)), {
      zone,
    });
    expect(told(data)).toEqual([]);
    expect(told(data, 'register-missing')).toMatchObject([
      { data: { why: 'days', register: 'B1', role: 'export', days: 10, others: ['E1'] } },
    ]);
    expect(exported(joinSeries([data.series!]).series!).gaps).toBe(10 * 48);
  });

  test('is not taken for one where an earlier file names export and holds none of it', () => {
    const joined = joinSeries([
      read(file(block('E1', 1, 10, 'E1B1', () => 0.2)), { zone }),
      read(file(block('E1', 11, 20, 'E1B1', bought), block('B1', 11, 20, 'E1B1', sold)), { zone }),
    ]);
    expect(told(joined)).toEqual([]);
    expect(joined.series).toBeUndefined();
  });
});
