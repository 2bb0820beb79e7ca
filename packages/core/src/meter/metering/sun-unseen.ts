import { quantile } from 'simple-statistics';
import type { IntervalSeries } from '../series.ts';
import { type MeteringFault, meteringFault } from './fault.ts';

/** Local hours in which a roof carries a home first, and those outside of which it never does. */
const NOON = { from: 10, to: 15 };
const DAY = { from: 8, to: 18 };
/** Of the home's least draw outside the day (the lowest tenth of it), what counts as nothing: no refrigerator is on for so little. */
const NOTHING_SHARE = 0.25;
const LEAST_DRAW = 0.1;
/** Readings about noon that are nothing, and how many times as often as outside the day. */
const LEAST_SHARE = 0.1;
const TIMES_AS_OFTEN = 3;
/** On fewer days it may be an outage. */
const FEWEST_DAYS = 7;

/** What the user says of what is drawn, and what its file leaves open. */
interface SaidOfDrawn {
  /** The user says that it is all. */
  readonly isAll: boolean;
  /** It is read from a net that never falls below zero: what is sold may be cut off. */
  readonly isNet: boolean;
}

/**
 * What is drawn is nothing about noon far more often than at night, and no export or solar is given: panels carry the home by day, so that the
 * readings are what it buys, and what it sells is in a file that isn't there. A home without a roof draws its least at night. A net that never
 * falls below zero gives no export either, whatever stands beside it.
 *
 * @returns whether it was told
 */
export function checkSunUnseen(
  series: IntervalSeries,
  { isAll, isNet }: SaidOfDrawn,
  faults: MeteringFault[],
): boolean {
  const { importKwh, loadKwh, exportKwh, solarKwh, axis } = series;
  const drawn = importKwh ?? loadKwh;
  const isCut = isNet && importKwh !== undefined && exportKwh?.some((kwh) => kwh > 0) !== true;
  if (drawn === undefined) return false;
  if (!isCut && (exportKwh !== undefined || solarKwh !== undefined)) return false;
  if (!isCut && importKwh !== undefined && loadKwh !== undefined) return false;
  const { minuteOfDay, day } = axis.calendar;
  const isIn = (i: number, { from, to }: typeof NOON) => minuteOfDay[i]! >= 60 * from && minuteOfDay[i]! < 60 * to;
  const outside: number[] = [];
  const noon: number[] = [];
  for (let i = 0; i < drawn.length; i++) {
    if (Number.isNaN(drawn[i]!)) continue;
    if (isIn(i, NOON)) noon.push(i);
    else if (!isIn(i, DAY)) outside.push(drawn[i]!);
  }
  if (noon.length === 0 || outside.length === 0) return false;
  const nothing = NOTHING_SHARE * quantile(outside, LEAST_DRAW);
  const silent = noon.filter((i) => drawn[i]! <= nothing);
  const share = silent.length / noon.length;
  const nightShare = outside.filter((kwh) => kwh <= nothing).length / outside.length;
  if (share < LEAST_SHARE || share < TIMES_AS_OFTEN * nightShare) return false;
  const days = new Set(silent.map((i) => day[i]!)).size;
  if (days < FEWEST_DAYS) return false;
  faults.push(
    meteringFault(
      'sun-unseen',
      {
        channel: importKwh === undefined ? 'load' : 'import',
        share,
        nightShare,
        days,
        ...(isCut ? { net: solarKwh === undefined ? 'alone' : 'with-solar' } : {}),
        ...(isAll ? { stated: true } : {}),
      },
      { confidence: 'likely', count: silent.length },
    ),
  );
  return true;
}
