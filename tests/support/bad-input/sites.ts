// What a site file says, and the files that it names.
import { type Case, csv, rowsOf, SITE, site } from './case.ts';

export const SITES: readonly Case[] = [
  site(
    'another format',
    (s) => {
      s.format = 'duskbank.tariff/1';
    },
    {
      code: 'wrong-format',
      line: 2,
      field: 'format',
      value: 'duskbank.tariff/1',
      expected: 'duskbank.site/1',
      hint: 'no site file',
    },
  ),
  site(
    'another version',
    (s) => {
      s.format = 'duskbank.site/2';
    },
    {
      code: 'unknown-version',
      line: 2,
      field: 'format',
      value: 'duskbank.site/2',
      expected: 'duskbank.site/1',
      hint: 'another version',
    },
  ),
  site(
    'no format',
    (s) => {
      delete s.format;
    },
    { code: 'missing', field: 'format', value: 'nothing', expected: 'duskbank.site/1', hint: 'add "format"' },
  ),
  site(
    'unknown key',
    (s) => {
      s.tarif = s.tariff;
    },
    { code: 'unknown-key', field: 'tarif', value: '"tarif"', hint: 'did you mean "tariff"?' },
  ),
  site(
    'unknown key, deep',
    (s) => {
      s.plant.battery.usableKWh = 5;
    },
    {
      code: 'unknown-key',
      line: 18,
      field: 'plant.battery.usableKWh',
      value: '"usableKWh"',
      hint: 'did you mean "usableKwh"?',
    },
  ),
  {
    name: 'site: __proto__',
    site: JSON.stringify(SITE).replace('"plant":', '"__proto__": {"admin": true}, "plant":'),
    code: 'forbidden-key',
    in: 'site.json',
    line: 1,
    field: '__proto__',
    value: '__proto__',
    hint: 'remove',
  },
  site(
    'constructor',
    (s) => {
      s.plant.constructor = { prototype: {} };
    },
    { code: 'forbidden-key', field: 'plant.constructor', value: 'constructor', hint: 'remove' },
  ),
  site(
    'unknown zone',
    (s) => {
      s.zone = 'America/Denvr';
    },
    { code: 'unknown-zone', line: 4, field: 'zone', value: 'America/Denvr', expected: 'IANA', hint: 'offset' },
  ),
  site(
    'an offset for a zone',
    (s) => {
      s.zone = 'UTC-7';
    },
    { code: 'unknown-zone', line: 4, field: 'zone', value: 'UTC-7', hint: 'clock changes' },
  ),
  site(
    'no data',
    (s) => {
      s.meter.files = [];
    },
    { code: 'out-of-range', field: 'meter.files', value: '[]', expected: 'at least 1' },
  ),
  site(
    'number as text',
    (s) => {
      s.plant.battery.usableKwh = '5';
    },
    {
      code: 'wrong-type',
      line: 14,
      field: 'plant.battery.usableKwh',
      value: '"5"',
      expected: 'number',
      hint: 'quotes',
    },
  ),
  site(
    'text in a number',
    (s) => {
      s.plant.battery.chargeKw = 'two';
    },
    { code: 'wrong-type', field: 'plant.battery.chargeKw', value: '"two"', expected: 'number' },
  ),
  {
    name: 'site: NaN',
    site: JSON.stringify(SITE, null, 2).replace('"usableKwh": 5', '"usableKwh": .nan'),
    code: 'wrong-type',
    in: 'site.json',
    line: 14,
    field: 'plant.battery.usableKwh',
    value: 'what is no number',
    expected: 'finite',
  },
  {
    name: 'site: Infinity',
    site: JSON.stringify(SITE, null, 2).replace('"usableKwh": 5', '"usableKwh": .inf'),
    code: 'wrong-type',
    in: 'site.json',
    line: 14,
    field: 'plant.battery.usableKwh',
    value: 'an infinite number',
    expected: 'finite',
  },
  site(
    'half a unit',
    (s) => {
      s.plant.battery.units = 1.5;
    },
    { code: 'wrong-type', field: 'plant.battery.units', value: '1.5', expected: 'whole number' },
  ),
  site(
    'no unit',
    (s) => {
      s.plant.battery.units = 0;
    },
    { code: 'out-of-range', field: 'plant.battery.units', value: '0', expected: 'at least 1' },
  ),
  site(
    'a hundred units',
    (s) => {
      s.plant.battery.units = 100;
    },
    { code: 'out-of-range', field: 'plant.battery.units', value: '100', expected: 'at most 12' },
  ),
  site(
    'more units than the maker allows',
    (s) => {
      s.plant.battery.units = 3;
      s.plant.battery.maxUnits = 2;
    },
    { code: 'above-cap', field: 'plant.battery.units', value: '3', expected: 'at most 2' },
  ),
  site(
    'more modules than the maker allows',
    (s) => {
      s.plant.battery.modules = { perUnit: 4, maxPerUnit: 2, usableKwh: 3 };
    },
    { code: 'above-cap', field: 'plant.battery.modules.perUnit', value: '4', expected: 'at most 2' },
  ),
  site(
    'efficiency 0',
    (s) => {
      s.plant.battery.roundTripEfficiency = 0;
    },
    {
      code: 'out-of-range',
      line: 17,
      field: 'plant.battery.roundTripEfficiency',
      value: '0',
      expected: 'at least 0.01',
    },
  ),
  site(
    'efficiency above 1',
    (s) => {
      s.plant.battery.roundTripEfficiency = 1.2;
    },
    { code: 'out-of-range', line: 17, field: 'plant.battery.roundTripEfficiency', value: '1.2', expected: 'at most 1' },
  ),
  site(
    'efficiency in percent',
    (s) => {
      s.plant.battery.roundTripEfficiency = 88;
    },
    { code: 'out-of-range', field: 'plant.battery.roundTripEfficiency', value: '88', expected: 'at most 1' },
  ),
  site(
    'no efficiency',
    (s) => {
      delete s.plant.battery.roundTripEfficiency;
    },
    { code: 'missing', field: 'plant.battery.roundTripEfficiency', value: 'nothing', hint: '0.85 to 0.92' },
  ),
  site(
    'efficiency twice',
    (s) => {
      s.plant.battery.chargeEfficiency = 0.9;
    },
    {
      code: 'given-twice',
      field: 'plant.battery.roundTripEfficiency',
      value: '0.88',
      hint: 'remove "chargeEfficiency"',
    },
  ),
  site(
    'floor above capacity',
    (s) => {
      s.plant.floor = { kwh: 6 };
    },
    { code: 'above-capacity', line: 20, field: 'plant.floor.kwh', value: '6', expected: '5 kWh' },
  ),
  site(
    'floor share above 1',
    (s) => {
      s.plant.floor = { share: 20 };
    },
    { code: 'out-of-range', line: 20, field: 'plant.floor.share', value: '20', expected: 'at most 1' },
  ),
  site(
    'floor given twice',
    (s) => {
      s.plant.floor = { share: 0.2, kwh: 1 };
    },
    { code: 'given-twice', field: 'plant.floor', value: '0.2', hint: 'remove one' },
  ),
  site(
    'shutdown above the floor',
    (s) => {
      s.plant.shutdown = { share: 0.5 };
    },
    { code: 'above-floor', field: 'plant.shutdown', value: '2.5 kWh', expected: '1 kWh', hint: 'floor must keep' },
  ),
  site(
    'start below shutdown',
    (s) => {
      s.plant.shutdown = { share: 0.2 };
      s.plant.startShare = 0.1;
    },
    { code: 'below-shutdown', field: 'plant.startShare', value: '0.1', expected: '0.2' },
  ),
  site(
    'negative power',
    (s) => {
      s.plant.battery.dischargeKw = -3;
    },
    { code: 'out-of-range', field: 'plant.battery.dischargeKw', value: '-3', expected: 'at least 0.001' },
  ),
  site(
    'negative export limit',
    (s) => {
      s.service = { exportLimitKw: -1 };
    },
    { code: 'out-of-range', field: 'service.exportLimitKw', value: '-1', expected: 'at least 0' },
  ),
  site(
    'service below standby',
    (s) => {
      s.plant.battery.standbyW = 400;
      s.service = { importLimitKw: 0.3 };
    },
    {
      // Readings of 0.2 kW, which that service carries.
      files: { 'home.csv': csv(rowsOf(13, 4, 'start,load kWh', () => '0.050')) },
      code: 'out-of-range',
      field: 'service.importLimitKw',
      value: '0.3',
      expected: '400 W',
      hint: 'raise',
    },
  ),
  site(
    'reach 0',
    (s) => {
      s.plant.reach = { share: 0 };
    },
    { code: 'out-of-range', field: 'plant.reach.share', value: '0', expected: 'at least 0.001' },
  ),
  site(
    'reach misspelt',
    (s) => {
      s.plant.reach = 'whole house';
    },
    { code: 'wrong-type', field: 'plant.reach', value: 'whole house', expected: 'whole-home' },
  ),
  site(
    'export from a sub-panel',
    (s) => {
      s.plant.reach = { share: 0.4 };
      s.plant.batteryExport = true;
    },
    { code: 'contradiction', field: 'plant.batteryExport', value: 'true', hint: 'whole-home' },
  ),
  site(
    'DC coupling without an inverter',
    (s) => {
      s.plant.coupling = 'dc';
    },
    { code: 'missing', field: 'plant.inverter.efficiency', value: 'nothing', hint: '0.96' },
  ),
  site(
    'coupling misspelt',
    (s) => {
      s.plant.coupling = 'ad';
    },
    { code: 'not-allowed', field: 'plant.coupling', value: '"ad"', expected: 'ac, dc', hint: 'did you mean' },
  ),
  site(
    'yes for true',
    (s) => {
      s.plant.gridCharging = 'yes';
    },
    { code: 'wrong-type', field: 'plant.gridCharging', value: '"yes"', expected: 'true or false' },
  ),
  site(
    'backup load in both forms',
    (s) => {
      s.backup = { load: { share: 0.5, watts: 400 } };
    },
    { code: 'one-of', field: 'backup.load', value: '0.5', hint: 'keep one' },
  ),
  site(
    'rebate above the price',
    (s) => {
      s.economics = { price: 5000, covers: 'all', rebate: 6000 };
    },
    { code: 'out-of-range', field: 'economics.rebate', value: '6000', expected: 'at most the price' },
  ),
  site(
    'latitude beyond the pole',
    (s) => {
      s.location = { latitudeDeg: 139, longitudeDeg: 35 };
    },
    { code: 'out-of-range', field: 'location.latitudeDeg', value: '139', expected: 'at most 90' },
  ),
  site(
    'unit of the file misspelt',
    (s) => {
      s.meter.files = [{ path: 'home.csv', unit: 'kwh' }];
    },
    { code: 'not-allowed', field: 'meter.files[0].unit', value: '"kwh"', expected: 'kWh', hint: 'did you mean "kWh"?' },
  ),
  // Files that the site file names.
  site(
    'tariff file missing',
    (s) => {
      s.tariff = 'rates/tarif.json';
    },
    {
      in: 'rates/tarif.json',
      code: 'file-missing',
      value: 'no file',
      hint: /named in .*site\.json line 10, field "tariff"/,
    },
  ),
  site(
    'interval file missing',
    (s) => {
      s.meter.files = ['hone.csv'];
    },
    {
      in: 'hone.csv',
      code: 'file-missing',
      value: 'no file',
      hint: /named in .*site\.json line 7, field "meter\.files\[0\]"/,
    },
  ),
  site(
    'interval file a folder',
    (s) => {
      s.meter.files = ['.'];
    },
    { in: '', code: 'not-a-file', value: 'folder', hint: 'named in' },
  ),
];
