import type { ContradictionCause } from '../../words/home.ts';
import type { IntervalSeries } from '../series.ts';
import { type Columns, type HomeFlows, settleColumns, tellsSolar } from './columns.ts';

/** Columns of one home that contradict each other. */
export interface Imbalance {
  /** What the load column has above or below `import − export + solar`, beyond rounding, kWh. */
  readonly kwh: number;
  /** The same as a share of the load that could be checked. */
  readonly share: number;
  /** Only the dark could be checked: by day the load column is what solar is reckoned from. */
  readonly darkOnly: boolean;
  /** Where most of it lies, `2025-07`. */
  readonly worstMonth: string;
  /** Too much for any saving to rest on. */
  readonly grave: boolean;
  /** What would explain most of it, where something does. */
  readonly cause: ContradictionCause | undefined;
}

/** Told above this share of the load that is checked in a month, and above {@link TOLD_KWH_PER_DAY} of the time that is. */
const TOLD_SHARE = 0.01;
/** 1 kWh a month. */
const TOLD_KWH_PER_DAY = 1 / 30;
/** Above this share of all load no saving is given. */
const GRAVE_SHARE = 0.05;
/** A cause is named where the columns fit together but for this share of what they miss each other by. */
const UNEXPLAINED_SHARE = 0.1;
/** A cause that leaves less than this share unexplained is taken without looking at others. */
const SURE_SHARE = 0.01;

/**
 * Holds a load column against the other channels: `load = import − export + solar`, month by month.
 *
 * Each interval's gap counts beyond what rounding may make of the readings; where a month's gaps all lie to one side, their
 * sum counts, since rounding does not add up. Intervals with estimates are left out. Where solar is reckoned from the load
 * column, by day the two fit whatever it says: then the dark alone checks it, gaps there against the load there.
 *
 * @param flows what {@link settleColumns} made of the columns
 * @returns undefined where there is nothing to compare, or it fits
 */
export function checkBalance(
  series: IntervalSeries,
  columns: Columns,
  flows: HomeFlows,
  dark: Uint8Array,
): Imbalance | undefined {
  const { importKwh, exportKwh, loadKwh, solarKwh } = columns;
  if (loadKwh === undefined || (importKwh === undefined && exportKwh === undefined)) return undefined;
  const { axis, estimated } = series;
  const darkOnly = tellsSolar(columns, dark);
  const reckoned = solarKwh !== undefined && (importKwh === undefined || exportKwh === undefined);
  let roundingKwh = 0;
  for (const values of [importKwh, exportKwh, loadKwh, solarKwh])
    if (values !== undefined) roundingKwh += readingStepKwh(values, axis.stepHours) / 2;
  const months = new Map<string, { days: number; loadKwh: number; gapKwh: number; sumKwh: number }>();
  for (const day of axis.calendar.days) {
    const name = `${day.year}-${String(day.month).padStart(2, '0')}`;
    let month = months.get(name);
    if (month === undefined) {
      month = { days: 0, loadKwh: 0, gapKwh: 0, sumKwh: 0 };
      months.set(name, month);
    }
    for (let i = day.firstInterval; i < day.firstInterval + day.intervals; i++) {
      if (estimated !== undefined && estimated[i]! > 0) continue;
      if (darkOnly && dark[i] === 0) continue;
      month.days += axis.stepHours / 24;
      const gap = loadKwh[i]! - flows.loadKwh[i]!;
      month.loadKwh += flows.loadKwh[i]!;
      month.sumKwh += gap;
      month.gapKwh += Math.max(0, Math.abs(gap) - roundingKwh);
      // Bought and sold at once, where one of the two is reckoned, is more often a contradiction than a home.
      if (reckoned) month.gapKwh += Math.min(flows.importKwh[i]!, flows.exportKwh[i]!);
    }
  }
  let kwh = 0;
  let allLoadKwh = 0;
  let days = 0;
  let worstKwh = 0;
  let worstMonth = '';
  let told = false;
  for (const [name, month] of months) {
    const missed = Math.max(month.gapKwh, Math.abs(month.sumKwh));
    if (missed > TOLD_SHARE * month.loadKwh && missed > TOLD_KWH_PER_DAY * month.days) told = true;
    if (missed > worstKwh) {
      worstKwh = missed;
      worstMonth = name;
    }
    kwh += missed;
    allLoadKwh += month.loadKwh;
    days += month.days;
  }
  if (!told) return undefined;
  const share = allLoadKwh > 0 ? kwh / allLoadKwh : 1;
  const grave = share > GRAVE_SHARE && kwh > TOLD_KWH_PER_DAY * days;
  return { kwh, share, darkOnly, worstMonth, grave, cause: likelyCause(columns, flows, dark, axis.stepHours) };
}

/**
 * The step that a channel is counted in, kWh: 0.001 for whole Wh, 0.1 for a coarse pulse, `0.001 · stepHours` for
 * whole W. 0 where the values lie on no such grid, or on too few of its points to tell.
 */
function readingStepKwh(values: Float64Array, stepHours: number): number {
  for (let decimals = 0; decimals <= 4; decimals++)
    for (const unit of stepHours === 1 ? [1] : [1, stepHours]) {
      const step = unit / 10 ** decimals;
      const seen = new Set<number>();
      let fits = true;
      for (let i = 0; i < values.length && fits; i++) {
        const steps = values[i]! / step;
        const whole = Math.round(steps);
        fits = Math.abs(steps - whole) <= 1e-6;
        if (seen.size < 8) seen.add(whole);
      }
      if (fits) return seen.size < 8 ? 0 : step;
    }
  return 0;
}

/** Something that may be wrong with the columns, and what they would still miss each other by if it were mended, kWh. */
interface Explanation {
  readonly leftKwh: number;
  readonly cause: ContradictionCause;
}

function likelyCause(
  columns: Columns,
  flows: HomeFlows,
  dark: Uint8Array,
  stepHours: number,
): ContradictionCause | undefined {
  const loadKwh = columns.loadKwh!;
  if (loadKwh.every((kwh) => kwh === 0)) return { code: 'load-zero' };
  const missed = distanceKwh(loadKwh, (i) => flows.loadKwh[i]!);
  let least = UNEXPLAINED_SHARE * missed;
  let best: Explanation | undefined;
  for (const explanation of explanations(columns, flows, dark, stepHours)) {
    if (explanation.leftKwh >= least) continue;
    least = explanation.leftKwh;
    best = explanation;
    if (least < SURE_SHARE * missed) break;
  }
  if (best !== undefined) return best.cause;
  return columns.solarKwh === undefined && columns.exportKwh === undefined
    ? sunBeyondImport(columns, missed, dark)
    : undefined;
}

/** Σ |load column − expected|, kWh. */
function distanceKwh(loadKwh: Float64Array, expectedKwh: (i: number) => number): number {
  let kwh = 0;
  for (let i = 0; i < loadKwh.length; i++) kwh += Math.abs(loadKwh[i]! - expectedKwh(i));
  return kwh;
}

/** What is likely to be wrong, the commonest first. */
function* explanations(
  columns: Columns,
  flows: HomeFlows,
  dark: Uint8Array,
  stepHours: number,
): Generator<Explanation> {
  const { importKwh, exportKwh, solarKwh } = columns;
  const loadKwh = columns.loadKwh!;
  /** What columns with something mended in them still miss each other by. */
  const mended = (over: Columns, cause: ContradictionCause): Explanation => {
    const changed = { ...columns, ...over };
    const { loadKwh: fits } = settleColumns(changed, dark).flows;
    return { leftKwh: distanceKwh(changed.loadKwh!, (i) => fits[i]!), cause };
  };
  if (solarKwh !== undefined) {
    yield mended({ loadKwh: loadKwh.map((kwh, i) => Math.max(0, kwh - solarKwh[i]!)) }, { code: 'solar-in-load' });
    if (importKwh !== undefined && exportKwh !== undefined) {
      const net = (i: number) => importKwh[i]! - exportKwh[i]!;
      yield {
        leftKwh: distanceKwh(loadKwh, (i) => Math.max(0, net(i))),
        cause: { code: 'load-from-grid-alone' },
      };
      yield {
        leftKwh: distanceKwh(loadKwh, (i) => Math.max(0, net(i) - solarKwh[i]!)),
        cause: { code: 'solar-taken-off' },
      };
      yield mended({ importKwh: exportKwh, exportKwh: importKwh }, { code: 'grid-exchanged' });
      const factor = factorOf(solarKwh, (i) => loadKwh[i]! - net(i));
      if (isFactor(factor))
        yield mended({ solarKwh: scaled(solarKwh, factor) }, { code: 'scale', column: 'solar', times: factor });
    }
  }
  // In the dark all load comes from the grid: the two are compared there.
  const factor = factorOf(flows.loadKwh, (i) => (dark[i] === 1 ? loadKwh[i]! : Number.NaN));
  if (isFactor(factor)) {
    yield mended({ loadKwh: scaled(loadKwh, 1 / factor) }, { code: 'scale', column: 'load', times: 1 / factor });
    yield mended(
      {
        ...(importKwh === undefined ? {} : { importKwh: scaled(importKwh, factor) }),
        ...(exportKwh === undefined ? {} : { exportKwh: scaled(exportKwh, factor) }),
      },
      { code: 'scale', column: 'meter', times: factor },
    );
  }
  for (const steps of clockShifts(stepHours)) {
    const minutes = Math.round(Math.abs(steps) * stepHours * 60);
    const clock = (column: 'load' | 'solar' | 'meter', late: boolean): ContradictionCause => ({
      code: 'clock',
      column,
      minutes,
      runs: late ? 'late' : 'early',
    });
    const load = { loadKwh: shifted(loadKwh, steps) };
    yield mended(load, clock('load', steps > 0));
    if (solarKwh === undefined) continue;
    const solar = { solarKwh: shifted(solarKwh, steps) };
    yield mended(solar, clock('solar', steps > 0));
    yield mended({ ...load, ...solar }, clock('meter', steps < 0));
  }
}

/** The factor k that brings `k · values` nearest to a target, by least squares; a target of NaN leaves an interval out. */
function factorOf(values: Float64Array, target: (i: number) => number): number {
  let products = 0;
  let squares = 0;
  for (let i = 0; i < values.length; i++) {
    const value = target(i);
    if (Number.isNaN(value)) continue;
    products += values[i]! * value;
    squares += values[i]! * values[i]!;
  }
  return squares > 0 ? products / squares : Number.NaN;
}

/** A scale that somebody may have got wrong, and not a few percent between two meters. */
function isFactor(factor: number): boolean {
  return factor > 1e-4 && factor < 1e4 && Math.abs(Math.log(factor)) > 0.05;
}

function scaled(values: Float64Array, factor: number): Float64Array {
  return values.map((kwh) => kwh * factor);
}

/** Steps by which a clock is likely to be off: one step (start and end of an interval taken for each other), and half hours up to twelve hours. */
function clockShifts(stepHours: number): number[] {
  const shifts = new Set([1]);
  for (let halfHours = 1; halfHours <= 24; halfHours++) {
    const steps = halfHours / 2 / stepHours;
    if (Number.isInteger(steps)) shifts.add(steps);
  }
  return [...shifts].flatMap((steps) => [steps, -steps]);
}

/** Values read so many steps later than they are labelled; the ends stay. */
function shifted(values: Float64Array, steps: number): Float64Array {
  return values.map((kwh, i) => values[i + steps] ?? kwh);
}

/** Load that import cannot carry, by day only: the sun does. */
function sunBeyondImport(
  { importKwh, loadKwh }: Columns,
  missed: number,
  dark: Uint8Array,
): ContradictionCause | undefined {
  let sunlit = 0;
  for (let i = 0; i < dark.length; i++) if (dark[i] === 0) sunlit += Math.max(0, loadKwh![i]! - importKwh![i]!);
  return sunlit > (1 - UNEXPLAINED_SHARE) * missed ? { code: 'solar-not-given' } : undefined;
}
