import { describe, expect, it } from 'vitest';
import {
  contradicted,
  type Fate,
  fixedCharge,
  type Law,
  oneBill,
  oneBillByTheHour,
  twicePrices,
} from './metamorphic.ts';

/** So many homes in the usual run; `pnpm nightly` looks at 500. */
const HOMES = 16;

describe('what changes nothing of a home changes nothing of its numbers', () => {
  it.each<[string, Law, number]>([
    ['a home told in twelve ways has one bill', oneBill, HOMES],
    ['quarters of an hour and hours have one bill, where each kWh has the price of its hour', oneBillByTheHour, HOMES],
    ['twice the prices, twice the savings', twicePrices, 2 * HOMES],
    ['a fixed charge changes no saving', fixedCharge, 2 * HOMES],
  ])('%s', async (_, law, homes) => {
    let held = 0;
    for (let seed = 0; seed < homes; seed++) {
      const said = await law(seed);
      if (said === undefined) continue;
      expect(said, `seed ${seed}`).toEqual([]);
      held++;
    }
    expect(held).toBeGreaterThan(homes / 4);
  });

  it('a column that contradicts the meter changes no number that is given', async () => {
    const fates: Record<Fate, number> = { stays: 0, withheld: 0, refused: 0 };
    for (let seed = 0; seed < 2 * HOMES; seed++) {
      const became = await contradicted(seed);
      if (became === undefined) continue;
      expect(became.said, `seed ${seed}`).toEqual([]);
      fates[became.fate]++;
    }
    expect(fates.stays).toBeGreaterThan(0);
    expect(fates.withheld).toBeGreaterThan(0);
  });
});
