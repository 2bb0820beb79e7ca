// What a site file says of its data, account, solar and battery.
import { type Case, site } from './case.ts';

export const PLANS: readonly Case[] = [
  site(
    'location without longitude',
    (s) => {
      s.location = { latitudeDeg: 40 };
    },
    {
      code: 'missing',
      field: 'location.longitudeDeg',
      line: 23,
      value: 'nothing',
      expected: 'a finite number',
      hint: 'add "longitudeDeg"',
    },
  ),
  site(
    'span from after to',
    (s) => {
      s.meter.span = {
        from: '2025-02-01',
        to: '2025-01-14',
      };
    },
    {
      code: 'invalid',
      field: 'meter.span.from',
      line: 10,
      value: '"2025-02-01"',
      expected: 'a "from" that is not after "to"',
    },
  ),
  site(
    'span of another year',
    (s) => {
      s.meter.span = {
        from: '2024-01-01',
        to: '2024-12-31',
      };
    },
    {
      code: 'span-empty',
      field: 'meter.span',
      line: 9,
      value: 'readings of 2025-01-13 to 2025-01-16 only',
      expected: 'a span that the files have readings of',
    },
  ),
  site(
    'span with a time',
    (s) => {
      s.meter.span = { from: '2025-01-13T00:00' };
    },
    {
      code: 'not-a-date',
      field: 'meter.span.from',
      line: 10,
      value: '"2025-01-13T00:00"',
      expected: 'a date that exists, such as "2026-03-31"',
    },
  ),
  site(
    'gap filled of a year',
    (s) => {
      s.meter.repair = { maxGapHours: 9e3 };
    },
    { code: 'out-of-range', field: 'meter.repair.maxGapHours', line: 10, value: '9000', expected: 'at most 2208' },
  ),
  site(
    'a role that rows cannot have',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          rows: { A: 'wind' },
        },
      ];
    },
    {
      code: 'not-allowed',
      field: 'meter.files[0].rows.A',
      line: 10,
      value: '"wind"',
      expected: 'one of import, export, load, solar, net, ignore',
    },
  ),
  site(
    'column zero',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          columns: { start: 0 },
        },
      ];
    },
    { code: 'out-of-range', field: 'meter.files[0].columns.start', line: 10, value: '0', expected: 'at least 1' },
  ),
  site(
    'column twice',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          columns: { load: ['load kWh', 'load kWh'] },
        },
      ];
    },
    {
      code: 'column-twice',
      in: 'home.csv',
      value: 'column 2 "load kWh" is named twice in "columns": its energy ',
      expected: 'each column once',
      hint: 'leave one of the two out; if the home has another column of ',
    },
  ),
  site(
    'a fixed clock misspelt',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          clock: 'summer',
        },
      ];
    },
    {
      code: 'not-allowed',
      field: 'meter.files[0].clock',
      line: 9,
      value: '"summer"',
      expected: 'one of local, standard, utc',
    },
  ),
  site(
    'a scale of nothing',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          adjust: { scale: { load: 0 } },
        },
      ];
    },
    { code: 'out-of-range', field: 'meter.files[0].adjust.scale.load', line: 11, value: '0', expected: 'more than 0' },
  ),
  site(
    'a shift of half a minute',
    (s) => {
      s.meter.files = [
        {
          path: 'home.csv',
          adjust: { shiftMinutes: 0.5 },
        },
      ];
    },
    {
      code: 'wrong-type',
      field: 'meter.files[0].adjust.shiftMinutes',
      line: 10,
      value: '0.5',
      expected: 'a whole number',
    },
  ),
  site(
    'a file without a path',
    (s) => {
      s.meter.files = [{ unit: 'kWh' }];
    },
    {
      code: 'missing',
      field: 'meter.files[0].path',
      line: 7,
      value: 'nothing',
      expected: 'a text in quotes',
      hint: 'add "path"',
    },
  ),
  site(
    'read dates out of order',
    (s) => {
      s.account = { readDates: ['2025-02-10', '2025-01-10'] };
    },
    {
      code: 'not-rising',
      field: 'account.readDates[1]',
      line: 26,
      value: '"2025-01-10"',
      expected: 'a date after 2025-02-10',
      hint: 'order the dates',
    },
  ),
  site(
    'cycle day 32',
    (s) => {
      s.account = { cycleDay: 32 };
    },
    { code: 'out-of-range', field: 'account.cycleDay', line: 24, value: '32', expected: 'at most 31' },
  ),
  site(
    'power factor in percent',
    (s) => {
      s.account = { powerFactor: 95 };
    },
    {
      code: 'out-of-range',
      field: 'account.powerFactor',
      line: 24,
      value: '95',
      expected: 'at most 1',
      hint: 'write 0.95 for 95 %',
    },
  ),
  site(
    'starts on no day',
    (s) => {
      s.startsOn = '2025-13-01';
    },
    {
      code: 'not-a-date',
      field: 'startsOn',
      line: 23,
      value: '"2025-13-01"',
      expected: 'a date that exists, such as "2026-03-31"',
    },
  ),
  site(
    'planned solar in both forms',
    (s) => {
      s.plannedSolar = {
        file: 'a.csv',
        scaleOfExisting: 1,
      };
    },
    {
      code: 'not-together',
      field: 'plannedSolar',
      line: 23,
      value: '{"file":"a.csv","scaleOfExisting":1}',
      expected: 'one of "file" and "scaleOfExisting"',
    },
  ),
  site(
    'planned solar of no solar',
    (s) => {
      s.plannedSolar = { scaleOfExisting: 1 };
    },
    {
      code: 'missing-channel',
      field: 'plannedSolar.scaleOfExisting',
      line: 24,
      value: 'no metered solar to scale',
      expected: 'a solar column among the metered data',
      hint: 'give the planned array’s production instead: "plannedSolar":',
    },
  ),
  site(
    'planned solar missing',
    (s) => {
      s.plannedSolar = { file: 'array.csv' };
    },
    {
      code: 'file-missing',
      in: 'array.csv',
      value: 'no file of this name',
      expected: 'a file that exists',
      hint: 'field "plannedSolar.file"',
    },
  ),
  site(
    'planned solar empty',
    (s) => {
      s.plannedSolar = {};
    },
    { code: 'missing', field: 'plannedSolar', line: 23, value: '{}', expected: 'one of "file" and "scaleOfExisting"' },
  ),
  site(
    'battery in Wh',
    (s) => {
      s.plant.battery.usableKwh = 5e3;
    },
    {
      code: 'out-of-range',
      field: 'plant.battery.usableKwh',
      line: 14,
      value: '5000',
      expected: 'at most 1000 kWh, of one unit',
      hint: 'it is in kWh: is this in Wh? Then write 5',
    },
  ),
  site(
    'power in W',
    (s) => {
      s.plant.battery.chargeKw = 2e3;
    },
    {
      code: 'out-of-range',
      field: 'plant.battery.chargeKw',
      line: 15,
      value: '2000',
      expected: 'at most 1000 kW, of one unit',
      hint: 'it is in kW: is this in W? Then write 2',
    },
  ),
  site(
    'decay of more than half',
    (s) => {
      s.plant.battery.decayPerMonth = 0.9;
    },
    { code: 'out-of-range', field: 'plant.battery.decayPerMonth', line: 18, value: '0.9', expected: 'at most 0.5' },
  ),
  site(
    'breaker without volts',
    (s) => {
      s.plant.breaker = { ampere: 20 };
    },
    {
      code: 'missing',
      field: 'plant.breaker.volt',
      line: 22,
      value: 'nothing',
      expected: 'a finite number',
      hint: 'add "volt"',
    },
  ),
  site(
    'breaker of no ampere',
    (s) => {
      s.plant.breaker = {
        ampere: 0,
        volt: 240,
      };
    },
    { code: 'out-of-range', field: 'plant.breaker.ampere', line: 23, value: '0', expected: 'at least 0.01' },
  ),
  site(
    'start above 1',
    (s) => {
      s.plant.startShare = 50;
    },
    {
      code: 'out-of-range',
      field: 'plant.startShare',
      line: 22,
      value: '50',
      expected: 'at most 1',
      hint: 'write 0.5 for 50 %',
    },
  ),
  site(
    'controller with three windows',
    (s) => {
      s.plant.controller = { windowsPerDay: 3 };
    },
    { code: 'out-of-range', field: 'plant.controller.windowsPerDay', line: 23, value: '3', expected: 'at most 2' },
  ),
  site(
    'clock of seven minutes',
    (s) => {
      s.plant.controller = {
        windowsPerDay: 1,
        clockMinutes: 7,
      };
    },
    {
      code: 'wrong-type',
      field: 'plant.controller.clockMinutes',
      line: 24,
      value: '7',
      expected: '5, or 10, or 15, or 30, or 60',
    },
  ),
  site(
    'seasons none',
    (s) => {
      s.plant.controller = {
        windowsPerDay: 1,
        seasons: 0,
      };
    },
    { code: 'out-of-range', field: 'plant.controller.seasons', line: 24, value: '0', expected: 'at least 1' },
  ),
  site(
    'follows the weather',
    (s) => {
      s.plant.controller = {
        windowsPerDay: 1,
        follows: 'weather',
      };
    },
    {
      code: 'not-allowed',
      field: 'plant.controller.follows',
      line: 24,
      value: '"weather"',
      expected: '"published-prices"',
    },
  ),
  site(
    'reach file missing',
    (s) => {
      s.plant.reach = { file: 'panel.csv' };
    },
    {
      code: 'file-missing',
      in: 'panel.csv',
      value: 'no file of this name',
      expected: 'a file that exists',
      hint: 'field "plant.reach.file"',
    },
  ),
  site(
    'service limit negative',
    (s) => {
      s.service = { importLimitKw: -1 };
    },
    { code: 'out-of-range', field: 'service.importLimitKw', line: 24, value: '-1', expected: 'at least 0.001' },
  ),
];
