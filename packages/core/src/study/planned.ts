import type { Axis } from '../axis/index.ts';
import { zoneOffsetMinutes } from '../axis/inside.ts';
import type { ReservePlan } from '../dispatch/index.ts';
import type { PlannedOutage } from '../outage/index.ts';
import { startMsOf } from '../outage/inside.ts';
import type { Plant } from '../plant/index.ts';

/**
 * A planned outage where the box keeps so much by its notice, %: with all of it kept, filled from the grid, it is full whenever
 * notice comes. All that judges one asks here: the sheet, `outage` and the warnings.
 */
export function withKept(outage: PlannedOutage, keptPercent: number, { gridCharging }: Plant): PlannedOutage {
  const { verdict } = outage;
  const isOpen = verdict === 'off-axis' || verdict === 'after-another';
  return keptPercent === 100 && gridCharging && !isOpen ? { ...outage, fillHours: 0, verdict: 'in-time' } : outage;
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
