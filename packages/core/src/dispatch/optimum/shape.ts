import { type StepProblem, unservedPrice } from './problem.ts';

// What a segment of one step's cost stands for.
/** Buying above the cap. */
export const GRID_OVER_CAP = 0;
export const GRID = 1;
/** Storing surplus that could have been sold. */
export const SURPLUS = 2;
/** Storing what would be thrown away: clipped, or refused by the export limit. */
export const FREE = 3;
/** Carrying load that the import limit refuses. */
export const OVERLOAD = 4;
/** Carrying load that would be bought above the cap. */
export const SERVE_OVER_CAP = 5;
export const SERVE = 6;
export const EXPORT = 7;

/** No step has more segments. */
export const MOST_SEGMENTS = 10;

/**
 * One step's cost as a function of the energy that goes into the store, as slopes and widths. Segments stand from
 * `base` on, from the one that charging reaches last, through none at all, to the one that discharging reaches last.
 */
export interface StepShape {
  base: number;
  count: number;
  /** The first so many segments charge, the others discharge. */
  charges: number;
  kind: Uint8Array;
  /** Money a stored kWh. Falls from segment to segment where the cost is convex. */
  slope: Float64Array;
  /** Stored kWh. */
  width: Float64Array;
  /** Sum of widths on either side: the most that can go in, and out. */
  chargeWidth: number;
  dischargeWidth: number;
  /** Cost with all charging used. */
  farCost: number;
  /** No stored kWh costs less; NaN where the segments say it all. */
  leastChargeSlope: number;
  convex: boolean;
}

/** Room for the segments of one step, or of many. */
export function makeShape(room = MOST_SEGMENTS): StepShape {
  return {
    base: 0,
    count: 0,
    charges: 0,
    kind: new Uint8Array(room),
    slope: new Float64Array(room),
    width: new Float64Array(room),
    chargeWidth: 0.5,
    dischargeWidth: 0.5,
    farCost: 0.5,
    leastChargeSlope: Number.NaN,
    convex: true,
  };
}

/** AC kWh of a stored kWh, by kind of segment. */
export function acPerStored(p: StepProblem): Float64Array {
  const ac = new Float64Array(EXPORT + 1).fill(p.dischargeEfficiency);
  ac[GRID_OVER_CAP] = ac[GRID] = p.acPerCharged;
  ac[SURPLUS] = ac[FREE] = p.acPerSolarCharged;
  return ac;
}

/** Slopes that differ by less than this share of the price are one: `price / η · η` is not always `price`. */
const SAME = 1e-12;

/** Fills `shape` with the cost of step `i`. See docs/concepts/optimum.md, "One step". */
export function shapeStep(p: StepProblem, i: number, shape: StepShape): void {
  if (p.plain) {
    shapePlainStep(p, i, shape);
    return;
  }
  const { kind, slope, width, base } = shape;
  const { importLimitKwh, exportLimitKwh, curtailment, gridCharging, wearPerKwh } = p;
  const net = p.netLoadKwh[i]!;
  const importPrice = p.importPricePerKwh[i]!;
  const exportPrice = p.exportPricePerKwh[i]!;
  const need = Math.max(net, 0);
  const surplus = need - net;
  const overload = Math.max(need - importLimitKwh, 0);
  const refused = Math.max(surplus - exportLimitKwh, 0);
  const surplusWorth = curtailment && exportPrice < 0 ? 0 : exportPrice;
  const capped = p.importCapKwh !== undefined;
  const cap = capped ? p.importCapKwh[i]! : Number.POSITIVE_INFINITY;
  const overCap = capped ? p.overCapPerKwh![i]! : 0;
  const bought = need - overload;
  const boughtOver = Math.max(bought - cap, 0);
  let farCost = importPrice * bought - surplusWorth * (surplus - refused);
  if (overload > 0) farCost += unservedPrice(p, i) * overload;
  if (boughtOver > 0) farCost += overCap * boughtOver;

  // Charging, nearest first: what is thrown away, own surplus, the grid below the cap, the grid above it.
  const { chargeEfficiency, acPerCharged, solarChargeEfficiency, acPerSolarCharged } = p;
  let left = p.chargeLimitKwh[i]!;
  let free = 0;
  let stored = 0;
  let discarded = 0;
  if (net < 0 || p.clippedKwh !== undefined) {
    const clipped = p.clippedKwh === undefined ? 0 : p.clippedKwh[i]!;
    if (curtailment && importIsPaid(p, i)) discarded = surplus + clipped;
    else {
      free = Math.min(left, clipped + refused);
      left -= free;
      stored = Math.min(left, surplus - refused);
      left -= stored;
    }
  }
  let grid = 0;
  let gridOver = 0;
  if (gridCharging && overload === 0) {
    grid = Math.min(left, importLimitKwh - need);
    const below = Math.max(cap - need, 0);
    if (grid > below) {
      gridOver = grid - below;
      grid = below;
    }
    left -= grid + gridOver;
  }
  let k = base;
  let chargeWidth = 0;
  let convex = true;
  let last = Number.POSITIVE_INFINITY;
  if (discarded > 0 && left > 0) {
    const wide = Math.min(left, discarded) * solarChargeEfficiency;
    kind[k] = FREE;
    slope[k] = 0;
    width[k] = wide;
    k++;
    chargeWidth += wide;
    last = 0;
  }
  if (gridOver > 0) {
    const value = (importPrice + overCap) * acPerCharged;
    const wide = gridOver * chargeEfficiency;
    if (value > last) convex = false;
    kind[k] = GRID_OVER_CAP;
    slope[k] = value;
    width[k] = wide;
    k++;
    chargeWidth += wide;
    farCost += value * wide;
    last = value;
  }
  if (grid > 0) {
    const value = importPrice * acPerCharged;
    const wide = grid * chargeEfficiency;
    if (value > last) convex = false;
    kind[k] = GRID;
    slope[k] = value;
    width[k] = wide;
    k++;
    chargeWidth += wide;
    farCost += value * wide;
    last = value;
  }
  if (stored > 0) {
    let value = surplusWorth * acPerSolarCharged;
    const wide = stored * solarChargeEfficiency;
    if (value > last) {
      if (value - last <= SAME * Math.abs(value)) value = last;
      else convex = false;
    }
    kind[k] = SURPLUS;
    slope[k] = value;
    width[k] = wide;
    k++;
    chargeWidth += wide;
    farCost += value * wide;
    last = value;
  }
  if (free > 0) {
    const wide = free * solarChargeEfficiency;
    if (last < 0) convex = false;
    kind[k] = FREE;
    slope[k] = 0;
    width[k] = wide;
    k++;
    chargeWidth += wide;
    last = 0;
  }
  shape.charges = k - base;

  // Discharging, nearest first: load that nothing else carries, load bought above the cap, load below it, export.
  const { dischargeEfficiency, storedPerAc } = p;
  left = p.dischargeLimitKwh[i]!;
  let mayExport = p.batteryExport;
  if (p.servedLoadLimitKwh !== undefined && p.servedLoadLimitKwh[i]! < need) {
    left = Math.min(left, p.servedLoadLimitKwh[i]!);
    mayExport = false;
  }
  let dischargeWidth = 0;
  if (overload > 0 && left > 0) {
    const carried = Math.min(overload, left);
    const value = (unservedPrice(p, i) - wearPerKwh) * dischargeEfficiency;
    if (value > last) convex = false;
    left -= carried;
    kind[k] = OVERLOAD;
    slope[k] = value;
    width[k] = carried * storedPerAc;
    k++;
    dischargeWidth += carried * storedPerAc;
    last = value;
  }
  if (boughtOver > 0 && left > 0) {
    const served = Math.min(boughtOver, left);
    let value = (importPrice + overCap - wearPerKwh) * dischargeEfficiency;
    if (value > last) {
      if (value - last <= SAME * Math.abs(value)) value = last;
      else convex = false;
    }
    left -= served;
    kind[k] = SERVE_OVER_CAP;
    slope[k] = value;
    width[k] = served * storedPerAc;
    k++;
    dischargeWidth += served * storedPerAc;
    last = value;
  }
  if (bought > boughtOver && left > 0) {
    const served = Math.min(bought - boughtOver, left);
    let value = (importPrice - wearPerKwh) * dischargeEfficiency;
    if (value > last) {
      if (value - last <= SAME * Math.abs(value)) value = last;
      else convex = false;
    }
    left -= served;
    kind[k] = SERVE;
    slope[k] = value;
    width[k] = served * storedPerAc;
    k++;
    dischargeWidth += served * storedPerAc;
    last = value;
  }
  if (mayExport && left > 0) {
    const kept = surplusWorth > exportPrice ? 0 : surplus - refused;
    const sold = Math.min(left, exportLimitKwh - kept);
    if (sold > 0) {
      let value = (exportPrice - wearPerKwh) * dischargeEfficiency;
      if (value > last) {
        if (value - last <= SAME * Math.abs(value)) value = last;
        else convex = false;
      }
      left -= sold;
      kind[k] = EXPORT;
      slope[k] = value;
      width[k] = sold * storedPerAc;
      k++;
      dischargeWidth += sold * storedPerAc;
      last = value;
    }
    if (left > 0 && kept > 0 && curtailment) {
      // In the place of surplus, which goes to waste: worth doing only where stored energy is a burden.
      const value = -wearPerKwh * dischargeEfficiency;
      const instead = Math.min(left, kept);
      if (value > last) convex = false;
      kind[k] = EXPORT;
      slope[k] = value;
      width[k] = instead * storedPerAc;
      k++;
      dischargeWidth += instead * storedPerAc;
    }
  }
  shape.count = k - base;
  shape.chargeWidth = chargeWidth;
  shape.dischargeWidth = dischargeWidth;
  shape.farCost = farCost;
  if (curtailment && net < 0 && importPrice < 0 && exportPrice > 0 && gridCharging) {
    // Throwing surplus away to be paid for import, or selling it: neither order of charging is right throughout.
    shape.leastChargeSlope = importPrice * acPerCharged;
    convex = false;
  } else shape.leastChargeSlope = Number.NaN;
  shape.convex = convex;
}

/** The same where nothing but the battery limits the flows, in a third of the time. */
function shapePlainStep(p: StepProblem, i: number, shape: StepShape): void {
  const { kind, slope, width, base } = shape;
  const { chargeEfficiency, acPerCharged, dischargeEfficiency, storedPerAc, wearPerKwh } = p;
  const net = p.netLoadKwh[i]!;
  const importPrice = p.importPricePerKwh[i]!;
  const exportPrice = p.exportPricePerKwh[i]!;
  const chargeLimit = p.chargeLimitKwh[i]!;
  let out = p.dischargeLimitKwh[i]!;
  let k = base;
  let last = importPrice * acPerCharged;
  kind[k] = GRID;
  slope[k] = last;
  let convex = true;
  if (net >= 0) {
    const wide = chargeLimit * chargeEfficiency;
    width[k++] = wide;
    shape.charges = 1;
    shape.farCost = importPrice * net + last * wide;
    let value = (importPrice - wearPerKwh) * dischargeEfficiency;
    if (value > last) {
      if (value - last <= SAME * Math.abs(value)) value = last;
      else convex = false;
    }
    last = value;
    const served = Math.min(net, out);
    out -= served;
    kind[k] = SERVE;
    slope[k] = value;
    width[k++] = served * storedPerAc;
  } else {
    const stored = Math.min(chargeLimit, -net);
    const wide = (chargeLimit - stored) * chargeEfficiency;
    width[k++] = wide;
    const value = exportPrice * acPerCharged;
    if (value > last) convex = false;
    kind[k] = SURPLUS;
    slope[k] = value;
    width[k++] = stored * chargeEfficiency;
    shape.charges = 2;
    shape.farCost = exportPrice * net + last * wide + value * stored * chargeEfficiency;
    last = value;
  }
  let value = (exportPrice - wearPerKwh) * dischargeEfficiency;
  if (value > last) {
    if (value - last <= SAME * Math.abs(value)) value = last;
    else if (out > 0) convex = false;
  }
  kind[k] = EXPORT;
  slope[k] = value;
  width[k++] = out * storedPerAc;
  shape.count = k - base;
  shape.chargeWidth = chargeLimit * chargeEfficiency;
  shape.dischargeWidth = p.dischargeLimitKwh[i]! * storedPerAc;
  shape.convex = convex;
}

/** Import earns money, export doesn't, and surplus may go: then all of it goes, and the grid charges. */
export function importIsPaid(p: StepProblem, i: number): boolean {
  return (
    p.curtailment &&
    p.gridCharging &&
    p.netLoadKwh[i]! < 0 &&
    p.importPricePerKwh[i]! < 0 &&
    p.exportPricePerKwh[i]! <= 0
  );
}

/**
 * A convex function under a step's cost, as one run of segments: the order within charging and within
 * discharging is freed, then neighbours out of order are averaged. Tells no charging from discharging.
 */
export function convexHull(shape: StepShape, out: StepShape): void {
  const slope = out.slope;
  const width = out.width;
  const { base, count, charges } = shape;
  slope.set(shape.slope.subarray(base, base + count));
  width.set(shape.width.subarray(base, base + count));
  const least = shape.leastChargeSlope;
  let farCost = shape.farCost;
  if (!Number.isNaN(least))
    for (let j = 0; j < charges; j++) {
      farCost -= (slope[j]! - least) * width[j]!;
      slope[j] = least;
    }
  sortFalling(slope, width, 0, charges);
  sortFalling(slope, width, charges, count);
  out.count = poolRising(slope, width, count);
  out.charges = 0;
  out.chargeWidth = shape.chargeWidth;
  out.dischargeWidth = shape.dischargeWidth;
  out.farCost = farCost;
  out.convex = true;
}

/** Averages neighbours that rise, in place; returns how many segments are left. */
export function poolRising(value: Float64Array, width: Float64Array, count: number): number {
  let kept = 0;
  for (let j = 0; j < count; j++) {
    let v = value[j]!;
    let w = width[j]!;
    while (kept > 0 && value[kept - 1]! < v) {
      kept--;
      const total = w + width[kept]!;
      v = (v * w + value[kept]! * width[kept]!) / total;
      w = total;
    }
    value[kept] = v;
    width[kept] = w;
    kept++;
  }
  return kept;
}

function sortFalling(slope: Float64Array, width: Float64Array, from: number, to: number): void {
  for (let j = from + 1; j < to; j++) {
    const value = slope[j]!;
    const wide = width[j]!;
    let at = j;
    for (; at > from && slope[at - 1]! < value; at--) {
      slope[at] = slope[at - 1]!;
      width[at] = width[at - 1]!;
    }
    slope[at] = value;
    width[at] = wide;
  }
}
