import { makeAxis } from '@duskbank/core/axis';
import { describe, expect, it } from 'vitest';
import type { Study } from '../../../packages/core/src/site/study.ts';
import { hasBegun, isOver, planFrom } from '../../../packages/core/src/study/planned.ts';
import { cheapestOpen } from '../../../packages/core/src/study/tariff-switch.ts';

/** Data from 1 June 2026 on. */
const axis = makeAxis({
  startEpochMs: Date.UTC(2026, 5, 1, 6),
  stepMinutes: 60,
  intervals: 48,
  zone: 'America/Denver',
});
const planOf = (startsOn: string | undefined, today: string | undefined) =>
  planFrom({ site: { startsOn }, home: { axis } } as unknown as Study, today);

describe('the first day of what is told to be done', () => {
  it.each([
    ['nothing is known', undefined, undefined, undefined],
    ['today alone', undefined, '2026-07-01', '2026-07-01'],
    ['the stated start alone', '2026-08-01', undefined, '2026-08-01'],
    ['the later of both: the start', '2026-08-01', '2026-07-01', '2026-08-01'],
    ['the later of both: today', '2026-08-01', '2026-09-01', '2026-09-01'],
    ['both are one day', '2026-08-01', '2026-08-01', '2026-08-01'],
    ['a today before all of the data counts as unknown', undefined, '2026-05-31', undefined],
    ['the first day of the data may be today', undefined, '2026-06-01', '2026-06-01'],
    ['a start before the data beside a today before it', '2026-05-01', '2026-05-31', '2026-05-01'],
  ])('%s', (_what, startsOn, today, told) => {
    expect(planOf(startsOn, today)).toBe(told);
  });
});

describe('a planned outage', () => {
  it.each([
    ['2026-07-01T08:00', undefined, false],
    ['2026-07-01T08:00', '2026-06-30', false],
    ['2026-07-01T08:00', '2026-07-01', false],
    ['2026-07-01T08:00', '2026-07-02', true],
  ])('from or to %s, today %s: surely passed %s', (at, today, passed) => {
    expect(hasBegun({ from: at }, today)).toBe(passed);
    expect(isOver({ to: at }, today)).toBe(passed);
  });
});

describe('the cheapest tariff that a home may have', () => {
  const row = (name: string, withoutBattery: number, open: boolean) =>
    ({ name, withoutBattery, open }) as unknown as Parameters<typeof cheapestOpen>[0][number];
  const [today, cheap, cheapest, closed] = [
    row('today', 900, true),
    row('cheap', 800, true),
    row('cheapest', 700, true),
    row('closed', 100, false),
  ];
  it.each([
    ['the least of those that are open', [today!, closed!, cheap!, cheapest!], 'cheapest'],
    ['the first where two cost the same', [today!, row('as much', 900, true)], 'today'],
    ['an open one that stands last', [closed!, cheap!], 'cheap'],
    ['today’s where none is open', [closed!, row('closed too', 50, false)], 'closed'],
  ])('%s', (_what, rows, name) => {
    expect(cheapestOpen(rows)).toMatchObject({ name });
  });
});
