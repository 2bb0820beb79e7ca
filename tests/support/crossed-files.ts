// Small meter files in which any two oddities of a file meet: how it prints times, units and columns, what is wrong with its
// rows, and what the user states of it.
import type { ParseOptions } from '@duskbank/core/meter';
import { drawn, fileOf, sunny } from './ladders.ts';
import { pairwise } from './pairwise.ts';

type Cells = string[];
/** A file on its way: a header, and rows of which each has its label and its values apart. */
interface Draft {
  header: Cells;
  rows: { readonly label: Cells; values: Cells }[];
  options: ParseOptions;
}

const HOUR_MS = 3_600_000;

interface Stretch {
  readonly zone: string;
  readonly fromMs: number;
  readonly days: number;
}

/** By the clock on the wall. */
const STRETCHES: readonly Stretch[] = [
  { zone: 'America/Denver', fromMs: Date.UTC(2026, 0, 5), days: 6 },
  { zone: 'America/Denver', fromMs: Date.UTC(2026, 2, 6), days: 4 },
  { zone: 'Europe/Berlin', fromMs: Date.UTC(2025, 9, 24), days: 5 },
  { zone: 'Australia/Lord_Howe', fromMs: Date.UTC(2026, 3, 2), days: 5 },
  { zone: 'Asia/Kolkata', fromMs: Date.UTC(2025, 11, 28, 9), days: 21 },
  { zone: 'Europe/London', fromMs: Date.UTC(2024, 1, 27), days: 2 },
];
const STEPS = [60, 30, 15, 5];

const pad = (number: number) => String(number).padStart(2, '0');
const iso = (ms: number) => new Date(ms).toISOString().slice(0, 16).replace('T', ' ');
const date = (ms: number) => iso(ms).slice(0, 10);
const clock = (ms: number) => iso(ms).slice(11);
const us = (ms: number) => {
  const at = new Date(ms);
  return `${at.getUTCMonth() + 1}/${at.getUTCDate()}/${at.getUTCFullYear()}`;
};
const half = (ms: number) => {
  const at = new Date(ms);
  const h = at.getUTCHours();
  return `${h % 12 === 0 ? 12 : h % 12}:${pad(at.getUTCMinutes())} ${h < 12 ? 'AM' : 'PM'}`;
};
/** Midnight as the end of the day before. */
const at24 = (ms: number) => (clock(ms) === '00:00' ? `${date(ms - 1)} 24:00` : iso(ms));

interface Labels {
  readonly names: Cells;
  readonly of: (ms: number, stepMs: number, k: number) => Cells;
}

const LABELS: readonly Labels[] = [
  { names: ['Start'], of: (ms) => [iso(ms)] },
  { names: ['Interval end'], of: (ms, step) => [iso(ms + step)] },
  { names: ['Time'], of: (ms, step) => [at24(ms + step)] },
  { names: ['Start', 'End'], of: (ms, step) => [iso(ms), iso(ms + step)] },
  { names: ['Date', 'Time'], of: (ms) => [us(ms), half(ms)] },
  { names: ['Date', 'Start', 'End'], of: (ms, step) => [date(ms), clock(ms), clock(ms + step)] },
  { names: ['Start'], of: (ms) => [`${iso(ms).replace(' ', 'T')}Z`] },
  { names: ['Timestamp'], of: (ms) => [String(ms / 1000)] },
  { names: ['Day', 'Interval'], of: (ms, step) => [date(ms), String(1 + Math.floor((ms % (24 * HOUR_MS)) / step))] },
  { names: ['Period'], of: (ms, step) => [`${iso(ms)} - ${iso(ms + step)}`] },
];

/** What flows in an interval, kWh. */
interface Flow {
  readonly load: number;
  readonly sun: number;
  readonly bought: number;
  readonly sold: number;
  readonly isDay: boolean;
}

interface Columns {
  readonly names: Cells;
  /** Which of them hold energy: their names take the unit. */
  readonly of: (flow: Flow) => (number | string)[];
  readonly options?: ParseOptions;
}

const COLUMNS: readonly Columns[] = [
  { names: ['Usage'], of: ({ load }) => [load] },
  { names: ['Import', 'Export'], of: ({ bought, sold }) => [bought, sold] },
  { names: ['Net'], of: ({ load, sun }) => [load - sun] },
  { names: ['Value'], of: ({ load, sun }) => [load - sun] },
  { names: ['Consumption', 'Generation'], of: ({ load, sun }) => [load, sun] },
  {
    names: ['Consumption', 'Generation', 'Export', 'Self-consumption'],
    of: ({ load, sun, sold }) => [load, sun, sold, Math.max(0, sun - sold)],
  },
  {
    names: ['Import', 'Export', 'Net', 'Solar'],
    of: ({ load, sun, bought, sold }) => [bought, sold, load - sun, sun],
  },
  {
    names: ['Day register', 'Night register'],
    of: ({ bought, isDay }) => [isDay ? bought : 0, isDay ? 0 : bought],
  },
  {
    names: ['Peak', 'Off-peak', 'Total'],
    of: ({ bought, isDay }) => [isDay ? bought : 0, isDay ? 0 : bought, bought],
  },
  { names: ['Meter reading'], of: ({ load }) => [load] },
  { names: ['Mains', 'Kitchen', 'Garage'], of: ({ load }) => [load, load / 3, load / 5] },
  { names: ['Register 1', 'Register 2'], of: ({ bought, sold }) => [bought, sold] },
  { names: ['Delivered', 'Received', 'Temperature'], of: ({ bought, sold }) => [bought, sold, '21.5'] },
  { names: ['Usage', 'Cost'], of: ({ load }) => [load, (0.21 * load).toFixed(4)] },
  { names: ['Usage', 'Status'], of: ({ load, sun }) => [load, sun > 1 ? 'E' : 'A'] },
  {
    names: ['Battery charge', 'Battery discharge', 'Import'],
    of: ({ sun, load, bought }) => [sun / 4, load / 4, bought],
  },
  { names: ['Import', 'Import last year'], of: ({ bought, load }) => [bought, load] },
];

interface Unit {
  readonly name: (column: string) => string;
  readonly perKwh: (stepMs: number) => number;
  readonly decimals: number;
}

const UNITS: readonly Unit[] = [
  { name: (column) => `${column} (kWh)`, perKwh: () => 1, decimals: 3 },
  { name: (column) => `${column} [Wh]`, perKwh: () => 1000, decimals: 0 },
  { name: (column) => `${column} kW`, perKwh: (stepMs) => HOUR_MS / stepMs, decimals: 2 },
  { name: (column) => column, perKwh: () => 1, decimals: 3 },
  { name: (column) => column, perKwh: () => 1000, decimals: 0 },
  { name: (column) => `${column} (kWh)`, perKwh: () => 1, decimals: 1 },
  { name: (column) => `${column} (kWh)`, perKwh: () => 3, decimals: 0 },
  { name: (column) => `${column} kVAh`, perKwh: () => 1, decimals: 3 },
];

/** Something wrong with rows; `from` is a row in the midst of them. */
type Oddity = (draft: Draft, from: number, perDay: number) => void;

const each =
  (change: (cell: string, i: number) => string): Oddity =>
  (draft) => {
    for (const [i, row] of draft.rows.entries()) row.values = row.values.map((cell) => change(cell, i));
  };
/** Rows of a stretch, with other values. */
const within =
  (intervals: number, change: (cell: string, k: number) => string): Oddity =>
  (draft, from) => {
    for (const [k, row] of draft.rows.slice(from, from + intervals).entries())
      row.values = row.values.map((cell) => change(cell, k));
  };

const ODDITIES: readonly Oddity[] = [
  () => {},
  () => {},
  (draft, from) => void draft.rows.splice(from, 2),
  (draft, from, perDay) => void draft.rows.splice(from, 2 * perDay + 1),
  (draft, from) => void draft.rows.splice(from, 0, ...draft.rows.slice(from, from + 3)),
  (draft, from) => {
    const again = draft.rows.slice(from, from + 5).map(({ label, values }) => ({
      label,
      values: values.map((cell, k) => String(Number(cell) + (k + 1) / 10)),
    }));
    draft.rows.splice(from + 5, 0, ...again);
  },
  (draft) => void draft.rows.reverse(),
  (draft, from, perDay) => void draft.rows.push(...draft.rows.splice(from, perDay)),
  within(1, (cell) => String(Number(cell) + 140)),
  within(2, (cell) => `-${cell}`),
  within(4, (_cell, k) => ['', 'n/a', '-', '#'][k]!),
  within(30, () => '0'),
  each((cell, i) => (i % 24 < 6 ? '0' : cell)),
  each((cell, i) => (i > 60 ? String(1000 * Number(cell)) : cell)),
  each((cell) => cell.replace('.', ',')),
  each((cell, i) => (i % 4 === 3 ? cell : '')),
  each((cell, i) => (i % 7 === 0 ? `${cell} kWh` : cell)),
  (draft) => {
    const sums = draft.rows[0]!.values.map((_, c) =>
      draft.rows.reduce((sum, { values }) => sum + Number(values[c]), 0),
    );
    draft.rows.push({ label: draft.rows[0]!.label.map((_, k) => (k === 0 ? 'Total' : '')), values: sums.map(String) });
  },
  (draft) => {
    const sums = draft.rows[0]!.values.map(() => 100);
    for (const row of draft.rows)
      row.values = row.values.map((cell, c) => {
        sums[c]! += Math.max(0, Number(cell) || 0);
        return sums[c]!.toFixed(3);
      });
  },
  (draft, from) => void draft.rows.splice(from, 0, { label: draft.header.slice(0, 1), values: draft.header.slice(1) }),
  (draft, from) => void draft.rows.splice(from, 1, { label: ['33/33/2026 25:61'], values: draft.rows[0]!.values }),
  (draft, from) => {
    for (const [k, row] of draft.rows.entries())
      if (k >= from) row.label[0] = row.label[0]!.replace(/:00(?=$| [AP]M|Z)/, ':01');
  },
];

const STATED: readonly ParseOptions[] = [
  {},
  {},
  { unit: 'kWh' },
  { unit: 'Wh', serviceKw: 12 },
  { repeats: 'add' },
  { repeats: 'last', clock: 'standard' },
  { intervalEnd: true },
  { intervalEnd: false, clock: 'utc' },
  { sign: 'export-positive', channel: 'net' },
  { channel: 'export' },
  { billedKwh: 90, pricePerKwh: 0.21 },
  { decimal: ',', dateOrder: 'day-first' },
  { serviceKw: { drawKw: 6, feedKw: 2 } },
  { adjust: { flipGrid: true, shiftMinutes: 60 } },
  { adjust: { scale: { import: 2, load: 0.5 }, solarInLoad: true } },
  { columns: { import: 'Usage (kWh)' } },
  { columns: { net: 2 } },
];

/** One such file. */
export interface CrossedFile {
  readonly name: string;
  readonly text: string;
  readonly options: ParseOptions;
}

/** Levels of each factor, by their numbers. */
const all = (list: readonly unknown[]) => list.map((_, k) => k);
const FACTORS = [STRETCHES, STEPS, LABELS, COLUMNS, UNITS, ODDITIES, ODDITIES, STATED].map(all);
/** Those that leave most files readable: what one oddity does shows in the figures. */
const CALM = [
  all(STRETCHES),
  [0, 1, 2],
  all(LABELS),
  all(COLUMNS),
  [0, 1, 2, 5],
  all(ODDITIES),
  [0],
  [0, 4, 6, 10, 12, 13, 14],
];

/** Files in which any two of these meet; `calm` with one oddity each, and nothing else that can stop them. */
export function crossedFiles(seed: number, calm = false): CrossedFile[] {
  const factors = calm ? CALM : FACTORS;
  return pairwise(
    factors.map(({ length }) => length),
    seed,
  ).map((drawn, k) => {
    const row = drawn.map((level, f) => factors[f]![level]!);
    return { name: row.join(' '), ...crossed(row, k) };
  });
}

function crossed(row: readonly number[], k: number): { text: string; options: ParseOptions } {
  const [stretch, step, labels, columns, unit] = row as [number, number, number, number, number];
  const { zone, fromMs, days } = STRETCHES[stretch]!;
  const stepMs = STEPS[step]! * 60_000;
  const perDay = (24 * HOUR_MS) / stepMs;
  const { names, of } = COLUMNS[columns]!;
  const { name, perKwh, decimals } = UNITS[unit]!;
  const print = (value: number | string) =>
    typeof value === 'string' ? value : (value * perKwh(stepMs)).toFixed(decimals);
  const draft: Draft = {
    header: [...LABELS[labels]!.names, ...names.map(name)],
    // Short steps fill fewer days.
    rows: Array.from({ length: Math.min(days * perDay, 500) }, (_, i) => ({
      label: LABELS[labels]!.of(fromMs + i * stepMs, stepMs, i),
      values: of(flowOf(i, HOUR_MS / stepMs, k)).map(print),
    })),
    options: { zone, ...STATED[row[7]!]! },
  };
  const from = 20 + ((7 * k) % 20);
  ODDITIES[row[5]!]!(draft, from, perDay);
  ODDITIES[row[6]!]!(draft, from + 9, perDay);
  const lines = draft.rows.map(({ label, values }) => [...label, ...values].join(';'));
  return { text: fileOf(draft.header.join(';'), lines), options: draft.options };
}

function flowOf(i: number, perHour: number, k: number): Flow {
  const load = drawn(i + 11 * k, perHour);
  const hour = Math.floor(i / perHour);
  const sun = ((k % 3) * sunny(hour)) / perHour;
  const isDay = hour % 24 >= 7 && hour % 24 < 22;
  return { load, sun, bought: Math.max(0, load - sun), sold: Math.max(0, sun - load), isDay };
}
