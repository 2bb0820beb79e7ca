import { makeAxis } from '@duskbank/core/axis';
import type { IntervalSeries } from '@duskbank/core/meter';
import { randomOf } from './metered-home.ts';

/** What a home has, and when it uses it. */
export interface SunHome {
  readonly load?: 'evening' | 'heat-pump' | 'cooling' | 'school' | 'off-at-night';
  readonly vehicle?: 'noon' | 'night';
  readonly battery?: boolean;
  /** Of the battery: the evening's hours in which it sells down to a share of what it holds, or a cheap noon at which it buys first. */
  readonly sells?: { readonly downTo: number; readonly buysAtNoon?: true };
}

export interface MadeSunHome {
  readonly series: IntervalSeries & { readonly importKwh: Float64Array; readonly exportKwh: Float64Array };
  readonly latitudeDeg: number;
  readonly longitudeDeg: number;
}

const RADIANS = Math.PI / 180;

/**
 * The meter of a home with a roof, from a seed: 28 days to a year in steps of 15 to 60 minutes, in the north and in the south, to the
 * watt-hour. The sun is a plain arc of its height, without the equation of time, so that it isn't the formula under test.
 */
export function makeSunHome(seed: number, has: SunHome): MadeSunHome {
  const random = randomOf(seed * 7919 + 13);
  const isNorth = random() < 0.6;
  const latitudeDeg = isNorth ? 35 + 20 * random() : -28 - 10 * random();
  const longitudeDeg = isNorth ? 9 + 3 * random() : 148 + 4 * random();
  const days = [28, 60, 120, 365][Math.floor(4 * random())]!;
  const stepMinutes = [15, 30, 60][Math.floor(3 * random())]!;
  const month = days === 365 ? 0 : Math.floor(10 * random());
  const offsetHours = isNorth ? 1 : 10;
  const axis = makeAxis({
    startEpochMs: Date.UTC(2025, month, 1) - offsetHours * 3_600_000,
    stepMinutes,
    intervals: (days * 1440) / stepMinutes,
    zone: isNorth ? 'Europe/Berlin' : 'Australia/Brisbane',
  });
  const { calendar, stepHours, intervals } = axis;
  const solarKw = 3 + 9 * random();
  const baseKw = 0.08 + 0.3 * random();
  const eveningKw = 0.4 + 1.6 * random();
  const usableKwh = has.battery === true ? [5, 9.6, 12, 15, 20, 27][Math.floor(6 * random())]! : 0;
  const batteryKwh = Math.min(usableKwh / 2, 8) * stepHours;
  let [storedKwh, clear, vehicleKwh] = [0, 0.8, 0];
  const importKwh = new Float64Array(intervals);
  const exportKwh = new Float64Array(intervals);
  for (let i = 0; i < intervals; i++) {
    const hour = calendar.minuteOfDay[i]! / 60;
    const dayOfYear = calendar.days[calendar.day[i]!]!.civilDay % 365.25;
    const isSummerTime = isNorth && dayOfYear > 88 && dayOfYear < 298;
    if (calendar.minuteOfDay[i] === 0) {
      clear = random() < 0.2 ? 0.1 + 0.3 * random() : 0.5 + 0.5 * random();
      vehicleKwh = random() < 0.6 ? 5 + 15 * random() : 0;
    }
    const declination = -23.44 * Math.cos((2 * Math.PI * (dayOfYear + 10)) / 365.25) * RADIANS;
    const noon = 12 + (offsetHours - longitudeDeg / 15) + (isSummerTime ? 1 : 0);
    const angle = (hour + stepHours / 2 - noon) * 15 * RADIANS;
    const [north, sun] = [latitudeDeg * RADIANS, declination];
    const height = Math.sin(north) * Math.sin(sun) + Math.cos(north) * Math.cos(sun) * Math.cos(angle);
    const solar = Math.max(0, height) ** 1.15 * solarKw * clear * (0.7 + 0.3 * random()) * stepHours;
    const winter = Math.cos((2 * Math.PI * (dayOfYear - (isNorth ? 15 : 196))) / 365.25);
    const awake = Math.exp(-(((hour - 19) / 2.5) ** 2)) + 0.5 * Math.exp(-(((hour - 7.5) / 1.2) ** 2));
    let kw = baseKw * (0.8 + 0.4 * random()) + eveningKw * awake * (0.5 + random());
    if (has.load === 'heat-pump') kw += 1.8 * Math.max(0, winter) * (0.5 + 0.8 * random());
    if (has.load === 'cooling' && hour > 11 && hour < 21) kw += 1.5 * Math.max(0, -winter) * random();
    const isSchoolDay = calendar.weekday[i]! < 6 && hour >= 7 && hour < 16;
    if (has.load === 'school') kw = isSchoolDay ? 3 * (0.7 + 0.6 * random()) : 0.15 * (0.8 + 0.4 * random());
    if (has.load === 'off-at-night' && (hour >= 22 || hour < 6)) kw = 0;
    const isCharging = has.vehicle === 'noon' ? hour >= 10 && hour < 15 : hour >= 23 || hour < 5;
    const charged = has.vehicle !== undefined && isCharging ? Math.min(7 * stepHours, vehicleKwh) : 0;
    vehicleKwh -= charged;
    let net = kw * stepHours + charged - solar;
    const keptKwh = (has.sells?.downTo ?? 1) * usableKwh;
    if (has.sells?.buysAtNoon === true && hour >= 11 && hour < 14) {
      const kwh = Math.min(batteryKwh, (usableKwh - storedKwh) / 0.95);
      storedKwh += 0.95 * kwh;
      net += kwh;
    } else if (has.sells !== undefined && hour >= 17 && hour < 22 && storedKwh > keptKwh) {
      const kwh = Math.min(batteryKwh, storedKwh - keptKwh);
      storedKwh -= kwh;
      net -= 0.95 * kwh;
    } else if (net < 0) {
      const kwh = Math.min(batteryKwh, -net, (usableKwh - storedKwh) / 0.95);
      storedKwh += 0.95 * kwh;
      net += kwh;
    } else {
      const kwh = Math.min(batteryKwh, net / 0.95, storedKwh);
      storedKwh -= kwh;
      net -= 0.95 * kwh;
    }
    importKwh[i] = Math.round(1000 * Math.max(0, net)) / 1000;
    exportKwh[i] = Math.round(1000 * Math.max(0, -net)) / 1000;
  }
  return { series: { axis, importKwh, exportKwh }, latitudeDeg, longitudeDeg };
}
