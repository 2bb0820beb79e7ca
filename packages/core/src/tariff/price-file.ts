import Papa from 'papaparse';
import { STEP_MINUTES } from '../axis/index.ts';
import { aZone, instantAtLocal } from '../axis/inside.ts';
import { showCell } from '../input/cell.ts';
import { text as aText, check } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import type { PriceSeries } from './series.ts';

/**
 * Reads a file of prices per kWh: a header, then one row a step with its start and its price. Starts carry an offset
 * (or Z), or are clock time of `zone`; the hour that the clock repeats then comes twice.
 *
 * @throws InputError `no-rows` | `not-a-date` | `not-finite` | `uneven-steps`, with the line
 */
export function parsePriceSeries(text: string, zone: string, file: string): PriceSeries {
  check({ text, zone, file }, { text: aText, zone: aZone, file: aText });
  const fail = (code: string, line: number, received: string, expected: string, hint?: string): never => {
    throw new InputError([
      { code, where: { file, line }, received, expected, ...(hint === undefined ? {} : { hint }) },
    ]);
  };
  const rows = Papa.parse<string[]>(text.replace(/^\uFEFF/, ''), { skipEmptyLines: true }).data;
  const head = (rows[0] ?? []).map((name) => name.trim().toLowerCase());
  if (rows.length < 3 || head.length < 2)
    return fail('no-rows', 1, `${rows.length} rows`, 'a header and a row for each step: its start and its price');
  const startAt = Math.max(
    0,
    head.findIndex((name) => /start|time|date/.test(name)),
  );
  const priceNamed = head.findIndex((name) => /price|rate/.test(name));
  const priceAt = priceNamed >= 0 ? priceNamed : startAt === 0 ? 1 : 0;
  const pricePerKwh = new Float64Array(rows.length - 1);
  let startEpochMs = 0;
  let stepMs = 0;
  let last = 0;
  for (let r = 1; r < rows.length; r++) {
    const stamp = (rows[r]![startAt] ?? '').trim();
    const price = (rows[r]![priceAt] ?? '').trim();
    let at = instantOf(stamp, zone, 'earlier');
    if (r > 1 && at <= last) at = instantOf(stamp, zone, 'later');
    if (Number.isNaN(at))
      return fail(
        'not-a-date',
        r + 1,
        showCell(stamp, 'time'),
        'a start such as "2026-03-01T17:00" or with "Z" or an offset',
      );
    if (price === '' || !Number.isFinite(Number(price)))
      return fail('not-finite', r + 1, showCell(price, 'number'), 'a price per kWh, with a point for decimals');
    if (r === 1) startEpochMs = at;
    else if (r === 2) stepMs = at - last;
    if (r > 1 && (at - last !== stepMs || !(STEP_MINUTES as readonly number[]).includes(stepMs / 60_000)))
      return fail(
        'uneven-steps',
        r + 1,
        `${(at - last) / 60_000} minutes after the row before`,
        `rows ${STEP_MINUTES.join(', ')} minutes apart, all alike`,
        'fill missing rows',
      );
    last = at;
    pricePerKwh[r - 1] = Number(price);
  }
  return { startEpochMs, stepMinutes: stepMs / 60_000, pricePerKwh };
}

function instantOf(stamp: string, zone: string, choice: 'earlier' | 'later'): number {
  const match = /^(\d{4})-(\d\d)-(\d\d)[T ](\d\d):(\d\d)(?::\d\d(?:\.\d+)?)?(Z|[+-]\d\d:?\d\d)?$/.exec(stamp);
  if (match === null) return Number.NaN;
  const [, year, month, day, hour, minute, offset] = match;
  const local = Date.UTC(Number(year), Number(month) - 1, Number(day), Number(hour), Number(minute));
  if (offset === undefined) return instantAtLocal(zone, local, choice);
  if (offset === 'Z') return local;
  const sign = offset.startsWith('-') ? 1 : -1;
  return local + sign * (Number(offset.slice(1, 3)) * 60 + Number(offset.slice(-2))) * 60_000;
}
