import { billTariff, billTotal, compileTariff } from '@duskbank/core/tariff';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { slowBiller } from '../../support/slow-bill.ts';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

/** Runs a fixture. The slow calculator looks every interval up in a date library: a handful of homes is what time allows. */
const HOMES = 4;

describe('the bill is that of an independent slow calculator, to the cent', () => {
  const fixtures = tariffFixtures();
  it('covers at least 40 tariffs', () => expect(fixtures.length).toBeGreaterThanOrEqual(40));

  it.each(fixtures.map((fixture) => [fixture.name, fixture] as const))('%s', (_, fixture) => {
    const { tariff, axis, options, account, hourlyPrices: series, grain } = fixture;
    const compiled = compileTariff(tariff, axis, options);
    const slow = slowBiller(tariff.document, axis, { account, series, grain });
    fc.assert(
      fc.property(fc.integer({ min: 0, max: 2 ** 31 }), (seed) => {
        const flows = randomFlows(seed, axis.intervals, axis.stepMinutes);
        const bill = billTariff(compiled, flows);
        const expected = slow(flows.importKwh, flows.exportKwh);
        const shown = bill.periods.map((p) => ({
          start: p.start,
          end: p.end,
          amounts: p.lines.filter((l) => l.amount !== 0 && l.kind !== 'rounding').map((l) => `${l.kind} ${l.amount}`),
          total: p.total,
        }));
        const wanted = expected.periods.map((p) => ({
          start: p.start,
          end: p.end,
          amounts: p.lines.map((l) => `${l.kind} ${l.amount.toNumber()}`),
          total: p.total.toNumber(),
        }));
        for (const p of [...shown, ...wanted]) p.amounts.sort();
        expect(shown).toEqual(wanted);
        // Printed totals are the exact sum of printed lines.
        const cents = 10 ** (tariff.rounding.decimals + 6);
        for (const p of bill.periods)
          expect(Math.round(p.lines.reduce((sum, l) => sum + Math.round(l.amount * cents), 0))).toBe(
            Math.round(p.total * cents),
          );
        // Rounding apart, prices and terms say the same: at most half a unit a line.
        const unit =
          tariff.rounding.at === 'line' ? 10 ** -tariff.rounding.decimals : 10 ** -tariff.rounding.decimals / 5;
        const lines = bill.periods.reduce((sum, p) => sum + p.lines.length, 0);
        const slack = tariff.rounding.energyDecimals < 6 || tariff.rounding.mode === 'down' ? 60 : 0.6;
        expect(Math.abs(bill.total - billTotal(compiled, flows))).toBeLessThanOrEqual(slack * lines * unit);
      }),
      { numRuns: HOMES, seed: 20_260_301 },
    );
  });
});
