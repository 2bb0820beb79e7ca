import { darkIntervals, sunDays } from './metering/daylight.ts';
import type { MeteringContext } from './metering/fault.ts';
import type { IntervalSeries } from './series.ts';

/** Below this power a meter's noise, or what a battery's control lets through, says nothing of what the home sells. */
const LEAST_KW = 0.1;
/** Sold in the dark above this share of all that is sold, and above so much: as much as no slip of a meter comes to. */
const MOST_SHARE = 0.02;
const MOST_KWH = 5;
/** On fewer nights it may be energy that was booked late. */
const FEWEST_NIGHTS = 3;
/** Days over which the course of what is sold is looked at. */
const BLOCK_DAYS = 28;
/** The midnight sun stands low: it gives less than this of what is sold about noon, and less from the afternoon on. */
const LOW_SUN_SHARE = 0.15;
/** Hours in which the sun is down in the darkest season of every place, and how many of {@link BLOCK_DAYS} are looked at. */
const EVENING = { from: 20, to: 23 };
const DARKEST_BLOCKS = 3;
/** Data of fewer days may be of a bright season alone. */
const YEAR_DAYS = 330;

/** What a home sells without sun: it has a battery already, or something else that gives at night. */
export interface DarkExport {
  readonly kwh: number;
  /** What says that there was no sun: its meter, its course at the home's place, or the hours of the clock. */
  readonly by: 'solar' | 'place' | 'clock';
}

/**
 * What is sold without sun, where it is more than next to none: while metered solar gives nothing; else an hour and a half past sunset and before
 * sunrise, where the place is known; else between 23 and 3 h, and of a year's data after 20 h in its three darkest stretches of 28 days.
 * Where the clock alone speaks, a summer in whose nights little is sold, and less from the afternoon on, may be one of the far north.
 */
export function darkExport(series: IntervalSeries, place: MeteringContext): DarkExport | undefined {
  const { exportKwh, solarKwh } = series;
  if (exportKwh === undefined) return undefined;
  let allKwh = 0;
  for (const kwh of exportKwh) allKwh += Number.isNaN(kwh) ? 0 : kwh;
  const most = Math.max(MOST_SHARE * allKwh, MOST_KWH);
  if (solarKwh !== undefined) {
    let kwh = 0;
    for (let i = 0; i < exportKwh.length; i++) if (solarKwh[i]! < 1e-6) kwh += exportKwh[i]!;
    return kwh > most ? { kwh, by: 'solar' } : undefined;
  }
  const suns = sunDays(series, place);
  const dark = darkIntervals(series, suns);
  const evenings = suns === undefined ? byClock(series, exportKwh, dark) : undefined;
  const night = soldIn(series, exportKwh, dark);
  if (night.kwh > most && night.nights >= FEWEST_NIGHTS)
    return { kwh: night.kwh, by: suns === undefined ? 'clock' : 'place' };
  if (evenings === undefined) return undefined;
  // Of a season by itself: what is sold then is little beside a summer's sun.
  const evening = soldIn(series, exportKwh, evenings.dark);
  const isMore = evening.kwh > Math.max(MOST_SHARE * evenings.seasonKwh, MOST_KWH);
  return isMore && evening.nights >= FEWEST_NIGHTS ? { kwh: evening.kwh, by: 'clock' } : undefined;
}

/** What is sold in some intervals, above what a meter's noise comes to, and on how many days. */
function soldIn({ axis }: IntervalSeries, exportKwh: Float64Array, dark: Uint8Array): { kwh: number; nights: number } {
  const days = new Set<number>();
  let kwh = 0;
  for (let i = 0; i < exportKwh.length; i++) {
    if (dark[i] === 0 || !(exportKwh[i]! >= LEAST_KW * axis.stepHours)) continue;
    kwh += exportKwh[i]!;
    days.add(axis.calendar.day[i]!);
  }
  return { kwh, nights: days.size };
}

/** Takes out of the dark what may be the midnight sun's, and tells the evenings of a year's darkest season, with all that is sold in it. */
function byClock(
  { axis }: IntervalSeries,
  exportKwh: Float64Array,
  dark: Uint8Array,
): { readonly dark: Uint8Array; readonly seasonKwh: number } {
  const { day, minuteOfDay, days } = axis.calendar;
  const blocks = Math.max(1, Math.floor(days.length / BLOCK_DAYS));
  const blockOf = (i: number) => Math.min(Math.floor(day[i]! / BLOCK_DAYS), blocks - 1);
  const hourOf = (i: number) => Math.floor(minuteOfDay[i]! / 60);
  const sold = Array.from({ length: blocks }, () => new Float64Array(24));
  for (let i = 0; i < exportKwh.length; i++)
    if (!Number.isNaN(exportKwh[i]!)) sold[blockOf(i)]![hourOf(i)]! += exportKwh[i]!;
  const of = (block: number, from: number, to: number) => {
    let sum = 0;
    for (let hour = from; hour < to; hour++) sum += sold[block]![hour % 24]!;
    return sum / (to - from);
  };
  const isLowSun = sold.map((_, block) => {
    const [noon, afternoon, evening, night] = [
      of(block, 11, 14),
      of(block, 17, 20),
      of(block, 20, 23),
      of(block, 23, 27),
    ];
    return night <= LOW_SUN_SHARE * noon && night <= evening && evening <= afternoon && afternoon <= noon;
  });
  const darkest = sold
    .map((_, block) => block)
    .sort((a, b) => of(a, EVENING.from, EVENING.to) - of(b, EVENING.from, EVENING.to))
    .slice(0, days.length >= YEAR_DAYS ? DARKEST_BLOCKS : 0);
  const evenings = new Uint8Array(dark.length);
  let seasonKwh = 0;
  for (let i = 0; i < dark.length; i++) {
    const block = blockOf(i);
    if (isLowSun[block]) dark[i] = 0;
    if (!darkest.includes(block)) continue;
    seasonKwh += Number.isNaN(exportKwh[i]!) ? 0 : exportKwh[i]!;
    if (hourOf(i) >= EVENING.from && hourOf(i) < EVENING.to) evenings[i] = 1;
  }
  return { dark: evenings, seasonKwh };
}
