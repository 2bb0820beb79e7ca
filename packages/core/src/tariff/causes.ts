import { civilDayOfDate } from '../axis/civil-day.ts';
import { CAUSE_WORDS, type Clause } from '../words/causes.ts';
import { type Fact, fact, type Where } from '../words/fact.ts';
import type { Account } from './account.ts';
import type { BillLine, PeriodBill } from './bill/result.ts';
import { roundest } from './roundest.ts';
import type { Tariff } from './tariff.ts';
import { programmesOf } from './warnings.ts';

/** A bill that the household got. */
export interface ActualBill {
  /** First and last day. */
  readonly start: string;
  readonly end: string;
  readonly total: number;
  /** Energy that it bills, where the household has it. */
  readonly importKwh?: number;
  /** What an amount below zero is, where its row says so. */
  readonly kind?: 'payment' | 'credit';
  /** What was credited on it, 0 or less, where its rows or a column say so: `total` is what is left. */
  readonly credits?: number;
}

/** A bill that the household got, and ours over the same days. */
export interface BillPair {
  readonly bill: ActualBill;
  readonly own: PeriodBill;
  /** Billing periods that ours is the sum of. */
  readonly periods: number;
}

/** Something that the file or the account may have wrong: bills are made anew to try it. */
export interface Change {
  readonly account?: Partial<Account>;
  /** Days by which every bill runs later than it states. */
  readonly shiftDays?: number;
  /** What every price per kWh is multiplied by. */
  readonly priceFactor?: number;
  readonly clause: Extract<Clause, { code: 'baseline' | 'programme' | 'days-in-period' | 'price-unit' }>;
}

/** One number that, times something of each bill, may give every difference. */
interface Candidate {
  readonly of: (pair: BillPair) => number;
  /** Whether it is the same on every bill, of however many days. */
  readonly perBill?: true;
  /** Whether it is a line of the tariff file. */
  readonly isLine?: true;
  readonly clause: (factor: number) => AmountClause;
  /** Of several pairs that fit, the one with the lowest sum of these is named: 0 for the commonest causes. */
  readonly distance: number;
  readonly plausible: (factor: number) => boolean;
  /** Decimals that such a number is likely to have, the fewest first. */
  readonly decimals: readonly number[];
}

/** A cause that is an amount: what a {@link Candidate} tells. */
type AmountClause = Exclude<Clause, Change['clause']>;

/** Between units that prices are written in: cents and dollars, of a MWh and of a kWh. */
const PRICE_FACTORS = [0.01, 0.001, 100, 1000];

/** What the file or the account may have wrong of a tariff. */
export function possibleChanges(tariff: Tariff, account: Account, pairs: readonly BillPair[]): Change[] {
  const changes: Change[] = [];
  const zones = new Set(tariff.versions.flatMap((rates) => rates.baselines.flatMap((b) => b.zone ?? [])));
  zones.delete(account.baselineZone ?? '');
  for (const baselineZone of zones)
    changes.push({ account: { baselineZone }, clause: { code: 'baseline', data: { zone: baselineZone } } });
  const programmes = programmesOf(tariff);
  const own = account.programmes ?? [];
  for (const programme of programmes) {
    const has = own.includes(programme);
    changes.push({
      account: { programmes: has ? own.filter((name) => name !== programme) : [...own, programme] },
      clause: { code: 'programme', data: { programme, billed: !has } },
    });
  }
  const charged = pairs.reduce((sum, { bill }) => sum + bill.total, 0);
  const reckoned = pairs.reduce((sum, { own }) => sum + own.total, 0);
  // Fixed charges hide a part of the factor: bills in the wrong unit are still far apart.
  if (charged > 0 && reckoned > 0 && Math.abs(Math.log(charged / reckoned)) > Math.log(1.5))
    for (const priceFactor of PRICE_FACTORS)
      if (priceFactor < 1 === charged < reckoned)
        changes.push({ priceFactor, clause: { code: 'price-unit', data: { priceFactor } } });
  for (const shiftDays of [-1, 1]) changes.push({ shiftDays, clause: { code: 'days-in-period', data: { shiftDays } } });
  return changes;
}

/** Tells charges apart, or their parts: by the fields of their lines, never by what the lines say. */
function keyOf(line: BillLine, part: string): string {
  return JSON.stringify([line.kind, line.supplier, line.charge, part]);
}

/** Energy that a bill charges, kWh. */
export function energyOf(bill: PeriodBill): number {
  // Several charges fall on the same kWh: the charge with the most kWh tells how many were billed.
  const byCharge = new Map<string, number>();
  for (const line of bill.lines)
    if (line.kind === 'energy' && line.quantity > 0) {
      const key = keyOf(line, '');
      byCharge.set(key, (byCharge.get(key) ?? 0) + line.quantity);
    }
  return Math.max(0, ...byCharge.values());
}

/** First to last day, both counted. */
export function daysOf(bill: { readonly start: string; readonly end: string }): number {
  return civilDayOfDate(bill.end) - civilDayOfDate(bill.start) + 1;
}

/** Money: one cent, and 0.001 for sums in binary. */
const EXACT = 0.011;
/** Money: two cents and 0.001. Bills are rounded line by line, and a sum of rounded lines is off by about that. */
const SLACK = 0.021;

/** Whether every bill agrees to the cent. */
export function agree(pairs: readonly BillPair[]): boolean {
  return pairs.every(({ bill, own }) => Math.abs(bill.total - own.total) <= EXACT);
}

/**
 * What explains every difference to within a cent or two: one cause where one does, else two together.
 *
 * Amounts can be chosen so that they fit a few bills by chance: a pair is named only where there are at least two bills
 * more than it has amounts to choose.
 *
 * @param under  the same bills with some changes; those that the data don't cover then are left out
 * @param entered the same bills with a missing charge written into the tariff file; undefined where it can't hold it
 * @param beyond money: differences, and amounts, of no more than this on each bill are not explained
 */
export function likelyCauses(
  pairs: readonly BillPair[],
  changes: readonly Change[],
  under: (changes: readonly Change[]) => readonly BillPair[],
  entered: Entered,
  currency: string,
  beyond: number,
): Fact[] {
  const candidates = candidatesOf(pairs, currency);
  const enough = (tried: readonly BillPair[]) => tried.length >= Math.max(1, pairs.length - 1);
  const changed = changes.map((change) => ({ change, pairs: under([change]) })).filter((c) => enough(c.pairs));
  const causes: Fact[] = [];
  const whole = changed.find((c) => agree(c.pairs));
  if (whole !== undefined) causes.push(wholeCause(whole.change.clause));
  // On one price for all hours a charge per kWh would fit as well, by that price again.
  if (whole?.change.clause.code === 'price-unit') return causes;
  if (pairs.every(({ bill, own }) => Math.abs(bill.total - own.total) <= beyond)) return causes;
  const single = bestSingle(pairs, candidates);
  if (single !== undefined && pairs.every((pair) => Math.abs(single.factor * single.candidate.of(pair)) <= beyond))
    return causes;
  const inKva = pairs.some(({ own }) => own.lines.some(({ unit }) => unit.includes('kVA')));
  if (single !== undefined) causes.push(amountCause(asEntered(pairs, single, entered), pairs.length, inKva));
  if (causes.length > 0) return causes;

  const fits: Fit[] = [];
  for (const [c, { change }] of changed.entries())
    for (const { change: other } of changed.slice(c + 1))
      if (other.clause.code !== change.clause.code && pairs.length >= 2) {
        const both = under([change, other]);
        if (enough(both) && agree(both))
          fits.push({ clauses: [change.clause, other.clause], distance: 0, restSquare: 0 });
      }
  for (const { change, pairs: tried } of changed) {
    if (tried.length < 3) continue;
    const fit = bestSingle(tried, candidatesOf(tried, currency));
    if (fit !== undefined)
      fits.push({
        clauses: [change.clause, fit.candidate.clause(fit.factor)],
        distance: 1 + fit.candidate.distance,
        restSquare: 0,
      });
  }
  if (pairs.length >= 4) fits.push(...pairsOf(pairs, candidates));
  fits.sort((a, b) => a.distance - b.distance || a.restSquare - b.restSquare);
  const [best, next] = fits;
  if (best === undefined) return [];
  const pair = fact(CAUSE_WORDS, 'pair', 'question', {
    causes: best.clauses,
    otherPairs: fits.length - 1,
    next: next?.clauses ?? [],
  });
  return [{ ...pair, code: best.clauses.map((clause) => clause.code).join('+') }];
}

/** Bills with a missing charge written into the tariff file. */
type Entered = (clause: Clause) => readonly BillPair[] | undefined;

/**
 * An amount as it is to be written into the tariff file: what this puts on it, as a tax, is part of the difference and not of the
 * amount. Told as it was found where the bills agree with that, or with nothing that is written so.
 */
function asEntered(
  pairs: readonly BillPair[],
  { candidate, factor }: { readonly candidate: Candidate; readonly factor: number },
  entered: Entered,
): AmountClause {
  const found = candidate.clause(factor);
  const agrees = (tried: readonly BillPair[] | undefined) =>
    tried?.length === pairs.length && tried.every(({ bill, own }) => Math.abs(bill.total - own.total) <= SLACK);
  const tried = entered(found);
  if (tried?.length !== pairs.length || agrees(tried)) return found;
  const off = pairs.map(({ bill, own }) => bill.total - own.total);
  const moved = tried.map(({ own }, k) => own.total - pairs[k]!.own.total);
  const value = (factor * dot(moved, off)) / dot(moved, moved);
  if (!Number.isFinite(value)) return found;
  for (const decimals of candidate.decimals) {
    const rounded = candidate.clause(Number(value.toFixed(decimals)));
    if (agrees(entered(rounded))) return { ...rounded, data: { ...rounded.data, withTaxes: factor } } as AmountClause;
  }
  return found;
}

/** A cause that makes every bill agree by itself, and the field of the site that it concerns. */
function wholeCause(clause: Change['clause']): Fact {
  const account = (field: keyof Account): Where => ({ path: ['account', field] });
  switch (clause.code) {
    case 'baseline':
      return fact(CAUSE_WORDS, 'baseline', 'question', clause.data, account('baselineZone'));
    case 'programme':
      return fact(CAUSE_WORDS, 'programme', 'question', clause.data, account('programmes'));
    case 'price-unit':
      return fact(CAUSE_WORDS, 'price-unit', 'question', clause.data);
    case 'days-in-period':
      return fact(CAUSE_WORDS, 'days-in-period', 'question', { why: 'shifted', ...clause.data });
  }
}

/** One amount that explains so many bills by itself. */
function amountCause({ code, data }: AmountClause, bills: number, inKva: boolean): Fact {
  const more = code === 'energy' ? { why: 'price' } : code === 'tax-on-energy' ? { inKva } : {};
  return fact(CAUSE_WORDS, code, 'question', { ...data, ...more, bills });
}

/** Two causes that give every difference, and what is left: Σ of squares, money². */
interface Fit {
  readonly clauses: readonly Clause[];
  readonly distance: number;
  readonly restSquare: number;
}

function candidatesOf(pairs: readonly BillPair[], currency: string): Candidate[] {
  const sumOf = (bill: PeriodBill, holds: (line: BillLine) => boolean) =>
    bill.lines.reduce((sum, line) => (holds(line) ? sum + line.amount : sum), 0);
  const any = () => true;
  const share = (factor: number) => Math.abs(factor) < 0.5;
  const candidates: Candidate[] = [
    {
      of: ({ periods }) => periods,
      perBill: true,
      clause: (f) => ({ code: 'fixed-per-bill', data: { amountPerBill: f, currency } }),
      distance: 0,
      plausible: any,
      decimals: MONEY,
    },
    {
      of: ({ own }) => daysOf(own),
      clause: (f) => ({ code: 'fixed-per-day', data: { amountPerDay: f, currency } }),
      distance: 1,
      plausible: any,
      decimals: MONEY,
    },
    {
      of: ({ own }) => energyOf(own),
      clause: (f) => ({ code: 'rider', data: { pricePerKwh: f, currency } }),
      distance: 0,
      plausible: any,
      decimals: MONEY,
    },
    {
      of: ({ own }) => own.total,
      clause: (f) => ({ code: 'tax', data: { share: f } }),
      distance: 0,
      plausible: share,
      decimals: SHARE,
    },
    {
      of: ({ own }) => sumOf(own, (line) => line.kind === 'energy'),
      clause: (f) => ({ code: 'tax-on-energy', data: { share: f } }),
      distance: 1,
      plausible: share,
      decimals: SHARE,
    },
  ];
  if (pairs.every(({ bill }) => bill.importKwh !== undefined))
    candidates.push({
      of: ({ bill, own }) => bill.importKwh! - energyOf(own),
      clause: (f) => ({ code: 'energy', data: { pricePerKwh: f, currency } }),
      distance: 1,
      plausible: (f) => f > 0,
      decimals: MONEY,
    });
  const lines = new Map(
    pairs.flatMap(({ own }) => own.lines.map((line) => [keyOf(line, line.part ?? ''), line] as const)),
  );
  for (const [key, { charge, part }] of lines)
    candidates.push({
      of: ({ own }) => sumOf(own, (line) => keyOf(line, line.part ?? '') === key),
      isLine: true,
      clause: (f) => ({ code: 'line', data: { charge, part: part ?? null, times: 1 + f } }),
      distance: 3,
      plausible: (f) => f > -1.01 || Math.abs(f + 2) < WHOLE_TIMES,
      decimals: SHARE,
    });
  return candidates;
}

interface Column {
  readonly candidate: Candidate;
  readonly x: readonly number[];
  readonly square: number;
}

/** Candidates that differ from bill to bill, or are a charge a bill: others can't be told from it. */
function columnsOf(pairs: readonly BillPair[], candidates: readonly Candidate[]): Column[] {
  return candidates.flatMap((candidate) => {
    const x = pairs.map((pair) => candidate.of(pair));
    const square = dot(x, x);
    const varied = Math.max(...x) - Math.min(...x) > 1e-9 || candidate.perBill === true;
    return square === 0 || (!varied && pairs.length > 1) ? [] : [{ candidate, x, square }];
  });
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((sum, value, k) => sum + value * b[k]!, 0);
}

const NEGLIGIBLE = 1e-5;
const MONEY = [2, 3, 4, 5];
const SHARE = [2, 3, 4, 5];

/** Times that a line left out, given twice or turned round was charged, beyond once; how far from them a fit may be. */
const TURNS = [-1, 1, -2];
const WHOLE_TIMES = 0.004;

function bestSingle(
  pairs: readonly BillPair[],
  candidates: readonly Candidate[],
): { candidate: Candidate; factor: number } | undefined {
  const y = pairs.map(({ bill, own }) => bill.total - own.total);
  const columns = columnsOf(pairs, candidates);
  const fitOf = (x: readonly number[]) => (f: number) => x.every((value, k) => Math.abs(y[k]! - f * value) <= SLACK);
  // A line of the tariff file that is charged twice, or not at all, says more than an amount that comes to the same.
  for (const { candidate, x, square } of columns)
    for (const turn of TURNS)
      if (candidate.isLine === true && Math.abs(dot(x, y) / square - turn) < WHOLE_TIMES && fitOf(x)(turn))
        return { candidate, factor: turn };
  for (const { candidate, x, square } of columns) {
    const factor = dot(x, y) / square;
    const fits = fitOf(x);
    if (Math.abs(factor) > NEGLIGIBLE && candidate.plausible(factor) && fits(factor))
      return { candidate, factor: roundest(factor, candidate.decimals, fits) };
  }
  return undefined;
}

/** Two candidates that together give every difference, by least squares. */
function pairsOf(pairs: readonly BillPair[], candidates: readonly Candidate[]): Fit[] {
  const y = pairs.map(({ bill, own }) => bill.total - own.total);
  const columns = columnsOf(pairs, candidates);
  const fits: Fit[] = [];
  for (const [c, a] of columns.entries())
    for (const b of columns.slice(c + 1)) {
      const ab = dot(a.x, b.x);
      const determinant = a.square * b.square - ab * ab;
      // Two that always move together can't be told apart.
      if (determinant < 1e-6 * a.square * b.square) continue;
      const ay = dot(a.x, y);
      const by = dot(b.x, y);
      let f = (ay * b.square - by * ab) / determinant;
      let g = (by * a.square - ay * ab) / determinant;
      if (!(a.candidate.plausible(f) && b.candidate.plausible(g))) continue;
      if (Math.abs(f) < NEGLIGIBLE || Math.abs(g) < NEGLIGIBLE) continue;
      const restOf = (p: number, q: number) => y.map((value, k) => value - p * a.x[k]! - q * b.x[k]!);
      const within = (p: number, q: number) => restOf(p, q).every((value) => Math.abs(value) <= SLACK);
      if (!within(f, g)) continue;
      const rest = restOf(f, g);
      // Round the second amount, fit the first to it, then round that.
      const firstFor = (q: number) => (ay - q * ab) / a.square;
      const round = roundest(g, b.candidate.decimals, (q) => within(firstFor(q), q));
      if (round !== g) [f, g] = [firstFor(round), round];
      f = roundest(f, a.candidate.decimals, (p) => within(p, g));
      // One thing too much and another too little is less likely than two of a kind.
      const mixed = f > 0 === g > 0 ? 0 : 3;
      fits.push({
        clauses: clausesOf(a.candidate, f, b.candidate, g),
        distance: 2 + a.candidate.distance + b.candidate.distance + mixed,
        restSquare: dot(rest, rest),
      });
    }
  return fits;
}

/** A percentage on the whole bill falls on a missing charge too: the charge is then told with it and without it. */
function clausesOf(a: Candidate, f: number, b: Candidate, g: number): Clause[] {
  const [one, other] = [a.clause(f), b.clause(g)];
  const taxed = one.code === 'rider' || one.code === 'fixed-per-bill' || one.code === 'fixed-per-day';
  if (other.code !== 'tax' || !taxed) return [one, other];
  return [one, { code: 'tax', data: { ...other.data, otherIfTaxed: f / (1 + g) } }];
}
