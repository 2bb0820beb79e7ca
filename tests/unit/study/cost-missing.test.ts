import { loadSite } from '@duskbank/core/site';
import { bill } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

test('a bill in which a cost is missing is named, not left out without a word', async () => {
  // January and February 2025, one kWh an hour at 0.1.
  const windows = [{ name: 'all', otherwise: true, pricePerKwh: 0.1 }];
  const site = smallSite(
    hoursOf(59, () => [1, 0]),
    { windows },
  );
  const { study, tariffs, pastOf } = await loadSite(site.path, site.read);
  const { axis } = study.home;
  const past = pastOf(tariffs[0]!);
  const values = new Float64Array(axis.intervals).fill(0.1);
  const whole = bill({ ...past, actualCosts: { columns: [{ axis, values }], bills: [] } });
  expect(whole.actual!.bills).toHaveLength(2);
  expect(whole.warnings.map(({ code }) => code)).not.toContain('cost-missing');
  values[35 * 24] = Number.NaN;
  const report = bill({ ...past, actualCosts: { columns: [{ axis, values }], bills: [] } });
  expect(report.actual!.bills).toHaveLength(1);
  const told = report.warnings.find(({ code }) => code === 'cost-missing')!;
  expect(told.message).toContain('a bill is left out');
  expect(told.data.periods).toHaveLength(1);
  expect(String(told.data.periods)).toContain('2025-02-01');
});
