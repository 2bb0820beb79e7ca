import { type Axis, epochAtLocal, intervalAt, offsetMinutesAt } from '@duskbank/core/axis';
import { showName } from '@duskbank/core/input';
import { inputFault } from './fail.ts';

/**
 * The interval of an axis that holds a moment: a reading of the home's clock, or a time with an offset.
 *
 * @throws InputError `not-a-time`, `out-of-range`; `ambiguous-time` and `skipped-time` where the clock changes
 */
export function intervalNamed(axis: Axis, text: string): number {
  const epochMs = momentOf(axis, text);
  const index = intervalAt(axis, epochMs);
  if (index >= 0 && index < axis.intervals) return index;
  throw fault(
    'out-of-range',
    text,
    `a time from ${onClock(axis.zone, axis.startEpochMs)} to before ${onClock(axis.zone, axis.endEpochMs)} on the home’s clock, which the data cover`,
  );
}

const FORM = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::(\d\d))?(Z|[+-]\d\d:?\d\d)?$/;

function momentOf({ zone, startEpochMs }: Axis, text: string): number {
  const match = FORM.exec(text);
  const [, year, month, day, hour, minute, second = '00', offset] = match ?? [];
  const reading = `${year}-${month}-${day}T${hour}:${minute}:${second}`;
  const localMs = Date.parse(`${reading}Z`);
  // 30 February and 24:00 are read as another day by some: what comes back must be what was written.
  if (match === null || Number.isNaN(localMs) || new Date(localMs).toISOString().slice(0, 19) !== reading)
    throw fault(
      'not-a-time',
      text,
      `a date and a time on the home’s clock such as ${onClock(zone, startEpochMs)}, or one with its offset such as ${withOffset(zone, startEpochMs)}`,
    );
  if (offset !== undefined) {
    const sign = offset.startsWith('-') ? -1 : 1;
    const digits = offset.replace(/\D/g, '');
    const minutes = digits === '' ? 0 : sign * (60 * Number(digits.slice(0, 2)) + Number(digits.slice(2)));
    return localMs - minutes * 60_000;
  }
  const earlier = epochAtLocal(zone, localMs, 'earlier');
  const later = epochAtLocal(zone, localMs, 'later');
  if (earlier === later) return earlier;
  if (earlier + offsetMinutesAt(zone, earlier) * 60_000 === localMs)
    throw fault(
      'ambiguous-time',
      text,
      'a time that occurs once: the clock is put back over it',
      `write ${withOffset(zone, earlier)} for the first time, ${withOffset(zone, later)} for the second`,
    );
  throw fault(
    'skipped-time',
    text,
    'a time that occurs: the clock is put forward over it',
    `the clock shows ${onClock(zone, later)} where it would have shown this`,
  );
}

function fault(code: string, text: string, expected: string, hint?: string) {
  return inputFault({
    code,
    where: { column: '--at' },
    received: `"${showName(text)}"`,
    expected,
    ...(hint === undefined ? {} : { hint }),
  });
}

/** `2026-01-15T18:30` */
function onClock(zone: string, epochMs: number): string {
  return new Date(epochMs + offsetMinutesAt(zone, epochMs) * 60_000).toISOString().slice(0, 16);
}

/** `2026-01-15T18:30-07:00` */
function withOffset(zone: string, epochMs: number): string {
  const minutes = offsetMinutesAt(zone, epochMs);
  const two = (value: number) => String(value).padStart(2, '0');
  const size = Math.abs(minutes);
  return `${onClock(zone, epochMs)}${minutes < 0 ? '-' : '+'}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}
