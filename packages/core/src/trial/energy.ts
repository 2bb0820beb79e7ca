import type { Axis } from '../axis/index.ts';
import { sum } from '../axis/sum.ts';
import type { Flows, Plant } from '../plant/index.ts';
import type { Case } from './case.ts';

/** Energy of one run over its axis, kWh at AC unless said otherwise. */
export interface EnergySums {
  readonly importKwh: number;
  readonly exportKwh: number;
  /** The highest mean of one interval, kW. */
  readonly peakImportKw: number;
  readonly chargedKwh: number;
  readonly dischargedKwh: number;
  /** What went in, less what came out and what is stored more than at the start. */
  readonly lossKwh: number;
  /** What the equipment itself drew: all the time, and more while it charged or discharged. */
  readonly standbyKwh: number;
  readonly curtailedKwh: number;
  readonly unservedKwh: number;
  /** Energy taken from the store over the usable energy. */
  readonly equivalentFullCycles: number;
  /** Stored at the start and at the end. */
  readonly startKwh: number;
  readonly endKwh: number;
}

/** Sums of a run's flows. `absent`: the run had no battery. O(n). */
export function energySums({ axis, plant }: Case, flows: Flows, absent: boolean): EnergySums {
  const chargedKwh = sum(flows.chargeKwh);
  const dischargedKwh = sum(flows.dischargeKwh);
  const startKwh = absent ? 0 : plant.startKwh;
  const endKwh = absent ? 0 : flows.socKwh[axis.intervals - 1]!;
  return {
    importKwh: sum(flows.importKwh),
    exportKwh: sum(flows.exportKwh),
    peakImportKw: highest(flows.importKwh) / axis.stepHours,
    chargedKwh,
    dischargedKwh,
    lossKwh: chargedKwh - dischargedKwh - (endKwh - startKwh),
    standbyKwh: absent ? 0 : ownDrawKwh(plant, axis, flows),
    curtailedKwh: sum(flows.curtailedKwh),
    unservedKwh: sum(flows.unservedKwh),
    equivalentFullCycles:
      absent || dischargedKwh === 0 ? 0 : dischargedKwh / plant.dischargeEfficiency / plant.capacityKwh,
    startKwh,
    endKwh,
  };
}

/** What the equipment itself drew, kWh AC. */
function ownDrawKwh({ standbyW, conversionW = 0 }: Plant, { stepHours, intervals }: Axis, flows: Flows): number {
  const standbyKwh = (standbyW / 1000) * stepHours * intervals;
  if (conversionW === 0) return standbyKwh;
  let converting = 0;
  for (let i = 0; i < intervals; i++) if (flows.chargeKwh[i]! > 0 || flows.dischargeKwh[i]! > 0) converting++;
  return standbyKwh + (conversionW / 1000) * stepHours * converting;
}

function highest(values: Float64Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}
