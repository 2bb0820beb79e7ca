import { readdirSync, readFileSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, sep } from 'node:path';
import { describeIssue, formatPath, InputError, type InputIssue } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';
import { run as check } from '../../packages/cli/src/commands/check.ts';
import { run as compare } from '../../packages/cli/src/commands/compare.ts';
import { BACKUPS } from '../support/bad-input/backups.ts';
import { type Case, writeCase as write } from '../support/bad-input/case.ts';
import { CHARGES } from '../support/bad-input/charges.ts';
import { DOCUMENTS } from '../support/bad-input/documents.ts';
import { METERS } from '../support/bad-input/meters.ts';
import { PLANS } from '../support/bad-input/plans.ts';
import { SITES } from '../support/bad-input/sites.ts';
import { TARIFFS } from '../support/bad-input/tariffs.ts';
import { markdownTable } from '../unit/docs/field-tables.ts';
import { duskbank, folderWith } from './support.ts';

const CASES: readonly Case[] = [...DOCUMENTS, ...SITES, ...PLANS, ...BACKUPS, ...TARIFFS, ...CHARGES, ...METERS];

/** What each case is told, for the table in the documents. */
const shownAs = new Map<string, { readonly path: InputIssue['where']['path']; readonly told: readonly string[] }>();

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

test('there are at least 180 cases, each with a name of its own', () => {
  expect(new Set(CASES.map((entry) => entry.name)).size).toBe(CASES.length);
  expect(CASES.length).toBeGreaterThanOrEqual(180);
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
    const told = [received, expected, hint ?? ''].map((text) => text.replaceAll(`${folder}${sep}`, ''));
    shownAs.set(entry.name, { path: where.path, told });
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

test('docs/reference/refusals.md shows what each is told', async () => {
  // Of a bare __proto__ a reader of the page would see a bold "proto".
  const cell = (text: string) =>
    text
      .replaceAll('\n', ' ')
      .replaceAll('<', '&lt;')
      .replace(/(?<!`)__proto__(?!`)/g, '`__proto__`');
  const head = ['what is wrong', 'where', 'received', 'expected', 'cure'];
  const rows = CASES.map(({ name, in: file }) => {
    const { path, told } = shownAs.get(name)!;
    const place = path === undefined ? file! : `${file} \`${formatPath(path)}\``;
    return [name, place, ...told].map(cell);
  });
  const page = `# Refusals

Inputs that are refused, one thing of a good home changed in each, and what is told: made from the tests
(\`tests/support/bad-input\`). The program ends with exit code 2 and writes nothing. Where no cure stands, what is expected is the cure.

${markdownTable(head, rows)}
`;
  expect(page.includes(tmpdir()), 'paths of this machine').toBe(false);
  await expect(page).toMatchFileSnapshot('../../docs/reference/refusals.md');
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
