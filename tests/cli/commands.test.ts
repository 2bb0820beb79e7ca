import { existsSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { dayOf, type XlsxCell, xlsxOf } from '../support/xlsx.ts';
import { copyOf, duskbank, folderWith, ROOT, tooWide } from './support.ts';

describe('check', () => {
  test.each([
    [
      'site.yaml',
      [],
      ['Flat 3, Tarrawill', '21 days in steps of 30 minutes', 'Dusk & Dawn', '2.6 kWh usable', '120 W'],
    ],
    ['tariff.yaml', [], ['Dusk & Dawn', 'AUD']],
    ['home.csv', ['--zone', 'Australia/Adelaide'], ['1,010 intervals', 'load', 'solar', 'Australia/Adelaide']],
  ])('says what it understood of %s, in 80 columns', (file, flags, told) => {
    const run = duskbank(['check', file, ...flags], copyOf('small'));
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    for (const words of told) expect(run.stdout).toContain(words);
  });

  test('--json says the same, with the kind of the file', () => {
    const folder = copyOf('small');
    for (const [file, kind] of [
      ['site.yaml', 'site'],
      ['tariff.yaml', 'tariff'],
    ]) {
      const report = JSON.parse(duskbank(['check', file!, '--json'], folder).stdout);
      expect(report).toMatchObject({ format: 'duskbank.check/1', file, kind, ok: true, faults: [] });
      expect((kind === 'site' ? report.site : report.tariff).currency).toBe('AUD');
      expect(kind === 'site' ? report.tariff : report.site).toBeNull();
    }
  });

  test('asks for the zone of an interval file, and names the flag', () => {
    const run = duskbank(['check', 'home.csv'], copyOf('small'));
    expect(run.status).toBe(2);
    expect(run.stderr).toMatch(/home\.csv.*--zone/s);
  });

  test('refuses a unit that is none, and a document of another kind', () => {
    const folder = copyOf('small');
    const unit = duskbank(['check', 'home.csv', '--unit', 'kwh'], folder);
    expect(unit.status).toBe(2);
    expect(unit.stderr).toContain('did you mean "kWh"?');
    writeFileSync(join(folder, 'other.json'), '{"a": 1}');
    const other = duskbank(['check', 'other.json'], folder);
    expect(other.status).toBe(2);
    expect(other.stderr).toContain('duskbank.site/1');
  });
});

describe('init', () => {
  test.runIf(existsSync('/proc'))('into a place where the system makes no folder is refused, and ends', () => {
    for (const [folder, told] of [
      ['/proc/x', 'received a place that refuses'],
      ['/proc/x/y', 'received a folder that does not exist'],
    ] as const) {
      const run = duskbank(['init', folder]);
      expect(run.status).toBe(2);
      expect(run.stderr).toContain(told);
    }
  });

  test('--json names the files that it wrote', () => {
    const folder = folderWith();
    const run = duskbank(['init', 'home', '--json'], folder);
    expect(run.status).toBe(0);
    expect(JSON.parse(run.stdout)).toEqual({
      format: 'duskbank.init/1',
      site: join('home', 'site.yaml'),
      tariff: join('home', 'tariff.yaml'),
    });
  });

  /** What is blank in a starter, filled in. */
  const filledIn = (text: string) =>
    text
      .replace(/^zone:.*$/m, 'zone: America/Denver')
      .replace(/^( +units):.*$/m, '$1: 1')
      .replace(/^( +usableKwh):.*$/m, '$1: 5')
      .replace(/^( +(?:charge|discharge)Kw):.*$/gm, '$1: 3')
      .replace(/^( +roundTripEfficiency):.*$/m, '$1: 0.9')
      .replace(/^currency:.*$/m, 'currency: USD')
      .replace(/^( +from):.*$/m, '$1: "16:00"')
      .replace(/^( +to):.*$/m, '$1: "21:00"')
      .replace(/^( +pricePerKwh):.*$/gm, '$1: 0.3')
      .replace(/^export:.*$/m, 'export: { kind: none }');
  const fillIn = (folder: string) => {
    for (const name of ['site.yaml', 'tariff.yaml'])
      writeFileSync(join(folder, name), filledIn(readFileSync(join(folder, name), 'utf8')));
  };

  test('presumes nothing: check names every blank with its line, and passes once they are filled in', () => {
    const folder = folderWith();
    const run = duskbank(['init', 'home'], folder);
    expect(run).toMatchObject({ status: 0, stdout: 'home/site.yaml\nhome/tariff.yaml\n' });
    expect(readdirSync(join(folder, 'home')).sort()).toEqual(['site.yaml', 'tariff.yaml']);
    const blank = duskbank(['check', 'home/site.yaml'], folder);
    expect(blank.status).toBe(2);
    const fields = [...blank.stderr.matchAll(/line \d+, field "([^"]+)".*received a blank/g)].map(([, field]) => field);
    const battery = ['units', 'usableKwh', 'chargeKw', 'dischargeKw', 'roundTripEfficiency'];
    expect(fields).toEqual([
      'zone',
      ...battery.map((field) => `plant.battery.${field}`),
      ...[
        'currency',
        'windows[0].from',
        'windows[0].to',
        'windows[0].pricePerKwh',
        'windows[1].pricePerKwh',
        'export.kind',
      ],
    ]);
    fillIn(join(folder, 'home'));
    expect(duskbank(['check', 'home/tariff.yaml'], folder).status).toBe(0);
    const before = duskbank(['check', 'home/site.yaml'], folder);
    expect(before.status).toBe(2);
    expect(before.stderr).toMatch(/intervals\.csv.*named in home\/site\.yaml line \d+/s);
    writeFileSync(join(folder, 'home/intervals.csv'), readFileSync(join(ROOT, 'fixtures/demo/home.csv')));
    const after = duskbank(['check', 'home/site.yaml'], folder);
    expect(after, after.stderr).toMatchObject({ status: 0, stderr: '' });
  });

  test('--meter fills in what the file says, and leaves blank what it doesn’t', () => {
    const folder = copyOf('small');
    // Our own format names its zone.
    const clean = ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'clean.csv'];
    expect(duskbank(clean, folder).status).toBe(0);
    const run = duskbank(['init', 'new', '--meter', 'clean.csv', '--json'], folder);
    expect(JSON.parse(run.stdout)).toMatchObject({ zone: 'Australia/Adelaide' });
    expect(run.stderr).toMatch(/^read \d+ days of \d+ minutes: load [\d,]+ kWh/);
    const site = parse(readFileSync(join(folder, 'new/site.yaml'), 'utf8'));
    expect(site).toMatchObject({ zone: 'Australia/Adelaide', meter: { files: ['../clean.csv'] } });
    expect(site.plant.battery.usableKwh).toBeNull();
    // The labels of another portal don't: what they show of their clock stands beside the blank.
    const labels = (hours: readonly number[], day: string) =>
      hours.map((hour) => `${day} ${`${hour}`.padStart(2, '0')}:00`);
    const all = Array.from({ length: 24 }, (_, hour) => hour);
    const rows = [
      ...labels(all, '2025-03-29'),
      ...labels(
        all.filter((hour) => hour !== 2),
        '2025-03-30',
      ),
      ...labels(all, '2025-03-31'),
    ].map((label, i) => `${label},0.${100 + ((i * 29) % 48)}`);
    writeFileSync(join(folder, 'other.csv'), `Start,Import (kWh)\n${rows.join('\n')}\n`);
    const other = duskbank(['init', 'other', '--meter', 'other.csv'], folder);
    expect(other.status).toBe(0);
    expect(other.stderr).toContain('the file’s clock changes when that of Europe/Berlin does: fill in "zone"');
    const text = readFileSync(join(folder, 'other/site.yaml'), 'utf8');
    expect(parse(text)).toMatchObject({ zone: null, meter: { files: ['../other.csv'] } });
    expect(text).toMatch(/^zone: .*clock changes when that of Europe\/Berlin does$/m);
    // A file that asks more, or is none, is no start.
    writeFileSync(join(folder, 'weather.csv'), 'Start,GHI (W/m2)\n2025-01-01 00:00,0\n2025-01-01 01:00,0\n');
    for (const file of ['weather.csv', 'absent.csv']) {
      const refused = duskbank(['init', 'never', '--meter', file], folder);
      expect(refused.status, refused.stderr).toBe(2);
      expect(readdirSync(folder)).not.toContain('never');
    }
  });

  test('--meter on a file that is asked about says how its answer gets in', () => {
    // Hours of nine days from 01:00 to midnight: ends, or starts of days of UTC.
    const rows = Array.from({ length: 216 }, (_, i) => {
      const label = new Date(Date.UTC(2025, 0, 13, i + 1)).toISOString().slice(0, 19);
      return `${label}+01:00,0.${100 + ((i * 29) % 48)}`;
    });
    const folder = folderWith({ 'hours.csv': `Time,Import (kWh)\n${rows.join('\n')}\n` });
    const refused = duskbank(['init', 'new', '--meter', 'hours.csv', '--zone', 'Europe/Paris'], folder);
    expect(refused.status).toBe(2);
    expect(refused.stderr).toContain('(--write clean.csv), then run "duskbank init --meter clean.csv"');
    const clean = ['inspect', 'hours.csv', '--zone', 'Europe/Paris', '--interval-end', '--write', 'clean.csv'];
    expect(duskbank(clean, folder).status).toBe(0);
    const run = duskbank(['init', 'new', '--meter', 'clean.csv'], folder);
    expect(run.status, run.stderr).toBe(0);
    expect(run.stderr).toContain('read 9 days of 60 minutes');
  });

  test('--meter takes a spreadsheet', () => {
    const folder = folderWith();
    const hours = Array.from({ length: 48 }, (_, h): XlsxCell[] => [
      { day: dayOf('2025-01-06') + h / 24, as: 'date-time' },
      0.5,
    ]);
    writeFileSync(join(folder, 'home.xlsx'), xlsxOf([{ name: 'Readings', rows: [['Start', 'Import kWh'], ...hours] }]));
    const run = duskbank(['init', 'new', '--meter', 'home.xlsx', '--zone', 'Europe/Berlin'], folder);
    expect(run.stderr).toContain('read 2 days of 60 minutes: import 24 kWh');
    expect(parse(readFileSync(join(folder, 'new/site.yaml'), 'utf8'))).toMatchObject({
      zone: 'Europe/Berlin',
      meter: { files: ['../home.xlsx'] },
    });
  });

  test('run twice it overwrites nothing, and one file of the two is no start either', () => {
    const folder = folderWith({ 'tariff.yaml': 'mine\n' });
    const run = duskbank(['init'], folder);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain('nothing of yours is overwritten');
    expect(readdirSync(folder)).toEqual(['tariff.yaml']);
    expect(readFileSync(join(folder, 'tariff.yaml'), 'utf8')).toBe('mine\n');
    const fresh = folderWith();
    expect(duskbank(['init'], fresh).status).toBe(0);
    writeFileSync(join(fresh, 'site.yaml'), 'changed\n');
    expect(duskbank(['init'], fresh).status).toBe(2);
    expect(readFileSync(join(fresh, 'site.yaml'), 'utf8')).toBe('changed\n');
  });

  test('a file where the folder should be is refused', () => {
    const folder = folderWith({ home: 'a file\n' });
    const run = duskbank(['init', 'home'], folder);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(readFileSync(join(folder, 'home'), 'utf8')).toBe('a file\n');
  });
});

describe('schema', () => {
  const FILES = {
    site: ['demo/site.json', 'small/site.yaml'],
    tariff: ['demo/tariff.json', 'small/tariff.yaml'],
  };
  test.each(['site', 'tariff'] as const)('prints a JSON Schema of the %s file that our own files keep to', (kind) => {
    const run = duskbank(['schema', kind]);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    const schema = JSON.parse(run.stdout);
    expect(schema.$schema).toBe('https://json-schema.org/draft/2020-12/schema');
    // Strict: an unknown keyword or a type that can't be is a fault of the schema. Compiling checks it against its draft.
    const validate = new Ajv2020({ strict: true, strictTypes: false, strictRequired: false, allErrors: true }).compile(
      schema,
    );
    for (const file of FILES[kind]) {
      const text = readFileSync(join(ROOT, 'fixtures', file), 'utf8');
      expect(validate(parse(text)), `${file}: ${JSON.stringify(validate.errors)}`).toBe(true);
      expect(validate({ ...parse(text), unknown: 1 })).toBe(false);
      expect(validate({ ...parse(text), format: 'another/1' })).toBe(false);
    }
    const started = folderWith();
    duskbank(['init'], started);
    // Blank as it is written it is none yet; it has no field that the schema doesn't know.
    const starter = parse(readFileSync(join(started, `${kind}.yaml`), 'utf8'));
    expect(validate(starter)).toBe(false);
    expect(validate.errors!.map(({ keyword }) => keyword)).not.toContain('additionalProperties');
  });

  test('of an unknown kind there is none', () => {
    const run = duskbank(['schema', 'tarif']);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain('did you mean "tariff"?');
  });
});

describe('the command line itself', () => {
  test('--help names every command, in 80 columns; each command explains itself', () => {
    const run = duskbank(['--help']);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    const names = [...run.stdout.matchAll(/^ {2}([a-z]+) (?:\[|<)/gm)].map((match) => match[1]!);
    expect(names).toEqual(expect.arrayContaining(['compare', 'check', 'init', 'schema']));
    expect(tooWide(run.stdout)).toEqual([]);
    for (const name of names) {
      const help = duskbank([name, '--help']);
      expect(help, name).toMatchObject({ status: 0, stderr: '' });
      expect(help.stdout, name).toMatch(/^Usage: duskbank /);
      expect(tooWide(help.stdout), name).toEqual([]);
    }
  });

  test('--version prints the version of the package', () => {
    const { version } = JSON.parse(readFileSync(join(ROOT, 'packages/cli/package.json'), 'utf8'));
    expect(duskbank(['--version'])).toEqual({ status: 0, stdout: `${version}\n`, stderr: '' });
    expect(JSON.parse(duskbank(['compare', 'site.yaml', '--json'], copyOf('small')).stdout).version).toBe(version);
  });

  test.each([
    [['comprae', 'x'], 'compare'],
    [['compare', 'x', '--jsno'], '--json'],
    [['compare'], 'site'],
    [['schema'], 'kind'],
    [['compare', 'a.json', 'b.json'], 'too many arguments'],
    [['compare', 'a.json', '--intervals'], '--intervals'],
    [[], 'Usage: duskbank'],
  ])('misuse exits 2 and says what was meant: %j', (args, told) => {
    const run = duskbank(args);
    expect(run).toMatchObject({ status: 2, stdout: '' });
    expect(run.stderr).toContain(told);
  });
});
