import { type Flows, type Levels, makeLevels, type PlantOnAxis } from '../../plant/index.ts';
import type { Schedule } from './forward.ts';

/**
 * A schedule as levels: each step is told where to end.
 *
 * @param drawKwh what converting draws in a step of the schedule, taken from own surplus before that is stored
 */
export function levelsOf(
  onAxis: PlantOnAxis,
  schedule: Pick<Schedule, 'chargeKwh' | 'dischargeKwh' | 'socKwh'>,
  levels: Levels = makeLevels(onAxis.axis.intervals),
  drawKwh: number = onAxis.conversionKwh,
): Levels {
  const { netKwh } = onAxis;
  const { chargeKwh, dischargeKwh, socKwh } = schedule;
  for (let i = 0; i < netKwh.length; i++) {
    const end = socKwh[i]!;
    const net = netKwh[i]! + drawKwh;
    const charge = chargeKwh[i]!;
    const discharge = dischargeKwh[i]!;
    levels.solarChargeToKwh[i] = charge > 0 ? end : Number.NEGATIVE_INFINITY;
    levels.gridChargeToKwh[i] = charge > Math.max(0, -net) + 1e-12 ? end : Number.NEGATIVE_INFINITY;
    levels.serveDownToKwh[i] = discharge > 0 ? end : Number.POSITIVE_INFINITY;
    levels.exportDownToKwh[i] = discharge > Math.max(0, net) + 1e-12 ? end : Number.POSITIVE_INFINITY;
  }
  return levels;
}

/** A schedule with the flows of a run in place of its own. */
export function asRun(schedule: Schedule, run: Flows): Schedule {
  const { chargeKwh, dischargeKwh, socKwh, curtailedKwh, unservedKwh } = run;
  return { ...schedule, chargeKwh, dischargeKwh, socKwh, curtailedKwh, unservedKwh };
}
