// A limit of the service that is still to come: told with its date, applied to nothing that was metered.
import { hold, none, peakShave, selfConsumption } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { compare } from '@duskbank/core/study';
import { describe, expect, it } from 'vitest';
import { unmade } from '../../support/facts.ts';
import { hoursOf, smallSite } from '../panel/small-site.ts';

const DAYS = 10;
const FLAT = {
  windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }],
  export: { kind: 'net-billing', pricePerKwh: 0.05 },
};
const STRATEGIES = [none, hold, selfConsumption];

interface ToCome {
  readonly from: string;
  readonly without: { readonly unservedKwh: number; readonly lostKwh: number };
  readonly withBattery: { readonly unservedKwh: number; readonly lostKwh: number };
  readonly money: { readonly strategy: string; readonly savings: number; readonly savingsNow: number };
}

/** 1 kWh an hour, 5 at 18:00; where it is sunny, 5 kWh of sun at noon. */
const compared = async (service: object | undefined, sunny = false, strategies = STRATEGIES) => {
  const site = smallSite(
    hoursOf(DAYS, (h) => [h === 18 ? 5 : 1, sunny && h === 12 ? 5 : 0]),
    FLAT,
    {},
    {},
    service === undefined ? {} : { service },
  );
  const { study } = await loadSite(site.path, site.read);
  const report = compare(study, { strategies });
  const told = report.warnings.find(({ code }) => code === 'limit-to-come');
  if (told !== undefined) expect(unmade([told])).toEqual([]);
  return { report, told, data: told?.data as unknown as ToCome };
};

describe('a limit that is still to come', () => {
  it('changes no number of today, and says what it takes with and without the battery', async () => {
    const free = await compared(undefined, true);
    const later = await compared({ importLimitKw: 3, exportLimitKw: 1, from: '2026-07-01' }, true);
    expect(later.report.baseline).toEqual(free.report.baseline);
    expect(later.report.strategies).toEqual(free.report.strategies);
    expect(later.report.bound).toEqual(free.report.bound);
    expect(free.told).toBeUndefined();
    expect(later.report.warnings.some(({ code }) => code === 'limit-below-metered')).toBe(false);
    // 5 kWh at 18:00 against 3; 4 kWh sold at noon against 1. The battery stores 2 of them, and gives them until 15:00.
    expect(later.data.without.unservedKwh).toBeCloseTo(2 * DAYS, 9);
    expect(later.data.without.lostKwh).toBeCloseTo(3 * DAYS, 9);
    expect(later.data.withBattery.lostKwh).toBeCloseTo(DAYS, 9);
    expect(later.told!.message).toMatch(
      /^from 2026-07-01 on the service lets at most 3 kW be drawn and 1 kW be fed to/,
    );
    // Nothing of what is stored would have been sold for more than 0.05 in place of 0.25; what would be lost costs nothing.
    expect(later.data.money.savingsNow).toBeCloseTo(2 * DAYS * 0.2, 6);
    expect(later.data.money.savings).toBeGreaterThan(later.data.money.savingsNow);
  });

  it('counts kWh that stay away as bought, so that neither serving nor leaving them saves money', async () => {
    const shave = peakShave({ targetKw: 3 });
    const { data } = await compared({ importLimitKw: 3, from: '2026-07-01' }, false, [none, shave]);
    expect(data.money.strategy).toBe(shave.name);
    // The first evening finds the battery empty or not: no later one does.
    expect(data.withBattery.unservedKwh).toBeLessThanOrEqual(2);
    expect(data.without.unservedKwh).toBeCloseTo(2 * DAYS, 9);
    // 28 kWh a day at 0.25 in both: nothing is saved, but that something is left in the store at the end.
    expect(Math.abs(data.money.savings)).toBeLessThanOrEqual(4 * 0.25 + 0.01);
  });

  it.each(['2024-06-01', '2025-01-01', undefined])('that holds since %s is one of today', async (from) => {
    const { told, report } = await compared({ importLimitKw: 3, ...(from === undefined ? {} : { from }) });
    expect(told).toBeUndefined();
    expect(report.warnings.map(({ code }) => code)).toContain('limit-below-metered');
  });
});
