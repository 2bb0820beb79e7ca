import { outage, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh at 3 kW fill in 2.9 h; a service of 1.2 kW beside a load of 0.2 to 1 kW leaves far less, and 5 h of notice are too short.
const PLANNED = { from: '2026-05-20T20:00', to: '2026-05-20T23:00', noticeHours: 5 };

test('a planned outage has one lead time and one verdict: in the warnings, in `outage` and on the sheet', () => {
  const study = twoPriceHome({
    evening: () => 1,
    plant: {
      controller: { windowsPerDay: 1 },
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
    },
    backup: { load: { share: 0.5 }, reserve: { planned: [PLANNED] } },
    site: { service: { importLimitKw: 1.2 } },
  });
  const told = (warnings: readonly { code: string; data: unknown }[]) =>
    warnings.filter(({ code }) => code === 'planned-outage').map(({ data }) => data);
  const [shown] = outage(study).planned;
  expect(shown!.verdict).toBe('too-late');
  const fact = { from: PLANNED.from, verdict: 'too-late', noticeHours: 5, fillHours: shown!.fillHours };
  expect(shown!.fillHours).toBeGreaterThan(5);
  expect(told(study.warnings)).toEqual([fact]);
  const report = settings(study);
  const dated = report.sheet.dated.find(({ outage: one }) => one !== null)!.outage!;
  expect(dated.verdict).toBe('too-late');
  expect(told(report.warnings)).toEqual([{ ...fact, fillHours: dated.fillHours }]);
});
