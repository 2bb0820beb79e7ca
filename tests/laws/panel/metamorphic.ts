import { hold, none, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { InputError } from '@duskbank/core/input';
import { type LoadedSite, loadSite } from '@duskbank/core/site';
import { bill } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import {
  type Dice,
  diceOf,
  type GeneratedHome,
  type GeneratedSite,
  generateSite,
  hourlyTelling,
  intervalCsv,
  type Json,
  meteredColumns,
  retold,
  type Telling,
  tellings,
} from '../../support/panel/index.ts';

/** A law of changes: what it says of the home of a seed, in words where it is broken. Undefined: it says nothing of that home. */
export type Law = (seed: number) => Promise<string[] | undefined>;

const RULES = [hold, selfConsumption, windowFill];

/** What each rule saves, before any rounding, and without the energy stored at the start, which is rounded by itself. */
function savingsOf({ case: home }: LoadedSite): number[] {
  const without = evaluate(home, none, ['bill']).bill.unrounded;
  return RULES.map((rule) => {
    const { unrounded, startEnergy } = evaluate(home, rule, ['bill']).bill;
    return without - (unrounded - startEnergy);
  });
}

const load = (site: GeneratedSite) => loadSite(site.path, site.read);
const same = (a: number, b: number, size = 1) => Math.abs(a - b) <= 1e-8 * Math.max(1, Math.abs(size));

/** Bill by bill, as the meter read each way. */
const billsOf = (loaded: LoadedSite) => bill(loaded.pastOf(loaded.tariffs[0]!)).periods.map(({ total }) => total);

/** A home told in twelve ways and more has one bill, and one saving. */
export const oneBill: Law = async (seed) => {
  const site = generateSite(seed, { home: { days: 31 + (seed % 40) } });
  const base = await load(site);
  const bills = billsOf(base);
  const savings = savingsOf(base);
  const said: string[] = [];
  for (const { name, loaded, refused } of await toldAll(site, tellings(site.home))) {
    if (loaded === undefined) said.push(`${name}: refused, ${refused}`);
    else if (!billsOf(loaded).every((total, p) => same(total, bills[p]!, 1000)))
      said.push(`${name}: bills ${billsOf(loaded).join(' ')} in place of ${bills.join(' ')}`);
    else {
      const told = savingsOf(loaded);
      if (told.some((saving, k) => !same(saving, savings[k]!)))
        said.push(`${name}: savings ${told.join(' ')} in place of ${savings.join(' ')}`);
    }
  }
  return said;
};

/** Where each kWh has the price of its hour, quarters of an hour and hours have one bill. */
export const oneBillByTheHour: Law = async (seed) => {
  const site = generateSite(seed, {
    home: { days: 31 + (seed % 40), stepMinutes: seed % 2 === 0 ? 15 : 30 },
    tariff: { kind: 'plain' },
  });
  const hours = hourlyTelling(site.home);
  // A clock that changes by half an hour parts the hours of the clock from those of the meter; prices may be finer than hours.
  if (hours === undefined || site.home.zone === 'Australia/Lord_Howe') return undefined;
  if (JSON.stringify(site.tariff.document).includes('"series"')) return undefined;
  const bills = billsOf(await load(site));
  const [{ loaded, refused }] = (await toldAll(site, [hours])) as [Awaited<ReturnType<typeof toldAll>>[0]];
  if (loaded === undefined) return [`hours: refused, ${refused}`];
  const hourly = billsOf(loaded);
  return hourly.every((total, p) => same(total, bills[p]!, 1000))
    ? []
    : [`hours: bills ${hourly.join(' ')} in place of ${bills.join(' ')}`];
};

async function toldAll(site: GeneratedSite, told: readonly Telling[]) {
  const all: { name: string; loaded?: LoadedSite; refused?: string }[] = [];
  for (const { name, meter, files } of told)
    try {
      all.push({ name, loaded: await load(retold(site, { document: { meter }, files })) });
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      all.push({ name, refused: error.issues.map(({ code }) => code).join(', ') });
    }
  return all;
}

const MONEY = new Set([
  ...['pricePerKwh', 'adderPerKwh', 'rebatePerKwh', 'surplusPerKwh', 'amount', 'pricePerKw', 'pricePerKwDay'],
  ...['multiplier', 'carriedMoney'],
]);

/** Every amount of money in a document, twice. */
function doubled(value: unknown, key = ''): unknown {
  if (typeof value === 'number') return MONEY.has(key) ? 2 * value : value;
  if (Array.isArray(value)) return value.map((inner) => doubled(inner, key === 'pricesByHour' ? 'pricePerKwh' : ''));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([name, inner]) => [name, doubled(inner, key === 'byWindow' ? 'pricePerKwh' : name)]),
  );
}

/** Twice the prices, twice the savings. */
export const twicePrices: Law = async (seed) => {
  const site = generateSite(seed, { home: { days: 31 + (seed % 40) } });
  const document = doubled(site.tariff.document) as Json;
  // A series without a multiplier has 1.
  const twice = JSON.parse(JSON.stringify(document), (key, value) =>
    key === 'series' && value.multiplier === undefined ? { ...value, multiplier: 2 } : value,
  ) as Json;
  const account = doubled(site.tariff.account) as Json;
  const once = savingsOf(await load(site));
  const told = savingsOf(
    await load(retold(site, { document: Object.keys(account).length > 0 ? { account } : {}, tariff: twice })),
  );
  return told.every((saving, k) => same(saving, 2 * once[k]!, saving))
    ? []
    : [`savings ${told.join(' ')} in place of twice ${once.join(' ')}`];
};

/** A fixed charge more changes no saving, but where a minimum or carried credit stands between. */
export const fixedCharge: Law = async (seed) => {
  const site = generateSite(seed, { home: { days: 31 + (seed % 40) } });
  const { document } = site.tariff;
  if (document.minimumBill !== undefined || (document.export as Json | undefined)?.offsets === 'all') return undefined;
  const more = (of: Json): Json =>
    of.fixed === undefined ? of : { ...of, fixed: [...(of.fixed as Json[]), { name: 'One more', amount: 17.31 }] };
  const versions = ((document.versions ?? []) as Json[]).map(more);
  const tariff = { ...more(document), ...(versions.length > 0 ? { versions } : {}) };
  const before = savingsOf(await load(site));
  const after = savingsOf(await load(retold(site, { tariff })));
  return after.every((saving, k) => same(saving, before[k]!))
    ? []
    : [`savings ${after.join(' ')} in place of ${before.join(' ')}`];
};

/** What became of a number beside a column that contradicts the meter. */
export type Fate = 'stays' | 'withheld' | 'refused';

/**
 * A load column that contradicts import, export and solar can't change a number that is given: it stays to the last digit,
 * or is withheld, or the file is refused.
 */
export async function contradicted(seed: number): Promise<{ fate: Fate; said: string[] } | undefined> {
  const site = generateSite(seed, { home: { days: 31 + (seed % 40) } });
  // Buy-all bills the load itself, whichever column it comes from.
  if ((site.tariff.document.export as Json).kind === 'buy-all') return undefined;
  const dice = diceOf(seed, 'contradiction');
  const { what, loadKwh } = wrongLoad(dice, site.home);
  const files = { 'home.csv': intervalCsv(site.home, { ...meteredColumns(site.home), loadKwh }) };
  let loaded: LoadedSite;
  try {
    loaded = await load(retold(site, { files }));
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { fate: 'refused', said: [] };
  }
  const base = await load(site);
  const said: string[] = [];
  const bills = (of: LoadedSite) => JSON.stringify(billsOf(of));
  if (bills(loaded) !== bills(base)) said.push(`${what}: the bill of the past moved`);
  if (loaded.study.savingsWithheld !== undefined) return { fate: 'withheld', said };
  const saved = savingsOf(base);
  if (savingsOf(loaded).some((saving, k) => saving !== saved[k]!)) said.push(`${what}: a saving moved`);
  if (loaded.study.loadKnown) {
    const hours = (of: LoadedSite) => evaluate(of.case, hold, ['backupHours']).backupHours!.join();
    if (hours(loaded) !== hours(base)) said.push(`${what}: hours of backup moved`);
  }
  return { fate: 'stays', said };
}

function wrongLoad(dice: Dice, home: GeneratedHome): { what: string; loadKwh: Float64Array } {
  const { loadKwh, solarKwh, importKwh, intervals } = home;
  const at = (i: number) => ((i % intervals) + intervals) % intervals;
  const kwh = (of: (i: number) => number) =>
    Float64Array.from(loadKwh, (_, i) => Math.round(Math.max(0, of(i)) * 1000) / 1000);
  const factor = dice.pick([0.3, 0.9, 0.97, 1.02, 1.04, 1.1, 2]);
  const steps = dice.pick([-4, -1, 1, 2, 8]);
  return dice.pick([
    { what: `load × ${factor}`, loadKwh: kwh((i) => loadKwh[i]! * factor) },
    { what: `load ${steps} steps late`, loadKwh: kwh((i) => loadKwh[at(i - steps)]!) },
    { what: 'load without the solar that was used', loadKwh: kwh((i) => importKwh[i]!) },
    { what: 'load with the solar twice', loadKwh: kwh((i) => loadKwh[i]! + solarKwh[i]!) },
    { what: 'load of half the days', loadKwh: kwh((i) => (i < intervals / 2 ? loadKwh[i]! : 0)) },
    { what: 'load and noise', loadKwh: kwh((i) => loadKwh[i]! * (0.5 + ((i * 7919) % 1000) / 1000)) },
  ]);
}
