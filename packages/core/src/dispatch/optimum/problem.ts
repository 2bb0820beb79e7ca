import {
  anything,
  check,
  flag,
  integers,
  list,
  number,
  numberOrSeries,
  optional,
  type Rule,
  type RulesOf,
  record,
  report,
  series,
} from '../../input/door.ts';
import type { BillTerm } from '../../tariff/index.ts';
import { someTerms } from '../../tariff/inside.ts';
import { Scratch } from './scratch.ts';

/**
 * A battery behind a meter, with everything known ahead. An array has an entry an interval; powers and
 * efficiencies are as in `docs/concepts/optimum.md`: flows and limits AC, stored energy on the battery's side.
 */
export interface DispatchProblem {
  /** Length of an interval, h, > 0. */
  readonly stepHours: number;
  /** Load (with standby) less solar at AC, kWh an interval; negative is surplus. */
  readonly netLoadKwh: Float64Array;
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  /** Usable energy, kWh, > 0; an array gives it at the end of each interval. */
  readonly capacityKwh: number | Float64Array;
  /** Reserve floor, kWh; an array gives it at the end of each interval. */
  readonly floorKwh: number | Float64Array;
  readonly chargeLimitKw: number | Float64Array;
  readonly dischargeLimitKw: number | Float64Array;
  /** Stored before the first interval, kWh: no more than the capacity of that interval. */
  readonly initialKwh: number;
  /** One way, in (0, 1]. */
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  /** Share of the energy above the floor lost an interval, in [0, 1). @defaultValue 0 */
  readonly selfDischargePerStep?: number;
  /** @defaultValue true */
  readonly gridCharging?: boolean;
  /** @defaultValue true */
  readonly batteryExport?: boolean;
  /**
   * Surplus may be thrown away by choice (worth doing where its export costs money). What the export limit
   * refuses is thrown away in any case. @defaultValue false
   */
  readonly curtailment?: boolean;
  /** Stored share of own surplus, where it differs (DC coupling). At most twice `chargeEfficiency`. @defaultValue `chargeEfficiency` */
  readonly solarChargeEfficiency?: number;
  /** Solar beyond the inverter's limit, kWh at its AC worth, not in `netLoadKwh`: stored or lost (DC coupling). */
  readonly clippedKwh?: Float64Array;
  /** Load that discharge may offset, kWh. Only where it covers all net load may the battery export. */
  readonly servedLoadLimitKwh?: Float64Array;
  /** @defaultValue Infinity */
  readonly importLimitKw?: number;
  /** @defaultValue Infinity */
  readonly exportLimitKw?: number;
  /** Money per AC kWh discharged. @defaultValue 0 */
  readonly wearPerKwh?: number;
  /** Worth of a kWh above the floor after the last interval. @defaultValue 0 */
  readonly finalValuePerKwh?: number;
  /** Stored after the last interval at least, kWh; the highest reachable where that is less. @defaultValue the floor */
  readonly finalMinKwh?: number;
  readonly demandCharges?: readonly DemandCharge[];
  /** Parts of a bill beside the prices, as a compiled tariff has them, with groups as long as the other arrays. */
  readonly terms?: readonly BillTerm[];
  /** Local day of each interval, rising, for terms that count highest days. @defaultValue 24 h from the first on */
  readonly day?: Int32Array;
}

/** A price on each period's highest mean import power. */
export interface DemandCharge {
  /** Money a kW. */
  readonly pricePerKw: number;
  /** Period of each interval; negative bears no charge. */
  readonly period: Int32Array;
  /** Intervals that are averaged, in blocks from the first one on. @defaultValue 1 */
  readonly averagingSteps?: number;
  /** Peak that is billed in any case, kW: one number for every period, or one a period. @defaultValue 0 */
  readonly soFarKw?: number | Float64Array;
}

/** The best schedule found, and what is proven about it. */
export interface DispatchSolution {
  /** Σ prices × flows + demand charges + terms + wear − final value. */
  readonly cost: number;
  /** AC energy into the battery, kWh an interval. */
  readonly chargeKwh: Float64Array;
  /** AC energy out of the battery, kWh an interval. */
  readonly dischargeKwh: Float64Array;
  /** Stored at the end of each interval, kWh. */
  readonly socKwh: Float64Array;
  /** Solar thrown away, clipped energy that was not stored included, kWh an interval. */
  readonly curtailedKwh: Float64Array;
  /** Load that neither grid nor battery could carry, kWh an interval. */
  readonly unservedKwh: Float64Array;
  /** Cost saved by one more kWh stored at the start of the interval, before its decision. */
  readonly marginalValuePerKwh: Float64Array;
  /** `exact`: no schedule costs less. `gap`: none costs less than `cost − gap`. */
  readonly proof: 'exact' | 'gap';
  /** Money, ≥ 0; 0 where exact. */
  readonly gap: number;
}

/** A problem in energies an interval, its band made reachable: what the recursion reads. */
export interface StepProblem {
  readonly intervals: number;
  /** {@link isPlain}: a fast way is open. */
  readonly plain: boolean;
  readonly netLoadKwh: Float64Array;
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  readonly chargeLimitKwh: Float64Array;
  readonly dischargeLimitKwh: Float64Array;
  /** Band at the end of each interval, reachable; tightened further by the backward pass. */
  readonly lowKwh: Float64Array;
  readonly highKwh: Float64Array;
  /** Decay acts on energy above this. */
  readonly floorKwh: Float64Array;
  readonly initialKwh: number;
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  readonly solarChargeEfficiency: number;
  /** The reciprocals: AC kWh of a stored kWh, and stored kWh of an AC kWh delivered. */
  readonly acPerCharged: number;
  readonly acPerSolarCharged: number;
  readonly storedPerAc: number;
  readonly decay: number;
  readonly gridCharging: boolean;
  readonly batteryExport: boolean;
  readonly curtailment: boolean;
  readonly clippedKwh: Float64Array | undefined;
  readonly servedLoadLimitKwh: Float64Array | undefined;
  readonly importLimitKwh: number;
  readonly exportLimitKwh: number;
  readonly wearPerKwh: number;
  readonly finalValuePerKwh: number;
  /** Price of leaving a kWh of load unserved in the last step: above anything that money could buy. */
  readonly unservedPerKwh: number;
  /** How much more that costs in each earlier step: so stored energy serves the earliest load that lacks it. */
  readonly unservedRisePerStep: number;
  /** Steps from the first to the end of the whole problem. */
  readonly stepsToEnd: number;
  /** Import above this costs `overCapPerKwh` more, kWh an interval: how demand charges enter. */
  readonly importCapKwh: Float64Array | undefined;
  readonly overCapPerKwh: Float64Array | undefined;
  /** Lends the work arrays of plans. */
  readonly scratch: Scratch;
}

/** Leaving a kWh of load unserved costs this many times the dearest kWh. */
export const UNSERVED_FACTOR = 1e6;

/** Periods of demand charges are counted from 0: more than this is no index of one. */
const MOST_PERIODS = 10_000_000;

const stored = numberOrSeries({ least: 0 });
const power = numberOrSeries({ least: 0, infinite: true });
const energy = number({ least: 0 });
const money = number({ least: 0 });
const powerLimit = number({ least: 0, infinite: true });

const soFar: Rule = (value, path, looking) => {
  const bounds = { least: 0, length: null };
  (typeof value === 'number' ? number(bounds) : series(bounds))(value, path, looking);
};

const rules: RulesOf<DispatchProblem> = {
  netLoadKwh: series(),
  importPricePerKwh: series(),
  exportPricePerKwh: series(),
  stepHours: number({ above: 0, most: 8784 }),
  capacityKwh: stored,
  floorKwh: stored,
  chargeLimitKw: power,
  dischargeLimitKw: power,
  initialKwh: energy,
  chargeEfficiency: number({ above: 0, most: 1 }),
  dischargeEfficiency: number({ above: 0, most: 1 }),
  selfDischargePerStep: optional(number({ least: 0, below: 1 })),
  gridCharging: optional(flag),
  batteryExport: optional(flag),
  curtailment: optional(flag),
  solarChargeEfficiency: optional(number({ above: 0, most: 2 })),
  clippedKwh: optional(series({ least: 0 })),
  servedLoadLimitKwh: optional(series({ least: 0, infinite: true })),
  importLimitKw: optional(powerLimit),
  exportLimitKw: optional(powerLimit),
  wearPerKwh: optional(money),
  finalValuePerKwh: optional(number()),
  finalMinKwh: optional(energy),
  demandCharges: optional(
    list(
      record<DemandCharge>({
        pricePerKw: money,
        period: integers({ most: MOST_PERIODS }),
        averagingSteps: optional(number({ whole: true, least: 1 })),
        soFarKw: optional(soFar),
      }),
    ),
  ),
  terms: optional(someTerms),
  day: optional(integers({ least: 0 })),
};

/** No inverter turns less than this of what it takes into AC. */
const LEAST_INVERTER_EFFICIENCY = 0.5;

/** Energy in the store at the start of interval `from`: what a capacity that has fallen since left in it, at most. */
export function storedBefore({ capacityKwh }: DispatchProblem, from = 0): Rule {
  return (value, path, looking) => {
    const mostKwh =
      typeof capacityKwh === 'number'
        ? capacityKwh
        : capacityKwh.subarray(0, from + 1).reduce((most, kwh) => Math.max(most, kwh), 0);
    if (mostKwh < (value as number) * (1 - 1e-9))
      report(looking, path, 'contradiction', value, `at most the capacity, ${mostKwh} kWh`);
  };
}

/** Own surplus may be stored at more than its AC worth by what an inverter takes off: `ηc ÷ inverter efficiency`. */
function solarExplained({ chargeEfficiency }: DispatchProblem): Rule {
  const most = chargeEfficiency / LEAST_INVERTER_EFFICIENCY;
  return (value, path, looking) => {
    if ((value as number) > most * (1 + 1e-9))
      report(looking, path, 'contradiction', value, `at most ${most}: chargeEfficiency ÷ inverter efficiency`);
  };
}

/**
 * Held to the length of `netLoadKwh`.
 * @throws InputError `missing` | `wrong-type` | `length-mismatch` | `not-finite` | `out-of-range`: all faults at once;
 * then `contradiction` between fields
 */
export function checkProblem(problem: DispatchProblem): void {
  const { netLoadKwh, initialKwh, solarChargeEfficiency } = problem ?? {};
  check(problem, rules, netLoadKwh?.length);
  check(
    { initialKwh, solarChargeEfficiency },
    {
      initialKwh: netLoadKwh.length === 0 ? anything : storedBefore(problem),
      solarChargeEfficiency: optional(solarExplained(problem)),
    },
  );
}

/** A checked problem in energies an interval. The band is not yet made reachable. */
export function toSteps(problem: DispatchProblem, scratch = new Scratch()): StepProblem {
  const { netLoadKwh, importPricePerKwh, exportPricePerKwh, stepHours, chargeEfficiency } = problem;
  const n = netLoadKwh.length;
  const floorKwh = spread(scratch, 'floor', problem.floorKwh, n, 1);
  const highKwh = spread(scratch, 'high', problem.capacityKwh, n, 1);
  const lowKwh = scratch.doubles('low', n);
  for (let i = 0; i < n; i++) lowKwh[i] = Math.min(floorKwh[i]!, highKwh[i]!);
  if (problem.finalMinKwh !== undefined && n > 0)
    lowKwh[n - 1] = Math.min(highKwh[n - 1]!, Math.max(lowKwh[n - 1]!, problem.finalMinKwh));
  const wearPerKwh = problem.wearPerKwh ?? 0;
  let dearest = wearPerKwh + Math.abs(problem.finalValuePerKwh ?? 0) + 1e-6;
  for (let i = 0; i < n; i++) {
    const price = Math.max(Math.abs(importPricePerKwh[i]!), Math.abs(exportPricePerKwh[i]!));
    if (price > dearest) dearest = price;
  }
  // No more than the whole store can move in a step: keeps widths finite.
  let most = problem.initialKwh;
  for (let i = 0; i < n; i++) if (highKwh[i]! > most) most = highKwh[i]!;
  const chargeMost = (1.000001 * most) / Math.min(chargeEfficiency, problem.solarChargeEfficiency ?? 1);
  const chargeLimitKwh = spread(scratch, 'charge', problem.chargeLimitKw, n, stepHours, chargeMost);
  const dischargeLimitKwh = spread(scratch, 'discharge', problem.dischargeLimitKw, n, stepHours, 1.000001 * most);
  // What rounding leaves of a limit moves nothing, and would bend a step's cost.
  for (let i = 0; i < n; i++) if (dischargeLimitKwh[i]! < 1e-12 * most) dischargeLimitKwh[i] = 0;
  const importLimitKwh = (problem.importLimitKw ?? Number.POSITIVE_INFINITY) * stepHours;
  const exportLimitKwh = (problem.exportLimitKw ?? Number.POSITIVE_INFINITY) * stepHours;
  const steps = {
    intervals: n,
    plain: false,
    netLoadKwh,
    importPricePerKwh,
    exportPricePerKwh,
    chargeLimitKwh,
    dischargeLimitKwh,
    lowKwh,
    highKwh,
    floorKwh,
    initialKwh: problem.initialKwh,
    chargeEfficiency,
    dischargeEfficiency: problem.dischargeEfficiency,
    solarChargeEfficiency: problem.solarChargeEfficiency ?? chargeEfficiency,
    acPerCharged: 1 / chargeEfficiency,
    acPerSolarCharged: 1 / (problem.solarChargeEfficiency ?? chargeEfficiency),
    storedPerAc: 1 / problem.dischargeEfficiency,
    decay: problem.selfDischargePerStep ?? 0,
    gridCharging: problem.gridCharging ?? true,
    batteryExport: problem.batteryExport ?? true,
    curtailment: problem.curtailment ?? false,
    clippedKwh: problem.clippedKwh,
    servedLoadLimitKwh: problem.servedLoadLimitKwh,
    importLimitKwh,
    exportLimitKwh,
    wearPerKwh,
    finalValuePerKwh: problem.finalValuePerKwh ?? 0,
    unservedPerKwh: UNSERVED_FACTOR * dearest,
    unservedRisePerStep: (1e3 * dearest) / Math.max(1, n),
    stepsToEnd: n,
    importCapKwh: undefined,
    overCapPerKwh: undefined,
    scratch,
  };
  steps.plain = isPlain(steps, !(problem.demandCharges?.length || problem.terms?.length));
  return steps;
}

/**
 * Whether nothing but the battery's own limits can bind, caps apart, and nothing is thrown away; `asAllowed`: limits that only
 * forbidden ways would meet don't count. (Where terms of a bill are weighed they do: what allows more has to go the same way.)
 */
export function isPlain(p: StepProblem, asAllowed = false): boolean {
  const { intervals, netLoadKwh, chargeLimitKwh, dischargeLimitKwh, importLimitKwh, exportLimitKwh } = p;
  const [charges, sells] = [p.gridCharging, p.batteryExport].map((may) => !asAllowed || may);
  if (p.curtailment || p.solarChargeEfficiency !== p.chargeEfficiency) return false;
  if (p.clippedKwh !== undefined || p.servedLoadLimitKwh !== undefined) return false;
  if (importLimitKwh === Number.POSITIVE_INFINITY && exportLimitKwh === Number.POSITIVE_INFINITY) return true;
  for (let i = 0; i < intervals; i++) {
    const net = netLoadKwh[i]!;
    if (Math.max(net, 0) + (charges ? chargeLimitKwh[i]! : 0) > importLimitKwh) return false;
    if ((sells ? dischargeLimitKwh[i]! : 0) - Math.min(net, 0) > exportLimitKwh) return false;
  }
  return true;
}

/** A problem to change, sharing its arrays. Written out, so that the recursion meets one form of object only. */
export function copySteps(p: StepProblem): { -readonly [K in keyof StepProblem]: StepProblem[K] } {
  return {
    intervals: p.intervals,
    plain: p.plain,
    netLoadKwh: p.netLoadKwh,
    importPricePerKwh: p.importPricePerKwh,
    exportPricePerKwh: p.exportPricePerKwh,
    chargeLimitKwh: p.chargeLimitKwh,
    dischargeLimitKwh: p.dischargeLimitKwh,
    lowKwh: p.lowKwh,
    highKwh: p.highKwh,
    floorKwh: p.floorKwh,
    initialKwh: p.initialKwh,
    chargeEfficiency: p.chargeEfficiency,
    dischargeEfficiency: p.dischargeEfficiency,
    solarChargeEfficiency: p.solarChargeEfficiency,
    acPerCharged: p.acPerCharged,
    acPerSolarCharged: p.acPerSolarCharged,
    storedPerAc: p.storedPerAc,
    decay: p.decay,
    gridCharging: p.gridCharging,
    batteryExport: p.batteryExport,
    curtailment: p.curtailment,
    clippedKwh: p.clippedKwh,
    servedLoadLimitKwh: p.servedLoadLimitKwh,
    importLimitKwh: p.importLimitKwh,
    exportLimitKwh: p.exportLimitKwh,
    wearPerKwh: p.wearPerKwh,
    finalValuePerKwh: p.finalValuePerKwh,
    unservedPerKwh: p.unservedPerKwh,
    unservedRisePerStep: p.unservedRisePerStep,
    stepsToEnd: p.stepsToEnd,
    importCapKwh: p.importCapKwh,
    overCapPerKwh: p.overCapPerKwh,
    scratch: p.scratch,
  };
}

/** Gives a problem's own arrays back for the next call. It must not be read after. */
export function releaseSteps(steps: StepProblem): void {
  steps.scratch.giveBack('floor', steps.floorKwh);
  steps.scratch.giveBack('high', steps.highKwh);
  steps.scratch.giveBack('low', steps.lowKwh);
  steps.scratch.giveBack('charge', steps.chargeLimitKwh);
  steps.scratch.giveBack('discharge', steps.dischargeLimitKwh);
}

function spread(
  scratch: Scratch,
  role: string,
  value: number | Float64Array,
  n: number,
  factor: number,
  most = Number.MAX_VALUE,
) {
  const out = scratch.doubles(role, n);
  if (typeof value === 'number') out.fill(Math.min(most, value * factor), 0, n);
  else for (let i = 0; i < n; i++) out[i] = Math.min(most, value[i]! * factor);
  return out;
}

/** Price of leaving a kWh of load unserved in step `i`. */
export function unservedPrice(p: StepProblem, i: number): number {
  return p.unservedPerKwh + p.unservedRisePerStep * (p.stepsToEnd - i);
}
