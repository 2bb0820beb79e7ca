import { expect, it } from 'vitest';
import { sheetFileSchema } from '../../../packages/core/src/study/sheet-file-schema.ts';

/** What a stated reserve is taken for, or why it isn't. */
function read(reservePercent: unknown): unknown {
  const { data, error } = sheetFileSchema.safeParse({ reservePercent, schedules: [{}] });
  const of = error?.issues.find(({ path }) => path[0] === 'reservePercent') as
    | { readonly message: string; readonly params?: { readonly hint?: string } }
    | undefined;
  return of === undefined ? (data?.reservePercent ?? 'taken') : (of.params?.hint ?? of.message);
}

it.each([
  [0, 0],
  [1.01, 1.01],
  [20, 20],
  [100, 100],
  ['20 %', 20],
  ['0.5%', 0.5],
  ['1 %', 1],
  [100.1, 'percent of 0 to 100'],
  [-1, 'percent of 0 to 100'],
  ['120 %', 'percent of 0 to 100'],
  ['20', 'percent: a number of 0 to 100, or text such as "20 %"'],
  [Number.NaN, 'percent: a number of 0 to 100, or text such as "20 %"'],
  [1, 'write 100 for 100 %, or "1 %" with its sign where so little is meant'],
  [0.2, 'write 20 for 20 %, or "0.2 %" with its sign where so little is meant'],
  [0.001, 'write 0.1 for 0.1 %, or "0.001 %" with its sign where so little is meant'],
  [0.0009, 'write 0, or a percentage above 1'],
])('a reserve of %j', (stated, told) => expect(read(stated)).toBe(told));
