// Kept answers: see tests/support/kept.ts. What single texts of a meter file mean: labels, numbers, names, kinds of rows.
import { expect, test } from 'vitest';
import { classify } from '../../../packages/core/src/meter/table/cells.ts';
import { directionOf, inactiveOf, isSafeText, readHeader } from '../../../packages/core/src/meter/table/header.ts';
import { plainLetters } from '../../../packages/core/src/meter/table/languages.ts';
import {
  cellKind,
  readNumber,
  readWithUnit,
  usesDecimalComma,
} from '../../../packages/core/src/meter/table/numbers.ts';
import { KindReader } from '../../../packages/core/src/meter/table/row-kinds.ts';
import { StampReader } from '../../../packages/core/src/meter/table/stamps.ts';
import { clockOf } from '../../../packages/core/src/meter/wide.ts';
import { inOne } from '../../support/kept.ts';
import { LANGUAGES } from '../../support/portal-files.ts';

const DATES = [
  '2026-03-04',
  '2026-3-4',
  '2026/03/04',
  '20260304',
  '04/03/2026',
  '4/3/2026',
  '04.03.2026',
  '04.03.26',
  '4-3-26',
  '04-Mar-2026',
  '4 March 2026',
  'March 4, 2026',
  'Mar 4 2026',
  '04MAR2026',
  '04MAR26',
  'Wed 04/03/2026',
  'Mittwoch, 04.03.2026',
  'mié 04/03/2026',
  '4 mars 2026',
  '4. März 2026',
  '4 de marzo de 2026',
  '03/04',
  '04.03.',
  '4 Mar',
  '29/02/2026',
  '29.02.2024',
  '29 Feb',
  '31/04/2026',
  '31.12.2026',
  '13/13/2026',
  '00/01/2026',
  '2026-13-01',
  '2026-00-10',
  '2026-02-30',
  '26-03-04',
  '1970-01-01',
  '2199-12-31',
  '0001-01-01',
  '9999-12-31',
  '2026-063',
  '46085',
  '46085.5',
  '46085,25',
  '34999',
  '35000',
  '59999',
  '60000',
  '1772600000',
  '1772600000000',
] as const;
const TIMES = [
  '',
  '00:00',
  '0:00',
  '7:05',
  '07:05',
  '7:5',
  '12:00 AM',
  '12:00 PM',
  '1:00 AM',
  '11:59 PM',
  '12:30 a.m.',
  '13:00 PM',
  '0:30 am',
  '7am',
  '7 PM',
  '23:59',
  '24:00',
  '24:00:00',
  '24:01',
  '25:00',
  '12:60',
  '12:59:59',
  '12:59:60',
  '12:34:56',
  '12:34:56.789',
  '12:34:56,789',
  '0730',
  '123456',
  '2400',
  '730',
  '07.30',
  '7h30',
  '07:05Z',
  '07:05:00Z',
  '07:05+01:00',
  '07:05:00-07:00',
  '07:05-0700',
  '07:05+14',
  '07:05 +01:00',
  '07:05+01:75',
  '07:05-25:00',
  '07:05 UTC',
  '07:05 EST',
  '07:05 EDT',
  '07:05 CEST',
  '07:05 PM PST',
  '07:05 XYZ',
  '07:05 UTC+2',
  '07:05 GMT-10',
  '07:05 xm',
  '07:05:',
  '07:05:0',
  '07:05 - 07:20',
  '07:05-07:20',
  '23:45 - 00:00',
  '23:00 to 24:00',
  '07:05 bis 08:05',
  '7:00 AM - 8:00 AM',
  '07:05 - 07:05',
  '07:00 - 09:00',
  'noon',
] as const;

/** What a label says, in few letters; one with a second reading right after it, as a column has them. */
function labelled(text: string, stamps: StampReader): string {
  const id = stamps.read(text);
  const say = () =>
    `${stamps.timeMs / 1000} s, ${stamps.offsetMinutes} min, mark ${stamps.mark}, ${stamps.hasTime}, end ${stamps.endDateId} ${stamps.endMs / 1000}`;
  const read = id < 0 ? 'no label' : `${id}: ${say()}`;
  const date = stamps.readDate(text);
  const time = stamps.readTime(text) ? say() : 'no time';
  return `${text} = ${classify(text, new StampReader())}/${classify(text, new StampReader(), true)}; ${read}; ${date}; ${time}`;
}

/** The days that a column of dates comes to, as a number from the first. */
function settled(texts: readonly string[], stated?: Parameters<StampReader['settle']>[0]): string {
  const stamps = new StampReader();
  const ids = texts.map((text) => stamps.read(text));
  const found = stamps.settle(
    stated,
    2026,
    ids.filter((id) => id >= 0),
  );
  const days = ids.map((id) => (id < 0 ? '-' : found.civilDays[id]));
  const { order, evidence, unclear, swapped } = found;
  return [
    order,
    evidence,
    unclear,
    swapped,
    stamps.lacksYear,
    stamps.wrongYear,
    stamps.hasLeapDay,
    days.join(' '),
  ].join('; ');
}

test.each(DATES.map((date) => [date]))('a label of %s', (date) => {
  const stamps = new StampReader();
  const told = TIMES.map((time) => {
    const labels =
      time === ''
        ? [date, ` ${date} `, `="${date}"`]
        : [`${date} ${time}`, `${date}T${time}`, `${date} ${time} - ${date} 23:15`, `${date} ${time} to 08:30`];
    return inOne(
      time,
      labels.map((label) => labelled(label, stamps)),
    );
  });
  expect(told.join('\n')).toMatchSnapshot();
});

test('times of day alone', () => {
  const stamps = new StampReader();
  expect(TIMES.map((time) => labelled(time, stamps)).join('\n')).toMatchSnapshot();
  expect(
    TIMES.map((time) => `${time} ${clockOf(time)} ${clockOf(`Usage ${time}`)} ${clockOf(`${time} kWh`)}`).join('\n'),
  ).toMatchSnapshot();
});

test.each(
  // Two numbers that may be a day and a month, from one to another; with a year or without, by days or by weeks.
  [
    [1, 1],
    [1, 7],
    [1, 12],
    [1, 13],
    [3, 31],
    [11, 14],
    [12, 12],
  ].flatMap(([from, to]) =>
    [1, 7].flatMap((by) =>
      ['d/m', 'm/d', 'd/m/y', 'm/d/y', 'y/m/d', 'd.m.yy'].map((form) => [form, from!, to!, by] as const),
    ),
  ),
)('dates as %s from day %d to %d by %d', (form, from, to, by) => {
  const pad = (n: number) => String(n).padStart(2, '0');
  const dates = (month: number) =>
    Array.from({ length: Math.floor((to - from) / by) + 1 }, (_, k) =>
      form
        .replace('d', pad(from + k * by))
        .replace('m', pad(month))
        .replace('yy', '26')
        .replace('y', '2026'),
    );
  const columns = [
    dates(3),
    [...dates(3), ...dates(4)],
    [...dates(5)].reverse(),
    [...dates(2), 'nothing', ...dates(2)],
    [...dates(1), ...dates(12)],
  ];
  const told = columns.map((column, k) =>
    inOne(
      String(k),
      ([undefined, 'day-first', 'month-first', 'year-first'] as const).map((stated) => settled(column, stated)),
    ),
  );
  expect(told.join('\n')).toMatchSnapshot();
});

const NUMBERS = [
  '',
  ' ',
  '-',
  '--',
  '*',
  'n/a',
  'NaN',
  'null',
  'no data',
  'missing',
  '0',
  '-0',
  '1',
  '-1',
  '+1',
  '1.',
  '.5',
  '-.5',
  '1.5',
  '1,5',
  '1,500',
  '1.500',
  '0,780',
  '0.780',
  '1,234,567',
  '1.234.567',
  '1.234.567,8',
  '1,234,567.8',
  '1,23,456',
  '1 234',
  '1 234,5',
  '1’234.5',
  "1'234",
  '12 34',
  '5 6 2025',
  '1e3',
  '1,5e3',
  '1.5E-3',
  '1e400',
  '1e1000',
  '$1.50',
  '€ 2',
  '2 €',
  '="0.5"',
  "'0.5",
  '"3"',
  '(5)',
  '5-',
  '5%',
  '1/2',
  '0x7f',
  '１２',
  '123456789012345',
  '1234567890123456',
  '0.1234567890123',
  '00012',
  '1..2',
  '1,,2',
  '1.2.3',
  '0.25 kWh',
  '0,25 kWh',
  '250Wh',
  '1.5 kW',
  '3 kVArh',
  '1 234,5 kWh',
  '7 W',
  '5 apples',
  ' 4 ',
  '\u00a05',
  '1.234',
  '12,345',
  '999,999',
  '1000,000',
  '0,000',
  '0.000',
  '1,5,5',
] as const;

test('numbers', () => {
  const told = NUMBERS.map(
    (text) =>
      `${JSON.stringify(text)} ${[false, true].map((comma) => `${readNumber(text, comma)} ${cellKind(text, comma)} ${readWithUnit(text, 'kWh', comma)} ${readWithUnit(text, 'W', comma)}`).join(' | ')}`,
  );
  expect(told.join('\n')).toMatchSnapshot();
});

test('which mark parts decimals, of each two and three numbers', () => {
  const marked = NUMBERS.filter((text) => /\d[.,]/.test(text));
  const told = marked.map((one) => marked.map((two) => (usesDecimalComma([one, two, '3']) ? 'c' : 'p')).join(''));
  expect(told.join('\n')).toMatchSnapshot();
});

const ROLES = [
  '',
  'Import',
  'Export',
  'Usage',
  'Net',
  'Solar',
  'Load',
  'Consumption',
  'Delivered',
  'Received from grid',
  'Delivered to grid',
  'Fed back',
  'Controlled load',
  'Whole home',
  'Battery',
  'Energy',
  'Gas',
  'Supplied',
  'Reactive',
  'Apparent',
  'Demand',
  'Meter reading',
  'Total',
];
const PARTS = ['', 'Peak', 'Off-Peak', 'T1', 'P3', 'F23', 'Night', 'Tier 2', 'CL1', 'High', 'L2', 'register'];
const UNITS = [
  '',
  'kWh',
  '(Wh)',
  '[MWh]',
  'kW',
  'W',
  'in 0.1 kWh',
  '(10 Wh)',
  'kvarh',
  'kVAh',
  'GJ',
  'EUR/kWh',
  '$',
  'kW/h',
  'Watt hours',
];
const NAMES = [
  ...ROLES.flatMap((role) =>
    PARTS.flatMap((part) => UNITS.map((unit) => [role, part, unit].filter((word) => word !== '').join(' '))),
  ),
  ...Object.values(LANGUAGES).flatMap((language) =>
    Object.values(language).flatMap((words) => (typeof words === 'boolean' ? [] : words)),
  ),
  'Date',
  'Start',
  'End time',
  'Interval',
  'Hour',
  'HE',
  'From',
  'To',
  'Read type',
  'Quality',
  'Status',
  'NMI',
  'Meter number',
  'ESIID',
  'Account',
  'Unit of measure',
  'Type',
  'Obis',
  'Register ID',
  'Cost',
  'Price',
  'Amount ($)',
  'Temperature',
  'Max',
  'Last year',
  'Forecast',
  'Carbon',
  'Power factor',
  'State of charge',
  'ImportKWH',
  'peakWh',
  'PowerW',
  'FLOW',
  'network',
  'GHI (kWh/m2)',
];

test('names of columns', () => {
  const told = new Map<string, string[]>();
  for (const name of NAMES) {
    const { words, ...head } = readHeader(name);
    const line = `${name}: ${words.join(' ')} ${JSON.stringify(head)} ${directionOf(name)} ${inactiveOf(name)} ${isSafeText(name)} ${plainLetters(name)}`;
    const group = name.split(' ').slice(0, 2).join(' ');
    told.set(group, [...(told.get(group) ?? []), line]);
  }
  expect([...told].map(([group, lines]) => inOne(group, lines)).join('\n')).toMatchSnapshot();
});

const KINDS = [
  '',
  'Import',
  'Export',
  'E1',
  'B1',
  'A+',
  'A-',
  '+A',
  '−A',
  'R+',
  '1.8.0',
  '1-0:1.8.1',
  '1-0:2.8.0',
  '1-1:1.29.0*255',
  '2.8.2',
  '3.8.0',
  '14.7.0',
  '15.8.0',
  '16.8.0',
  '1.7.0',
  '7-0:3.1.0',
  '0-0:1.8.0',
  '1.9.0',
  'Peak',
  'Off-Peak',
  'High',
  'import high',
  'T1',
  'consumption p1',
  'GG',
  'GC',
  'CL',
  'CL1',
  'Controlled load',
  'Total',
  'Total import',
  'All',
  'Whole',
  'Actual',
  'Estimated reading',
  'kVArh',
  'Voltage',
  'gas',
  'Usage',
  'Register 2',
  'Anything',
  'tier 3',
  '123456789',
];

test.each([
  undefined,
  { 'Register 2': 'export', '*': 'ignore' },
  { Peak: 'import', Total: 'import' },
  { anything: 'load', '*': 'solar' },
  { t2: 'import', '*': 'ignore', 'controlled load': 'ignore' },
] as const)('kinds of rows, some stated: %j', (rows) => {
  const reader = new KindReader(rows as ConstructorParameters<typeof KindReader>[0]);
  const units = ['', 'kWh', 'kvarh', 'm3', 'EUR/kWh', '°C', 'words'];
  const told = KINDS.map((kind) =>
    inOne(kind, [
      ...units.map((unit) => `${unit}: ${JSON.stringify(reader.read([kind], unit))}`),
      `+ Import: ${JSON.stringify(reader.read([kind, 'Import'], ''))}`,
      `Night +: ${JSON.stringify(reader.read(['Night', kind], 'Wh'))}`,
    ]),
  );
  expect(told.join('\n')).toMatchSnapshot();
  const same = KINDS.map((kind) => KINDS.findIndex((other) => reader.read([other], '') === reader.read([kind], '')));
  expect(same.join(' ')).toMatchSnapshot();
});

test.each([11, 12, 13, 63, 64, 65, 66])('a column of %d texts that say nothing', (count) => {
  const reader = new KindReader({ a: 'import', '*': 'ignore' });
  const plain = new KindReader(undefined);
  for (let k = 0; k < count; k++) for (const each of [reader, plain]) each.read([`note ${k} tier ${k}`], '');
  expect([
    reader.tooMany,
    plain.tooMany,
    JSON.stringify(reader.read(['tier 9'], '')),
    JSON.stringify(plain.read(['tier 9'], '')),
  ]).toMatchSnapshot();
});
