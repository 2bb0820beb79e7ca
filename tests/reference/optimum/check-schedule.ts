import type { DispatchProblem, DispatchSolution } from '@duskbank/core/dispatch';

const TOLERANCE = 1e-9; // kWh: sums of a few flows of at most some tens of kWh

/**
 * Recomputes a schedule from its flows alone: balances at meter and store, every limit, and the cost.
 * Returns what is broken, or an empty list; and the cost.
 */
export function checkSchedule(p: DispatchProblem, s: DispatchSolution): { faults: string[]; cost: number } {
  const n = p.netLoadKwh.length;
  const h = p.stepHours;
  const at = (value: number | Float64Array, i: number) => (typeof value === 'number' ? value : value[i]!);
  const faults: string[] = [];
  const fault = (i: number, text: string) => {
    if (faults.length < 5) faults.push(`step ${i}: ${text}`);
  };
  let cost = 0;
  let soc = p.initialKwh;
  for (let i = 0; i < n; i++) {
    const c = s.chargeKwh[i]!;
    const d = s.dischargeKwh[i]!;
    const k = s.curtailedKwh[i]!;
    const u = s.unservedKwh[i]!;
    const need = Math.max(0, p.netLoadKwh[i]!);
    const surplus = Math.max(0, -p.netLoadKwh[i]!);
    const clipped = p.clippedKwh?.[i] ?? 0;
    if (c < 0 || d < 0 || k < 0 || u < 0) fault(i, 'a negative flow');
    if (c > 0 && d > 0) fault(i, 'charges and discharges at once');
    if (c > at(p.chargeLimitKw, i) * h + TOLERANCE) fault(i, `charges ${c}`);
    if (d > at(p.dischargeLimitKw, i) * h + TOLERANCE) fault(i, `discharges ${d}`);
    const own = Math.min(c, clipped + surplus);
    const grid = c - own;
    if (p.gridCharging === false && grid > TOLERANCE) fault(i, 'charges from the grid');
    if (p.batteryExport === false && d > need + TOLERANCE) fault(i, 'sells from the battery');
    const reach = p.servedLoadLimitKwh?.[i] ?? Number.POSITIVE_INFINITY;
    if (reach < need && d > reach + TOLERANCE) fault(i, 'serves load out of reach');
    // import − export = net − clipped + curtailed + charge − discharge − unserved
    const flow = p.netLoadKwh[i]! - clipped + k + c - d - u;
    if (flow > (p.importLimitKw ?? Infinity) * h + TOLERANCE) fault(i, `imports ${flow}`);
    if (-flow > (p.exportLimitKw ?? Infinity) * h + TOLERANCE) fault(i, `exports ${-flow}`);
    if (u > need + TOLERANCE) fault(i, 'leaves more unserved than the load');
    if (k > surplus + clipped + TOLERANCE) fault(i, 'throws away more than the surplus');
    const floor = at(p.floorKwh, i);
    const held = soc - (p.selfDischargePerStep ?? 0) * Math.max(0, soc - floor);
    const solarEfficiency = p.solarChargeEfficiency ?? p.chargeEfficiency;
    // With curtailment and a paid import, surplus may be thrown away while the grid charges.
    const stored = c === 0 ? 0 : s.socKwh[i]! - held;
    const asOwn = own * solarEfficiency + grid * p.chargeEfficiency;
    const asGrid = c * p.chargeEfficiency;
    if (c > 0 && Math.abs(stored - asOwn) > TOLERANCE && !(p.curtailment && Math.abs(stored - asGrid) <= TOLERANCE))
      fault(i, `stores ${stored} of ${c}`);
    if (c === 0 && Math.abs(held - d / p.dischargeEfficiency - s.socKwh[i]!) > TOLERANCE)
      fault(i, `holds ${s.socKwh[i]!} after ${held} less ${d}`);
    soc = s.socKwh[i]!;
    if (soc > at(p.capacityKwh, i) + TOLERANCE) fault(i, `holds ${soc}, above capacity`);
    cost += flow * (flow > 0 ? p.importPricePerKwh[i]! : p.exportPricePerKwh[i]!) + (p.wearPerKwh ?? 0) * d;
  }
  const lastFloor = at(p.floorKwh, n - 1);
  cost -= (p.finalValuePerKwh ?? 0) * Math.max(0, soc - lastFloor);
  return { faults, cost };
}

/** Energy below the floor, added up, kWh. */
export function shortOfFloor(p: DispatchProblem, s: DispatchSolution): number {
  let short = 0;
  for (let i = 0; i < p.netLoadKwh.length; i++) {
    const floor = typeof p.floorKwh === 'number' ? p.floorKwh : p.floorKwh[i]!;
    short += Math.max(0, floor - s.socKwh[i]!);
  }
  return short;
}
