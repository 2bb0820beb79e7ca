import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { copyOf, duskbank, folderWith, ROOT, tooWide } from './support.ts';

describe('check', () => {
  test.each([
    ['site.yaml', [], ['Flat 3, Tarrawill', '21 days of 30 minutes', 'Dusk & Dawn', '2.6 kWh usable', '120 W']],
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

  test('writes a site and a tariff that pass check once an interval file stands beside them', () => {
    const folder = folderWith();
    const run = duskbank(['init', 'home'], folder);
    expect(run).toMatchObject({ status: 0, stdout: 'home/site.yaml\nhome/tariff.yaml\n' });
    expect(readdirSync(join(folder, 'home')).sort()).toEqual(['site.yaml', 'tariff.yaml']);
    expect(duskbank(['check', 'home/tariff.yaml'], folder).status).toBe(0);
    const before = duskbank(['check', 'home/site.yaml'], folder);
    expect(before.status).toBe(2);
    expect(before.stderr).toMatch(/intervals\.csv.*named in home\/site\.yaml line \d+/s);
    writeFileSync(join(folder, 'home/intervals.csv'), readFileSync(join(ROOT, 'fixtures/demo/home.csv')));
    const after = duskbank(['check', 'home/site.yaml'], folder);
    expect(after, after.stderr).toMatchObject({ status: 0, stderr: '' });
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
    const starter = parse(readFileSync(join(started, `${kind}.yaml`), 'utf8'));
    expect(validate(starter), JSON.stringify(validate.errors)).toBe(true);
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
