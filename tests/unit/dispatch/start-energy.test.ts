import { followSheet } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { settings } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

// A battery of 40 kWh, 8 kept, charged at 80 %: data that begin in the cold begin with 32 kWh more where all of it is held.
test('what a battery is full of before the cold in which the data begin is paid for when holding it is priced', async () => {
  const battery = { units: 1, usableKwh: 40, chargeKw: 5, dischargeKw: 5, roundTripEfficiency: 0.64, standbyW: 0 };
  const site = smallSite(
    hoursOf(365, (h) => [h >= 17 && h < 21 ? 2 : 0.5, 0]),
    {
      windows: [
        { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.6 },
        { name: 'rest', otherwise: true, pricePerKwh: 0.18 },
      ],
    },
    { battery, floor: { share: 0.2 }, controller: { windowsPerDay: 1 } },
    {},
    {
      backup: { load: { watts: 200 }, cold: { limitC: 0, lowsC: [-9, -8, 1, 3, 6, 9, 12, 11, 7, 2, 1, -7] } },
      dispatch: { sumForHoursPerYear: 1000 },
    },
  );
  const { study } = await loadSite(site.path, site.read);
  const { sheet, lights } = settings(study);
  expect(lights!.heldInCold!.taken).toBe(true);
  const billOf = (dated: typeof sheet.dated) => evaluate(study.home, followSheet({ ...sheet, dated }), ['bill']).bill;
  const held = billOf(sheet.dated);
  const spent = billOf([]);
  // 4 of 24 hours at 0.60, the others at 0.18: a mean of 0.25; 32 kWh stored are 40 kWh bought.
  expect(held.startEnergy).toBeCloseTo(40 * 0.25, 1);
  expect(spent.startEnergy).toBe(0);
  // The one is rounded to the cent, the other isn't.
  expect(Math.abs(lights!.heldInCold!.costPerYear - (held.unrounded - spent.unrounded))).toBeLessThan(0.006);
});
