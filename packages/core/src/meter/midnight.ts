import { instantAtLocal, zoneOffsetMinutes } from '../axis/inside.ts';
import { DAY_MS } from './durations.ts';

/** When a day of a zone begins, ms since the epoch: where the clock skips midnight, with the first hour that it shows. */
export function beginOfDay(zone: string, civilDay: number): number {
  const localMs = civilDay * DAY_MS;
  const at = instantAtLocal(zone, localMs);
  return at + zoneOffsetMinutes(zone, at) * 60_000 < localMs ? instantAtLocal(zone, localMs, 'later') : at;
}
