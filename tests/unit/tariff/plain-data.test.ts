import { makeAxis } from '@duskbank/core/axis';
import { optimalDispatch } from '@duskbank/core/dispatch';
import { billTariff, billTotal, type CompiledTariff, compileTariff, marginalPrices } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

/** Places in a value that hold something other than plain data, such as `tariff.plan.days.count: function`. */
function notPlain(value: unknown, path: string, seen: Set<object>): string[] {
  if (typeof value === 'function' || typeof value === 'symbol') return [`${path}: ${typeof value}`];
  if (typeof value !== 'object' || value === null || seen.has(value)) return [];
  seen.add(value);
  if (ArrayBuffer.isView(value)) return [];
  if (Array.isArray(value)) return value.flatMap((entry, k) => notPlain(entry, `${path}[${k}]`, seen));
  if (Object.getPrototypeOf(value) !== Object.prototype) return [`${path}: ${value.constructor.name}`];
  return Object.entries(value).flatMap(([key, entry]) => notPlain(entry, `${path}.${key}`, seen));
}

function answers(compiled: CompiledTariff, flows: ReturnType<typeof randomFlows>) {
  const { windows, window, periods, period } = compiled;
  return {
    bill: billTariff(compiled, flows),
    total: billTotal(compiled, flows),
    marginal: marginalPrices(compiled, flows),
    labels: { windows, window, periods, period },
  };
}

function bound(compiled: CompiledTariff, { importKwh, exportKwh }: ReturnType<typeof randomFlows>) {
  const { axis, importPricePerKwh, exportPricePerKwh, terms } = compiled;
  return optimalDispatch({
    stepHours: axis.stepHours,
    netLoadKwh: importKwh.map((kwh, i) => kwh - exportKwh[i]!),
    importPricePerKwh,
    exportPricePerKwh,
    terms,
    capacityKwh: 10,
    floorKwh: 1,
    chargeLimitKw: 4,
    dischargeLimitKw: 5,
    initialKwh: 1,
    chargeEfficiency: 0.95,
    dischargeEfficiency: 0.95,
  });
}

describe('a compiled tariff is plain data: its structured clone answers the same, to the last bit', () => {
  const fixtures = tariffFixtures();
  it.each(fixtures.map((fixture) => [fixture.name, fixture] as const))('%s', (_, { tariff, axis, options }) => {
    const compiled = compileTariff(tariff, axis, options);
    expect(notPlain(compiled, 'tariff', new Set())).toEqual([]);
    const clone = structuredClone(compiled);
    expect(clone.plan).toBeDefined();
    const flows = randomFlows(7, axis.intervals, axis.stepMinutes);
    // `toStrictEqual` compares numbers by Object.is: 0 and −0 differ, and no digit may.
    expect(answers(clone, flows)).toStrictEqual(answers(compiled, flows));
    // The bound of a year takes seconds: some weeks do.
    const weeks = compileTariff(tariff, makeAxis({ ...axis, intervals: Math.min(1000, axis.intervals) }), options);
    const few = randomFlows(8, weeks.axis.intervals, axis.stepMinutes);
    expect(bound(structuredClone(weeks), few)).toStrictEqual(bound(weeks, few));
  });
});
