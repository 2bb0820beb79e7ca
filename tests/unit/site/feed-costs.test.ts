import { loadMeterCosts, loadSite } from '@duskbank/core/site';
import { bill } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { readMoney } from '../../../packages/core/src/meter/money-column.ts';
import { readerOf } from '../../support/panel/index.ts';

// ESPI (NAESB REQ.21, espi.xsd): `IntervalReading.cost` and `UsageSummary.billLastPeriod` are hundred-thousandths of the
// currency. Here 1 kWh an hour at 0.25: a cost of 25,000; a month of 31 days is 744 kWh, 186.00 and 9.50 a month of service.
const HOURS = 24 * 59;
/** 2025-01-01 00:00 in Denver, seconds. */
const START = Date.UTC(2025, 0, 1, 7) / 1000;
const DAY = 86_400;

interface Feed {
  readonly cost?: (hour: number) => number | undefined;
  readonly summaries?: readonly { point?: string; start: number; days: number; billed: number }[];
  readonly flow?: number;
}

const entry = (link: string, up: string, content: string) =>
  `<entry><link rel="self" href="${link}"/><link rel="up" href="${up}"/><content>${content}</content></entry>`;

function feedOf({ cost = () => undefined, summaries = [], flow = 1 }: Feed): string {
  const readings = Array.from({ length: HOURS }, (_, i) => {
    const amount = cost(i);
    return `<IntervalReading>${amount === undefined ? '' : `<cost>${amount}</cost>`}<timePeriod><duration>3600</duration><start>${START + i * 3600}</start></timePeriod><value>1000</value></IntervalReading>`;
  });
  return `<?xml version="1.0"?><feed xmlns="http://naesb.org/espi">${[
    entry(
      '/UsagePoint/01',
      '/UsagePoint',
      '<UsagePoint><ServiceCategory><kind>0</kind></ServiceCategory></UsagePoint>',
    ),
    entry(
      '/UsagePoint/02',
      '/UsagePoint',
      '<UsagePoint><ServiceCategory><kind>1</kind></ServiceCategory></UsagePoint>',
    ),
    `<entry><link rel="self" href="/UsagePoint/01/MeterReading/01"/><link rel="related" href="/ReadingType/01"/><content><MeterReading/></content></entry>`,
    entry(
      '/ReadingType/01',
      '/ReadingType',
      `<ReadingType><commodity>1</commodity><flowDirection>${flow}</flowDirection><intervalLength>3600</intervalLength><uom>72</uom></ReadingType>`,
    ),
    entry(
      '/UsagePoint/01/MeterReading/01/IntervalBlock/1',
      '/UsagePoint/01/MeterReading/01/IntervalBlock',
      `<IntervalBlock><interval><duration>${HOURS * 3600}</duration><start>${START}</start></interval>${readings.join('')}</IntervalBlock>`,
    ),
    ...summaries.map(({ point = '01', start, days, billed }, k) =>
      entry(
        `/UsagePoint/${point}/UsageSummary/${k}`,
        `/UsagePoint/${point}/UsageSummary`,
        `<UsageSummary><billingPeriod><duration>${days * DAY}</duration><start>${start}</start></billingPeriod><billLastPeriod>${billed}</billLastPeriod><currency>840</currency></UsageSummary>`,
      ),
    ),
  ].join('')}</feed>`;
}

const homeOf = (feed: string) =>
  readerOf({
    'home.xml': feed,
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'One price',
      currency: 'USD',
      windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }],
      fixed: [{ name: 'Service', amount: 9.5 }],
      export: { kind: 'none' },
    }),
    'site.json': JSON.stringify({
      format: 'duskbank.site/1',
      name: 'Home',
      zone: 'America/Denver',
      meter: { files: ['home.xml'] },
      tariff: 'tariff.json',
    }),
  });

async function reportOf(feed: string) {
  const read = homeOf(feed);
  const { tariffs, pastOf } = await loadSite('site.json', read);
  return bill({ ...pastOf(tariffs[0]!), actualCosts: await loadMeterCosts('site.json', read) });
}

describe('costs of an ESPI feed', () => {
  test('of what is sent out aren’t taken beside those of what is bought: whether they are credits isn’t said', () => {
    const bought = feedOf({ cost: () => 25_000 });
    const sold = feedOf({ cost: () => 6_000, flow: 19 });
    const entries = sold.replaceAll(/(MeterReading|ReadingType)\/01/g, '$1/02').match(/<entry>.*?<\/entry>/g)!;
    const both = bought.replace('</feed>', `${entries.slice(2).join('')}</feed>`);
    const read = (feed: string) => readMoney(feed, 'cost', { zone: 'America/Denver' });
    expect(read(bought).column?.values[0]).toBe(0.25);
    expect(read(both)).toMatchObject({ column: undefined, why: 'several-columns' });
  });

  test('what each reading cost makes bills, without what isn’t charged by the kWh', async () => {
    const { actual } = await reportOf(feedOf({ cost: () => 25_000 }));
    expect(actual!.from).toBe('meter-file');
    expect(actual!.bills.map(({ start, end, actual: charged }) => [start, end, charged])).toEqual([
      ['2025-01-01', '2025-01-31', 186],
      ['2025-02-01', '2025-02-28', 168],
    ]);
    expect(actual!.causes.map(({ code }) => code)).toContain('fixed-per-bill');
  });

  test('bills of its summaries count before them, on the home’s own dates, and gas is left out', async () => {
    const { actual } = await reportOf(
      feedOf({
        cost: () => 25_000,
        summaries: [
          { start: START, days: 31, billed: 19_550_000 },
          // Local midnight written as if it were UTC, as some feeds do.
          { start: Date.UTC(2025, 1, 1) / 1000, days: 28, billed: 17_750_000 },
          { point: '02', start: START, days: 31, billed: 8_000_000 },
        ],
      }),
    );
    expect(actual!.from).toBe('meter-file-bills');
    expect(actual!.bills.map(({ start, end, actual: charged }) => [start, end, charged])).toEqual([
      ['2025-01-01', '2025-01-31', 195.5],
      ['2025-02-01', '2025-02-28', 177.5],
    ]);
    expect(actual!.verdict).toBe('exact');
  });

  test('a reading without a cost leaves its bill out', async () => {
    const { actual, warnings } = await reportOf(feedOf({ cost: (i) => (i === 40 * 24 ? undefined : 25_000) }));
    expect(actual!.bills).toHaveLength(1);
    expect(warnings.map(({ code }) => code)).toContain('cost-missing');
  });

  test('a feed without costs, or with zeros in their place, is refused', async () => {
    for (const feed of [feedOf({}), feedOf({ cost: () => 0, summaries: [{ start: START, days: 31, billed: 0 }] })])
      await expect(loadMeterCosts('site.json', homeOf(feed))).rejects.toThrow(/no-cost-column|no column/);
  });

  test('costs of what is exported are asked about: whether they are credits isn’t said', async () => {
    await expect(loadMeterCosts('site.json', homeOf(feedOf({ cost: () => 25_000, flow: 19 })))).rejects.toThrow(
      /several columns of costs/,
    );
  });
});
