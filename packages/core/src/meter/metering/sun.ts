import { DAY_MS } from '../durations.ts';

const RADIANS = Math.PI / 180;

/** Sunrise, solar noon and sunset of one day; the sun's upper edge at the horizon, refraction included. */
export interface SolarDay {
  readonly noonMs: number;
  /** NaN where the sun doesn't rise or set. */
  readonly sunriseMs: number;
  readonly sunsetMs: number;
}

/**
 * The sun's day at a place, to about two minutes: enough to tell whether a clock is an hour off.
 *
 * Declination and equation of time are Spencer's Fourier series (J. W. Spencer, "Fourier series representation
 * of the position of the sun", Search 2(5), 1971); the sun's centre stands at −0.833° when its edge rises
 * (NOAA, Solar Calculation Details).
 *
 * @param civilDay days since 1970-01-01 of the local date
 * @param longitudeDeg east positive
 */
export function solarDay(civilDay: number, latitudeDeg: number, longitudeDeg: number): SolarDay {
  const date = new Date(civilDay * DAY_MS);
  const dayOfYear = civilDay - Math.floor(Date.UTC(date.getUTCFullYear(), 0, 1) / DAY_MS);
  const b = (2 * Math.PI * dayOfYear) / 365.25;
  const equationMinutes =
    229.18 *
    (0.000075 +
      0.001868 * Math.cos(b) -
      0.032077 * Math.sin(b) -
      0.014615 * Math.cos(2 * b) -
      0.040849 * Math.sin(2 * b));
  const declination =
    0.006918 -
    0.399912 * Math.cos(b) +
    0.070257 * Math.sin(b) -
    0.006758 * Math.cos(2 * b) +
    0.000907 * Math.sin(2 * b) -
    0.002697 * Math.cos(3 * b) +
    0.00148 * Math.sin(3 * b);
  const noonMs = civilDay * DAY_MS + (720 - 4 * longitudeDeg - equationMinutes) * 60_000;
  const latitude = latitudeDeg * RADIANS;
  const cosine =
    (Math.sin(-0.833 * RADIANS) - Math.sin(latitude) * Math.sin(declination)) /
    (Math.cos(latitude) * Math.cos(declination));
  const halfMs = Math.abs(cosine) > 1 ? Number.NaN : ((Math.acos(cosine) / Math.PI) * DAY_MS) / 2;
  return { noonMs, sunriseMs: noonMs - halfMs, sunsetMs: noonMs + halfMs };
}
