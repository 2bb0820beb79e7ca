import { type Axis, makeAxis } from '@duskbank/core/axis';
import type { Home } from '@duskbank/core/dispatch';
import type { Plant } from '@duskbank/core/plant';
import type { CompiledTariff } from '@duskbank/core/tariff';
import { openService, plainPlant, windowTariff } from './homes.ts';
import { openData, openDataPresent } from './open-data.ts';

export interface DataHome {
  readonly name: string;
  readonly axis: Axis;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
}

/** Clock time as in the file: an axis without clock changes. */
function clockAxis(start: string, stepMinutes: number, intervals: number): Axis {
  return makeAxis({ startEpochMs: Date.parse(`${start}T00:00:00Z`), stepMinutes, intervals, zone: 'Etc/UTC' });
}

function columns(file: string): string[][] | undefined {
  if (!openDataPresent) return undefined;
  return new TextDecoder()
    .decode(openData(file))
    .split(/\r?\n/)
    .filter((line) => line !== '')
    .map((line) => line.split(','));
}

/** A metered home with solar, half-hourly; its values are kW. */
export function homeA(solarFactor = 1): DataHome | undefined {
  const rows = columns('home-a/home-a-halfhour.csv')?.slice(1);
  if (rows === undefined) return undefined;
  return {
    name: solarFactor === 1 ? 'home-a' : `home-a, solar × ${solarFactor}`,
    axis: clockAxis('2011-07-01', 30, rows.length),
    loadKwh: Float64Array.from(rows, (row) => Number(row[1]) / 2),
    solarKwh: Float64Array.from(rows, (row) => (Number(row[2]) / 2) * solarFactor),
  };
}

/** A modelled home without solar, hourly kW by end use; the first column after the time is the total. */
export function homeC(): DataHome | undefined {
  const rows = columns('home-c/home-c-modelled-hourly.csv')?.slice(1);
  if (rows === undefined) return undefined;
  return {
    name: 'home-c',
    axis: clockAxis('2018-01-01', 60, rows.length),
    loadKwh: Float64Array.from(rows, (row) => Number(row[1])),
    solarKwh: new Float64Array(rows.length),
  };
}

/** The prices that the figures for captured share are stated on: 0.52 on weekdays 14 to 20 h, 0.15 from 22 to 7, else 0.24. */
export function statedTariff(axis: Axis): CompiledTariff {
  const tariff = windowTariff(axis, {
    cheap: 0.15,
    middle: 0.24,
    peak: 0.52,
    sale: 0.06,
    peakFrom: 14,
    peakTo: 20,
    cheapTo: 7,
  });
  const { minuteOfDay } = axis.calendar;
  for (let i = 0; i < axis.intervals; i++)
    if (minuteOfDay[i]! >= 22 * 60) {
      tariff.importPricePerKwh[i] = 0.15;
      tariff.window[i] = 0;
    }
  return tariff;
}

/** 7.6 kWh (or another) from floor 0, 3 kW in, 6 kW out, 85 % round trip, free to buy and sell. */
export function statedPlant(capacityKwh = 7.6): Plant {
  const oneWay = Math.sqrt(0.85);
  return plainPlant({
    capacityKwh,
    chargeLimitKw: 3,
    dischargeLimitKw: 6,
    chargeEfficiency: oneWay,
    dischargeEfficiency: oneWay,
    solarChargeEfficiency: oneWay,
    batteryExport: true,
  });
}

export function homeOn(data: DataHome, tariff: (axis: Axis) => CompiledTariff, plant: Plant): Home {
  return {
    axis: data.axis,
    loadKwh: data.loadKwh,
    solarKwh: data.solarKwh,
    tariff: tariff(data.axis),
    plant,
    service: openService,
  };
}
