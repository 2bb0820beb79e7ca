// Kept answers: see tests/support/kept.ts.
import { type ActualBill, billTariff, compileTariff, parseTariff, reconcileBills } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { keptEach } from '../../support/kept.ts';
import { randomFlows, type TariffFixture, tariffFixtures } from '../../support/tariff-fixtures.ts';

const DAY_MS = 86_400_000;
const cents = (money: number) => Math.round(money * 100) / 100;
const moved = (date: string, days: number) => new Date(Date.parse(date) + days * DAY_MS).toISOString().slice(0, 10);
const totals = (of: (total: number, k: number, bills: readonly Ours[]) => number) => (bills: readonly Ours[]) =>
  bills.map((bill, k) => ({ ...bill, total: cents(of(bill.total, k, bills)) }));
const energy = (of: (kwh: number, k: number) => number) => (bills: readonly Ours[]) =>
  bills.map((bill, k) => ({ ...bill, importKwh: of(bill.kwh, k) }));
const others = (k: number, first: number, rest: number) => (k === 0 ? first : rest);

type Ours = ActualBill & { readonly kwh: number };

/** What paper holds in place of our bills. Where a limit tells what it is taken for, there is one on either side of it. */
const PAPER: Record<string, (bills: readonly Ours[]) => readonly Ours[]> = {
  'as ours': totals((total) => total),
  'a cent off': totals((total) => total + 0.01),
  'two cents and a bit off': totals((total, k) => total + others(k, 0.03, 0.02)),
  'one far off': totals((total, k) => total + others(k, 37.41, 0)),
  'two a little off': totals((total, k) => (k < 2 ? total * 1.04 : total)),
  'in cents': totals((total) => total * 100),
  'in cents, prices near': totals((total) => total * 101.9),
  'in cents, prices not so near': totals((total) => total * 102.1),
  'in whole cents, prices near': totals((total) => Math.round(total * 149)),
  'in whole cents, prices not so near': totals((total) => Math.round(total * 151)),
  'with the other sign': totals((total) => -total),
  'one with the other sign': totals((total, k) => (k === 1 ? -1.49 * total : total)),
  'one with the other sign, farther': totals((total, k) => (k === 1 ? -1.51 * total : total)),
  twice: totals((total) => 2 * total),
  'three times, nearly': totals((total) => 3.05 * total),
  'three times, not so nearly': totals((total) => 3.07 * total),
  half: totals((total) => total / 2),
  'equal amounts': totals((_total, _k, bills) => bills.reduce((sum, bill) => sum + bill.total, 0) / bills.length),
  'equal amounts, then others': totals((total, k) => (k < 3 ? 80 : total + 11)),
  'with what the one before left': totals((total, k, bills) => total + (k > 0 ? bills[k - 1]!.total : 0)),
  'one with what the one before left': totals((total, k, bills) => total + (k === 2 ? (bills[1]?.total ?? 0) : 0)),
  exchanged: totals((total, k, bills) => (k < 2 ? (bills[1 - k]?.total ?? total) : total)),
  'moved on': totals((total, k, bills) => bills[k - 1]?.total ?? total),
  'moved back': totals((total, k, bills) => bills[k + 1]?.total ?? total),
  'of two, in halves': totals((_total, k, bills) => {
    const first = k - (k % 2);
    return (bills[first]!.total + (bills[first + 1]?.total ?? 0)) / 2;
  }),
  'each credited': (bills) => bills.map((bill) => ({ ...bill, total: cents(bill.total - 5), credits: -5 })),
  'paid in between': (bills) =>
    bills.flatMap((bill) => [bill, { ...bill, start: bill.end, total: -bill.total, kind: 'payment' as const }]),
  'paid in part': (bills) => bills.flatMap((bill) => [bill, { ...bill, total: cents(-0.26 * bill.total) }]),
  'paid in less than a quarter': (bills) =>
    bills.flatMap((bill) => [bill, { ...bill, total: cents(-0.24 * bill.total) }]),
  'credited in a row': (bills) => bills.flatMap((bill) => [bill, { ...bill, total: -6.5, kind: 'credit' as const }]),
  'one credited in a row of a day': (bills) => [
    ...bills,
    { ...bills.at(-1)!, start: bills.at(-1)!.end, total: -2.2, kind: 'credit' as const },
  ],
  'all of it credited': (bills) =>
    bills.flatMap((bill) => [bill, { ...bill, total: -bill.total, kind: 'credit' as const }]),
  'paid without a word': (bills) => bills.flatMap((bill) => [bill, { ...bill, total: -bill.total }]),
  'there twice': (bills) => bills.flatMap((bill) => [bill, bill]),
  'in two rows each': (bills) =>
    bills.flatMap((bill) => [
      { ...bill, total: cents(bill.total * 0.4) },
      { ...bill, total: cents(bill.total - cents(bill.total * 0.4)) },
    ]),
  'in three rows and their total': (bills) =>
    bills.flatMap((bill) => [
      ...[0.2, 0.3, 0.5].map((share) => ({ ...bill, total: cents(bill.total * share) })),
      { ...bill, total: [0.2, 0.3, 0.5].reduce((sum, share) => sum + cents(bill.total * share), 0) },
    ]),
  'with a total of all': (bills) => [
    ...bills,
    { ...bills.at(-1)!, start: bills[0]!.start, total: cents(bills.reduce((sum, bill) => sum + bill.total, 0)) },
  ],
  'a total of all alone': (bills) => [
    { ...bills.at(-1)!, start: bills[0]!.start, total: cents(bills.reduce((sum, bill) => sum + bill.total, 0)) },
  ],
  'ending where the next begins': (bills) => bills.map((bill) => ({ ...bill, end: moved(bill.end, 1) })),
  'a day later': (bills) => bills.map((b) => ({ ...b, start: moved(b.start, 1), end: moved(b.end, 1) })),
  'three days earlier': (bills) => bills.map((b) => ({ ...b, start: moved(b.start, -3), end: moved(b.end, -3) })),
  'the last two days left out': (bills) => bills.map((bill) => ({ ...bill, end: moved(bill.end, -2) })),
  'before the data': (bills) => bills.map((b) => ({ ...b, start: moved(b.start, -900), end: moved(b.end, -900) })),
  'one cut': (bills) => bills.map((bill, k) => (k === 0 ? { ...bill, start: moved(bill.start, -400) } : bill)),
  'energy as ours': energy((kwh) => kwh),
  'energy nearly ours': energy((kwh) => kwh * 1.004),
  'energy a little off': energy((kwh) => kwh * 1.006),
  'one energy off': energy((kwh, k) => others(k, kwh + 30, kwh)),
  'energy twice': energy((kwh) => kwh * 2),
  'energy in MWh': energy((kwh) => cents(kwh / 10) / 100),
  'energy in MWh, nearly': energy((kwh) => (kwh * 1.24) / 1000),
  'energy in MWh, not so nearly': energy((kwh) => (kwh * 1.26) / 1000),
  'more for more energy': (bills) =>
    bills.map((bill) => ({ ...bill, total: cents(bill.total * 1.3), importKwh: bill.kwh * 1.3 })),
};

type Document = Record<string, unknown>;
const more = (key: string, entry: object) => (document: Document) => ({
  ...document,
  [key]: [...((document[key] as object[] | undefined) ?? []), entry],
});

/** What the tariff file has otherwise than the bills were made by. */
const FILES: Record<string, (document: Document) => Document> = {
  'prices in cents': (document) => pricesTimes(document, 100),
  'prices of a MWh': (document) => pricesTimes(document, 1000),
  'prices in hundreds': (document) => pricesTimes(document, 0.01),
  'a rider more': more('energy', { name: 'Fund', pricePerKwh: 0.0125 }),
  'a tax more': more('taxes', { name: 'County tax', percent: 2.5 }),
  'a charge a bill more': more('fixed', { name: 'Paper', amount: 4.95, per: 'bill' }),
  'a charge a day more': more('fixed', { name: 'Meter', amount: 0.31, per: 'day' }),
  'two more': (document) =>
    more('fixed', { name: 'Paper', amount: 4.95, per: 'bill' })(more('taxes', { name: 'Tax', percent: 7 })(document)),
};

const ACCOUNTS = [{ baselineZone: 'coast' }, { programmes: ['helping-hand'] }, { programmes: [] }, { cycleDay: 12 }];

/** A document with all prices of a kWh multiplied. */
function pricesTimes(document: Document, factor: number): Document {
  const times = (price: number) => Number((price * factor).toPrecision(12));
  const walk = (part: unknown, isPrice: boolean): unknown => {
    if (typeof part === 'number') return isPrice ? times(part) : part;
    if (Array.isArray(part)) return part.map((entry) => walk(entry, isPrice));
    if (typeof part !== 'object' || part === null) return part;
    return Object.fromEntries(
      Object.entries(part).map(([name, entry]) => [name, walk(entry, isPrice || PRICES.has(name))]),
    );
  };
  return { ...(walk(document, false) as Document), unusualPrices: true };
}

const PRICES = new Set([
  'pricePerKwh',
  'byWindow',
  'pricesByHour',
  'adderPerKwh',
  'rebatePerKwh',
  'surplusPerKwh',
  'multiplier',
]);

/** Each bill of ours over whole periods, with what it was made of. */
function ours({ tariff, axis, options }: TariffFixture, flows: ReturnType<typeof randomFlows>): Ours[] {
  const compiled = compileTariff(tariff, axis, options);
  return billTariff(compiled, flows).periods.flatMap(({ start, end, total }, p) => {
    const period = compiled.periods[p]!;
    if (period.days !== period.fullDays) return [];
    const kwh = flows.importKwh.slice(period.first, period.end).reduce((sum, each) => sum + each, 0);
    return [{ start, end, total, kwh }];
  });
}

const ALL = tariffFixtures().map((fixture, k) => [fixture.name, fixture, k] as const);

/** Fixtures of all kinds, each with some forms of paper: which ones, its number says. */
test.each(ALL)('bills that differ from those of %s', async (_name, fixture, k) => {
  const { tariff, axis, options } = fixture;
  const flows = randomFlows(50 + k, axis.intervals, axis.stepMinutes);
  const bills = ours(fixture, flows);
  const calls: Record<string, () => unknown> = {};
  for (const [p, [paper, make]] of Object.entries(PAPER).entries())
    if (p % 6 === k % 6) calls[paper] = () => reconcileBills(tariff, axis, options, flows, make(bills));
  // Two forms at once, each with another one on each fixture.
  const forms = Object.entries(PAPER);
  for (let turn = 1; turn <= 5; turn++) {
    const [[one, first], [two, then]] = [
      forms[(7 * k + turn) % forms.length]!,
      forms[(3 * k + 11 * turn) % forms.length]!,
    ];
    calls[`${one}, then ${two}`] = () => reconcileBills(tariff, axis, options, flows, then(first(bills)));
  }
  // What the account says otherwise than the bills were made by.
  for (const account of ACCOUNTS)
    if (k % 2 === 0)
      calls[`an account of ${JSON.stringify(account)}`] = () =>
        reconcileBills(tariff, axis, { ...options, account: { ...options.account, ...account } }, flows, bills);
  for (const [f, [file, make]] of Object.entries(FILES).entries())
    if (f % 4 === k % 4 || f === 0)
      calls[`a file with ${file}`] = () =>
        reconcileBills(parseTariff(make(JSON.parse(JSON.stringify(tariff.document)))), axis, options, flows, bills);
  expect(await keptEach(calls)).toMatchSnapshot();
});

const PLAIN = ['two-windows', 'riders-and-taxes', 'baseline-blocks', 'demand-ratchet'];

test.each(ALL.filter(([name]) => PLAIN.includes(name)))('every form of paper on %s', async (_name, fixture, k) => {
  const { tariff, axis, options } = fixture;
  const flows = randomFlows(90 + k, axis.intervals, axis.stepMinutes);
  const bills = ours(fixture, flows);
  const calls = Object.fromEntries(
    Object.entries(PAPER).map(([paper, make]) => [
      paper,
      () => reconcileBills(tariff, axis, options, flows, make(bills)),
    ]),
  );
  expect(await keptEach(calls, 2)).toMatchSnapshot();
});
