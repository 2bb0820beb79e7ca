// Kept answers: see tests/support/kept.ts.
import { bestInHindsight } from '@duskbank/core/dispatch';
import { compileTariff, parseTariff, type Tariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { openService, plainPlant, seededHome } from '../../support/homes.ts';
import { keptEach } from '../../support/kept.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

const PLANTS = [
  plainPlant({ batteryExport: true, startKwh: 2 }),
  plainPlant({ gridCharging: false, floorKwh: 0.9, standbyW: 15 }),
  plainPlant({ coupling: 'dc', capacityKwh: 11, inverterKw: 4 }),
];

/** Every kind of bill term, with what nothing but a minimum, a class or netting does to the bound. */
test.each(tariffFixtures().map((fixture, k) => [fixture.name, fixture, k] as const))(
  'the cheapest run in hindsight on %s',
  async (_name, { tariff, axis, options }, k) => {
    const { startEpochMs, zone } = axis;
    const shape = { days: 7, stepMinutes: 60, startEpochMs, zone, solarKw: (k % 3) * 3 };
    const document = { ...tariff.document, minimumBill: { amount: 1.4, per: 'day' } };
    const bestOn = (own: Tariff) => () =>
      bestInHindsight(
        seededHome(600 + k, shape, PLANTS[k % PLANTS.length]!, openService, (on) => compileTariff(own, on, options)),
      );
    const calls = { 'as it is': bestOn(tariff), 'with a minimum': () => bestOn(parseTariff(document))() };
    expect(await keptEach(calls)).toMatchSnapshot();
  },
);
