import { aDate, civilDayOfDate } from '../axis/civil-day.ts';
import { type Axis, civilDayOf, dateOfCivilDay, formatDate, makeAxis } from '../axis/index.ts';
import { check } from '../input/door.ts';
import type { Fact } from '../words/fact.ts';
import { MOST_NOTE, quoteName } from '../words/quote.ts';
import type { Account } from './account.ts';
import { edgesInside, layTariff } from './compile.ts';
import { blockEnd, sectionsOf } from './describe-words.ts';
import { aTariff } from './parsed.ts';
import { type PriceSeries, seriesFiles } from './series.ts';
import type { Tariff } from './tariff.ts';

/** Blocks that the hours of a week stand in: what a kWh costs (or earns) more once earlier blocks are full. */
export interface WeekBlocks {
  /** The charge's name. */
  readonly charge: string;
  /** Blocks after the first: the end of the block before, "60 kWh a month", and what a kWh costs more than in the first. */
  readonly later: readonly { readonly above: string; readonly addedPerKwh: number }[];
}

/** A week of prices: `pricePerKwh[d][k]`, d 0 Monday … 6 Sunday, k steps of `stepMinutes` from midnight. */
export interface PriceWeek {
  /** Import: what one more kWh costs, riders and taxes included, before blocks and other terms. Export: what it earns. */
  readonly flow: 'import' | 'export';
  readonly season: string;
  /** Months that have this week, 1 … 12. */
  readonly months: readonly number[];
  /** Half-hours; shorter where hours of the tariff begin or end within them. */
  readonly stepMinutes: number;
  readonly pricePerKwh: readonly (readonly number[])[];
  /** The same before riders and taxes: the sum of what the file states. */
  readonly statedPerKwh: readonly (readonly number[])[];
  /** Name of the window of each step. */
  readonly window: readonly (readonly string[])[];
  /**
   * Where charges have blocks: the sets of them that hours stand in, and the index of each step's set, −1 none. The
   * prices above are those of first blocks; what later ones add is before riders and taxes.
   */
  readonly blocks:
    | { readonly sets: readonly (readonly WeekBlocks[])[]; readonly set: readonly (readonly number[])[] }
    | undefined;
}

/** What a tariff says, for people. */
export interface TariffDescription {
  readonly name: string;
  readonly utility: string | undefined;
  readonly currency: string;
  /** The version that holds on the day asked about. */
  readonly version: { readonly from: string | undefined; readonly note: string | undefined };
  /** Plain sentences, by subject. */
  readonly sections: readonly { readonly title: string; readonly lines: readonly string[] }[];
  readonly weeks: readonly PriceWeek[];
  /** Files of price series, which the weeks leave out: they hold what a kWh costs beside them. */
  readonly seriesLeftOut: readonly string[];
  /** Where the tariff's life was over by that day: its last day, and the tariff that followed, if that is known. */
  readonly ended: { readonly on: string; readonly successor: string | undefined } | undefined;
  /** What changes next after that day: a version, a season, the tariff's end. Undefined once it has ended. */
  readonly nextChange: { readonly date: string; readonly what: string } | undefined;
  readonly warnings: readonly Fact[];
}

/**
 * A tariff in plain words, as it holds on a day. After the tariff's last day: what its file would say if it still held.
 *
 * @param date "2026-03-31"
 * @throws InputError `not-a-date` | `not-parsed`
 */
export function describeTariff(tariff: Tariff, date: string): TariffDescription {
  check({ tariff, date }, { tariff: aTariff, date: aDate });
  const day = civilDayOfDate(date);
  const index = tariff.versions.filter((rates) => rates.fromDay <= day).length - 1;
  const rates = tariff.versions[index]!;
  const { weeks, seriesLeftOut, warnings } = priceWeeks(tariff, index, day);
  const { endsOn, successor } = tariff.life;
  const ended = endsOn !== undefined && civilDayOfDate(endsOn) < day ? { on: endsOn, successor } : undefined;
  return {
    name: tariff.name,
    utility: tariff.utility,
    currency: tariff.currency,
    version: { from: tariff.document.versions?.[index - 1]?.from, note: rates.note },
    sections: sectionsOf(tariff, rates),
    weeks,
    seriesLeftOut,
    ended,
    nextChange: ended === undefined ? nextChange(tariff, day) : undefined,
    warnings,
  };
}

/** An account that lets any tariff be laid out: prices per kWh don't depend on it. */
function anyAccount(tariff: Tariff): Account {
  const zone = tariff.versions.flatMap((rates) => rates.baselines.flatMap((b) => b.zone ?? []))[0];
  return { serviceAmps: 100, serviceKva: 10, contractKw: 0, ...(zone === undefined ? {} : { baselineZone: zone }) };
}

/** A tariff without its riders and taxes: its prices are the sums of what the file states. */
export function asStated(tariff: Tariff): Tariff {
  return { ...tariff, versions: tariff.versions.map((rates) => ({ ...rates, adjustments: [], taxes: [] })) };
}

/** Steps that a week is told in, the longest first: it takes the first of those that the fewest edges lie within. */
const WEEK_STEPS = [30, 20, 15, 10, 5];

/** A year of steps that hold every edge of a tariff's hours, as far as any do. */
function yearAxis(tariff: Tariff, year: number): Axis {
  const startEpochMs = Date.UTC(year, 0, 1);
  const days = civilDayOf(year + 1, 1, 1) - civilDayOf(year, 1, 1);
  const axisOf = (stepMinutes: number) =>
    makeAxis({ startEpochMs, stepMinutes, intervals: (days * 1440) / stepMinutes, zone: 'Etc/UTC' });
  let best = axisOf(WEEK_STEPS[0]!);
  let least = edgesInside(tariff, best);
  for (const stepMinutes of WEEK_STEPS.slice(1)) {
    if (least === 0) break;
    const axis = axisOf(stepMinutes);
    const edges = edgesInside(tariff, axis);
    if (edges < least) [best, least] = [axis, edges];
  }
  return best;
}

function priceWeeks(
  tariff: Tariff,
  version: number,
  day: number,
): Pick<TariffDescription, 'weeks' | 'seriesLeftOut' | 'warnings'> {
  const rates = tariff.versions[version]!;
  const alone: Tariff = {
    ...tariff,
    versions: [{ ...rates, fromDay: Number.NEGATIVE_INFINITY }],
    billing: { ...tariff.billing, rule: { by: 'calendar-month' } },
  };
  const { year } = dateOfCivilDay(day);
  const axis = yearAxis(alone, year);
  const { startEpochMs, stepMinutes } = axis;
  const perDay = 1440 / stepMinutes;
  const zeros: PriceSeries = {
    startEpochMs,
    stepMinutes: 60,
    pricePerKwh: new Float64Array(24 * axis.calendar.days.length),
  };
  const series = Object.fromEntries(seriesFiles(tariff).map((file) => [file, zeros]));
  const compiled = layTariff(alone, axis, { account: anyAccount(tariff), series });
  const stated = layTariff(asStated(alone), axis, { account: anyAccount(tariff), series });
  const weeks: (PriceWeek & { months: number[] })[] = [];
  const { schedule, charges } = compiled.plan!;
  /** The blocks that an interval stands in, of every charge that has some. */
  const blocksOf = (flow: PriceWeek['flow'], i: number): WeekBlocks[] =>
    charges.flatMap((charge) => {
      const set = charge.flow === flow ? charge.blocks?.[charge.label[schedule.slot[i]!]!] : undefined;
      if (set === undefined || set.blocks.length < 2) return [];
      const [first, ...later] = set.blocks;
      return [
        {
          charge: charge.line.name,
          later: later.map(({ pricePerKwh }, k) => ({
            above: blockEnd(set.blocks[k]!.bound!),
            addedPerKwh: pricePerKwh - first!.pricePerKwh,
          })),
        },
      ];
    });
  const firstOf = (month: number, season: number, weekday: number) =>
    axis.calendar.days.find(
      (local, d) =>
        local.month === month &&
        schedule.daySeason[d] === season &&
        schedule.dayKind[d] === weekday &&
        !rates.events.some((event) => event.civilDays.includes(local.civilDay)),
    )?.firstInterval;
  for (const flow of ['import', 'export'] as const)
    for (const [season, name] of rates.seasonNames.entries())
      for (let month = 1; month <= 12; month++) {
        const firsts = Array.from({ length: 7 }, (_, weekday) => firstOf(month, season, weekday));
        if (firsts.includes(undefined)) continue;
        const field = flow === 'import' ? 'importPricePerKwh' : 'exportPricePerKwh';
        const steps = <T>(read: (i: number) => T) =>
          firsts.map((first) => Array.from({ length: perDay }, (_, k) => read(first! + k)));
        const pricePerKwh = steps((i) => compiled[field][i]!);
        const statedPerKwh = steps((i) => stated[field][i]!);
        const window = steps((i) => compiled.windows[compiled.window[i]!]!.name);
        const blocks = weekBlocks(steps((i) => blocksOf(flow, i)));
        const week = { flow, season: name, months: [month], stepMinutes, pricePerKwh, statedPerKwh, window, blocks };
        const shown = (of: PriceWeek) => JSON.stringify([of.flow, of.season, of.pricePerKwh, of.window, of.blocks]);
        const same = weeks.find((known) => shown(known) === shown(week));
        if (same === undefined) weeks.push(week);
        else same.months.push(month);
      }
  return {
    weeks,
    seriesLeftOut: seriesFiles(alone),
    // No data were read: what is said of their steps would be of this week's.
    warnings: compiled.warnings.filter(({ code }) => code !== 'window-edge-inside-step' && code !== 'demand-averaging'),
  };
}

/** The sets of blocks of a week's steps, each told once. */
function weekBlocks(steps: readonly (readonly WeekBlocks[][])[]): PriceWeek['blocks'] {
  const sets: (readonly WeekBlocks[])[] = [];
  const keys: string[] = [];
  const set = steps.map((day) =>
    day.map((blocks) => {
      if (blocks.length === 0) return -1;
      const key = JSON.stringify(blocks);
      if (!keys.includes(key)) {
        keys.push(key);
        sets.push(blocks);
      }
      return keys.indexOf(key);
    }),
  );
  return sets.length === 0 ? undefined : { sets, set };
}

function nextChange(tariff: Tariff, day: number): TariffDescription['nextChange'] {
  const changes: { day: number; what: string }[] = [];
  for (const version of tariff.document.versions ?? [])
    changes.push({
      day: civilDayOfDate(version.from),
      what: `a new version holds${version.note === undefined ? '' : `: ${quoteName(version.note, MOST_NOTE)}`}`,
    });
  const { life } = tariff;
  if (life.endsOn !== undefined)
    changes.push({
      day: civilDayOfDate(life.endsOn) + 1,
      what: `the tariff has ended${life.successor === undefined ? '' : `; ${quoteName(life.successor)} follows`}`,
    });
  if (life.closedFrom !== undefined)
    changes.push({ day: civilDayOfDate(life.closedFrom), what: 'it is closed to new customers' });
  if (life.earliestSwitch !== undefined)
    changes.push({ day: civilDayOfDate(life.earliestSwitch), what: 'its customers may leave it' });
  for (let next = day + 1; next <= day + 366; next++) {
    const seasonOn = (civilDay: number) => {
      const rates = tariff.versions[tariff.versions.filter((r) => r.fromDay <= civilDay).length - 1]!;
      const { month, dayOfMonth } = dateOfCivilDay(civilDay);
      return rates.seasonNames[rates.seasonOf[month * 32 + dayOfMonth]!]!;
    };
    if (seasonOn(next) !== seasonOn(next - 1)) {
      changes.push({ day: next, what: `the season ${quoteName(seasonOn(next))} begins` });
      break;
    }
  }
  const [first] = changes.filter((change) => change.day > day).sort((a, b) => a.day - b.day);
  return first === undefined ? undefined : { date: formatDate(dateOfCivilDay(first.day)), what: first.what };
}
