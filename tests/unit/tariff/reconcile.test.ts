import { makeAxis } from '@duskbank/core/axis';
import {
  type ActualBill,
  billTariff,
  compileTariff,
  parseTariff,
  reconcileBills,
  type Tariff,
} from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { unmade } from '../../support/facts.ts';
import { randomFlows, tariffFixtures } from '../../support/tariff-fixtures.ts';

const fixtures = tariffFixtures();

/** A home on a fixture's tariff: what it thinks that it pays, and what is really charged. */
function home(name: string, truth: (document: Record<string, never>) => object = (document) => document) {
  const { tariff, options } = fixtures.find((one) => one.name === name)!;
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const flows = randomFlows(11, axis.intervals, axis.stepMinutes);
  const charged = parseTariff(truth(JSON.parse(JSON.stringify(tariff.document))));
  return {
    /** Bills that lie wholly within the data, by the true tariff and account. */
    bills(account: object = {}): ActualBill[] {
      const compiled = compileTariff(charged, axis, { ...options, account: { ...options.account, ...account } });
      return billTariff(compiled, flows)
        .periods.filter((_, p) => compiled.periods[p]!.days === compiled.periods[p]!.fullDays)
        .map(({ start, end, total }) => ({ start, end, total }));
    },
    reconcile(bills: readonly ActualBill[]) {
      const reconciliation = reconcileBills(tariff, axis, options, flows, bills);
      expect(unmade(reconciliation.causes)).toEqual([]);
      return reconciliation;
    },
  };
}

const add = (key: string, more: object) => (document: Record<string, never>) => ({
  ...document,
  [key]: [...((document[key] as object[] | undefined) ?? []), more],
});
const both =
  (a: ReturnType<typeof add>, b: ReturnType<typeof add>) =>
  (document: Record<string, never>): object =>
    b(a(document) as Record<string, never>);

const rider = add('energy', { name: 'Wildfire fund', pricePerKwh: 0.0125 });
const tax = add('taxes', { name: 'County tax', percent: 2.5 });
const perBill = add('fixed', { name: 'Paper bill', amount: 4.95, per: 'bill' });

describe('one cause is named where one explains every bill', () => {
  test.each([
    ['a missing rider', rider, 'rider', 'USD 0.0125 per kWh'],
    ['a missing tax', tax, 'tax', '2.50 % on the whole bill'],
    ['a missing charge a bill', perBill, 'fixed-per-bill', 'USD 4.95 a bill'],
  ])('%s', (_, truth, code, words) => {
    const { bills, reconcile } = home('baseline-blocks', truth);
    const { causes } = reconcile(bills());
    expect(causes.map((cause) => cause.code)).toEqual([code]);
    expect(causes[0]!.message).toContain(words);
    expect(causes[0]!.data).toMatchObject({ bills: bills().length });
  });
  test('the baseline of another zone', () => {
    const { bills, reconcile } = home('baseline-blocks');
    const { causes } = reconcile(bills({ baselineZone: 'coast' }));
    expect(causes.map((cause) => cause.code)).toEqual(['baseline']);
    expect(causes[0]!.message).toContain('zone "coast"');
  });
  test('a programme that the account doesn’t state', () => {
    const { bills, reconcile } = home('discount-programme');
    const { causes } = reconcile(bills({ programmes: [] }));
    expect(causes[0]!.code).toBe('programme');
    expect(causes[0]!.message).toContain('is not billed in the programme "helping-hand"');
  });
  test('readings a day before those that the bills state', () => {
    const { bills, reconcile } = home('baseline-blocks');
    const dayBefore = bills({ readDates: ['2026-04-30', '2026-05-31', '2026-06-30', '2026-07-31', '2026-08-31'] });
    const stated = dayBefore.map((bill) => ({ ...bill, ...later(bill) }));
    const { causes } = reconcile(stated);
    expect(causes.at(-1)!.code).toBe('days-in-period');
    expect(causes.at(-1)!.message).toMatch(/a day earlier than it states: with that every bill agrees to the cent/);
  });
});

function later({ start, end }: ActualBill): { start: string; end: string } {
  const next = (date: string) => new Date(Date.parse(date) + 86_400_000).toISOString().slice(0, 10);
  return { start: next(start), end: next(end) };
}

describe('two causes are named where no single one explains every bill', () => {
  test('a missing rider and a missing tax', () => {
    const { bills, reconcile } = home('baseline-blocks', both(rider, tax));
    const [cause, ...more] = reconcile(bills()).causes;
    expect(more).toEqual([]);
    expect(cause!.code).toBe('rider+tax');
    // The tax falls on the rider: both amounts are told.
    expect(cause!.message).toContain('USD 0.0128 per kWh is missing');
    expect(cause!.message).toContain('2.50 % on the whole bill is missing');
    expect(cause!.message).toContain('the charge itself is 0.0125');
    expect(cause!.data).toMatchObject({
      causes: [
        { code: 'rider', data: { currency: 'USD' } },
        { code: 'tax', data: { share: 0.025 } },
      ],
    });
  });
  test('a missing charge a bill and a missing rider', () => {
    const { bills, reconcile } = home('baseline-blocks', both(perBill, rider));
    const { causes } = reconcile(bills());
    expect(causes[0]!.code).toBe('fixed-per-bill+rider');
    expect(causes[0]!.message).toContain('USD 4.95 a bill');
    expect(causes[0]!.message).toContain('USD 0.0125 per kWh');
  });
  test.each([
    ['a missing rider', rider, 'baseline+rider', 'USD 0.0125 per kWh'],
    ['a missing tax', tax, 'baseline+tax', '2.50 % on the whole bill'],
    ['a missing charge a bill', perBill, 'baseline+fixed-per-bill', 'USD 4.95 a bill'],
  ])('the baseline of another zone and %s', (_, truth, code, words) => {
    const { bills, reconcile } = home('baseline-blocks', truth);
    const { causes } = reconcile(bills({ baselineZone: 'coast' }));
    expect(causes.map((cause) => cause.code)).toEqual([code]);
    expect(causes[0]!.message).toContain('zone "coast"');
    expect(causes[0]!.message).toContain(words);
  });
  test('readings a day off and a missing tax', () => {
    const { bills, reconcile } = home('baseline-blocks', tax);
    const dayBefore = bills({
      readDates: ['2026-04-30', '2026-05-31', '2026-06-30', '2026-07-31', '2026-08-31', '2026-09-30'],
    });
    const { causes } = reconcile(dayBefore.map((bill) => ({ ...bill, ...later(bill) })));
    expect(causes.at(-1)!.code).toBe('days-in-period+tax');
    expect(causes.at(-1)!.message).toContain('a day earlier');
    expect(causes.at(-1)!.message).toContain('2.50 %');
  });
  test('a programme and a missing rider', () => {
    const { bills, reconcile } = home('discount-programme', rider);
    const { causes } = reconcile(bills({ programmes: [] }));
    expect(causes[0]!.code).toMatch(/^programme\+/);
  });
});

describe('what can’t be known isn’t named', () => {
  test('three bills are too few for two amounts', () => {
    const { bills, reconcile } = home('baseline-blocks', both(rider, tax));
    const { causes } = reconcile(bills().slice(0, 3));
    expect(causes).toMatchObject([{ code: 'unexplained', data: { bills: 3 } }]);
    expect(causes[0]!.message).toContain('need four bills');
  });
  test('differences without a pattern stay unexplained', () => {
    const { bills, reconcile } = home('baseline-blocks');
    const off = [3.1, -8.2, 0.4, 6.6, -1.9, 12.3];
    const { causes } = reconcile(bills().map((bill, k) => ({ ...bill, total: bill.total + off[k % 6]! })));
    expect(causes.map((cause) => cause.code)).toEqual(['unexplained']);
  });
});

describe('bills that print the day of the reading twice', () => {
  const { bills, reconcile } = home('baseline-blocks');
  const own = bills();
  const twice = own.map((bill) => ({ ...bill, end: later(bill).end }));

  test('are read to end the day before, and a note says so', () => {
    const { bills: rows, causes, notes } = reconcile(twice);
    expect(rows.map((row) => [row.start, row.end, row.difference])).toEqual(own.map((b) => [b.start, b.end, 0]));
    expect(causes).toEqual([]);
    expect(notes).toHaveLength(1);
    expect(notes[0]).toContain(own[1]!.start);
  });
  test('bills that don’t share a day need no note', () => expect(reconcile(own).notes).toEqual([]));
});

describe('bills that overlap', () => {
  const { bills, reconcile } = home('baseline-blocks');
  const [a, b, c] = bills();
  const into = { ...a!, end: later({ ...b!, end: later({ ...b!, end: b!.start }).end }).end };

  test('are named, and not taken for days without data', () => {
    const { bills: rows, notes } = reconcile([into, b!, c!]);
    expect(rows.map((row) => row.without)).toEqual(['overlap', 'overlap', null]);
    expect(rows[2]!.difference).toBe(0);
    expect(notes).toHaveLength(1);
    expect(notes[0]).toContain('2 of 3 bills');
    expect(notes[0]).toContain(`${a!.start} to ${into.end} and ${b!.start} to ${b!.end} overlap`);
  });
  test('a bill within another is reckoned; days outside the data stay days without data', () => {
    const outside = { start: '2020-01-01', end: '2020-01-31', total: 1 };
    const rows = reconcile([outside, { ...a!, end: b!.end }, b!]).bills;
    expect(rows.map((row) => row.without)).toEqual(['no-data', 'overlap', null]);
  });
});

describe('charges are told apart by what they are, not by what their lines say', () => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const flows = randomFlows(3, axis.intervals, axis.stepMinutes);
  const common = { format: 'duskbank.tariff/1', name: 'Two halves', currency: 'USD' };
  /** Bills under one tariff beside those that another makes of the same energy; the home has their kWh. */
  function between(charged: object, thought: object) {
    const [truth, tariff] = [charged, thought].map((rates) => parseTariff({ ...common, ...rates }));
    const compiled = compileTariff(truth!, axis);
    const actual = billTariff(compiled, flows).periods.map(({ start, end, total }, p): ActualBill => {
      const span = compiled.periods[p]!;
      const importKwh = flows.importKwh.subarray(span.first, span.end).reduce((sum, kwh) => sum + kwh, 0);
      return { start, end, total, importKwh };
    });
    return { actual, ...reconcileBills(tariff!, axis, {}, flows, actual) };
  }
  const halves = [
    { name: 'Energy, supply', pricePerKwh: 0.09 },
    { name: 'Energy, wires', pricePerKwh: 0.05 },
  ];

  test('two charges on the same kWh, named alike up to a comma, count them once', () => {
    const fee = { name: 'Paper bill', amount: 4.95, per: 'bill' };
    const { actual, bills, causes } = between({ energy: halves, fixed: [fee] }, { energy: halves });
    for (const [k, bill] of bills.entries()) expect(bill.importKwh).toBeCloseTo(actual[k]!.importKwh!, 6);
    expect(causes.map((cause) => cause.code)).toEqual(['fixed-per-bill']);
  });
  test('a window’s line and a charge of the same words are two lines', () => {
    const windows = [
      { name: 'wires', from: '07:00', to: '22:00', pricePerKwh: 0.2 },
      { name: 'night', otherwise: true, pricePerKwh: 0.1 },
    ];
    const seasons = [
      { name: 'winter', from: '11-01', to: '04-30' },
      { name: 'summer', from: '05-01', to: '10-31' },
    ];
    const inWinter = (pricePerKwh: number) => [{ name: 'Energy, wires', seasons: 'winter', pricePerKwh }];
    const rates = (pricePerKwh: number) => ({ seasons, windows, energy: inWinter(pricePerKwh) });
    const { causes } = between(rates(0.06), rates(0.05));
    expect(causes.map((cause) => cause.code)).toEqual(['line']);
    expect(causes[0]!.message).toContain('the line "Energy, wires" was charged 1.200 times');
  });
});

describe('verdict and totals', () => {
  const { bills, reconcile } = home('baseline-blocks');
  const whole = bills();

  test('every bill to the cent: exact', () => {
    const { verdict, total } = reconcile(whole);
    expect(verdict).toBe('exact');
    expect(total).toMatchObject({ bills: whole.length, difference: 0, share: 0 });
  });

  test.each([
    // 0.1 % on each bill; 1.5 %; 5 %.
    [1.001, 'trust'],
    [1.015, 'near'],
    [1.05, 'off'],
  ])('bills times %d: %s', (times, verdict) => {
    const charged = whole.map((bill) => ({ ...bill, total: Math.round(bill.total * times * 100) / 100 }));
    const found = reconcile(charged);
    expect(found.verdict).toBe(verdict);
    expect(found.total!.share!).toBeCloseTo(times - 1, 4);
    expect(found.total!.difference).toBeCloseTo(found.total!.actual - found.total!.ours, 6);
  });

  test('shares are of what was reckoned, whatever was charged', () => {
    const [one] = whole;
    const credit = reconcile([{ ...one!, total: -one!.total }]).total!;
    expect(credit.share).toBeCloseTo(-2, 6);
    const thousandMore = reconcile([{ ...one!, total: one!.total + 1000 }]).total!;
    expect(thousandMore.share).toBeCloseTo(1000 / one!.total, 6);
  });

  describe('bills that state their kWh', () => {
    const metered = reconcile(whole).bills.map(({ importKwh }) => importKwh!);
    /** The first bill states so many times the kWh of the data, and all are charged so many times. */
    const stating = (times: number, charged = 1) =>
      reconcile(
        whole.map((bill, k) => ({
          ...bill,
          total: bill.total * charged,
          importKwh: metered[k]! * (k === 0 ? times : 1),
        })),
      );

    test.each([
      ['to the cent', 1],
      // 0.1 % on each.
      ['nearly', 1.001],
    ])('are not trusted where these are others and the money agrees %s', (_, charged) => {
      const { verdict, causes } = stating(1.03, charged);
      expect(verdict).toBe('energy-differs');
      expect(causes[0]).toMatchObject({ code: 'energy', data: { why: 'differs', bills: 1, ofBills: whole.length } });
    });

    test('are where they agree within 2 %', () => {
      expect(stating(1.01)).toMatchObject({ verdict: 'exact', causes: [] });
      expect(stating(1.01, 1.001).verdict).toBe('trust');
    });

    test('what is further off stays so', () => expect(stating(1.03, 1.05).verdict).toBe('off'));
  });

  describe('differences of a cent or two on bills that are trusted', () => {
    const off = (...differences: number[]) =>
      reconcile(
        whole.slice(0, differences.length).map((bill, k) => ({ ...bill, total: bill.total + differences[k]! })),
      );

    test('are rounding: nothing explains them, and nobody is told that nothing does', () => {
      // As printed bills had them, and a cent on each; two cents and a cent more or less.
      for (const differences of [
        [0, 0.01, 0, -0.01, 0.02, 0.02],
        [0.02, 0.02, 0.02, 0.02],
        [0.02, 0.03, 0.01, 0.02],
      ])
        expect(off(...differences), String(differences)).toMatchObject({ verdict: 'trust', causes: [] });
    });

    test('more than that has a cause', () => {
      expect(off(0.05, 0.05, 0.05, 0.05)).toMatchObject({
        verdict: 'trust',
        causes: [{ code: 'fixed-per-bill', data: { amountPerBill: 0.05 } }],
      });
    });
  });

  test('bills that are off both ways aren’t trusted for their sum', () => {
    const charged = whole.map((bill, k) => ({ ...bill, total: bill.total + (k === 0 ? 20 : k === 1 ? -20 : 0) }));
    const { verdict, total } = reconcile(charged);
    expect(verdict).toBe('off');
    expect(total).toMatchObject({ difference: 0, share: 0, furthest: { difference: 20 } });
    expect(total!.furthest.share).toBeCloseTo(20 / total!.furthest.ours, 9);
  });

  test('two cents are not far off, however small the bill', () => {
    const credit = whole.map((bill, k) => ({ ...bill, total: bill.total + (k === 0 ? 0.02 : bill.total * 0.015) }));
    const { verdict, total } = reconcile(credit);
    expect(verdict).toBe('near');
    expect(total!.furthest.share).toBeCloseTo(0.015, 3);
  });

  test('a bill that the data cut is marked, and counts in no total', () => {
    const [first, second] = whole as [ActualBill, ActualBill];
    // The data begin on 2026-01-01.
    const cut = { ...first, start: '2025-12-15' };
    const outside = { start: '2025-11-01', end: '2025-11-30', total: 70 };
    const found = reconcile([outside, cut, second]);
    expect(found.bills.map(({ without }) => without)).toEqual(['no-data', 'cut', null]);
    expect(found.total).toMatchObject({ bills: 1, actual: second.total });
    expect(found.verdict).toBe('exact');
  });

  test('a day that the data begin inside of is no day of a bill', () => {
    const axis = makeAxis({
      startEpochMs: Date.UTC(2026, 0, 1, 13),
      stepMinutes: 60,
      intervals: 24 * 60,
      zone: 'America/Denver',
    });
    const { tariff, options } = fixtures.find((one) => one.name === 'flat')!;
    const flows = randomFlows(5, axis.intervals, 60);
    const of = (start: string) =>
      reconcileBills(tariff, axis, options, flows, [{ start, end: '2026-01-31', total: 50 }]).bills[0]!.without;
    // 06:00 on 1 January.
    expect([of('2026-01-01'), of('2026-01-02')]).toEqual(['cut', null]);
  });
});

describe('bills that are written otherwise than ours', () => {
  const { bills, reconcile } = home('baseline-blocks');
  const own = bills();

  test('the same bill twice counts once, and a note says so', () => {
    const { total, notes, bills: told } = reconcile([own[0]!, own[0]!, own[1]!]);
    expect(total).toMatchObject({ bills: 2, difference: 0 });
    expect(total!.actual).toBeCloseTo(own[0]!.total + own[1]!.total, 6);
    expect(told.length).toBe(2);
    expect(notes.join()).toMatch(/counted once/);
  });

  test('one bill that ends on the next one’s first day is told in the singular', () => {
    const [first, second, third] = own as [ActualBill, ActualBill, ActualBill];
    const { notes } = reconcile([{ ...first, end: second.start }, second, third]);
    expect(notes[0]).toMatch(/^A bill ends on the day on which the next begins, \d{4}-\d\d-\d\d: that day is counted/);
  });

  test('two amounts for the same days count neither', () => {
    const { total, bills: told } = reconcile([own[0]!, { ...own[0]!, total: own[0]!.total + 5 }, own[1]!]);
    expect(total).toMatchObject({ bills: 1 });
    expect(told.map(({ without }) => without)).toEqual(['overlap', 'overlap', null]);
  });

  test('amounts in cents are told as such, and nothing else is', () => {
    const { causes } = reconcile(own.map((bill) => ({ ...bill, total: bill.total * 100 })));
    expect(causes.map(({ code }) => code)).toEqual(['amounts-in-cents']);
  });

  test('cents are told where the tariff file is some per cent off, too, with what then is left', () => {
    const whole = own.map((bill) => ({ ...bill, total: Math.round(bill.total * 107) }));
    const { causes } = reconcile(whole);
    expect(causes.map(({ code }) => code)).toEqual(['amounts-in-cents']);
    expect(causes[0]!.message).toMatch(/107 times together.*look like cents.*[67]\.\d\d % above ours/);
    // Another price of energy is no cents: amounts with decimals are money.
    const dear = own.map((bill) => ({ ...bill, total: Math.round(bill.total * 107) + 0.37 }));
    expect(reconcile(dear).causes.map(({ code }) => code)).not.toContain('amounts-in-cents');
  });

  test('amounts with the sign of payments are told as such', () => {
    const { causes } = reconcile(own.map((bill) => ({ ...bill, total: -bill.total })));
    expect(causes.map(({ code }) => code)).toEqual(['amounts-negative']);
  });

  test('bills that cancel each other are asked for their days, and no other cause is named', () => {
    // What one bill has too much its neighbour has too little: a meter read later than the bill says.
    const moved = [9.13, -14.02, 11.48, -6.55, 3.2, -3.31, 7.7, -7.9, 5, -4.8, 6, -6].map((share) => share / 100);
    const mean = own.reduce((sum, bill) => sum + bill.total, 0) / own.length;
    const off = own.map((bill, k) => ({ ...bill, total: Math.round((bill.total + mean * moved[k]!) * 100) / 100 }));
    for (const bills of [off, off.slice(0, 4)]) {
      const { causes } = reconcile(bills);
      expect(causes.map(({ code }) => code)).toEqual(['misdated']);
      expect(causes[0]!.message).toContain('the days on which the meter was read');
    }
    // A charge that is missing never cancels.
    const charged = own.map((bill, k) => ({ ...bill, total: bill.total * 1.1 + k }));
    expect(reconcile(charged).causes.map(({ code }) => code)).not.toContain('misdated');
  });

  describe('bills of several months', () => {
    // 1 kWh an hour from 1 January 2025 in UTC: a month of 31 days is 744 kWh.
    const axis = makeAxis({ startEpochMs: Date.UTC(2025, 0, 1), stepMinutes: 60, intervals: 8760, zone: 'UTC' });
    const one = new Float64Array(8760).fill(1);
    const none = new Float64Array(8760);
    const flows = { importKwh: one, exportKwh: none };
    const chargedBy = (more: Record<string, unknown>) =>
      parseTariff({
        format: 'duskbank.tariff/1',
        name: 'Monthly',
        currency: 'EUR',
        fixed: [{ name: 'Standing charge', amount: 12, per: 'month' }],
        export: { kind: 'none' },
        ...more,
      });
    const flat = chargedBy({ windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }] });
    const besideOurs = (tariff: Tariff, start: string, end: string, total: number) =>
      reconcileBills(tariff, axis, {}, flows, [{ start, end, total }]);

    test('bear a charge a month for each of them', () => {
      // 59 days of 24 kWh at 0.25, twice 12; 365 days, twelve times 12.
      const two = besideOurs(flat, '2025-01-01', '2025-02-28', 59 * 24 * 0.25 + 24);
      expect(two).toMatchObject({ verdict: 'exact', causes: [] });
      const year = besideOurs(flat, '2025-01-01', '2025-12-31', 365 * 24 * 0.25 + 144);
      expect(year).toMatchObject({ verdict: 'exact', causes: [] });
      // A final bill of nine days is still of a month.
      const last = besideOurs(flat, '2025-12-23', '2025-12-31', 9 * 24 * 0.25 + 12);
      expect(last.verdict).toBe('exact');
    });

    test('count once where the tariff says that they are by the bill', () => {
      const byBill = chargedBy({
        windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }],
        fixed: [{ name: 'Standing charge', amount: 12, per: 'bill' }],
      });
      expect(besideOurs(byBill, '2025-01-01', '2025-02-28', 59 * 24 * 0.25 + 12).verdict).toBe('exact');
    });

    test('of no whole number of months bear a charge a month by their days', () => {
      // 45 days of 24 kWh at 0.25, and 45 days · 12 ÷ 365.25 of 12.
      const standing = 12 * ((45 * 12) / 365.25);
      const half = besideOurs(flat, '2025-01-01', '2025-02-14', 45 * 24 * 0.25 + standing);
      expect(half.verdict).toBe('exact');
      expect(half.bills[0]!.ours).toBeCloseTo(270 + 17.74, 6);
    });

    // Import of 1 kWh an hour but for one hour a month, that of its first day's noon: 2 kWh in January, 3 in February, ...
    const noon = one.slice();
    for (let month = 0; month < 12; month++)
      noon[(Date.UTC(2025, month, 1, 12) - Date.UTC(2025, 0, 1)) / 3600e3] = month + 2;
    const allYear = 8760 - 12 + 12 * 7.5;
    const withDemand = (more: object = {}) =>
      chargedBy({
        windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }],
        demand: [{ name: 'Power', pricePerKw: 9 }],
        ...more,
      });
    // Σ of 9 a kW over 2 ... 13 kW is 9 · 90; twelve times the highest would be 9 · 156.
    const yearOfBills = allYear * 0.25 + 144 + 9 * 90;
    const yearAsOne = allYear * 0.25 + 144 + 9 * 156;
    const year = { start: '2025-01-01', end: '2025-12-31' };
    const besideDemand = (tariff: Tariff, actual: readonly ActualBill[]) =>
      reconcileBills(tariff, axis, {}, { importKwh: noon, exportKwh: none }, actual);

    test('are the sum of their billing periods', () => {
      const found = besideDemand(withDemand(), [{ ...year, total: yearOfBills }]);
      expect(found).toMatchObject({ verdict: 'exact', causes: [], bills: [{ periods: 12 }] });
      expect(found.bills[0]!.ours).toBeCloseTo(yearOfBills, 6);
      expect(found.notes.join()).toMatch(/1 bill covers several billing periods.* the sum of their bills/);
    });

    test('of three months and one month stand side by side', () => {
      const ours = (from: number, to: number) =>
        billTariff(compileTariff(withDemand(), axis), { importKwh: noon, exportKwh: none })
          .periods.slice(from, to)
          .reduce((sum, period) => sum + period.total, 0);
      const found = besideDemand(withDemand(), [
        { start: '2025-01-01', end: '2025-03-31', total: ours(0, 3) },
        { start: '2025-04-01', end: '2025-04-30', total: ours(3, 4) },
        { start: '2025-07-01', end: '2025-09-30', total: ours(6, 9) + 1 },
      ]);
      expect(found.bills.map(({ periods }) => periods)).toEqual([3, 1, 3]);
      expect(found.bills.map(({ difference }) => difference)).toEqual([0, 0, 1]);
    });

    test('have a missing charge a bill counted by the period', () => {
      // 4.95 on each of twelve, and on each of three.
      const perMonth = billTariff(compileTariff(withDemand(), axis), { importKwh: noon, exportKwh: none }).periods;
      const sum = (from: number, to: number) => perMonth.slice(from, to).reduce((total, one) => total + one.total, 0);
      const { causes } = besideDemand(withDemand(), [
        { start: '2025-01-01', end: '2025-03-31', total: sum(0, 3) + 3 * 4.95 },
        { start: '2025-04-01', end: '2025-05-31', total: sum(3, 5) + 2 * 4.95 },
        { start: '2025-06-01', end: '2025-12-31', total: sum(5, 12) + 7 * 4.95 },
      ]);
      expect(causes).toMatchObject([{ code: 'fixed-per-bill', data: { amountPerBill: 4.95 } }]);
    });

    test('are one where nobody stated the periods and that agrees, and a note asks for the dates', () => {
      const found = besideDemand(withDemand(), [{ ...year, total: yearAsOne }]);
      expect(found).toMatchObject({ verdict: 'exact', bills: [{ periods: 1 }] });
      expect(found.notes.join()).toContain('as one billing period each: state their first days');
    });

    test('are not one where the tariff file says the periods: that is a question', () => {
      const stated = withDemand({ billing: { by: 'calendar-month' } });
      const found = besideDemand(stated, [{ ...year, total: yearAsOne }]);
      expect(found.verdict).toBe('off');
      expect(found.causes).toMatchObject([{ code: 'days-in-period', data: { why: 'one-period', periods: 12 } }]);
      expect(unmade(found.causes)).toEqual([]);
    });

    test('and what was carried before them go by the home’s own periods', () => {
      // Sold 100 kWh in the first hour of May, 50 more than it bought then: netted by the month in kWh, and carried.
      const netted = chargedBy({
        windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.25 }],
        fixed: [],
        export: { kind: 'net-metering', carry: 'kwh' },
      });
      const sold = new Float64Array(8760);
      const may = (Date.UTC(2025, 4, 1) - Date.UTC(2025, 0, 1)) / 3600e3;
      sold[may] = 1000;
      const flowsOfMay = { importKwh: one, exportKwh: sold };
      const { periods } = billTariff(compileTariff(netted, axis), flowsOfMay);
      // June: 720 kWh less the 256 that May left.
      expect(periods[5]!.total).toBeCloseTo((720 - 256) * 0.25, 6);
      const june = { start: '2025-06-01', end: '2025-06-30', total: periods[5]!.total };
      expect(reconcileBills(netted, axis, {}, flowsOfMay, [june]).verdict).toBe('exact');
    });

    test('have blocks and a minimum so many times as large', () => {
      const blocks = chargedBy({
        energy: [{ name: 'Energy', blocks: [{ upToKwh: 400, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }] }],
      });
      // 1,416 kWh: 800 at 0.20, 616 at 0.30, twice 12.
      expect(besideOurs(blocks, '2025-01-01', '2025-02-28', 160 + 184.8 + 24).verdict).toBe('exact');
      const least = chargedBy({
        windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.01 }],
        minimumBill: { amount: 40, per: 'month' },
        unusualPrices: true,
      });
      expect(besideOurs(least, '2025-01-01', '2025-02-28', 80).verdict).toBe('exact');
    });
  });
});

describe('what paper holds in place of a bill’s own charges', () => {
  const { bills, reconcile } = home('two-windows');
  const own = bills();
  const round = (amount: number) => Math.round(amount * 100) / 100;
  const totals = (change: (total: number, k: number) => number) =>
    own.map((bill, k) => ({ ...bill, total: round(change(bill.total, k)) }));
  const codes = (some: readonly ActualBill[]) => reconcile(some).causes.map(({ code }) => code);
  const mean = own.reduce((sum, { total }) => sum + total, 0) / own.length;
  /** The same home, but its use changes with the season, as bills of homes do. */
  const season = (k: number) => 1 + 0.3 * Math.cos((2 * Math.PI * k) / 12);

  test('the same amount each month is a plan’s instalment, set anew once or not', () => {
    for (const amounts of [() => mean, (_: number, k: number) => (k < 7 ? mean : mean + 12)]) {
      const { causes } = reconcile(totals(amounts));
      expect(causes.map(({ code }) => code)).toEqual(['instalments']);
      expect(causes[0]!.message).toMatch(/instalment plan.*Compare with the settlement/);
    }
    expect(codes(totals(() => mean).slice(0, 3))).toEqual(['instalments']);
  });

  test('a balance carried on is told from what a bill charges', () => {
    let open = 0;
    const all = totals((total) => (open = round(open + total)));
    expect(codes(all)).toEqual(['arrears']);
    // The fourth and the eighth weren't paid in time; the tariff file is a per cent off.
    const some = totals((total, k) => total * 1.01 + (k === 4 || k === 8 ? own[k - 1]!.total * 1.01 : 0));
    const { causes } = reconcile(some);
    expect(causes).toMatchObject([{ code: 'arrears', data: { bills: 2, start: own[4]!.start } }]);
    expect(causes[0]!.message).toContain(`of which ${some[3]!.total.toFixed(2)} is the one before`);
  });

  test('amounts of two months exchanged', () => {
    const of = (k: number) => (k === 2 ? own[9]!.total : k === 9 ? own[2]!.total : own[k]!.total);
    expect(reconcile(totals((_, k) => of(k) * 1.004)).causes).toMatchObject([
      { code: 'amounts-exchanged', data: { start: own[2]!.start, otherStart: own[9]!.start } },
    ]);
  });

  test('amounts of the bill before', () => {
    expect(reconcile(totals((_, k) => own[Math.max(0, k - 1)]!.total)).causes).toMatchObject([
      { code: 'amounts-moved', data: { from: 'before' } },
    ]);
  });

  test('amounts of two months, on each of their rows or half on each', () => {
    const pair = (k: number) => own[k - (k % 2)]!.total + own[k - (k % 2) + 1]!.total;
    expect(reconcile(totals((_, k) => pair(k))).causes).toMatchObject([
      { code: 'amounts-of-several', data: { rows: 2, parts: 1 } },
    ]);
    expect(reconcile(totals((_, k) => pair(k) / 2)).causes).toMatchObject([
      { code: 'amounts-of-several', data: { rows: 2, parts: 2 } },
    ]);
  });

  test('bills of two months with the days of the first', () => {
    const some = own
      .filter((_, k) => k % 2 === 0)
      .map((bill, j) => ({ ...bill, total: bill.total + own[2 * j + 1]!.total }));
    expect(codes(some)).toEqual(['days-between']);
  });

  test.each([
    [2, 'twice'],
    [3, '3 times'],
    [0.5, 'half of'],
  ])('all of it %d times', (times, words) => {
    const metered = reconcile(own).bills.map(({ importKwh }) => importKwh!);
    const { causes } = reconcile(totals((total) => total * times));
    expect(causes).toMatchObject([{ code: 'amounts-times', data: { factor: times, kwhToo: null } }]);
    expect(causes[0]!.message).toContain(words);
    const kwh = (factor: number) =>
      reconcile(own.map((bill, k) => ({ ...bill, total: bill.total * times, importKwh: metered[k]! * factor }))).causes;
    expect(kwh(times)[0]!.message).toContain('and so are their kWh');
    expect(kwh(1)[0]!.message).toContain('but their kWh aren’t');
  });

  test('some amounts with the sign of payments', () => {
    expect(reconcile(totals((total, k) => (k === 3 ? -total : total))).causes).toMatchObject([
      { code: 'amounts-negative', data: { bills: 1, ofBills: own.length, start: own[3]!.start } },
    ]);
  });

  test('payments beside charges are left out, with the same days or those of the payment', () => {
    for (const paid of [
      own.map((bill) => ({ ...bill, total: -bill.total })),
      own.map((bill) => ({ start: bill.end, end: bill.end, total: -bill.total })),
    ]) {
      const { verdict, total, notes } = reconcile([...own, ...paid]);
      expect(verdict).toBe('exact');
      expect(total!.bills).toBe(own.length);
      expect(notes.join()).toMatch(/payments, and left out/);
    }
    // A credit that no charge has the amount of is a bill.
    expect(reconcile([...own, { ...own[0]!, total: -7.31 }]).notes.join()).not.toMatch(/payment/);
  });

  test('items of one bill as rows are added up; two amounts for the same days are asked about', () => {
    const items = own.flatMap((bill) => [
      { ...bill, total: round(bill.total * 0.7) },
      { ...bill, total: 9.5 },
      { ...bill, total: round(bill.total - round(bill.total * 0.7) - 9.5) },
    ]);
    const { verdict, notes, bills: told } = reconcile(items);
    expect(verdict).toBe('exact');
    expect(told.length).toBe(own.length);
    expect(notes.join()).toContain('items of one bill and added up');
    const corrected = reconcile([...own, { ...own[0]!, total: own[0]!.total + 5 }]);
    expect(corrected.notes.join()).toContain('if one corrects the other');
    expect(corrected.total!.bills).toBe(own.length - 1);
  });

  test('one balance carried on is told where it is exact, and no other cause', () => {
    const { causes } = reconcile(totals((total, k) => total + (k === 3 ? own[2]!.total : 0)));
    expect(causes).toMatchObject([{ code: 'arrears', data: { bills: 1, start: own[3]!.start } }]);
    expect(causes[0]!.message).toContain(`the bill from ${own[3]!.start} is ours and the whole bill before: USD`);
    // A fee for it, or a part of it: not the bill before.
    for (const share of [1.015, 0.7])
      expect(codes(totals((total, k) => total + (k === 3 ? share * own[2]!.total : 0)))).toEqual(['unexplained']);
  });

  test('items and their total: the total is the bill', () => {
    const rows = own.flatMap((bill) => {
      const parts = [round(bill.total * 0.7), round(bill.total * 0.2)];
      return [...parts, round(bill.total - parts[0]! - parts[1]!), bill.total].map((total) => ({ ...bill, total }));
    });
    const { verdict, notes, bills: told } = reconcile(rows);
    expect([verdict, told.length]).toEqual(['exact', own.length]);
    expect(notes.join()).toContain('it is taken for the bill, and its items are left out');
    // With prices that are off it is the total all the same.
    expect(reconcile(rows.map((row) => ({ ...row, total: row.total * 1.3 }))).total!.share).toBeCloseTo(0.3, 3);
  });

  test('payments of a part, with the days of their charge', () => {
    const { verdict, notes } = reconcile(own.flatMap((bill) => [bill, { ...bill, total: -0.6 * mean }]));
    expect(verdict).toBe('exact');
    expect(notes.join()).toContain('read as payments of a part, and left out');
    // A credit with which the bill agrees is one of its items; beside a charge that doesn't agree it may be either.
    const credited = own.flatMap((bill) => [
      { ...bill, total: round(bill.total + 20) },
      { ...bill, total: -20 },
    ]);
    expect(reconcile(credited).notes.join()).toContain('items of one bill');
    const neither = reconcile(
      own.flatMap((bill) => [
        { ...bill, total: round(bill.total * 1.1) },
        { ...bill, total: -70 },
      ]),
    );
    expect(neither.notes.join()).toContain('leave out what was paid');
    expect(neither.notes.join()).not.toMatch(/overlap/);
  });

  describe('an amount below zero that is that of an item', () => {
    // A fixed charge of 9.50, and 9.50 off: the bill is the rest.
    const items = (kind?: 'payment' | 'credit') =>
      own.flatMap((bill): ActualBill[] => [
        { ...bill, total: round(bill.total - (kind === 'payment' ? 9.5 : 0)) },
        { ...bill, total: 9.5 },
        { ...bill, total: -9.5, ...(kind === undefined ? {} : { kind }) },
      ]);

    test('is taken off as a credit where it is called so, and left out where it is called a payment', () => {
      const credited = reconcile(items('credit'));
      expect([credited.verdict, credited.bills.length]).toEqual(['exact', own.length]);
      expect(credited.notes.join()).not.toMatch(/payment/);
      const paid = reconcile(items('payment'));
      expect([paid.verdict, paid.bills.length]).toEqual(['exact', own.length]);
      expect(paid.notes.join()).toContain(`${own.length} amounts below zero are called payments`);
    });

    test('is asked about where nothing calls it either', () => {
      const { total, notes } = reconcile(items());
      expect(total).toBeNull();
      expect(notes.join()).toContain(
        `-9.50 of ${own[0]!.start} is as much as an item beside it: a credit that cancels it, or its payment? Write "credit" in a column`,
      );
    });

    test('is no payment of that item in another month either', () => {
      const rows = own.flatMap((bill, k): ActualBill[] => [
        { ...bill, total: round(bill.total - (k === 5 ? 0.5 : 9.5)) },
        { ...bill, total: k === 5 ? 10 : 9.5 },
        ...(k === 5 ? [{ ...bill, total: -9.5 }] : []),
      ]);
      expect(reconcile(rows).verdict).toBe('exact');
    });

    test('pays a bill of several items by their sum, or each of them', () => {
      const parts = own.flatMap((bill) => [
        { ...bill, total: round(bill.total - 9.5) },
        { ...bill, total: 9.5 },
      ]);
      const whole = own.map((bill) => ({ start: bill.end, end: bill.end, total: -bill.total }));
      const each = parts.map((bill) => ({ start: bill.end, end: bill.end, total: -bill.total }));
      for (const paid of [whole, each]) expect(reconcile([...parts, ...paid]).verdict).toBe('exact');
    });

    test('is taken off by what its row says, whatever was reckoned: the difference is the finding', () => {
      const rows = own.flatMap((bill, k): ActualBill[] =>
        k % 3 === 0 ? [bill, { ...bill, end: bill.start, total: -7, kind: 'credit' }] : [bill],
      );
      const { bills, total, causes, notes } = reconcile(rows);
      expect(bills.map(({ actual }) => actual)).toEqual(
        own.map(({ total }, k) => (k % 3 === 0 ? round(total - 7) : total)),
      );
      expect(total!.bills).toBe(own.length);
      const count = own.filter((_, k) => k % 3 === 0).length;
      expect(causes).toMatchObject([
        { code: 'credits', data: { bills: count, ofBills: own.length, amount: 7 * count } },
      ]);
      expect(notes.join()).toContain(`${count} amounts below zero are called credits, such as -7.00`);
      // Prices that are off besides: the credits are no cause then, and are taken off all the same.
      const dearer = reconcile(rows.map((row) => (row.total > 0 ? { ...row, total: row.total * 1.3 } : row)));
      expect(dearer.total!.bills).toBe(own.length);
      expect(dearer.causes.map(({ code }) => code)).not.toContain('credits');
    });

    test('is offered as a payment only where that leaves one bill', () => {
      const [first, ...others] = own;
      const rows = [first!, { ...first!, total: 300 }, { ...first!, total: -300 }, ...others];
      const { notes } = reconcile(rows);
      expect(notes.join()).toContain('Write "credit" in a column of that row. If it was paid, leave that row out');
      // As it says, both ways.
      const credited = rows.map((bill): ActualBill => (bill.total === -300 ? { ...bill, kind: 'credit' } : bill));
      expect(reconcile(credited).verdict).toBe('exact');
      expect(reconcile(rows.filter(({ total }) => Math.abs(total) !== 300)).verdict).toBe('exact');
    });

    test('credits a whole bill only where that is said: then two amounts are asked about', () => {
      const rows = own.flatMap((bill): ActualBill[] => [bill, { ...bill, total: -bill.total, kind: 'credit' }]);
      expect(reconcile(rows).total).toBeNull();
    });
  });

  test('items of bills that print the day of the reading twice', () => {
    const items = own.flatMap((bill, k) =>
      [0.6, 0.4].map((share) => ({ ...bill, end: own[k + 1]?.start ?? '2027-01-01', total: bill.total * share })),
    );
    expect(reconcile(items.slice(0, -2)).verdict).toBe('exact');
  });

  test('energy in MWh is read as such', () => {
    const metered = reconcile(own).bills.map(({ importKwh }) => importKwh!);
    const { verdict, notes } = reconcile(own.map((bill, k) => ({ ...bill, importKwh: metered[k]! / 1000 })));
    expect(verdict).toBe('exact');
    expect(notes.join()).toContain('read as MWh');
  });

  test('a price that is wrong in a season isn’t taken for days of reading', () => {
    const { causes } = reconcile(totals((total, k) => total * season(k)));
    expect(causes).toMatchObject([{ code: 'unexplained' }]);
    expect(causes[0]!.message).toContain('The largest is that of the bill from');
  });

  test('what bills charge less isn’t said to be in the tariff file', () => {
    const { causes } = reconcile(totals((total) => total * 0.97));
    expect(causes).toMatchObject([{ code: 'tax' }]);
    expect(causes[0]!.message).toContain(
      '3.00 % of the whole bill wasn’t charged: a credit that the tariff file lacks',
    );
  });
});

test('a discount that is given twice, or charged instead, is told as its line', () => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const tariff = parseTariff({
    format: 'duskbank.tariff/1',
    name: 'T',
    currency: 'USD',
    energy: [{ name: 'Energy', pricePerKwh: 0.14 }],
    fixed: [{ name: 'Service', amount: 12 }],
    adjustments: [{ name: 'Loyalty', percent: -6, on: ['energy'] }],
    taxes: [{ name: 'Tax', percent: 5, on: ['energy', 'fixed'] }],
  });
  const flows = randomFlows(7, axis.intervals, 60);
  const { periods } = billTariff(compileTariff(tariff, axis), flows);
  for (const [more, words] of [
    [1, 'charged, or given, twice'],
    [-2, 'charged with the other sign'],
  ] as const) {
    const charged = periods.map(({ start, end, total, lines }) => ({
      start,
      end,
      total: total + more * lines.find(({ name }) => name === 'Loyalty')!.amount,
    }));
    const { causes } = reconcileBills(tariff, axis, {}, flows, charged);
    expect(causes).toMatchObject([{ code: 'line', data: { charge: 'Loyalty', times: 1 + more } }]);
    expect(causes[0]!.message).toContain(`the line "Loyalty" was ${words}`);
  }
});

describe('bills that all state so many times the kWh of the data', () => {
  const { bills, reconcile } = home('two-windows');
  const own = bills();
  const before = reconcile(own).bills.map(({ importKwh }) => importKwh!);
  const { bills: energyBills } = home('two-windows', (document) => {
    const text = JSON.stringify(document).replace(
      /"pricePerKwh":([\d.]+)/g,
      (_, price) => `"pricePerKwh":${price * 1.08}`,
    );
    return JSON.parse(text) as object;
  });

  test('are asked whether they are kVAh, and the money isn’t taken for a tax', () => {
    const charged = energyBills().map((bill, k) => ({ ...bill, importKwh: Math.round(before[k]! * 108) / 100 }));
    const { causes } = reconcile(charged);
    expect(causes).toMatchObject([{ code: 'energy', data: { why: 'times', bills: own.length } }]);
    expect(causes[0]!.message).toContain('are they kVAh (a power factor of 0.93)');
    expect(causes[0]!.message).toContain('write them 1.080 times as high');
  });

  test('and where the whole bill is so many times ours', () => {
    const charged = own.map((bill, k) => ({
      ...bill,
      total: Math.round(bill.total * 106) / 100,
      importKwh: before[k]! * 1.06,
    }));
    expect(reconcile(charged).causes).toMatchObject([{ code: 'energy', data: { why: 'times' } }]);
  });

  test('and where the money agrees all the same', () => {
    const { verdict, causes } = reconcile(own.map((bill, k) => ({ ...bill, importKwh: before[k]! * 0.9 })));
    expect(verdict).toBe('energy-differs');
    expect(causes[0]!.message).toContain('do the data hold what the bills charge');
  });
});

test('a per cent on the kWh of a tariff that bills kVA may be prices of a kVAh', () => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const tariffOf = (unit: 'kW' | 'kVA', times: number) =>
    parseTariff({
      format: 'duskbank.tariff/1',
      name: 'T',
      currency: 'INR',
      windows: [
        { name: 'evening', from: '18:00', to: '22:00', pricePerKwh: 8 * times },
        { name: 'rest', otherwise: true, pricePerKwh: 5 * times },
      ],
      fixed: [{ name: 'Service', amount: 120 }],
      demand: [{ name: 'Demand', pricePerKw: 90, unit }],
    });
  const flows = randomFlows(7, axis.intervals, axis.stepMinutes);
  for (const unit of ['kVA', 'kW'] as const) {
    const { periods } = billTariff(compileTariff(tariffOf(unit, 1.1), axis), flows);
    const charged = periods.map(({ start, end, total }) => ({ start, end, total }));
    const { causes } = reconcileBills(tariffOf(unit, 1), axis, {}, flows, charged);
    expect(causes).toMatchObject([{ code: 'tax-on-energy', data: { inKva: unit === 'kVA' } }]);
    expect(causes[0]!.message.includes('prices that are of a kVAh (a power factor of 0.91)')).toBe(unit === 'kVA');
  }
});

describe('what is told, entered as told, makes the bills agree', () => {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2026, 0, 1, 7),
    stepMinutes: 60,
    intervals: 8760,
    zone: 'America/Denver',
  });
  const flows = randomFlows(5, axis.intervals, axis.stepMinutes);
  const base = {
    format: 'duskbank.tariff/1',
    name: 'T',
    currency: 'USD',
    energy: [{ name: 'Energy', pricePerKwh: 0.14 }],
    fixed: [{ name: 'Service', amount: 9.5 }],
    taxes: [{ name: 'Tax', percent: 6 }],
  };
  const windows = {
    ...base,
    energy: undefined,
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.36 },
      { name: 'other', otherwise: true, pricePerKwh: 0.14 },
    ],
  };
  const shared = (key: string, entry: (data: Record<string, number>) => object) => ({ key, entry });
  const entries = {
    rider: shared('energy', ({ pricePerKwh }) => ({ name: 'New', pricePerKwh })),
    'fixed-per-bill': shared('fixed', ({ amountPerBill }) => ({ name: 'New', amount: amountPerBill, per: 'bill' })),
    'fixed-per-day': shared('fixed', ({ amountPerDay }) => ({ name: 'New', amount: amountPerDay, per: 'day' })),
    tax: shared('taxes', ({ share }) => ({ name: 'New', percent: 100 * share! })),
    'tax-on-energy': shared('adjustments', ({ share }) => ({ name: 'New', percent: 100 * share!, on: ['energy'] })),
  };
  test.each([
    ['rider', base, { pricePerKwh: 0.02 }],
    ['fixed-per-bill', base, { amountPerBill: 4.95 }],
    ['fixed-per-day', base, { amountPerDay: 0.31 }],
    ['tax', base, { share: 0.03 }],
    ['tax-on-energy', windows, { share: -0.2 }],
    ['tax-on-energy', windows, { share: 0.08 }],
  ] as const)('%s', (code, document, truth) => {
    const { key, entry } = entries[code];
    const written = (data: object) =>
      parseTariff(
        JSON.parse(
          JSON.stringify({
            ...document,
            [key]: [
              ...(((document as Record<string, unknown>)[key] as object[] | undefined) ?? []),
              entry(data as never),
            ],
          }),
        ),
      );
    const plain = parseTariff(JSON.parse(JSON.stringify(document)));
    const charged = billTariff(compileTariff(written(truth), axis), flows).periods.map(({ start, end, total }) => ({
      start,
      end,
      total,
    }));
    const { causes } = reconcileBills(plain, axis, {}, flows, charged);
    expect(causes).toMatchObject([{ code, data: truth }]);
    expect(reconcileBills(written(causes[0]!.data), axis, {}, flows, charged).verdict).toMatch(/^(?:exact|trust)$/);
    expect(unmade(causes)).toEqual([]);
  });
});
