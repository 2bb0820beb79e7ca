import { makeAxis } from '@duskbank/core/axis';
import { hold, selfConsumption } from '@duskbank/core/dispatch';
import { parseSite } from '@duskbank/core/site';
import { explain, makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

/** A home that draws 1 kW from the grid for eight weeks from 6 April 2026 on, with an idle battery. */
function steadyHome(charges: object, solarKwh?: Float64Array) {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 3',
    zone: 'America/Denver',
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: {
      startShare: 1,
      battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 },
    },
  });
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 3, 6, 6),
    stepMinutes: 60,
    intervals: 1344,
    zone: 'America/Denver',
  });
  const importKwh = new Float64Array(axis.intervals).fill(1);
  const exportKwh = solarKwh ?? new Float64Array(axis.intervals);
  const tariff = parseTariff({ format: 'duskbank.tariff/1', name: 'Blocks', currency: 'USD', ...charges });
  return makeStudy({ site, series: { axis, importKwh, exportKwh } as never, tariff });
}

/** 10 kWh a day: April's 25 days fill 250 kWh, May's 31 days 310 kWh. */
const blocks = [{ upToKwhPerDay: 10, pricePerKwh: 0.1 }, { pricePerKwh: 0.3 }];
const taxed = { energy: [{ name: 'Supply', blocks }], taxes: [{ name: 'Tax', percent: 10 }] };

describe('the block that an hour was in', () => {
  // Two days of 24 kWh before the third, 250 after ten days and ten hours, 600 kWh in April's 25 days.
  test.each([
    [48, 48, 1],
    [250, 250, 1],
    [251, 251, 2],
    [599, 599, 2],
    [600, 0, 1],
  ])('hour %i of the data: %i kWh bought before it in its bill, block %i', (index, beforeKwh, block) => {
    const { price, words } = explain(steadyHome(taxed), hold, index);
    expect(price.blocks).toHaveLength(1);
    const at = price.blocks[0]!;
    expect(at).toMatchObject({ charge: 'Supply', counts: 'import', per: 'bill', block, endBlock: 2 });
    expect(at.beforeKwh).toBeCloseTo(beforeKwh, 9);
    expect(at.endKwh).toBeCloseTo(index < 600 ? 600 : 744, 9);
    expect(at.fromKwh[1]).toBeCloseTo(index < 600 ? 250 : 310, 9);
    // With 10 % tax.
    expect(at.pricesPerKwh[0]).toBeCloseTo(0.11, 12);
    expect(at.pricesPerKwh[1]).toBeCloseTo(0.33, 12);
    expect(price.importPerKwh).toBeCloseTo(0.33, 12);
    expect(words.join(' ')).toContain(`this was block ${block} of 2`);
  });

  test('a bill that ends in its first block is priced there', () => {
    const { price, now, words } = explain(
      steadyHome({
        energy: [{ name: 'Supply', blocks: [{ upToKwhPerDay: 30, pricePerKwh: 0.1 }, { pricePerKwh: 0.3 }] }],
      }),
      hold,
      300,
    );
    expect(price.importPerKwh).toBeCloseTo(0.1, 12);
    expect(now.servingSaves).toBeLessThan(0.1);
    expect(words.join(' ')).toContain('in the same block');
  });

  test('stored energy is worth what the block that bills end in costs', () => {
    const { valueOfStoredKwh, now } = explain(steadyHome(taxed), hold, 100);
    expect(valueOfStoredKwh).toBeCloseTo(now.servingSaves, 9);
    expect(now.servingSaves).toBeGreaterThan(0.25);
  });

  test('blocks that start anew each day count the day', () => {
    const daily = { energy: [{ name: 'Supply', resets: 'day', blocks }] };
    const { price } = explain(steadyHome(daily), hold, 48 + 15);
    expect(price.blocks[0]).toMatchObject({ per: 'day', block: 2, endBlock: 2 });
    expect(price.blocks[0]!.beforeKwh).toBeCloseTo(15, 9);
    expect(price.blocks[0]!.endKwh).toBeCloseTo(24, 9);
  });

  test('under net metering what is sold empties them', () => {
    const netted = {
      energy: [{ name: 'Supply', blocks }],
      export: { kind: 'net-metering', within: 'period', carry: 'none' },
    };
    const solar = new Float64Array(1344).map((_, i) => (i % 24 === 12 ? 15 : 0));
    const { price } = explain(steadyHome(netted, solar), hold, 240);
    // Ten days of 24 kWh bought and 15 kWh sold; over 25 days 225 kWh, below the 250 of the first block.
    expect(price.blocks[0]).toMatchObject({ counts: 'netted', block: 1, endBlock: 1 });
    expect(price.blocks[0]!.beforeKwh).toBeCloseTo(90, 6);
    expect(price.importPerKwh).toBeCloseTo(0.1, 12);
  });

  test('a charge without blocks is in none', () => {
    expect(explain(steadyHome({ energy: [{ name: 'Supply', pricePerKwh: 0.2 }] }), hold, 10).price.blocks).toEqual([]);
  });
});

test('where keeping a kWh would have brought no more, no other deed is called the best', () => {
  // One price all day: a kWh is worth the same whenever it is given.
  const study = steadyHome({ windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.3 }] });
  const told = explain(study, selfConsumption, 3).words.join(' ');
  expect(told).toContain('It gave 1.00 kWh to the load.');
  expect(told).toContain('keeping it would have brought no more');
  expect(told).toContain('In hindsight nothing else would have been better.');
  // At the cheap hour before a dear one it would have been better kept.
  const dear = steadyHome({
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.6 },
      { name: 'rest', otherwise: true, pricePerKwh: 0.3 },
    ],
  });
  const lost = explain(dear, selfConsumption, 3).words.join(' ');
  expect(lost).toContain('keeping it would have brought more');
  expect(lost).toContain('from the same stored energy, it would have been best to');
});
