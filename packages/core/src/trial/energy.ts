import { sum } from '../axis/sum.ts';
import type { Flows } from '../plant/index.ts';
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
    standbyKwh: absent ? 0 : (plant.standbyW / 1000) * axis.stepHours * axis.intervals,
    curtailedKwh: sum(flows.curtailedKwh),
    unservedKwh: sum(flows.unservedKwh),
    equivalentFullCycles:
      absent || dischargedKwh === 0 ? 0 : dischargedKwh / plant.dischargeEfficiency / plant.capacityKwh,
    startKwh,
    endKwh,
  };
}

function highest(values: Float64Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}
