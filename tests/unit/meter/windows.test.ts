// Registers of price windows are added, unless both count all the time: then they can't be what they are called.
import { describe, expect, test } from 'vitest';
import { namedPart } from '../../../packages/core/src/meter/part.ts';
import { errors, HOURS, read, table, total } from '../../support/meter-tables.ts';

const use = (i: number) => 0.5 + (i % 5) * 0.1;
const isNight = (i: number) => i % 24 < 7;
const sum = HOURS.reduce((kwh, _, i) => kwh + use(i), 0);
type Value = (i: number) => number;
const columns = (names: string, a: Value, b: Value) =>
  table(
    `Start,${names}`,
    HOURS.map((label, i) => `${label},${a(i).toFixed(3)},${b(i).toFixed(3)}`),
  );
const rows = (kinds: readonly [string, string], a: Value, b: Value) =>
  table(
    'Start,Register,kWh',
    HOURS.flatMap((label, i) => [`${label},${kinds[0]},${a(i).toFixed(3)}`, `${label},${kinds[1]},${b(i).toFixed(3)}`]),
  );
const day: Value = (i) => (isNight(i) ? 0 : use(i));
const night: Value = (i) => (isNight(i) ? use(i) : 0);
const steady: Value = () => 0.2;
const totals = (value: Value): Value => {
  const readings: number[] = [];
  let kwh = 1000;
  for (let i = 0; i < HOURS.length; i++) {
    kwh += value(i);
    readings.push(kwh);
  }
  return (i) => readings[i]!;
};

describe('registers of day and night', () => {
  test('of which one counts at a time are added', () => {
    expect(total(rows(['Day', 'Night'], day, night), 'import')).toBeCloseTo(sum, 6);
    expect(total(columns('Day kWh,Night kWh', day, night), 'import')).toBeCloseTo(sum, 6);
    const running = columns('Day meter reading kWh,Night meter reading kWh', totals(day), totals(night));
    expect(total(running, 'import')).toBeCloseTo(sum - use(0), 6);
  });

  // A cheap window about noon, in Australian tariffs: common practice, no source.
  test.each(['Solar sponge', 'Solar soak'])('may be called after the sun, and are no solar: %s', (name) => {
    for (const text of [columns(`Peak kWh,${name} kWh`, day, night), rows(['Peak', name], day, night)]) {
      expect(total(text, 'import')).toBeCloseTo(sum, 6);
      expect(read(text).series!.solarKwh).toBeUndefined();
    }
    expect(read(columns('Usage kWh,Solar kWh', use, day)).series!.solarKwh).toBeDefined();
  });

  test('that both count in most hours are a question, and each of its answers works', () => {
    for (const kinds of [
      ['Day', 'Night'],
      ['Peak', 'Off-peak'],
      ['Tier 1', 'Tier 2'],
      ['1-0:1.29.1', '1-0:1.29.2'],
    ] as const) {
      const text = rows(kinds, use, steady);
      const asked = read(text);
      expect(asked.series).toBeUndefined();
      expect(asked.findings).toMatchObject([{ code: 'parts-unclear', severity: 'error', lines: [2, 3], count: 2 }]);
      expect(asked.findings[0]!.message).toContain('both count in most intervals');
      const [a, b] = kinds;
      expect(total(text, 'import', { rows: { [b]: 'ignore' } })).toBeCloseTo(sum, 6);
      expect(total(text, 'import', { rows: { [a]: 'import', [b]: 'import' } })).toBeCloseTo(sum + 168 * 0.2, 6);
      expect(total(text, 'import', { repeats: 'first' })).toBeCloseTo(sum, 6);
      expect(total(text, 'import', { repeats: 'last' })).toBeCloseTo(168 * 0.2, 6);
      expect(total(text, 'import', { repeats: 'add' })).toBeCloseTo(sum + 168 * 0.2, 6);
    }
    const apart = columns('Day kWh,Night kWh', use, steady);
    expect(errors(apart)).toEqual(['parts-unclear']);
    expect(total(apart, 'import', { columns: { import: [2, 3] } })).toBeCloseTo(sum + 168 * 0.2, 6);
    expect(total(apart, 'import', { columns: { import: 'Day kWh' } })).toBeCloseTo(sum, 6);
    const running = columns('Day meter reading kWh,Night meter reading kWh', totals(use), totals(steady));
    expect(errors(running)).toEqual(['parts-unclear']);
  });

  test('a controlled load may run at any time', () => {
    expect(total(rows(['General', 'Controlled load'], use, steady), 'import')).toBeCloseTo(sum + 168 * 0.2, 6);
  });
});

test('a solar sponge is a window, whatever else its name says', () => {
  expect(namedPart('solar sponge').kind).toBe('window');
  expect(namedPart('solar soak kwh').kind).toBe('window');
});
