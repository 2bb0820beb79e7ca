import { outage, type Study } from '@duskbank/core/study';
import { makeCase } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { outageStudy } from '../../support/outage-study.ts';

// The data begin on Monday, 5 January 2026, at midnight: of eleven weeks the first is left to settle, and the second counts.
const study = outageStudy({ load: { watts: 600 } }, { days: 77 });

/** The same home that draws more in one week, or in some days of it. */
function hungryIn(week: number): Study {
  const { day } = study.home.axis.calendar;
  const loadKwh = study.island.loadKwh.map((kwh, i) => (Math.floor(day[i]! / 7) === week ? 1.5 * kwh : kwh));
  const island = { ...study.island, loadKwh };
  return { ...study, home: makeCase(study.home, island), island };
}
const mondayOf = (week: number) => new Date(Date.UTC(2026, 0, 5 + 7 * week)).toISOString().slice(0, 10);

test.each([1, 2, 5, 9])('a week in which the home draws half as much again is the worst: week %d', (week) => {
  const { worstWeek } = outage(hungryIn(week), { floors: [0.5, 1] });
  expect(worstWeek).toMatchObject({
    from: mondayOf(week),
    to: new Date(Date.parse(mondayOf(week + 1)) - 864e5).toISOString().slice(0, 10),
  });
});

test('the first week is never the worst', () => {
  expect(outage(hungryIn(0), { floors: [0.5, 1] }).worstWeek!.from).not.toBe(mondayOf(0));
});
