// What an interval file says.
import { rmSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import { type Case, csv, meter, rowsOf, site, twentyMinutes, withCell, withLine } from './case.ts';

export const METERS: readonly Case[] = [
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
  meter('a register alone', csv(rowsOf(13, 14, 'start,off-peak kWh', (i) => (i % 96 < 28 ? '0.200' : '0.000'))), {
    code: 'part-alone',
    value: 'is all that is there of import',
    expected: 'all registers of the meter',
    hint: '{ path: …, channel: import }',
  }),
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
  meter('a PDF', '%PDF-1.7\n1 0 obj\n', {
    code: 'other-document',
    value: 'a PDF',
    expected: 'CSV',
    hint: 'download the readings',
  }),
  meter('a web page', '<!DOCTYPE html><html><body>Log in</body></html>', {
    code: 'other-document',
    value: 'web page',
    expected: 'CSV',
    hint: 'download the readings',
  }),
  meter('JSON', '{"readings": [1, 2]}', { code: 'other-document', value: 'JSON', expected: 'CSV', hint: 'download' }),
  meter('gas', csv(rowsOf(13, 4, 'start,gas m3')), {
    code: 'not-meter-data',
    value: 'gas or water',
    hint: 'electricity',
  }),
  meter('weather', csv(rowsOf(13, 4, 'start,temperature °C', () => '7.2')), {
    code: 'not-meter-data',
    value: 'weather',
    hint: 'electricity meter',
  }),
  meter('prices', csv(rowsOf(13, 4, 'start,price EUR/MWh', () => '71.20')), {
    code: 'not-meter-data',
    value: 'hold prices',
    hint: 'electricity meter',
  }),
  meter('a gzip that is cut off', Uint8Array.of(0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 3, 1, 2), {
    code: 'archive-damaged',
    value: 'cut off',
    hint: 'download it again',
  }),
  meter('a zip that is cut off', Uint8Array.of(0x50, 0x4b, 3, 4, 20, 0, 0, 0, 8, 0), {
    code: 'archive-damaged',
    value: 'list of its members',
    hint: 'download it again',
  }),
  meter('ESPI without readings', '<?xml version="1.0"?><feed xmlns="http://www.w3.org/2005/Atom"></feed>', {
    code: 'no-readings',
    value: 'no interval readings of ESPI',
    hint: 'complete',
  }),
  meter('ESPI with a document type', '<?xml version="1.0"?><!DOCTYPE feed [<!ENTITY a "b">]><feed>&a;</feed>', {
    code: 'xml-refused',
    value: 'document type declaration',
    hint: 'download it again',
  }),
  meter(
    'NEM12 of too few values',
    '100,NEM12,202501010000,A,B\n200,NMI,E1,E1,E1,N1,1,KWH,15,\n300,20250113,1,2,3,A,,,\n900\n',
    {
      code: 'values-miscounted',
      line: 3,
      value: '3 values before its quality',
      hint: 'correct the interval length',
    },
  ),
  meter(
    'our own file with a hexadecimal number',
    '# format: duskbank.interval/1\n# zone: America/Denver\n# step_minutes: 15\nstart,load_kwh\n2025-01-13T00:00-07:00,0x10\n',
    { code: 'not-a-number', line: 5, value: 'load_kwh', hint: 'blank the cell' },
  ),
  meter(
    'our own file whose rows jump',
    '# format: duskbank.interval/1\n# zone: America/Denver\n# step_minutes: 15\nstart,load_kwh\n2025-01-13T00:00-07:00,1\n2025-01-13T01:00-07:00,1\n',
    { code: 'unreadable-row', line: 6, value: 'step by step', hint: 'missing rows are gaps' },
  ),
  meter('monthly figures', 'month,kWh\n2025-01,500\n2025-02,450\n2025-03,400\n', {
    code: 'no-interval-data',
    value: 'monthly figures',
    hint: 'interval data',
  }),
];
