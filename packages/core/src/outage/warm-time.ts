import type { Axis } from '../axis/index.ts';
import { instantAtLocal, zoneOffsetMinutes } from '../axis/inside.ts';

/**
 * Time between two instants in months of the clock in which the cells take anything, ms. It is counted until it suffices: cold
 * months that hold together are no years.
 */
export function warmMs(
  { zone }: Axis,
  fromMs: number,
  untilMs: number,
  tooCold: (month: number) => boolean,
  enoughMs: number,
): number {
  let sum = 0;
  for (let ms = fromMs; ms < untilMs && sum < enoughMs; ) {
    const clock = new Date(ms + zoneOffsetMinutes(zone, ms) * 60_000);
    const next = instantAtLocal(zone, Date.UTC(clock.getUTCFullYear(), clock.getUTCMonth() + 1));
    const end = Math.min(untilMs, Math.max(next, ms + 1));
    if (!tooCold(clock.getUTCMonth() + 1)) sum += end - ms;
    ms = end;
  }
  return sum;
}
