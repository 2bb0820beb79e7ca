import { InputError } from '@duskbank/core/input';
import { expect, it } from 'vitest';
import { aDate } from '../../../packages/core/src/axis/civil-day.ts';
import { check } from '../../../packages/core/src/input/door.ts';

function told(date: unknown): string {
  try {
    check({ date }, { date: aDate });
    return 'taken';
  } catch (error) {
    return error instanceof InputError ? error.issues[0]!.code : String(error);
  }
}

it.each([
  ['2026-03-31', 'taken'],
  ['2024-02-29', 'taken'],
  ['2026-02-29', 'not-a-date'],
  ['2026-13-01', 'not-a-date'],
  ['2026-3-1', 'not-a-date'],
  [20260331, 'not-a-date'],
  [null, 'not-a-date'],
  [undefined, 'missing'],
])('a date %j is told as %s', (date, code) => expect(told(date)).toBe(code));
