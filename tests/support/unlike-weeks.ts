import type { Study } from '@duskbank/core/study';
import { seeded } from './homes-plain.ts';
import { DEAR_EVENING, sunnyHome } from './sunny-home.ts';
import { twoPriceHome } from './two-price-home.ts';

/**
 * A home whose odd and even weeks differ, so that their halves find other sheets: without sun, under a demand charge, with weekends
 * apart; every fourth one with sun.
 */
export function unlikeWeeks(seed: number, more: { readonly goalHours?: number } = {}): Study {
  const random = seeded(seed + 1);
  const draws = Array.from({ length: 28 }, () => 0.4 + 2.4 * random());
  const odd = random();
  const dullEvery = 2 + Math.floor(5 * random());
  const skies = (day: number) => (day % dullEvery === dullEvery - 1 ? 0.1 : 1);
  if (seed % 4 === 0) return sunnyHome(0.5 + 3 * random(), random() < 0.5 ? DEAR_EVENING : undefined, skies, more);
  return twoPriceHome({
    days: 28,
    evening: (day) => draws[day]! * (Math.floor(day / 7) % 2 === 1 ? 1 : odd),
    plant: { floor: { share: 0.1 }, controller: { windowsPerDay: 1 + (seed % 2), weekends: seed % 4 === 1 } },
    backup: { load: { watts: 300 + 600 * random() }, ...more },
    tariff: {
      ...(seed % 4 === 3 ? { demand: [{ name: 'peak', pricePerKw: 3 + 5 * random() }] } : {}),
      windows: [
        { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.3 + 0.3 * random() },
        { name: 'noon', from: '11:00', to: '15:00', pricePerKwh: 0.12 + 0.08 * random() },
        { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
      ],
    },
  });
}
