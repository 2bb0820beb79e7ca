import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy, type Study, tariffSwitch } from '@duskbank/core/study';
import { parseTariff, type Tariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// 40 days of hours from 2025-11-22 on that end at the close of the last evening (21 h), so that nothing is stored for an
// evening that the data don't hold; 1 kWh an hour. A lossless battery moves four hours of each evening.
const DAYS = 40;
const HOURS = DAYS * 24 - 3;
const axis = makeAxis({ startEpochMs: Date.UTC(2025, 10, 22), stepMinutes: 60, intervals: HOURS, zone: 'Etc/UTC' });
const loadKwh = new Float64Array(HOURS).fill(1);
/** What a sum over the axis is scaled by to a year. */
const A_YEAR = 365.25 / (HOURS / 24);

const windows = (peak: number, rest: number) => [
  { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: peak, kind: 'peak' },
  { name: 'rest', otherwise: true, pricePerKwh: rest },
];
const peaky = (name: string, peak: number, rest: number, more: object = {}): Tariff =>
  parseTariff({ format: 'duskbank.tariff/1', name, currency: 'USD', windows: windows(peak, rest), ...more });

function on(
  tariff: Tariff,
  price: number,
  over: { startsOn?: string; successors?: Tariff[]; controller?: object } = {},
): Study {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    ...(over.startsOn === undefined ? {} : { startsOn: over.startsOn }),
    plant: {
      battery: { units: 1, usableKwh: 4, chargeKw: 4, dischargeKw: 4, roundTripEfficiency: 1 },
      ...(over.controller === undefined ? {} : { controller: over.controller }),
    },
    economics: { price, covers: 'one battery unit' },
  });
  const successors = (over.successors ?? []).map((next) => ({ tariff: next, options: {} }));
  return makeStudy({ site, series: { axis, loadKwh }, tariff, successors });
}
const paybackOn = (...input: Parameters<typeof on>) => compare(on(...input)).payback!;

// 0.50 against 0.10: 1.60 on each of the 40 evenings, 64 on the axis.
const A = (more: object = {}) => peaky('A', 0.5, 0.1, more);
const SAVED_A = 40 * 1.6 * A_YEAR;
// 0.30 against 0.10: 0.80 an evening.
const B = (more: object = {}) => peaky('B', 0.3, 0.1, more);
const SAVED_B = 40 * 0.8 * A_YEAR;
/** Days from a start that it takes to save an amount. */
const daysOf = (amount: number, savedPerYear: number) => (amount / savedPerYear) * 365.25;

describe('payback over the tariff’s life', () => {
  test('without an end: price over savings, counted from the day after the data', () => {
    const payback = paybackOn(A(), 1000);
    expect(payback.savingsPerYear).toBeCloseTo(SAVED_A, 9);
    expect(payback.years).toBeCloseTo(1000 / SAVED_A, 12);
    expect(payback).toMatchObject({ from: '2026-01-01', validUntil: null, recovered: null, tariff: 'A' });
    expect(payback.stretches).toEqual([
      {
        from: '2026-01-01',
        until: null,
        tariff: 'A',
        strategy: 'settings',
        savingsPerYear: payback.savingsPerYear,
        cyclesPerYear: expect.closeTo(40 * A_YEAR, 0),
      },
    ]);
  });

  test('reached before the tariff ends: it holds, and says so', () => {
    const payback = paybackOn(A({ life: { endsOn: '2027-12-31' } }), 500);
    expect(payback.years).toBeCloseTo(500 / SAVED_A, 12);
    expect(payback).toMatchObject({ validUntil: '2027-12-31', recovered: null });
    expect(payback.paidBackOn! <= '2027-12-31').toBe(true);
  });

  test('not reached, and what follows is not known: none is claimed, what came back is said', () => {
    for (const life of [{ endsOn: '2026-06-30' }, { endsOn: '2026-06-30', successor: 'B' }]) {
      const payback = paybackOn(A({ life }), 1000);
      expect(payback).toMatchObject({ years: null, paidBackOn: null, validUntil: '2026-06-30' });
      // 181 days from January to June.
      expect(payback.recovered).toBeCloseTo((SAVED_A * 181) / 365.25, 9);
    }
  });

  test('not reached, and the successor is known: it follows that one', () => {
    const payback = paybackOn(A({ life: { endsOn: '2026-06-30', successor: 'B' } }), 1000, { successors: [B()] });
    const left = 1000 - (SAVED_A * 181) / 365.25;
    expect(payback.years).toBeCloseTo((181 + daysOf(left, SAVED_B)) / 365.25, 9);
    expect(payback.stretches.map(({ from, until, tariff }) => [from, until, tariff])).toEqual([
      ['2026-01-01', '2026-06-30', 'A'],
      ['2026-07-01', null, 'B'],
    ]);
    expect(payback.stretches[1]!.savingsPerYear).toBeCloseTo(SAVED_B, 9);
  });

  test('a chain of successors is followed to its end; a circle of ended ones leads nowhere', () => {
    const chain = [B({ life: { endsOn: '2026-12-31', successor: 'C' } }), peaky('C', 0.2, 0.1)];
    const first = A({ life: { endsOn: '2026-06-30', successor: 'B' } });
    const { stretches } = paybackOn(first, 1e6, { successors: chain });
    expect(stretches.map(({ tariff, until }) => [tariff, until])).toEqual([
      ['A', '2026-06-30'],
      ['B', '2026-12-31'],
      ['C', null],
    ]);
    const circle = [B({ life: { endsOn: '2026-03-31', successor: 'A' } }), first];
    expect(paybackOn(first, 1e6, { successors: circle }).stretches).toHaveLength(1);
  });

  test('a version that is scheduled later counts from its day on', () => {
    const payback = paybackOn(A({ versions: [{ from: '2026-07-01', windows: windows(0.3, 0.1) }] }), 1000);
    expect(payback.stretches.map(({ from, savingsPerYear }) => [from, Math.round(savingsPerYear)])).toEqual([
      ['2026-01-01', Math.round(SAVED_A)],
      ['2026-07-01', Math.round(SAVED_B)],
    ]);
  });

  test('a version that came within the data holds alone from the start on, though the data’s savings are of both', () => {
    const report = compare(on(A({ versions: [{ from: '2025-12-12', windows: windows(0.3, 0.1) }] }), 1000));
    expect(report.headline!.savingsPerYear).toBeCloseTo((SAVED_A + SAVED_B) / 2, 9);
    expect(report.payback!.savingsPerYear).toBeCloseTo(SAVED_B, 9);
  });

  test('counts from the site’s startsOn', () => {
    const payback = paybackOn(A({ life: { endsOn: '2026-06-30' } }), 1000, { startsOn: '2026-06-01' });
    expect(payback).toMatchObject({ from: '2026-06-01' });
    expect(payback.recovered).toBeCloseTo((SAVED_A * 30) / 365.25, 9);
  });

  test('a tariff that has ended before: the successor alone, or no payback and a warning', () => {
    const gone = A({ life: { endsOn: '2025-12-31', successor: 'B' } });
    const { stretches } = paybackOn(gone, 1000, { successors: [B()] });
    expect(stretches.map(({ tariff }) => tariff)).toEqual(['B']);
    const report = compare(on(gone, 1000));
    expect(report.payback).toBeNull();
    expect(report.warnings.map(({ code }) => code)).toContain('tariff-ended');
  });

  test('a stated controller is searched anew for what follows', () => {
    const controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 60 };
    // After the end the dear hours lie in the morning: the old clock would miss them.
    const morning = peaky('Morning', 0, 0, {
      windows: [
        { name: 'morning', from: '06:00', to: '10:00', pricePerKwh: 0.5, kind: 'peak' },
        { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
      ],
    });
    const { stretches } = paybackOn(A({ life: { endsOn: '2026-01-31', successor: 'Morning' } }), 1e5, {
      successors: [morning],
      controller,
    });
    expect(stretches.map(({ strategy }) => strategy)).toEqual(['settings', 'settings']);
    expect(stretches[1]!.savingsPerYear).toBeGreaterThan(0.8 * SAVED_A);
  });
});

describe('payback with bill protection after a switch', () => {
  // Today 0.60 in the evening and 0.10 else. New: 0.30 and 0.14, protected for a year. Without a battery New costs less. With
  // one, at 24 × 0.14 a day, it would cost more than the same energy on Today's, 24 × 0.10: so the first year is billed at
  // that. On an axis of 957 hours, the evenings' 160 kWh moved: today's 797 × 0.10 + 160 × 0.60 = 175.70;
  // New 797 × 0.14 + 160 × 0.30 = 159.58 without, 957 × 0.14 = 133.98 with, and protected 957 × 0.10 = 95.70.
  // Today's has ended by then: with a battery it would be the better one.
  const today = on(peaky('Today', 0.6, 0.1, { life: { endsOn: '2025-12-31' } }), 800);
  const report = (months: number) =>
    tariffSwitch([today, on(peaky('New', 0.3, 0.14, { life: { billProtectionMonths: months } }), 800)]);
  const first = (159.58 - 95.7) * A_YEAR;
  const after = (159.58 - 133.98) * A_YEAR;

  test('limits the first year to what the same energy would have cost on today’s', () => {
    const { payback, tariffSwitch: answer } = report(12);
    expect(answer.steps.map(({ total }) => total)).toEqual([175.7, 159.58, 159.58, 133.98]);
    expect(payback!.stretches.map(({ from, until, tariff }) => [from, until, tariff])).toEqual([
      ['2026-01-01', '2026-12-31', 'New'],
      ['2027-01-01', null, 'New'],
    ]);
    expect(payback!.savingsPerYear).toBeCloseTo(first, 6);
    expect(payback!.stretches[1]!.savingsPerYear).toBeCloseTo(after, 6);
    const left = 800 - (first * 365) / 365.25;
    expect(payback!.years).toBeCloseTo((365 + daysOf(left, after)) / 365.25, 9);
  });

  test('only so many months, and not at all where there is none', () => {
    expect(report(3).payback!.stretches[0]).toMatchObject({ from: '2026-01-01', until: '2026-03-31' });
    const plain = report(0).payback!;
    expect(plain.stretches).toHaveLength(1);
    expect(plain.savingsPerYear).toBeCloseTo(after, 6);
  });

  test('where New is the dearer one without a battery, protection lowers what the battery saves', () => {
    // A home that must go: today's has ended. New 0.50 and 0.10 costs 159.70 without and 95.70 with; on today's flat 0.12
    // the same energy costs 114.84 without and 114.84 with, so that protected nothing but 114.84 − 95.70 is saved.
    const ended = on(peaky('Today', 0.12, 0.12, { life: { endsOn: '2025-12-31' } }), 800);
    const next = on(A({ life: { billProtectionMonths: 12 } }), 800);
    const { payback } = tariffSwitch([ended, next]);
    expect(payback!.stretches[0]!.savingsPerYear).toBeCloseTo((114.84 - 95.7) * A_YEAR, 6);
    expect(payback!.stretches[1]!.savingsPerYear).toBeCloseTo((159.7 - 95.7) * A_YEAR, 6);
  });
});

describe('payback is of the choice that one would make', () => {
  // On 957 hours: today 797 × 0.10 + 160 × 0.50 = 159.70, with the battery 957 × 0.10 = 95.70. Flat 0.15: 143.55, and
  // nothing for a battery to do.
  const today = on(peaky('Today', 0.5, 0.1), 800);
  const flat = on(peaky('Flat', 0.15, 0.15), 800);
  const { payback, headline, tariffSwitch: answer } = tariffSwitch([today, flat]);

  test('the best pair of tariff and battery against the best tariff without one', () => {
    const saved = (143.55 - 95.7) * A_YEAR;
    expect(headline).toMatchObject({ tariff: 'Today', strategy: 'settings' });
    expect(headline!.savings).toBeCloseTo(143.55 - 95.7, 9);
    expect(headline!.basis).toBe(
      'modelled, not metered; each week run with the settings found on the other weeks, odd and even exchanged; against the home without a battery on "Flat", the better of the two tariffs without one',
    );
    expect(headline!.savingsPerYear).toBeCloseTo(saved, 9);
    expect(payback).toMatchObject({ tariff: 'Today', strategy: 'settings', savingsPerYear: headline!.savingsPerYear });
    expect(payback!.years).toBeCloseTo(800 / saved, 9);
    expect(payback!.basis).toContain('against the home without a battery on "Flat", the better of the two tariffs');
    expect(answer.steps.map(({ step, tariff, total }) => [step, tariff, total])).toEqual([
      ['today', 'Today', 159.7],
      ['best-tariff', 'Flat', 143.55],
      ['planned-solar', 'Flat', 143.55],
      ['battery', 'Today', 95.7],
    ]);
  });

  test('the second best stands beside it', () => {
    expect(answer.runnerUp).toMatchObject({ tariff: expect.any(String), strategy: expect.any(String) });
    expect(answer.runnerUp).not.toMatchObject({ tariff: 'Today', strategy: 'settings' });
    expect(answer.runnerUp!.total).toBeGreaterThanOrEqual(95.7);
    expect(answer.runnerUp!.total).toBeLessThanOrEqual(143.55);
  });

  test('later stretches are of the pair as well: without a battery the flat tariff, whatever today’s becomes', () => {
    // From 2027 on the evening costs 0.70: the battery still buys at 0.10, and without one Flat stays the better.
    const later = { versions: [{ from: '2027-01-01', windows: windows(0.7, 0.1) }] };
    const report = tariffSwitch([on(peaky('Today', 0.5, 0.1, later), 800), flat]);
    const saved = (143.55 - 95.7) * A_YEAR;
    expect(report.payback!.stretches.map(({ until }) => until)).toEqual(['2026-12-31', null]);
    for (const { savingsPerYear } of report.payback!.stretches) expect(savingsPerYear).toBeCloseTo(saved, 6);
  });
});
