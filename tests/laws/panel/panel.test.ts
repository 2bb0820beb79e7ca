import { describe, expect, it } from 'vitest';
import { generateHome, generateSite, generateTariff } from '../../support/panel/index.ts';

const SEEDS = Array.from({ length: 60 }, (_, seed) => seed);
const wh = (kwh: number) => Math.round(kwh * 1000);

describe('the panel itself', () => {
  it('balances to the watt-hour, never both ways at once', () => {
    for (const seed of SEEDS) {
      const { loadKwh, solarKwh, importKwh, exportKwh, intervals } = generateHome(seed, { days: 31 });
      for (let i = 0; i < intervals; i++)
        if (
          wh(loadKwh[i]!) - wh(solarKwh[i]!) !== wh(importKwh[i]!) - wh(exportKwh[i]!) ||
          Math.min(importKwh[i]!, exportKwh[i]!) !== 0
        )
          expect.unreachable(`seed ${seed}, interval ${i}`);
    }
  });

  it('is the same for the same seed, and another for another', () => {
    expect(generateSite(5).files).toEqual(generateSite(5).files);
    expect(generateSite(5).files).not.toEqual(generateSite(6).files);
  });

  it('has homes of all kinds', () => {
    const homes = SEEDS.map((seed) => generateHome(seed, { days: 31 }));
    const some = (holds: (home: (typeof homes)[number]) => boolean) => homes.filter(holds).length;
    expect(new Set(homes.map(({ zone }) => zone)).size).toBe(12);
    for (const step of [15, 30, 60]) expect(some(({ stepMinutes }) => stepMinutes === step)).toBeGreaterThan(5);
    expect(some(({ hasSolar }) => !hasSolar)).toBeGreaterThan(5);
    expect(some(({ exportKwh }) => exportKwh.some((kwh) => kwh > 0))).toBeGreaterThan(15);
    expect(some(({ hasSolar, exportKwh }) => hasSolar && exportKwh.every((kwh) => kwh === 0))).toBeGreaterThan(1);
  });

  it('has tariffs of every shape', () => {
    const elements = new Set<string>();
    const home = generateHome(1, { days: 62 });
    for (let seed = 0; seed < 600; seed++)
      for (const element of generateTariff(seed, home).elements) elements.add(element);
    const shapes = (kind: string) => [...elements].filter((element) => element.startsWith(`${kind} `)).length;
    expect(shapes('energy')).toBeGreaterThanOrEqual(18);
    expect(shapes('credit')).toBeGreaterThanOrEqual(8);
    expect(shapes('netting')).toBe(3);
    expect(shapes('export')).toBe(4);
    expect(shapes('demand')).toBe(10);
    expect(shapes('event')).toBe(4);
    expect(shapes('rounding')).toBe(12);
    for (const one of ['holidays', 'version', 'minimum bill', 'adjustments', 'taxes', 'programme', 'non-bypassable'])
      expect(elements).toContain(one);
  });
});
