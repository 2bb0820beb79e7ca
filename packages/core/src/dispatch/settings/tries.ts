import { type Flows, type Levels, makeFlows, makeLevels, type PlantOnAxis } from '../../plant/index.ts';
import {
  clearFlows,
  executeLevels,
  executeWithoutPlant,
  highest,
  resetLevels,
  startState,
} from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import type { PriceRun, SameWindows } from './candidates.ts';
import type { Apart } from './halves.ts';
import { type ByHalves, entering, Judge, type Spans } from './judge.ts';
import { Kept } from './kept.ts';
import { nineInTen } from './nine-in-ten.ts';
import { type ClockWindow, followSchedule, limitsPower, type ReservePlan, type SheetSchedule } from './sheet.ts';
import type { SettingsWishes } from './wishes.ts';

/** One in so many intervals is looked at for how full a schedule keeps the battery. */
const LOOKED_AT = 5;

/** Of a schedule's charge targets these two are run always, the others where cost between them may still fall under the best. */
const COARSE = [100, 40];
/** How near they must come, as a share of the cost without windows: what may be given up for hours is within, and how far cost is from convex. */
const NEAR = 0.06;

/** All of the data, their odd half, their even half. */
export type Half = 0 | 1 | 2;
export const HALVES: readonly Half[] = [0, 1, 2];

/** A part of the year with a schedule of its own. */
export interface Slot {
  readonly slot: SheetSchedule;
  readonly members: Int32Array;
  readonly spans: Spans;
  /** Its day by prices. */
  readonly runs: readonly PriceRun[];
  /** By how much later a window may end or begin at a time, minutes. */
  readonly laterMinutes: number;
}

/** A schedule that was tried on its part of the year. */
export interface Tried {
  readonly schedule: SheetSchedule;
  /** Of the season's days, with what entering windows must earn and what a fuller battery ages more. */
  readonly cost: ByHalves;
  /** Of that what entering windows must earn: no bill has it. */
  readonly entered: ByHalves;
  /** Energy at its prices alone, with what entering windows must earn. */
  readonly energy: ByHalves;
  /** How full it keeps the battery: a sum of √kWh, in which an empty hour isn't made up for by a full one. */
  readonly kept: number;
  /** The same of its evenings alone; 0 where the wishes name none. */
  readonly keptEvenings: number;
}

/** Schedules that hold together, one for each part of the year, and the power that they charge with. */
export interface Together {
  readonly set: readonly Tried[];
  readonly gridChargeKw: number;
  /** Whether all of it is kept through months too cold to charge: see {@link SettingsWishes.heldAt}. */
  readonly held?: boolean;
}

/** What a run of the whole axis came to. */
export interface Run extends Together {
  /** The bill, without its fixed charges. */
  readonly bills: ByHalves;
  /** The same, with what a fuller battery ages more. */
  readonly costs: ByHalves;
}

/** Runs schedules over a home and says what they cost: first each on its part of the year, then the best together. */
export class Tries {
  private readonly levels: Levels;
  private readonly flows: Flows;
  readonly judge: Judge;
  private readonly rated: { readonly capacityKwh: number };
  private readonly counted: Float64Array;
  private members: Int32Array = new Int32Array(0);
  private spans: Spans = [];
  private withoutWindows: ByHalves = [0, 0, 0];
  private energyWithout: ByHalves = [0, 0, 0];
  private least = Number.POSITIVE_INFINITY;
  /** Cost of what never charges, by the window that it carries load in. */
  private readonly without = new Map<ClockWindow | null, number>();
  private readonly onAxis: PlantOnAxis;
  readonly kept: Kept;
  private reserveKwh: Float64Array = new Float64Array(0);
  private readonly parity: Uint8Array;
  private readonly wearOfFull: number;

  readonly slots: readonly Slot[];
  readonly currencyDecimals: number;
  private readonly wishes: SettingsWishes;
  /** Runs of the whole axis, by what was entered: both halves and all of the data ask for the same ones. */
  private readonly runs = new Map<string, Run>();
  private readonly ids = new Map<Tried, number>();
  /** Intervals of each slot in the even half and in the odd one. */
  private byHalves: Int32Array[][] | undefined;
  private readonly hoursOfRuns = new Map<Run, ByHalves>();
  /** The run whose flows are at hand. */
  private last: Run | undefined;
  private readonly minutes: Levels = makeLevels(1440);
  private readonly serves = new Uint8Array(1440);

  constructor(
    onAxis: PlantOnAxis,
    tariff: CompiledTariff,
    reserve: ReservePlan,
    apart: Apart,
    slots: readonly Slot[],
    wishes: SettingsWishes,
  ) {
    this.onAxis = onAxis;
    this.kept = new Kept(onAxis, tariff, reserve, wishes);
    this.slots = slots;
    this.currencyDecimals = tariff.currencyDecimals;
    this.wishes = wishes;
    this.wearOfFull = wishes.wearOfFull ?? 0;
    const n = onAxis.axis.intervals;
    this.levels = makeLevels(n);
    this.flows = makeFlows(n);
    this.counted = new Float64Array(n);
    this.judge = new Judge(tariff, onAxis.source.solarKwh, apart);
    this.parity = this.judge.parity;
    this.rated = { capacityKwh: highest(onAxis.capacityKwh) };
  }

  /** A part of the year: its season alone is run, its own days as told, other days as they were found, else as self-consumption. */
  begin(
    { members, spans }: Slot,
    found: readonly { readonly of: Slot; readonly schedule: SheetSchedule }[],
    gridChargeKw: number,
  ): void {
    this.clear({ set: [], gridChargeKw });
    for (const { of, schedule } of found) this.lay(schedule, of.members);
    this.members = members;
    this.spans = spans;
    this.least = Number.POSITIVE_INFINITY;
    this.without.clear();
  }

  /**
   * Runs schedules over the part that was begun; the first of all must be self-consumption. Charge targets of the same windows are
   * run coarse to fine: cost is all but convex in the target, so that where a straight line on from two of them doesn't come
   * near the best, none between or beyond does.
   */
  all(groups: readonly SameWindows[], gridChargeKw: number): Tried[] {
    const tried: Tried[] = [];
    const costAt = (schedule: SheetSchedule): number => {
      const one = this.one(schedule, gridChargeKw);
      tried.push(one);
      return one.cost[0];
    };
    const { without } = this;
    for (const group of groups) {
      const [first] = group;
      const { charge, discharge } = first!;
      if (charge === null) without.set(discharge, costAt(first!));
      const at0 = without.get(discharge);
      if (charge === null || group.length < 3 || at0 === undefined) {
        if (charge !== null) for (const schedule of group) costAt(schedule);
        continue;
      }
      const [most, some] = COARSE as [number, number];
      const [atMost, atSome] = COARSE.map((percent) =>
        costAt(group.find(({ chargeToPercent }) => chargeToPercent === percent)!),
      ) as [number, number];
      const near = this.least + Math.max(NEAR * Math.abs(this.withoutWindows[0]), this.wishes.most ?? 0);
      for (const schedule of group) {
        const { chargeToPercent: percent } = schedule;
        if (COARSE.includes(percent)) continue;
        const slope = percent > some ? (atSome - at0) / some : (atMost - atSome) / (most - some);
        if (atSome + slope * (percent - some) <= near) costAt(schedule);
      }
    }
    return tried;
  }

  /** Runs one schedule over the part that was begun; the first must be self-consumption. */
  one(schedule: SheetSchedule, gridChargeKw: number): Tried {
    const { members, spans, judge } = this;
    this.wishes.onTry?.();
    this.lay(schedule, members);
    this.run(spans, gridChargeKw);
    const billed = judge.billed(this.flows, spans);
    const energy = judge.energy(billed, spans);
    const cost = judge.costs(billed, spans);
    // Every fifth interval stands for five.
    const stored: ByHalves = [0, 0, 0];
    let kept = 0;
    let keptEvenings = 0;
    const { evenings } = this.wishes;
    for (let m = 0; m < members.length; m += LOOKED_AT) {
      const i = members[m]!;
      const kwh = this.flows.socKwh[i]!;
      kept += Math.sqrt(kwh);
      if (evenings?.[i] === 1) keptEvenings += Math.sqrt(kwh);
      stored[this.parity[i] === 1 ? 1 : 2] += LOOKED_AT * kwh;
    }
    stored[0] = stored[1] + stored[2];
    for (let k = 0; k < 3; k++) cost[k]! += this.wearOf(stored[k]!);
    const isFirst = this.least === Number.POSITIVE_INFINITY;
    // The weeks' own share of the bill is worked out for what may be worth it.
    if (cost[0] < this.least + 0.1 * Math.abs(this.withoutWindows[0])) judge.addTerms(cost, billed);
    else if (judge.isSlow) for (const k of [1, 2]) cost[k] = Number.POSITIVE_INFINITY;
    if (isFirst) {
      this.withoutWindows = [...cost];
      this.energyWithout = [...energy];
    }
    this.least = Math.min(this.least, cost[0]);
    const entered = this.withoutWindows.map((without) => entering(schedule) * Math.abs(without)) as ByHalves;
    for (let k = 0; k < 3; k++) {
      cost[k]! += entered[k]!;
      energy[k]! += entering(schedule) * Math.abs(this.energyWithout[k]!);
    }
    return { schedule, cost, entered, energy, kept, keptEvenings };
  }

  /** Runs the whole axis with schedules that hold together, once whoever asks. */
  together({ set, gridChargeKw, held = false }: Together): Run {
    const key = `${gridChargeKw} ${held} ${set.map((one) => this.idOf(one)).join(' ')}`;
    const known = this.runs.get(key);
    if (known !== undefined) return known;
    this.execute({ set, gridChargeKw, held });
    const bills = this.billsOf(this.flows);
    bills[0] += this.kept.startEnergy(held, gridChargeKw);
    const wear = this.wear();
    const costs = bills.map((bill, half) => bill + wear[half]!) as ByHalves;
    const made: Run = { set, gridChargeKw, held, bills, costs };
    this.runs.set(key, made);
    this.last = made;
    return made;
  }

  /** Hours of backup in nine of ten starts at any hour; 0 where the wishes don't say how long the battery lasts. */
  hours(run: Run, half: Half): number {
    const known = this.hoursOfRuns.get(run);
    if (known !== undefined) return known[half];
    const hours = this.hoursFrom(run);
    const { counted, parity } = this;
    const tenth = (half: Half) => nineInTen(hours, counted, (i) => half === 0 || parity[i] === half % 2);
    const made = HALVES.map(tenth) as ByHalves;
    this.hoursOfRuns.set(run, made);
    return made[half];
  }

  /** The same of starts on the evenings that the wishes name; 0 where they name none. */
  eveningHours(run: Run): number {
    const { evenings } = this.wishes;
    return evenings === undefined ? 0 : nineInTen(this.hoursFrom(run), this.counted, (i) => evenings[i] === 1);
  }

  private hoursFrom(run: Run): Float64Array {
    const { hoursOf } = this.wishes;
    if (hoursOf === undefined) return new Float64Array(0);
    if (this.last !== run) this.execute(run);
    this.last = run;
    return hoursOf(this.flows.socKwh);
  }

  /** What entering windows must earn beside, of {@link entering}; money. */
  worthOf({ set }: Together, half: Half): number {
    const windows = set.reduce((sum, { schedule }) => sum + entering(schedule), 0) / set.length;
    return windows * Math.abs(this.billsWithout()[half]);
  }

  /** The bill where the odd half runs what the even one taught and the other way round; and with what a fuller battery ages more. */
  apart(odd: Together, even: Together): { readonly bill: number; readonly cost: number } {
    this.byHalves ??= this.slots.map(({ members }) =>
      [0, 1].map((week) => members.filter((i) => this.parity[i] === week)),
    );
    this.clear(odd);
    for (const [s, [inEven]] of this.byHalves.entries()) this.lay(odd.set[s]!.schedule, inEven!);
    const { gridChargeToKwh, serveDownToKwh } = this.levels;
    const [charge, serve] = [gridChargeToKwh.slice(), serveDownToKwh.slice()];
    this.clear(even);
    for (const [s, [, inOdd]] of this.byHalves.entries()) this.lay(even.set[s]!.schedule, inOdd!);
    for (let i = 0; i < this.parity.length; i++)
      if (this.parity[i] === 0) {
        gridChargeToKwh[i] = charge[i]!;
        serveDownToKwh[i] = serve[i]!;
      }
    this.run(this.whole, even.gridChargeKw, odd.gridChargeKw, even.held);
    const [energy] = this.judge.costs(this.judge.billed(this.flows, this.whole), this.whole);
    const bill = energy + this.kept.startEnergy(even.held === true, even.gridChargeKw);
    return { bill, cost: bill + this.wear()[0] };
  }

  /** What the run at hand ages the battery more than an empty one, money. */
  private wear(): ByHalves {
    const stored: ByHalves = [0, 0, 0];
    if (this.wearOfFull === 0) return stored;
    const { socKwh } = this.flows;
    for (let i = 0; i < socKwh.length; i++) stored[this.parity[i] === 1 ? 1 : 2] += socKwh[i]!;
    stored[0] = stored[1] + stored[2];
    return stored.map((kwh) => this.wearOf(kwh)) as ByHalves;
  }

  /** What so much stored, summed over intervals, ages the battery more than an empty one, money. */
  private wearOf(storedKwh: number): number {
    return (this.wearOfFull * storedKwh) / this.rated.capacityKwh / this.parity.length;
  }

  private get whole(): Spans {
    return [[0, this.parity.length]];
  }

  /** The bill of a run of the whole axis. */
  private billsOf(flows: Flows): ByHalves {
    const { judge, whole } = this;
    const billed = judge.billed(flows, whole);
    const bills = judge.costs(billed, whole);
    judge.addTerms(bills, billed);
    return bills;
  }

  private execute(together: Together): void {
    const { set, gridChargeKw, held } = together;
    this.clear(together);
    for (const [s, { schedule }] of set.entries()) this.lay(schedule, this.slots[s]!.members);
    this.run(this.whole, gridChargeKw, gridChargeKw, held);
  }

  private idOf(one: Tried): number {
    const id = this.ids.get(one) ?? this.ids.size;
    this.ids.set(one, id);
    return id;
  }

  private clear({ gridChargeKw, held = false }: Together): void {
    this.reserveKwh = this.kept.levelsKwh(gridChargeKw, held);
    resetLevels(this.levels).serveDownToKwh.set(this.reserveKwh);
    this.levels.gridChargeToKwh.set(this.reserveKwh);
  }

  private lay(schedule: SheetSchedule, members: Int32Array): void {
    const { reserveKwh } = this;
    const { gridChargeToKwh, serveDownToKwh } = this.levels;
    const { minuteOfDay } = this.onAxis.axis.calendar;
    // What the box does depends on the minute alone, but for the reserve: asked once a minute in place of once an interval.
    const [targets, serves] = this.minutesOf(schedule);
    for (let m = 0; m < members.length; m++) {
      const i = members[m]!;
      const minute = minuteOfDay[i]!;
      const reserve = reserveKwh[i]!;
      const target = targets[minute]!;
      gridChargeToKwh[i] = target > reserve ? target : reserve;
      serveDownToKwh[i] = serves[minute]! === 1 ? reserve : Number.POSITIVE_INFINITY;
    }
  }

  /**
   * @param evenKw the charging power that the odd half taught, in the even half's intervals
   * @param oddKw the same in the odd half's
   */
  private run(spans: Spans, oddKw: number, evenKw = oddKw, held = false): void {
    this.last = undefined;
    const { onAxis, levels, flows, parity } = this;
    clearFlows(flows);
    const mostKw = highest(onAxis.chargeLimitKwh) / onAxis.stepHours;
    const powerOf = (kw: number) => (limitsPower(kw, mostKw) ? kw : Number.POSITIVE_INFINITY);
    const [inOdd, inEven] = [powerOf(oddKw), powerOf(evenKw)];
    if (inOdd === inEven) levels.gridChargeKw.fill(inOdd);
    else for (let i = 0; i < parity.length; i++) levels.gridChargeKw[i] = parity[i] === 1 ? inOdd : inEven;
    for (const [from, to] of spans) {
      const state = startState(onAxis);
      state.socKwh += this.kept.atStartKwh(held, oddKw);
      executeLevels(onAxis, levels, from, to, state, flows);
    }
  }

  private paidWithout: ByHalves | undefined;

  /** What the home pays without a battery, as {@link Run.bills}. */
  billsWithout(): ByHalves {
    if (this.paidWithout !== undefined) return this.paidWithout;
    const { axis, stepHours, importLimitKwh, exportLimitKwh, source } = this.onAxis;
    const service = { importLimitKw: importLimitKwh / stepHours, exportLimitKw: exportLimitKwh / stepHours };
    const flows = makeFlows(axis.intervals);
    executeWithoutPlant(axis, source.loadKwh, source.solarKwh, service, flows);
    this.paidWithout = this.billsOf(flows);
    return this.paidWithout;
  }

  /** Of each minute of a day: what a schedule charges up to, kWh, and whether it carries load. Good until the next call. */
  private minutesOf(schedule: SheetSchedule): [Float64Array, Uint8Array] {
    const { minutes, serves, rated } = this;
    for (let minute = 0; minute < 1440; minute++) {
      followSchedule(schedule, rated, 0, minute, minutes, minute);
      serves[minute] = minutes.serveDownToKwh[minute] === 0 ? 1 : 0;
    }
    return [minutes.gridChargeToKwh, serves];
  }
}
