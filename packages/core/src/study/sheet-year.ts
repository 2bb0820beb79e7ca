import {
  type Axis,
  civilDayOfDate,
  dateOfCivilDay,
  epochAtLocal,
  formatDate,
  offsetMinutesAt,
  offsetSpans,
} from '../axis/index.ts';
import { coldMonths } from '../outage/inside.ts';
import type { Study } from '../site/index.ts';
import { startDay } from './payback.ts';
import { isOver } from './planned.ts';
import type { SettingsReport } from './settings-schema.ts';
import type { SheetDatedReserve } from './sheet-reserve.ts';

type YearEntry = SettingsReport['year'][number];

/** At least this share of the usable energy is a full charge, to the step of a gauge: common practice. */
const FULL = 0.99;

/** Days without a full charge from which one is offered. Some makers ask for one a week, some for one in two: common practice, no source. */
const DRIFTING_DAYS = 7;

/**
 * The longest time without a full charge, and the months in which it went on for {@link DRIFTING_DAYS} or more; of all days, and
 * of those alone that aren't too cold to charge.
 */
export function fullCharges(
  axis: Axis,
  socKwh: Float64Array,
  capacityKwh: number,
  tooCold: readonly number[] = [],
): SettingsReport['fullCharge'] {
  const { day, days } = axis.calendar;
  const full = new Uint8Array(days.length);
  for (let i = 0; i < socKwh.length; i++) if (socKwh[i]! >= FULL * capacityKwh) full[day[i]!] = 1;
  const longestOf = (counts: (d: number) => boolean) => {
    let longest = { from: 0, days: 0 };
    const months = new Set<number>();
    for (let from = 0; from < days.length; ) {
      let to = from;
      while (to < days.length && full[to] === 0 && counts(to)) to++;
      if (to - from > longest.days) longest = { from, days: to - from };
      if (to - from >= DRIFTING_DAYS) for (let d = from; d < to; d++) months.add(days[d]!.month);
      from = to + 1;
    }
    return { ...longest, months: [...months].sort((a, b) => a - b) };
  };
  const all = longestOf(() => true);
  const warm = longestOf((d) => !tooCold.includes(days[d]!.month));
  const dateOf = (d: number) => formatDate(days[d]!);
  return {
    longestDays: all.days,
    from: all.days === 0 ? null : dateOf(all.from),
    to: all.days === 0 ? null : dateOf(all.from + all.days - 1),
    months: all.months,
    warmDays: warm.days,
    warmMonths: warm.months,
  };
}

/**
 * All that somebody does by hand, in the order of one year.
 * @param from its first day: what is over by then isn't told, what has begun is told of that day; left out: the day after the data
 */
export function sheetYear(
  study: Study,
  dated: readonly SheetDatedReserve[],
  stormMonths: readonly number[],
  fullMonths: readonly number[],
  from?: string,
): YearEntry[] {
  const { zone } = study.home.axis;
  const first = from === undefined ? startDay(study) : civilDayOfDate(from);
  const start = formatDate(dateOfCivilDay(first));
  /** The first of months that hold together, the next time that they come; the year's first day where it begins in them. */
  const nextIn = (months: readonly number[]) => {
    const { year, month: now } = dateOfCivilDay(first);
    if (months.includes(now)) return start;
    const month = firstOf(months);
    return `${month > now ? year : year + 1}-${String(month).padStart(2, '0')}-01`;
  };
  const begun = (day: string) => (from !== undefined && day < from ? from : day);
  const entries: YearEntry[] = dated.flatMap((one, index) =>
    'to' in one.when && isOver(one.when, from)
      ? []
      : [
          {
            on: 'from' in one.when ? begun(one.when.from.slice(0, 10)) : nextIn(one.when.months),
            what: 'reserve' as const,
            dated: index,
            months: null,
            hours: null,
          },
        ],
  );
  const tooCold = coldMonths(study.site.backup?.cold);
  const inMonths = (what: 'storm-season' | 'full-charge' | 'too-cold', months: readonly number[]) => {
    if (months.length > 0) entries.push({ on: nextIn(months), what, dated: null, months: [...months], hours: null });
  };
  // What can't be charged isn't told to be.
  inMonths(
    'storm-season',
    stormMonths.filter((month) => !tooCold.includes(month)),
  );
  inMonths('full-charge', fullMonths);
  inMonths('too-cold', tooCold);
  const startMs = epochAtLocal(zone, first * 86_400_000);
  for (const { fromEpochMs, offsetMinutes } of offsetSpans(zone, startMs, startMs + 365 * 86_400_000).slice(1))
    entries.push({
      on: new Date(fromEpochMs + offsetMinutes * 60_000).toISOString().slice(0, 10),
      what: 'clock-change',
      dated: null,
      months: null,
      hours: (offsetMinutes - offsetMinutesAt(zone, fromEpochMs - 1)) / 60,
    });
  for (const fromDay of pricesChangeOn(study, first))
    entries.push({ on: formatDate(dateOfCivilDay(fromDay)), what: 'prices', dated: null, months: null, hours: null });
  return entries.sort((a, b) => a.on.localeCompare(b.on));
}

/** The month that a season begins with: the first whose predecessor is none of it. */
function firstOf(months: readonly number[]): number {
  return months.find((month) => !months.includes(month === 1 ? 12 : month - 1)) ?? months[0]!;
}

/** Days after the plan's start on which the tariff's prices change, as far as its file says. */
function pricesChangeOn({ tariff }: Study, first: number): number[] {
  const days = tariff.versions.map(({ fromDay }) => fromDay).filter((day) => day > first);
  const { endsOn } = tariff.life;
  if (endsOn !== undefined && civilDayOfDate(endsOn) + 1 > first) days.push(civilDayOfDate(endsOn) + 1);
  return [...new Set(days)].sort((a, b) => a - b);
}
