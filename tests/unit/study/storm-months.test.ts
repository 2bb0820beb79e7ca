import { compare, outage } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { hours } from '../../../packages/cli/src/render/numbers.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { stormLine } from '../../../packages/cli/src/render/storm.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

const PUMP = {
  name: 'Sump pump',
  appliance: 'sump-pump',
  watts: 800,
  startKva: 2,
  leg: 'L2',
  priority: 1,
  dutyShare: 0.05,
  stormDutyShare: 0.6,
};
const FRIDGE = {
  name: 'Refrigerator',
  appliance: 'refrigerator',
  watts: 170,
  startKva: 1.1,
  leg: 'L1',
  priority: 1,
  dutyShare: 0.4,
};
/** It draws in the winter alone. */
const FAN = {
  name: 'Furnace fan',
  appliance: 'furnace-fan',
  watts: 500,
  leg: 'L1',
  priority: 2,
  months: [11, 12, 1, 2],
  dutyShare: 0.5,
};

const home = (circuits: object[], stormMonths?: number[]) =>
  twoPriceHome({
    days: 365,
    evening: () => 1,
    plant: { floor: { share: 0.3 } },
    backup: {
      circuits,
      transfer: { kind: 'automatic' },
      output: { arrangement: 'pooled', surgeKva: 12, surgeSeconds: 3 },
      ...(stormMonths === undefined ? {} : { stormMonths }),
    },
  });

describe('all that is said of a storm is of the storm months', () => {
  const report = outage(home([FRIDGE, PUMP, FAN], [8, 9]), { floors: [1], headline: 'self-consumption' });
  const without = outage(home([FRIDGE, PUMP], [8, 9]), { floors: [1], headline: 'self-consumption' });
  const allYear = outage(home([FRIDGE, PUMP, FAN]), { floors: [1], headline: 'self-consumption' });

  test('what draws in other months alone shortens no hour of it, the worst one either', () => {
    expect(report.storm!.planningHours).toBeCloseTo(without.storm!.planningHours, 9);
    expect(report.storm!.duty!.planningHours).toBeCloseTo(without.storm!.duty!.planningHours, 9);
    expect(report.storm!.duty!.evenings!.p10).toBeCloseTo(without.storm!.duty!.evenings!.p10, 9);
    expect(report.storm!.planningHours).toBeGreaterThan(1.2 * allYear.storm!.planningHours);
    expect(report.storm!.duty!.planningHours).toBeGreaterThan(1.2 * allYear.storm!.duty!.planningHours);
    expect(compare(home([FRIDGE, PUMP, FAN], [8, 9]), { strategies: [] }).storm!.planningHours).toBe(
      report.storm!.planningHours,
    );
  });

  test('and the page names them wherever it says so; of all the year it names none', () => {
    const text = flat(outageText(report, true));
    expect(text).toContain(`${hours(report.storm!.duty!.planningHours)} in Aug, Sep with "Sump pump" hard at work *`);
    expect(text).toMatch(/9 of 10 evenings, circuits hard at work \* [\d.]+ h in the storm months/);
    expect(text).toContain('storm months: no sun, 80 %');
    expect(flat(stormLine(report.storm!, '', report.capHours))).toContain(
      `in 9 of 10 outages in Aug, Sep, ${hours(report.storm!.planningHours)} at the worst (no sun, 80 % of capacity)`,
    );
    expect(flat(outageText(allYear, true))).not.toMatch(/in the storm months|storm months: no sun|hard at work \*? in/);
  });

  test('where no settled start lies in them, of the starts there are; where the data hold none of them, of the year', () => {
    const few = twoPriceHome({
      days: 28,
      evening: () => 1,
      backup: { load: { watts: 500 }, stormMonths: [1] },
    });
    const ready = outage(few, { floors: [1], headline: 'self-consumption' }).storm!;
    expect([ready.unseenMonths, Number.isFinite(ready.planningHours)]).toEqual([[1], true]);
  });
});
