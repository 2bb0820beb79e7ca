// Kept answers: see tests/support/kept.ts. Small sites in which any two fields of a site file meet, and what each report says.
import { hold, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { backupNeeds, circuits, compare, explain, outage, type Study } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { inOne, keptOf } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { CIRCUITS } from '../../support/kept-sites.ts';
import { pairwise } from '../../support/pairwise.ts';
import { generateSite, type Json, retold } from '../../support/panel/index.ts';

const FRIDGE: Json = { name: 'Cold', appliance: 'refrigerator', leg: 'L1', priority: 1, neverShed: true };
const PUMP: Json = {
  name: 'Sump',
  appliance: 'sump-pump',
  leg: 'L2',
  priority: 2,
  dutyShare: 0.1,
  stormDutyShare: 0.5,
};

/** What fields of a site may say; nothing at all is among them. */
const FACTORS: readonly (readonly Json[])[] = [
  [
    {},
    { backup: { circuits: CIRCUITS } },
    { backup: { circuits: [FRIDGE, PUMP] } },
    { backup: { load: { watts: 300 } } },
  ],
  [{}, { backup: { solarOnIsland: true, atFull: 'trip', reconnectMinutes: 7 } }, { backup: { solarOnIsland: false } }],
  [
    {},
    { backup: { reserve: { byMonth: [{ months: [1, 3, 6, 10, 12], share: 0.6 }] } } },
    { backup: { reserve: { keepHours: 6 } } },
    { backup: { reserve: { planned: [{ from: '2026-06-12T09:00', to: '2026-06-12T17:00', noticeHours: 20 }] } } },
  ],
  [{}, { backup: { stormMonths: [1, 6, 10], goalHours: 24 } }, { backup: { goalHours: 0.5 } }],
  [{}, { backup: { margin: { fadeShare: 0.2, gaugeShare: 0.05 } } }, { backup: { transfer: { kind: 'automatic' } } }],
  [
    {},
    { economics: { price: 9000, covers: 'two units, installed', rebate: 500, cycleLife: 600 } },
    { economics: { price: 100, covers: 'one unit', calendarYears: 12, warrantyYears: 10 } },
  ],
  [
    {},
    { plant: { gridCharging: false } },
    { plant: { batteryExport: true } },
    { plant: { floor: { share: 0.5 }, startShare: 1 } },
  ],
  [{}, { service: { importLimitKw: 40, exportLimitKw: 0.5 } }, { service: { importLimitKw: 25, from: '2099-01-01' } }],
  [{}, { plannedSolar: { scaleOfExisting: 0.5 } }, { startsOn: '2027-01-01' }],
  [{}, { location: { latitudeDeg: 39.7, longitudeDeg: -105 } }],
  // Which home, which battery and which tariff.
  [0, 1, 2, 3, 4, 5, 6, 7].map((seed) => ({ seed })),
];

const STRETCHES = [
  { days: 5, stepMinutes: 60, firstDate: '2026-06-10', solar: true },
  { days: 3, stepMinutes: 30, firstDate: '2025-10-25' },
] as const;

/** Fields of both, those of objects one by one. */
function merged(one: Json, other: Json): Json {
  const all: Json = { ...one };
  for (const [key, value] of Object.entries(other)) {
    const own = all[key];
    const areObjects = [own, value].every((each) => typeof each === 'object' && each !== null && !Array.isArray(each));
    // Of several ways to say one thing one is given.
    all[key] = areObjects && key !== 'floor' && key !== 'load' ? merged(own as Json, value as Json) : value;
  }
  return all;
}

async function studyOf(row: readonly number[]): Promise<Study> {
  const says = row.map((level, f) => FACTORS[f]![level]!).reduce(merged, {});
  const { seed, ...fields } = says;
  const site = generateSite(700 + (seed as number), { home: STRETCHES[(seed as number) % STRETCHES.length]! });
  const { path, read } = retold(site, { document: merged(site.document, fields) });
  return (await loadSite(path, read)).study;
}

const STRATEGIES = [windowFill, selfConsumption, hold];
const REPORTS: Readonly<Record<string, (study: Study) => unknown>> = {
  needs: (study) => backupNeeds(study),
  circuits: (study) => circuits(study),
  outage: (study) => outage(study, { strategies: STRATEGIES.slice(0, 1), floors: [0.4] }),
  compare: (study) => compare(study, { strategies: STRATEGIES }),
  explain: (study) => explain(study, STRATEGIES[1]!, 40),
};

const ROWS = [20_261_131, 20_261_132].flatMap((seed) =>
  pairwise(
    FACTORS.map(({ length }) => length),
    seed,
  ),
);

test.each(ROWS.map((row) => [row.join(' '), row] as const))('site %s', async (_name, row) => {
  const told: string[] = [];
  let study: Study | undefined;
  const refused = await keptOf(async () => {
    study = await studyOf(row);
    return {};
  });
  for (const [name, report] of study === undefined ? [] : Object.entries(REPORTS))
    told.push(inOne(name, [await keptOf(async () => keptReport(await report(study!)), 2)]));
  expect(study === undefined ? refused : told.join('\n')).toMatchSnapshot();
});
