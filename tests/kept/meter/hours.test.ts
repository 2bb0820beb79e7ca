// Kept answers: see tests/support/kept.ts. Hours that a file has twice or lacks, and times that lost their half of the day: on
// either side of each limit, with steps, ends, orders and gaps crossed. Where the file can be put right, the sums say that it was.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { lineWithoutTime } from '../../../packages/core/src/meter/rows/line-without-time.ts';
import { kept } from '../../support/kept.ts';
import { drawn, fileOf, inALine, labelAt } from '../../support/ladders.ts';
import { pairwise } from '../../support/pairwise.ts';

interface Made {
  readonly name: string;
  readonly text: string;
  readonly zone: string;
  /** What the file holds, kWh. */
  readonly kwh: number;
}

const LOT = 30;
const lotsOf = (files: readonly Made[]) =>
  Array.from({ length: Math.ceil(files.length / LOT) }, (_, g) => [g, files.slice(LOT * g, LOT * (g + 1))] as const);
const lines = (files: readonly Made[]) =>
  files.map(({ name, text, zone }) => `${name}: ${inALine(text, { zone })}`).join('\n');

/** Every row of a file: its label, a second label where it has one, and its energy. */
function made(
  name: string,
  zone: string,
  header: string,
  rows: readonly (readonly string[])[],
  values: readonly number[],
) {
  const body = rows.map((cells, i) => [...cells, values[i]!.toFixed(3)].join(','));
  return { name, zone, text: fileOf(header, body), kwh: values.reduce((sum, kwh) => sum + Number(kwh.toFixed(3)), 0) };
}

const HALVES = {
  steps: [60, 30, 15],
  dates: [2, 3, 4, 9],
  first: [0, 1, 11, 12, 23],
  lacks: [0, 1, 2, 4, 7],
  orders: 2,
  ends: 4,
};

/** Times such as 1:30 without their AM and PM; from the hour `first` on, some rows of the second date left out. */
const halfDays: readonly Made[] = pairwise(
  [HALVES.steps.length, HALVES.dates.length, HALVES.first.length, HALVES.lacks.length, HALVES.orders, HALVES.ends],
  71,
).map((row) => {
  const [step, dates, first, lacks, order, end] = row as [number, number, number, number, number, number];
  const stepMinutes = HALVES.steps[step]!;
  const perHour = 60 / stepMinutes;
  const count = HALVES.dates[dates]! * 24 * perHour;
  const clock = (at: string) => `${at.slice(0, 10)},${((Number(at.slice(11, 13)) + 11) % 12) + 1}${at.slice(13)}`;
  const gone = (i: number) => i >= 30 * perHour && i < (30 + HALVES.lacks[lacks]!) * perHour;
  const kept = Array.from({ length: count }, (_, i) => i).filter(
    (i) => i >= HALVES.first[first]! * perHour && !gone(i),
  );
  if (order === 1) kept.reverse();
  const header = ['Date,Time,kWh', 'Date,End time,kWh', 'Date,Start time,kWh', 'Start,End,kWh'][end]!;
  // A start and an end with their dates, or a date and a time of one of them.
  const label = (i: number) =>
    end === 3
      ? [i, i + 1].map((at) => clock(labelAt(at, stepMinutes)).replace(',', ' '))
      : clock(labelAt(end === 1 ? i + 1 : i, stepMinutes)).split(',');
  return made(
    row.join(' '),
    'Asia/Kolkata',
    header,
    kept.map(label),
    kept.map((i) => drawn(i, perHour)),
  );
});

/** Energy is that of the file wherever something is found: in more than five of them, at least. */
function expectEnergyKept(files: readonly Made[], found: string): void {
  let judged = 0;
  for (const { name, text, zone, kwh } of files) {
    const { series, findings } = parseIntervalData(text, { zone });
    if (series === undefined || !findings.some(({ code }) => code === found)) continue;
    judged++;
    expect(
      series.importKwh!.reduce((sum, value) => sum + (value || 0), 0),
      name,
    ).toBeCloseTo(kwh, 6);
  }
  expect(judged).toBeGreaterThan(5);
}

test.each(lotsOf(halfDays))('times without their half of the day, lot %d', (_lot, files) => {
  expect(lines(files)).toMatchSnapshot();
});

test('energy is neither lost nor doubled where halves of the day are found again', () => {
  expectEnergyKept(halfDays, 'half-days-restored');
});

const CHANGES = {
  steps: [60, 30, 15],
  zones: ['America/Denver', 'Europe/Berlin', 'Australia/Sydney', 'Asia/Kolkata'],
  ends: 3,
};
/** Midnights of the days on which American clocks change, and European ones. */
const DAYS = [
  Date.UTC(2026, 2, 8),
  Date.UTC(2026, 10, 1),
  Date.UTC(2026, 2, 29),
  Date.UTC(2025, 9, 26),
  Date.UTC(2026, 1, 10),
];
/** Hours of data before the change and after it: changes near an end say nothing. */
const BEFORE = [3, 4, 5, 6, 30, 60];
/** Hour at which the clock skips or repeats, and how many steps short of an hour that is. */
const AT = [1, 2, 3];
const SHORT = [0, 0, 1];

/** Labels that skip an hour or have it twice, read in a zone that may know of it or not. */
const changing: readonly Made[] = pairwise(
  [
    CHANGES.steps.length,
    CHANGES.zones.length,
    DAYS.length,
    BEFORE.length,
    BEFORE.length,
    AT.length,
    SHORT.length,
    2,
    CHANGES.ends,
  ],
  72,
).map((row) => {
  const [step, zone, day, before, after, at, short, kind, end] = row as [
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
    number,
  ];
  const stepMinutes = CHANGES.steps[step]!;
  const perHour = 60 / stepMinutes;
  const changeAt = BEFORE[before]! * perHour;
  const less = Math.max(1, perHour - SHORT[short]!);
  const fromMs = DAYS[day]! + AT[at]! * 3_600_000 - BEFORE[before]! * 3_600_000;
  const all = Array.from({ length: changeAt + BEFORE[after]! * perHour }, (_, i) => i);
  const shown =
    kind === 0 ? all.map((i) => (i < changeAt ? i : i + less)) : all.map((i) => (i < changeAt ? i : i - less));
  const label = (i: number) => [
    labelAt(i + (end === 1 ? 1 : 0), stepMinutes, fromMs),
    ...(end === 2 ? [labelAt(i + 1, stepMinutes, fromMs)] : []),
  ];
  const header = ['Start,kWh', 'Interval end,kWh', 'Start,End,kWh'][end]!;
  return made(
    row.join(' '),
    CHANGES.zones[zone]!,
    header,
    shown.map(label),
    all.map((i) => drawn(i, perHour)),
  );
});

test.each(lotsOf(changing))('labels that skip an hour or have it twice, lot %d', (_lot, files) => {
  expect(lines(files)).toMatchSnapshot();
});

const REPEATS = {
  steps: [60, 30, 15],
  reach: [1, 2, 23, 24, 25, -1, -2, -24, -25],
  from: [0, 1, 20],
  alike: 3,
  ends: 2,
};

/** An hour of UTC that is there twice, and one that is absent so many hours away. */
const repeated: readonly Made[] = pairwise(
  [REPEATS.steps.length, REPEATS.reach.length, REPEATS.from.length, REPEATS.alike, REPEATS.ends],
  73,
).map((row) => {
  const [step, reach, from, alike, end] = row as [number, number, number, number, number];
  const stepMinutes = REPEATS.steps[step]!;
  const perHour = 60 / stepMinutes;
  // Both lie within the data.
  const twiceAt = 30 + REPEATS.from[from]!;
  const absentAt = twiceAt + REPEATS.reach[reach]!;
  const inHour = (i: number, hour: number) => Math.floor(i / perHour) === hour;
  const all = Array.from({ length: 96 * perHour }, (_, i) => i).filter((i) => !inHour(i, absentAt));
  const again = all.filter((i) => inHour(i, twiceAt));
  const place = all.indexOf(again[0]!) + again.length;
  const rows = [...all.slice(0, place), ...again, ...all.slice(place)];
  // The second time other values, the same, or the same but for one.
  const isSecond = (k: number) => k >= place && k < place + again.length;
  const value = (i: number, k: number) =>
    drawn(i, perHour) + (isSecond(k) && (alike === 0 || (alike === 2 && k === place)) ? 0.111 : 0);
  const stamp = (i: number) => `${labelAt(i, stepMinutes).replace(' ', 'T')}:00Z`;
  const label = (i: number) => (end === 1 ? [stamp(i), stamp(i + 1)] : [stamp(i)]);
  return made(
    row.join(' '),
    'America/Denver',
    end === 1 ? 'Start,End,kWh' : 'Start,kWh',
    rows.map(label),
    rows.map(value),
  );
});

test.each(lotsOf(repeated))('an hour of UTC that is there twice beside one that is absent, lot %d', (_lot, files) => {
  expect(lines(files)).toMatchSnapshot();
});

test('an hour that is moved keeps its energy', () => {
  expectEnergyKept(repeated, 'utc-hour-repeated');
});

/** What a row without a time may begin with. */
const CELLS = [
  '',
  ' ',
  'Total',
  'Sum',
  'Date',
  'Time',
  'Start',
  'kWh',
  'Usage',
  'Export',
  'Received',
  'Gas',
  'Solar',
  '12.3',
  'note',
  'Export (kWh)',
];

test.each(CELLS)('rows without a time that begin with "%s"', (first) => {
  const rest = ['', 'Date', 'kWh', 'Export', '4.5', 'note'];
  const rows = [
    [first],
    ...CELLS.map((second) => [first, second]),
    ...rest.flatMap((a) =>
      rest.flatMap((b) => [
        [first, a, b],
        ['', first, a, b],
      ]),
    ),
  ];
  const told = rows.map((cells) => `${cells.join('|')}: ${JSON.stringify(lineWithoutTime(cells))}`);
  const alone = told.slice(0, CELLS.length + 1).join('\n');
  expect(`${alone}\n${kept({ 'of more cells': told.slice(CELLS.length + 1) })}`).toMatchSnapshot();
});
