import { makeAxis } from '@duskbank/core/axis';
import type { Finding } from '@duskbank/core/meter';
import { describe, expect, it } from 'vitest';
import { darkExport } from '../../../packages/core/src/meter/dark-export.ts';
import { FindingList } from '../../../packages/core/src/meter/findings.ts';
import { noteNetSigns } from '../../../packages/core/src/meter/metering/net-signs.ts';
import { Marks } from '../../../packages/core/src/meter/table/marks.ts';
import { readNumber } from '../../../packages/core/src/meter/table/numbers.ts';

const hours = (intervals: number) =>
  makeAxis({ startEpochMs: Date.UTC(2026, 4, 1, 6), stepMinutes: 60, intervals, zone: 'America/Denver' });

describe('export in the dark', () => {
  // 24 kWh a day about noon for ten days; 2 % of 240 kWh are below the 5 kWh that count at least.
  const sold = (atNight: number, gap: (hour: number) => boolean) =>
    Float64Array.from({ length: 240 }, (_, i) =>
      gap(i % 24) ? Number.NaN : i % 24 >= 11 && i % 24 < 15 ? 6 : i % 24 === 0 ? atNight : 0,
    );
  it.each([
    ['5.5 kWh', 0.55, () => false, 5.5],
    ['5.5 kWh, with gaps: they are no energy sold', 0.55, (hour: number) => hour >= 4 && hour < 10, 5.5],
    ['4.5 kWh', 0.45, () => false, undefined],
  ])('of %s', (_what, atNight, gap, kwh) => {
    const exportKwh = sold(atNight, gap);
    const told = darkExport({ axis: hours(240), exportKwh, importKwh: exportKwh.map(() => 0.3) }, {});
    if (kwh === undefined) expect(told).toBeUndefined();
    else expect(told?.kwh).toBeCloseTo(kwh, 9);
  });
});

describe('a net beside the solar that shows its signs', () => {
  /** Sun about noon that is another every day, and a net that rises by so much a kWh of it. */
  const told = (rise: number): readonly Finding[] => {
    const sun = (i: number) =>
      i % 24 >= 8 && i % 24 < 16 ? 3 + ((Math.floor(i / 24) * 37) % 11) / 10 + Math.floor(i / 24) / 20 : 0;
    const solarKwh = Float64Array.from({ length: 480 }, (_, i) => sun(i));
    const importKwh = Float64Array.from({ length: 480 }, (_, i) => (sun(i) > 0 ? 0.2 + rise * (sun(i) - 3) : 0.4));
    const findings = new FindingList();
    noteNetSigns({ axis: hours(480), importKwh, solarKwh }, findings);
    return findings.list();
  };
  it.each([0.45, 1.25])('says nothing where it rises by %d', (rise) => expect(told(rise)).toEqual([]));
  it.each([0.55, 1, 1.15])('has lost them where it rises by %d a kWh of sun', (rise) => {
    expect(told(rise).map(({ code }) => code)).toEqual(['net-signs-lost']);
    expect(told(rise)[0]!.data.risePerSolar).toBeCloseTo(rise, 9);
  });
});

describe('numbers', () => {
  it.each([
    ['.', Number.NaN],
    ['..', Number.NaN],
    ['.5', 0.5],
    ['5.', 5],
    ['5', 5],
    ['123456789012345', 123_456_789_012_345],
    ['12345678901234.5', 12_345_678_901_234.5],
  ])('"%s"', (text, value) => expect(readNumber(text, false)).toBe(value));
});

describe('marks of a column', () => {
  const told = (cells: readonly string[]) => {
    const marks = new Marks(false);
    for (const [k, cell] of cells.entries()) marks.see(cell, k + 1);
    const findings = new FindingList();
    marks.finish('Usage', findings);
    return findings.list().map(({ code, data, count, lines }) => [code, data.why, count, lines]);
  };
  it.each([
    ['points alone', ['0.5', '12.25'], []],
    ['one comma beside whole numbers', ['3', '0,5'], [['decimal-mixed', 'after-whole-numbers', 1, [2]]]],
    // Once a column has shown the mark of the sample, a cell without a comma isn't looked at again.
    ['one comma beside a point', ['0.5', '0,5'], [['decimal-mixed', 'in-other-rows', 1, [2]]]],
    ['thousands or decimals beside a whole number', ['3', '1.234'], [['decimal-unclear', undefined, 1, [2]]]],
    ['thousands or decimals alone', ['1.234', '2.345'], []],
    ['nothing beside thousands or decimals', ['0', '1.234'], []],
  ])('%s', (_what, cells, findings) => expect(told(cells)).toEqual(findings));
});
