import { type Economics, economicsSchema, type SavingsStretch, simplePayback } from '@duskbank/core/economics';
import { checkDocument, InputError } from '@duskbank/core/input';
import fc from 'fast-check';
import { DateTime } from 'luxon';
import { describe, expect, test } from 'vitest';

const unit = { price: 10_000, covers: 'one battery unit, installed' };

const stretch = (savingsPerYear: number, from = '2026-01-01', until: string | null = null): SavingsStretch => ({
  from,
  until,
  tariff: 'A',
  strategy: 'window',
  savingsPerYear,
});
const paybackOf = (stretches: SavingsStretch[], economics: Economics = unit) =>
  simplePayback(economics, stretches, 'the rest')!;

describe('simple payback', () => {
  test('is cost over savings a year: 10,000 / 2,600 = 3.846 (engineering-economy textbooks, printed 3.8)', () => {
    const payback = paybackOf([stretch(2600)]);
    expect(payback.years).toBeCloseTo(3.846, 3);
    // 3.846 × 365.25 = 1,404.8 days: it is reached on the 1,405th: 2026 to 2028 are 1,096, the rest is day 309 of 2029.
    expect(payback).toMatchObject({ paidBackOn: '2029-11-05', validUntil: null, recovered: null, from: '2026-01-01' });
  });

  test('takes a rebate off, and says of what and against what', () => {
    const payback = simplePayback(
      { ...unit, rebate: 2000 },
      [stretch(800)],
      'the home as metered, no battery, same tariff',
    )!;
    expect(payback.years).toBe(10);
    expect(payback.basis).toBe(
      'simple payback of "one battery unit, installed", rebate of 2000 taken off, against the home as metered, no battery, same tariff; no interest, price change or fade counted',
    );
  });

  test.each([
    ['a gap of a day', '2027-01-02'],
    ['an overlap of a day', '2026-12-31'],
  ])('%s between two stretches is refused', (_, from) => {
    const stretches = [stretch(2600, '2026-01-01', '2026-12-31'), stretch(2600, from)];
    expect(() => paybackOf(stretches)).toThrow(InputError);
    expect(paybackOf([stretches[0]!, stretch(2600, '2027-01-01')]).years).toBeCloseTo(3.846, 3);
  });

  test('is no number where nothing is saved', () => {
    for (const savings of [0, -50])
      expect(paybackOf([stretch(savings)])).toMatchObject({ years: null, paidBackOn: null, recovered: null });
    expect(() => paybackOf([stretch(Number.NaN)])).toThrow(InputError);
  });

  test('what saves a cent a year pays back on no day that anybody sees', () => {
    expect(paybackOf([stretch(0.01)])).toMatchObject({ years: null, paidBackOn: null, verdict: 'beyond-life' });
  });

  test('says what is saved by the first end of its life, where the stretches reach to it', () => {
    const lasting = { ...unit, warrantyYears: 10 };
    // Ten years at 475; two years of 365.25 days at 600 and eight at 300.
    expect(paybackOf([stretch(475)], lasting)).toMatchObject({ verdict: 'beyond-life' });
    expect(paybackOf([stretch(475)], lasting).savedByFirstEnd).toBeCloseTo(4750, 9);
    const falling = [stretch(365.25, '2026-01-01', '2026-12-31'), stretch(730.5, '2027-01-01')];
    expect(paybackOf(falling, lasting).savedByFirstEnd).toBeCloseTo(365 + 2 * (3652.5 - 365), 9);
    // Paid back within it: what it saves goes on.
    expect(paybackOf([stretch(2500)], lasting)).toMatchObject({ verdict: 'within-life', savedByFirstEnd: 25_000 });
    // No life stated: the 25 years that count at the most.
    expect(paybackOf([stretch(475)]).savedByFirstEnd).toBeCloseTo(25 * 475, 9);
    expect(paybackOf([stretch(475, '2026-01-01', '2030-12-31')], lasting).savedByFirstEnd).toBeNull();
  });

  test('the section refuses a rebate above the price and a price of nothing', () => {
    const codes = (document: unknown) => {
      const checked = checkDocument(economicsSchema, document);
      return checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.join('.')}`);
    };
    expect(codes({ ...unit, rebate: 10_000 })).toEqual([]);
    expect(codes({ ...unit, rebate: 10_001 })).toEqual(['out-of-range rebate']);
    expect(codes({ price: 0, covers: '' })).toEqual(['out-of-range price', 'out-of-range covers']);
    // A sum of 309 digits would head the page.
    expect(codes({ ...unit, price: 1e308, batteryPrice: 1 })).toEqual(['out-of-range price']);
    expect(codes({ ...unit, price: 1e10 })).toEqual([]);
    expect(codes({ price: 1 })).toEqual(['missing covers']);
  });
});

describe('what the battery lives to see', () => {
  const costs = { price: 2000, covers: 'one battery unit' };
  const used = (savingsPerYear: number, cyclesPerYear: number): SavingsStretch => ({
    ...stretch(savingsPerYear),
    cyclesPerYear,
  });

  test('nothing is stated: within 25 years a number, with the doubt; beyond them none', () => {
    expect(paybackOf([used(100, 300)], costs)).toMatchObject({ years: 20, verdict: 'life-not-stated', life: null });
    // 2,000 at 81 a year are 24.7 years, at 79 they are 25.3.
    expect(paybackOf([used(81, 300)], costs).years).toBeCloseTo(2000 / 81, 9);
    expect(paybackOf([used(79, 300)], costs)).toMatchObject({
      years: null,
      paidBackOn: null,
      verdict: 'beyond-life',
      limitYears: 25,
    });
  });

  test('the least of cycles and age sets it, the warranty where neither is stated', () => {
    // 6,000 cycles at 300 a year last 20 years.
    const life = paybackOf([used(125, 300)], { ...costs, cycleLife: 6000, warrantyYears: 15, calendarYears: 18 }).life;
    expect(life).toEqual({
      years: 18,
      setBy: 'calendar',
      firstEnd: { years: 15, of: 'warranty' },
      cycleYears: 20,
      warrantyYears: 15,
      calendarYears: 18,
    });
    expect(paybackOf([used(125, 300)], { ...costs, cycleLife: 6000 })).toMatchObject({
      years: 16,
      verdict: 'within-life',
      life: { years: 20, setBy: 'cycles', warrantyYears: null, calendarYears: null },
    });
    expect(paybackOf([used(125, 300)], { ...costs, warrantyYears: 10 })).toMatchObject({
      years: null,
      paidBackOn: null,
      verdict: 'beyond-life',
      life: { years: 10, setBy: 'warranty', cycleYears: null },
    });
  });

  test('a warranty that ends first ends no battery that is stated to last longer', () => {
    // 16 years at 125.
    const stated = { ...costs, warrantyYears: 10, calendarYears: 20 };
    expect(paybackOf([used(125, 300)], stated)).toMatchObject({
      years: 16,
      verdict: 'within-life',
      life: { years: 20, setBy: 'calendar', warrantyYears: 10, firstEnd: { years: 10, of: 'warranty' } },
      // By the warranty's end, the first: ten years at 125.
      savedByFirstEnd: 1250,
    });
    expect(paybackOf([used(125, 300)], { ...stated, calendarYears: 15 }).verdict).toBe('beyond-life');
  });

  test('cycles that outlast 25 years don’t count beyond them, unless its age is stated', () => {
    // 6,000 cycles at 137 a year last 43.8 years: 9,000 at 300 a year come back in 30, at 400 in 22.5.
    const dear = { price: 9000, covers: 'one battery unit', cycleLife: 6000 };
    expect(paybackOf([used(300, 137)], dear)).toMatchObject({
      years: null,
      verdict: 'beyond-life',
      limitYears: 25,
      life: { years: 25, setBy: 'age', firstEnd: { years: 25, of: 'age' } },
      savedByFirstEnd: 7500,
    });
    expect(paybackOf([used(400, 137)], dear)).toMatchObject({ years: 22.5, verdict: 'within-life' });
    const guaranteed = paybackOf([used(300, 137)], { ...dear, warrantyYears: 10 });
    expect(guaranteed).toMatchObject({ life: { years: 25, firstEnd: { years: 10, of: 'warranty' } } });
    expect(guaranteed.savedByFirstEnd).toBeCloseTo(3000, 9);
    expect(paybackOf([used(300, 137)], { ...dear, calendarYears: 35 })).toMatchObject({
      years: 30,
      verdict: 'within-life',
      limitYears: 35,
      life: { setBy: 'calendar' },
    });
  });

  test('cycles are used up at the pace of each stretch', () => {
    // 365.25 in each of the first two years (730 days: 730 cycles), then 100 a year for the other 270.
    const first = { ...stretch(1, '2026-01-01', '2027-12-31'), cyclesPerYear: 365.25 };
    const then = { ...stretch(1, '2028-01-01'), cyclesPerYear: 100 };
    const { life } = paybackOf([first, then], { ...costs, cycleLife: 1000 });
    expect(life!.cycleYears).toBeCloseTo(730 / 365.25 + 2.7, 9);
  });

  test('a battery that isn’t used wears off no cycle', () => {
    expect(paybackOf([used(125, 0)], { ...costs, cycleLife: 6000 }).life).toBeNull();
  });
});

describe('payback over stretches, worked by hand (a day saves a year’s sum ÷ 365.25)', () => {
  const cheap = { price: 1461, covers: 'a battery' };

  test('reached before the tariff ends: as if it had no end, and the end is said', () => {
    // 365.25 a year is 1 a day: 1,461 days are four years. From 2026 on that is the end of 2029.
    const payback = paybackOf([stretch(365.25, '2026-01-01', '2030-06-30')], cheap);
    expect(payback).toMatchObject({ years: 4, paidBackOn: '2029-12-31', validUntil: '2030-06-30', recovered: null });
  });

  test('reached on the last day of the tariff, and a day too late', () => {
    expect(paybackOf([stretch(365.25, '2026-01-01', '2029-12-31')], cheap)).toMatchObject({ paidBackOn: '2029-12-31' });
    expect(paybackOf([stretch(365.25, '2026-01-01', '2029-12-30')], cheap)).toMatchObject({
      years: null,
      paidBackOn: null,
      validUntil: '2029-12-30',
      recovered: 1460,
    });
  });

  test('not reached before the end, with what follows: each stretch at its own rate', () => {
    // 2026 and 2027 are 730 days at 1 a day; 731 are left, at half a day's worth: 1,462 days more, 2,192 in all.
    const payback = paybackOf([stretch(365.25, '2026-01-01', '2027-12-31'), stretch(182.625, '2028-01-01')], cheap);
    expect(payback.years).toBeCloseTo(2192 / 365.25, 12);
    // 1,462 days from 2028 on: 366 + 365 + 365 + 365 = 1,461 to the end of 2031, and a day.
    expect(payback).toMatchObject({ paidBackOn: '2032-01-01', validUntil: null });
    expect(payback.savingsPerYear).toBe(365.25);
    expect(payback.basis).toContain('no interest or fade counted, of prices only what is scheduled');
  });

  test('what follows costs money: what came back goes again, and it never pays back', () => {
    const payback = paybackOf([stretch(365.25, '2026-01-01', '2027-12-31'), stretch(-10, '2028-01-01')], cheap);
    expect(payback).toMatchObject({ years: null, recovered: null, validUntil: null });
    const ended = paybackOf(
      [stretch(365.25, '2026-01-01', '2027-12-31'), stretch(-365.25, '2028-01-01', '2028-12-31')],
      cheap,
    );
    expect(ended.recovered).toBeCloseTo(730 - 366, 9);
  });

  test('stretches behind the payback are not looked at', () => {
    function* endless() {
      yield stretch(1e6, '2026-01-01', '2026-12-31');
      throw new Error('read on');
    }
    expect(simplePayback(unit, endless(), 'the rest')?.stretches).toHaveLength(1);
  });

  test('without a stretch there is none', () => {
    expect(simplePayback(unit, [], 'the rest')).toBeUndefined();
  });

  test('over random stretches: a count day by day comes to the same', () => {
    const lives = fc.array(
      fc.record({ days: fc.integer({ min: 1, max: 900 }), perDay: fc.integer({ min: -2, max: 6 }) }),
      { minLength: 1, maxLength: 4 },
    );
    fc.assert(
      fc.property(lives, fc.integer({ min: 1, max: 3000 }), (life, price) => {
        const start = DateTime.utc(2024, 2, 27);
        let at = 0;
        const stretches = life.map(({ days, perDay }): SavingsStretch => {
          const from = start.plus({ days: at }).toISODate();
          at += days;
          return stretch(perDay * 365.25, from!, start.plus({ days: at - 1 }).toISODate());
        });
        // The slow way: whole money a day, so that it is reached at the end of some day exactly or within it.
        const everyDay = life.flatMap(({ days, perDay }) => new Array<number>(days).fill(perDay));
        let sum = 0;
        let reached = -1;
        for (let d = 0; d < everyDay.length && reached < 0; d++) {
          sum += everyDay[d]!;
          if (sum >= price) reached = d;
        }
        const payback = simplePayback({ price, covers: 'a battery' }, stretches, 'the rest')!;
        if (reached < 0) {
          expect(payback).toMatchObject({ years: null, paidBackOn: null });
          expect(payback.recovered).toBeCloseTo(sum, 6);
        } else {
          expect(payback.paidBackOn).toBe(start.plus({ days: reached }).toISODate());
          expect(payback.years! * 365.25).toBeGreaterThan(reached - 1e-6);
          expect(payback.years! * 365.25).toBeLessThan(reached + 1 + 1e-6);
        }
      }),
      { seed: 20260301, numRuns: 300 },
    );
  });
});

test('a stretch that ends before it begins is refused, where it stands; a day is one', () => {
  const ofDays = (until: string) => () => paybackOf([stretch(2600, '2026-02-01', until)]);
  expect(ofDays('2026-01-31')).toThrow(InputError);
  expect(ofDays('2026-01-31')).toThrow(/2026-02-01/);
  expect(ofDays('2026-02-01')).not.toThrow();
});
