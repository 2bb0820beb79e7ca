import type { PlannedOutage } from '../outage/index.ts';
import type { Study } from '../site/index.ts';
import { plannedOutages } from '../site/inside.ts';
import type { HeadlineRun } from './storm.ts';

/** A battery with this share of its capacity is taken for full: it loses a little by itself while it is held. */
const FULL = 0.95;

/**
 * The site's planned outages as the headline's run meets them: filled with the power that its box is told; where the cells are
 * too cold to charge, full where the run holds all of it from before the cold.
 */
export function plannedInRun(study: Study, run: HeadlineRun): readonly PlannedOutage[] {
  const { gridChargeKw = 0, socKwh, plant } = run;
  const planned = plannedOutages(study, gridChargeKw > 0 ? gridChargeKw : plant.chargeLimitKw);
  return planned.map((outage): PlannedOutage => {
    if (outage.verdict !== 'too-cold') return outage;
    const storedKwh = outage.interval === 0 ? plant.startKwh : socKwh[outage.interval - 1]!;
    return storedKwh >= FULL * plant.capacityKwh ? { ...outage, verdict: 'in-time', fillHours: 0 } : outage;
  });
}
