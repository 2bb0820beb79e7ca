import { expect, test } from 'vitest';
import { FindingList } from '../../../packages/core/src/meter/findings.ts';

test('of one code the gravest severity counts, with what was said of it then', () => {
  const findings = new FindingList();
  findings.add('unreadable-row', 'warning', { why: 'record-300' }, { line: 3 });
  findings.add('unreadable-row', 'error', { why: 'no-record-200' }, { line: 7 });
  findings.add('unreadable-row', 'note', { why: 'record-300' }, { line: 9 });
  expect(findings.list()).toMatchObject([
    { code: 'unreadable-row', severity: 'error', data: { why: 'no-record-200' }, count: 3, lines: [3, 7, 9] },
  ]);
});
