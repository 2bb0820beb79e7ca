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
  /** What a kWh more of the caps of this size makes of widths and `farCost`; `rise` is empty where nobody asks. */
  watchedCapKwh: number;
  rise: Float64Array;
  farCostRise: number;
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
    watchedCapKwh: Number.NaN,
    rise: new Float64Array(0),
    farCostRise: 0.5,
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

/** Whether one slope is above another by more than rounding. */
export function isApart(dearer: number, cheaper: number): boolean {
  return dearer - cheaper > SAME * Math.abs(dearer);
}

/** Fills `shape` with the cost of step `i`. See docs/concepts/optimum.md, "One step". */
export function shapeStep(p: StepProblem, i: number, shape: StepShape): void {
  if (p.plain) {
    shapePlainRun(p, i, i, shape);
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
  if (shape.rise.length > 0) {
    const watched = capped && cap === shape.watchedCapKwh;
    const wider = watched && gridOver > 0 && cap > need ? 1 : 0;
    const most = Math.min(
      p.dischargeLimitKwh[i]!,
      p.servedLoadLimitKwh === undefined ? need : p.servedLoadLimitKwh[i]!,
    );
    const served = watched && boughtOver > 0 && overload + boughtOver < most ? 1 : 0;
    const less = watched && boughtOver > 0 ? 1 : 0;
    riseWithCap(shape, wider * chargeEfficiency, served * storedPerAc, -overCap * (less + wider));
  }
  if (curtailment && net < 0 && importPrice < 0 && exportPrice > 0 && gridCharging) {
    // Throwing surplus away to be paid for import, or selling it: neither order of charging is right throughout.
    shape.leastChargeSlope = importPrice * acPerCharged;
    convex = false;
  } else shape.leastChargeSlope = Number.NaN;
  shape.convex = convex;
}

/**
 * Fills `shape` with the cost of step `last`, or of a run of steps that ends with it and behaves as one step: equal
 * prices, all of them surplus, all load under the cap or all load above it, one band throughout. Its cost is then the
 * sum of widths over the same slopes, and whatever it stores or gives on the whole can be spread over it without
 * leaving the band, since nothing is gained by moving energy both ways.
 *
 * @param first how far back the run may reach; `last` for the step alone
 * @returns the run's first step
 */
export function shapeRun(p: StepProblem, last: number, first: number, shape: StepShape): number {
  if (!p.plain) {
    shapeStep(p, last, shape);
    return last;
  }
  return shapePlainRun(p, last, first, shape);
}

/** Where nothing but the battery limits the flows: a fast way for what most homes are. */
function shapePlainRun(p: StepProblem, last: number, first: number, shape: StepShape): number {
  const { netLoadKwh, importPricePerKwh, exportPricePerKwh, chargeLimitKwh, dischargeLimitKwh, lowKwh, highKwh } = p;
  const { chargeEfficiency, acPerCharged, dischargeEfficiency, storedPerAc, wearPerKwh, importCapKwh } = p;
  const importPrice = importPricePerKwh[last]!;
  const exportPrice = exportPricePerKwh[last]!;
  const capped = importCapKwh !== undefined;
  const overCap = capped ? p.overCapPerKwh![last]! : 0;
  const surplus = netLoadKwh[last]! < 0;
  const over = capped && netLoadKwh[last]! > importCapKwh[last]!;
  const low = lowKwh[last]!;
  const high = highKwh[last]!;
  const buy = importPrice * acPerCharged;
  const middle = surplus ? exportPrice * acPerCharged : (importPrice - wearPerKwh) * dischargeEfficiency;
  const sell = (exportPrice - wearPerKwh) * dischargeEfficiency;
  // Where two ways cost the same, holding more, earlier, is a tie to be kept: step by step.
  const clear = (!p.gridCharging || isApart(buy, middle)) && (!p.batteryExport || isApart(middle, sell));
  const earliest = clear ? first : last;
  let gridKwh = 0;
  let gridOverKwh = 0;
  let storedKwh = 0;
  let servedOverKwh = 0;
  let servedKwh = 0;
  let soldKwh = 0;
  let netKwh = 0;
  let boughtOverKwh = 0;
  const { watchedCapKwh } = shape;
  let widerGrid = 0;
  let widerServe = 0;
  let lessOver = 0;
  let i = last;
  for (;;) {
    const net = netLoadKwh[i]!;
    let left = chargeLimitKwh[i]!;
    let out = dischargeLimitKwh[i]!;
    netKwh += net;
    if (surplus) {
      const stored = left < -net ? left : -net;
      storedKwh += stored;
      left -= stored;
    } else {
      let load = net;
      if (over) {
        const above = net - importCapKwh[i]!;
        boughtOverKwh += above;
        const served = above < out ? above : out;
        if (importCapKwh[i] === watchedCapKwh) {
          lessOver++;
          if (above < out) widerServe++;
        }
        servedOverKwh += served;
        out -= served;
        load = importCapKwh[i]!;
      }
      const served = load < out ? load : out;
      servedKwh += served;
      out -= served;
    }
    soldKwh += out;
    if (capped) {
      const room = surplus ? importCapKwh[i]! : over ? 0 : importCapKwh[i]! - net;
      if (left > room) {
        if (!over && importCapKwh[i] === watchedCapKwh) widerGrid++;
        gridOverKwh += left - room;
        left = room;
      }
    }
    gridKwh += left;
    if (i <= earliest) break;
    const j = i - 1;
    const before = netLoadKwh[j]!;
    if (
      importPricePerKwh[j] !== importPrice ||
      exportPricePerKwh[j] !== exportPrice ||
      before < 0 !== surplus ||
      lowKwh[j] !== low ||
      highKwh[j] !== high ||
      lowKwh[j - 1]! < low ||
      highKwh[j - 1]! > high
    )
      break;
    if (capped && (p.overCapPerKwh![j] !== overCap || before > importCapKwh[j]! !== over)) break;
    i = j;
  }

  const { kind, slope, width, base } = shape;
  let k = base;
  let convex = true;
  let at = Number.POSITIVE_INFINITY;
  let farCost = (surplus ? exportPrice : importPrice) * netKwh + overCap * boughtOverKwh;
  let chargeWidth = 0;
  if (p.gridCharging) {
    if (gridOverKwh > 0) {
      at = (importPrice + overCap) * acPerCharged;
      const wide = gridOverKwh * chargeEfficiency;
      kind[k] = GRID_OVER_CAP;
      slope[k] = at;
      width[k++] = wide;
      chargeWidth = wide;
      farCost += at * wide;
    }
    if (gridKwh > 0) {
      at = buy;
      const wide = gridKwh * chargeEfficiency;
      kind[k] = GRID;
      slope[k] = at;
      width[k++] = wide;
      chargeWidth += wide;
      farCost += at * wide;
    }
  }
  if (storedKwh > 0) {
    let value = middle;
    if (value > at) {
      if (value - at <= SAME * Math.abs(value)) value = at;
      else convex = false;
    }
    at = value;
    const wide = storedKwh * chargeEfficiency;
    kind[k] = SURPLUS;
    slope[k] = at;
    width[k++] = wide;
    chargeWidth += wide;
    farCost += at * wide;
  }
  shape.charges = k - base;
  let dischargeWidth = 0;
  if (servedOverKwh > 0) {
    let value = (importPrice + overCap - wearPerKwh) * dischargeEfficiency;
    if (value > at) {
      if (value - at <= SAME * Math.abs(value)) value = at;
      else convex = false;
    }
    at = value;
    const wide = servedOverKwh * storedPerAc;
    kind[k] = SERVE_OVER_CAP;
    slope[k] = value;
    width[k++] = wide;
    dischargeWidth = wide;
  }
  if (servedKwh > 0) {
    let value = middle;
    if (value > at) {
      if (value - at <= SAME * Math.abs(value)) value = at;
      else convex = false;
    }
    at = value;
    const wide = servedKwh * storedPerAc;
    kind[k] = SERVE;
    slope[k] = value;
    width[k++] = wide;
    dischargeWidth += wide;
  }
  if (soldKwh > 0 && p.batteryExport) {
    let value = sell;
    if (value > at) {
      if (value - at <= SAME * Math.abs(value)) value = at;
      else convex = false;
    }
    const wide = soldKwh * storedPerAc;
    kind[k] = EXPORT;
    slope[k] = value;
    width[k++] = wide;
    dischargeWidth += wide;
  }
  shape.count = k - base;
  shape.chargeWidth = chargeWidth;
  shape.dischargeWidth = dischargeWidth;
  shape.farCost = farCost;
  shape.leastChargeSlope = Number.NaN;
  shape.convex = convex;
  if (capped && shape.rise.length > 0) {
    if (!p.gridCharging) widerGrid = 0;
    riseWithCap(shape, widerGrid * chargeEfficiency, widerServe * storedPerAc, -overCap * (lessOver + widerGrid));
  }
  return i;
}

/** Notes what a kWh more of cap does: so much moves from above the cap to under it. */
function riseWithCap(shape: StepShape, grid: number, serve: number, farCost: number): void {
  const { kind, rise, base, count } = shape;
  for (let k = base; k < base + count; k++) {
    const of = kind[k]!;
    rise[k] =
      of === GRID ? grid : of === GRID_OVER_CAP ? -grid : of === SERVE ? serve : of === SERVE_OVER_CAP ? -serve : 0;
  }
  shape.farCostRise = farCost;
}

/** Stored kWh of each kind of segment that one step adds to a run. */
export function runStepWidths(p: StepProblem, i: number, widths: Float64Array): void {
  const { chargeEfficiency, storedPerAc } = p;
  const net = p.netLoadKwh[i]!;
  let left = p.chargeLimitKwh[i]!;
  let out = p.dischargeLimitKwh[i]!;
  let stored = 0;
  let served = 0;
  let servedOver = 0;
  let gridOver = 0;
  if (net < 0) {
    stored = left < -net ? left : -net;
    left -= stored;
  } else served = net < out ? net : out;
  if (p.importCapKwh !== undefined) {
    const cap = p.importCapKwh[i]!;
    const room = net < 0 ? cap : net > cap ? 0 : cap - net;
    if (left > room) {
      gridOver = left - room;
      left = room;
    }
    if (net > cap) {
      servedOver = net - cap < out ? net - cap : out;
      served -= servedOver;
    }
  }
  out -= served + servedOver;
  widths[GRID_OVER_CAP] = p.gridCharging ? gridOver * chargeEfficiency : 0;
  widths[GRID] = p.gridCharging ? left * chargeEfficiency : 0;
  widths[SURPLUS] = stored * chargeEfficiency;
  widths[SERVE_OVER_CAP] = servedOver * storedPerAc;
  widths[SERVE] = served * storedPerAc;
  widths[EXPORT] = p.batteryExport ? out * storedPerAc : 0;
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
