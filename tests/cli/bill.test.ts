import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, folderWith, tooWide, wholeRun } from './support.ts';

interface PrintedBill {
  format: string;
  currency: string;
  periods: {
    start: string;
    end: string;
    lines: { name: string; kind: string; quantity: number; amount: number }[];
    total: number;
  }[];
  total: number;
  actual?: {
    verdict: string | null;
    bills: { difference: number | null }[];
    causes: { code: string; message: string }[];
  };
}

const cents = (value: number) => Math.round(value * 100);

describe.each([
  ['demo', 'site.json'],
  ['small', 'site.yaml'],
])('bill of the %s home', (fixture, site) => {
  const folder = copyOf(fixture);

  test('fits a terminal of 80 columns', async () => {
    const run = duskbank(['bill', site], folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    await expect(wholeRun(['bill', site], run)).toMatchFileSnapshot(`golden/bill-${fixture}.txt`);
  });

  test('--json: lines add up to totals, and totals to the whole, to the cent', () => {
    const run = duskbank(['bill', site, '--json'], folder);
    expect(run.status).toBe(0);
    const bill = JSON.parse(run.stdout) as PrintedBill;
    expect(bill.format).toBe('duskbank.bill/1');
    for (const period of bill.periods)
      expect(period.lines.reduce((sum, line) => sum + cents(line.amount), 0)).toBe(cents(period.total));
    expect(bill.periods.reduce((sum, period) => sum + cents(period.total), 0)).toBe(cents(bill.total));
  });

  test('--csv prints a row a line, the same amounts', () => {
    const bill = JSON.parse(duskbank(['bill', site, '--json'], folder).stdout) as PrintedBill;
    const rows = duskbank(['bill', site, '--csv'], folder).stdout.trim().split('\n');
    expect(rows.length - 1).toBe(bill.periods.reduce((sum, period) => sum + period.lines.length, 0));
    const total = rows.slice(1).reduce((sum, row) => sum + cents(Number(row.split(',').at(-1))), 0);
    expect(total).toBe(cents(bill.total));
  });
});

test('the first sentence of bill has the dates of the data, and says which bills these cut', () => {
  const folder = copyOf('demo');
  const path = join(folder, 'site.json');
  const site = JSON.parse(readFileSync(path, 'utf8')) as Record<string, unknown>;
  writeFileSync(path, JSON.stringify({ ...site, account: { cycleDay: 15 } }));
  const words = duskbank(['bill', 'site.json'], folder).stdout.replace(/\s+/g, ' ');
  expect(words).toContain(
    ', 2025-01-01 to 2025-12-31 (the first and the last for a part of their periods): reckoned from the meter data',
  );
});

describe('bill --actual', () => {
  const folder = copyOf('demo');
  const own = JSON.parse(duskbank(['bill', 'site.json', '--json'], folder).stdout) as PrintedBill;
  /** A file of actual bills: ours, changed. */
  const actual = (change: (period: PrintedBill['periods'][number], p: number) => number) => {
    const rows = own.periods.map((period, p) => `${period.start},${period.end},${change(period, p).toFixed(2)}`);
    writeFileSync(join(folder, 'actual.csv'), `start,end,total\n${rows.join('\n')}\n`);
    return JSON.parse(
      duskbank(['bill', 'site.json', '--actual', 'actual.csv', '--json'], folder).stdout,
    ) as PrintedBill;
  };
  const kwh = (period: PrintedBill['periods'][number]) =>
    period.lines.filter((line) => line.kind === 'energy').reduce((sum, line) => sum + line.quantity, 0);

  test('the same bills agree to the cent and name no cause', () => {
    const printed = actual((period) => period.total);
    expect(printed.actual!.bills.every((bill) => bill.difference === 0)).toBe(true);
    expect(printed.actual!.causes).toEqual([]);
  });
  test.each([
    [
      'a missing rider per kWh',
      'rider',
      // Entered in the file, it bears the town's tax of 3.5 %.
      'USD 0.0119 per kWh (0.0123 with what the tariff file puts on it',
      (period: PrintedBill['periods'][number]) => period.total + 0.0123 * kwh(period),
    ],
    [
      'a missing charge a bill',
      'fixed-per-bill',
      'USD 4.20 a bill (4.35 with what the tariff file puts on it',
      (period: PrintedBill['periods'][number]) => period.total + 4.35,
    ],
    [
      'a missing tax',
      'tax',
      '2.50 % on the whole bill',
      (period: PrintedBill['periods'][number]) => period.total * 1.025,
    ],
    [
      'a line that wasn’t charged',
      'line',
      '"Meter charge" wasn’t charged',
      (period: PrintedBill['periods'][number]) =>
        period.total - period.lines.find((line) => line.name === 'Meter charge')!.amount,
    ],
  ])('names %s', (_, code, words, change) => {
    const { causes } = actual(change).actual!;
    // A charge by the day is one by the bill too, where months are about as long: either is right.
    if (code === 'line') expect(['line', 'fixed-per-day']).toContain(causes[0]!.code);
    else {
      expect(causes.map((cause) => cause.code)).toEqual([code]);
      expect(causes[0]!.message).toContain(words);
    }
  });
  test('names bills over other days, and compares them over those', () => {
    const shifted = own.periods
      .slice(1, 4)
      .map(
        (period) =>
          `${period.start.slice(0, 8)}05,${period.end.slice(0, 5)}${String(Number(period.end.slice(5, 7)) + 1).padStart(2, '0')}-04,100`,
      );
    writeFileSync(join(folder, 'actual.csv'), `start,end,total\n${shifted.join('\n')}\n`);
    const printed = JSON.parse(
      duskbank(['bill', 'site.json', '--actual', 'actual.csv', '--json'], folder).stdout,
    ) as PrintedBill;
    expect(printed.actual!.bills.every((bill) => bill.difference !== null)).toBe(true);
    expect(printed.actual!.causes[0]!.code).toBe('days-in-period');
  });
  test('names energy that the data don’t hold', () => {
    const rows = own.periods.map(
      (period) => `${period.start},${period.end},${period.total},${(kwh(period) * 1.1).toFixed(1)}`,
    );
    writeFileSync(join(folder, 'actual.csv'), `start,end,total,kWh\n${rows.join('\n')}\n`);
    const printed = JSON.parse(
      duskbank(['bill', 'site.json', '--actual', 'actual.csv', '--json'], folder).stdout,
    ) as PrintedBill;
    // The money agrees to the cent, the kWh do not.
    expect(printed.actual!.verdict).toBe('energy-differs');
    expect(printed.actual!.causes.map(({ code }) => code)).toEqual(['energy']);
  });
  test('prints the comparison within 80 columns', () => {
    actual((period) => period.total + 1);
    const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout.replace(/\s+/g, ' ')).toContain('a charge of USD 0.97 a bill (1.00 with what the tariff file');
  });
  test('leads with the bill that is furthest off where all together agree', () => {
    actual((period, p) => period.total + (p === 0 ? 20 : p === 1 ? -20 : 0));
    const words = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder).stdout.replace(/\s+/g, ' ');
    const off = own.periods[20 / own.periods[0]!.total > 20 / own.periods[1]!.total ? 0 : 1]!;
    expect(words).toContain(
      `Beside the bills that were charged The bill from ${off.start} is USD 20.00 ${off === own.periods[0] ? 'more' : 'less'} than the USD ${off.total.toFixed(2)} reckoned`,
    );
    expect(words).toContain('in all 12, the USD 1,259.87 reckoned: find out why before you rely on any saving');
  });
  test('promises no causes where none was found', () => {
    actual((period, p) => period.total * (p < 6 ? 1.23 : 0.81) + p);
    const words = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder).stdout.replace(/\s+/g, ' ');
    expect(words).toContain('on any saving. No cause was found that explains it.');
    expect(words).toContain('The largest is that of the bill from');
  });
  test('prints two causes together where no single one explains the bills', async () => {
    const { causes } = actual((period) => (period.total + 0.0123 * kwh(period)) * 1.025).actual!;
    expect(causes.map((cause) => cause.code)).toEqual(['rider+tax']);
    const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
    expect(run.status).toBe(0);
    expect(tooWide(run.stdout)).toEqual([]);
    const beside = run.stdout.slice(run.stdout.indexOf('Beside the bills'));
    await expect(beside).toMatchFileSnapshot('golden/bill-demo-two-causes.txt');
  });
  test('says which bills share a day', () => {
    const later = (date: string) => new Date(Date.parse(date) + 86_400_000).toISOString().slice(0, 10);
    const rows = own.periods.map((period) => `${period.start},${later(period.end)},${period.total}`);
    writeFileSync(join(folder, 'actual.csv'), `start,end,total\n${rows.join('\n')}\n`);
    const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).toContain(`All ${own.periods.length} bills agree to the cent.`);
    expect(run.stdout).toContain('end on the day on which the next begins');
  });
  test('says where a bill states other kWh than the data hold, and of what its shares are', () => {
    const [first] = own.periods;
    const screen = (total: number, kwh: number) => {
      writeFileSync(join(folder, 'actual.csv'), `start,end,total,kwh\n${first!.start},${first!.end},${total},${kwh}\n`);
      const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
      expect(tooWide(run.stdout)).toEqual([]);
      return run.stdout.slice(run.stdout.indexOf('Beside the bills')).replace(/\s+/g, ' ');
    };
    const other = screen(first!.total, 9999);
    expect(other).toContain('The bill agrees to the cent, but not in the kWh that it states');
    expect(other).toContain('9999 kWh against');
    expect(other).not.toMatch(/trust/i);
    const whole = `${((100 * 1000) / first!.total).toFixed(1)} %`;
    expect(screen(first!.total + 1000, 9999)).toContain(
      `Charged USD 1,000.00 more than the USD ${first!.total.toFixed(2)} reckoned (${whole} of that)`,
    );
  });
  test('names the bills that overlap, all of them within the data', () => {
    const [a, b] = own.periods;
    const middle = `${b!.start.slice(0, 8)}10`;
    const rows = [`${a!.start},${middle},1`, `${b!.start},${b!.end},2`];
    writeFileSync(join(folder, 'actual.csv'), `start,end,total\n${rows.join('\n')}\n`);
    const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout).not.toMatch(/no data|lies within the data/);
    const words = run.stdout.replace(/\s+/g, ' ');
    expect(words).toContain(`${a!.start} to ${middle} and ${b!.start} to ${b!.end} overlap`);
    expect(words).toContain('None of these bills could be set beside ours.');
  });
  test.each([
    ['no header', '2025-01-01,2025-01-31,100\n', 'missing-column', 'expected a column "start"'],
    ['a date that isn’t', 'start,end,total\n2025-02-30,2025-03-01,1\n', 'not-a-date', 'line 2, column "start"'],
    ['an amount that isn’t', 'start,end,total\n2025-02-01,2025-03-01,much\n', 'not-finite', 'line 2, column "total"'],
    ['an end before the start', 'start,end,total\n2025-02-01,2025-01-01,1\n', 'out-of-range', 'line 2, column "end"'],
    ['nothing but a header', 'start,end,total\n', 'no-rows', 'a row for each bill'],
  ])('refuses %s', (_, text, __, words) => {
    writeFileSync(join(folder, 'actual.csv'), text);
    const run = duskbank(['bill', 'site.json', '--actual', 'actual.csv'], folder);
    expect(run.status).toBe(2);
    expect(run.stdout).toBe('');
    expect(run.stderr).toContain(words);
  });
});

describe('a tariff with a price series', () => {
  const folder = copyOf('demo');
  const tariff = {
    format: 'duskbank.tariff/1',
    name: 'Spot',
    currency: 'USD',
    energy: [{ name: 'Market energy', series: { file: 'spot.csv', adderPerKwh: 0.02 } }],
  };
  writeFileSync(join(folder, 'spot.json'), JSON.stringify(tariff));
  const rows = (hours: number, from = Date.UTC(2025, 0, 1, 7)) =>
    Array.from({ length: hours }, (_, h) => `${new Date(from + h * 3_600_000).toISOString()},0.1`).join('\n');

  test('is billed at its prices', () => {
    writeFileSync(join(folder, 'spot.csv'), `start,price\n${rows(8760)}\n`);
    const run = duskbank(['bill', 'site.json', '--tariff', 'spot.json', '--json'], folder);
    expect(run.stderr).not.toContain('error');
    const bill = JSON.parse(run.stdout) as PrintedBill;
    const [line] = bill.periods[0]!.lines;
    expect(line!.amount).toBe(cents(line!.quantity * 0.12) / 100);
  });
  test.each([
    ['too short', rows(100), 'prices from 2025-01-01 07:00 to'],
    [
      'with a hole',
      `${rows(50)}\n${rows(8700, Date.UTC(2025, 0, 3, 19))}`,
      'no price at 2025-01-03 09:00 UTC, 10 of them',
    ],
    ['with a word', `${rows(50)}\n2025-01-03T09:00Z,cheap`, 'line 52'],
    ['that is missing', undefined, 'a file that exists'],
  ])('refuses a series %s', (_, text, words) => {
    const tariffFile =
      text === undefined ? { ...tariff, energy: [{ name: 'Market energy', series: { file: 'none.csv' } }] } : tariff;
    writeFileSync(join(folder, 'spot.json'), JSON.stringify(tariffFile));
    if (text !== undefined) writeFileSync(join(folder, 'spot.csv'), `start,price\n${text}\n`);
    const run = duskbank(['bill', 'site.json', '--tariff', 'spot.json'], folder);
    expect(run.status).toBe(2);
    expect(run.stderr).toContain(words);
  });
});

test('bill of a file that is no site is refused', () => {
  const run = duskbank(['bill', 'none.json'], folderWith());
  expect(run.status).toBe(2);
});

describe('bill --actual-from-file', () => {
  /** A home whose portal prints what each hour cost, at 0.16 a kWh and 0.48 from 17:00 to 20:00. */
  const home = (tariffPrice: number) => {
    const rows = ['Type,Date,Start,End,Usage (kWh),Cost ($)'];
    for (let hour = 0; hour < 24 * 59; hour++) {
      const at = new Date(Date.UTC(2025, 0, 1, hour));
      const [date, time] = [at.toISOString().slice(0, 10), at.toISOString().slice(11, 16)];
      const kwh = 0.3 + ((hour * 7) % 11) / 10;
      const price = at.getUTCHours() >= 17 && at.getUTCHours() < 20 ? 0.48 : 0.16;
      rows.push(`Electric usage,${date},${time},${time.slice(0, 2)}:59,${kwh.toFixed(2)},$${(kwh * price).toFixed(4)}`);
    }
    return folderWith({
      'home.csv': `${rows.join('\n')}\n`,
      'tariff.json': JSON.stringify({
        format: 'duskbank.tariff/1',
        name: 'Two prices',
        currency: 'USD',
        windows: [
          { name: 'evening', from: '17:00', to: '20:00', pricePerKwh: 3 * tariffPrice },
          { name: 'rest', otherwise: true, pricePerKwh: tariffPrice },
        ],
        fixed: [{ name: 'Service', amount: 9.5 }],
      }),
      'site.json': JSON.stringify({
        format: 'duskbank.site/1',
        name: 'Home',
        zone: 'America/Denver',
        meter: { files: ['home.csv'] },
        tariff: 'tariff.json',
        plant: {
          battery: { units: 1, usableKwh: 9.6, chargeKw: 4.8, dischargeKw: 7.2, roundTripEfficiency: 0.88 },
          inverter: { continuousKw: 7.6 },
        },
      }),
    });
  };

  test('bills are made of the cost column, and the fixed charge is named as what it leaves out', () => {
    const folder = home(0.16);
    const run = duskbank(['bill', 'site.json', '--actual-from-file'], folder);
    expect(run.stderr).not.toContain('error');
    expect(run.stdout).toContain('Beside what the meter file says that it cost');
    expect(run.stdout.replace(/\s+/g, ' ')).toContain(
      'USD 9.50 a bill wasn’t charged: a credit that the tariff file lacks, or too much in it',
    );
    expect(tooWide(run.stdout)).toEqual([]);
  });

  test('prices in cents are known by it', () => {
    const run = duskbank(['bill', 'site.json', '--actual-from-file'], home(16));
    expect(run.stdout.replace(/\s+/g, ' ')).toContain('"evening" is USD 48 a kWh');
    expect(run.stdout.replace(/\s+/g, ' ')).toContain('find out why before you rely on any saving');
  });

  test('a file without costs, and both ways at once, are refused', () => {
    const run = duskbank(['bill', 'site.json', '--actual-from-file'], copyOf('demo'));
    expect(run.status).toBe(2);
    expect(run.stderr).toContain('no column that is named as a cost');
    const both = duskbank(['bill', 'site.json', '--actual-from-file', '--actual', 'x.csv'], copyOf('demo'));
    expect(both.status).toBe(2);
  });
});

test('check opens files of prices, alone and with the tariff that names them', () => {
  const folder = folderWith({
    'prices.csv': 'start,EUR/MWh\n2026-01-05T00:00Z,81.23\n2026-01-05T01:00Z,-12.5\n2026-01-05T02:00Z,90\n',
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'Spot',
      currency: 'EUR',
      energy: [{ name: 'Spot', series: { file: 'prices.csv' } }],
    }),
  });
  const told = '3 prices of 60 minutes from 2026-01-05 to 2026-01-05; a kWh costs −0.0125 to 0.09';
  for (const file of ['prices.csv', 'tariff.json']) {
    const run = duskbank(['check', file], folder);
    expect(run.status).toBe(0);
    expect(run.stdout.replace(/\s+/g, ' ')).toContain(told);
  }
  writeFileSync(join(folder, 'prices.csv'), 'start,EUR/MWh\n');
  expect(duskbank(['check', 'tariff.json'], folder).status).toBe(2);
});
