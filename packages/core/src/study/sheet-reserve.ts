import { quantile } from 'simple-statistics';
import type { DatedReserve, ReservePlan } from '../dispatch/index.ts';
import { percentUp, reserveKwhOf } from '../dispatch/inside.ts';
import { coldMonths, endMsOf, isTooCold, reserveInCold, startMsOf, takenByHours } from '../outage/inside.ts';
import { resolvePlant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { hoursToFillBy, plannedOutages, plantOf } from '../site/inside.ts';
import { isOver, type JudgedOutage, judgedOutage, noticeOf } from './planned.ts';

/** A planned outage, and whether its notice is long enough to fill up, by the data or from the reserve entered. */
export type SheetOutage = Omit<JudgedOutage, 'interval'>;

/** A reserve to be set by hand, with the reason and what comes after it. */
export interface SheetDatedReserve extends DatedReserve {
  readonly reason: 'months' | 'planned-outage';
  /** The reserve that is set once it is over, %. */
  readonly thenPercent: number;
  /** Whether the data reach it, so that it is carried out in the figures. */
  readonly inFigures: boolean;
  /** The outage that it is for; null for months. */
  readonly outage: SheetOutage | null;
  /** Of its months those that the site doesn't ask it for: they are too cold to fill it later. Absent where there are none. */
  readonly coldMonths?: readonly number[];
  /** All of it is kept since it can't come back in these months, which are too cold to charge; the site doesn't ask for it. */
  readonly heldInCold?: true;
}

/** How a box is told to keep it. */
interface SheetReserveOptions {
  /** Its charging power, kW. @defaultValue all that the plant takes */
  readonly gridChargeKw?: number;
  /** Whether all of it is kept through months too cold to charge. */
  readonly heldInCold?: boolean;
}

/** What the sheet keeps for an outage, and why so much. */
export interface SheetReserve extends ReservePlan {
  /** In the order of their dates. */
  readonly dated: readonly SheetDatedReserve[];
  /**
   * What sets the standing reserve: the site's floor; its floors by hour, the highest of the day; the hours to keep;
   * data too short to know what those take; a medical circuit, for which all is kept.
   */
  readonly setBy: 'floor' | 'by-hour' | 'keep-hours' | 'no-history' | 'medical';
  /** The hours to keep: what they take in the hungriest stretch of the data, and in 9 of 10 of all stretches; null without data or wish. */
  readonly keepHours: { readonly hours: number; readonly mostKwh: number; readonly usualPercent: number } | null;
}

/**
 * The reserve to enter on the box. A box holds one number that stands, so that this is the highest of what holds at any
 * time of a usual day: the site's floor, its floors by hour, and enough for `keepHours` in the hungriest stretch of the
 * data. What holds in some months, or for a planned outage, is set by hand at its dates. With a medical circuit all is
 * kept, always.
 */
export function sheetReserve(study: Study, options: SheetReserveOptions = {}): SheetReserve {
  const { home, island, site } = study;
  const { plant, axis } = home;
  const { capacityKwh } = plant;
  const { gridChargeKw = plant.chargeLimitKw, heldInCold = false } = options;
  if (island.medical) return { reservePercent: 100, dated: [], setBy: 'medical', keepHours: null };
  const backup = site.backup ?? {};
  const reserve = reserveInCold(backup);
  const percent = (share: number) => percentUp(share * capacityKwh, capacityKwh);
  const ownKwh = ownFloorKwh(study);
  const byMonth = Array.from({ length: 12 }, (_, m) =>
    Math.max(0, ...(reserve?.byMonth ?? []).filter((rule) => rule.months.includes(m + 1)).map((rule) => rule.share)),
  );
  let setBy: SheetReserve['setBy'] = 'floor';
  let standing = Math.max(percentUp(ownKwh, capacityKwh), percent(Math.min(...byMonth)));
  const raise = (to: number, by: SheetReserve['setBy']) => {
    if (to <= standing) return;
    standing = to;
    setBy = by;
  };
  for (const rule of reserve?.byHour ?? []) raise(percent(rule.share), 'by-hour');
  const kept = reserve?.keepHours === undefined ? null : keptInData(study, reserve.keepHours);
  if (kept !== null) raise(percentUp(kept.mostKwh, capacityKwh), 'keep-hours');
  else if (reserve?.keepHours !== undefined) raise(100, 'no-history');
  const asked = byMonth.map((share) => Math.max(standing, percent(share)));
  const inMonth = asked.map((stated, m) => (heldInCold && isTooCold(backup.cold, m + 1) ? 100 : stated));
  /** The months of a run that the site asks no such floor for: it is filled before their cold, for those after them. */
  const heldThroughCold = (run: readonly number[]) => {
    const own = backup.reserve?.byMonth ?? [];
    if (run.some((m) => inMonth[m - 1]! > asked[m - 1]!)) return { heldInCold: true as const };
    const held = run.filter(
      (m) => !own.some((rule) => rule.months.includes(m) && percent(rule.share) >= inMonth[m - 1]!),
    );
    return held.length === 0 ? {} : { coldMonths: held };
  };
  const months = monthRuns(inMonth, standing).map(
    (run): SheetDatedReserve => ({
      reason: 'months',
      reservePercent: inMonth[run[0]! - 1]!,
      thenPercent: inMonth[run[run.length - 1]! % 12]!,
      when: {
        months: run,
        // Nothing can be filled on the evening of a day that is too cold to charge.
        ...(isTooCold(backup.cold, monthBefore(run[0]!))
          ? {}
          : leadOf(
              study,
              monthBefore(run[0]!),
              inMonth[monthBefore(run[0]!) - 1]!,
              inMonth[run[0]! - 1]!,
              gridChargeKw,
            )),
      },
      inFigures: axis.calendar.days.some((day) => run.includes(day.month)),
      outage: null,
      ...heldThroughCold(run),
    }),
  );
  const known = plannedOutages(study, gridChargeKw);
  const filling = known.map((outage) => ({
    noticeMs: startMsOf(axis, outage) - outage.noticeHours * 3_600_000,
    endMs: endMsOf(axis, outage),
  }));
  const told = ({ interval: _, ...outage }: JudgedOutage): SheetOutage => outage;
  const outages = known.map((outage, k): SheetDatedReserve => {
    const { noticeMs, endMs } = filling[k]!;
    // Another one is noticed by then and lasts longer.
    const staysFull = filling.some((other) => other.noticeMs <= endMs && other.endMs > endMs);
    const from = noticeOf(axis, outage);
    const before = inMonth[Number(from.slice(5, 7)) - 1]!;
    return {
      reason: 'planned-outage',
      reservePercent: 100,
      thenPercent: staysFull ? 100 : inMonth[Number(outage.to.slice(5, 7)) - 1]!,
      when: { from, to: outage.to },
      inFigures: noticeMs < axis.endEpochMs && endMs > axis.startEpochMs,
      outage: told(judgedOutage(study, outage, before, known.slice(0, k), gridChargeKw)),
    };
  });
  return {
    reservePercent: standing,
    dated: standing === 100 ? [] : inOrder(months, outages),
    setBy,
    keepHours: kept,
  };
}

/** The floor that stands all year, kWh, and whether the site keeps more at some dates. */
export function standingFloor(study: Study): { readonly floorKwh: number; readonly floorRises: boolean } {
  const { plant } = study.home;
  const reserve = sheetReserve(study);
  // The sheet's whole percents only where there is no plainer figure.
  const isPlain = typeof plant.floorKwh === 'number' && reserve.setBy === 'floor';
  return {
    floorKwh: isPlain ? (plant.floorKwh as number) : reserveKwhOf(reserve, plant),
    floorRises: reserve.dated.length > 0,
  };
}

/** Whether dated reserves that aren't over today are part of what is judged on the data. */
export function setByHand({ dated }: SheetReserve, today?: string): boolean {
  return dated.some(({ inFigures, outage }) => inFigures && (outage === null || !isOver(outage, today)));
}

/** Planned outages that are part of what is judged on the data and over today, by their beginnings. */
export function outagesOver({ dated }: SheetReserve, today: string | undefined): string[] {
  return dated.flatMap(({ inFigures, outage }) =>
    inFigures && outage !== null && isOver(outage, today) ? [outage.from] : [],
  );
}

/** The same in words, to follow a basis. */
export function byHandWords(reserve: SheetReserve, today: string | undefined): string {
  const byHand = setByHand(reserve, today) ? ', with the reserve set by hand at its dates' : '';
  return outagesOver(reserve, today).length === 0 ? byHand : `${byHand}, with planned outages that are over`;
}

/** The floor without the site's `reserve`, which has been worked into the plant already; where it varies, its highest. */
function ownFloorKwh({ home, site }: Study): number {
  const { floorKwh } = home.plant;
  if (typeof floorKwh === 'number') return floorKwh;
  if (site.backup?.reserve !== undefined) return resolvePlant(plantOf(site)).floorKwh as number;
  return floorKwh.reduce((most, kwh) => Math.max(most, kwh), 0);
}

/** Whether keeping all of it through months too cold to charge is a choice: where it can be filled before, and isn't kept anyway. */
export function canHoldInCold({ site, island, home: { plant } }: Study, { reservePercent }: ReservePlan): boolean {
  const cold = coldMonths(site.backup?.cold);
  return !island.medical && reservePercent < 100 && plant.gridCharging && cold.length > 0 && cold.length < 12;
}

/** What so many hours of the backed-up load took, at the most and in 9 of 10 stretches; null where no day has been seen. */
function keptInData({ home, island }: Study, hours: number): SheetReserve['keepHours'] {
  const { axis, plant } = home;
  const options = {
    axis,
    plant,
    islandLoadKwh: island.loadKwh,
    energyShare: island.energyShare,
    gaugeErrorKwh: island.gaugeErrorKwh,
  };
  const day = Math.round(24 / axis.stepHours);
  if (axis.intervals < Math.ceil((hours / axis.stepHours + 1) / day) * day) return null;
  const taken = takenByHours(options, hours);
  return {
    hours,
    mostKwh: taken.reduce((most, kwh) => Math.max(most, kwh)),
    // The library reads by index only, but its types know plain arrays alone.
    usualPercent: percentUp(quantile(taken as unknown as number[], 0.9), plant.capacityKwh),
  };
}

/**
 * A reserve that is set by hand in some months above what a plan keeps, an entry for each run of them: set so early that it is there
 * from the first hour on, and where its months are too cold to fill it, before the cold.
 */
export function reserveInMonths(
  study: Study,
  plan: ReservePlan,
  months: readonly number[],
  reservePercent: number,
  gridChargeKw: number,
): DatedReserve[] {
  const { cold } = study.site.backup ?? {};
  const share = reservePercent / 100;
  const { byMonth } = reserveInCold({ reserve: { byMonth: [{ months: [...months], share }] }, cold })!;
  const inMonth = Array.from({ length: 12 }, (_, m) => (byMonth![0]!.months.includes(m + 1) ? reservePercent : -1));
  // All year nothing comes before it.
  if (inMonth.every((percent) => percent === reservePercent))
    return [{ reservePercent, when: { months: inMonth.map((_, m) => m + 1) } }];
  return monthRuns(inMonth, -1).map((run) => {
    const before = monthBefore(run[0]!);
    const lead = isTooCold(cold, before)
      ? {}
      : leadOf(study, before, keptInMonth(plan, before), reservePercent, gridChargeKw);
    return { reservePercent, when: { months: run, ...lead } };
  });
}

/** What a plan keeps in a month, %. */
export function keptInMonth({ reservePercent, dated }: ReservePlan, month: number): number {
  const inMonth = dated.filter(({ when }) => 'months' in when && when.months.includes(month));
  return Math.max(reservePercent, ...inMonth.map((one) => one.reservePercent));
}

/**
 * Whole hours that filling up to a month's reserve takes from that of the month before, with the charging power that is entered:
 * it is set so much earlier, to be kept from the first hour.
 */
function leadOf(
  study: Study,
  before: number,
  fromPercent: number,
  toPercent: number,
  gridChargeKw: number,
): { readonly leadHours?: number } {
  const { plant, axis } = study.home;
  // Without the grid only sun can fill it, which nobody can time.
  if (!plant.gridCharging || toPercent <= fromPercent) return {};
  const fillKwh = ((toPercent - fromPercent) / 100) * plant.capacityKwh;
  // Of the data the ends of that month's days; of all days where they hold none of it.
  const daysOf = (months: (month: number) => boolean) =>
    axis.calendar.days
      .filter(({ month }) => months(month))
      .map(({ firstInterval, intervals }) => firstInterval + intervals);
  const ends = daysOf((month) => month === before);
  const hours = hoursToFillBy(study.home, fillKwh, gridChargeKw, ends.length > 0 ? ends : daysOf(() => true));
  return { leadHours: Math.ceil(hours - 1e-9) };
}

function monthBefore(month: number): number {
  return ((month + 10) % 12) + 1;
}

/** Runs of months with one reserve above the standing one, over the new year too: [12, 1, 2]. */
function monthRuns(inMonth: readonly number[], standing: number): number[][] {
  const at = (month: number) => inMonth[(month + 11) % 12]!;
  const runs: number[][] = [];
  for (let month = 1; month <= 12; month++) {
    if (at(month) === standing || at(month) === at(month - 1)) continue;
    const run = [month];
    while (at(month + run.length) === at(month)) run.push(((month + run.length - 1) % 12) + 1);
    runs.push(run);
  }
  return runs;
}

/** Outages by their dates; months, which come every year, at their place in the year of the first of those. */
function inOrder(months: readonly SheetDatedReserve[], outages: readonly SheetDatedReserve[]): SheetDatedReserve[] {
  const starts = outages.map(({ when }) => ('from' in when ? when.from : ''));
  const year = starts.toSorted()[0]?.slice(0, 4) ?? '';
  const startOf = ({ when }: SheetDatedReserve) =>
    'months' in when ? `${year}-${String(when.months[0]!).padStart(2, '0')}-01T00:00` : when.from;
  return [...months, ...outages].sort((a, b) => startOf(a).localeCompare(startOf(b)));
}
