// Why a file could not be read, or not in whole, is told as data; the sentences of these reasons as people read them.
import { gzipSync } from 'node:zlib';
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { infoZipBzip2, infoZipLocked } from '../../support/archives.ts';
import { HOURS, table, ZONE } from '../../support/meter-tables.ts';

const DAY_HEAD = `Date,${Array.from({ length: 24 }, (_, h) => `${String(h).padStart(2, '0')}:00`).join(',')}`;
const dayRow = (date: string, cell = '0.5') => `${date},${Array.from({ length: 24 }, () => cell).join(',')}`;
const hours = (header: string, row: (label: string, i: number) => string) => table(header, HOURS.map(row));

const nem = (...lines: readonly string[]) => ['100,NEM12,202601200000,A,B', ...lines, '900', ''].join('\n');
const NEM_CHANNEL = '200,1,E1,1,E1,N1,1,kWh,60,';
const nemDay = (date: string, value = '0.5') =>
  `300,${date},${Array.from({ length: 24 }, () => value).join(',')},A,,,20260120000000,`;

const own = (zone: string, step: string, ...lines: readonly string[]) =>
  ['# format: duskbank.interval/1', `# zone: ${zone}`, `# step_minutes: ${step}`, ...lines, ''].join('\n');
const OWN_HEAD = 'start,import_kwh,estimated';

const MIDNIGHT_S = Date.UTC(2026, 0, 5) / 1000;
const reading = (startS: number) =>
  `<IntervalReading><timePeriod><duration>3600</duration><start>${startS}</start></timePeriod><value>500</value></IntervalReading>`;
/** A feed of one day from `fromS`, its reading type and its readings as given. */
const feed = (type: string, fromS = MIDNIGHT_S, more = '') =>
  `<feed><entry><link rel="self" href="/MeterReading/1"/><content><MeterReading/></content></entry>
<entry><content><ReadingType>${type}</ReadingType></content></entry>${more}
<entry><link rel="up" href="/MeterReading/1/IntervalBlock"/><content><IntervalBlock>
<interval><duration>86400</duration><start>${fromS}</start></interval>
${Array.from({ length: 24 }, (_, i) => reading(fromS + i * 3600)).join('\n')}
${reading(-3600)}</IntervalBlock></content></entry></feed>`;
const WH = '<uom>72</uom><flowDirection>1</flowDirection>';

type Told = readonly [code: string, data: object, message: string];
const FACTS: readonly (readonly [input: string | Uint8Array, options: ParseOptions, ...told: readonly Told[]])[] = [
  [
    gzipSync(hours('Start,Import kWh', (label) => `${label},0.5`)).subarray(0, 12),
    {},
    ['archive-damaged', { why: 'cut-off' }, 'the archive is damaged: it is cut off'],
  ],
  [
    gzipSync('x'.repeat(1000)),
    { maxBytes: 500 },
    [
      'archive-too-large',
      { why: 'bytes', mostBytes: 500 },
      'the archive was refused: it unpacks to more than 500 bytes',
    ],
  ],
  [
    infoZipLocked,
    {},
    ['archive-locked', { why: 'password' }, 'the archive can’t be opened: it is locked with a password'],
  ],
  [
    infoZipBzip2,
    {},
    [
      'archive-unreadable',
      { why: 'method', method: 12 },
      'the archive is of a kind that is not read: it is packed by method 12 of zip, which is not read',
    ],
  ],
  [
    zipSync({ 'a.png': Uint8Array.of(1) }),
    {},
    ['archive-empty', { why: 'no-data-file' }, 'the archive holds no .csv, .txt or .xml file'],
  ],
  [
    own('Mars/Olympus', '7', 'begin,energy'),
    {},
    ['unknown-zone', { why: 'in-the-file' }, 'the comment "# zone: …" names no IANA time zone'],
    [
      'step-unsupported',
      { why: 'stated', supportedMinutes: [5, 10, 15, 20, 30, 60] },
      'the comment "# step_minutes: …" is none of 5, 10, 15, 20, 30, 60',
    ],
    [
      'columns-unclear',
      { why: 'own-header' },
      'the header is not start, then some of import_kwh, export_kwh, load_kwh, solar_kwh, estimated',
    ],
  ],
  [own(ZONE, '60', OWN_HEAD), {}, ['no-readings', { why: 'no-rows' }, 'the file has no rows']],
  [
    own(ZONE, '60', OWN_HEAD, '2026-01-05T00:00-07:00,-1,0'),
    {},
    [
      'not-a-number',
      { why: 'own-column', column: 'import_kwh' },
      'column "import_kwh" must hold kWh of zero or more, or nothing',
    ],
  ],
  [
    own(ZONE, '60', OWN_HEAD, '2026-01-05T00:00-07:00,1,7'),
    {},
    [
      'not-a-number',
      { why: 'own-column', column: 'estimated' },
      'column "estimated" must hold kWh of zero or more (estimated: 0, 1 or 2), or nothing',
    ],
  ],
  [
    own(ZONE, '60', OWN_HEAD, '2026-01-05T00:00-07:00,1,0', '2026-01-05T02:00-07:00,1,0'),
    {},
    [
      'unreadable-row',
      { why: 'out-of-order' },
      'rows must follow each other step by step, each with its start as in 2026-01-01T00:00-07:00 and a cell (blank: a gap) for every column',
    ],
  ],
  [
    '# format: duskbank.interval/2\n',
    {},
    [
      'format-unknown',
      { format: 'duskbank.interval/2', readFormat: 'duskbank.interval/1' },
      'the file is of duskbank.interval/2; duskbank.interval/1 is read',
    ],
  ],
  [
    '# format: duskbank.interval/next\n',
    {},
    [
      'format-unknown',
      { readFormat: 'duskbank.interval/1' },
      'the file is of another version of the interval format; duskbank.interval/1 is read',
    ],
  ],
  [
    nem('200,1,Q1,1,Q1,N1,1,kVArh,60,', '200,1,E1,1,E1,N1,1,kWh,7,'),
    {},
    ['no-readings', { why: 'no-record' }, 'the file holds no readable record of active energy'],
    ['unreadable-row', { why: 'record-200' }, 'records of type 200 without a usable interval length were left out'],
    ['other-quantity', { left: 'readings' }, 'readings of something else than active energy or power were left out'],
  ],
  [
    nem(NEM_CHANNEL, nemDay('20260105').replace(',A,', ',V,'), '400,0,99,E'),
    {},
    [
      'unreadable-row',
      { why: 'record-400' },
      'records of type 400 that name no intervals of their day, or no quality of these (A, E, F, N or S: V stands on records 300 alone), were left out',
    ],
  ],
  [
    feed(`${WH}<dataQualifier>8</dataQualifier>`),
    {},
    ['no-readings', { why: 'no-electric-energy' }, 'the feed holds no electric energy'],
    ['other-quantity', { left: 'extremes' }, 'readings of maximum or minimum demand were left out'],
  ],
  [
    feed(
      WH,
      MIDNIGHT_S,
      '<entry><content><LocalTimeParameters><tzOffset>-18000</tzOffset></LocalTimeParameters></content></entry>',
    ),
    {},
    [
      'offset-differs',
      { why: 'other-offset', feedSeconds: -18000, zoneSeconds: -25200 },
      'the feed states a standard offset of -18000 s from UTC, the stated zone has -25200 s; the stated zone counts',
    ],
    [
      'epoch-not-utc',
      {},
      'each day’s block starts at midnight of UTC and not of the zone: the times may be local standard time written as UTC; if so state `clock` standard (or utc to confirm)',
    ],
    ['unreadable-row', { why: 'no-reading-time' }, 'readings without a readable time were left out'],
  ],
  [
    '<feed><entry></feed>',
    {},
    [
      'xml-refused',
      { why: 'not-well-formed', fault: { line: 1, detail: 'unexpected close tag.' } },
      'the XML was refused: it is not well-formed (line 1: unexpected close tag.)',
    ],
  ],
  [
    table(DAY_HEAD, [dayRow('2026-02-30'), dayRow('2026-02-31')]),
    { unit: 'kWh' },
    ['unreadable-row', { why: 'no-date-or-time' }, 'rows whose date or time can’t be read were left out'],
  ],
  [
    table(
      'Time,Import kWh,Export kWh',
      HOURS.map((label) => `${label.slice(11)},0.5,0`),
    ),
    {},
    ['no-time-column', { why: 'no-rows' }, 'no rows with a date and a value were found'],
  ],
  [
    // The first decimals stand beyond the sample that a file is recognised by.
    table(
      'Start;Import kWh',
      Array.from({ length: 600 }, (_, i) => {
        const label = new Date(Date.UTC(2026, 0, 5) + i * 3_600_000).toISOString().slice(0, 16);
        return `${label};${i < 500 ? '2' : '2,25'}`;
      }),
    ),
    { unit: 'kWh' },
    [
      'decimal-mixed',
      { why: 'after-whole-numbers', column: 'column 2 "Import kWh"', mark: 'point', otherMark: 'comma' },
      'column 2 "Import kWh" has whole numbers at first and decimals with a comma later: state `decimal`',
    ],
  ],
  [
    hours('Start,Import kWh,Battery kWh', (label) => `${label},0.5,0.1`),
    {},
    ['battery-in-data', { column: 'column 3' }, 'column 3 is of a battery: the data may already contain one'],
  ],
  [
    hours('Start,Import kWh', (label) => `${label},0.5`),
    { meterReading: 1 },
    [
      'unknown-meter-reading',
      { meterReadings: 0 },
      '`meterReading` is stated, but only ESPI files have meter readings',
    ],
  ],
  [
    hours('Start,Import kWh', (label) => `${label},0.5`),
    { usagePoint: 3 },
    [
      'unknown-usage-point',
      { usagePoints: [1] },
      '`usagePoint` names a usage point that the file doesn’t have: it has 1',
    ],
  ],
  [
    hours('Start,Import kWh', (label) => `${label},0.5`),
    { columns: { import: 'Grid' } },
    [
      'unknown-column',
      { field: 'import', width: 2, columns: ['column 1 "Start"', 'column 2 "Import kWh"'] },
      '`columns.import` names a column that the file doesn\'t have: it has 2 columns, named column 1 "Start", column 2 "Import kWh"',
    ],
  ],
  [
    table(
      '2026-01-05 00:00,0.5',
      HOURS.map((label) => `${label},0.5`),
    ),
    { columns: { import: 'Grid' } },
    [
      'unknown-column',
      { field: 'import', width: 2, columns: [] },
      "`columns.import` names a column that the file doesn't have: it has 2 columns, named nowhere",
    ],
  ],
  [
    hours(
      `Start,Import kWh,${Array.from({ length: 14 }, (_, k) => `Usage ${1 + (k % 4)} W`).join(',')}`,
      (label) => `${label},0.5${',500'.repeat(14)}`,
    ),
    {},
    [
      'columns-ignored',
      { columns: Array.from({ length: 12 }, (_, k) => `column ${k + 3} "Usage ${1 + (k % 4)} W"`), others: 2 },
      `not read: ${Array.from({ length: 12 }, (_, k) => `column ${k + 3} "Usage ${1 + (k % 4)} W"`).join(', ')} and 2 more`,
    ],
  ],
  [
    hours('Start,Meter Number,kWh', (label, i) => `${label},${i % 2},0.5`),
    { unit: 'kWh' },
    [
      'several-usage-points',
      {
        usagePoints: 2,
        told: [
          { usagePoint: 1, streams: [{ role: 'import', readings: 84, energyKwh: 42 }] },
          { usagePoint: 2, streams: [{ role: 'import', readings: 84, energyKwh: 42 }] },
        ],
      },
      'the file holds 2 usage points or meters (1: import 42.0 kWh; 2: import 42.0 kWh): state `usagePoint`, one number or several to add',
    ],
  ],
];

describe.each(FACTS.map(([input, options, ...told]) => ({ input, options, told, first: told[0]! })))(
  'a file with $first.0, $first.1.why',
  ({ input, options, told }) => {
    const { findings } = parseIntervalData(input, { zone: ZONE, ...options });
    test.each(told)('%s is told as data and in words', (code, data, message) => {
      expect(findings.filter((finding) => finding.code === code)).toMatchObject([{ data, message }]);
      expect(findings.find((finding) => finding.code === code)!.data).toEqual(data);
    });
  },
);
