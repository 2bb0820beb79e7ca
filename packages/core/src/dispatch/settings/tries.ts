import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis } from '../../plant/index.ts';
import { clearFlows, executeLevels, executeWithoutPlant, resetLevels, startState } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { type ByWeeks, Judge } from './judge.ts';
import { followSchedule, highest, limitsPower, type SheetSchedule, storedInStep } from './sheet.ts';

/** A window is entered where it saves at least this share of the cost without one: less is chance. */
const WORTH_ENTERING = 0.0005;

/** What may be given up for hours of backup unless stated otherwise: a share of the savings, at least one of the bill. */
const GIVEN_UP = { ofSavings: 0.02, ofBill: 0.001 };

/** Of each schedule: how many of the cheapest are tried together with those of other schedules, how many that keep more. */
const CHEAPEST = 4;
const FULLER = 6;

/** What a sheet's hours of backup are, and what the cheapest sheet would have had. */
export interface LightsChoice {
  /** In nine of ten starts at any hour, h. */
  readonly hours: number;
  readonly cheapestHours: number;
  /** What the sheet costs more than the cheapest over the data, by the search; money, at least 0. */
  readonly givenUp: number;
  /** The most that could be given up over the data; money. */
  readonly most: number;
}

/** What a search of settings may be told. */
export interface SettingsWishes {
  /**
   * Hours that the battery lasts from each start, for what a run leaves stored. Among sheets that cost about the same the one
   * that lasts longer in nine of ten starts is taken; left out, the cheapest.
   */
  readonly hoursOf?: (socKwh: Float64Array) => Float64Array;
  /** How much may be given up for that over the data, money. @defaultValue 2 % of what the cheapest saves, at least 0.1 % of the bill */
  readonly most?: number;
  /** What a battery that is full in place of empty ages more over the data, money: counted in. @defaultValue 0 */
  readonly wearOfFull?: number;
}

/** Hours that differ by less last as long: the cheaper one is taken. */
const SAME_HOURS = 0.02;

/** One in so many intervals is looked at for how full a schedule keeps the battery. */
const LOOKED_AT = 5;

/** Stretches of the axis, `[from, to)`. */
type Spans = readonly (readonly [from: number, to: number])[];

/** A part of the year with a schedule of its own. */
export interface Slot {
  readonly slot: SheetSchedule;
  readonly members: Int32Array;
  readonly spans: Spans;
}

/** A schedule that was tried on its part of the year. */
export interface Tried {
  readonly schedule: SheetSchedule;
  /** Of the season's days, with what entering windows must earn. */
  readonly cost: ByWeeks;
  /** The same by energy prices alone. */
  readonly energy: ByWeeks;
  /** How full it keeps the battery: a sum of √kWh, in which an empty hour isn't made up for by a full one. */
  readonly kept: number;
}

/** Schedules that hold together, one for each part of the year, and the power that they charge with. */
export interface Together {
  readonly set: readonly Tried[];
  readonly gridChargeKw: number;
}

interface Measured extends Together {
  readonly cost: number;
  readonly hours: number;
}

/** The one that costs least in those weeks; the first of equals. */
export function leastOf(tried: readonly Tried[], weeks: number, by: 'cost' | 'energy' = 'cost'): Tried {
  return tried.reduce((best, other) => (other[by][weeks]! < best[by][weeks]! - 1e-9 ? other : best));
}

/** Whether a schedule buys for the battery. */
export function buys({ charge, chargeToPercent }: SheetSchedule): boolean {
  return charge !== null && chargeToPercent > 0;
}

/** Runs schedules over a home and says what they cost: first each on its part of the year, then the best together. */
export class Tries {
  private readonly levels: Levels;
  private readonly flows: Flows;
  private readonly judge: Judge;
  private readonly rated: { readonly capacityKwh: number };
  private readonly charging: Uint8Array;
  private readonly counted: Float64Array;
  private members: Int32Array = new Int32Array(0);
  private spans: Spans = [];
  private withoutWindows: ByWeeks = [0, 0, 0];
  private energyWithout: ByWeeks = [0, 0, 0];
  private least = Number.POSITIVE_INFINITY;
  private readonly onAxis: PlantOnAxis;
  private readonly reserveKwh: Float64Array;
  private readonly parity: Uint8Array;

  constructor(onAxis: PlantOnAxis, tariff: CompiledTariff, reserveKwh: Float64Array, parity: Uint8Array) {
    this.onAxis = onAxis;
    this.reserveKwh = reserveKwh;
    this.parity = parity;
    const n = onAxis.axis.intervals;
    this.levels = makeLevels(n);
    this.flows = makeFlows(n);
    this.charging = new Uint8Array(n);
    this.counted = new Float64Array(n);
    this.judge = new Judge(tariff, parity);
    this.rated = { capacityKwh: highest(onAxis.capacityKwh) };
  }

  /** A part of the year: its season alone is run, its own days as told, the season's other days as self-consumption. */
  begin(members: Int32Array, spans: Spans): void {
    this.clear();
    this.members = members;
    this.spans = spans;
    this.least = Number.POSITIVE_INFINITY;
  }

  /** Runs one schedule over the part that was begun; the first must be self-consumption. */
  one(schedule: SheetSchedule, gridChargeKw: number): Tried {
    const { members, spans, flows, judge } = this;
    this.lay(schedule, members);
    this.run(spans, gridChargeKw);
    const energy = judge.energy(flows, spans);
    const cost = judge.costs(flows, spans);
    const isFirst = this.least === Number.POSITIVE_INFINITY;
    // The weeks' own share of the bill is worked out for what may be worth it.
    if (cost[0] < this.least + 0.1 * Math.abs(this.withoutWindows[0])) judge.addTerms(cost, flows);
    else if (judge.isBent) for (const k of [1, 2]) cost[k] = Number.POSITIVE_INFINITY;
    if (isFirst) {
      this.withoutWindows = [...cost];
      this.energyWithout = [...energy];
    }
    this.least = Math.min(this.least, cost[0]);
    for (let k = 0; k < 3; k++) {
      cost[k]! += entering(schedule) * Math.abs(this.withoutWindows[k]!);
      energy[k]! += entering(schedule) * Math.abs(this.energyWithout[k]!);
    }
    let kept = 0;
    for (let m = 0; m < members.length; m += LOOKED_AT) kept += Math.sqrt(flows.socKwh[members[m]!]!);
    return { schedule, cost, energy, kept };
  }

  /**
   * The best schedules together, in all weeks (0), the odd (1) or the even ones (2): judged by whole runs of the axis.
   * Where the wishes say how long a battery lasts, it lasts no less than with the plain sheet, and of all that costs at most so
   * much more what lasts longest is taken.
   *
   * @param plain what is cheapest by energy prices alone, at full power: settings as they are entered without any of this
   */
  choose(
    slots: readonly Slot[],
    tried: readonly (readonly Tried[])[],
    gridChargeKw: number,
    weeks: 0 | 1 | 2,
    wishes: SettingsWishes,
    plain: Together,
  ): { gridChargeKw: number; schedules: SheetSchedule[]; lights: LightsChoice | undefined } {
    const { hoursOf, most, wearOfFull = 0 } = wishes;
    const cheapest = { set: tried.map((of) => leastOf(of, weeks)), gridChargeKw };
    const entered = ({ set, gridChargeKw: kw }: Together, lights?: LightsChoice) => ({
      gridChargeKw: kw,
      schedules: set.map(({ schedule }) => schedule),
      lights,
    });
    if (hoursOf === undefined && !this.judge.isBent) return entered(cheapest);
    const wear = hoursOf === undefined ? 0 : wearOfFull / (weeks === 0 ? 1 : 2);
    const measured = (of: Together): Measured => {
      const cost = this.together(slots, of, weeks, 0) + (wear === 0 ? 0 : wear * this.meanShare());
      return { ...of, cost, hours: hoursOf === undefined ? 0 : this.nineInTen(hoursOf(this.flows.socKwh), weeks) };
    };
    let best = this.judge.isBent ? this.together(slots, cheapest, weeks) : 0;
    let set: readonly Tried[] = cheapest.set;
    // Bills that count a month know no schedules: what one of them sets as a peak, another is free to draw.
    if (this.judge.isBent)
      for (const [s, of] of tried.entries())
        for (const other of cheapestOf(of, weeks)) {
          if (other === set[s]) continue;
          const changed = set.with(s, other);
          const cost = this.together(slots, { set: changed, gridChargeKw }, weeks);
          if (cost >= best - 1e-9) continue;
          set = changed;
          best = cost;
        }
    const asRule = measured(plain);
    let chosen = measured({ set, gridChargeKw });
    if (asRule.cost <= chosen.cost) chosen = asRule;
    if (hoursOf === undefined) return entered(chosen);
    const least = chosen;
    if (chosen.hours < asRule.hours - 1e-9) {
      const fuller = raised(tried, weeks, chosen, asRule.hours, measured);
      chosen = fuller !== undefined && fuller.cost < asRule.cost ? fuller : asRule;
    }
    const without = this.costWithout(weeks);
    const tie =
      most === undefined
        ? Math.max(GIVEN_UP.ofSavings * (without - chosen.cost), GIVEN_UP.ofBill * Math.abs(without))
        : most / (weeks === 0 ? 1 : 2);
    const limit = chosen.cost + tie + 1e-9;
    for (const [s, of] of tried.entries()) {
      // The plain sheet charges at full power, which the others may not.
      if (chosen.gridChargeKw !== gridChargeKw) break;
      for (const other of fullerOf(of, weeks, chosen.set[s]!, tie)) {
        const changed = measured({ ...chosen, set: chosen.set.with(s, other) });
        if (changed.cost > limit || changed.hours < chosen.hours - 1e-9) continue;
        if (changed.hours >= chosen.hours + SAME_HOURS || changed.cost < chosen.cost - 1e-9) chosen = changed;
      }
    }
    return entered(chosen, {
      hours: chosen.hours,
      cheapestHours: least.hours,
      givenUp: Math.max(0, chosen.cost - least.cost),
      most: tie,
    });
  }

  private clear(): void {
    resetLevels(this.levels).serveDownToKwh.set(this.reserveKwh);
    this.levels.gridChargeToKwh.set(this.reserveKwh);
    this.charging.fill(0);
  }

  private lay(schedule: SheetSchedule, members: Int32Array): void {
    const { rated, reserveKwh, charging } = this;
    const { gridChargeToKwh, serveDownToKwh } = this.levels;
    const { minuteOfDay } = this.onAxis.axis.calendar;
    // What the box does depends on the minute alone, but for the reserve: asked once a minute in place of once an interval.
    const [targets, serves] = minutesOf(schedule, rated);
    for (let m = 0; m < members.length; m++) {
      const i = members[m]!;
      const minute = minuteOfDay[i]!;
      const reserve = reserveKwh[i]!;
      const target = targets[minute]!;
      charging[i] = target > reserve ? 1 : 0;
      gridChargeToKwh[i] = target > reserve ? target : reserve;
      serveDownToKwh[i] = serves[minute]! === 1 ? reserve : Number.POSITIVE_INFINITY;
    }
  }

  private run(spans: Spans, gridChargeKw: number): void {
    const { onAxis, levels, flows, charging, reserveKwh } = this;
    clearFlows(flows);
    const limited = limitsPower(gridChargeKw, highest(onAxis.chargeLimitKwh) / onAxis.stepHours);
    const stepKwh = storedInStep(gridChargeKw, onAxis.stepHours, onAxis.conversion.chargeEfficiency);
    for (const [from, to] of spans) {
      const state = startState(onAxis);
      if (!limited) {
        executeLevels(onAxis, levels, from, to, state, flows);
        continue;
      }
      for (let i = from; i < to; ) {
        let end = i + 1;
        if (charging[i] === 1) {
          const target = levels.gridChargeToKwh[i]!;
          levels.gridChargeToKwh[i] = Math.min(target, Math.max(reserveKwh[i]!, state.socKwh + stepKwh));
          executeLevels(onAxis, levels, i, end, state, flows);
          levels.gridChargeToKwh[i] = target;
        } else {
          while (end < to && charging[end] === 0) end++;
          executeLevels(onAxis, levels, i, end, state, flows);
        }
        i = end;
      }
    }
  }

  /**
   * What the schedules cost together; their flows are those of the run.
   * @param earns what entering windows must earn, of {@link WORTH_ENTERING}: 0 where hours of backup are what is earned
   */
  private together(slots: readonly Slot[], { set, gridChargeKw }: Together, weeks: 0 | 1 | 2, earns = 1): number {
    this.clear();
    for (const [s, { schedule }] of set.entries()) this.lay(schedule, slots[s]!.members);
    this.run([[0, this.parity.length]], gridChargeKw);
    const windows = set.reduce((sum, { schedule }) => sum + entering(schedule), 0) / set.length;
    return this.costIn(weeks) + earns * windows * Math.abs(this.costWithout(weeks));
  }

  /** How full the battery was on average, of its usable energy. */
  private meanShare(): number {
    const { socKwh } = this.flows;
    return socKwh.reduce((sum, kwh) => sum + kwh, 0) / socKwh.length / this.rated.capacityKwh;
  }

  private costIn(weeks: 0 | 1 | 2): number {
    const costs = this.judge.costs(this.flows, [[0, this.parity.length]]);
    if (weeks > 0) this.judge.addTerms(costs, this.flows);
    return costs[weeks];
  }

  private readonly costsWithout: (number | undefined)[] = [];

  /** What the home pays without a battery. */
  private costWithout(weeks: 0 | 1 | 2): number {
    const known = this.costsWithout[weeks];
    if (known !== undefined) return known;
    const { axis, stepHours, importLimitKwh, exportLimitKwh, source } = this.onAxis;
    const service = { importLimitKw: importLimitKwh / stepHours, exportLimitKw: exportLimitKwh / stepHours };
    const flows = makeFlows(axis.intervals);
    executeWithoutPlant(axis, source.loadKwh, source.solarKwh, service, flows);
    const costs = this.judge.costs(flows, [[0, axis.intervals]]);
    if (weeks > 0) this.judge.addTerms(costs, flows);
    this.costsWithout[weeks] = costs[weeks];
    return costs[weeks];
  }

  private nineInTen(hours: Float64Array, weeks: 0 | 1 | 2): number {
    const { counted, parity } = this;
    let count = 0;
    for (let i = 0; i < hours.length; i++)
      if (weeks === 0 || parity[i] === weeks % 2) {
        counted[count] = hours[i]!;
        count++;
      }
    return count === 0 ? 0 : nthOf(counted, count, Math.floor(0.1 * (count - 1)));
  }
}

/** Minutes of a day: what a schedule charges up to, kWh, and whether it carries load. */
function minutesOf(schedule: SheetSchedule, rated: { readonly capacityKwh: number }): [Float64Array, Uint8Array] {
  const levels = makeLevels(1440);
  const serves = new Uint8Array(1440);
  for (let minute = 0; minute < 1440; minute++) {
    followSchedule(schedule, rated, 0, minute, levels, minute);
    serves[minute] = levels.serveDownToKwh[minute] === 0 ? 1 : 0;
  }
  return [levels.gridChargeToKwh, serves];
}

/** The k-th smallest of the first `count` values, which are reordered: quickselect, as textbooks have it. */
function nthOf(values: Float64Array, count: number, k: number): number {
  let low = 0;
  let high = count - 1;
  while (low < high) {
    const pivot = values[(low + high) >> 1]!;
    let i = low;
    let j = high;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i <= j) {
        const held = values[i]!;
        values[i] = values[j]!;
        values[j] = held;
        i++;
        j--;
      }
    }
    if (k <= j) high = j;
    else if (k >= i) low = i;
    else break;
  }
  return values[k]!;
}

/** What entering a schedule's windows must earn, as a share of the cost without them. */
function entering({ charge, discharge }: SheetSchedule): number {
  return WORTH_ENTERING * ((charge === null ? 0 : 1) + (discharge === null ? 0 : 1));
}

function cheapestOf(tried: readonly Tried[], weeks: number): Tried[] {
  return tried.toSorted((a, b) => a.cost[weeks]! - b.cost[weeks]!).slice(0, CHEAPEST);
}

/**
 * Fuller schedules until the battery lasts so long: the cheapest single change that does, else the one that gives most hours for
 * its money, and on from there.
 */
function raised(
  tried: readonly (readonly Tried[])[],
  weeks: number,
  from: Measured,
  hours: number,
  measured: (of: Together) => Measured,
): Measured | undefined {
  let now = from;
  for (let round = 0; round < tried.length + 1; round++) {
    let enough: Measured | undefined;
    let next: Measured | undefined;
    let most = 0;
    for (const [s, of] of tried.entries())
      for (const other of fullerOf(of, weeks, now.set[s]!, Number.POSITIVE_INFINITY)) {
        if (other.kept <= now.set[s]!.kept) continue;
        const changed = measured({ ...now, set: now.set.with(s, other) });
        if (changed.hours >= hours && (enough === undefined || changed.cost < enough.cost)) enough = changed;
        const worth = (changed.hours - now.hours) / Math.max(1e-6, changed.cost - now.cost);
        if (worth <= most) continue;
        most = worth;
        next = changed;
      }
    if (enough !== undefined) return enough;
    if (next === undefined) return undefined;
    now = next;
  }
  return undefined;
}

/** Schedules that cost no more than a tie above the best and keep more stored than all that cost less, fullest first. */
function fullerOf(tried: readonly Tried[], weeks: number, best: Tried, tie: number): Tried[] {
  const near = tried.filter(({ cost }) => cost[weeks]! <= best.cost[weeks]! + tie);
  let kept = 0;
  const fuller: Tried[] = [];
  for (const one of near.sort((a, b) => a.cost[weeks]! - b.cost[weeks]!))
    if (one.kept > kept + 1e-9) {
      kept = one.kept;
      fuller.push(one);
    }
  // Evenly spread where there are many, the fullest among them.
  const every = Math.max(1, fuller.length / FULLER);
  return Array.from({ length: Math.min(FULLER, fuller.length) }, (_, k) => fuller.at(-1 - Math.floor(k * every))!);
}
