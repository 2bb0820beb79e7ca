import { checkDocument } from '@duskbank/core/input';
import { expect, test } from 'vitest';
import { sheetFileSchema } from '../../../packages/core/src/study/sheet-file-schema.ts';

test('a time that is none is told in words', () => {
  const checked = checkDocument(sheetFileSchema, { schedules: [{ charge: { from: 'noon', to: '05:00' } }] });
  expect(checked.ok ? [] : checked.issues.map(({ received, expected }) => [received, expected])).toEqual([
    ['"noon"', 'a time of the day, such as "23:00"'],
  ]);
});
