// A net that lost its minus signs, beside the solar that shows it, withholds savings; a home that never exports isn't accused.
import { parseIntervalData } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';
import { homeA } from '../../support/data-homes.ts';
import { type GeneratedHome, generateHome } from '../../support/panel/home.ts';

/** A file of a net and the solar beside it, or of some of its columns, labelled in UTC. */
function fileOf(
  home: Pick<GeneratedHome, 'startEpochMs' | 'stepMinutes'>,
  columns: Readonly<Record<string, ArrayLike<number>>>,
): string {
  const [first] = Object.values(columns);
  return [
    `start,${Object.keys(columns).join(',')}`,
    ...Array.from({ length: first!.length }, (_, i) =>
      [
        new Date(home.startEpochMs + i * home.stepMinutes * 60_000).toISOString(),
        ...Object.values(columns).map((values) => values[i]!.toFixed(3)),
      ].join(','),
    ),
  ].join('\n');
}

const codesOf = (text: string, zone: string, options: object = {}) =>
  parseIntervalData(text, { zone, ...options })
    .findings.map(({ code }) => code)
    .filter((code) => code.startsWith('net-'));
const netOf = ({ loadKwh, solarKwh }: Pick<GeneratedHome, 'loadKwh' | 'solarKwh'>) =>
  loadKwh.map((kwh, i) => kwh - solarKwh[i]!);
const sumOf = (values: Float64Array) => values.reduce((sum, kwh) => sum + kwh, 0);

const homes = Array.from({ length: 60 }, (_, k) => generateHome(7000 + k, { solar: true, stepMinutes: 60 }));

describe('a net of generated homes, in a file with the solar', () => {
  test('without its signs is told where most of the solar was exported', () => {
    let looked = 0;
    for (const home of homes) {
      const net = netOf(home);
      const share = sumOf(net.map((kwh) => Math.max(0, -kwh))) / sumOf(home.solarKwh);
      if (share < 0.5) continue;
      looked++;
      const text = fileOf(home, { 'net kWh': net.map(Math.abs), 'solar kWh': home.solarKwh });
      expect([home.seed, ...codesOf(text, home.zone)]).toEqual([home.seed, 'net-signs-lost']);
      // The ways out: its signs, or import and export.
      expect(codesOf(fileOf(home, { 'net kWh': net, 'solar kWh': home.solarKwh }), home.zone)).toEqual([]);
      const sides = { a: net.map((kwh) => Math.max(0, kwh)), b: net.map((kwh) => Math.max(0, -kwh)) };
      const both = fileOf(home, { ...sides, 'solar kWh': home.solarKwh });
      expect(codesOf(both, home.zone, { columns: { import: 2, export: 3, solar: 4 }, unit: 'kWh' })).toEqual([]);
    }
    expect(looked).toBeGreaterThan(15);
  });

  test('of a home that never exports is no sign of it', () => {
    for (const home of homes) {
      // An inverter that holds back what isn’t used, and a roof that never gives as much as the home draws.
      const held = home.solarKwh.map((kwh, i) => Math.min(kwh, home.loadKwh[i]!));
      const small = home.solarKwh.map((kwh, i) => Math.min(0.15 * kwh, 0.95 * home.loadKwh[i]!));
      for (const solarKwh of [held, small]) {
        const text = fileOf(home, { 'net kWh': netOf({ ...home, solarKwh }), 'solar kWh': solarKwh });
        expect([home.seed, ...codesOf(text, home.zone)]).toEqual([home.seed, 'net-one-way']);
      }
    }
  });
});

test.skipIf(homeA() === undefined)('a metered home: told with a roof that feeds in most, else quiet', () => {
  const of = (factor: number, signed: (kwh: number) => number) => {
    const { axis, ...home } = homeA(factor)!;
    const text = fileOf(axis, { 'net kWh': netOf(home).map(signed), 'solar kWh': home.solarKwh });
    return codesOf(text, axis.zone);
  };
  expect(of(4, Math.abs)).toEqual(['net-signs-lost']);
  for (const factor of [0.2, 1, 4]) expect(of(factor, (kwh) => Math.max(0, kwh))).not.toContain('net-signs-lost');
});

test('savings are withheld where the solar lies in another file', async () => {
  const home = generateHome(7003, {
    solar: true,
    stepMinutes: 60,
    days: 60,
    firstDate: '2025-05-01',
    zone: 'Asia/Tokyo',
  });
  const net = netOf({ ...home, solarKwh: home.solarKwh.map((kwh) => 3 * kwh) });
  const files: Record<string, string> = {
    'net.csv': fileOf(home, { 'net kWh': net.map(Math.abs) }),
    'signed.csv': fileOf(home, { 'net kWh': net }),
    'solar.csv': fileOf(home, { 'solar kWh': home.solarKwh.map((kwh) => 3 * kwh) }),
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'Flat',
      currency: 'USD',
      energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
      export: { kind: 'none' },
    }),
  };
  const withheld = async (first: string | object) => {
    const site = { format: 'duskbank.site/1', name: 'Home', zone: home.zone, tariff: 'tariff.json' };
    const text = JSON.stringify({ ...site, meter: { files: [first, 'solar.csv'] } });
    const { study } = await loadSite('site.json', async (path) =>
      new TextEncoder().encode(path === 'site.json' ? text : files[path]!),
    );
    return [study.savingsWithheld, ...study.warnings.map(({ code }) => code).filter((code) => code.startsWith('net-'))];
  };
  expect(await withheld('net.csv')).toEqual([expect.stringContaining('minus signs are lost'), 'net-signs-lost']);
  expect(await withheld('signed.csv')).toEqual([undefined]);
});
