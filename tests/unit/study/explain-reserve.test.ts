import { makeAxis } from '@duskbank/core/axis';
import { selfConsumption } from '@duskbank/core/dispatch';
import { parseSite } from '@duskbank/core/site';
import { circuits, explain, makeStudy, settings } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { standardStrategies } from '../../../packages/core/src/study/strategies.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

// 8 kWh, 3 kW; the evening from 17 to 21 h draws 1 kW, the rest of the day 0.2 kW.
const homeWith = (backup: Record<string, unknown>) =>
  twoPriceHome({ evening: () => 1, plant: { floor: { share: 0.2 }, startShare: 1 }, backup });

test('an interval that holds back for a floor that will rise says so, and one on a floor that stands does not', () => {
  const study = homeWith({ reserve: { byHour: [{ from: '21:00', to: '06:00', share: 0.6 }] } });
  const { minuteOfDay, day } = study.home.axis.calendar;
  const at = (hour: number) => minuteOfDay.findIndex((minute, i) => day[i] === 10 && minute === hour * 60);
  const evening = explain(study, selfConsumption, at(20));
  // 60 % of 8 kWh; the floor of the hour from 21 h is kept at its end.
  expect(evening.limits).toContain('a reserve floor that will rise: 4.80 kWh are to be there in 1 h; now it is 1.60');
  expect(evening.words.join(' ')).toContain('What held it: a reserve floor that will rise');
  expect(explain(study, selfConsumption, at(23)).limits.join()).not.toContain('will rise');
  const standing = homeWith({});
  for (const hour of [3, 17, 20])
    expect(explain(standing, selfConsumption, at(hour)).limits.join()).not.toContain('will rise');
});

test('a planned outage ahead is such a floor from its notice on, and none before', () => {
  const study = homeWith({
    reserve: { planned: [{ from: '2026-04-16T12:00', to: '2026-04-16T16:00', noticeHours: 24 }] },
  });
  const { minuteOfDay, day } = study.home.axis.calendar;
  const told = (date: number, hour: number) =>
    explain(
      study,
      selfConsumption,
      minuteOfDay.findIndex((minute, i) => day[i] === date && minute === hour * 60),
    ).limits.join();
  // The axis begins on 6 April: day 9 is the 15th. Notice comes at noon.
  expect(told(9, 11)).not.toContain('will rise');
  expect(told(9, 12)).toContain('a reserve floor that will rise: 8.00 kWh are to be there in');
});

test('within a planned outage and its notice it says that the grid was to be down, and why all is kept', () => {
  const study = homeWith({
    reserve: { planned: [{ from: '2026-04-16T12:00', to: '2026-04-16T16:00', noticeHours: 24 }] },
  });
  const { minuteOfDay, day } = study.home.axis.calendar;
  const told = (date: number, hour: number) => {
    const index = minuteOfDay.findIndex((minute, i) => day[i] === date && minute === hour * 60);
    return explain(study, selfConsumption, index).words.filter((line) => line.includes('grid was to be down'));
  };
  const from = 'The grid was to be down from 2026-04-16T12:00 to 2026-04-16T16:00, a planned outage';
  const kept = 'as much as there can be is kept for it. Prices and flows are those of a grid that stays up.';
  expect(told(10, 12)).toEqual([`${from}: ${kept}`]);
  expect(told(10, 15)).toEqual([`${from}: ${kept}`]);
  expect(told(9, 12)).toEqual([`${from}, known 24 h before: ${kept}`]);
  expect(told(10, 11)).toEqual([`${from}, known 24 h before: ${kept}`]);
  // Before its notice, and once the grid is back.
  for (const [date, hour] of [
    [9, 11],
    [10, 16],
  ] as const)
    expect(told(date, hour)).toEqual([]);
});

test('what a stored kWh was worth is told of the data, which are no year here', () => {
  const words = explain(homeWith({}), selfConsumption, 100).words.join(' ');
  expect(words).toContain('as the rest of the data turned out');
  expect(words).not.toContain('year');
});

test('of a medical home it tells what the sheet tells', () => {
  const circuit = { name: 'Breathing aid', watts: 150, leg: 'L1', priority: 1, medical: true };
  const study = homeWith({ circuits: [circuit], transfer: { kind: 'automatic' } });
  expect(settings(study).sheet.reservePercent).toBe(100);
  const strategy = standardStrategies(study).find(({ name }) => name === 'settings')!;
  const told = explain(study, strategy, 250).words.join(' ');
  expect(told).toContain(
    'The box was told to keep all of it for an outage, for the circuit that is life-supporting or medical',
  );
  expect(told).not.toContain('charge from the grid');
});

test.each([
  ['Australia/Sydney', true],
  ['America/Denver', false],
])('a load calculation in %s names the code as what it is', (zone, foreign) => {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'Mill Row 5',
    zone,
    meter: { files: ['none.csv'] },
    tariff: 'none.json',
    plant: { battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85 } },
    backup: {
      circuits: [{ name: 'Lights', watts: 300, leg: 'L1', priority: 1 }],
      panel: { mainAmps: 100, dwelling: { floorAreaSqFt: 1500 } },
    },
  });
  const axis = makeAxis({ startEpochMs: Date.UTC(2026, 3, 6), stepMinutes: 60, intervals: 336, zone });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'One Price',
    currency: 'USD',
    windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }],
  });
  const importKwh = new Float64Array(axis.intervals).fill(0.5);
  const { calculated } = circuits(makeStudy({ site, series: { axis, importKwh } as never, tariff }));
  expect(calculated!.method.startsWith('the optional method of the US code')).toBe(foreign);
  expect(calculated!.method.endsWith('your local code counts')).toBe(foreign);
});

test('a day on which the sheet holds is told as the sheet tells it: no window from 00:00 to 00:00', () => {
  const study = twoPriceHome({
    evening: (day) => (day % 7 < 5 ? 1 : 0.2),
    plant: { floor: { share: 0.2 }, controller: { windowsPerDay: 2, weekends: true } },
    tariff: {
      windows: [
        { name: 'evening', days: 'weekday', from: '17:00', to: '21:00', pricePerKwh: 0.45 },
        { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
      ],
    },
  });
  const strategy = standardStrategies(study).find(({ name }) => name === 'settings')!;
  const sheet = settings(study).sheet;
  const holding = sheet.schedules.find(
    ({ days, charge }) => days === 'weekends' && charge !== null && charge.fromMinute === charge.toMinute,
  )!;
  const told = explain(study, strategy, 24 * 5).words[0]!;
  const buys = holding.chargeToPercent > sheet.reservePercent;
  expect(told).toContain(
    buys
      ? `charge from the grid all day up to ${holding.chargeToPercent} % and never carry load (hold)`
      : 'never charge from the grid and never carry load (hold)',
  );
  expect(told).not.toContain('00:00–00:00');
});
