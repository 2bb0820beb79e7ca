import { IANAZone } from 'luxon';

/**
 * Asks a zone for its offset, minutes east of UTC. Luxon is asked twice for a day of UTC, and for each instant only where
 * the day's ends differ: a year of intervals costs two questions a day.
 */
export function offsetsOf(zone: string): (epochMs: number) => number {
  const iana = IANAZone.create(zone);
  const byDay = new Map<number, number | undefined>();
  return (epochMs) => {
    const day = Math.floor(epochMs / 86_400_000);
    if (!byDay.has(day)) {
      const first = iana.offset(day * 86_400_000);
      byDay.set(day, first === iana.offset((day + 1) * 86_400_000) ? first : undefined);
    }
    return byDay.get(day) ?? iana.offset(epochMs);
  };
}

const two = (value: number) => String(value).padStart(2, '0');

/** `2025-03-31T00:30`: the clock that is `offsetMinutes` ahead of UTC. */
export function localText(epochMs: number, offsetMinutes: number): string {
  return new Date(epochMs + offsetMinutes * 60_000).toISOString().slice(0, 16);
}

/** `+10:30`. */
export function offsetText(offsetMinutes: number): string {
  const size = Math.abs(offsetMinutes);
  return `${offsetMinutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}
