import type { HolidayRule } from '../../axis/index.ts';
import type { HOLIDAY_SETS } from '../vocabulary.ts';

type Rule = HolidayRule;

const date = (name: string, month: number, dayOfMonth: number, more: Partial<Rule> = {}): Rule => ({
  name,
  on: { kind: 'date', month, dayOfMonth },
  observed: 'sunday-to-monday',
  ...more,
});
const nth = (name: string, month: number, weekday: number, n: number): Rule => ({
  name,
  on: { kind: 'nth-weekday', month, weekday, nth: n },
  observed: 'none',
});

const six: Rule[] = [
  date('New Year’s Day', 1, 1),
  nth('Memorial Day', 5, 1, -1),
  date('Independence Day', 7, 4),
  nth('Labor Day', 9, 1, 1),
  nth('Thanksgiving Day', 11, 4, 4),
  date('Christmas Day', 12, 25),
];

/**
 * Lists of holidays that many tariffs share.
 *
 * `us-federal`: 5 U.S.C. 6103(a), a Saturday's kept on Friday and a Sunday's on Monday (6103(b), E.O. 11582).
 * `us-six`: the off-peak days of NERC and NAESB, a Sunday's kept on Monday, a Saturday's on its day.
 * `us-eight`: those, Presidents' Day and Veterans Day.
 */
export const holidaySets: Record<(typeof HOLIDAY_SETS)[number], readonly HolidayRule[]> = {
  'us-federal': [
    date('New Year’s Day', 1, 1, { observed: 'nearest-weekday' }),
    nth('Birthday of Martin Luther King, Jr.', 1, 1, 3),
    nth('Washington’s Birthday', 2, 1, 3),
    nth('Memorial Day', 5, 1, -1),
    date('Juneteenth', 6, 19, { observed: 'nearest-weekday', sinceYear: 2021 }),
    date('Independence Day', 7, 4, { observed: 'nearest-weekday' }),
    nth('Labor Day', 9, 1, 1),
    nth('Columbus Day', 10, 1, 2),
    date('Veterans Day', 11, 11, { observed: 'nearest-weekday' }),
    nth('Thanksgiving Day', 11, 4, 4),
    date('Christmas Day', 12, 25, { observed: 'nearest-weekday' }),
  ],
  'us-six': six,
  'us-eight': [...six, nth('Presidents’ Day', 2, 1, 3), date('Veterans Day', 11, 11)],
};
