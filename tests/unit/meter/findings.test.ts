import fc from 'fast-check';
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

test('a list that takes another holds what one holds that was told all of it', () => {
  const told = fc.array(
    fc.record({
      severity: fc.constantFrom('error' as const, 'warning' as const, 'note' as const),
      key: fc.constantFrom(undefined, 'one', 'other'),
      line: fc.nat(40),
      energyKwh: fc.constantFrom(undefined, 0.5, 2),
    }),
    { maxLength: 30 },
  );
  fc.assert(
    fc.property(told, told, (first, then) => {
      const add = (list: FindingList, some: typeof first) => {
        for (const { severity, key, line, energyKwh } of some) {
          const more = {
            line,
            ...(key === undefined ? {} : { key }),
            ...(energyKwh === undefined ? {} : { energyKwh }),
          };
          list.add('unreadable-row', severity, { why: 'record-300' }, more);
        }
        return list;
      };
      const taken = add(new FindingList(), first);
      taken.take(add(new FindingList(), then));
      expect(taken.list()).toEqual(add(new FindingList(), [...first, ...then]).list());
    }),
    { seed: 5 },
  );
});
