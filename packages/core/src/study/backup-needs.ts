import { check } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import { circuitsLoadKwh, measuredLoad, questionCircuits, resolveCircuits } from '../outage/index.ts';
import { cautionsFor, outdrawnMeter, rulesOf } from '../outage/inside.ts';
import type { Study } from '../site/index.ts';
import { aHome, isSunUnseen } from '../site/inside.ts';
import type { BackupNeedsReport } from './backup-needs-schema.ts';
import { circuitPart, homeParts } from './report-parts.ts';

/** Hours without the grid that are told where the site states no goal. */
const HOURS = [4, 8, 24];

/**
 * What a home without a battery asks of one in an outage: the power of its circuits, and the energy that they take in so
 * many hours. How long a battery lasts, and what it carries, is asked with one.
 */
export function backupNeeds(study: Study): BackupNeedsReport {
  check({ study }, { study: aHome });
  const { home, site, loadKnown } = study;
  const { axis } = home;
  const { backup } = site;
  const listed = resolveCircuits(backup?.circuits ?? []);
  const byCircuits = listed.length > 0;
  const medical = listed.some((circuit) => circuit.medical);
  const loadKwh = byCircuits ? circuitsLoadKwh(axis, listed) : home.loadKwh;
  const goal = backup?.goalHours;
  const hours = [...new Set([...HOURS, ...(goal === undefined ? [] : [goal])])].sort((a, b) => a - b);
  const starts = listed.filter((circuit) => circuit.startKnown);
  const hardest = starts.length === 0 ? undefined : starts.reduce((most, c) => (c.startVa > most.startVa ? c : most));
  const rules = rulesOf(axis.zone);
  const measured = measuredLoad(axis, home.loadKwh, {
    hasSolar: home.solarKwh.some((kwh) => kwh > 0),
    rules,
    meteredStepMinutes: study.meteredStepMinutes,
  });
  return ownCopy({
    format: 'duskbank.backup-needs/1',
    ...homeParts(study),
    basis: byCircuits
      ? 'nameplates and published tables: what runs, starts and draws on average of the circuits that are listed; solar isn’t counted'
      : 'the metered load of the whole home, since no circuits are listed; solar isn’t counted',
    medical,
    cautions: cautionsFor({ medical, panels: true }),
    findings: byCircuits
      ? [
          ...questionCircuits(backup!.circuits!),
          ...outdrawnMeter(axis, listed, { loadKwh: home.loadKwh, loadKnown }, false),
        ]
      : [],
    circuits: [...listed]
      .sort((a, b) => a.priority - b.priority)
      .map((circuit) => ({ ...circuitPart(circuit), medical: circuit.medical })),
    togetherVa: byCircuits ? listed.reduce((sum, circuit) => sum + circuit.runningVa, 0) : null,
    hardestStart: hardest === undefined ? null : { circuit: hardest.name, startVa: hardest.startVa },
    energy: byCircuits || loadKnown ? hours.map((count) => energyOf(loadKwh, axis.stepHours, count)) : null,
    measured: { maximumKw: measured.maximumKw, totalVa: measured.totalVa },
    wiringRules: rules,
    notAnswered: [
      'how long a battery carries them, and which of them',
      ...(medical ? ['hours for a medical circuit: it needs a plan of its own, whatever the battery'] : []),
      ...(loadKnown || byCircuits
        ? []
        : [
            `the load: ${isSunUnseen(study.warnings) ? 'next to nothing is bought by day, as under panels that aren’t metered: then' : 'solar isn’t metered, so'} what the home uses behind the meter isn’t known`,
          ]),
    ],
    warnings: study.warnings,
  });
}

/** What so many hours take, from each interval of the data on as far as they reach. */
function energyOf(loadKwh: Float64Array, stepHours: number, hours: number) {
  const steps = Math.min(loadKwh.length, Math.max(1, Math.round(hours / stepHours)));
  const sums = new Float64Array(loadKwh.length - steps + 1);
  let sum = 0;
  for (let i = 0; i < loadKwh.length; i++) {
    sum += loadKwh[i]!;
    if (i >= steps) sum -= loadKwh[i - steps]!;
    if (i >= steps - 1) sums[i - steps + 1] = Math.max(0, sum);
  }
  sums.sort();
  // Enough in a share of the starts: the smallest sum that is not passed in more of them.
  const enough = (share: number) => sums[Math.max(0, Math.ceil(share * sums.length) - 1)]!;
  return { hours, usualKwh: enough(0.5), nineInTenKwh: enough(0.9), mostKwh: sums[sums.length - 1]! };
}
