import { describe, expect, it } from 'vitest';
import { differences } from '../laws/panel/agreement.ts';
import {
  contradicted,
  fixedCharge,
  type Law,
  oneBill,
  oneBillByTheHour,
  twicePrices,
} from '../laws/panel/metamorphic.ts';
import { generateSite } from '../support/panel/index.ts';

// `NIGHTLY_SEED=20260801 pnpm nightly` looks at other homes; a failure names its seed.
const FIRST = Number(process.env.NIGHTLY_SEED ?? 0);

describe('a second reckoning, written from the documents, agrees with the core', () => {
  it('on 200 generated homes', async () => {
    for (let seed = FIRST; seed < FIRST + 200; seed++) {
      const site = generateSite(seed);
      const said = await differences({ ...site, tariff: site.tariff.document });
      expect(said, `seed ${seed}: ${site.tariff.elements.join(', ')}`).toEqual([]);
    }
  }, 3_600_000);
});

describe('what changes nothing of a home changes nothing of its numbers, on 500 homes', () => {
  it.each<[string, Law]>([
    ['a home told in twelve ways has one bill', oneBill],
    ['quarters of an hour and hours have one bill', oneBillByTheHour],
    ['twice the prices, twice the savings', twicePrices],
    ['a fixed charge changes no saving', fixedCharge],
    [
      'a column that contradicts the meter changes no number that is given',
      async (seed) => (await contradicted(seed))?.said,
    ],
  ])(
    '%s',
    async (_, law) => {
      for (let seed = FIRST; seed < FIRST + 500; seed++) expect((await law(seed)) ?? [], `seed ${seed}`).toEqual([]);
    },
    3_600_000,
  );
});
