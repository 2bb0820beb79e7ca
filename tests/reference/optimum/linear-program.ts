import type { DispatchProblem } from '@duskbank/core/dispatch';
import highsLoader, { type Highs } from 'highs';

/** Rows and columns collected one at a time, handed to the solver as a whole. */
class Model {
  readonly cost: number[] = [];
  readonly lower: number[] = [];
  readonly upper: number[] = [];
  readonly integer: number[] = [];
  readonly rowLower: number[] = [];
  readonly rowUpper: number[] = [];
  readonly starts: number[] = [];
  readonly indices: number[] = [];
  readonly values: number[] = [];

  column(cost: number, lower: number, upper: number, integer = 0): number {
    this.cost.push(cost);
    this.lower.push(lower);
    this.upper.push(upper);
    this.integer.push(integer);
    return this.cost.length - 1;
  }

  row(lower: number, upper: number, entries: readonly (readonly [number, number])[]): void {
    this.rowLower.push(lower);
    this.rowUpper.push(upper);
    this.starts.push(this.indices.length);
    for (const [column, value] of entries)
      if (value !== 0) {
        this.indices.push(column);
        this.values.push(value);
      }
  }
}

export interface ProgramOptions {
  /** Forbid charging and discharging, and importing and exporting, in one step: a mixed-integer program. */
  readonly exclusive?: boolean;
  /** Money a kWh of load left unserved. */
  readonly unservedPerKwh: number;
  /** Band that the start can reach; the program has no way to miss a floor. */
  readonly lowKwh?: Float64Array;
  /** Money a kW of the highest mean import of each period. */
  readonly demand?: readonly {
    readonly pricePerKw: number;
    readonly period: Int32Array;
    readonly averagingSteps: number;
    readonly soFarKw: number;
  }[];
  /**
   * What the energy of each group, and the peak of the period of its number, come to at least, money: `share` of what is
   * lacking is paid. Of each part of the bill so much counts; energy and peaks whole where nothing is said.
   */
  readonly minimum?: {
    readonly group: Int32Array;
    readonly amount: Float64Array;
    readonly share?: number;
    readonly counts?: Readonly<Record<'import' | 'export' | 'blocks' | 'demand' | 'classes', number>>;
  };
  /** What a kWh of each group costs more in each block of its import; blocks that rise. */
  readonly blocks?: {
    readonly group: Int32Array;
    readonly upToKwh: readonly number[];
    readonly adderPerKwh: readonly number[];
  };
  /** A fee by the class of power that the highest import of each period lies in: a mixed-integer program. */
  readonly classes?: {
    readonly period: Int32Array;
    readonly upToKw: readonly number[];
    readonly fee: readonly number[];
  };
  /** Import and export of each group offset each other before they are priced, and a surplus goes to a later group or settles. */
  readonly netting?: {
    readonly group: Int32Array;
    readonly pricePerKwh: Float64Array;
    readonly next: Int32Array;
    readonly surplusPerKwh: Float64Array;
    readonly carriedInKwh: Float64Array;
  };
}

/**
 * The dispatch problem as a linear (or mixed-integer) program, written from docs/concepts/optimum.md and not from the
 * code under test: one variable a flow, one balance at the meter and one at the store an interval.
 */
export function buildProgram(p: DispatchProblem, options: ProgramOptions): Model {
  const n = p.netLoadKwh.length;
  const m = new Model();
  const at = (value: number | Float64Array, i: number) => (typeof value === 'number' ? value : value[i]!);
  const h = p.stepHours;
  const solarEfficiency = p.solarChargeEfficiency ?? p.chargeEfficiency;
  const decay = p.selfDischargePerStep ?? 0;
  const varying = typeof p.floorKwh !== 'number';
  let before = -1;
  const imports: number[] = [];
  const exports: number[] = [];
  for (let i = 0; i < n; i++) {
    const net = p.netLoadKwh[i]!;
    const need = Math.max(0, net);
    const surplus = Math.max(0, -net);
    const chargeLimit = at(p.chargeLimitKw, i) * h;
    const dischargeLimit = at(p.dischargeLimitKw, i) * h;
    const importLimit = (p.importLimitKw ?? Infinity) * h;
    const exportLimit = (p.exportLimitKw ?? Infinity) * h;
    const floor = at(p.floorKwh, i);
    const capacity = at(p.capacityKwh, i);
    let most = dischargeLimit;
    if (p.batteryExport === false) most = Math.min(most, need);
    if (p.servedLoadLimitKwh && p.servedLoadLimitKwh[i]! < need) most = Math.min(most, p.servedLoadLimitKwh[i]!);
    const bought = m.column(p.importPricePerKwh[i]!, 0, importLimit);
    imports.push(bought);
    const sold = m.column(-p.exportPricePerKwh[i]!, 0, exportLimit);
    exports.push(sold);
    const thrown = m.column(0, 0, p.curtailment === true ? surplus : Math.max(0, surplus - exportLimit));
    const unserved = m.column(options.unservedPerKwh, 0, Math.max(0, need - importLimit));
    const own = m.column(0, 0, surplus);
    const grid = m.column(0, 0, p.gridCharging === false ? 0 : Infinity);
    const clipped = m.column(0, 0, p.clippedKwh?.[i] ?? 0);
    const out = m.column(p.wearPerKwh ?? 0, 0, most);
    const last = i === n - 1;
    const floorNow = Math.min(options.lowKwh?.[i] ?? Math.max(floor, last ? (p.finalMinKwh ?? 0) : 0), capacity);
    const soc = m.column(last ? -(p.finalValuePerKwh ?? 0) : 0, floorNow, capacity);
    m.row(0, chargeLimit, [
      [own, 1],
      [grid, 1],
      [clipped, 1],
    ]);
    // import − export − thrown − charge + discharge + unserved = net
    m.row(net, net, [
      [bought, 1],
      [sold, -1],
      [thrown, -1],
      [own, -1],
      [grid, -1],
      [out, 1],
      [unserved, 1],
    ]);
    // Surplus stored and surplus thrown away are the same surplus once.
    if (surplus > 0)
      m.row(0, surplus, [
        [own, 1],
        [thrown, 1],
      ]);
    const flows: [number, number][] = [
      [soc, 1],
      [own, -solarEfficiency],
      [clipped, -solarEfficiency],
      [grid, -p.chargeEfficiency],
      [out, 1 / p.dischargeEfficiency],
    ];
    if (decay > 0 && varying) {
      // decay ≥ share · (soc − floor) and ≥ 0; energy is worth something, so that the least decay is taken
      const lost = m.column(0, 0, Infinity);
      if (before < 0) {
        m.lower[lost] = m.upper[lost] = Math.max(0, decay * (p.initialKwh - floor));
        m.row(p.initialKwh, p.initialKwh, [...flows, [lost, 1]]);
      } else {
        m.row(-decay * floor, Infinity, [
          [lost, 1],
          [before, -decay],
        ]);
        m.row(0, 0, [...flows, [before, -1], [lost, 1]]);
        if (options.exclusive) {
          const above = m.column(0, 0, 1, 1);
          m.row(-Infinity, 100 - decay * floor, [
            [lost, 1],
            [before, -decay],
            [above, 100],
          ]);
          m.row(-Infinity, 0, [
            [lost, 1],
            [above, -100],
          ]);
        }
      }
    } else if (before < 0) {
      const held = p.initialKwh - decay * Math.max(0, p.initialKwh - floor);
      m.row(held, held, flows);
    } else m.row(decay * floor, decay * floor, [...flows, [before, decay - 1]]);
    if (options.exclusive) {
      const charging = m.column(0, 0, 1, 1);
      const c = Math.min(chargeLimit, 1e3);
      m.row(-Infinity, 0, [
        [own, 1],
        [grid, 1],
        [clipped, 1],
        [charging, -c],
      ]);
      m.row(-Infinity, Math.min(most, 1e3), [
        [out, 1],
        [charging, Math.min(most, 1e3)],
      ]);
      const importing = m.column(0, 0, 1, 1);
      const a = Math.min(importLimit, need + c);
      const b = Math.min(exportLimit, surplus + Math.min(most, 1e3));
      m.row(-Infinity, 0, [
        [bought, 1],
        [importing, -a],
      ]);
      m.row(-Infinity, b, [
        [sold, 1],
        [importing, b],
      ]);
      // Without leave to throw away, only what the export limit refuses goes.
      if (p.curtailment !== true && surplus > exportLimit) {
        const full = m.column(0, 0, 1, 1);
        m.row(-Infinity, 0, [
          [thrown, 1],
          [full, -surplus],
        ]);
        m.row(0, Infinity, [
          [sold, 1],
          [full, -exportLimit],
        ]);
      }
      // Clipped energy is stored before surplus that could be sold.
      if (p.clippedKwh && p.clippedKwh[i]! > 0 && p.curtailment !== true) {
        const all = m.column(0, 0, 1, 1);
        m.row(0, Infinity, [
          [clipped, 1],
          [all, -Math.min(p.clippedKwh[i]!, chargeLimit)],
        ]);
        m.row(-Infinity, 0, [
          [own, 1],
          [grid, 1],
          [all, -c],
        ]);
      }
    }
    before = soc;
  }
  const counts = options.minimum?.counts ?? { import: 1, export: 1, blocks: 1, demand: 1, classes: 1 };
  const counted = Array.from(options.minimum?.amount ?? [], (): [number, number][] => []);
  options.minimum?.group.forEach((g, i) => {
    counted[g]!.push(
      [imports[i]!, counts.import * p.importPricePerKwh[i]!],
      [exports[i]!, -counts.export * p.exportPricePerKwh[i]!],
    );
  });
  for (const charge of options.demand ?? []) {
    const periods = Math.max(-1, ...charge.period) + 1;
    const peaks = Array.from({ length: periods }, () => m.column(charge.pricePerKw, charge.soFarKw, Infinity));
    for (const [g, peak] of peaks.entries()) counted[g]?.push([peak, counts.demand * charge.pricePerKw]);
    const k = charge.averagingSteps;
    for (let block = 0; block * k < n; block++) {
      const members = new Map<number, [number, number][]>();
      for (let i = block * k; i < Math.min(n, (block + 1) * k); i++) {
        const g = charge.period[i]!;
        if (g < 0) continue;
        if (!members.has(g)) members.set(g, []);
        members.get(g)!.push([imports[i]!, 1 / (k * h)]);
      }
      for (const [g, entries] of members) m.row(-Infinity, 0, [...entries, [peaks[g]!, -1]]);
    }
  }
  if (options.blocks !== undefined) {
    const { group, upToKwh, adderPerKwh } = options.blocks;
    for (let g = 0; g <= Math.max(...group); g++) {
      const within = adderPerKwh.map((adder, k) => m.column(adder, 0, upToKwh[k]! - (upToKwh[k - 1] ?? 0)));
      counted[g]?.push(...within.map((one, k): [number, number] => [one, counts.blocks * adderPerKwh[k]!]));
      const ofGroup = imports.filter((_, i) => group[i] === g);
      m.row(0, 0, [
        ...within.map((one): [number, number] => [one, 1]),
        ...ofGroup.map((one): [number, number] => [one, -1]),
      ]);
    }
  }
  if (options.classes !== undefined) {
    const { period, upToKw, fee } = options.classes;
    const within = Array.from({ length: Math.max(...period) + 1 }, () => fee.map((each) => m.column(each, 0, 1, 1)));
    for (const [g, classes] of within.entries()) {
      counted[g]?.push(...classes.map((one, k): [number, number] => [one, counts.classes * fee[k]!]));
      m.row(
        1,
        1,
        classes.map((one): [number, number] => [one, 1]),
      );
    }
    for (const [i, g] of period.entries())
      m.row(-Infinity, 0, [
        [imports[i]!, 1 / h],
        ...within[g]!.map((one, k): [number, number] => [one, -Math.min(upToKw[k]!, 1e3)]),
      ]);
  }
  // The top-up makes up what is lacking.
  for (const [g, entries] of counted.entries())
    m.row(options.minimum!.amount[g]!, Infinity, [...entries, [m.column(options.minimum!.share ?? 1, 0, Infinity), 1]]);
  if (options.netting !== undefined) addNetting(m, imports, exports, options.netting);
  return m;
}

/** A group's net is what it is billed less what it leaves: due − left = import − export − carried into it. */
function addNetting(
  m: Model,
  imports: readonly number[],
  exports: readonly number[],
  { group, pricePerKwh, next, surplusPerKwh, carriedInKwh }: NonNullable<ProgramOptions['netting']>,
): void {
  const members = Array.from(pricePerKwh, (): [number, number][] => []);
  for (const [i, g] of group.entries()) {
    if (g < 0) continue;
    members[g]!.push([imports[i]!, 1], [exports[i]!, -1]);
    // Priced by what is due in place of the interval.
    m.cost[imports[i]!]! -= pricePerKwh[g]!;
    m.cost[exports[i]!]! += pricePerKwh[g]!;
  }
  const due = Array.from(pricePerKwh, (price) => m.column(price, 0, Infinity));
  const left = Array.from(next, (into, g) => m.column(into >= 0 ? 0 : -surplusPerKwh[g]!, 0, Infinity));
  for (const [g, entries] of members.entries()) {
    const into = [...next.keys()]
      .filter((before) => next[before] === g)
      .map((before): [number, number] => [left[before]!, -1]);
    m.row(carriedInKwh[g]!, carriedInKwh[g]!, [...entries, [due[g]!, -1], [left[g]!, 1], ...into]);
  }
}

let loaded: Promise<Highs> | undefined;

export function loadSolver(): Promise<Highs> {
  loaded ??= highsLoader();
  return loaded;
}

/** Least cost. The constant of the final value (it counts from the floor) is added back here. */
export function solveProgram(highs: Highs, p: DispatchProblem, options: ProgramOptions): number {
  const m = buildProgram(p, options);
  const integral = m.integer.some((flag) => flag === 1);
  return highs.withModel(
    {
      numCols: m.cost.length,
      numRows: m.rowLower.length,
      colCost: m.cost,
      colLower: m.lower,
      colUpper: m.upper,
      rowLower: m.rowLower,
      rowUpper: m.rowUpper,
      matrix: {
        format: 'csr',
        numRows: m.rowLower.length,
        numCols: m.cost.length,
        starts: [...m.starts, m.indices.length],
        indices: m.indices,
        values: m.values,
      },
      ...(integral ? { integrality: m.integer as (0 | 1)[] } : {}),
    },
    (model) => {
      model.options.set('output_flag', false);
      if (integral) model.options.set('mip_rel_gap', 1e-9);
      else {
        model.options.set('solver', 'simplex');
        model.options.set('primal_feasibility_tolerance', 1e-10);
        model.options.set('dual_feasibility_tolerance', 1e-10);
      }
      const result = model.run();
      if (result.modelStatus !== 7) throw new Error(`the solver ended with model status ${result.modelStatus}`);
      const floor = typeof p.floorKwh === 'number' ? p.floorKwh : p.floorKwh[p.floorKwh.length - 1]!;
      return Number(model.info.get('objective_function_value')) + (p.finalValuePerKwh ?? 0) * floor;
    },
  );
}
