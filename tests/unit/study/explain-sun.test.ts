import { selfConsumption } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { explain } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const battery = { units: 1, usableKwh: 5, chargeKw: 2.5, dischargeKw: 2.5, roundTripEfficiency: 0.88 };
const windows = [{ name: 'day', otherwise: true, pricePerKwh: 0.3 }];

test('where own sun carries the load, a battery that does nothing could have carried none', async () => {
  // 2 kWh of sun too many every hour: full within three.
  const hours = hoursOf(2, (h) => [0.5, h >= 8 && h < 18 ? 2.5 : 0]);
  const site = smallSite(hours, { windows }, { battery });
  const { study } = await loadSite(site.path, site.read);
  const { words, flows } = explain(study, selfConsumption, 16);
  expect(flows.chargeKwh + flows.dischargeKwh).toBe(0);
  expect(words.join(' ')).toContain(
    'own sun carried all of the load, so that it had none to carry, storing one from own',
  );
  expect(words.join(' ')).not.toContain('would have saved');
});
