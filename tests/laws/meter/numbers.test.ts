import { parseIntervalData } from '@duskbank/core/meter';
import fc from 'fast-check';
import { expect, test } from 'vitest';

/** Decimal texts of up to 17 digits, with a point anywhere or nowhere (ten digits alone would be a time). */
const decimal = fc
  .tuple(fc.stringMatching(/^\d{0,7}$/), fc.stringMatching(/^\d{0,10}$/), fc.boolean())
  .map(([whole, part, point]) => (point ? `${whole}.${part}` : whole))
  .filter((text) => /\d/.test(text));

test('a decimal text is read as the nearest number, to the last bit', () => {
  fc.assert(
    fc.property(fc.array(decimal, { minLength: 4, maxLength: 40 }), (texts) => {
      const rows = texts.map((text, i) => `${1_767_596_400 + i * 900},${text}`);
      // Running totals and what a home may draw are judged elsewhere: here the unit is stated, the values rise and fall.
      const { series } = parseIntervalData(`start,import kWh\n${rows.join('\n')}\n`, {
        zone: 'UTC',
        unit: 'kWh',
        decimal: '.',
        serviceKw: 1e12,
      });
      const read = [...(series?.importKwh ?? [])];
      const want = texts.map(Number).map((value) => (value < 1e15 ? value : Number.NaN));
      // Blank ends are cut off: numbers too large to be energy are no values.
      while (want.length > 0 && Number.isNaN(want[0]!)) want.shift();
      while (want.length > 0 && Number.isNaN(want.at(-1)!)) want.pop();
      expect(read).toEqual(want);
    }),
    { numRuns: 300, seed: 20_260_303 },
  );
});
