// Whatever series is written in a layout that loses nothing is read back as it was.
import { civilDayOf, epochAtLocal, intervalStartMs, makeAxis, offsetMinutesAt } from '@duskbank/core/axis';
import { type IntervalSeries, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { randomOf } from '../../support/metered-home.ts';

type Home = IntervalSeries & { importKwh: Float64Array; exportKwh: Float64Array };
/** Text of a series, and what a reader must be told of it. */
interface Layout {
  write(home: Home): string;
  readonly options?: ParseOptions;
  readonly channels?: readonly ('importKwh' | 'exportKwh')[];
  /** Rows may come in any order. */
  readonly anyOrder?: boolean;
  readonly zones?: readonly string[];
  /** Gaps can't be written. */
  readonly whole?: boolean;
}

const DAY_MS = 86_400_000;
const ZONES = [
  'America/Denver',
  'America/New_York',
  'Europe/London',
  'Australia/Sydney',
  'Asia/Kolkata',
  'Africa/Nairobi',
  'America/Sao_Paulo',
];
/** Dates near which a zone of ours changes its clock, and others. */
const DATES = [
  [2026, 3, 6],
  [2026, 3, 28],
  [2026, 4, 3],
  [2026, 10, 2],
  [2026, 10, 24],
  [2026, 10, 30],
  [2026, 1, 13],
  [2026, 7, 20],
] as const;

/** Whole days of whole watt-hours, so that every text form of them is exact. */
const homes = (layout: Layout): fc.Arbitrary<Home> =>
  fc
    .record({
      zone: fc.constantFrom(...(layout.zones ?? ZONES)),
      date: fc.constantFrom(...DATES),
      days: fc.integer({ min: 2, max: 4 }),
      stepMinutes: fc.constantFrom(5, 10, 15, 20, 30, 60),
      seed: fc.integer(),
      gaps: fc.boolean(),
    })
    .map(({ zone, date, days, stepMinutes, seed, gaps }) => {
      const first = civilDayOf(date[0], date[1], date[2]);
      const market = layout.zones !== undefined;
      const at = (day: number) => (market ? day * DAY_MS - 10 * 3_600_000 : epochAtLocal(zone, day * DAY_MS));
      const startEpochMs = at(first);
      const n = Math.round((at(first + days) - startEpochMs) / (stepMinutes * 60_000));
      const random = randomOf(seed);
      const wh = () =>
        Float64Array.from({ length: n }, (_, i) =>
          gaps && layout.whole !== true && i > 0 && i < n - 1 && random() < 0.03
            ? Number.NaN
            : Math.round(random() * 25 * stepMinutes) / 1000,
        );
      return { axis: makeAxis({ startEpochMs, stepMinutes, intervals: n, zone }), importKwh: wh(), exportKwh: wh() };
    });

const cell = (kwh: number) => (Number.isNaN(kwh) ? '' : String(kwh));
const two = (n: number) => String(n).padStart(2, '0');
const offsetAt = (home: Home, epochMs: number) => offsetMinutesAt(home.axis.zone, epochMs);
const local = (home: Home, epochMs: number) => new Date(epochMs + offsetAt(home, epochMs) * 60_000).toISOString();
const start = (home: Home, i: number) => intervalStartMs(home.axis, i);
const rows = (home: Home, row: (i: number) => string) => Array.from({ length: home.axis.intervals }, (_, i) => row(i));
const both = (home: Home, i: number, between = ',') =>
  `${cell(home.importKwh[i]!)}${between}${cell(home.exportKwh[i]!)}`;
const table = (header: string, lines: readonly string[]) => `${[header, ...lines].join('\n')}\n`;

const LAYOUTS: Record<string, Layout> = {
  'UTC labels': {
    write: (home) =>
      table(
        'timestamp,import kWh,export kWh',
        rows(home, (i) => `${new Date(start(home, i)).toISOString()},${both(home, i)}`),
      ),
    anyOrder: true,
  },
  'seconds since 1970': {
    write: (home) =>
      table(
        'time,import_wh,export_wh',
        rows(
          home,
          (i) =>
            `${start(home, i) / 1000},${cell(Math.round(home.importKwh[i]! * 1000))},${cell(Math.round(home.exportKwh[i]! * 1000))}`,
        ),
      ),
    anyOrder: true,
  },
  'local labels with their offset': {
    write: (home) =>
      table(
        'start,import kWh,export kWh',
        rows(home, (i) => {
          const minutes = offsetAt(home, start(home, i));
          const size = Math.abs(minutes);
          return `${local(home, start(home, i)).slice(0, 16)}${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)},${both(home, i)}`;
        }),
      ),
    anyOrder: true,
  },
  'local labels, the repeated hour unmarked': {
    write: (home) =>
      table(
        'Date,Time,import kWh,export kWh',
        rows(
          home,
          (i) =>
            `${local(home, start(home, i)).slice(0, 10)},${local(home, start(home, i)).slice(11, 16)},${both(home, i)}`,
        ),
      ),
    options: { intervalEnd: false },
  },
  'local labels, day first, decimal comma': {
    write: (home) =>
      table(
        'Start;import kWh;export kWh',
        rows(home, (i) => {
          const text = local(home, start(home, i));
          return `${text.slice(8, 10)}.${text.slice(5, 7)}.${text.slice(0, 4)} ${text.slice(11, 16)};${both(home, i, ';').replaceAll('.', ',')}`;
        }),
      ),
    options: { dateOrder: 'day-first', decimal: ',' },
  },
  'signed net column': {
    write: (home) =>
      table(
        'start,net kWh',
        rows(home, (i) => `${new Date(start(home, i)).toISOString()},${cell(home.importKwh[i]!)}`),
      ),
    options: {},
    channels: ['importKwh'],
    anyOrder: true,
  },
  'delivered and received told by a column': {
    write: (home) =>
      table(
        'start,direction,kWh',
        rows(
          home,
          (i) =>
            `${new Date(start(home, i)).toISOString()},Delivered,${cell(home.importKwh[i]!)}\n${new Date(start(home, i)).toISOString()},Received,${cell(home.exportKwh[i]!)}`,
        ),
      ),
    anyOrder: true,
  },
  'a row a day, intervals counted from midnight': {
    write: (home) => {
      const perDay = 1440 / home.axis.stepMinutes;
      const most = perDay + Math.round(60 / home.axis.stepMinutes);
      const { days } = home.axis.calendar;
      const line = (values: Float64Array, name: string) =>
        days.map((day) =>
          [
            new Date(day.civilDay * DAY_MS).toISOString().slice(0, 10),
            name,
            ...Array.from({ length: most }, (_, k) => (k < day.intervals ? cell(values[day.firstInterval + k]!) : '')),
          ].join(','),
        );
      return table(['date', 'direction', ...Array.from({ length: most }, (_, k) => k + 1)].join(','), [
        ...line(home.importKwh, 'import'),
        ...line(home.exportKwh, 'export'),
      ]);
    },
    options: { unit: 'kWh' },
  },
  'ESPI XML': {
    write: (home) =>
      `<feed xmlns="http://www.w3.org/2005/Atom">${(
        [
          ['importKwh', 1],
          ['exportKwh', 19],
        ] as const
      )
        .map(
          ([field, flow]) =>
            `<entry><link rel="self" href="U/1/UsagePoint/1/MeterReading/${flow}"/><link rel="related" href="ReadingType/${flow}"/><content><MeterReading/></content></entry><entry><link rel="self" href="ReadingType/${flow}"/><content><ReadingType><flowDirection>${flow}</flowDirection><intervalLength>${home.axis.stepMinutes * 60}</intervalLength><uom>72</uom></ReadingType></content></entry><entry><link rel="up" href="U/1/UsagePoint/1/MeterReading/${flow}/IntervalBlock"/><content><IntervalBlock>${rows(home, (i) => `<IntervalReading><timePeriod><duration>${home.axis.stepMinutes * 60}</duration><start>${start(home, i) / 1000}</start></timePeriod><value>${cell(Math.round(home[field][i]! * 1000))}</value></IntervalReading>`).join('\n')}</IntervalBlock></content></entry>`,
        )
        .join('\n')}</feed>`,
  },
  NEM12: {
    write: (home) => {
      const perDay = 1440 / home.axis.stepMinutes;
      const lines = ['100,NEM12,202601010000,A,B'];
      for (const [suffix, values] of [
        ['E1', home.importKwh],
        ['B1', home.exportKwh],
      ] as const) {
        lines.push(`200,N,E1B1,${suffix},${suffix},N1,M,kWh,${home.axis.stepMinutes},`);
        for (let i = 0; i < values.length; i += perDay)
          lines.push(
            `300,${new Date(start(home, i) + 10 * 3_600_000).toISOString().slice(0, 10).replaceAll('-', '')},${Array.from(values.subarray(i, i + perDay), cell).join(',')},A,,,20260501000000,`,
          );
      }
      return `${lines.join('\n')}\n900\n`;
    },
    zones: ['Australia/Sydney', 'Australia/Brisbane'],
  },
};

const DRESSES = [
  'plain',
  'CRLF',
  'byte-order mark',
  'UTF-16',
  'last line without an end',
  'blank lines',
  'shuffled',
] as const;

function dress(text: string, as: (typeof DRESSES)[number], layout: Layout, seed: number): string | Uint8Array {
  switch (as) {
    case 'CRLF':
      return text.replaceAll('\n', '\r\n');
    case 'byte-order mark':
      return new TextEncoder().encode(`\ufeff${text}`);
    case 'UTF-16':
      return new Uint8Array(Buffer.from(`\ufeff${text}`, 'utf16le'));
    case 'last line without an end':
      return text.replace(/\n$/, '');
    case 'blank lines':
      return `${text}\n\n\n`;
    case 'shuffled': {
      if (layout.anyOrder !== true) return text;
      const [header, ...lines] = text.trimEnd().split('\n');
      const random = randomOf(seed);
      return `${[
        header,
        ...lines
          .map((line) => [random(), line] as const)
          .sort((a, b) => a[0] - b[0])
          .map((pair) => pair[1]),
      ].join('\n')}\n`;
    }
    default:
      return text;
  }
}

describe('written and read back', () => {
  test.each(Object.entries(LAYOUTS))('%s', (_, layout) => {
    fc.assert(
      fc.property(homes(layout), fc.constantFrom(...DRESSES), fc.integer(), (home, as, seed) => {
        const result = parseIntervalData(dress(layout.write(home), as, layout, seed), {
          zone: home.axis.zone,
          ...layout.options,
        });
        const { series } = result;
        const told = JSON.stringify(result.findings);
        expect(series, told).toBeDefined();
        expect(series!.axis, told).toEqual(home.axis);
        for (const field of layout.channels ?? (['importKwh', 'exportKwh'] as const)) {
          const want = home[field];
          const got = series![field]!;
          for (let i = 0; i < want.length; i++)
            // 1e-9 kWh: watt-hours divided by a thousand, and back.
            if (Number.isNaN(want[i]!) ? !Number.isNaN(got[i]!) : !(Math.abs(got[i]! - want[i]!) < 1e-9))
              expect.fail(`${field}[${i}] is ${got[i]}, not ${want[i]}: ${told}`);
        }
        // What isn't a gap, an hour there twice, or an encoding's doing is nothing to speak of.
        const usual = ['gap', 'autumn-hour-repeated', 'coarse-steps'];
        // Its net is of import alone, so that it never falls below zero: that is asked about.
        if (layout === LAYOUTS['signed net column']) usual.push('net-one-way');
        const odd = result.findings.filter(({ code }) => !usual.includes(code));
        expect(odd).toEqual([]);
      }),
      { numRuns: 40, seed: 20_260_301 },
    );
  });
});

test('energy is conserved, or a finding says how much is not: rows lost, repeated, or emptied on the way', () => {
  fc.assert(
    fc.property(
      homes({ write: () => '' }),
      fc.integer(),
      fc.double({ min: 0, max: 0.2, noNaN: true }),
      (home, seed, share) => {
        const random = randomOf(seed);
        let lost = 0;
        let kept = 0;
        const lines: string[] = [];
        for (let i = 0; i < home.axis.intervals; i++) {
          const kwh = home.importKwh[i]!;
          const line = `${new Date(start(home, i)).toISOString()},${cell(kwh)}`;
          const fate = random() / (share + 1e-12);
          if (fate < 0.4 && i > 0 && i < home.axis.intervals - 1) lost++;
          else if (fate < 0.7) {
            lines.push(line, line);
            kept += kwh || 0;
          } else {
            lines.push(line);
            kept += kwh || 0;
          }
        }
        const { series, findings } = parseIntervalData(table('start,import kWh', lines), { zone: home.axis.zone });
        const read = series!.importKwh!.reduce((sum, value) => sum + (value || 0), 0);
        expect(Math.abs(read - kept)).toBeLessThan(1e-9 * home.axis.intervals);
        if (lost > 0) expect(findings.find(({ code }) => code === 'gap')?.count).toBeGreaterThanOrEqual(lost);
      },
    ),
    { numRuns: 60, seed: 20_260_302 },
  );
});
