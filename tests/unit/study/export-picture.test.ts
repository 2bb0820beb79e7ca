import { tariffReport } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { tariffPage } from '../../../packages/cli/src/render/tariff.ts';

test('where two prices meet within a half hour, the picture of what is bought shows the dearer, of what is sold the one that pays more', () => {
  const windows = (from: string, low: number, high: number) => [
    { name: 'one', from, to: '20:40', pricePerKwh: high },
    { name: 'other', otherwise: true, pricePerKwh: low },
  ];
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'two ways',
    currency: 'EUR',
    windows: windows('17:20', 0.1, 0.3),
    export: { kind: 'net-billing', windows: windows('10:10', 0.02, 0.08) },
  });
  const page = tariffPage(tariffReport(tariff, '2026-01-15'));
  const [bought, sold] = page.slice(page.indexOf('Import, a kWh costs')).split('Export, a kWh earns') as [
    string,
    string,
  ];
  expect(bought).toContain('a half hour of two prices shows the dearer\n');
  expect(sold).toContain('a half hour of two prices shows the one that pays more\n');
  expect(sold).not.toContain('dearer');
});
