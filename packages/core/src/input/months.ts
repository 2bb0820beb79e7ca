import { MONTHS } from '../words/figures.ts';
import { check, list, number } from './door.ts';

/** `Apr–Sep`, `Jan, Mar–May`, `Oct–Mar`: months (1 to 12) as stretches, over the new year too, by where they begin. */
export function monthsInWords(months: readonly number[]): string {
  check({ months }, { months: list(number({ whole: true, least: 1, most: 12 })) });
  const set = new Set(months);
  if (set.size === 12) return 'all year';
  const before = (month: number) => (month === 1 ? 12 : month - 1);
  const after = (month: number) => (month % 12) + 1;
  const name = (month: number) => MONTHS[month - 1]!;
  return [...set]
    .filter((month) => !set.has(before(month)))
    .sort((a, b) => a - b)
    .map((start) => {
      let end = start;
      while (set.has(after(end))) end = after(end);
      return start === end ? name(start) : `${name(start)}–${name(end)}`;
    })
    .join(', ');
}
