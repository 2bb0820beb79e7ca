// Kept answers: see tests/support/kept.ts. Files of one home, joined: any two ways in which they may differ meet.
import { makeAxis } from '@duskbank/core/axis';
import { type ChannelPart, type IntervalSeries, joinSeries } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { dataInALine, drawn, sunny } from '../../support/ladders.ts';
import { pairwise } from '../../support/pairwise.ts';

const DAY_MS = 86_400_000;
const START = Date.UTC(2026, 2, 4, 7);
const ZONE = 'America/Denver';

/** What each of two files holds. */
const HOLDS: readonly (readonly [string, string])[] = [
  ['import', 'import'],
  ['import', 'import'],
  ['import', 'solar'],
  ['import export', 'import export'],
  ['import', 'import export'],
  ['load solar', 'load solar'],
  ['load', 'solar'],
];
/** Days that each of them covers. */
const LENGTHS = [6, 7, 8, 29];
/** Days from the end of the one to the start of the other; undefined: they cover the same. */
const APART = [undefined, undefined, -3, -1, -0.5, 0, 0, 0.5, 1, 14, 31, 31.5];
const STEPS: readonly (readonly [number, number])[] = [
  [60, 60],
  [60, 60],
  [60, 30],
  [15, 60],
];
/** The values of the second file by those of the first, of an interval. */
const LIKE: readonly ((kwh: number, i: number) => number)[] = [
  (kwh) => kwh,
  (kwh, i) => (i % 50 === 7 ? kwh + 0.3 : kwh),
  (kwh) => 1.1 * kwh,
  (kwh) => 3 * kwh,
  (kwh) => 3.2 * kwh,
  (kwh) => kwh + 0.1,
  (kwh) => kwh / 6,
  (kwh, i) => (i % 2 === 0 ? kwh : 0),
  () => 0,
  (_kwh, i) => drawn(i + 500),
];
/** Readings of the first file that are missing. */
const GONE: readonly ((i: number) => boolean)[] = [
  () => false,
  (i) => i % 40 === 3,
  (i) => i >= 30 && i < 80,
  (i) => i < 30,
  (i) => i % 48 >= 20,
  () => true,
];

type PartsOf = Partial<Pick<ChannelPart, 'register' | 'counts' | 'point' | 'allListed' | 'alone' | 'added'>>;
/** Registers that the two files are, if any. */
const PARTS: readonly (readonly [PartsOf | undefined, PartsOf | undefined])[] = [
  [undefined, undefined],
  [undefined, undefined],
  [{ counts: 'in-turn' }, { counts: 'in-turn' }],
  [{ counts: 'unsaid' }, { counts: 'unsaid' }],
  [{ counts: 'always' }, { counts: 'always', allListed: true }],
  [{ counts: 'any-time' }, { counts: 'unsaid', point: 'b' }],
  [{ counts: 'in-turn', allListed: true }, { counts: 'unsaid' }],
  [{ counts: 'unsaid', added: true }, undefined],
  [{ counts: 'unsaid', alone: true }, undefined],
  [undefined, { counts: 'in-turn', added: true }],
  [
    { register: 'e1', alone: true },
    { register: 'e1', alone: true },
  ],
  [
    { register: 'e1', counts: 'in-turn' },
    { register: 'e1', counts: 'in-turn', allListed: true },
  ],
];
/** When a register counts, where the file is one. */
const TURNS: readonly ((hour: number) => boolean)[] = [
  (hour) => hour >= 7 && hour < 22,
  (hour) => hour < 7 || hour >= 21,
  (hour) => hour < 7 || hour >= 22,
  () => true,
];

/** A third file: none, one that follows the others, or one of a register beside them. */
const THIRD = ['none', 'none', 'later', 'beside'] as const;

const FACTORS = [HOLDS, LENGTHS, APART, STEPS, LIKE, GONE, PARTS, TURNS, THIRD];

interface OneFile {
  readonly channels: string;
  readonly register: 'e1' | 'e2' | 'e3';
  readonly stepMinutes: number;
  readonly fromDay: number;
  readonly days: number;
  /** kWh of an interval by what the home draws or gives then; NaN: no reading. */
  readonly made: (kwh: number, i: number, hour: number) => number;
  readonly part?: PartsOf | undefined;
}

function seriesOf({ channels, register, stepMinutes, fromDay, days, made, part }: OneFile): IntervalSeries {
  const perHour = 60 / stepMinutes;
  const intervals = Math.round(days * 24 * perHour);
  const axis = makeAxis({ startEpochMs: START + fromDay * DAY_MS, stepMinutes, intervals, zone: ZONE });
  const shift = Math.round(fromDay * 24 * perHour);
  const of = (kwhOf: (i: number) => number) =>
    Float64Array.from({ length: intervals }, (_, i) => {
      const kwh = made(kwhOf(i + shift), i, Math.floor((i + shift) / perHour) % 24);
      return Math.round(kwh * 1000) / 1000;
    });
  const names = channels.split(' ');
  const flows: Record<string, Float64Array> = Object.fromEntries(
    names.map((name) => [
      `${name}Kwh`,
      of((i) => (name === 'import' || name === 'load' ? drawn(i, perHour) : sunny(Math.floor(i / perHour)) / perHour)),
    ]),
  );
  const channel = names[0] as 'import';
  const about = { channel, register, name: `register ${register}`, counts: 'unsaid', allListed: false } as const;
  const parts: ChannelPart[] = part === undefined ? [] : [{ ...about, ...part, kwh: flows[`${channel}Kwh`]! }];
  const estimated = Uint8Array.from({ length: intervals }, (_, i) => (i % 31 === 5 ? 1 : 0));
  return {
    axis,
    ...flows,
    ...(register === 'e2' ? { estimated } : {}),
    ...(parts.length === 0 ? {} : { parts }),
  };
}

function joined(row: readonly number[]): string {
  const [holds, length, apart, steps, likes, gaps, parts, turns, third] = row as [number, ...number[]];
  const [one, other] = HOLDS[holds]!;
  const [step, otherStep] = STEPS[steps!]!;
  const [part, otherPart] = PARTS[parts!]!;
  const days = LENGTHS[length!]!;
  const fromDay = APART[apart!] === undefined ? 0 : days + APART[apart!]!;
  const areParts = part !== undefined || otherPart !== undefined;
  const inTurn = (kwh: number, hour: number, isOurs: boolean) =>
    !areParts || TURNS[turns!]!(hour) === isOurs ? kwh : 0;
  const files: OneFile[] = [
    {
      channels: one,
      register: 'e1',
      stepMinutes: step,
      fromDay: 0,
      days,
      made: (kwh, i, hour) => (GONE[gaps!]!(i) ? Number.NaN : inTurn(kwh, hour, true)),
      part,
    },
    {
      channels: other,
      register: 'e2',
      stepMinutes: otherStep,
      fromDay,
      days,
      made: (kwh, i, hour) => LIKE[likes!]!(inTurn(kwh, hour, false), i),
      part: otherPart,
    },
  ];
  if (THIRD[third!] === 'later')
    files.push({ ...files[0]!, fromDay: fromDay + days, made: (kwh, _i, hour) => 3.1 * inTurn(kwh, hour, true) });
  if (THIRD[third!] === 'beside')
    files.push({ ...files[1]!, register: 'e3', made: (kwh, i) => (i % 3 === 0 ? kwh : 0) });
  const series = files.map(seriesOf);
  const read = joinSeries(gaps! % 2 === 0 ? series : series.reverse());
  return dataInALine({ ...read, layout: { name: 'joined', evidence: [] } });
}

const ROWS = pairwise(
  FACTORS.map(({ length }) => length),
  20_261_130,
);
const EACH = 20;

test.each(Array.from({ length: Math.ceil(ROWS.length / EACH) }, (_, g) => g))('two files of a home, %d', (group) => {
  const some = ROWS.slice(EACH * group, EACH * (group + 1));
  expect(some.map((row) => `${row.join(' ')}: ${joined(row)}`).join('\n')).toMatchSnapshot();
});

/** Days between two files, their length, and how many times as much the later holds: all that a seam is told by. */
const SEAMS: readonly (readonly [apart: number, days: number, times: number])[] = [
  [0, 6, 3.5],
  [0, 7, 3.5],
  [0, 8, 3.5],
  [0, 29, 3.5],
  [30, 8, 3.5],
  [31, 8, 3.5],
  [32, 8, 3.5],
  [60, 8, 3.5],
  [0, 8, 2.9],
  [0, 8, 3],
  [0, 8, 3.1],
  [0, 8, 1 / 3],
  [0, 8, 0.3],
  [0, 8, 0],
  [-1, 8, 3.5],
  [-1, 9, 3.5],
];

test.each(['import', 'load', 'export', 'solar'])('where one file of %s follows another', (channels) => {
  const lines = SEAMS.map(([apart, days, times]) => {
    const first: OneFile = { channels, register: 'e1', stepMinutes: 60, fromDay: 0, days, made: () => 1 };
    // Where they overlap they agree.
    const made = (_kwh: number, i: number) => (i < -24 * apart ? 1 : times);
    const series = [first, { ...first, fromDay: days + apart, made }].map(seriesOf);
    return `${apart} ${days} ${times.toFixed(2)}: ${dataInALine({ ...joinSeries(series), layout: { name: 'joined', evidence: [] } })}`;
  });
  expect(lines.join('\n')).toMatchSnapshot();
});
