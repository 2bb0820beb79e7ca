// Kept answers: see tests/support/kept.ts.
import { makeAxis } from '@duskbank/core/axis';
import {
  APPLIANCES,
  byPriority,
  checkPanel,
  circuitsLoadKwh,
  type Dwelling,
  EXISTING_DWELLING,
  expectedUnservedKwhPerYear,
  lastsLonger,
  meanLengthUpTo,
  medicalHazards,
  NEW_DWELLING,
  optionalDwellingLoad,
  outageKinds,
  overloadsOf,
  planCarry,
  questionCircuits,
  resolveCircuits,
  sharedNeutralHazards,
  standardDwellingLoad,
  US_AVERAGE_2023,
} from '@duskbank/core/outage';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { circuits, outputs } from '../../laws/outage/circuit-lists.ts';
import { kept, keptEach, keptOf } from '../../support/kept.ts';

const LISTS = fc
  .sample(fc.tuple(circuits, outputs), { seed: 20_260_808, numRuns: 80 })
  .map(([list, output], k) => [k, list, output] as const);

test.each(LISTS)('list %d of circuits', (k, list, output) => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, k % 12, 5),
    stepMinutes: [5, 15, 30, 60][k % 4]!,
    intervals: 120,
    zone: 'America/Denver',
  });
  const plan = planCarry(list, output);
  expect(
    kept({
      what: `${list.length} circuits, ${output.arrangement}`,
      plan,
      overloads: overloadsOf(list, output),
      medical: [medicalHazards(plan, 'manual'), medicalHazards(plan, 'automatic'), medicalHazards(plan, undefined)],
      neutrals: sharedNeutralHazards(list, output),
      order: byPriority(list).map(({ name }) => name),
      loadKwh: circuitsLoadKwh(axis, list),
    }),
  ).toMatchSnapshot();
});

test.each(APPLIANCES.map((appliance) => [appliance.key] as const))('appliance %s', async (name) => {
  const listed = [{ name: 'It', appliance: name, leg: 'L1' as const, priority: 1 }];
  expect(
    await keptOf(
      () => ({ questions: questionCircuits(listed as never), resolved: resolveCircuits(listed as never) }),
      3,
    ),
  ).toMatchSnapshot();
});

const DWELLINGS: readonly Dwelling[] = [
  { floorAreaSqFt: 1200 },
  { floorAreaSqFt: 1500, appliancesVa: { Range: 8000, Dryer: 5500 } },
  { floorAreaSqFt: 3200, appliancesVa: { Range: 12_000, 'Water heater': 4500, Dishwasher: 1200, Disposal: 900 } },
  { floorAreaSqFt: 2400, heatPumpVa: 7000, supplementaryHeatVa: 9600, coolingVa: 8200, laundryCircuits: 2 },
  { floorAreaSqFt: 900, spaceHeatVa: 9000, separateControls: 4, thermalStorageVa: 3000, smallApplianceCircuits: 3 },
  { floorAreaSqFt: 50_000, centralHeatVa: 12_000, spaceHeatVa: 9000, appliancesVa: { Charger: 11_500 } },
];

test.each(DWELLINGS.map((dwelling, k) => [k, dwelling] as const))(
  'load calculation of dwelling %d',
  async (_k, dwelling) => {
    const calls: Record<string, () => unknown> = {
      new: () => optionalDwellingLoad(dwelling, NEW_DWELLING),
      existing: () => optionalDwellingLoad(dwelling, EXISTING_DWELLING),
      standard: () => standardDwellingLoad(dwelling),
    };
    for (const mainAmps of [100, 150, 200])
      for (const watts of [1000, 6000, 15_000])
        calls[`${mainAmps} A, ${watts} W`] = () => checkPanel({ mainAmps, dwelling } as never, watts);
    expect(await keptEach(calls, 2)).toMatchSnapshot();
  },
);

test('outages as they come', () => {
  const kinds = outageKinds(US_AVERAGE_2023);
  const own = [
    { name: 'short', perYear: 2.5, meanHours: 0.7, sigma: 1.1 },
    { name: 'storm', perYear: 0.2, meanHours: 30, sigma: 0.8 },
  ];
  const told = Object.fromEntries(
    [...kinds, ...own].map((kind) => [
      kind.name,
      [0, 0.25, 1, 4, 12, 48, 336].map((hours) => [lastsLonger(kind, hours), meanLengthUpTo(kind, hours)]),
    ]),
  );
  const curve = { hours: [0, 1, 4, 12, 48], kwh: [0, 0.2, 1.1, 6, 40] };
  expect(
    kept(
      { kinds, told, unserved: [expectedUnservedKwhPerYear(kinds, curve), expectedUnservedKwhPerYear(own, curve)] },
      2,
    ),
  ).toMatchSnapshot();
});
