import type { Axis } from '../axis/index.ts';
import type { Backup } from './backup.ts';
import type { Reserve } from './floors.ts';
import { warmMs } from './warm-time.ts';

type Cold = Backup['cold'];

const before = (month: number): number => (month === 1 ? 12 : month - 1);

/** Whether a month's lows reach the cells' limit, so that they take nothing in it. */
export function isTooCold(cold: Cold, month: number): boolean {
  return cold !== undefined && cold.lowsC[month - 1]! <= cold.limitC;
}

/** Months of the year, 1 to 12, whose lows reach the cells' limit. */
export function coldMonths(cold: Cold): number[] {
  return Array.from({ length: 12 }, (_, m) => m + 1).filter((month) => isTooCold(cold, month));
}

/** Whether a planned outage's notice has so many hours in which the cells take anything: those in months that aren't too cold. */
export function hasWarmHours(
  axis: Axis,
  cold: Cold,
  startMs: number,
  noticeHours: number,
  wantedHours: number,
): boolean {
  const wantedMs = (wantedHours - 1e-9) * 3_600_000;
  const noticeMs = startMs - noticeHours * 3_600_000;
  return warmMs(axis, noticeMs, startMs, (month) => isTooCold(cold, month), wantedMs) >= wantedMs;
}

/**
 * The months that a floor by month is kept in besides its own: where the cells take nothing in it, those of the same cold
 * before it. It can only be filled before the cold comes, and must be held from then on. None where no month is warm.
 */
function heldBefore(months: readonly number[], cold: Cold): number[] {
  if (coldMonths(cold).length === 12) return [];
  const held = new Set<number>();
  for (const month of months) {
    if (!isTooCold(cold, month)) continue;
    for (let m = before(month); isTooCold(cold, m); m = before(m)) if (!months.includes(m)) held.add(m);
  }
  return [...held].sort((a, b) => a - b);
}

/** Floors by month as they can be carried out: each from the beginning of the cold that it lies in. */
export function reserveInCold({ reserve, cold }: Pick<Backup, 'reserve' | 'cold'>): Reserve | undefined {
  if (reserve?.byMonth === undefined || cold === undefined) return reserve;
  const byMonth = reserve.byMonth.map(({ months, share }) => ({
    months: [...months, ...heldBefore(months, cold)],
    share,
  }));
  return { ...reserve, byMonth };
}

/**
 * What is stored before the first interval where nothing else is stated, kWh: the floor; but where the data begin in a month
 * that is too cold to charge in, no more than the lowest standing or monthly floor since the cold began, which is all that
 * must be left of what was filled before.
 *
 * @param floorKwh the floor in the first interval
 * @param standingKwh the floor that stands all year
 */
export function storedAtStart(
  axis: Axis,
  floorKwh: number,
  standingKwh: number,
  capacityKwh: number,
  backup: Pick<Backup, 'reserve' | 'cold'>,
): number {
  const { cold } = backup;
  let month = axis.calendar.month[0]!;
  if (!isTooCold(cold, month)) return floorKwh;
  const byMonth = reserveInCold(backup)?.byMonth ?? [];
  let least = floorKwh;
  for (let k = 0; k < 12 && isTooCold(cold, month); k++, month = before(month)) {
    const share = Math.max(0, ...byMonth.filter(({ months }) => months.includes(month)).map((rule) => rule.share));
    least = Math.min(least, Math.max(standingKwh, share * capacityKwh));
  }
  return least;
}
