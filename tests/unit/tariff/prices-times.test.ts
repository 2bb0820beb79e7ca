import { expect, it } from 'vitest';
import { withPricesTimes } from '../../../packages/core/src/tariff/price-factor.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

/** Fields of a resolved tariff that are money a kWh, or multiply such. */
const PER_KWH = new Set(['pricePerKwh', 'adderPerKwh', 'surplusPerKwh', 'multiplier', 'pricesByHour']);

/** Every number of a tree, with where it stands and whether it is money a kWh. */
function* numbersOf(value: unknown, path = '', priced = false): Generator<[string, number, boolean]> {
  if (typeof value === 'number') yield [path, value, priced];
  else if (typeof value === 'object' && value !== null)
    for (const [key, part] of Object.entries(value))
      yield* numbersOf(part, `${path}.${key}`, PER_KWH.has(key) || (priced && Array.isArray(value)));
}

it.each(tariffFixtures().map((fixture) => [fixture.name, fixture] as const))(
  'of %s every price per kWh is doubled, and nothing else',
  (_name, { tariff }) => {
    // What the file wrote stays as it was.
    const resolved = (all: Iterable<[string, number, boolean]>) =>
      [...all].filter(([path]) => !path.includes('.written'));
    const before = resolved(numbersOf(tariff.versions));
    const after = resolved(numbersOf(withPricesTimes(tariff, 2).versions));
    expect(before.some(([, , priced]) => priced)).toBe(true);
    expect(after).toEqual(before.map(([path, value, priced]) => [path, priced ? 2 * value : value, priced]));
  },
);
