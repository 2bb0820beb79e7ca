// Files as customer portals write them, in six languages: read without options to the right total, or asked about, never
// wrong. `pnpm nightly` reads thousands more.
import { readdirSync, readFileSync } from 'node:fs';
import { type Channel, parseIntervalData, type Unit } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import {
  blockFile,
  judge,
  oddFile,
  portalFile,
  readBlockFile,
  readPortalFile,
  unlabelledFile,
} from '../../support/portal-files.ts';

const folder = new URL('../../../fixtures/portal/', import.meta.url);

describe('portal files', () => {
  test('of 240 generated ones none is read wrongly, and at least 95 % need no answer', () => {
    let asked = 0;
    for (let seed = 1; seed <= 240; seed++) {
      const file = portalFile(seed);
      const { verdict, why } = readPortalFile(file);
      expect(verdict, `seed ${seed}, ${file.manner}: ${why}`).not.toBe('wrong');
      if (verdict === 'asked') asked++;
    }
    expect(asked).toBeLessThanOrEqual(12);
  });

  test('of 240 odd ones none is read wrongly: words for the grid, energy beside the channels, a unit that changes', () => {
    const asked = new Map<boolean, number>();
    for (let seed = 1; seed <= 240; seed++) {
      const file = oddFile(seed);
      const { verdict, why } = readPortalFile(file);
      expect(verdict, `seed ${seed}, ${file.manner}: ${why}`).not.toBe('wrong');
      if (verdict === 'asked') asked.set(file.mustAsk, (asked.get(file.mustAsk) ?? 0) + 1);
    }
    expect(asked.get(true)).toBeGreaterThan(40);
    expect(asked.get(false) ?? 0).toBeLessThanOrEqual(24);
  });

  test('of 240 with a block a day none is read wrongly, nor on another day, and at least 95 % need no answer', () => {
    let asked = 0;
    for (let seed = 1; seed <= 240; seed++) {
      const file = blockFile(seed);
      const { verdict, why } = readBlockFile(file);
      expect(verdict, `seed ${seed}, ${file.manner}: ${why}`).not.toBe('wrong');
      if (verdict === 'asked') asked++;
    }
    expect(asked).toBeLessThanOrEqual(12);
  });

  test('of 240 without a unit, of homes from 1 to 400 kWh a day, none is read wrongly, and every answer that is offered works', () => {
    let read = 0;
    let answered = 0;
    for (let seed = 1; seed <= 240; seed++) {
      const file = unlabelledFile(seed);
      const told = `seed ${seed}, ${file.manner}`;
      const { verdict, why } = readPortalFile(file);
      expect(verdict, `${told}: ${why}`).not.toBe('wrong');
      if (verdict === 'right') read++;
      const asked = parseIntervalData(file.text, { zone: file.zone }).findings.find(
        ({ code }) => code === 'unit-unknown',
      );
      // Tenths of a kWh round a small home to nothing.
      if (asked === undefined || file.truthKwh.import! < 3) continue;
      const { channels, choices } = asked.data as {
        channels: readonly Channel[];
        choices: readonly { unit: Unit; times: number; dailyKwh: number }[];
      };
      const { unit, times } = file.counts!;
      // An hour of kW is as many kWh.
      const offered = (name: string) => choices.find((choice) => choice.unit === name && choice.times === times);
      const right = offered(unit) ?? offered(`${unit}h`);
      expect(right, `${told}: ${JSON.stringify(choices)}`).toBeDefined();
      const answer = {
        zone: file.zone,
        unit: right!.unit,
        ...(times === 1 ? {} : { adjust: { scale: Object.fromEntries(channels.map((name) => [name, times])) } }),
      };
      expect(judge(parseIntervalData(file.text, answer), file.truthKwh), told).toEqual({ verdict: 'right', why: '' });
      answered++;
    }
    expect(answered).toBeGreaterThan(150);
    expect(read).toBeGreaterThan(10);
  });

  test.each([
    [3411, 'quarters of an hour numbered to 100 on the day of 25 hours'],
    [5871, 'the same where the hour changes at 2 of a later day'],
    [6165, 'the same beside a meter number'],
    [6235, 'the same with the unit in a column'],
    [3740, 'a Dutch meter number beside directions'],
  ])('seed %i is read: %s', (seed) => {
    expect(readPortalFile(portalFile(seed))).toEqual({ verdict: 'right', why: '' });
  });

  test('a block a day, numbered, over a midnight that the clock skips (Chile): seed 185', () => {
    expect(readBlockFile(blockFile(185))).toEqual({ verdict: 'right', why: '' });
  });

  test('the kept ones are read to the truth beside them', () => {
    const truths = JSON.parse(readFileSync(new URL('truth.json', folder), 'utf8')) as Record<
      string,
      { zone: string; intervals: number; truthKwh: Record<string, number> }
    >;
    const names = readdirSync(folder).filter((name) => name.endsWith('.csv'));
    expect(names.length).toBeGreaterThanOrEqual(60);
    expect(names.sort()).toEqual(Object.keys(truths).sort());
    for (const name of names) {
      const { zone, intervals, truthKwh } = truths[name]!;
      const data = parseIntervalData(readFileSync(new URL(name, folder)), { zone });
      expect(judge(data, truthKwh), name).toEqual({ verdict: 'right', why: '' });
      expect(data.series?.axis.intervals, name).toBe(intervals);
    }
  });
});
