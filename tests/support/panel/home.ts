import { DateTime } from 'luxon';
import { offsetsOf } from './clock.ts';
import { diceOf } from './dice.ts';

/** Zones of all kinds: both hemispheres, half hours, three quarters, a clock change of half an hour, none. */
export const ZONES: readonly { zone: string; south: boolean }[] = [
  { zone: 'America/Denver', south: false },
  { zone: 'America/New_York', south: false },
  { zone: 'America/St_Johns', south: false },
  { zone: 'Europe/Berlin', south: false },
  { zone: 'Asia/Kolkata', south: false },
  { zone: 'Asia/Kathmandu', south: false },
  { zone: 'Asia/Tokyo', south: false },
  { zone: 'America/Sao_Paulo', south: true },
  { zone: 'Africa/Johannesburg', south: true },
  { zone: 'Australia/Adelaide', south: true },
  { zone: 'Australia/Lord_Howe', south: true },
  { zone: 'Pacific/Auckland', south: true },
];

/** A home with known truth: kWh an interval, each a whole number of watt-hours. */
export interface GeneratedHome {
  readonly seed: number;
  readonly zone: string;
  /** Midnight of the home's clock. */
  readonly startEpochMs: number;
  readonly stepMinutes: number;
  readonly intervals: number;
  /** First and last date of the home's clock. */
  readonly firstDate: string;
  readonly lastDate: string;
  readonly loadKwh: Float64Array;
  /** Gross, at AC; zeros in a home without. */
  readonly solarKwh: Float64Array;
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  readonly hasSolar: boolean;
}

/** What may be set instead of thrown. */
export interface HomeWishes {
  readonly days?: number;
  readonly stepMinutes?: 15 | 30 | 60;
  readonly zone?: string;
  readonly firstDate?: string;
  readonly solar?: boolean;
}

/**
 * A home from a seed: base load, mornings, evenings that differ from day to day, cold and hot weather that lasts some
 * days, kettles, sometimes a vehicle and a roof. In every interval `load − solar = import − export`, exactly in whole
 * watt-hours, and never both ways at once. About one in six roofs feeds nothing in: what it could give beyond the load
 * is not in its solar either.
 */
export function generateHome(seed: number, wishes: HomeWishes = {}): GeneratedHome {
  const dice = diceOf(seed, 'home');
  const thrown = dice.pick(ZONES);
  const zone = wishes.zone ?? thrown.zone;
  const south = ZONES.find((known) => known.zone === zone)?.south ?? false;
  const stepMinutes = wishes.stepMinutes ?? dice.pick([15, 15, 30, 60] as const);
  const length = dice.between(0, 1);
  const days =
    wishes.days ?? (length < 0.7 ? dice.whole(31, 75) : length < 0.92 ? dice.whole(80, 180) : dice.whole(365, 370));
  const onTheFirst = dice.chance(0.5);
  const month = dice.whole(1, 12);
  const year = dice.whole(2023, 2026);
  const dayOfMonth = dice.whole(2, 28);
  const start =
    wishes.firstDate !== undefined
      ? DateTime.fromISO(wishes.firstDate, { zone })
      : DateTime.fromObject({ year, month, day: onTheFirst ? 1 : dayOfMonth }, { zone });
  const end = start.plus({ days });
  const startEpochMs = start.toMillis();
  const stepMs = stepMinutes * 60_000;
  const intervals = Math.floor((end.toMillis() - startEpochMs) / stepMs);
  const stepHours = stepMinutes / 60;

  const baseKw = dice.between(0.08, 0.45);
  const morningKw = dice.between(0.2, 1.4);
  const eveningKw = dice.between(0.6, 3.2);
  const eveningHour = dice.between(17.5, 20.5);
  const heatKw = dice.chance(0.4) ? dice.between(0.5, 4) : 0;
  const coolKw = dice.chance(0.4) ? dice.between(0.5, 3) : 0;
  const carKw = dice.chance(0.3) ? dice.pick([2.3, 3.7, 7.2]) : 0;
  const carHour = dice.between(18, 23);
  const solarThrow = dice.chance(0.65);
  const hasSolar = wishes.solar ?? solarThrow;
  const solarKw = dice.between(1.5, 9);
  const feedsIn = dice.chance(0.85);

  const offsetAt = offsetsOf(zone);
  const standardMinutes = Math.min(offsetAt(Date.UTC(start.year, 0, 1)), offsetAt(Date.UTC(start.year, 6, 1)));
  const loadKwh = new Float64Array(intervals);
  const solarKwh = new Float64Array(intervals);
  const importKwh = new Float64Array(intervals);
  const exportKwh = new Float64Array(intervals);

  let day = Number.NaN;
  let weather = 0;
  let sky = 0.7;
  let lively = 1;
  let away = false;
  let carFrom = 0;
  let carHours = 0;
  let winter = 0;
  for (let i = 0; i < intervals; i++) {
    const epochMs = startEpochMs + i * stepMs;
    const localMinutes = epochMs / 60_000 + offsetAt(epochMs);
    const hour = (((localMinutes % 1440) + 1440) % 1440) / 60;
    const today = Math.floor(localMinutes / 1440);
    if (today !== day) {
      day = today;
      const dayOfYear = (today + 0.5) % 365.25;
      winter = 0.5 + 0.5 * Math.cos((2 * Math.PI * (dayOfYear - (south ? 197 : 15))) / 365.25);
      weather = 0.75 * weather + dice.between(-0.25, 0.25);
      sky = Math.min(1, Math.max(0.1, 0.35 * sky + 0.65 * dice.between(0.1, 1.1)));
      lively = dice.between(0.6, 1.4);
      away = dice.chance(away ? 0.8 : 0.015);
      carFrom = carHour + dice.between(-0.5, 1.5);
      carHours = carKw > 0 && dice.chance(0.6) ? dice.between(1, 4) : 0;
    }
    const weekend = (((day + 3) % 7) + 7) % 7 >= 5;
    const morning = Math.exp(-(((hour - (weekend ? 9.5 : 7.2)) / 1.2) ** 2));
    const evening = Math.exp(-(((hour - eveningHour) / 2.1) ** 2));
    let kw = baseKw * dice.between(0.7, 1.3);
    if (!away) {
      kw += lively * (morningKw * morning + eveningKw * evening) * dice.between(0.4, 1.6);
      if (dice.chance(0.02)) kw += dice.between(0.5, 2.5);
      kw += heatKw * Math.max(0, winter - 0.3 + 0.4 * weather) * dice.between(0.7, 1.3);
      kw += coolKw * Math.max(0, 0.6 - winter + 0.4 * weather) * Math.exp(-(((hour - 16.5) / 4) ** 2));
      if (hour >= carFrom && hour < carFrom + carHours) kw += carKw;
    }
    const loadWh = Math.round(kw * stepHours * 1000);

    let solarWh = 0;
    if (hasSolar) {
      const sunHour = ((((epochMs / 60_000 + standardMinutes + stepMinutes / 2) % 1440) + 1440) % 1440) / 60;
      const halfDay = 4.4 + 2 * (1 - winter);
      const arc = Math.abs(sunHour - 12.4) < halfDay ? Math.cos(((sunHour - 12.4) / halfDay) * (Math.PI / 2)) : 0;
      const cloud = Math.min(1, sky * dice.between(0.75, 1.15));
      solarWh = Math.round(solarKw * (0.75 - 0.3 * winter) * arc ** 1.3 * cloud * stepHours * 1000);
      if (!feedsIn) solarWh = Math.min(solarWh, loadWh);
    }
    loadKwh[i] = loadWh / 1000;
    solarKwh[i] = solarWh / 1000;
    importKwh[i] = Math.max(0, loadWh - solarWh) / 1000;
    exportKwh[i] = Math.max(0, solarWh - loadWh) / 1000;
  }
  const last = DateTime.fromMillis(startEpochMs + intervals * stepMs - 1, { zone });
  return {
    seed,
    zone,
    startEpochMs,
    stepMinutes,
    intervals,
    firstDate: start.toISODate()!,
    lastDate: last.toISODate()!,
    loadKwh,
    solarKwh,
    importKwh,
    exportKwh,
    hasSolar,
  };
}
