import { listed } from '../../words/figures.ts';
import type { ToldStream } from '../../words/streams.ts';
import { kwhPer } from '../kwh.ts';
import type { Stream } from '../readings.ts';

export function firstLine({ labels }: Stream): number {
  return labels.line[0] ?? 0;
}

/** How sentences call a column or the rows of a kind. */
export function nameOf({ kind, kinds, source }: Stream): string {
  if (kind === undefined) return source;
  return `rows of ${listed((kinds ?? [kind]).map(({ shown }) => shown))}`;
}

/** Which stream, and how much it holds. */
export function toldStream(stream: Stream): ToldStream {
  const { reading, unit, cumulative, values, kind, kinds, column, role, total } = stream;
  const rowText = kind === undefined || kinds !== undefined ? undefined : /^"([^"…]+)"$/.exec(kind.shown)?.[1];
  const name = reading !== undefined ? `meter reading ${reading}` : nameOf(stream);
  const named = {
    stream: name,
    ...(rowText === undefined ? {} : { rowText }),
    ...(column === undefined ? {} : { column }),
    ...(reading === undefined ? {} : { meterReading: reading }),
    role,
    firstLine: firstLine(stream),
    ...(total === true && kind !== undefined ? { total: true as const } : {}),
  };
  if (cumulative) return named;
  let sum = 0;
  for (const value of values) sum += value || 0;
  return {
    ...named,
    ...(unit !== undefined && /h$/.test(unit) ? { energyKwh: sum * kwhPer(unit, 0) } : { sum }),
  };
}
