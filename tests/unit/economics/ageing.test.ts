import { FIELD_FADE_PER_YEAR, gasper, naumann, rainflow } from '@duskbank/core/economics';
import { describe, expect, test } from 'vitest';

describe('rainflow', () => {
  // ASTM E1049-85, section 5.4.4 and figure 6
  test('of the standard’s own series', () => {
    expect(rainflow(Float64Array.of(-2, 1, -3, 5, -1, 3, -4, 4, -2))).toEqual([
      { range: 3, mean: -0.5, count: 0.5, from: 0, to: 1 },
      { range: 4, mean: -1, count: 0.5, from: 1, to: 2 },
      { range: 4, mean: 1, count: 1, from: 4, to: 5 },
      { range: 8, mean: 1, count: 0.5, from: 2, to: 3 },
      { range: 9, mean: 0.5, count: 0.5, from: 3, to: 6 },
      { range: 8, mean: 0, count: 0.5, from: 6, to: 7 },
      { range: 6, mean: 1, count: 0.5, from: 7, to: 8 },
    ]);
  });

  // The second series in the tests of the public package that counts by the same standard.
  test('of a longer one', () => {
    const values = [-1.5, 1, -3, 10, -1, 3, -8, 4, -2, 6, -1, -4, -8, 2, 1, -5, 0, 2.5, -4, 1, 0, 2, -0.5];
    const byRange = new Map<number, number>();
    for (const { range, count } of rainflow(Float64Array.from(values)))
      byRange.set(range, (byRange.get(range) ?? 0) + count);
    expect(Object.fromEntries(byRange)).toEqual({
      1: 1,
      2.5: 1,
      4: 1.5,
      6: 1.5,
      6.5: 0.5,
      7: 1,
      10.5: 0.5,
      13: 0.5,
      14: 1,
      18: 0.5,
    });
  });

  test('a swing as wide as the one before closes a whole cycle', () => {
    expect(rainflow(Float64Array.of(-5, 5, 0, 5))).toEqual([
      { range: 5, mean: 2.5, count: 1, from: 1, to: 2 },
      { range: 10, mean: 0, count: 0.5, from: 0, to: 3 },
    ]);
  });

  test('of what never turns: one half cycle, none of what never moves', () => {
    expect(rainflow(Float64Array.of(0, 1, 1, 3))).toEqual([{ range: 3, mean: 1.5, count: 0.5, from: 0, to: 3 }]);
    expect(rainflow(Float64Array.of(2, 2, 2))).toEqual([]);
    expect(rainflow(new Float64Array())).toEqual([]);
  });
});

describe('fade', () => {
  // Reckoned from the published formulas; per cent.
  test.each([
    [1, 25, 0.5, 4.252],
    [10, 25, 0.5, 13.445],
    [10, 25, 1, 21.419],
    [10, 25, 0, 5.471],
    [10, 10, 0.5, 9.324],
    [10, 40, 0.5, 18.718],
    // The cells of the paper: 885 days.
    [885 / 365, 40, 1, 14.684],
  ])('after Naumann, %d years at %d °C, %d full', (years, temperatureC, soc, percent) => {
    expect(Number((100 * naumann.calendarFade(years, { temperatureC, soc })).toFixed(3))).toBe(percent);
  });

  test.each([
    [1000, 0.5, 0.8, 4.573],
    [3000, 0.5, 0.8, 7.921],
    [3000, 0.5, 0.4, 7.467],
    [3000, 0.25, 1, 8.344],
    [3000, 1, 1, 11.837],
  ])('after Naumann, %d cycles at %d C, %d deep', (fullCycles, cRate, depth, percent) => {
    const use = { temperatureC: 25, cRate, depth };
    expect(Number((100 * naumann.cycleFade(fullCycles, use)).toFixed(3))).toBe(percent);
    // Cycled at one temperature: none is in it.
    expect(naumann.cycleFade(fullCycles, { ...use, temperatureC: 10 })).toBe(naumann.cycleFade(fullCycles, use));
  });

  test.each([
    [25, 0.5, 3.7],
    [25, 1, 5.75],
    [25, 0.1, 1],
    [10, 0.5, 1.36],
    [40, 0.5, 9.17],
  ])('after Gasper, ten years at %d °C, %d full', (temperatureC, soc, percent) => {
    expect(Number((100 * gasper.calendarFade(10, { temperatureC, soc })).toFixed(2))).toBe(percent);
  });

  test.each([
    [0.25, 0.8, 11.51],
    [0.25, 1, 11.88],
    [0.5, 0.8, 16.44],
  ])('after Gasper, 3,000 cycles at %d C, %d deep', (cRate, depth, percent) => {
    expect(Number((100 * gasper.cycleFade(3000, { temperatureC: 25, cRate, depth })).toFixed(2))).toBe(percent);
  });

  test('the two disagree by 3.6 on ten years at 25 °C, half full; homes lose 2 to 3 points a year', () => {
    const at = { temperatureC: 25, soc: 0.5 };
    expect(naumann.calendarFade(10, at) / gasper.calendarFade(10, at)).toBeCloseTo(3.6, 1);
    expect(FIELD_FADE_PER_YEAR).toMatchObject({ low: 0.02, middle: 0.025, high: 0.03 });
  });
});
