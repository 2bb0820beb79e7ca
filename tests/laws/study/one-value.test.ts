import { makeAxis } from '@duskbank/core/axis';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy, outage, perYear, settings } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';

// One quantity has one value, wherever it is printed.

const studyOf = (days: number, from = Date.UTC(2023, 0, 1), withSolar = false) => {
  const intervals = days * 24;
  const axis = makeAxis({ startEpochMs: from, stepMinutes: 60, intervals, zone: 'Etc/UTC' });
  const hours = Array.from({ length: intervals }, (_, i) => i % 24);
  const importKwh = Float64Array.from(hours, (h) => (h >= 17 && h < 21 ? 1.3 : 0.4));
  const solarKwh = Float64Array.from(hours, (h) => (h === 12 ? 0.2 : 0));
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: { battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 2, roundTripEfficiency: 0.9, standbyW: 8 } },
  });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'Evening',
    currency: 'USD',
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.41, kind: 'peak' },
      { name: 'rest', otherwise: true, pricePerKwh: 0.17 },
    ],
  });
  const series = withSolar
    ? { axis, importKwh, exportKwh: new Float64Array(intervals), solarKwh }
    : { axis, importKwh };
  return makeStudy({ site, series, tariff });
};

describe('a year', () => {
  const factor = (days: number, from: number) => perYear(studyOf(days, from).home.axis);
  test('of 365 days, and of 366, is one year: its sum stands as it is', () => {
    expect(factor(365, Date.UTC(2023, 2, 1))).toBe(365.25 / 365); // 2023-03-01 to 2024-02-28: a day short of a year.
    expect(factor(365, Date.UTC(2023, 0, 1))).toBe(1);
    expect(factor(366, Date.UTC(2024, 0, 1))).toBe(1);
    expect(factor(366, Date.UTC(2023, 2, 1))).toBe(1);
  });
  test('several years are divided, anything else is scaled to 365.25 days', () => {
    expect(factor(731, Date.UTC(2023, 0, 1))).toBe(1 / 2);
    expect(factor(582, Date.UTC(2023, 0, 1))).toBe(365.25 / 582);
    expect(factor(90, Date.UTC(2023, 0, 1))).toBe(365.25 / 90);
  });
});

describe.each([
  ['a year', 365, 'a year'],
  ['582 days', 582, 'a year'],
  ['two years', 731, 'a year'],
  ['90 days', 90, 'in 90 days'],
])('over %s', (_, days, words) => {
  const study = studyOf(days);

  test('compare’s sentence and table have one figure, of one time', () => {
    const text = compareText(compare(study));
    const [, strategy, sentence, span] = /Run as "([^"]+)", the battery saves USD\s([\d.,]+) (a year|in \d+ days)/.exec(
      text.replaceAll('\n', ' '),
    )!;
    expect(span).toBe(words);
    const row = text.split('\n').find((line) => line.startsWith(`${strategy} `))!;
    expect(row.split(/\s+/)[2]).toBe(sentence);
    expect(text).toMatch(new RegExp(`saved.*\n.*${words.replace('in ', '')}`));
    if (days === 582) expect(text.replaceAll('\n', ' ')).toContain('what the data’s 582 days come to, × 365.25 ÷ 582.');
    if (days === 731) expect(text.replaceAll('\n', ' ')).toContain('what the data’s 731 days come to, divided by 2.');
  });

  test('settings’ too', () => {
    const text = settingsText(settings(study));
    const [, sentence, span] = /the battery saves USD\s([\d.,]+) (a year|in \d+ days)/.exec(
      text.replaceAll('\n', ' '),
    )!;
    expect(span).toBe(words);
    expect(
      text
        .split('\n')
        .find((line) => line.startsWith('these settings, tested on other weeks'))!
        .split(/\s+/)
        .at(-1),
    ).toBe(sentence);
  });
});

test('only a home that has solar is said to have it', () => {
  expect(compareText(compare(studyOf(365)))).not.toContain('solar and no battery');
  expect(compareText(compare(studyOf(365, undefined, true))).replaceAll('\n', ' ')).toContain(
    'against the home as metered with its solar and no battery',
  );
});

test('all kept costs what "hold" costs, in outage as in compare', () => {
  const study = studyOf(365);
  const hold = compare(study).strategies.find(({ strategy }) => strategy === 'hold')!;
  const points = outage(study, { floors: [0.5, 0.9, 1] }).frontier;
  const full = points.find(({ floorShare }) => floorShare === 1)!;
  for (const row of full.strategies) expect(row.savingsPerYear, row.strategy).toBe(hold.savingsPerYear);
  expect(full.boundSavingsPerYear).toBeGreaterThanOrEqual(hold.savingsPerYear!);
});
