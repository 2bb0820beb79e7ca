import { toldRuns } from '../day-runs.ts';
import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { Grow } from '../grow.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Role } from '../readings.ts';
import { shown } from './registers.ts';

/** Where so large a share of a channel's days, and so many, are there twice and differ, they are of two registers. */
const NEARLY_ALL = 0.8;
const MANY_DAYS = 3;
/** Two records of one day that are further apart than this share of the larger are no correction of each other. */
const FAR_APART = 0.1;

/** Readings of one channel (register suffix of one connection point) at one interval length. */
export interface ChannelData {
  point: string;
  /** Register: those of one connection point are parts of it. */
  suffix: string;
  role: Role;
  unit: Unit;
  stepMs: number;
  label: Grow;
  value: Grow;
  line: Grow;
  estimated: Grow;
  days: Map<number, DayData>;
}

/** The records of a day of one channel that were last updated. */
interface DayData {
  /** Where the readings of each begin. */
  readonly at: number[];
  readonly updated: string;
  /** Of the record 200 that they stand under. */
  readonly configuration: string;
}

/** Leaves a day out: its readings have no place in time. */
export function leaveDay({ label, stepMs }: ChannelData, at: number): void {
  for (let i = at; i < at + DAY_MS / stepMs; i++) label.data[i] = Number.NaN;
}

/**
 * Counts days once of which there are several records, none being a later update: what `repeats` says, or what they agree
 * on. Else one of them is mistaken.
 */
export function settleDays(data: ChannelData, repeats: ParseOptions['repeats'], findings: FindingList): void {
  if (isTwice(data, repeats, findings) || repeats === 'add') return;
  const { days, value, label, line, stepMs, suffix } = data;
  const perDay = DAY_MS / stepMs;
  const left = { readings: 0, differing: 0, leftKwh: 0 };
  const twice: Twice[] = [];
  let agreed = 0;
  for (const [day, { at }] of days) {
    const takenAt = repeats === 'last' ? at.at(-1)! : at[0]!;
    for (const otherAt of at) {
      if (otherAt === takenAt) continue;
      const differing = differingOf(data, takenAt, otherAt);
      if (differing > 0 && repeats === undefined) {
        const lines = [line.data[takenAt]!, line.data[otherAt]!] as const;
        const [firstKwh, secondKwh] = [takenAt, otherAt].map((from) => energyOf(data, from) || 0) as [number, number];
        twice.push({ day, lines, firstKwh, secondKwh, apartKwh: apartKwhOf(data, takenAt, otherAt) });
        continue;
      }
      left.readings += perDay;
      left.differing += differing;
      left.leftKwh += energyOf(data, otherAt);
      if (differing === 0) agreed += perDay;
      for (let k = 0; k < perDay; k++)
        // One may hold what the other lacks.
        if (repeats !== undefined || !Number.isNaN(value.data[takenAt + k]!)) label.data[otherAt + k] = Number.NaN;
    }
  }
  if (twice.length > 0) tellTwice(suffix, twice, findings);
  if (left.differing > 0)
    findings.add(
      'repeats-left',
      'warning',
      { taken: repeats!, stream: `register ${shown(suffix)}`, ...left },
      { key: suffix, count: left.readings },
    );
  else if (agreed > 0) findings.add('duplicate', 'note', { of: 'interval' }, { count: agreed });
}

/** A day of which two records differ. */
interface Twice {
  readonly day: number;
  readonly lines: readonly [number, number];
  readonly firstKwh: number;
  readonly secondKwh: number;
  /** How far apart they are, interval by interval. */
  readonly apartKwh: number;
}

/** Says that days have two records that differ, and what choosing one of the two would leave out. */
function tellTwice(suffix: string, twice: readonly Twice[], findings: FindingList): void {
  const [first] = twice as [Twice, ...Twice[]];
  const sum = (kwh: 'firstKwh' | 'secondKwh' | 'apartKwh') => twice.reduce((all, each) => all + each[kwh], 0);
  const [firstKwh, secondKwh] = [sum('firstKwh'), sum('secondKwh')];
  const days = twice.map(({ day }) => day).sort((a, b) => a - b);
  const told = { register: shown(suffix), days: new Set(days).size, runs: toldRuns(days), lines: first.lines };
  const far = sum('apartKwh') > FAR_APART * Math.max(firstKwh, secondKwh);
  const more = { lines: twice.flatMap(({ lines }) => lines), count: told.days, key: suffix };
  findings.add('day-twice', 'error', { ...told, firstKwh, secondKwh, far }, more);
}

/**
 * Whether a channel's days are twice in a way that no answer to `repeats` mends: nearly all of them, differing, as where
 * another register's record 200 is lost; or equal ones that `add` would count twice. An error finding says so.
 */
function isTwice(data: ChannelData, repeats: ParseOptions['repeats'], findings: FindingList): boolean {
  const { days, line, suffix } = data;
  const differing = { days: 0, lines: [0, 0], firstKwh: 0, secondKwh: 0 };
  const equal = { days: 0, lines: [0, 0], firstKwh: 0, secondKwh: 0 };
  for (const [first, second] of [...days.values()].map(({ at }) => at)) {
    if (second === undefined) continue;
    const differs = differingOf(data, first!, second) > 0;
    const [firstKwh, secondKwh] = [energyOf(data, first!) || 0, energyOf(data, second) || 0];
    // Zeros are equal in any two registers.
    if (!differs && !(firstKwh > 0 && secondKwh > 0)) continue;
    const kind = differs ? differing : equal;
    if (kind.days++ === 0) kind.lines = [line.data[first!]!, line.data[second]!];
    kind.firstKwh += firstKwh;
    kind.secondKwh += secondKwh;
  }
  const isOther = repeats !== 'add' && differing.days >= MANY_DAYS && differing.days >= NEARLY_ALL * days.size;
  const isCopy = repeats === 'add' && equal.days > 0;
  if (!isOther && !isCopy) return false;
  const { lines, ...told } = isOther ? differing : equal;
  const why = isOther ? 'other-register' : 'equal-added';
  findings.add(
    'days-twice',
    'error',
    { why, register: shown(suffix), ...told, ofDays: days.size },
    { lines, key: suffix },
  );
  return true;
}

/** How many readings of two records of a day differ; one that either lacks doesn't. */
function differingOf({ value, stepMs }: ChannelData, oneAt: number, otherAt: number): number {
  let differing = 0;
  for (let k = 0; k < DAY_MS / stepMs; k++) {
    const apart = value.data[oneAt + k]! - value.data[otherAt + k]!;
    if (!Number.isNaN(apart) && apart !== 0) differing++;
  }
  return differing;
}

/** How far apart two records of a day are, interval by interval, kWh. */
function apartKwhOf({ value, unit, stepMs }: ChannelData, oneAt: number, otherAt: number): number {
  let apart = 0;
  for (let k = 0; k < DAY_MS / stepMs; k++) apart += Math.abs(value.data[oneAt + k]! - value.data[otherAt + k]!) || 0;
  return apart * kwhPer(unit, stepMs);
}

/** Energy of a record's readings that have a place in time, kWh; NaN where none has a value. */
export function energyOf({ label, value, unit, stepMs }: ChannelData, at: number): number {
  let kwh = Number.NaN;
  for (let i = at; i < at + DAY_MS / stepMs; i++)
    if (!Number.isNaN(label.data[i]! + value.data[i]!))
      kwh = (Number.isNaN(kwh) ? 0 : kwh) + value.data[i]! * kwhPer(unit, stepMs);
  return kwh;
}
