import { economicsSchema, wearOf } from '@duskbank/core/economics';
import { checkDocument } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';
import { wearOfFull } from '../../../packages/core/src/economics/wear.ts';

const bought = { price: 6000, covers: 'one battery unit, installed', cycleLife: 6000 };

describe('wear', () => {
  test('6,000 over 6,000 cycles of 10 kWh, 90 % out: 1 a cycle, 1 ÷ 9 a kWh delivered', () => {
    const wear = wearOf(bought, { capacityKwh: 10, dischargeEfficiency: 0.9 })!;
    expect(wear).toMatchObject({ cost: 6000, cycleLife: 6000, perCycle: 1 });
    // A cycle takes 10 kWh out of the cells and brings 10 × 0.9 = 9 kWh to the home.
    expect(wear.perKwh).toBeCloseTo(1 / 9, 15);
    // All that the cycle life delivers wears off all that it cost.
    expect(wear.perKwh * 6000 * 10 * 0.9).toBeCloseTo(6000, 9);
    expect(wear.basis).toBe(
      'all that the price covers ("one battery unit, installed") ÷ 6000 full cycles ÷ 9.00 kWh that a cycle delivers; age, heat and depth not weighed',
    );
  });

  test('without losses both sides of the inverter are one: 1 ÷ 10 a kWh', () => {
    expect(wearOf(bought, { capacityKwh: 10, dischargeEfficiency: 1 })!.perKwh).toBeCloseTo(0.1, 15);
  });

  test('a rebate is taken off what was paid, never off the battery’s own price', () => {
    const plant = { capacityKwh: 10, dischargeEfficiency: 0.9 };
    expect(wearOf({ ...bought, rebate: 1500 }, plant)!.cost).toBe(4500);
    const own = wearOf({ ...bought, rebate: 1500, batteryPrice: 4200 }, plant)!;
    expect(own.perCycle).toBeCloseTo(0.7, 15);
    expect(own.basis).toContain('the battery’s own price');
  });

  test('is unknown without a cycle life', () => {
    const plant = { capacityKwh: 10, dischargeEfficiency: 0.9 };
    expect(wearOf(undefined, plant)).toBeUndefined();
    expect(wearOf({ price: 6000, covers: 'one battery unit' }, plant)).toBeUndefined();
  });

  test('the section refuses a battery dearer than the whole', () => {
    const checked = checkDocument(economicsSchema, { ...bought, batteryPrice: 6001 });
    expect(checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.join('.')}`)).toEqual([
      'out-of-range batteryPrice',
    ]);
    expect(checkDocument(economicsSchema, { ...bought, batteryPrice: 6000 }).ok).toBe(true);
  });
});

describe('what full costs more than empty, a year', () => {
  // Half full it lasts 15 years, full 10: 9,000 × (1/10 − 1/15) = 300 more a year than half full, twice that more than empty.
  const aging = { ...bought, price: 9000, calendarYears: 15, calendarYearsFull: 10 };

  test('twice the difference of the two lives, of the battery’s own price where that is stated', () => {
    expect(wearOfFull(aging)).toBeCloseTo(600, 9);
    expect(wearOfFull({ ...aging, rebate: 1500 })).toBeCloseTo(500, 9);
    expect(wearOfFull({ ...aging, rebate: 1500, batteryPrice: 6000 })).toBeCloseTo(400, 9);
  });

  test('is unknown unless both lives are stated', () => {
    expect(wearOfFull(undefined)).toBeUndefined();
    expect(wearOfFull({ ...bought, calendarYears: 15 })).toBeUndefined();
    expect(wearOfFull({ ...bought, calendarYearsFull: 10 })).toBeUndefined();
  });
});
