import {
  expectedUnservedKwhPerYear,
  lastsLonger,
  meanLengthUpTo,
  outageKinds,
  reliabilityIndices,
  US_AVERAGE_2023,
} from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';

describe('indices of IEEE 1366', () => {
  // IEEE Std 1366, sample system; the table's place is from memory, its arithmetic made again.
  test('the sample feeder: SAIFI 1.6075, SAIDI 86.110 min, CAIDI 53.57 min, ASAI 0.999836', () => {
    const indices = reliabilityIndices(
      [
        { minutes: 8.17, customers: 200 },
        { minutes: 71.3, customers: 600 },
        { minutes: 30.3, customers: 25 },
        { minutes: 267.2, customers: 90 },
        { minutes: 120, customers: 700 },
        { minutes: 10, customers: 1500 },
        { minutes: 40, customers: 100 },
      ],
      2000,
    );
    expect(indices.saifi).toBe(1.6075);
    expect(indices.saidiMinutes).toBeCloseTo(86.11, 3);
    expect(indices.caidiMinutes).toBeCloseTo(53.57, 2);
    expect(indices.asai).toBeCloseTo(0.999836, 6);
  });

  // An open reliability-metrics training page.
  test('a course example: SAIFI 0.06, SAIDI 0.58 min, CAIDI 9.67 min', () => {
    const indices = reliabilityIndices(
      [
        { customers: 100, minutes: 5 },
        { customers: 200, minutes: 10 },
        { customers: 300, minutes: 11 },
      ],
      10_000,
    );
    expect(indices.saifi).toBe(0.06);
    expect(indices.saidiMinutes).toBeCloseTo(0.58, 12);
    expect(indices.caidiMinutes).toBeCloseTo(9.67, 2);
  });

  test('without interruptions CAIDI is undefined', () => {
    expect(reliabilityIndices([], 100)).toEqual({ saifi: 0, saidiMinutes: 0, caidiMinutes: null, asai: 1 });
  });

  test('the US averages of 2023 hold together: 1.348 × 271.8 = 366.4 min printed 366.6; 1.022 × 121.3 = 124.0 printed 123.9 (EIA, Electric Power Annual 11.1)', () => {
    expect(Math.abs(US_AVERAGE_2023.saifi * US_AVERAGE_2023.caidiMinutes - 366.6)).toBeLessThan(0.3);
    expect(Math.abs(US_AVERAGE_2023.ordinarySaifi! * US_AVERAGE_2023.ordinaryCaidiMinutes! - 123.9)).toBeLessThan(0.2);
  });
});

describe('outage lengths', () => {
  test('ordinary outages and major events add up to all: frequency and minutes', () => {
    const kinds = outageKinds(US_AVERAGE_2023);
    expect(kinds).toHaveLength(2);
    expect(kinds.reduce((sum, kind) => sum + kind.perYear, 0)).toBeCloseTo(1.348, 9);
    expect(kinds.reduce((sum, kind) => sum + kind.perYear * kind.meanHours * 60, 0)).toBeCloseTo(1.348 * 271.8, 6);
    expect(kinds[1]!.meanHours).toBeGreaterThan(12);
  });

  test('the mean of a kind is what was published, and its tail is heavy', () => {
    const [kind] = outageKinds({ saifi: 1, caidiMinutes: 240 });
    expect(meanLengthUpTo(kind!, 1e7)).toBeCloseTo(4, 3);
    // An exponential of the same mean would last a day once in 403 times: e^−6 = 0.0025.
    expect(lastsLonger(kind!, 24)).toBeGreaterThan(0.02);
    // Numerical integral of the chance to last longer, 0.01 h steps.
    let integral = 0;
    for (let j = 0; j < 1200; j++) integral += 0.01 * lastsLonger(kind!, j / 100 + 0.005);
    expect(meanLengthUpTo(kind!, 12)).toBeCloseTo(integral, 3);
  });

  test('expected unserved energy: no battery misses SAIDI × load; a battery that carries t hours misses the rest', () => {
    const kinds = outageKinds({ saifi: 2, caidiMinutes: 120 });
    // 0.5 kW missing from the first minute: 2 · 2 h · 0.5 kW = 2 kWh a year.
    expect(expectedUnservedKwhPerYear(kinds, { hours: [0, 1, 336], kwh: [0, 0.5, 168] })).toBeCloseTo(2, 6);
    const carried = expectedUnservedKwhPerYear(kinds, { hours: [0, 4, 336], kwh: [0, 0, 166] });
    expect(carried).toBeCloseTo(2 * 0.5 * (2 - meanLengthUpTo(kinds[0]!, 4)), 6);
    // The mean alone would say that four hours cover a two-hour outage always.
    expect(carried).toBeGreaterThan(0.5);
  });
});
