import { InputError } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';
import { areIssues, describeIssue, formatWhere } from '../../../packages/core/src/input/issue.ts';

const issue = { code: 'missing', where: { path: ['zone'] }, received: 'nothing', expected: 'a zone' };

describe('where a fault is', () => {
  test.each([
    [{ file: 'site.yaml', line: 12, path: ['plant', 'battery'] }, 'site.yaml line 12, field "plant.battery"'],
    [{ file: 'site.yaml' }, 'site.yaml'],
    [{ line: 3 }, 'line 3'],
    [{ line: 3, column: 'kWh' }, 'line 3, column "kWh"'],
    [{ column: '--unit' }, '--unit'],
    [{ path: ['windows', 2, 'from'], name: 'night' }, 'field "windows[2].from" of "night"'],
    [{ file: 'home.xlsx', sheet: 'Data', cell: 'B4' }, 'home.xlsx sheet "Data" cell B4'],
    [{ sheet: 'Data', line: 4 }, 'sheet "Data" row 4'],
    [{}, ''],
  ])('%j', (where, words) => expect(formatWhere(where)).toBe(words));
});

test('a fault without a place is its sentence alone', () => {
  expect(describeIssue({ ...issue, where: {} })).toBe('received nothing; expected a zone');
  expect(describeIssue({ ...issue, where: { line: 3 }, hint: 'add one' })).toBe(
    'line 3: received nothing; expected a zone\n  hint: add one',
  );
});

describe('a list of faults', () => {
  test.each(['file', 'line', 'column', 'sheet', 'cell', 'name'])('is not where its %s is a thing of parts', (part) => {
    const where = { file: 'site.yaml', line: 3, column: 'kWh', sheet: 'Data', cell: 'B4', name: 'night' };
    expect(areIssues([{ ...issue, where }])).toBe(true);
    expect(areIssues([{ ...issue, where: { ...where, [part]: {} } }])).toBe(false);
  });

  test('is one of at least one', () => {
    expect(areIssues([issue])).toBe(true);
    expect(areIssues([issue, { ...issue, hint: 'add one' }])).toBe(true);
  });

  test.each([
    [[]],
    [undefined],
    [null],
    ['missing'],
    [issue],
    [[issue, null]],
    [[{ ...issue, hint: 3 }]],
    [[{ ...issue, where: 3 }]],
  ])('isn’t %j', (value) => expect(areIssues(value)).toBe(false));

  test('an error without one says so', () => {
    expect(new InputError([]).issues).toHaveLength(1);
    expect(new InputError([issue]).issues).toEqual([issue]);
  });
});
