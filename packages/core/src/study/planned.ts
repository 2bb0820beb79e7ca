import { type Axis, formatDate, intervalStartMs } from '../axis/index.ts';
import { zoneOffsetMinutes } from '../axis/inside.ts';
import type { ReservePlan } from '../dispatch/index.ts';
import { reserveKwhOf } from '../dispatch/inside.ts';
import type { PlannedOutage } from '../outage/index.ts';
import { afterAnother, endMsOf, hasWarmHours, isTooCold, startMsOf } from '../outage/inside.ts';
import type { Study } from '../site/index.ts';
import { hoursToFillBy } from '../site/inside.ts';

/** A planned outage that has been judged, within the data or beyond them. */
export interface JudgedOutage extends PlannedOutage {
  readonly verdict: Exclude<PlannedOutage['verdict'], 'off-axis'>;
}

/**
 * A planned outage judged where the box keeps so much by its notice, %: all that judges one asks here, the sheet, `outage` and
 * the warnings. Within the data and beyond them it fills from that reserve, with so much power.
 *
 * @param earlier planned outages that begin before it
 */
export function judgedOutage(
  study: Study,
  outage: PlannedOutage,
  keptPercent: number,
  earlier: readonly PlannedOutage[],
  gridChargeKw: number,
): JudgedOutage {
  const { axis, plant } = study.home;
  const { cold } = study.site.backup ?? {};
  const { from, noticeHours, interval } = outage;
  const isBeyond = interval < 0;
  const fillKwh = plant.capacityKwh - reserveKwhOf({ reservePercent: keptPercent }, plant);
  // Of an outage beyond the data the days at that hour, since its own aren't among them.
  const minute = 60 * Number(from.slice(11, 13)) + Number(from.slice(14, 16));
  const daily = () => [...axis.calendar.minuteOfDay.keys()].filter((i) => axis.calendar.minuteOfDay[i] === minute);
  const fromKept = hoursToFillBy(study.home, fillKwh, gridChargeKw, isBeyond ? daily() : [interval]);
  // What is held for one before it is there already: the site's own filling knows how much.
  const noticeMs = startMsOf(axis, outage) - noticeHours * 3_600_000;
  const isHeld = earlier.some(
    (other) => startMsOf(axis, other) - other.noticeHours * 3_600_000 <= noticeMs && endMsOf(axis, other) >= noticeMs,
  );
  const fillHours = isHeld ? Math.min(fromKept, outage.fillHours) : fromKept;
  const judged = (verdict: JudgedOutage['verdict']) => ({ ...outage, fillHours, verdict });
  const after = afterAnother(axis, plant, outage, earlier, (month) => isTooCold(cold, month));
  if (after !== undefined) return judged(after);
  if (!plant.gridCharging) return judged(!isBeyond && outage.verdict === 'in-time' ? 'in-time' : 'no-grid-charging');
  if (isTooCold(cold, Number(from.slice(5, 7))) && fillHours > 1e-9) return judged('too-cold');
  if (fillHours > noticeHours + 1e-9) return judged('too-late');
  return judged(hasWarmHours(axis, cold, startMsOf(axis, outage), noticeHours, fillHours) ? 'in-time' : 'too-cold');
}

/** The planned outage that holds the floor up in an interval, from its notice on, and whether it has begun by the interval's end. */
export function plannedAt(
  { site, home: { axis } }: Study,
  i: number,
): { readonly outage: Pick<PlannedOutage, 'from' | 'to' | 'noticeHours'>; readonly hasBegun: boolean } | undefined {
  const startMs = intervalStartMs(axis, i);
  const endMs = startMs + axis.stepMinutes * 60_000;
  const holding = (site.backup?.reserve?.planned ?? [])
    .toSorted((a, b) => a.from.localeCompare(b.from))
    .map((outage) => ({ outage, fromMs: startMsOf(axis, outage), toMs: endMsOf(axis, outage) }))
    .find(({ outage, fromMs, toMs }) => startMs >= fromMs - outage.noticeHours * 3_600_000 && startMs < toMs);
  return holding === undefined ? undefined : { outage: holding.outage, hasBegun: endMs > holding.fromMs };
}

/** When a planned outage is known, on the home's clock: "2026-08-12T09:00". */
export function noticeOf(axis: Axis, outage: Pick<PlannedOutage, 'from' | 'noticeHours'>): string {
  const ms = startMsOf(axis, outage) - outage.noticeHours * 3_600_000;
  return new Date(ms + zoneOffsetMinutes(axis.zone, ms) * 60_000).toISOString().slice(0, 16);
}

/** What a plan keeps in the month in which a planned outage becomes known, %. */
export function keptAtNotice(
  axis: Axis,
  { reservePercent, dated }: ReservePlan,
  outage: Pick<PlannedOutage, 'from' | 'noticeHours'>,
): number {
  const month = Number(noticeOf(axis, outage).slice(5, 7));
  const higher = dated.filter(({ when }) => 'months' in when && when.months.includes(month));
  return Math.max(reservePercent, ...higher.map((one) => one.reservePercent));
}

/** Whether a planned outage, or what is set by hand for it, was over before today; where today isn't known, nothing was. */
export function isOver({ to }: Pick<PlannedOutage, 'to'>, today: string | undefined): boolean {
  return today !== undefined && to.slice(0, 10) < today;
}

/** Whether a planned outage has surely begun: on a day before today. Of one that begins today nobody knows, since today is a date. */
export function hasBegun({ from }: Pick<PlannedOutage, 'from'>, today: string | undefined): boolean {
  return today !== undefined && from.slice(0, 10) < today;
}

/**
 * The first day of what is told to be done: today, or the plan's stated start where that is later; nothing where neither is
 * known. A day before all of the data is nobody's today, so that it counts as unknown.
 */
export function planFrom({ site: { startsOn }, home }: Study, today: string | undefined): string | undefined {
  const known = today !== undefined && today >= formatDate(home.axis.calendar.days[0]!) ? today : undefined;
  if (startsOn === undefined || known === undefined) return known ?? startsOn;
  return startsOn > known ? startsOn : known;
}
