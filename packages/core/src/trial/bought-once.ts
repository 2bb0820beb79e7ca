import { billedFlows } from '../dispatch/inside.ts';
import type { Flows } from '../plant/index.ts';
import { paidTotal } from './bill.ts';
import type { Case } from './case.ts';

/**
 * What a run bought once: the difference that it makes to the bill where nothing is charged up to the level that the run, once it
 * is there, never falls under again. A battery that is held full is filled so, from its floor; one that is cycled isn't.
 * One more bill, else O(n).
 */
export function firstFilling(of: Case, flows: Flows): number {
  const { plant, axis, service, tariff } = of;
  const { chargeKwh, socKwh } = flows;
  const keptKwh = keptFromThenOn(plant.startKwh, socKwh);
  if (!(keptKwh > plant.startKwh)) return 0;
  const importKwh = flows.importKwh.slice();
  const exportKwh = flows.exportKwh.slice();
  const curtailedKwh = flows.curtailedKwh.slice();
  const exportLimitKwh = service.exportLimitKw * axis.stepHours;
  let mostKwh = plant.startKwh;
  for (let i = 0; mostKwh < keptKwh; i++) {
    const raisedKwh = Math.min(socKwh[i]!, keptKwh) - mostKwh;
    if (raisedKwh <= 0) continue;
    mostKwh += raisedKwh;
    const filledKwh = Math.min(chargeKwh[i]!, raisedKwh / plant.chargeEfficiency);
    const boughtKwh = Math.min(importKwh[i]!, filledKwh);
    const soldKwh = Math.max(0, Math.min(filledKwh - boughtKwh, exportLimitKwh - exportKwh[i]!));
    importKwh[i] = importKwh[i]! - boughtKwh;
    exportKwh[i] = exportKwh[i]! + soldKwh;
    curtailedKwh[i] = curtailedKwh[i]! + filledKwh - boughtKwh - soldKwh;
  }
  const without = billedFlows(of, { ...flows, importKwh, exportKwh, curtailedKwh });
  return paidTotal(tariff, billedFlows(of, flows)) - paidTotal(tariff, without);
}

/** The highest level that a run, once it has been there, never falls under again, kWh. */
function keptFromThenOn(startKwh: number, socKwh: Float64Array): number {
  const mostKwh = new Float64Array(socKwh.length);
  let most = startKwh;
  for (let i = 0; i < socKwh.length; i++) mostKwh[i] = most = Math.max(most, socKwh[i]!);
  let kept = most;
  // Backwards, since what was the most so far only falls then: a level that held in what came later still does.
  for (let i = socKwh.length - 1; i >= 0 && mostKwh[i]! >= kept; i--) kept = Math.min(kept, socKwh[i]!);
  return kept;
}
