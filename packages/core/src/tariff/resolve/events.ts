import { civilDayOfDate } from '../../axis/civil-day.ts';
import { minutesOf } from '../hours.ts';
import type { EventRule } from '../tariff.ts';
import type { Path } from './faults.ts';
import type { Element, Version, Windows } from './version.ts';

/** Events on given dates that replace the price, come on top of it, or pay for using less. */
export function resolveEvents(version: Version, windows: Windows): EventRule[] {
  return (version.document.events ?? []).map((event, e) =>
    resolveEvent(version, event, [...version.pathOf('events'), e], windows.priced),
  );
}

function resolveEvent(
  { faults }: Version,
  event: Element<'events'>[number],
  path: Path,
  windowsPriced: boolean,
): EventRule {
  faults.exactlyOne(event, ['pricePerKwh', 'adderPerKwh', 'rebatePerKwh'], path);
  if (event.pricePerKwh !== undefined && !windowsPriced)
    faults.add(
      'not-together',
      [...path, 'pricePerKwh'],
      event.pricePerKwh,
      'windows with prices that the event replaces',
      'give "adderPerKwh" instead',
    );
  const [from, to] = [minutesOf(event.from), minutesOf(event.to)];
  if (to <= from)
    faults.add(
      'out-of-range',
      [...path, 'to'],
      event.to,
      `a time after ${event.from}, on the same day`,
      'split an event that goes on after midnight in two',
    );
  const baselines = [event.baselineKwh, event.baselineDays].filter((b) => b !== undefined).length;
  if (event.rebatePerKwh !== undefined && baselines !== 1)
    faults.add(
      baselines === 0 ? 'missing' : 'not-together',
      [...path, 'baselineDays'],
      event.baselineDays,
      'one of "baselineKwh" and "baselineDays" beside "rebatePerKwh"',
      baselines === 0 ? 'add "baselineDays": 5' : 'keep one',
    );
  if (event.rebatePerKwh === undefined && baselines > 0)
    faults.add(
      'not-together',
      [...path, event.baselineKwh === undefined ? 'baselineDays' : 'baselineKwh'],
      event.baselineKwh ?? event.baselineDays,
      'a baseline only beside "rebatePerKwh"',
      'remove it',
    );
  const civilDays = event.dates.map(civilDayOfDate);
  for (const [k, day] of civilDays.entries())
    if (civilDays.indexOf(day) < k)
      faults.add('duplicate-date', [...path, 'dates', k], event.dates[k], 'each date once', 'remove it');
  return {
    name: event.name,
    civilDays,
    from,
    to,
    effect:
      event.rebatePerKwh !== undefined
        ? {
            kind: 'rebate',
            pricePerKwh: event.rebatePerKwh,
            baselineKwh: event.baselineKwh,
            baselineDays: event.baselineDays,
          }
        : {
            kind: event.adderPerKwh !== undefined ? 'adder' : 'price',
            pricePerKwh: event.adderPerKwh ?? event.pricePerKwh ?? 0,
          },
  };
}
