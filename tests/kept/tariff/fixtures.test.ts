// Kept answers: see tests/support/kept.ts.
import { billTariff, compileTariff, describeTariff, evaluateTerms, marginalPrices } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

const FIXTURES = tariffFixtures().map((fixture, k) => [fixture.name, fixture, k] as const);

test.each(FIXTURES)('prices and terms of %s', (_name, { tariff, axis, options }) => {
  const { axis: _axis, ...compiled } = compileTariff(tariff, axis, options);
  expect(kept(compiled)).toMatchSnapshot();
});

test.each(FIXTURES)('bills of %s', (_name, { tariff, axis, options }, k) => {
  const compiled = compileTariff(tariff, axis, options);
  const flows = randomFlows(k + 1, axis.intervals, axis.stepMinutes);
  const bill = billTariff(compiled, flows);
  // With the sun taken away, other blocks and minimums are met.
  const dark = billTariff(compiled, { ...flows, exportKwh: new Float64Array(axis.intervals) });
  expect(
    kept({
      totals: bill.periods.map(({ total }) => total),
      bill,
      'without export': dark,
      terms: evaluateTerms(axis, compiled.terms, flows),
      marginal: marginalPrices(compiled, flows),
    }),
  ).toMatchSnapshot();
});

test.each(FIXTURES)('%s described', (_name, { tariff }) => {
  const dates = ['2025-12-31', '2026-07-01'];
  expect(kept(Object.fromEntries(dates.map((date) => [date, describeTariff(tariff, date)])), 0)).toMatchSnapshot();
});
