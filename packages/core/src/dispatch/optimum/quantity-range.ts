import type { StepProblem } from './problem.ts';

/** What a group of intervals can import or export, kWh: no schedule has less or more. */
export interface QuantityRange {
  readonly leastKwh: Float64Array;
  readonly mostKwh: Float64Array;
}

/** No step has more corners. */
const CORNERS = 11;
/** Multipliers tried a group and side, by golden section. */
const TRIED = 12;
const GOLDEN = (Math.sqrt(5) - 1) / 2;
/** Share by which a range is widened for rounding. */
const ROUNDING = 1e-9;

/**
 * The range of each group's import or export. From a group's first interval to its last the store can take no more than
 * lies between its band's ends, and what is lost, beyond what is taken out of it, and the other way round. With any
 * multiplier μ ≥ 0 on that balance, `most ≤ μ · room + Σ max(flow ∓ μ · stored)` over what each step can do for itself
 * (weak duality), and so with the least; the sharpest of a few multipliers is taken.
 */
export function quantityRange(
  steps: StepProblem,
  flow: 'import' | 'export',
  group: Int32Array,
  groups: number,
): QuantityRange {
  const { lowKwh, highKwh, floorKwh, decay, initialKwh } = steps;
  const leastKwh = new Float64Array(groups);
  const mostKwh = new Float64Array(groups);
  const { first, end } = spansOf(group, groups);
  const corners = makeCorners();
  const mostMu = 1 / Math.min(steps.chargeEfficiency, steps.solarChargeEfficiency);
  for (let g = 0; g < groups; g++) {
    const from = first[g]!;
    if (from < 0) continue;
    const to = end[g]!;
    const flows = new Float64Array((to - from) * CORNERS);
    const stored = new Float64Array((to - from) * CORNERS);
    let lost = 0;
    for (let i = from; i < to; i++) {
      lost += decay * Math.max(0, (i === 0 ? initialKwh : highKwh[i - 1]!) - floorKwh[i]!);
      cornersOf(steps, i, corners);
      const at = (i - from) * CORNERS;
      stored.set(corners.stored, at);
      if (group[i] === g) flows.set(flow === 'import' ? corners.importKwh : corners.exportKwh, at);
    }
    const startLow = from === 0 ? initialKwh : lowKwh[from - 1]!;
    const startHigh = from === 0 ? initialKwh : highKwh[from - 1]!;
    const intake = highKwh[to - 1]! - startLow + lost;
    const output = startHigh - lowKwh[to - 1]!;
    // Import is most where the store fills, export where it empties.
    const fills = flow === 'import' ? 1 : -1;
    const most = lowest(mostMu, (mu) => mu * (fills > 0 ? intake : output) + highestSum(flows, stored, -mu * fills, 1));
    const least = -lowest(
      mostMu,
      (mu) => mu * (fills > 0 ? output : intake) + highestSum(flows, stored, mu * fills, -1),
    );
    mostKwh[g] = most + ROUNDING * Math.max(1, most);
    leastKwh[g] = Math.max(0, least - ROUNDING * Math.max(1, most));
  }
  return { leastKwh, mostKwh };
}

/** First interval of each group, and the one after its last; −1 and 0 of a group without any. */
export function spansOf(group: Int32Array, groups: number): { readonly first: Int32Array; readonly end: Int32Array } {
  const first = new Int32Array(groups).fill(-1);
  const end = new Int32Array(groups);
  for (let i = 0; i < group.length; i++) {
    const g = group[i]!;
    if (g < 0) continue;
    if (first[g]! < 0) first[g] = i;
    end[g] = i + 1;
  }
  return { first, end };
}

/** Σ over the steps of the highest `side · flow + weight · stored` among their corners. */
function highestSum(flows: Float64Array, stored: Float64Array, weight: number, side: number): number {
  let sum = 0;
  for (let at = 0; at < flows.length; at += CORNERS) {
    let highest = side * flows[at]! + weight * stored[at]!;
    for (let k = at + 1; k < at + CORNERS; k++) {
      const value = side * flows[k]! + weight * stored[k]!;
      if (value > highest) highest = value;
    }
    sum += highest;
  }
  return sum;
}

/** Lowest value seen of a convex function on [0, end], by golden section, both ends tried. */
function lowest(end: number, of: (x: number) => number): number {
  let low = 0;
  let high = end;
  let a = high - GOLDEN * (high - low);
  let b = low + GOLDEN * (high - low);
  let atA = of(a);
  let atB = of(b);
  let best = Math.min(of(0), of(end), atA, atB);
  for (let k = 0; k < TRIED; k++) {
    if (atA <= atB) {
      high = b;
      b = a;
      atB = atA;
      a = high - GOLDEN * (high - low);
      atA = of(a);
    } else {
      low = a;
      a = b;
      atA = atB;
      b = low + GOLDEN * (high - low);
      atB = of(b);
    }
    best = Math.min(best, atA, atB);
  }
  return best;
}

interface Corners {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  /** Into the store; out of it where negative. */
  readonly stored: Float64Array;
}

function makeCorners(): Corners {
  return {
    importKwh: new Float64Array(CORNERS),
    exportKwh: new Float64Array(CORNERS),
    stored: new Float64Array(CORNERS),
  };
}

/** The corners of what step `i` can do: all of it lies in their hull. Those that are left over repeat the first. */
function cornersOf(p: StepProblem, i: number, { importKwh, exportKwh, stored }: Corners): void {
  const { importLimitKwh, exportLimitKwh, chargeEfficiency, solarChargeEfficiency, storedPerAc, curtailment } = p;
  const net = p.netLoadKwh[i]!;
  const need = Math.max(net, 0);
  const surplus = need - net;
  const clipped = p.clippedKwh === undefined ? 0 : p.clippedKwh[i]!;
  const bought = Math.min(need, importLimitKwh);
  const sold = Math.min(surplus, exportLimitKwh);
  const overload = need - bought;
  const charge = p.chargeLimitKwh[i]!;
  const free = Math.min(charge, clipped + surplus - sold);
  const own = Math.min(charge, clipped + surplus);
  const room = p.gridCharging && overload === 0 ? Math.max(0, importLimitKwh - need) : 0;
  const grid = Math.min(charge - own, room);
  let most = p.dischargeLimitKwh[i]!;
  let mayExport = p.batteryExport;
  if (p.servedLoadLimitKwh !== undefined && p.servedLoadLimitKwh[i]! < need) {
    most = Math.min(most, p.servedLoadLimitKwh[i]!);
    mayExport = false;
  }
  const carried = Math.min(most, overload);
  const served = Math.min(most, need);
  const out = mayExport ? Math.min(most, need + exportLimitKwh - sold) : served;
  let k = 0;
  const corner = (imported: number, exported: number, into: number) => {
    importKwh[k] = imported;
    exportKwh[k] = exported;
    stored[k] = into;
    k++;
  };
  corner(bought, sold, 0);
  corner(bought, sold, solarChargeEfficiency * free);
  corner(bought, sold - (own - free), solarChargeEfficiency * own);
  corner(bought + grid, sold - (own - free), solarChargeEfficiency * own + chargeEfficiency * grid);
  corner(bought, sold, -carried * storedPerAc);
  corner(bought - (served - carried), sold, -served * storedPerAc);
  corner(bought - (served - carried), sold + out - served, -out * storedPerAc);
  if (curtailment) {
    // Surplus may go to waste: for import in its place, or for discharge in its place.
    const instead = Math.min(charge, room);
    corner(bought, 0, 0);
    corner(bought + instead, 0, chargeEfficiency * instead);
    const whole = mayExport ? Math.min(most, need + exportLimitKwh) : served;
    corner(bought - (served - carried), whole - served, -whole * storedPerAc);
    corner(bought - (served - carried), Math.min(exportLimitKwh, sold + whole - served), -whole * storedPerAc);
  }
  while (k < CORNERS) corner(bought, sold, 0);
}
