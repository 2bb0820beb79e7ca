// What a feed of ESPI (NAESB REQ.21) may hold beside its readings, and may lack.
import { parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { feedBills } from '../../../packages/core/src/meter/espi/bills.ts';

const DAY = 86_400;
/** Midnight of UTC: 17:00 in Denver. */
const START = Date.UTC(2025, 0, 1) / 1000;
const SUMMARY = `<entry><link rel="self" href="/UsagePoint/01/UsageSummary/1"/><content><UsageSummary><billingPeriod><duration>${31 * DAY}</duration><start>${START}</start></billingPeriod></UsageSummary></content></entry>`;
const typeOf = (id: string, commodity: number, uom: number) =>
  `<entry><link rel="self" href="/ReadingType/${id}"/><content><ReadingType><commodity>${commodity}</commodity><flowDirection>1</flowDirection><intervalLength>3600</intervalLength><uom>${uom}</uom></ReadingType></content></entry>`;
const POWER = typeOf('01', 1, 72);
/** Cubic metres. */
const GAS = typeOf('02', 7, 42);

function feed({ before = '', types = POWER, links = '<link rel="related" href="/ReadingType/01"/>' }): string {
  const blocks = [0, 1, 2].map((day) => {
    const readings = Array.from(
      { length: 24 },
      (_, hour) =>
        `<IntervalReading><timePeriod><duration>3600</duration><start>${START + day * DAY + hour * 3600}</start></timePeriod><value>${500 + hour}</value></IntervalReading>`,
    );
    return `<entry><link rel="self" href="/UsagePoint/01/MeterReading/01/IntervalBlock/${day}"/><link rel="up" href="/UsagePoint/01/MeterReading/01/IntervalBlock"/><content><IntervalBlock><interval><duration>${DAY}</duration><start>${START + day * DAY}</start></interval>${readings.join('')}</IntervalBlock></content></entry>`;
  });
  return `<?xml version="1.0"?><feed xmlns="http://naesb.org/espi">${before}<entry><link rel="self" href="/UsagePoint/01/MeterReading/01"/>${links}<content><MeterReading/></content></entry>${types}${blocks.join('')}</feed>`;
}
const read = (text: string) => parseIntervalData(text, { zone: 'America/Denver' });
const kwhOf = (text: string) => read(text).series?.importKwh?.reduce((sum, kwh) => sum + kwh, 0);
/** Three days of 0.500 … 0.523 kWh. */
const TOTAL = 3 * (24 * 0.5 + 0.276);

describe('a feed whose readings print no time of their own', () => {
  test('is read by the length of most of its readings, where its type states none', () => {
    const text = feed({ types: POWER.replace('<intervalLength>3600</intervalLength>', '') });
    // The first reading of each block prints its start; the second a quarter of an hour for its length.
    const bare = text
      .replace(/<start>\d+<\/start><\/timePeriod>/g, '</timePeriod>')
      .replace('<duration>3600</duration></timePeriod><value>501', '<duration>900</duration></timePeriod><value>501');
    expect(kwhOf(bare)).toBeCloseTo(TOTAL, 9);
  });
});

describe('beside the readings of a feed', () => {
  test('a summary with its billing period leaves the blocks after it their own times', () => {
    const codes = (text: string) => read(text).findings.map(({ code }) => code);
    expect(codes(feed({}))).toContain('epoch-not-utc');
    expect(codes(feed({ before: SUMMARY }))).toEqual(codes(feed({})));
  });

  test('a link that leads nowhere is passed over', () => {
    expect(kwhOf(feed({ links: '<link rel="related"/><link rel="related" href="/ReadingType/01"/>' }))).toBeCloseTo(
      TOTAL,
      9,
    );
  });

  test('without links the lone type of electric energy counts, beside one of gas', () => {
    // The type's own power of ten says what a reading is of.
    const tenths = POWER.replace('<uom>', '<powerOfTenMultiplier>-1</powerOfTenMultiplier><uom>');
    expect(kwhOf(feed({ links: '', types: `${tenths}${GAS}` }))).toBeCloseTo(TOTAL / 10, 9);
  });
});

test('a bill whose period begins at midnight of UTC is of the day that begins nearest to it where the home stands', () => {
  const billed = SUMMARY.replace('</billingPeriod>', '</billingPeriod><billLastPeriod>4500000</billLastPeriod>');
  // 17:00 of New Year’s Eve in Denver is nearer to the midnight after it; in Tokyo it is 09:00 of the first already.
  for (const zone of ['America/Denver', 'Asia/Tokyo', 'UTC'])
    expect(feedBills(feed({ before: billed }), zone)).toEqual([{ start: '2025-01-01', end: '2025-01-31', total: 45 }]);
});

test.each([
  ['in entries', (blocks: string) => `<entry><content>${blocks}</content></entry>`],
  ['outside of any entry', (blocks: string) => blocks],
  ['outside of any block too', (blocks: string) => blocks.replace(/<\/?IntervalBlock>/g, '')],
  ['below something else', (blocks: string) => `<MeterReading>${blocks}</MeterReading>`],
])('readings %s are read', (_, within) => {
  const readings = Array.from(
    { length: 72 },
    (__, hour) =>
      `<IntervalReading><timePeriod><duration>3600</duration><start>${START + hour * 3600}</start></timePeriod><value>${500 + (hour % 24)}</value></IntervalReading>`,
  );
  const text = `<?xml version="1.0"?><feed xmlns="http://naesb.org/espi">${POWER}${within(`<IntervalBlock>${readings.join('')}</IntervalBlock>`)}</feed>`;
  expect(kwhOf(text)).toBeCloseTo(TOTAL, 9);
});
