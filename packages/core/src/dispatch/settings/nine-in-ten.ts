import { quickselect } from 'simple-statistics';

/**
 * The hours that nine of ten starts reach, of those that count; 0 where none does.
 *
 * @param counted as long as `hours`, to work in
 */
export function nineInTen(hours: Float64Array, counted: Float64Array, counts: (i: number) => boolean): number {
  let count = 0;
  for (let i = 0; i < hours.length; i++)
    if (counts(i)) {
      counted[count] = hours[i]!;
      count++;
    }
  if (count === 0) return 0;
  const some = counted.subarray(0, count);
  const k = Math.floor(0.1 * (count - 1));
  // Its types know plain lists alone.
  quickselect(some as unknown as number[], k);
  return some[k]!;
}
