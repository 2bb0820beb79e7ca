import { mkdirSync, readdirSync, readFileSync, rmSync, statSync, truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describeIssue, formatPath, InputError, type InputIssue } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';
import { run as check } from '../../packages/cli/src/commands/check.ts';
import { run as compare } from '../../packages/cli/src/commands/compare.ts';
import { duskbank, folderWith } from './support.ts';

// Plain JSON stands for any input here.
// biome-ignore lint/suspicious/noExplicitAny: cases reach into every corner of the files on purpose
type Json = any;

const SITE = {
  format: 'duskbank.site/1',
  name: 'A home',
  zone: 'America/Denver',
  meter: { files: ['home.csv'] },
  tariff: 'tariff.json',
  plant: {
    battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.88 },
    floor: { share: 0.2 },
  },
};
const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'A tariff',
  currency: 'USD',
  seasons: [
    { name: 'summer', months: [6, 7, 8, 9] },
    { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
  ],
  windows: [
    { name: 'peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
  fixed: [{ name: 'Service', amount: 10, per: 'month' }],
};

/** Four days of quarter hours from 13 January 2025 on, no clock change, line 1 the header. */
/** Two days of twenty minutes, which no quarter of an hour fits into. */
const twentyMinutes = Array.from(
  { length: 144 },
  (_, i) =>
    `2025-01-${15 + Math.floor(i / 72)} ${`${Math.floor((i % 72) / 3)}`.padStart(2, '0')}:${['00', '20', '40'][i % 3]},0.200`,
);

function rowsOf(
  from = 13,
  days = 4,
  header = 'start,load kWh',
  cell: (i: number) => string = () => '0.200',
  stepMinutes = 15,
): string[] {
  const rows = [header];
  for (let i = 0; i < (days * 1440) / stepMinutes; i++) {
    const label = new Date(Date.UTC(2025, 0, from) + i * stepMinutes * 60_000).toISOString().slice(0, 16);
    rows.push(`${label},${cell(i)}`);
  }
  return rows;
}
const csv = (rows: readonly string[]) => `${rows.join('\n')}\n`;
/** The home's file with one line (counted from 1) changed. */
const withLine = (line: number, text: string) => {
  const rows = rowsOf();
  rows[line - 1] = text;
  return csv(rows);
};
const withCell = (cell: string) => withLine(50, `2025-01-13T12:00,${cell}`);

interface Case {
  readonly name: string;
  /** The site file: changed in place, or its text. */
  readonly site?: ((site: Json) => void) | string | Uint8Array;
  readonly tariff?: ((tariff: Json) => void) | string | Uint8Array;
  readonly files?: Readonly<Record<string, string | Uint8Array | null>>;
  /** What else is done to the folder before the run. */
  readonly prepare?: (folder: string) => void;
  readonly code: string;
  /** File that the fault is in. */
  readonly in?: string;
  readonly line?: number;
  readonly field?: string;
  /** What the message must hold: the value that was found. */
  readonly value: string | RegExp;
  readonly expected?: string | RegExp;
  /** The cure; left out where what was expected is the cure. */
  readonly hint?: string | RegExp;
}

const site = (name: string, change: (site: Json) => void, rest: Omit<Case, 'name' | 'site'>): Case => ({
  name: `site: ${name}`,
  site: change,
  in: 'site.json',
  ...rest,
});
const tariff = (name: string, change: (tariff: Json) => void, rest: Omit<Case, 'name' | 'tariff'>): Case => ({
  name: `tariff: ${name}`,
  tariff: change,
  in: 'tariff.json',
  ...rest,
});
const meter = (name: string, home: string | Uint8Array, rest: Omit<Case, 'name' | 'files'>): Case => ({
  name: `meter: ${name}`,
  files: { 'home.csv': home },
  in: 'home.csv',
  ...rest,
});

const bomb = `format: duskbank.site/1\na: &a [x, x, x, x, x, x, x, x, x]\n${'bcdefgh'
  .split('')
  .map((name, k) => `${name}: &${name} [${Array(9).fill(`*${'abcdefg'[k]}`).join(', ')}]`)
  .join('\n')}\n`;

const CASES: readonly Case[] = [
  // Files that aren't there, or aren't text.
  {
    name: 'site: missing',
    prepare: (f) => rmSync(join(f, 'site.json')),
    code: 'file-missing',
    in: 'site.json',
    value: 'no file',
    hint: 'typing error',
  },
  {
    name: 'site: a folder',
    site: '',
    prepare: (f) => {
      rmSync(join(f, 'site.json'));
      mkdirSync(join(f, 'site.json'));
    },
    code: 'not-a-file',
    in: 'site.json',
    value: 'a folder',
    hint: 'name a file',
  },
  { name: 'site: empty', site: '', code: 'file-empty', in: 'site.json', value: 'empty', hint: 'again' },
  { name: 'site: blank', site: '\n\n', code: 'wrong-type', in: 'site.json', value: 'nothing', expected: 'format' },
  {
    name: 'site: binary',
    site: Uint8Array.from({ length: 400 }, (_, i) => (i * 37) % 256),
    code: 'not-text',
    in: 'site.json',
    value: 'binary',
    hint: 'another file',
  },
  {
    name: 'site: UTF-16',
    site: Buffer.from('\ufeff{"format": 1}', 'utf16le'),
    code: 'not-text',
    in: 'site.json',
    value: 'UTF-16',
    hint: 'UTF-8',
  },
  {
    name: 'site: invalid UTF-8',
    site: Buffer.concat([Buffer.from('{\n"name": "'), Uint8Array.of(0xc3, 0x28), Buffer.from('"}')]),
    code: 'not-text',
    in: 'site.json',
    line: 2,
    value: 'no UTF-8',
    hint: 'save it as UTF-8',
  },
  {
    name: 'site: too large, refused by size',
    prepare: (f) => truncateSync(join(f, 'site.json'), 8 * 2 ** 30),
    code: 'file-too-large',
    in: 'site.json',
    value: 'at least 8,589,934,592 bytes',
    expected: 'at most 1,048,576 bytes',
    hint: 'another file',
  },
  {
    name: 'site: truncated',
    site: JSON.stringify(SITE, null, 1).slice(0, 200),
    code: 'bad-syntax',
    in: 'site.json',
    line: 14,
    value: /missing/,
    hint: 'missing comma, quote or bracket',
  },
  {
    name: 'site: a comma missing',
    site: '{\n"format": "duskbank.site/1"\n"name": "A"\n}',
    code: 'bad-syntax',
    in: 'site.json',
    line: 3,
    value: /./,
    hint: 'missing comma',
  },
  { name: 'site: a list', site: '[1, 2]', code: 'wrong-type', in: 'site.json', value: 'a list', expected: 'an object' },
  {
    name: 'site: prose',
    site: 'Dear utility, please send my data.',
    code: 'wrong-type',
    in: 'site.json',
    value: /^plain text$/,
    expected: 'an object',
  },
  {
    name: 'site: key twice',
    site: JSON.stringify(SITE, null, 1).replace('"name": "A home"', '"name": "A",\n "name": "B"'),
    code: 'duplicate-key',
    in: 'site.json',
    line: 4,
    value: '"name"',
    expected: 'once',
    hint: 'remove',
  },
  {
    name: 'site: YAML bomb of aliases',
    site: bomb,
    code: 'too-many-aliases',
    in: 'site.json',
    value: /alias/i,
    expected: 'at most 100',
    hint: 'write the repeated parts out',
  },
  {
    name: 'site: an alias within itself',
    site: 'format: duskbank.site/1\nname: &a [*a]\n',
    code: 'circular-alias',
    in: 'site.json',
    line: 2,
    value: '*a',
    hint: 'write',
  },
  {
    name: 'site: an alias of nothing',
    site: 'format: duskbank.site/1\nname: *gone\n',
    code: 'bad-syntax',
    in: 'site.json',
    line: 2,
    value: 'gone',
    hint: 'look for',
  },
  {
    name: 'site: brackets without end',
    site: `{"a": ${'['.repeat(500_000)}`,
    code: 'too-deep',
    in: 'site.json',
    line: 1,
    value: 'deep',
    hint: 'brackets',
  },
  {
    name: 'site: 65 lists within one another',
    site: `{"format": "duskbank.site/1", "a":\n${'['.repeat(65)}${']'.repeat(65)}}`,
    code: 'too-deep',
    in: 'site.json',
    line: 2,
    value: 'more than 64 deep',
    hint: 'brackets',
  },
  {
    name: 'site: dashes without end',
    site: `a:\n${'- '.repeat(300_000)}x`,
    code: 'too-deep',
    in: 'site.json',
    line: 2,
    value: 'deep',
    hint: 'brackets',
  },
  {
    name: 'site: indents without end',
    site: Array.from({ length: 1400 }, (_, i) => `${' '.repeat(i)}a:`).join('\n'),
    code: 'too-deep',
    in: 'site.json',
    value: 'deep',
    hint: 'brackets',
  },
  {
    name: 'site: 50,000 keys',
    site: JSON.stringify(Object.fromEntries(Array.from({ length: 50_000 }, (_, i) => [`k${i}`, 1]))),
    code: 'unknown-key',
    in: 'site.json',
    line: 1,
    field: 'k0',
    value: '"k0"',
    hint: 'remove',
  },
  // What the site file says.
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
    value: 'NaN',
    expected: 'finite',
  },
  {
    name: 'site: Infinity',
    site: JSON.stringify(SITE, null, 2).replace('"usableKwh": 5', '"usableKwh": .inf'),
    code: 'wrong-type',
    in: 'site.json',
    line: 14,
    field: 'plant.battery.usableKwh',
    value: 'Infinity',
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
    { code: 'given-twice', field: 'plant.battery.roundTripEfficiency', value: '0.88', hint: 'remove one' },
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
  // The tariff.
  {
    name: 'tariff: binary',
    tariff: Uint8Array.of(1, 0, 2, 0),
    code: 'not-text',
    in: 'tariff.json',
    value: 'binary',
    hint: 'another file',
  },
  {
    name: 'tariff: a site file',
    tariff: JSON.stringify(SITE, null, 2),
    code: 'wrong-format',
    in: 'tariff.json',
    line: 2,
    field: 'format',
    value: 'duskbank.site/1',
    expected: 'duskbank.tariff/1',
    hint: 'no tariff file',
  },
  tariff(
    'another version',
    (t) => {
      t.format = 'duskbank.tariff/9';
    },
    { code: 'unknown-version', line: 2, field: 'format', value: 'duskbank.tariff/9', hint: 'another version' },
  ),
  tariff(
    'overlapping windows',
    (t) => {
      t.windows.splice(1, 0, { name: 'evening', from: '20:00', to: '22:00', pricePerKwh: 0.3 });
    },
    { code: 'window-overlap', field: 'windows[1].from', value: /"evening" over "peak"/, hint: 'move an edge' },
  ),
  tariff(
    'missing windows',
    (t) => {
      t.windows[1] = { name: 'night', from: '21:00', to: '06:00', pricePerKwh: 0.1 };
    },
    { code: 'window-missing', field: 'windows', value: '06:00–16:00', hint: 'otherwise' },
  ),
  tariff(
    'weekends forgotten',
    (t) => {
      t.windows[1] = { name: 'rest', days: 'weekday', from: '21:00', to: '16:00', pricePerKwh: 0.1 };
    },
    { code: 'window-missing', field: 'windows', value: /saturday/i, hint: 'widen a window' },
  ),
  tariff(
    'an hour that does not exist',
    (t) => {
      t.windows[0].to = '25:00';
    },
    { code: 'not-a-time', field: 'windows[0].to', value: '25:00', expected: '24:00' },
  ),
  tariff(
    'a price as text',
    (t) => {
      t.windows[0].pricePerKwh = '0.40 USD';
    },
    { code: 'wrong-type', line: 35, field: 'windows[0].pricePerKwh', value: '0.40 USD', expected: 'number' },
  ),
  tariff(
    'no price in a window',
    (t) => {
      delete t.windows[1].pricePerKwh;
    },
    { code: 'missing', field: 'windows[1].pricePerKwh', value: 'nothing', hint: 'add "pricePerKwh"' },
  ),
  tariff(
    'an unknown season',
    (t) => {
      t.windows[0].seasons = 'sumer';
    },
    { code: 'unknown-season', field: 'windows[0].seasons', value: 'sumer', hint: 'did you mean "summer"?' },
  ),
  tariff(
    'a month in no season',
    (t) => {
      t.seasons[1].months.pop();
    },
    { code: /season/.source, field: 'seasons', value: /5|May|05/, hint: /./ },
  ),
  tariff(
    'month 13',
    (t) => {
      t.seasons[0].months = [13];
    },
    { code: 'out-of-range', field: 'seasons[0].months[0]', value: '13', expected: 'at most 12' },
  ),
  tariff(
    'a date that does not exist',
    (t) => {
      t.holidays = [{ name: 'Leap', dates: ['2025-02-29'] }];
    },
    { code: 'not-a-date', field: 'holidays[0].dates[0]', value: '2025-02-29', expected: 'a date that exists' },
  ),
  tariff(
    'a holiday set misspelt',
    (t) => {
      t.holidays = ['us-sixx'];
    },
    { code: 'wrong-type', field: 'holidays[0]', value: 'us-sixx', expected: 'us-six' },
  ),
  tariff(
    'no currency that is known',
    (t) => {
      t.currency = 'usd';
    },
    { code: 'unknown-currency', field: 'currency', value: 'usd', hint: '"USD"' },
  ),
  tariff(
    'an unknown key',
    (t) => {
      t.windows[0].price = 0.4;
    },
    { code: 'unknown-key', field: 'windows[0].price', value: '"price"', hint: 'did you mean "pricePerKwh"?' },
  ),
  tariff(
    'fixed charge per fortnight',
    (t) => {
      t.fixed[0].per = 'fortnight';
    },
    { code: 'not-allowed', field: 'fixed[0].per', value: 'fortnight', expected: 'day, month' },
  ),
  tariff(
    'export of a kind unknown',
    (t) => {
      t.export = { kind: 'net-biling', pricePerKwh: 0.05 };
    },
    {
      code: 'not-allowed',
      field: 'export.kind',
      value: 'net-biling',
      expected: 'net-billing',
      hint: 'did you mean "net-billing"?',
    },
  ),
  tariff(
    'a tax on nothing known',
    (t) => {
      t.taxes = [{ name: 'Tax', percent: 3, on: ['enrgy'] }];
    },
    { code: 'unknown-line', field: 'taxes[0].on[0]', value: 'enrgy', hint: 'did you mean "energy"?' },
  ),
  tariff(
    'falling blocks',
    (t) => {
      delete t.windows;
      t.energy = [
        {
          name: 'E',
          blocks: [{ upToKwh: 300, pricePerKwh: 0.1 }, { upToKwh: 200, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }],
        },
      ];
    },
    {
      code: 'not-rising',
      field: 'energy[0].blocks[1].upToKwh',
      value: '200',
      expected: 'more than 300',
      hint: 'order',
    },
  ),
  // The interval file.
  {
    name: 'meter: missing',
    prepare: (f) => rmSync(join(f, 'home.csv')),
    code: 'file-missing',
    in: 'home.csv',
    value: 'no file',
    hint: 'named in',
  },
  meter('empty', '', { code: 'file-empty', value: 'empty', hint: 'again' }),
  meter('blank', '\n \n', { code: 'empty', value: 'empty', hint: 'again' }),
  meter(
    'binary',
    Uint8Array.from({ length: 3000 }, (_, i) => (i * 7919) % 251),
    { code: 'binary', value: 'no text', hint: 'CSV' },
  ),
  {
    name: 'meter: too large, refused by size',
    prepare: (f) => truncateSync(join(f, 'home.csv'), 64 * 2 ** 30),
    code: 'file-too-large',
    in: 'home.csv',
    value: 'at least 68,719,476,736 bytes',
    expected: 'at most 268,435,456 bytes',
    hint: 'cut',
  },
  site(
    'a meter file named twice',
    (site) => {
      site.meter.files = ['home.csv', { path: 'home.csv' }];
    },
    { code: 'duplicate-file', field: 'meter.files[1]', value: 'the same file again', hint: 'files[0]' },
  ),
  site(
    'more meter files than a home has',
    (site) => {
      site.meter.files = Array.from({ length: 3000 }, (_, k) => `home-${k}.csv`);
    },
    { code: 'out-of-range', field: 'meter.files', value: 'a list of 3000', expected: 'at most 120' },
  ),
  meter('no usable column', csv(rowsOf(13, 4, 'start,colour', () => 'red')), {
    code: 'no-time-column',
    value: /no /,
    hint: 'columns',
  }),
  meter('values nobody names', csv(rowsOf(13, 4, 'start,alpha,beta', () => '0.2,0.3')), {
    code: 'columns-unclear',
    value: /columns 2, 3/,
    hint: 'columns',
  }),
  meter('no dates', `a,load kWh\n${'x,0.2\n'.repeat(99)}`, {
    code: 'no-time-column',
    value: /no line|no rows/,
    hint: 'columns',
  }),
  meter('mixed steps', csv([...rowsOf(13, 2), ...twentyMinutes]), {
    code: 'mixed-steps',
    value: /15 minutes.*20 minutes/,
    hint: 'split',
  }),
  meter('daily totals', 'start,load kWh\n2025-01-13,8\n2025-01-14,9\n2025-01-15,7\n', {
    code: 'no-interval-data',
    value: 'daily',
    hint: 'interval data',
  }),
  meter('text in a number', withCell('ERR'), {
    code: 'not-a-number',
    line: 50,
    value: /^"ERR": /,
    hint: 'blank the cell',
  }),
  meter('Infinity', withCell('Infinity'), {
    code: 'not-a-number',
    line: 50,
    value: 'Infinity',
    hint: 'blank the cell',
  }),
  meter('NaN', withCell('NaN'), { code: 'not-a-number', line: 50, value: 'NaN', hint: 'blank the cell' }),
  meter('negative load', withCell('-0.200'), { code: 'negative-value', line: 50, value: /^"-0\.2": /, hint: 'net' }),
  meter('a reading that no service could carry', withCell('959'), {
    code: 'reading-above-service',
    line: 50,
    value: /3,836 kW/,
    expected: 'readings that the service can carry',
    hint: 'blank it',
  }),
  {
    name: 'meter: a reading above the main breaker',
    site: (s) => {
      s.backup = { panel: { mainAmps: 100 } };
    },
    files: { 'home.csv': withCell('6.1') },
    code: 'reading-above-service',
    in: 'home.csv',
    line: 50,
    value: /24\.4 kW.*at most 24 kW/,
    hint: 'backup.panel.mainAmps',
  },
  meter('registers that nothing names', csv(rowsOf(13, 4, 'start,register,kWh', (i) => `${1 + (i % 2)},0.2`)), {
    code: 'rows-unclear',
    line: 2,
    value: /rows of "1".*rows of "2".*from line 3/,
    hint: 'rows: { "1": import',
  }),
  meter('a thousandth of a home', csv(rowsOf(13, 4, 'start,load Wh')), {
    code: 'unit-implausible',
    value: /7\.01 kWh a year/,
    expected: '200 to 100,000 kWh',
    hint: 'unit: kWh',
  }),
  meter('a date that does not exist', withLine(50, '2025-02-30T12:00,0.2'), {
    code: 'unreadable-row',
    line: 50,
    value: '2025-02-30',
    hint: 'correct the date',
  }),
  meter('truncated', csv(rowsOf()).slice(0, -9), {
    code: 'truncated',
    line: 385,
    value: '2025-01-16T23:',
    hint: 'download it again',
  }),
  meter('a line without end', csv(rowsOf()).replace('0.200', '9'.repeat(300_000)), {
    code: 'line-too-long',
    line: 2,
    value: '300',
    hint: 'line ends',
  }),
  meter('no unit', csv(rowsOf(13, 4, 'start,load')), { code: 'unit-unknown', value: /unit/, hint: 'kWh' }),
  meter('a long gap', csv(rowsOf().filter((_, i) => i < 100 || i > 160)), {
    in: 'site.json',
    code: 'gap',
    line: 5,
    field: 'meter',
    value: '15.3 hours',
    hint: 'maxGapHours',
  }),
  {
    name: 'meter: a column that is not there',
    site: (s) => {
      s.meter.files = [{ path: 'home.csv', columns: { start: 'start', load: 'Lod kWh' } }];
    },
    code: 'unknown-column',
    in: 'home.csv',
    value: 'load',
    hint: 'correct "columns"',
  },
  {
    name: 'meter: solar of another span',
    site: (s) => {
      s.meter.files = ['home.csv', 'solar.csv'];
    },
    files: { 'solar.csv': csv(rowsOf(20, 4, 'start,solar kWh')) },
    code: 'span-differs',
    in: 'home.csv, solar.csv',
    value: /load 2025-01-13.*solar 2025-01-20/,
    hint: 'download the missing part',
  },
  {
    name: 'meter: steps that do not fit',
    site: (s) => {
      s.meter.files = ['home.csv', 'solar.csv'];
    },
    files: { 'solar.csv': csv(rowsOf(13, 4, 'start,solar kWh', () => '0.100', 20)) },
    code: 'steps-differ',
    in: 'home.csv, solar.csv',
    value: /minutes/,
    hint: 'same step',
  },
  meter('export without import', csv(rowsOf(13, 4, 'start,export kWh')), {
    in: 'site.json',
    code: 'missing-channel',
    field: 'meter.files',
    value: 'export without import',
    hint: 'add the file or the column',
  }),
  meter('import and solar without export', csv(rowsOf(13, 4, 'start,import kWh,solar kWh', () => '0.2,0.1')), {
    in: 'site.json',
    code: 'missing-channel',
    field: 'meter.files',
    value: 'without export',
    hint: 'export column',
  }),
  meter('solar alone', csv(rowsOf(13, 4, 'start,solar kWh')), {
    in: 'site.json',
    code: 'missing-channel',
    field: 'meter.files',
    value: 'solar alone',
    hint: 'add',
  }),
  meter('an interval file of another version', '# format: duskbank.interval/7\nstart,load_kwh\n', {
    code: 'format-unknown',
    line: 1,
    value: 'interval/7',
    hint: 'another version',
  }),
  meter(
    'an interval file without a zone',
    '# format: duskbank.interval/1\n# step_minutes: 15\nstart,load_kwh\n2025-01-01T00:00-07:00,1\n',
    { code: 'unknown-zone', value: 'zone', hint: 'name the zone' },
  ),
  meter('years apart', withLine(385, '2095-01-16T23:45,0.200'), {
    code: 'span-too-long',
    value: '70 years',
    hint: 'mistaken year',
  }),
];

function write(folder: string, { site: siteChange, tariff: tariffChange, files, prepare }: Case): void {
  const made = (base: Json, change: Case['site']) => {
    if (typeof change === 'string' || change instanceof Uint8Array) return change;
    const copy = structuredClone(base);
    change?.(copy);
    return JSON.stringify(copy, null, 2);
  };
  writeFileSync(join(folder, 'site.json'), made(SITE, siteChange));
  writeFileSync(join(folder, 'tariff.json'), made(TARIFF, tariffChange));
  writeFileSync(join(folder, 'home.csv'), csv(rowsOf()));
  for (const [name, content] of Object.entries(files ?? {})) writeFileSync(join(folder, name), content!);
  prepare?.(folder);
}

/** Names, sizes and times of all in a folder: what a run that writes nothing leaves alike. */
function stateOf(folder: string): string[] {
  return readdirSync(folder, { recursive: true })
    .sort()
    .map((name) => {
      const { size, mtimeMs, ino } = statSync(join(folder, String(name)));
      return `${name} ${size} ${mtimeMs} ${ino}`;
    });
}

async function faultsOf(step: () => void | Promise<void>): Promise<readonly InputIssue[]> {
  try {
    await step();
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  throw new Error('the input was taken');
}

test('the files that the cases change are good', () => {
  const folder = folderWith();
  write(folder, { name: '', code: '', value: '' });
  const run = duskbank(['compare', 'site.json', '--json'], folder);
  expect(run.status, run.stderr).toBe(0);
});

test('there are at least 80 cases, each with a name of its own', () => {
  expect(new Set(CASES.map((entry) => entry.name)).size).toBe(CASES.length);
  expect(CASES.length).toBeGreaterThanOrEqual(80);
});

describe('bad input is told by file, line, field, value and cure', () => {
  test.each(CASES.map((entry) => [entry.name, entry] as const))('%s', async (_name, entry) => {
    const folder = folderWith();
    write(folder, entry);
    const before = stateOf(folder);
    const issues = await faultsOf(() => compare(join(folder, 'site.json'), { intervals: join(folder, 'flows.csv') }));
    expect(stateOf(folder)).toEqual(before);
    const shown = issues.map(describeIssue).join('\n');
    const issue = issues.find((one) => new RegExp(entry.code).test(one.code));
    expect(issue, `no fault "${entry.code}" in:\n${shown}`).toBeDefined();
    const { where, received, expected, hint } = issue!;
    expect(where.file, 'file').toBe(
      entry
        .in!.split(', ')
        .map((name) => (entry.in!.includes(',') ? name : join(folder, name)))
        .join(', '),
    );
    if (entry.field !== undefined) expect(formatPath(where.path ?? []), 'field').toBe(entry.field);
    if (entry.line !== undefined) expect(where.line, 'line').toBe(entry.line);
    // A fault in a field of a document always knows its line.
    if (where.path !== undefined) expect(where.line, 'line of a field').toBeGreaterThan(0);
    expect(received, 'value').toMatch(entry.value);
    expect(expected.length, 'expected').toBeGreaterThan(0);
    if (entry.expected !== undefined) expect(expected, 'expected').toMatch(entry.expected);
    if (entry.hint !== undefined) expect(hint, 'hint').toMatch(entry.hint);
    // What was read is shown short, so that no file can fill the screen.
    for (const one of issues) expect(describeIssue(one).length).toBeLessThan(1200);
  });
});

describe('the program itself', () => {
  const SHOWN = [
    'site: missing',
    'site: empty',
    'site: binary',
    'site: truncated',
    'site: YAML bomb of aliases',
    'site: __proto__',
    'site: unknown key',
    'site: efficiency above 1',
    'tariff: overlapping windows',
    'tariff: missing windows',
    'meter: too large, refused by size',
    'meter: text in a number',
    'meter: negative load',
    'meter: solar of another span',
  ];
  test.each(SHOWN)('exits 2 and writes nothing on %s', (name) => {
    const entry = CASES.find((one) => one.name === name)!;
    const folder = folderWith();
    write(folder, entry);
    const before = stateOf(folder);
    const run = duskbank(['compare', 'site.json', '--intervals', 'flows.csv'], folder);
    expect(run.status, run.stderr).toBe(2);
    expect(run.stdout).toBe('');
    expect(run.stderr).toMatch(/^error: /);
    expect(run.stderr).not.toMatch(/internal|node:|at file:/);
    expect(stateOf(folder)).toEqual(before);
  });
});

test('one error holds every fault of a site file and of its tariff file at once', async () => {
  const folder = folderWith();
  write(folder, {
    name: '',
    code: '',
    value: '',
    site: (s) => {
      s.zone = 'Mars/Olympus';
      s.plant.battery.units = 0;
      s.plant.flor = s.plant.floor;
      s.plant.battery.roundTripEfficiency = 1.5;
      s.meter.files = [];
    },
    tariff: (t) => {
      t.windows[0].from = '16:60';
      t.windows[1].pricePerKwh = 'dear';
      t.curency = 'USD';
    },
  });
  const step = () => compare(join(folder, 'site.json'), {});
  const told = (await faultsOf(step)).map(
    ({ code, where }) => `${where.file?.slice(folder.length + 1)} ${formatPath(where.path ?? [])} ${code}`,
  );
  expect(told.sort()).toEqual([
    'site.json meter.files out-of-range',
    'site.json plant.battery.roundTripEfficiency out-of-range',
    'site.json plant.battery.units out-of-range',
    'site.json plant.flor unknown-key',
    'site.json zone unknown-zone',
    'tariff.json curency unknown-key',
    'tariff.json windows[0].from not-a-time',
    'tariff.json windows[1].pricePerKwh wrong-type',
  ]);
  const run = duskbank(['compare', 'site.json'], folder);
  expect(run.status).toBe(2);
  expect(run.stderr.match(/^error: /gm)).toHaveLength(8);
  expect(run.stderr).toContain('8 faults found');
});

test('init and schema say what is wrong with the name that they are given', () => {
  const folder = folderWith({ 'home.csv': 'start,kWh\n' });
  for (const [args, told] of [
    [['init', 'home.csv'], 'home.csv: received a path through a file, as if that were a folder;'],
    [['init', 'home.csv/new'], 'home.csv/new: received a path through a file, as if that were a folder;'],
    [['init', ''], 'error: received an empty name;'],
    [['schema', 'sight'], 'error: received the kind "sight"; expected one of site, tariff'],
  ] as const) {
    const run = duskbank([...args], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain(told);
  }
});

test('check tells the same faults, as text and as JSON', async () => {
  const folder = folderWith();
  write(folder, {
    name: '',
    code: '',
    value: '',
    tariff: (t) => {
      t.windows[0].pricePerKwh = -1e9;
    },
  });
  const [fault] = await faultsOf(() => check(join(folder, 'tariff.json'), {}));
  expect(fault).toMatchObject({ code: 'out-of-range' });
  const run = duskbank(['check', 'tariff.json', '--json'], folder);
  expect(run.status).toBe(2);
  expect(JSON.parse(run.stdout)).toMatchObject({
    format: 'duskbank.check/1',
    kind: 'tariff',
    ok: false,
    faults: [{ code: 'out-of-range', where: { file: 'tariff.json', line: 35, path: ['windows', 0, 'pricePerKwh'] } }],
  });
  expect(readFileSync(join(folder, 'tariff.json'), 'utf8')).toContain('-1000000000');
});
