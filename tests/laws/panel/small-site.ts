import type { Document } from '../../support/checker/index.ts';
import { readerOf } from '../../support/panel/index.ts';
import type { SiteFiles } from './agreement.ts';

/** One hour: what the home took, what its roof gave, kWh. */
export type Hour = readonly [loadKwh: number, solarKwh: number];

/** A site of whole hours from 1 January 2025 on (a Wednesday), without clock changes: small enough to reckon by hand. */
export function smallSite(
  hours: readonly Hour[],
  tariff: Document,
  plant: Document = {},
  files: Readonly<Record<string, string>> = {},
  more: Document = {},
): SiteFiles {
  const rows = hours.map(([load, solar], k) => {
    const stamp = `${new Date(Date.UTC(2025, 0, 1, k)).toISOString().slice(0, 16)}+00:00`;
    return [stamp, Math.max(0, load - solar), Math.max(0, solar - load), solar]
      .map((cell) => (typeof cell === 'number' ? cell.toFixed(3) : cell))
      .join(',');
  });
  const meter = [
    '# format: duskbank.interval/1',
    '# zone: UTC',
    '# step_minutes: 60',
    'start,import_kwh,export_kwh,solar_kwh',
  ];
  const whole = { format: 'duskbank.tariff/1', name: 'Small', currency: 'USD', export: { kind: 'none' }, ...tariff };
  const document = {
    format: 'duskbank.site/1',
    name: 'Small home',
    zone: 'UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: {
      battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 1, standbyW: 0 },
      ...plant,
    },
    ...more,
  };
  const all = {
    ...files,
    'home.csv': `${[...meter, ...rows].join('\n')}\n`,
    'tariff.json': JSON.stringify(whole),
    'site.json': JSON.stringify(document),
  };
  return { path: 'site.json', document, tariff: whole, files: all, read: readerOf(all) };
}

/** Days of 24 hours each. */
export const hoursOf = (days: number, hour: (h: number, day: number) => Hour): Hour[] =>
  Array.from({ length: days * 24 }, (_, k) => hour(k % 24, Math.floor(k / 24)));
