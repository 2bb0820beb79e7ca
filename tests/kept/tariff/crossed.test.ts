// Kept answers: see tests/support/kept.ts.
import {
  billTariff,
  compileTariff,
  describeTariff,
  evaluateTerms,
  marginalPrices,
  parseTariff,
} from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { crossedTariffs } from '../../support/crossed-tariffs.ts';
import { keptOf } from '../../support/kept.ts';
import { randomFlows } from '../../support/tariff-fixtures.ts';

test.each(crossedTariffs(3, 45).map((crossed, k) => [crossed.name, crossed, k] as const))(
  'prices of %s with what others have beside them',
  async (_name, { document, axis, options }, k) => {
    expect(
      await keptOf(() => {
        const tariff = parseTariff(document);
        const compiled = compileTariff(tariff, axis, options);
        const flows = randomFlows(900 + k, axis.intervals, axis.stepMinutes);
        const bill = billTariff(compiled, flows);
        const { importPricePerKwh, exportPricePerKwh, warnings } = compiled;
        return {
          totals: bill.periods.map(({ total }) => total),
          bill,
          prices: [importPricePerKwh, exportPricePerKwh],
          warnings,
          terms: evaluateTerms(axis, compiled.terms, flows),
          marginal: marginalPrices(compiled, flows),
          described: describeTariff(tariff, '2026-03-01'),
        };
      }),
    ).toMatchSnapshot();
  },
);
