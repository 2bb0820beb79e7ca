import type { FindingList } from '../findings.ts';
import type { Stream } from '../readings.ts';
import { nameOf } from './told-stream.ts';

/** Readings that the option `repeats` leaves out. */
export interface LeftReadings {
  readonly readings: number;
  /** Of those, how many differ from what was taken. */
  readonly differing: number;
  /** Null where their unit isn't known. */
  readonly kwh: number | null;
}

/** Says what `repeats` leaves out of a stream: a note where it is what was taken once more. */
export function noteRepeats(
  taken: 'first' | 'last',
  stream: Stream,
  { readings, differing, kwh }: LeftReadings,
  findings: FindingList,
): void {
  if (readings === 0) return;
  if (differing === 0) {
    findings.add('duplicate', 'note', { of: 'interval' }, { count: readings });
    return;
  }
  const name = nameOf(stream);
  const leftKwh = stream.cumulative ? null : kwh;
  findings.add(
    'repeats-left',
    'warning',
    { taken, stream: name, readings, differing, leftKwh },
    { key: name, count: readings },
  );
}
