import { backupHours, type ResolvedCircuit } from '../outage/index.ts';
import { circuitsDrawKwh, coldMonths, leastSettled, percentilesOf, rechargesOnAxis } from '../outage/inside.ts';
import type { Plant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { hoursToFillBy } from '../site/inside.ts';
import { unattendedShare } from './by-hand.ts';
import type { HeadlineRun } from './headline-run.ts';
import { isIslandKnown } from './island-known.ts';
import { sheetReserve } from './sheet-reserve.ts';

/** What a battery that was filled for a storm carries: what to set the day before, and how long filling takes. */
export interface StormReady {
  /** Longest that filling takes from the standing reserve, h; null where nothing but sun can fill it. */
  readonly fillHours: number | null;
  /**
   * From full, in nine of ten starts of the storm months in which it can be filled (of all such months where the site states
   * none); null with a medical circuit, and where the data hold no such month.
   */
  readonly hours: number | null;
  /** From full, worst start of the same months, no sun, 80 % of capacity. As all hours here with the circuits as hard at work as in a storm. */
  readonly planningHours: number;
  /** The circuits that work harder in a storm, as they are counted in all hours here; null where none does. */
  readonly duty: { readonly circuits: HardAtWork[] } | null;
  /** Share of all starts with nobody home to change over by hand, for which no hours here hold; null where none is known. */
  readonly unattendedShare: number | null;
  /** The storm months that the site states, 1 to 12. */
  readonly months: readonly number[] | null;
  /** Storm months that the data hold nothing of: no hours are known of them. Absent where there are none. */
  readonly unseenMonths?: readonly number[];
  /** Months of the year in which the cells are too cold to fill at all; absent where there are none. */
  readonly tooColdMonths?: readonly number[];
  /** Of the storm months those that are too cold, and how long what is left in them lasts; absent where there are none. */
  readonly cold?: {
    readonly months: readonly number[];
    /**
     * From what the headline's run has left, from the standing reserve where there is none, in nine of ten starts of these
     * months; null with a medical circuit, and where the data hold none.
     */
    readonly hours: number | null;
    /** Whether that run holds all of it through them. */
    readonly held: boolean;
  };
}

/** A circuit that works harder in a storm than on other days. */
export interface HardAtWork {
  readonly circuit: string;
  /** Share of its hours in which it then runs. */
  readonly share: number;
  /** Its mean draw then. */
  readonly watts: number;
}

/** What the backed-up load asks of the battery in a storm, kWh an interval, and the circuits that then work harder. */
export interface StormLoad {
  readonly loadKwh: Float64Array;
  readonly harder: readonly HardAtWork[];
}

/** The backed-up load in a storm: the island's own where no circuit of it works harder then. */
export function stormLoad({ home: { axis }, island, site }: Study): StormLoad {
  const { circuits, circuitsListed } = island;
  const harder = circuitsListed === 0 ? [] : hardAtWork(circuits);
  if (harder.length === 0) return { loadKwh: island.loadKwh, harder: [] };
  return {
    loadKwh: circuitsDrawKwh(axis, inStorm(circuits), site.backup?.output?.arrangement ?? 'pooled'),
    harder,
  };
}

/** Circuits as hard at work as a storm makes them. */
export function inStorm(circuits: readonly ResolvedCircuit[]): ResolvedCircuit[] {
  return circuits.map((circuit) => ({ ...circuit, dutyShare: circuit.stormDutyShare ?? circuit.dutyShare }));
}

/** Those circuits that work harder in a storm, as hard as they then do. */
export function hardAtWork(circuits: readonly ResolvedCircuit[]): HardAtWork[] {
  return circuits.filter(worksHarder).map(({ name, stormDutyShare, runningW }) => ({
    circuit: name,
    share: stormDutyShare!,
    watts: runningW * stormDutyShare!,
  }));
}

/**
 * The load that hours wished for are counted with: that of a storm where the site states storm months, since they count outages
 * of these alone; else that of other days.
 */
export function seasonLoad(study: Study): StormLoad {
  const { site, island } = study;
  return site.backup?.stormMonths === undefined ? { loadKwh: island.loadKwh, harder: [] } : stormLoad(study);
}

/** Whether a circuit draws more in a storm than on other days. */
function worksHarder({ dutyShare, stormDutyShare }: ResolvedCircuit): boolean {
  return stormDutyShare !== undefined && stormDutyShare > dutyShare + 1e-9;
}

/** Where a life may hang on it, no more than this share of capacity is counted on, and no sun. */
export const PLANNING_SHARE = 0.8;

/**
 * The least over the settled starts of the storm months: what is said of a storm is all of the same months. Of all months where the
 * site states none or the data hold none, and with a medical circuit, for which the worst of the year counts.
 */
export function leastInStorms(study: Study, hours: Float64Array): number {
  const { axis } = study.home;
  const counted = inStorms(study);
  if (counted === undefined || study.island.medical) return leastSettled(axis, hours);
  const there = hours.map((h, i) => (counted(i) ? h : Number.POSITIVE_INFINITY));
  const least = leastSettled(axis, there);
  // Data may hold no more of them than the days in which a run settles.
  return least < Number.POSITIVE_INFINITY ? least : there.reduce((some, h) => Math.min(some, h), least);
}

/** Whether an interval lies in the storm months; undefined where the site states none or the data hold none. */
export function inStorms({ site, home: { axis } }: Study): ((i: number) => boolean) | undefined {
  const months = site.backup?.stormMonths;
  const { month } = axis.calendar;
  if (months === undefined || !month.some((each) => months.includes(each))) return undefined;
  return (i) => months.includes(month[i]!);
}

/** @returns null where the load behind the meter isn't known */
export function stormReady(study: Study, run?: HeadlineRun): StormReady | null {
  const { home, island, site } = study;
  const { axis, plant } = home;
  if (!isIslandKnown(study)) return null;
  const standingKwh = (sheetReserve(study).reservePercent / 100) * plant.capacityKwh;
  const months = site.backup?.stormMonths ?? null;
  const { loadKwh, harder } = stormLoad(study);
  const tooCold = coldMonths(site.backup?.cold);
  const inSeason = months ?? Array.from({ length: 12 }, (_, m) => m + 1);
  const cold = inSeason.filter((month) => tooCold.includes(month));
  const seen = new Set(axis.calendar.month);
  const unseen = (months ?? []).filter((month) => !seen.has(month));
  const holding = (kwh: number): HeadlineRun => ({
    plant: { ...plant, startKwh: kwh },
    socKwh: new Float64Array(axis.intervals).fill(kwh),
  });
  const hoursOf = (held: HeadlineRun, counted: readonly number[]): number | null => {
    if (island.medical || !counted.some((month) => seen.has(month))) return null;
    return nineInTenOf(study, backupHours({ axis, ...held, ...island, loadKwh }), counted);
  };
  const full = holding(plant.capacityKwh);
  const left = run ?? holding(standingKwh);
  const fillHours = plant.gridCharging ? longestFill(study, standingKwh, run?.gridChargeKw) : null;
  // In a cold, and until it has filled after one, it holds what is left.
  const filling = fillingAfterCold(home, fillHours ?? 0);
  const filled = { ...full, socKwh: full.socKwh.map((kwh, i) => (filling[i] === 1 ? left.socKwh[i]! : kwh)) };
  const planning = planningHoursOf(study, full.plant, full.socKwh, loadKwh);
  const asFull = (i: number) => i === 0 || filling[i - 1] === 0 || plant.coldSteps?.[i] === 1;
  const isFull = (kwh: number, i: number) => !cold.includes(axis.calendar.month[i]!) || kwh > plant.capacityKwh * HELD;
  const fillable = inSeason.filter((month) => !tooCold.includes(month));
  return {
    fillHours,
    hours: hoursOf(filled, fillable),
    planningHours: leastInStorms(
      study,
      planning.map((h, i) => (asFull(i) ? h : Number.POSITIVE_INFINITY)),
    ),
    duty: harder.length === 0 ? null : { circuits: [...harder] },
    unattendedShare: unattendedShare(study),
    months,
    ...(unseen.length === 0 ? {} : { unseenMonths: unseen }),
    ...(tooCold.length === 0 ? {} : { tooColdMonths: tooCold }),
    ...(cold.length === 0
      ? {}
      : { cold: { months: cold, hours: hoursOf(left, cold), held: left.socKwh.every(isFull) } }),
  };
}

/**
 * A run that has more than this share all through a cold, in which nothing comes in, holds all of it: it was full before, and what
 * it lacks it has lost by itself. More than the {@link PLANNING_SHARE} that is counted on. Common practice, no source.
 */
const HELD = 0.85;

/** 1 at the end of intervals that are too cold to charge, and after them for as long as filling takes. */
function fillingAfterCold({ axis, plant: { coldSteps } }: Study['home'], fillHours: number): Uint8Array {
  const filling = new Uint8Array(axis.intervals);
  if (coldSteps === undefined) return filling;
  let left = 0;
  for (let i = 0; i < axis.intervals; i++) {
    if (coldSteps[i] === 1) left = Math.ceil(fillHours / axis.stepHours - 1e-9);
    else left = Math.max(0, left - 1);
    filling[i] = coldSteps[i] === 1 || left > 0 ? 1 : 0;
  }
  return filling;
}

/** Hours of backup from every start where a life may hang on them: no sun, and at most {@link PLANNING_SHARE} of capacity. */
export function planningHoursOf(
  { home: { axis }, island }: Study,
  plant: Plant,
  socKwh: Float64Array,
  loadKwh: Float64Array,
): Float64Array {
  return backupHours({
    axis,
    plant,
    socKwh,
    ...island,
    loadKwh,
    solarKwh: new Float64Array(axis.intervals),
    energyShare: Math.min(island.energyShare, PLANNING_SHARE),
  });
}

/** The longest that filling takes from so much stored, with no more power than the box is told, h. */
function longestFill(study: Study, fromKwh: number, gridChargeKw = 0): number {
  const longest = refillHours(study, fromKwh).reduce((most, h) => Math.max(most, h), 0);
  const { home } = study;
  if (gridChargeKw === 0 || gridChargeKw >= home.plant.chargeLimitKw) return longest;
  return Math.max(longest, hoursToFillBy(home, home.plant.capacityKwh - fromKwh, gridChargeKw, warmStarts(study)));
}

/**
 * Hours that filling takes from so much stored, from noon or midnight of every day on which the cells take any; not of those
 * from which a cold comes before it is full, as far as there are others.
 */
export function refillHours({ home }: Pick<Study, 'home'>, fromKwh: number): number[] {
  const { axis, plant, onAxis } = home;
  const recharge = rechargesOnAxis(onAxis);
  const all = warmStarts({ home }).map((from) => ({ from, hours: recharge(from, fromKwh) }));
  const staysWarm = ({ from, hours }: (typeof all)[number]) =>
    plant.coldSteps?.subarray(from, from + Math.ceil(hours / axis.stepHours - 1e-9)).includes(1) !== true;
  const warm = all.filter(staysWarm);
  return (warm.length > 0 ? warm : all).map(({ hours }) => hours);
}

/** Noon and midnight of every day on which the cells take any; of all where they take none ever. */
function warmStarts({ home: { axis, plant } }: Pick<Study, 'home'>): number[] {
  const everySteps = Math.round(12 / axis.stepHours);
  const starts = Array.from({ length: Math.ceil(axis.intervals / everySteps) }, (_, k) => k * everySteps);
  const warm = starts.filter((from) => plant.coldSteps?.[from] !== 1);
  return warm.length > 0 ? warm : starts;
}

/** The tenth percentile over starts in the storm months, over all where none are stated or none is in the data. */
export function stormNineInTen(study: Study, hours: Float64Array): number {
  return nineInTenOf(study, hours, study.site.backup?.stormMonths);
}

/** The tenth percentile over starts in some months, over all where none are given or none is in the data. */
function nineInTenOf({ home: { axis } }: Study, hours: Float64Array, months?: readonly number[]): number {
  const { month } = axis.calendar;
  const counted = months === undefined ? hours : hours.filter((_, i) => months.includes(month[i]!));
  return percentilesOf(Float64Array.from(counted.length > 0 ? counted : hours).sort()).p10;
}
