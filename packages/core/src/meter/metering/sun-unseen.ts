import { quantile } from 'simple-statistics';
import type { Axis } from '../../axis/index.ts';
import { isNoonAsUtc } from '../noon-as-utc.ts';
import type { IntervalSeries } from '../series.ts';
import { isByClock } from './by-clock.ts';
import { type MeteringFault, meteringFault } from './fault.ts';

/** Hours about the middle of the day in which a roof carries a home first, and those outside of which it never does. */
const NOON = { from: -2.5, to: 2.5 };
const DAY = { from: -4.5, to: 5.5 };
/** Where that middle is on the clock of most homes, at which it is looked for first. */
const MIDDLE = 12.5;
/** It may stand there on the home's own clock: roofs to the east and west, daylight saving time, the edges of wide zones. */
const ABOUT_NOON = { from: 8, to: 17 };
/** The same where it would stand about noon on labels of UTC. */
const ABOUT_NOON_NOT_UTC = { from: 8.5, to: 16.5 };
/** On labels of another clock it is looked for from morning to evening alone: at night many a home draws next to nothing. */
const ELSEWHERE = { from: 6, to: 22 };
/** From one hour to the next, of the highest: the sun comes and goes by the season and by clouds, a switch and a battery by the clock. */
const STEEP = 0.75;
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
  /** The user says that there are no panels. */
  readonly hasNoPanels: boolean;
}

/**
 * What is drawn is nothing about noon far more often than at night, and no export or solar is given: panels carry the home by day, so that the
 * readings are what it buys, and what it sells is in a file that isn't there. A home without a roof draws its least at night. A net that never
 * falls below zero gives no export either, whatever stands beside it. Where that stands at another hour of the labels, they keep another clock too.
 *
 * @returns whether it was told
 */
export function checkSunUnseen(
  series: IntervalSeries,
  { isAll, isNet, hasNoPanels }: SaidOfDrawn,
  faults: MeteringFault[],
): boolean {
  const { importKwh, loadKwh, exportKwh, solarKwh, axis } = series;
  const drawn = importKwh ?? loadKwh;
  const isCut = isNet && importKwh !== undefined && exportKwh?.some((kwh) => kwh > 0) !== true;
  if (drawn === undefined || (hasNoPanels && solarKwh === undefined)) return false;
  if (!isCut && (exportKwh !== undefined || solarKwh !== undefined)) return false;
  if (!isCut && importKwh !== undefined && loadKwh !== undefined) return false;
  const found = dipAbout(series.axis, drawn, MIDDLE) ?? dipElsewhere(series.axis, drawn);
  if (found === undefined) return false;
  const { share, nightShare, days, silent, middleHour, isSteep } = found;
  const isUtc = isNoonAsUtc(axis, middleHour);
  const { from, to } = isUtc ? ABOUT_NOON_NOT_UTC : ABOUT_NOON;
  const isElsewhere = !isSteep && (middleHour < from || middleHour > to);
  faults.push(
    meteringFault(
      'sun-unseen',
      {
        channel: importKwh === undefined ? 'load' : 'import',
        share,
        nightShare,
        days,
        ...(isElsewhere ? { middleHour, isUtc } : {}),
        ...(isCut ? { net: solarKwh === undefined ? 'alone' : 'with-solar' } : {}),
        ...(isAll ? { stated: true } : {}),
      },
      { confidence: 'likely', count: silent },
    ),
  );
  return true;
}

/** Hours about some middle of a day in which next to nothing is drawn, far more often than at the other end of the day. */
interface Dip {
  /** Of the readings about the middle, and of those at the other end of the day, those that are nothing. */
  readonly share: number;
  readonly nightShare: number;
  readonly days: number;
  readonly silent: number;
  /** The mean direction of all that is nothing, hours from midnight. */
  readonly middleHour: number;
  /** Whether it begins or ends by the clock. */
  readonly isSteep: boolean;
}

function dipAbout(axis: Axis, drawn: Float64Array, middle: number): Dip | undefined {
  const { minuteOfDay, day } = axis.calendar;
  const outside: number[] = [];
  const about: number[] = [];
  for (let i = 0; i < drawn.length; i++) {
    if (Number.isNaN(drawn[i]!)) continue;
    const hour = ((minuteOfDay[i]! / 60 - middle + 36) % 24) - 12;
    if (hour >= NOON.from && hour < NOON.to) about.push(i);
    else if (hour < DAY.from || hour >= DAY.to) outside.push(drawn[i]!);
  }
  if (about.length === 0 || outside.length === 0) return undefined;
  const nothing = NOTHING_SHARE * quantile(outside, LEAST_DRAW);
  const silent = about.filter((i) => drawn[i]! <= nothing);
  const share = silent.length / about.length;
  const nightShare = outside.filter((kwh) => kwh <= nothing).length / outside.length;
  if (share < LEAST_SHARE || share < TIMES_AS_OFTEN * nightShare) return undefined;
  const days = new Set(silent.map((i) => day[i]!)).size;
  if (days < FEWEST_DAYS || isByClock(axis, drawn, nothing)) return undefined;
  const { middleHour, steepest } = courseOf(axis, drawn, nothing);
  return { share, nightShare, days, silent: silent.length, middleHour, isSteep: steepest > STEEP };
}

/** The deepest dip about another hour than noon. */
function dipElsewhere(axis: Axis, drawn: Float64Array): Dip | undefined {
  let best: Dip | undefined;
  for (let middle = ELSEWHERE.from; middle <= ELSEWHERE.to; middle++) {
    const dip = dipAbout(axis, drawn, middle);
    if (dip !== undefined && !dip.isSteep && dip.share > (best?.share ?? 0)) best = dip;
  }
  if (best === undefined || best.middleHour < ELSEWHERE.from || best.middleHour > ELSEWHERE.to) return undefined;
  return best;
}

/** When what is nothing has its middle, and its steepest step from one hour to the next, of its highest hour. */
function courseOf({ calendar }: Axis, drawn: Float64Array, nothing: number) {
  const [silent, known] = [new Float64Array(24), new Float64Array(24)];
  for (let i = 0; i < drawn.length; i++) {
    if (Number.isNaN(drawn[i]!)) continue;
    const hour = Math.floor(calendar.minuteOfDay[i]! / 60);
    known[hour]!++;
    if (drawn[i]! <= nothing) silent[hour]!++;
  }
  const shares = Array.from(silent, (count, hour) => (known[hour]! > 0 ? count / known[hour]! : 0));
  const most = Math.max(...shares);
  let [x, y, steepest] = [0, 0, 0];
  for (const [hour, share] of shares.entries()) {
    x += share * Math.cos(((hour + 0.5) * Math.PI) / 12);
    y += share * Math.sin(((hour + 0.5) * Math.PI) / 12);
    steepest = Math.max(steepest, Math.abs(shares[(hour + 1) % 24]! - share) / most);
  }
  return { middleHour: ((Math.atan2(y, x) * 12) / Math.PI + 24) % 24, steepest };
}
