import { holidayDays } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { expect, test } from 'vitest';

test('a list of four billion holes is refused, with the first faults alone', () => {
  try {
    holidayDays(new Array(2 ** 32 - 1), 0, 365);
    expect.unreachable();
  } catch (error) {
    expect(error).toBeInstanceOf(InputError);
    expect((error as InputError).issues).toHaveLength(50);
  }
});
