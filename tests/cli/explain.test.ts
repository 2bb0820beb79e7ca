import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { explainReportSchema } from '@duskbank/core/study';
import { Ajv2020 } from 'ajv/dist/2020.js';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, goldenJson, ROOT, tooWide, wholeRun } from './support.ts';

const SCHEMA = JSON.parse(readFileSync(join(ROOT, 'docs/reference/explain.schema.json'), 'utf8'));
const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true, validateFormats: false }).compile(
  SCHEMA,
);

describe('explain of the demo home', () => {
  const folder = copyOf('demo');
  const evening = ['explain', 'site.json', '--at', '2025-01-15T18:30'];

  test.each([
    ['explain-demo', evening],
    [
      'explain-demo-self-consumption',
      ['explain', 'site.json', '--at', '2025-06-11T13:00', '--strategy', 'self-consumption'],
    ],
  ])('prints the moment in words and numbers, in 80 columns: %s', async (name, args) => {
    const run = duskbank(args, folder);
    expect(run).toMatchObject({ status: 0, stderr: '' });
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(args, run)).toMatchFileSnapshot(`golden/${name}.txt`);
  });

  test.each([[[] as string[]], [['--strategy', 'rolling']], [['--strategy', 'optimum']]])(
    '--json is what docs/reference/explain.schema.json says, key by key: %j',
    async (more) => {
      const run = duskbank([...evening, '--json', ...more], folder);
      expect(run).toMatchObject({ status: 0, stderr: '' });
      const printed = JSON.parse(run.stdout);
      expect(validate(printed), JSON.stringify(validate.errors)).toBe(true);
      expect(validate({ ...printed, format: 'duskbank.explain/2' })).toBe(false);
      expect(explainReportSchema.parse(printed)).toEqual(printed);
      expect(printed.interval.start).toBe('2025-01-16T01:30:00.000Z');
      if (more.length === 0) await expect(goldenJson(printed)).toMatchFileSnapshot('golden/explain-demo-json.txt');
      else expect(printed.strategy).toBe(more[1]);
    },
  );

  test('without --strategy it is about the headline of compare', () => {
    const { headline } = JSON.parse(duskbank(['compare', 'site.json', '--json'], folder).stdout);
    expect(JSON.parse(duskbank([...evening, '--json'], folder).stdout).strategy).toBe(headline.strategy);
  });

  test('the same moment by the home’s clock, by an offset and by UTC', () => {
    const at = (time: string) => duskbank(['explain', 'site.json', '--at', time, '--strategy', 'hold'], folder).stdout;
    const here = at('2025-01-15T18:30');
    expect(here).toContain('18:30');
    for (const time of ['2025-01-15 18:44', '2025-01-15T18:30:00', '2025-01-15T18:30-07:00', '2025-01-16T01:30Z'])
      expect(at(time), time).toBe(here);
  });

  test('where nothing is paid for what is sold, no price of 0.0000 is told for it', () => {
    const unpaid = copyOf('demo');
    const tariff = JSON.parse(readFileSync(join(unpaid, 'tariff.json'), 'utf8'));
    writeFileSync(join(unpaid, 'tariff.json'), JSON.stringify({ ...tariff, export: { kind: 'none' } }));
    const { status, stdout } = duskbank([...evening, '--strategy', 'hold'], unpaid);
    expect(status).toBe(0);
    expect(stdout.replace(/\s+/g, ' ')).toContain('and nothing is paid for one that is sold.');
    expect(stdout).toMatch(/sold earns +nothing\n/);
    expect(stdout).not.toContain('0.0000');
    expect(stdout).not.toContain('sells for');
  });

  test('the hour that comes twice is two hours', () => {
    const start = (time: string) =>
      JSON.parse(duskbank(['explain', 'site.json', '--json', '--strategy', 'hold', '--at', time], folder).stdout)
        .interval.start;
    expect(start('2025-11-02T01:30-06:00')).toBe('2025-11-02T07:30:00.000Z');
    expect(start('2025-11-02T01:30-07:00')).toBe('2025-11-02T08:30:00.000Z');
  });
});

test.each([
  ['2025-11-02T01:30', 'occurs once', '2025-11-02T01:30-06:00 for the first time'],
  ['2025-03-09T02:30', 'put forward over it', '2025-03-09T03:30'],
  ['2026-01-01T00:00', '2025-01-01T00:00 to before 2026-01-01T00:00', ''],
  ['2024-12-31T23:59', '2025-01-01T00:00 to before 2026-01-01T00:00', ''],
  ['2025-02-30T10:00', 'such as 2025-01-01T00:00', ''],
  ['2025-06-01T24:00', 'such as 2025-01-01T00:00', ''],
  ['yesterday', 'such as 2025-01-01T00:00', ''],
])('--at %s exits 2 and says what would do', (time, expected, hint) => {
  const run = duskbank(['explain', 'site.json', '--at', time], copyOf('demo'));
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain(`--at: received "${time}"`);
  expect(run.stderr).toContain(expected);
  expect(run.stderr).toContain(hint);
});

test('--strategy settings explains the plainest box where none is stated, and says that it is assumed', () => {
  const run = duskbank(['explain', 'site.json', '--at', '2025-01-15T18:30', '--strategy', 'settings'], copyOf('demo'));
  expect(run.status).toBe(0);
  expect(run.stdout).toContain('The box was told to charge from the grid');
  expect(run.stdout.replaceAll(/\s+/g, ' ')).toContain('the plainest is assumed');
});

test.each([
  ['windwo', 'did you mean "window"?'],
  ['none', 'expected one of hold,'],
])('--strategy %s exits 2 with its cure', (name, cure) => {
  const run = duskbank(['explain', 'site.json', '--at', '2025-01-15T18:30', '--strategy', name], copyOf('demo'));
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain(`--strategy: received "${name}"`);
  expect(run.stderr).toContain(cure);
});
