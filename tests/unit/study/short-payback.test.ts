import { compare } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { twoPriceHome } from '../../support/two-price-home.ts';

const LIMIT = 'Scaled from 56 days of data, which no year need be like: ';

/** What is said of the payback: a line under the headline, and a paragraph further down. */
function told(evening: number, economics: Record<string, unknown>, days = 56) {
  const report = compare(twoPriceHome({ evening: () => evening, economics, days }));
  const text = compareText(report);
  const flat = text.replaceAll('\n', ' ');
  const sentences = [
    ...flat.matchAll(/(?:Scaled from [^:]*: )?(?:USD [\d,.]+|[Uu]nder "[^"]+" it)[^.]* back (?:in|within|USD)[^:]*/g),
  ];
  return { report, text, sentences: sentences.map(([sentence]) => sentence) };
}

describe('a payback from less than a year of data', () => {
  test('says so first, and has no decimals', () => {
    const { report, sentences } = told(2, { price: 3000 });
    expect(sentences).toHaveLength(2);
    for (const sentence of sentences) {
      expect(sentence.startsWith(`${LIMIT}USD 3,000.00 would come back in about `)).toBe(true);
      expect(sentence).toContain(`about ${Math.round(report.payback!.years!)} years`);
      expect(sentence).not.toMatch(/\d\.\d years/);
    }
    expect(report.payback!.basis).toMatch(/, a year scaled from 56 days$/);
  });

  test('so too where it does not come back in time, or never', () => {
    const late = told(0.5, { price: 90_000 });
    expect(late.report.payback!.verdict).toBe('beyond-life');
    expect(late.sentences.map((sentence) => sentence.slice(0, LIMIT.length + 55))).toEqual([
      expect.stringMatching(`^${LIMIT}USD 90,000.00 would not come back within 25 years`),
      expect.stringMatching(`^${LIMIT}USD 90,000.00 would not come back within 25 years`),
    ]);
    const never = told(0, { price: 3000 });
    expect(never.report.payback!).toMatchObject({ years: null, verdict: 'never' });
    expect(never.sentences).toHaveLength(2);
    for (const sentence of never.sentences)
      expect(sentence).toMatch(`${LIMIT}under "settings" it would never pay back USD 3,000.00`);
  });

  test('money by then is money by the first end: ten warranted years, not the 25 that its cycles could fill', () => {
    const { report, text } = told(2, { price: 90_000, cycleLife: 20_000, warrantyYears: 10 }, 365);
    const { life, savingsPerYear } = report.payback!;
    expect(life!.cycleYears).toBeGreaterThan(25);
    const flat = text.replaceAll('\n', ' ');
    expect(flat).toContain('USD 90,000.00 do not come back within 25 years, prices as now.');
    expect(flat).toContain(
      `(the warranty ends after 10.0 years, used so, its cycles are up after ${life!.cycleYears!.toFixed(1)} years, without calendarYears no more than 25 years count); by the end of its warranty USD ${(10 * savingsPerYear).toLocaleString('en', { minimumFractionDigits: 2, maximumFractionDigits: 2 })} have: simple payback`,
    );
  });

  test('with no life stated, what comes back in the 25 years that count is told', () => {
    const { report, text } = told(2, { price: 90_000 }, 365);
    const { life, savingsPerYear, verdict } = report.payback!;
    expect([life, verdict]).toEqual([null, 'beyond-life']);
    const saved = (25 * savingsPerYear).toLocaleString('en', { minimumFractionDigits: 2, maximumFractionDigits: 2 });
    expect(text.replaceAll('\n', ' ')).toContain(
      `do not come back within 25 years under "settings"; by then USD ${saved} have: simple payback`,
    );
  });

  test('of a year it is told as before', () => {
    const { text, report } = told(2, { price: 3000 }, 365);
    expect(text).toContain(`USD 3,000.00 come back in ${report.payback!.years!.toFixed(1)} years`);
    expect(text).not.toContain('Scaled from');
    expect(report.payback!.basis).not.toContain('scaled');
  });
});

test('that no life is stated is said of years beyond 25 too', () => {
  const { report, text } = told(0.5, { price: 90_000 });
  expect(report.payback!).toMatchObject({ verdict: 'beyond-life', life: null });
  expect(text.replace(/\s+/g, ' ')).toContain('No warranty, cycle life or age is stated for the battery');
});
