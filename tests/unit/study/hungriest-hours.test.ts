// How many modules a goal of hours asks for: by the hungriest stretch of so many hours, wherever in the data it lies.
import { circuits } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { outageStudy } from '../../support/outage-study.ts';

const GOAL_HOURS = 3;
const MODULE_KWH = 0.37;
const UNIT_KWH = 3.8;

/** Modules a unit for the whole panel, of a home that draws 0.4 kW but for one stretch of half hours, kWh each. */
function modulesFor(at: (intervals: number) => number, stretch: readonly number[]) {
  const circuit = { name: 'Lights', watts: 100, leg: 'L1', priority: 1 };
  const battery = { modules: { perUnit: 0, maxPerUnit: 16, usableKwh: MODULE_KWH } };
  const study = outageStudy({ circuits: [circuit], goalHours: GOAL_HOURS }, { battery });
  const { loadKwh, plant, axis } = study.home;
  loadKwh.fill(0.2);
  loadKwh.set(stretch, at(axis.intervals));
  const way = circuits(study).ways.find((each) => each.way === 'whole-panel')!;
  expect(way.units).toBe(1);
  return { modules: way.modulesPerUnit, plant };
}

// 9.1 kWh in three hours: an hour of 4 kW on each side of a quieter one.
const EVENING = [2, 2, 0.1, 1, 2, 2];
const IN_ALL_KWH = EVENING.reduce((sum, kwh) => sum + kwh, 0);

test.each([
  ['in the middle of the data', (n: number) => n / 2],
  ['at their start', () => 0],
  ['at their end', (n: number) => n - EVENING.length],
])('the hungriest hours are found %s', (_, at) => {
  const { modules, plant } = modulesFor(at, EVENING);
  const neededKwh = (IN_ALL_KWH + (plant.standbyW / 1000) * GOAL_HOURS) / plant.dischargeEfficiency;
  expect(modules).toBe(Math.ceil((neededKwh - UNIT_KWH) / MODULE_KWH));
});

test('a half hour that is hungry by itself counts as part of its hours alone', () => {
  // 2 kWh and five half hours of 0.2: less than one unit holds.
  expect(modulesFor((n) => n / 2, [2]).modules).toBe(0);
});
