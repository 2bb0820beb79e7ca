import type { SettingsSheet } from '../dispatch/index.ts';
import { holdsIn, inWindow } from '../dispatch/inside.ts';
import type { Study } from '../site/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';

/** Less is one price, as a share. */
const DEARER = 0.05;

/**
 * Told of charge windows that end in hours dearer than others of them: whoever types the sheet in takes that for a mistake. A box that
 * charges gives nothing, so that such a window keeps what it has for the hours after it.
 */
export function intoDearHours(
  { axis, tariff }: Pick<Study['home'], 'axis' | 'tariff'>,
  { schedules }: SettingsSheet,
): Fact[] {
  const { minuteOfDay } = axis.calendar;
  const ends = schedules.flatMap((schedule) => {
    const { charge, chargeToPercent } = schedule;
    if (charge === null || chargeToPercent === 0 || charge.fromMinute === charge.toMinute) return [];
    const priceAt = new Map<number, { sum: number; steps: number }>();
    for (let i = 0; i < axis.intervals; i++) {
      const minute = minuteOfDay[i]!;
      if (!inWindow(charge, minute) || !holdsIn(axis, schedule, i)) continue;
      const { sum, steps } = priceAt.get(minute) ?? { sum: 0, steps: 0 };
      priceAt.set(minute, { sum: sum + tariff.importPricePerKwh[i]!, steps: steps + 1 });
    }
    const means = new Map([...priceAt].map(([minute, { sum, steps }]) => [minute, sum / steps]));
    const last = means.get((charge.toMinute - axis.stepMinutes + 1440) % 1440);
    const least = Math.min(...means.values());
    return last !== undefined && last - least > DEARER * Math.abs(least) ? [charge.toMinute] : [];
  });
  if (ends.length === 0) return [];
  return [fact(STUDY_WORDS, 'charges-into-dear-hours', 'note', { toMinutes: [...new Set(ends)] })];
}
