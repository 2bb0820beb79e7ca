import { bySchema } from '../input/by-schema.ts';
import { check, number, optional, record } from '../input/door.ts';
import { quoteName } from '../words/quote.ts';
import { type Economics, economicsSchema } from './payback.ts';

/** What using a battery wears off it. Money in the tariff's currency. */
export interface Wear {
  /** What is worn off over the whole cycle life. */
  readonly cost: number;
  /** Full cycles. */
  readonly cycleLife: number;
  /** Money per full cycle: `cost / cycleLife`. */
  readonly perCycle: number;
  /** Money per kWh delivered at AC: `perCycle` over what a full cycle delivers. */
  readonly perKwh: number;
  /** How it was reckoned, in words. */
  readonly basis: string;
}

/**
 * What a battery that is full in place of empty ages more a year, money: twice what it ages more full than half full, as if age
 * rose evenly with what is stored. That it rises is common practice; how evenly is not stated by anybody.
 *
 * @returns undefined where the site states not both years
 */
export function wearOfFull(economics: Economics | undefined): number | undefined {
  if (economics?.calendarYears === undefined || economics.calendarYearsFull === undefined) return undefined;
  const { price, rebate = 0, batteryPrice, calendarYears, calendarYearsFull } = economics;
  return 2 * (batteryPrice ?? price - rebate) * (1 / calendarYearsFull - 1 / calendarYears);
}

/**
 * What a kWh delivered wears off the battery: its cost, spread evenly over all the energy that its cycle life delivers at
 * AC. A full cycle empties the usable energy once, and loses 1 − discharge efficiency of it on the way out. The cost is
 * the battery's own price where the site states it, else all that the price covers, less the rebate. Age, heat and depth
 * are not weighed.
 *
 * @param plant `capacityKwh` usable energy; `dischargeEfficiency` in (0, 1]
 * @returns undefined where no cycle life is stated
 * @throws InputError on prices that the site file may not hold, and a plant out of range
 * @example wearOf({ price: 6000, covers: 'a battery', cycleLife: 6000 }, { capacityKwh: 10, dischargeEfficiency: 0.9 })?.perKwh // 0.111…
 */
export function wearOf(
  economics: Economics | undefined,
  plant: { readonly capacityKwh: number; readonly dischargeEfficiency: number },
): Wear | undefined {
  check(
    { economics, plant },
    {
      economics: optional(bySchema(economicsSchema)),
      plant: record<typeof plant>({
        capacityKwh: number({ above: 0 }),
        dischargeEfficiency: number({ above: 0, most: 1 }),
      }),
    },
  );
  const { capacityKwh, dischargeEfficiency } = plant;
  if (economics?.cycleLife === undefined) return undefined;
  const { price, rebate = 0, covers, batteryPrice, cycleLife } = economics;
  const cost = batteryPrice ?? price - rebate;
  const perCycle = cost / cycleLife;
  const deliveredKwh = capacityKwh * dischargeEfficiency;
  const of =
    batteryPrice === undefined
      ? `all that the price covers (${quoteName(covers)}${rebate > 0 ? `; rebate of ${rebate} taken off` : ''})`
      : 'the battery’s own price';
  return {
    cost,
    cycleLife,
    perCycle,
    perKwh: perCycle / deliveredKwh,
    basis: `${of} ÷ ${cycleLife} full cycles ÷ ${deliveredKwh.toFixed(2)} kWh that a cycle delivers; age, heat and depth not weighed`,
  };
}
