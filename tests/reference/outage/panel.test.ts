import {
  checkPanel,
  continuousAmps,
  EXISTING_DWELLING,
  measuredLoad,
  optionalDwellingLoad,
  panelCapacityVa,
  standardDwellingLoad,
} from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, series } from '../../unit/outage/island-home.ts';

describe('load calculations of published examples', () => {
  // NEC, Informative Annex D, example D2(a), as reproduced in trade publications.
  test('NEC annex example D2(a): heating larger than cooling, 21,480 VA', () => {
    const load = optionalDwellingLoad({
      floorAreaSqFt: 1500,
      appliancesVa: { range: 12_000, 'water heater': 2500, dishwasher: 1200, dryer: 5000 },
      spaceHeatVa: 9000,
      separateControls: 5,
      coolingVa: 6 * 230,
    });
    expect(load).toMatchObject({ generalVa: 29_700, generalDemandVa: 17_880, climateVa: 3600, totalVa: 21_480 });
    expect(load.amps).toBe(89.5);
  });

  // NEC, Informative Annex D, example D2(b): the printed product of six 7 A units at 240 V is 10,080 VA.
  test('NEC annex example D2(b): cooling larger than heating, 29,200 VA', () => {
    const load = optionalDwellingLoad({
      floorAreaSqFt: 1500,
      appliancesVa: { ovens: 8000, cooktop: 5100, 'water heater': 4500, dishwasher: 1200, 'washer and dryer': 5000 },
      coolingVa: 10_080,
      spaceHeatVa: 1500,
    });
    expect(load).toMatchObject({ generalVa: 32_800, generalDemandVa: 19_120, totalVa: 29_200 });
    expect(Math.round(load.amps)).toBe(122);
  });

  // NEC, Informative Annex D, example D1(a): range at its table demand of 8,000 VA.
  test('NEC annex example D1(a): standard method, 18,600 VA', () => {
    const load = standardDwellingLoad({ floorAreaSqFt: 1500, appliancesVa: { range: 8000, dryer: 5500 } });
    expect(load.totalVa).toBe(18_600);
    expect(load.amps).toBe(77.5);
  });

  // JADE Learning, 2016, on the 2014 NEC.
  test('a training example of 2016: 30,310 VA, 126 A', () => {
    const load = optionalDwellingLoad({
      floorAreaSqFt: 2800,
      appliancesVa: { range: 14_000, 'water heater': 3000, dryer: 5000, dishwasher: 1500 },
      centralHeatVa: 15_000,
      coolingVa: 29 * 240,
    });
    expect(load).toMatchObject({ generalVa: 36_400, generalDemandVa: 20_560, climateVa: 9750, totalVa: 30_310 });
    expect(Math.round(load.amps)).toBe(126);
  });

  // A practice examination on the 2017 NEC: 35,364 VA general, 36,246 VA in all.
  test('a practice examination: heat pump with supplementary heat, 36,246 VA, 151 A', () => {
    const load = optionalDwellingLoad({
      floorAreaSqFt: 2100,
      appliancesVa: { range: 13_000, 'water heater': 4500, dryer: 5000, dishwasher: 864, disposal: 1200 },
      heatPumpVa: 9600,
      supplementaryHeatVa: 10_000,
    });
    expect(load.generalVa).toBe(35_364);
    expect(Math.round(load.totalVa)).toBe(36_246);
    expect(Math.round(load.amps)).toBe(151);
  });

  test('the existing-dwelling method takes 8 kVA in full (Electrical Contractor magazine on NEC 220.83)', () => {
    const load = optionalDwellingLoad({ floorAreaSqFt: 1500, appliancesVa: { range: 7000 } }, EXISTING_DWELLING);
    // 4500 + 4500 + 7000 = 16,000; 8000 + 0.4 · 8000 = 11,200
    expect(load.totalVa).toBe(11_200);
  });

  test('another edition is another set of figures', () => {
    const load = optionalDwellingLoad(
      { floorAreaSqFt: 1500 },
      { name: 'assumed', vaPerSqFt: 2, circuitVa: 1500, firstVa: 5000, restShare: 0.4 },
    );
    expect(load.totalVa).toBe(5000 + 0.4 * 2500);
  });
});

describe('metered maximum', () => {
  test('highest 15-minute demand × 125 % plus new load, with every doubt named', () => {
    const year = axisOf(365 * 96, 15);
    const load = series(year.intervals, (i) => (i === 40_00 ? 2 : 0.2));
    const measured = measuredLoad(year, load, { newVa: 3000, hasSolar: false });
    // 2 kWh in a quarter of an hour are 8 kW; 8,000 · 1.25 + 3,000
    expect(measured).toMatchObject({ maximumKw: 8, interval: 4000, totalVa: 13_000, doubts: [] });
    expect(measuredLoad(year, load, { hasSolar: true }).doubts).toHaveLength(1);
    expect(measuredLoad(axisOf(100, 60), series(100, 1), { hasSolar: true }).doubts).toHaveLength(3);
  });
});

describe('breakers and panels', () => {
  test.each([
    // NEC 210.19, 210.20, 215.2: 125 % of continuous load, so 80 % of a standard breaker.
    [15, 12],
    [20, 16],
    [30, 24],
    [50, 40],
    [60, 48],
    [100, 80],
    [200, 160],
  ])('a %i A breaker carries %i A continuously', (amps, continuous) => {
    expect(continuousAmps(amps)).toBeCloseTo(continuous, 12);
  });

  test('a 15 A, 120 V circuit carries 1,440 W, a 20 A one 1,920 W; 16 A × 1.25 = 20 A exactly passes', () => {
    expect(continuousAmps(15) * 120).toBeCloseTo(1440, 9);
    expect(continuousAmps(20) * 120).toBeCloseTo(1920, 9);
    const conductors = (legVa: number) => checkPanel({ mainAmps: 100, conductorAmps: 20 }, legVa)[1]!.fits;
    // 16 A for three hours or more count 20.
    expect(conductors(1.25 * 16 * 120)).toBe(true);
    expect(conductors(1.25 * 16.01 * 120)).toBe(false);
  });

  test('a 100 A main at 120/240 V permits 24 kVA balanced, 19.2 kVA continuous (common practice, no source)', () => {
    expect(panelCapacityVa(100)).toEqual({ balancedVa: 24_000, continuousVa: 19_200 });
  });

  test('the heavier leg is held against main, sub-panel and conductors', () => {
    const checks = checkPanel({ mainAmps: 100, subPanelAmps: 60, conductorAmps: 55 }, 57 * 120);
    expect(checks.map((check) => [check.permittedAmps, check.fits])).toEqual([
      [100, null],
      [60, true],
      [55, false],
    ]);
  });
});
