// Kept answers: see tests/support/kept.ts.

import { loadSite } from '@duskbank/core/site';
import { bill, tariffChoice, tariffSwitch } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptEach } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { keptSite, seedsFrom } from '../../support/kept-sites.ts';

/** Other tariffs that the homes might choose, in the currency of each. */
const OTHERS = {
  'flat.json': { energy: [{ name: 'Energy', pricePerKwh: 0.21 }] },
  'nights.json': {
    windows: [
      { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.09 },
      { name: 'day', otherwise: true, pricePerKwh: 0.3 },
    ],
    export: { kind: 'net-billing', pricePerKwh: 0.06 },
    life: { endsOn: '2027-03-31', successor: 'flat.json', successorFile: 'flat.json', earliestSwitch: '2026-09-01' },
  },
};

function withOthers(seed: number) {
  const site = keptSite(seed);
  const others: Record<string, string> = Object.fromEntries(
    Object.entries(OTHERS).map(([name, rates]) => [
      name,
      JSON.stringify({
        format: 'duskbank.tariff/1',
        name,
        currency: site.tariff.document.currency,
        unusualPrices: true,
        ...rates,
      }),
    ]),
  );
  const read = (path: string) =>
    others[path] === undefined ? site.read(path) : new TextEncoder().encode(others[path]);
  return loadSite(site.path, read, { moreTariffs: Object.keys(others) });
}

test.each(seedsFrom(300, 30))('bills and tariffs to choose of site %d', async (seed) => {
  const calls: Record<string, () => unknown> = {
    bills: async () => {
      const { tariffs, pastOf } = await withOthers(seed);
      return tariffs.map((one) => keptReport(bill(pastOf(one))));
    },
    choice: async () => {
      const { tariffs, studyOf } = await withOthers(seed);
      return keptReport(tariffChoice(tariffs.map(studyOf)));
    },
  };
  if (seed % 3 === 0)
    calls.switch = async () => {
      const { tariffs, studyOf } = await withOthers(seed);
      return keptReport(tariffSwitch(tariffs.map(studyOf), { today: '2026-06-01' }));
    };
  expect(await keptEach(calls, 2)).toMatchSnapshot();
});
