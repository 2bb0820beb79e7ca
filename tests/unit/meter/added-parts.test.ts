// Meters, registers and columns that are added to one channel: what one of them lacks is not known, unless something says
// that it counted nothing.
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const ZONE = 'America/Denver';
const DAYS = 60;
/** Sixty days from Monday, 5 January 2026: whether an hour of them is there, and what it holds. */
type Hour = (day: number, hour: number) => number | undefined;

const dateOf = (day: number) => new Date(Date.UTC(2026, 0, 5 + day)).toISOString().slice(0, 10);
const hours = Array.from({ length: DAYS * 24 }, (_, i) => [Math.floor(i / 24), i % 24] as const);
const label = (day: number, hour: number) => `${dateOf(day)} ${String(hour).padStart(2, '0')}:00`;
const table = (header: string, rows: readonly string[]) => `${[header, ...rows].join('\n')}\n`;
const cell = (kwh: number | undefined) => kwh?.toFixed(3) ?? '';

const columns = (names: string, ...parts: readonly Hour[]) =>
  table(
    `Start,${names}`,
    hours.map(([d, h]) => [label(d, h), ...parts.map((part) => cell(part(d, h)))].join(',')),
  );
/** A row for each part and hour that is there. */
const rows = (head: string, parts: Readonly<Record<string, Hour>>) =>
  table(
    `Start,${head},kWh`,
    hours.flatMap(([d, h]) =>
      Object.entries(parts).flatMap(([name, part]) =>
        part(d, h) === undefined ? [] : [`${label(d, h)},${name},${cell(part(d, h))}`],
      ),
    ),
  );
const nem12 = (...points: readonly Hour[]) =>
  [
    '100,NEM12,202605010000,A,B',
    ...points.flatMap((part, k) => [
      `200,NMI${k},E1,E1,E1,N1,M,kWh,60,`,
      ...Array.from({ length: DAYS }, (_, d) => d)
        .filter((d) => part(d, 0) !== undefined)
        .map(
          (d) =>
            `300,${dateOf(d).replaceAll('-', '')},${Array.from({ length: 24 }, (_, h) => part(d, h)).join(',')},A,,,20260501000000,`,
        ),
    ]),
    '900',
    '',
  ].join('\n');
/** A meter reading for each part, of one usage point; `tou` 0 says nothing of windows. */
const espi = (tou: readonly number[], ...parts: readonly Hour[]) => {
  const beginS = Date.UTC(2026, 0, 5, 7) / 1000;
  const meters = parts.map((part, k) => {
    const link = `/UsagePoint/1/MeterReading/${k + 1}`;
    const readings = hours.flatMap(([d, h]) => {
      const kwh = part(d, h);
      const start = beginS + (d * 24 + h) * 3600;
      return kwh === undefined
        ? []
        : [
            `<IntervalReading><timePeriod><duration>3600</duration><start>${start}</start></timePeriod><value>${Math.round(kwh * 1000)}</value></IntervalReading>`,
          ];
    });
    return `<entry><link rel="self" href="${link}"/><link rel="related" href="/ReadingType/${k + 1}"/><content><MeterReading/></content></entry>
<entry><link rel="self" href="/ReadingType/${k + 1}"/><content><ReadingType><uom>72</uom><flowDirection>1</flowDirection><tou>${tou[k]}</tou></ReadingType></content></entry>
<entry><link rel="up" href="${link}/IntervalBlock"/><content><IntervalBlock>${readings.join('\n')}</IntervalBlock></content></entry>`;
  });
  return `<feed>${meters.join('\n')}</feed>`;
};

const read = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone: ZONE, ...options });
const told = (text: string, options: ParseOptions = {}) =>
  read(text, options).findings.filter(({ code }) => code === 'part-missing');
const kwhOf = (text: string, options: ParseOptions = {}) =>
  read(text, options).series?.importKwh?.reduce((sum, kwh) => sum + (kwh || 0), 0) ?? Number.NaN;
const sumOf = (...parts: readonly Hour[]) =>
  hours.reduce((sum, [d, h]) => sum + parts.reduce((kwh, part) => kwh + (part(d, h) ?? 0), 0), 0);

const home: Hour = (d, h) => 0.5 + ((d + h) % 5) * 0.1;
const second: Hour = (d, h) => 0.25 + ((d + 2 * h) % 3) * 0.1;
const on =
  (has: (day: number, hour: number) => boolean, part: Hour): Hour =>
  (d, h) =>
    has(d, h) ? part(d, h) : undefined;
const isWeekend = (d: number) => d % 7 > 4;

// Where parts count at all times, the file knows nothing of the days that one of them lacks.
describe('days that one of the added parts lacks', () => {
  const both = { usagePoint: [1, 2] };
  const stated = { columns: { import: [2, 3] } };
  const kinds = { rows: { 1: 'import', 2: 'import' } } as const;
  const circuit = { General: home, 'Controlled load': second };
  test.each<[string, (a: Hour, b: Hour) => string, ParseOptions, string]>([
    [
      'meters as rows',
      (a, b) => rows('Meter Number', { 111: a, 222: b }),
      { ...both, channel: 'import' },
      'usage point 2',
    ],
    ['connection points of NEM12', nem12, { ...both, zone: 'Australia/Brisbane' }, 'usage point 2'],
    ['columns that are stated', (a, b) => columns('A kWh,B kWh', a, b), stated, 'column 3'],
    ['registers as rows that are stated', (a, b) => rows('Register', { 1: a, 2: b }), kinds, 'rows of "2"'],
    [
      'a circuit',
      (a, b) => rows('Register', { ...circuit, General: a, 'Controlled load': b }),
      {},
      'rows of "Controlled load"',
    ],
    ['meter readings of ESPI', (a, b) => espi([0, 0], a, b), { repeats: 'add' }, 'meter reading 2'],
  ])('are not read from the other alone: %s', (_, make, options, part) => {
    expect(kwhOf(make(home, second), options)).toBeCloseTo(sumOf(home, second), 3);
    expect(told(make(home, second), options)).toEqual([]);
    for (const [from, to] of [
      [20, DAYS - 1],
      [0, 44],
      [5, 30],
      [33, 33],
    ] as const) {
      const lacks = (d: number) => d >= from && d <= to;
      const text = make(
        home,
        on((d) => !lacks(d), second),
      );
      expect(kwhOf(text, options), `${from} to ${to}`).toBeCloseTo(
        sumOf(
          on((d) => !lacks(d), home),
          on((d) => !lacks(d), second),
        ),
        3,
      );
      expect(told(text, options)).toMatchObject([
        {
          severity: 'warning',
          count: to - from + 1,
          data: {
            part,
            role: 'import',
            counted: 'unknown',
            days: to - from + 1,
            runs: [{ from: dateOf(from), to: dateOf(to) }],
            othersKwh: expect.closeTo(sumOf(on(lacks, home)), 3),
          },
        },
      ]);
    }
  });

  test('of both, each its own, are told of each', () => {
    const text = columns(
      'A kWh,B kWh',
      on((d) => d >= 10, home),
      on((d) => d < 40, second),
    );
    expect(told(text, stated).map(({ data }) => data)).toMatchObject([{ days: 10 }, { days: 20 }]);
    expect(kwhOf(text, stated)).toBeCloseTo(
      sumOf(...[home, second].map((part) => on((d) => d >= 10 && d < 40, part))),
      3,
    );
  });

  test('of a circuit are not known either where it runs while the home draws nothing else', () => {
    // A water heater that runs on what the roof gives; the rest of the home draws at those hours under clouds alone.
    const isNoon = (h: number) => h >= 11 && h < 14;
    const cloudy = (d: number) => d % 12 === 0;
    const rest: Hour = (d, h) => (isNoon(h) && !cloudy(d) ? 0 : home(d, h));
    const heater = on(
      (d) => d < 40,
      (_, h) => (isNoon(h) ? 0.8 : 0),
    );
    const text = rows('Register', { General: rest, 'Controlled load': heater });
    expect(kwhOf(text)).toBeCloseTo(sumOf(...[rest, heater].map((part) => on((d) => d < 40, part))), 3);
    expect(told(text)).toMatchObject([{ data: { counted: 'unknown', days: 20 } }]);
  });

  test('of a register of one of two connection points are told of the register alone', () => {
    const day = (d: number, kwh: number) =>
      `300,${dateOf(d).replaceAll('-', '')},${Array.from({ length: 24 }, () => kwh).join(',')},A,,,20260501000000,`;
    const register = (point: string, suffix: string, days: number) => [
      `200,${point},E1E2,${suffix},${suffix},N1,M,kWh,60,`,
      ...Array.from({ length: days }, (_, d) => day(d, 0.5)),
    ];
    const text = ['100,NEM12,202605010000,A,B']
      .concat(register('A', 'E1', 10), register('A', 'E2', 7), register('B', 'E1', 10), register('B', 'E2', 10), '900')
      .join('\n');
    for (const repeats of [undefined, 'add'] as const) {
      const options = { usagePoint: [1, 2], zone: 'Australia/Brisbane', ...(repeats && { repeats }) };
      expect(kwhOf(text, options)).toBeCloseTo(7 * 48, 9);
      expect(told(text, options)).toEqual([]);
      expect(read(text, options).findings.filter(({ code }) => code === 'register-missing')).toHaveLength(1);
    }
  });

  test('a register of NEM12 whose intervals change is one, also where repeats are added', () => {
    const days = (minutes: number, from: number, to: number) => [
      `200,A,E1,E1,E1,N1,M,kWh,${minutes},`,
      ...Array.from(
        { length: to - from },
        (_, k) =>
          `300,${dateOf(from + k).replaceAll('-', '')},${Array.from({ length: 1440 / minutes }, () => minutes / 60).join(',')},A,,,20260501000000,`,
      ),
    ];
    const text = ['100,NEM12,202605010000,A,B', ...days(60, 0, 5), ...days(30, 5, 10), '900', ''].join('\n');
    expect(kwhOf(text, { zone: 'Australia/Brisbane', repeats: 'add' })).toBeCloseTo(240, 9);
  });

  test('are told in one sentence with what is to be done', () => {
    const text = columns(
      'A kWh,B kWh',
      () => 0.5,
      on((d) => d < 58, second),
    );
    expect(told(text, stated)[0]!.message).toBe(
      'column 3: no import on 2 days (2026-03-04 to 2026-03-05) on which column 2 has 24 kWh: the import of those days is not known, and not read; add the readings, or readings of 0 where it counted nothing',
    );
  });
});

describe('registers of price windows, of which one counts at a time', () => {
  const isPeak = (d: number, h: number) => h >= 15 && h < 21 && !isWeekend(d);
  const peak: Hour = (d, h) => (isPeak(d, h) ? home(d, h) : 0);
  const rest: Hour = (d, h) => (isPeak(d, h) ? 0 : home(d, h));
  const layouts: readonly [string, (a: Hour, b: Hour) => string, ParseOptions][] = [
    ['columns', (a, b) => columns('Peak kWh,Off-peak kWh', a, b), {}],
    ['rows', (a, b) => rows('Register', { Peak: a, 'Off-peak': b }), {}],
    ['windows of ESPI', (a, b) => espi([1, 2], a, b), {}],
    ['rows that are stated', (a, b) => rows('Register', { 1: a, 2: b }), { rows: { 1: 'import', 2: 'import' } }],
  ];
  test.each(layouts)('lack weeks of readings where the others say 0 in its hours: %s', (_, make, options) => {
    const lacks = (d: number) => d >= 20;
    const text = make(
      on((d) => !lacks(d), peak),
      rest,
    );
    const read = sumOf(on((d) => !lacks(d), home));
    // On weekends it never counts: those of the days that it lacks are known.
    const known = sumOf(on((d) => lacks(d) && isWeekend(d), home));
    expect(kwhOf(text, options)).toBeCloseTo(read + known, 3);
    expect(told(text, options)).toMatchObject([{ data: { counted: 'unknown', days: 29 } }]);
  });

  test.each(layouts)('lack nothing on days on which their tariff has no such hours: %s', (_, make, options) => {
    const holidays = [14, 42];
    const noPeak = (d: number) => isWeekend(d) || holidays.includes(d);
    const onlyWorkdays = on((d) => !noPeak(d), peak);
    const other: Hour = (d, h) => (noPeak(d) ? home(d, h) : rest(d, h));
    expect(kwhOf(make(onlyWorkdays, other), options)).toBeCloseTo(sumOf(home), 3);
    expect(told(make(onlyWorkdays, other), options)).toEqual([]);
  });

  test.each(layouts)('lack nothing in a season without them: %s', (_, make, options) => {
    const season = (d: number) => d >= 31;
    const other: Hour = (d, h) => (season(d) ? rest(d, h) : home(d, h));
    expect(kwhOf(make(on(season, peak), other), options)).toBeCloseTo(sumOf(home), 3);
    expect(told(make(on(season, peak), other), options)).toEqual([]);
  });

  test.each(layouts)('lack nothing on weekends of a home that draws nothing in those hours: %s', (_, make, options) => {
    // The sun covers it on weekends.
    const other: Hour = (d, h) => (h >= 15 && h < 21 ? 0 : home(d, h));
    const text = make(
      on((d) => !isWeekend(d), peak),
      other,
    );
    expect(kwhOf(text, options)).toBeCloseTo(sumOf(peak, other), 3);
    expect(told(text, options)).toEqual([]);
  });

  test.each(layouts)(
    'with readings in their own hours alone are joined, and hours that nobody has are gaps: %s',
    (_, make, options) => {
      const inTurn = on(isPeak, peak);
      const others = on((d, h) => !isPeak(d, h), rest);
      expect(kwhOf(make(inTurn, others), options)).toBeCloseTo(sumOf(home), 3);
      const lacking = on((d) => d < 40, inTurn);
      expect(kwhOf(make(lacking, others), options)).toBeCloseTo(sumOf(lacking, others), 3);
      const { series, findings } = read(make(lacking, others), options);
      expect(series!.axis.intervals).toBe(DAYS * 24);
      expect(findings.filter(({ code }) => code === 'gap')).toMatchObject([{ count: 6 * 14 }]);
    },
  );

  test('beside a circuit: the circuit’s hours are no peak', () => {
    const text = (a: Hour) => rows('Register', { Peak: a, 'Off-peak': rest, 'Controlled load': second });
    expect(kwhOf(text(peak))).toBeCloseTo(sumOf(home, second), 3);
    expect(told(text(on((d) => d < 20, peak)))).toMatchObject([{ data: { part: 'rows of "Peak"', days: 29 } }]);
    expect(kwhOf(text(on((d) => d < 20, peak)))).toBeCloseTo(
      sumOf(...[home, second].map((part) => on((d) => d < 20 || isWeekend(d), part))),
      3,
    );
  });
});

describe('parts that leave rows out', () => {
  const heats = (d: number, h: number) => h < 5 && d % 9 !== 8;
  const text = (away: (d: number) => boolean) =>
    rows('Register', { General: home, 'Controlled load': on((d, h) => heats(d, h) && !away(d), second) });

  test('within the days that they have count 0 there, and on a day without any', () => {
    expect(kwhOf(text(() => false))).toBeCloseTo(sumOf(home, on(heats, second)), 3);
    expect(told(text(() => false))).toEqual([]);
  });

  test('for a week and more count 0 as well, which is told', () => {
    const away = (d: number) => d >= 18 && d < 25;
    expect(kwhOf(text(away))).toBeCloseTo(
      sumOf(
        home,
        on((d, h) => heats(d, h) && !away(d), second),
      ),
      3,
    );
    expect(told(text(away))).toMatchObject([
      { severity: 'warning', data: { counted: 'zero', days: 8, runs: [{ from: dateOf(17), to: dateOf(24) }] } },
    ]);
  });
});

describe('meters that follow each other', () => {
  const both = { usagePoint: [1, 2], channel: 'import' } as const;
  test.each([
    ['from one day to the next', 29, 30],
    ['with the day of the change in both', 30, 30],
  ])('are one: %s', (_, last, first) => {
    const old = on((d, h) => d < last || (d === last && (first > last || h < 12)), home);
    const next = on((d, h) => d > first || (d === first && (first > last || h >= 12)), home);
    const text = rows('Meter Number', { 111: old, 222: next });
    expect(kwhOf(text, both)).toBeCloseTo(sumOf(home), 3);
    expect(told(text, both)).toEqual([]);
  });
});
