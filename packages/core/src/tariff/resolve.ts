import { type BillingRule, civilDayOf, type HolidayRule } from '../axis/index.ts';
import { type InputIssue, nearestName, showValue } from '../input/index.ts';
import { CURRENCY_CODES, currencyDecimals } from './currency.ts';
import { holidaySets } from './holiday-sets.ts';
import { coverageIssues, type DayKind, dayMaskOf, HOLIDAY_KIND, hourRule, minutesOf, monthMaskOf } from './hours.ts';
import type { TariffDocument, TariffVersionDocument } from './schema/tariff.ts';
import { asList, WEEKDAYS } from './schema/time.ts';
import type {
  Billing,
  Block,
  DemandCharge,
  EnergyCharge,
  EventRule,
  ExportRule,
  FixedCharge,
  PercentRule,
  Pricing,
  Rates,
  Tariff,
  WindowRule,
} from './tariff.ts';

type Path = readonly (string | number)[];
type RatesDocument = Omit<TariffVersionDocument, 'from' | 'note'>;
type Doc<Key extends keyof RatesDocument> = NonNullable<RatesDocument[Key]>;

/** The charge that the windows' own prices make. */
export const WINDOW_CHARGE = 'Energy';

/** Kinds of lines that a percentage or a minimum may name. */
const LINE_KINDS = ['all', 'energy', 'export', 'demand', 'fixed', 'rebate', 'adjustment', 'minimum', 'tax'];

/** Collects the faults of one file. */
class Faults {
  readonly issues: InputIssue[] = [];
  constructor(readonly file: string | undefined) {}

  add(code: string, path: Path, received: unknown, expected: string, hint?: string): void {
    this.issues.push({
      code,
      where: { file: this.file, path },
      received: typeof received === 'string' && received.startsWith('§') ? received.slice(1) : showValue(received),
      expected,
      ...(hint === undefined ? {} : { hint }),
    });
  }

  /** A name that should be in a list. */
  unknownName(code: string, path: Path, name: string, known: readonly string[], what: string): void {
    const near = nearestName(name, known);
    this.add(
      code,
      path,
      name,
      known.length === 0 ? `no name: the tariff has no ${what}` : `a ${what}: ${known.map((k) => `"${k}"`).join(', ')}`,
      near === undefined ? undefined : `did you mean "${near}"?`,
    );
  }
}

/** Civil day of "2026-03-31". */
export function civilDayOfDate(text: string): number {
  return civilDayOf(Number(text.slice(0, 4)), Number(text.slice(5, 7)), Number(text.slice(8, 10)));
}

/** Turns a document whose form is right into a tariff, and finds every fault of its sense. */
export function resolveTariff(
  document: TariffDocument,
  file: string | undefined,
): { tariff: Tariff; issues: InputIssue[] } {
  const faults = new Faults(file);
  if (!CURRENCY_CODES.includes(document.currency)) {
    const near = nearestName(document.currency, CURRENCY_CODES);
    faults.add(
      'unknown-currency',
      ['currency'],
      document.currency,
      'an ISO 4217 code such as "USD"',
      CURRENCY_CODES.includes(document.currency.toUpperCase())
        ? `write "${document.currency.toUpperCase()}"`
        : near === undefined
          ? undefined
          : `did you mean "${near}"?`,
    );
  }
  const decimals = currencyDecimals(document.currency);
  const versions: Rates[] = [];
  let merged: RatesDocument = document;
  let paths: Record<string, Path> = {};
  for (const key of Object.keys(document)) paths[key] = [key];
  const prefixed = (key: string): Path => paths[key] ?? [key];
  versions.push(resolveRates(merged, prefixed, Number.NEGATIVE_INFINITY, undefined, faults));
  let lastDay = Number.NEGATIVE_INFINITY;
  for (const [v, version] of (document.versions ?? []).entries()) {
    const { from, note, ...changes } = version;
    const fromDay = civilDayOfDate(from);
    if (fromDay <= lastDay)
      faults.add(
        'not-rising',
        ['versions', v, 'from'],
        from,
        'a date after the version before',
        'order versions by date',
      );
    lastDay = fromDay;
    merged = { ...merged, ...changes };
    paths = { ...paths };
    for (const key of Object.keys(changes)) paths[key] = ['versions', v, key];
    const before = faults.issues.length;
    versions.push(resolveRates(merged, (key) => paths[key] ?? [key], fromDay, note, faults));
    // A fault that an earlier version has told already, in a field that this one doesn't change.
    const fresh = faults.issues
      .splice(before)
      .filter((issue) => issue.where.path?.[0] === 'versions' || !faults.issues.some((old) => samePlace(old, issue)));
    faults.issues.push(...fresh);
  }
  const tariff: Tariff = {
    document,
    file,
    name: document.name,
    utility: document.utility,
    currency: document.currency,
    currencyDecimals: decimals,
    rounding: {
      at: document.rounding?.at ?? 'line',
      mode: document.rounding?.mode ?? 'half-up',
      decimals: document.rounding?.decimals ?? decimals,
      energyDecimals: document.rounding?.energyDecimals ?? 6,
    },
    billing: resolveBilling(document.billing, faults),
    versions,
    life: document.life ?? {},
  };
  return { tariff, issues: faults.issues };
}

function samePlace(a: InputIssue, b: InputIssue): boolean {
  return a.code === b.code && a.where.path?.join('/') === b.where.path?.join('/') && a.received === b.received;
}

function resolveBilling(billing: TariffDocument['billing'], faults: Faults): Billing {
  const by = billing?.by ?? 'calendar-month';
  let rule: BillingRule = { by: 'calendar-month' };
  if (by === 'cycle-day') {
    if (billing?.day === undefined)
      faults.add('missing', ['billing', 'day'], undefined, 'the day of the month, 1 … 31', 'add "day"');
    else rule = { by, day: billing.day };
  } else if (by === 'read-dates') {
    if (billing?.dates === undefined)
      faults.add('missing', ['billing', 'dates'], undefined, 'the first day of each bill', 'add "dates"');
    else rule = readDatesRule(billing.dates, ['billing', 'dates'], faults);
  }
  if (billing?.monthDecimals !== undefined && billing.monthDays === undefined)
    faults.add(
      'not-together',
      ['billing', 'monthDecimals'],
      billing.monthDecimals,
      '"monthDays" beside it',
      'add "monthDays"',
    );
  return { rule, monthDays: billing?.monthDays, monthDecimals: billing?.monthDecimals };
}

function readDatesRule(dates: readonly string[], path: Path, faults: Faults): BillingRule {
  const civilDays = dates.map(civilDayOfDate);
  for (let k = 1; k < civilDays.length; k++)
    if (civilDays[k]! <= civilDays[k - 1]!)
      faults.add('not-rising', [...path, k], dates[k], `a date after ${dates[k - 1]}`, 'order the dates');
  return { by: 'read-dates', civilDays };
}

function resolveRates(
  rates: RatesDocument,
  pathOf: (key: string) => Path,
  fromDay: number,
  note: string | undefined,
  faults: Faults,
): Rates {
  const holidays = (rates.holidays ?? []).flatMap(resolveHoliday);
  const { seasonNames, seasonOf } = resolveSeasons(rates.seasons, pathOf('seasons'), faults);
  const maskOf = (names: string | readonly string[] | undefined, path: Path): number => {
    const list = asList(names);
    if (list.length === 0) return 0x7fffffff;
    let mask = 0;
    for (const [k, name] of list.entries()) {
      const s = seasonNames.indexOf(name);
      if (s < 0 || rates.seasons === undefined)
        faults.unknownName(
          'unknown-season',
          Array.isArray(names) ? [...path, 'seasons', k] : [...path, 'seasons'],
          name,
          rates.seasons === undefined ? [] : seasonNames,
          'season',
        );
      else mask |= 1 << s;
    }
    return mask;
  };
  const days = dayKinds(seasonNames.length, seasonOf, holidays.length > 0);

  const resolveWindows = (windows: Doc<'windows'>, path: Path, priced: boolean): WindowRule[] => {
    const before = faults.issues.length;
    const resolved = windows.map((window, w): WindowRule => {
      const at = [...path, w];
      checkHours(window, at, holidays.length > 0, faults);
      if (window.otherwise !== undefined && (window.from !== undefined || window.to !== undefined))
        faults.add(
          'not-together',
          [...at, 'from'],
          window.from ?? window.to,
          'no hours beside "otherwise"',
          'remove "from" and "to", or "otherwise"',
        );
      if (window.pricePerKwh !== undefined && window.blocks !== undefined)
        faults.add(
          'not-together',
          [...at, 'blocks'],
          window.blocks,
          'either "pricePerKwh" or "blocks"',
          'remove one of them',
        );
      if (priced && window.pricePerKwh === undefined && window.blocks === undefined)
        faults.add('missing', [...at, 'pricePerKwh'], undefined, 'a price of a kWh in the window', 'add "pricePerKwh"');
      return {
        name: window.name,
        hours: hourRule(window, maskOf(window.seasons, at)),
        kind: window.kind,
        pricePerKwh: window.pricePerKwh,
        blocks:
          window.blocks === undefined
            ? undefined
            : resolveBlocks(window.blocks, [...at, 'blocks'], rates.baseline !== undefined, faults),
      };
    });
    // Wrong hours make gaps and overlaps of their own: tell those only once the hours are right.
    if (faults.issues.length === before)
      faults.issues.push(
        ...coverageIssues(
          resolved.map((w) => w.hours),
          resolved.map((w) => w.name),
          days,
          seasonNames,
          path,
          faults.file,
        ),
      );
    return resolved;
  };

  const windowsPath = pathOf('windows');
  const anyPriced = (rates.windows ?? []).some((w) => w.pricePerKwh !== undefined || w.blocks !== undefined);
  const windows: WindowRule[] =
    rates.windows === undefined
      ? [
          {
            name: 'all hours',
            hours: hourRule({}, 0x7fffffff),
            kind: undefined,
            pricePerKwh: undefined,
            blocks: undefined,
          },
        ]
      : resolveWindows(rates.windows, windowsPath, anyPriced);
  const windowNames = [...new Set(windows.map((w) => w.name))];

  const selectWindows = (names: string | readonly string[] | undefined, path: Path): readonly boolean[] | undefined => {
    const list = asList(names);
    if (list.length === 0) return undefined;
    for (const [k, name] of list.entries())
      if (!windowNames.includes(name) || rates.windows === undefined)
        faults.unknownName(
          'unknown-window',
          Array.isArray(names) ? [...path, 'inWindows', k] : [...path, 'inWindows'],
          name,
          rates.windows === undefined ? [] : windowNames,
          'window',
        );
    return windows.map((w) => list.includes(w.name));
  };

  const resolvePricing = (input: PricingInput, path: Path): Pricing => {
    const forms = (['pricePerKwh', 'byWindow', 'windows', 'table', 'blocks', 'series'] as const).filter(
      (form) => input[form] !== undefined,
    );
    if (forms.length !== 1) {
      const [first, second] = forms;
      if (first === undefined)
        faults.add(
          'missing',
          [...path, 'pricePerKwh'],
          undefined,
          'a price: one of pricePerKwh, byWindow, windows, table, blocks, series',
          'add "pricePerKwh"',
        );
      else
        faults.add(
          'not-together',
          [...path, second!],
          input[second!],
          `one form of price; "${first}" is there already`,
          'keep one, and make the other a charge of its own',
        );
    }
    if (input.resets !== undefined && input.blocks === undefined)
      faults.add('not-together', [...path, 'resets'], input.resets, '"blocks" beside it', 'remove "resets"');
    if (input.byWindow !== undefined) {
      if (rates.windows === undefined)
        faults.add(
          'not-together',
          [...path, 'byWindow'],
          input.byWindow,
          'a tariff with "windows"',
          'add "windows", or give "pricePerKwh"',
        );
      for (const name of Object.keys(input.byWindow))
        if (!windowNames.includes(name))
          faults.unknownName('unknown-window', [...path, 'byWindow', name], name, windowNames, 'window');
      for (const name of windowNames)
        if (input.byWindow[name] === undefined)
          faults.add(
            'missing',
            [...path, 'byWindow', name],
            undefined,
            'a price for each window',
            `add "${name}", 0 where it costs nothing`,
          );
      return { form: 'by-window', pricePerKwh: windows.map((w) => input.byWindow![w.name] ?? 0) };
    }
    if (input.windows !== undefined)
      return { form: 'windows', windows: resolveWindows(input.windows, [...path, 'windows'], true) };
    if (input.table !== undefined) return resolveTable(input.table, [...path, 'table'], days, faults);
    if (input.blocks !== undefined)
      return {
        form: 'blocks',
        blocks: resolveBlocks(input.blocks, [...path, 'blocks'], rates.baseline !== undefined, faults),
        resets: input.resets ?? 'billing-period',
      };
    if (input.series !== undefined) return { form: 'series', ...input.series };
    return { form: 'flat', pricePerKwh: input.pricePerKwh ?? 0 };
  };

  const energyPath = pathOf('energy');
  const energy: EnergyCharge[] = (rates.energy ?? []).map((charge, c) => {
    const path = [...energyPath, c];
    return {
      name: charge.name,
      supplier: charge.supplier,
      pricing: resolvePricing(charge, path),
      seasonMask: maskOf(charge.seasons, path),
      inWindows: selectWindows(charge.inWindows, path),
      nonBypassable: charge.nonBypassable === true,
      programme: charge.programme,
    };
  });
  if (anyPriced && energy.some((charge) => charge.name === WINDOW_CHARGE))
    faults.add(
      'duplicate-name',
      [...energyPath, energy.findIndex((c) => c.name === WINDOW_CHARGE), 'name'],
      WINDOW_CHARGE,
      'a name that the windows’ prices don’t bear already',
      'call it something else',
    );
  repeatedNames(
    energy.map((c) => `${c.name}|${c.seasonMask}|${c.programme}`),
    energy.map((c) => c.name),
    energyPath,
    faults,
  );
  if (!anyPriced && energy.length === 0)
    faults.add(
      'missing',
      rates.windows === undefined ? ['energy'] : [...windowsPath, 0, 'pricePerKwh'],
      undefined,
      'a price per kWh',
      rates.windows === undefined
        ? 'add "windows" with prices, or "energy"'
        : 'add "pricePerKwh" to each window, or "energy"',
    );

  const baselines = (rates.baseline ?? []).map((baseline, b) => ({
    kwhPerDay: baseline.kwhPerDay,
    seasonMask: maskOf(baseline.seasons, [...pathOf('baseline'), b]),
    zone: baseline.zone,
  }));
  const events = (rates.events ?? []).map((event, e) =>
    resolveEvent(event, [...pathOf('events'), e], anyPriced, faults),
  );
  const demand = (rates.demand ?? []).map((charge, d): DemandCharge => {
    const path = [...pathOf('demand'), d];
    checkHours(charge, path, holidays.length > 0, faults);
    return resolveDemand(charge, path, maskOf, selectWindows(charge.inWindows, path), faults);
  });
  repeatedNames(
    demand.map((c) => c.name),
    demand.map((c) => c.name),
    pathOf('demand'),
    faults,
  );
  const fixed = (rates.fixed ?? []).map((charge, f): FixedCharge => {
    const path = [...pathOf('fixed'), f];
    if ((charge.amount === undefined) === (charge.byServiceSize === undefined))
      faults.add(
        charge.amount === undefined ? 'missing' : 'not-together',
        [...path, charge.amount === undefined ? 'amount' : 'byServiceSize'],
        charge.byServiceSize,
        'either "amount" or "byServiceSize"',
        charge.amount === undefined ? 'add "amount"' : 'remove one of them',
      );
    return {
      name: charge.name,
      supplier: charge.supplier,
      amount: charge.amount,
      bySize:
        charge.byServiceSize === undefined
          ? undefined
          : risingSteps(charge.byServiceSize, 'upToAmps', [...path, 'byServiceSize'], faults),
      per: charge.per,
      seasonMask: maskOf(charge.seasons, path),
      programme: charge.programme,
    };
  });

  const known = [
    ...(anyPriced ? [WINDOW_CHARGE] : []),
    ...energy.map((c) => c.name),
    ...demand.map((c) => c.name),
    ...fixed.map((c) => c.name),
    ...events.map((e) => e.name),
  ];
  const suppliers = [...energy, ...demand, ...fixed].flatMap((c) => (c.supplier === undefined ? [] : [c.supplier]));
  const exportRule = resolveExport(rates.export, pathOf('export'), resolvePricing, faults);
  if (exportRule.kind !== 'none') known.push(exportRule.name);
  if (exportRule.kind === 'net-metering' && exportRule.within === 'period' && exportRule.carry !== 'money') {
    const several = energy.findIndex((c) => !c.nonBypassable && !['flat', 'blocks'].includes(c.pricing.form));
    const windowPrices = new Set(windows.map((w) => JSON.stringify([w.pricePerKwh, w.blocks])));
    if (several >= 0 || windowPrices.size > 1)
      faults.add(
        'several-prices',
        [...pathOf('export'), 'within'],
        'period',
        '"window": kWh of different prices can’t offset each other over the period',
        'write "within": "window", or "carry": "money" where credits are reckoned at the retail price',
      );
  }
  if (exportRule.kind === 'net-metering' && exportRule.carry !== 'money') {
    const series = energy.findIndex((c) => !c.nonBypassable && c.pricing.form === 'series');
    if (series >= 0)
      faults.add(
        'not-together',
        [...energyPath, series, 'series'],
        '§a price series',
        'no series under net metering in kWh',
        'use "net-billing" with the same series, or "carry": "money"',
      );
  }
  if (exportRule.kind === 'net-metering') {
    const daily = energy.findIndex(
      (c) => !c.nonBypassable && c.pricing.form === 'blocks' && c.pricing.resets === 'day',
    );
    if (daily >= 0)
      faults.add(
        'not-together',
        [...energyPath, daily, 'resets'],
        'day',
        'blocks of the billing period under net metering, which nets over it',
        'remove "resets", or mark the charge "nonBypassable"',
      );
  }
  const percents = (list: Doc<'taxes'> | undefined, key: 'adjustments' | 'taxes'): PercentRule[] =>
    (list ?? []).map((percent, p) => {
      const on = asList(percent.on);
      checkSelector(on, [...pathOf(key), p, 'on'], Array.isArray(percent.on), [...known, ...suppliers], faults);
      known.push(percent.name);
      return {
        name: percent.name,
        share: percent.percent / 100,
        percent: percent.percent,
        on,
        programme: percent.programme,
      };
    });
  const adjustments = percents(rates.adjustments, 'adjustments');
  let minimumBill: Rates['minimumBill'];
  if (rates.minimumBill !== undefined) {
    const { name, amount, per } = rates.minimumBill;
    const on = asList(rates.minimumBill.on);
    checkSelector(
      on,
      [...pathOf('minimumBill'), 'on'],
      Array.isArray(rates.minimumBill.on),
      [...known, ...suppliers],
      faults,
    );
    known.push(name);
    minimumBill = { name, amount, per, on };
  }
  const taxes = percents(rates.taxes, 'taxes');
  return {
    fromDay,
    note,
    holidays,
    seasonNames,
    seasonOf,
    windows,
    energy,
    baselines,
    events,
    demand,
    fixed,
    export: exportRule,
    adjustments,
    minimumBill,
    taxes,
  };
}

type PricingInput = Pick<
  Doc<'energy'>[number],
  'pricePerKwh' | 'byWindow' | 'windows' | 'table' | 'blocks' | 'series' | 'resets'
>;

function repeatedNames(keys: readonly string[], names: readonly string[], path: Path, faults: Faults): void {
  for (const [k, key] of keys.entries())
    if (keys.indexOf(key) < k)
      faults.add(
        'duplicate-name',
        [...path, k, 'name'],
        names[k],
        'a name that no other charge of the list bears',
        'call it something else, or give the two different seasons',
      );
}

function checkSelector(
  on: readonly string[],
  path: Path,
  isList: boolean,
  known: readonly string[],
  faults: Faults,
): void {
  for (const [k, name] of on.entries())
    if (!LINE_KINDS.includes(name) && !known.includes(name))
      faults.unknownName(
        'unknown-line',
        isList ? [...path, k] : path,
        name,
        [...LINE_KINDS, ...new Set(known)],
        'kind of line, supplier or line',
      );
}

function checkHours(
  input: { from?: string | undefined; to?: string | undefined; days?: unknown; daysOf?: string | undefined },
  path: Path,
  hasHolidays: boolean,
  faults: Faults,
): void {
  if ((input.from === undefined) !== (input.to === undefined))
    faults.add(
      'missing',
      [...path, input.from === undefined ? 'from' : 'to'],
      undefined,
      'both "from" and "to", or neither',
      input.from === undefined ? 'add "from"' : 'add "to"',
    );
  if (input.from === '24:00')
    faults.add('out-of-range', [...path, 'from'], input.from, 'a beginning from "00:00" to "23:59"', 'write "00:00"');
  if (!hasHolidays && asList(input.days as string | string[] | undefined).includes('holiday'))
    faults.add(
      'not-together',
      [...path, 'days'],
      input.days,
      '"holidays" in the tariff, where a window is for holidays',
      'add "holidays", such as ["us-six"]',
    );
}

/** The kinds of days that a tariff must have hours for. */
function dayKinds(seasons: number, seasonOf: Uint8Array, hasHolidays: boolean): DayKind[] {
  const kinds: DayKind[] = [];
  const seen = new Set<number>();
  for (let month = 1; month <= 12; month++)
    for (let day = 1; day <= 31; day++) {
      const season = seasonOf[month * 32 + day]!;
      if (season >= seasons || seen.has(month * 32 + season)) continue;
      seen.add(month * 32 + season);
      for (let kind = 0; kind <= (hasHolidays ? HOLIDAY_KIND : 6); kind++) {
        kinds.push({ season, month, kind, before: (kind + 6) % 7 });
        if (hasHolidays) kinds.push({ season, month, kind, before: kind === HOLIDAY_KIND ? 0 : HOLIDAY_KIND });
      }
    }
  return kinds;
}

const MONTH_DAYS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

function resolveSeasons(
  seasons: RatesDocument['seasons'],
  path: Path,
  faults: Faults,
): { seasonNames: string[]; seasonOf: Uint8Array } {
  const seasonOf = new Uint8Array(13 * 32);
  if (seasons === undefined) return { seasonNames: ['all year'], seasonOf };
  seasonOf.fill(255);
  const names = [...new Set(seasons.map((s) => s.name))];
  const owner = new Int16Array(13 * 32).fill(-1);
  let wrong = false;
  for (const [k, season] of seasons.entries()) {
    const hasDates = season.from !== undefined || season.to !== undefined;
    if (
      hasDates === (season.months !== undefined) ||
      (hasDates && (season.from === undefined || season.to === undefined))
    ) {
      wrong = true;
      const key = season.months !== undefined && hasDates ? 'months' : season.from === undefined ? 'from' : 'to';
      faults.add(
        season.months !== undefined && hasDates ? 'not-together' : 'missing',
        [...path, k, key],
        season[key],
        'either "from" and "to", or "months"',
        season.months !== undefined && hasDates ? 'remove one of them' : `add "${key}"`,
      );
      continue;
    }
    const months = season.months === undefined ? undefined : asList(season.months);
    const from = season.from === undefined ? 0 : Number(season.from.slice(0, 2)) * 32 + Number(season.from.slice(3));
    let to = season.to === undefined ? 0 : Number(season.to.slice(0, 2)) * 32 + Number(season.to.slice(3));
    // A season that ends on 28 February ends on the 29th in leap years.
    if (season.to === '02-28') to++;
    for (let month = 1; month <= 12; month++)
      for (let day = 1; day <= MONTH_DAYS[month - 1]!; day++) {
        const at = month * 32 + day;
        const inside =
          months !== undefined ? months.includes(month) : from <= to ? at >= from && at <= to : at >= from || at <= to;
        if (!inside) continue;
        if (owner[at]! >= 0 && owner[at] !== k && !wrong) {
          wrong = true;
          faults.add(
            'season-overlap',
            [...path, k, months === undefined ? 'from' : 'months'],
            `§"${season.name}" over "${seasons[owner[at]!]!.name}" on ${monthDay(at)}`,
            'each day of the year in exactly one season',
            'move an edge',
          );
        }
        owner[at] = k;
        seasonOf[at] = names.indexOf(season.name);
      }
  }
  if (!wrong)
    for (let month = 1; month <= 12; month++)
      for (let day = 1; day <= MONTH_DAYS[month - 1]!; day++)
        if (seasonOf[month * 32 + day] === 255) {
          faults.add(
            'season-missing',
            path,
            `§no season for ${monthDay(month * 32 + day)}`,
            'each day of the year in exactly one season',
            'widen a season, or add one',
          );
          return { seasonNames: names, seasonOf };
        }
  return { seasonNames: names, seasonOf };
}

function monthDay(at: number): string {
  return `${String(at >> 5).padStart(2, '0')}-${String(at & 31).padStart(2, '0')}`;
}

function resolveHoliday(holiday: Doc<'holidays'>[number]): readonly HolidayRule[] {
  if (typeof holiday === 'string') return holidaySets[holiday];
  const common = {
    name: holiday.name,
    observed: 'none' as const,
    ...(holiday.since === undefined ? {} : { sinceYear: holiday.since }),
    ...(holiday.until === undefined ? {} : { untilYear: holiday.until }),
  };
  const monthAndDay = (text: string) => ({ month: Number(text.slice(0, 2)), dayOfMonth: Number(text.slice(3)) });
  if ('date' in holiday)
    return [{ ...common, observed: holiday.observed, on: { kind: 'date', ...monthAndDay(holiday.date) } }];
  if ('nth' in holiday)
    return [
      {
        ...common,
        on: {
          kind: 'nth-weekday',
          month: holiday.month,
          weekday: WEEKDAYS.indexOf(holiday.weekday) + 1,
          nth: holiday.nth,
        },
      },
    ];
  if ('onOrBefore' in holiday || 'onOrAfter' in holiday) {
    const before = 'onOrBefore' in holiday;
    return [
      {
        ...common,
        on: {
          kind: 'weekday-near',
          weekday: WEEKDAYS.indexOf(holiday.weekday) + 1,
          side: before ? 'on-or-before' : 'on-or-after',
          ...monthAndDay(before ? holiday.onOrBefore : holiday.onOrAfter),
        },
      },
    ];
  }
  if ('daysAfterEaster' in holiday)
    return [{ ...common, on: { kind: 'easter', offsetDays: holiday.daysAfterEaster, church: holiday.church } }];
  return [{ ...common, on: { kind: 'days', civilDays: holiday.dates.map(civilDayOfDate) } }];
}

function resolveBlocks(
  blocks: NonNullable<Doc<'windows'>[number]['blocks']>,
  path: Path,
  hasBaseline: boolean,
  faults: Faults,
): Block[] {
  const resolved = blocks.map((block, b): Block => {
    const given = (['upToKwh', 'upToKwhPerDay', 'upToBaseline'] as const).filter((key) => block[key] !== undefined);
    const last = b === blocks.length - 1;
    if (last && given.length > 0)
      faults.add(
        'last-block',
        [...path, b, given[0]!],
        block[given[0]!],
        'no upper end in the last block',
        'remove it, or add a block for what is above',
      );
    if (!last && given.length === 0)
      faults.add(
        'missing',
        [...path, b, 'upToKwh'],
        undefined,
        'an upper end in every block but the last',
        'add "upToKwh"',
      );
    if (given.length > 1)
      faults.add(
        'not-together',
        [...path, b, given[1]!],
        block[given[1]!],
        `one upper end; "${given[0]}" is there already`,
        'remove one of them',
      );
    if (block.upToBaseline !== undefined && !hasBaseline)
      faults.add(
        'not-together',
        [...path, b, 'upToBaseline'],
        block.upToBaseline,
        '"baseline" in the tariff',
        'add "baseline": [{ "kwhPerDay": … }]',
      );
    const by = block.upToKwh !== undefined ? 'month' : block.upToKwhPerDay !== undefined ? 'day' : 'baseline';
    const value = block.upToKwh ?? block.upToKwhPerDay ?? block.upToBaseline;
    return { bound: value === undefined ? undefined : { by, value }, pricePerKwh: block.pricePerKwh };
  });
  for (let b = 1; b < resolved.length; b++) {
    const [lower, upper] = [resolved[b - 1]!.bound, resolved[b]!.bound];
    if (lower === undefined || upper === undefined) continue;
    const key = Object.keys(blocks[b]!).find((name) => name.startsWith('upTo'))!;
    if (lower.by !== upper.by)
      faults.add(
        'mixed-blocks',
        [...path, b, key],
        upper.value,
        'the same kind of upper end in all blocks',
        'give all in kWh, in kWh a day, or as multiples of the baseline',
      );
    else if (upper.value <= lower.value)
      faults.add(
        'not-rising',
        [...path, b, key],
        upper.value,
        `more than ${lower.value}`,
        'order blocks by their upper ends',
      );
  }
  return resolved;
}

function resolveTable(
  table: NonNullable<PricingInput['table']>,
  path: Path,
  days: readonly DayKind[],
  faults: Faults,
): Pricing {
  const rows = table.map((row) => ({
    monthMask: monthMaskOf(row.months),
    dayMask: dayMaskOf(row.days),
    pricesByHour: row.pricesByHour,
  }));
  const rules = rows.map((row) => ({
    seasonMask: 0x7fffffff,
    monthMask: row.monthMask,
    dayMask: row.dayMask,
    from: 0,
    to: 1440,
    byStartDay: false,
    otherwise: false,
  }));
  for (const issue of coverageIssues(
    rules,
    rows.map((_, r) => `row ${r + 1}`),
    days,
    ['all year'],
    path,
    faults.file,
  )) {
    const where = issue.where.path!.at(-1) === 'from' ? [...issue.where.path!.slice(0, -1), 'days'] : issue.where.path!;
    faults.issues.push({
      ...issue,
      where: { ...issue.where, path: where },
      expected: 'each month and kind of day in exactly one row',
    });
  }
  return { form: 'table', rows };
}

/** A fault unless just one of three fields is given; the first is the usual one. */
function exactlyOne<Key extends string>(
  document: { readonly [K in Key]?: unknown },
  keys: readonly [Key, Key, Key],
  path: Path,
  faults: Faults,
): void {
  const given = keys.filter((key) => document[key] !== undefined);
  if (given.length === 1) return;
  const [first, second, third] = keys;
  faults.add(
    given.length === 0 ? 'missing' : 'not-together',
    [...path, given[1] ?? first],
    given[1] === undefined ? undefined : document[given[1]],
    `one of "${first}", "${second}" and "${third}"`,
    given.length === 0 ? `add "${first}"` : 'keep one',
  );
}

function resolveEvent(event: Doc<'events'>[number], path: Path, anyPriced: boolean, faults: Faults): EventRule {
  exactlyOne(event, ['pricePerKwh', 'adderPerKwh', 'rebatePerKwh'], path, faults);
  if (event.pricePerKwh !== undefined && !anyPriced)
    faults.add(
      'not-together',
      [...path, 'pricePerKwh'],
      event.pricePerKwh,
      'windows with prices that the event replaces',
      'give "adderPerKwh" instead',
    );
  const [from, to] = [minutesOf(event.from), minutesOf(event.to)];
  if (to <= from)
    faults.add(
      'out-of-range',
      [...path, 'to'],
      event.to,
      `a time after ${event.from}, on the same day`,
      'split an event that goes on after midnight in two',
    );
  const baselines = [event.baselineKwh, event.baselineDays].filter((b) => b !== undefined).length;
  if (event.rebatePerKwh !== undefined && baselines !== 1)
    faults.add(
      baselines === 0 ? 'missing' : 'not-together',
      [...path, 'baselineDays'],
      event.baselineDays,
      'one of "baselineKwh" and "baselineDays" beside "rebatePerKwh"',
      baselines === 0 ? 'add "baselineDays": 5' : 'keep one',
    );
  if (event.rebatePerKwh === undefined && baselines > 0)
    faults.add(
      'not-together',
      [...path, event.baselineKwh === undefined ? 'baselineDays' : 'baselineKwh'],
      event.baselineKwh ?? event.baselineDays,
      'a baseline only beside "rebatePerKwh"',
      'remove it',
    );
  const civilDays = event.dates.map(civilDayOfDate);
  for (const [k, day] of civilDays.entries())
    if (civilDays.indexOf(day) < k)
      faults.add('duplicate-date', [...path, 'dates', k], event.dates[k], 'each date once', 'remove it');
  return {
    name: event.name,
    civilDays,
    from,
    to,
    effect:
      event.rebatePerKwh !== undefined
        ? {
            kind: 'rebate',
            pricePerKwh: event.rebatePerKwh,
            baselineKwh: event.baselineKwh,
            baselineDays: event.baselineDays,
          }
        : {
            kind: event.adderPerKwh !== undefined ? 'adder' : 'price',
            pricePerKwh: event.adderPerKwh ?? event.pricePerKwh ?? 0,
          },
  };
}

function resolveDemand(
  charge: Doc<'demand'>[number],
  path: Path,
  maskOf: (names: string | readonly string[] | undefined, path: Path) => number,
  inWindows: readonly boolean[] | undefined,
  faults: Faults,
): DemandCharge {
  exactlyOne(charge, ['pricePerKw', 'pricePerKwDay', 'steps'], path, faults);
  return {
    name: charge.name,
    supplier: charge.supplier,
    pricePerKw: charge.pricePerKw ?? charge.pricePerKwDay ?? 0,
    per: charge.pricePerKwDay === undefined ? 'month' : 'day',
    steps: charge.steps === undefined ? undefined : risingSteps(charge.steps, 'upToKw', [...path, 'steps'], faults),
    hours: hourRule(charge, maskOf(charge.seasons, path)),
    inWindows,
    averagingMinutes: charge.averagingMinutes,
    highestDays: charge.highestDays,
    minimumKw: charge.minimumKw ?? 0,
    contractShare: charge.contractShare ?? 0,
    ratchet:
      charge.ratchet === undefined
        ? undefined
        : {
            share: charge.ratchet.share,
            months: charge.ratchet.months,
            seasonMask: maskOf(charge.ratchet.seasons, [...path, 'ratchet']),
          },
    unit: charge.unit,
  };
}

/** Classes with rising upper ends, of which the last has none. */
function risingSteps<Key extends 'upToKw' | 'upToAmps'>(
  steps: readonly ({ readonly [key in Key]?: number | undefined } & { readonly amount: number })[],
  key: Key,
  path: Path,
  faults: Faults,
): ({ [key in Key]: number } & { amount: number })[] {
  let last = Number.NEGATIVE_INFINITY;
  return steps.map((step, s) => {
    const bound: number | undefined = step[key];
    if (s === steps.length - 1 && bound !== undefined)
      faults.add(
        'last-block',
        [...path, s, key],
        bound,
        'no upper end in the last class',
        'remove it, or add a class for what is above',
      );
    if (s < steps.length - 1 && bound === undefined)
      faults.add('missing', [...path, s, key], undefined, 'an upper end in every class but the last', `add "${key}"`);
    if (bound !== undefined && bound <= last)
      faults.add('not-rising', [...path, s, key], bound, `more than ${last}`, 'order classes by their upper ends');
    last = bound ?? last;
    return { [key]: bound ?? Number.POSITIVE_INFINITY, amount: step.amount } as { [key in Key]: number } & {
      amount: number;
    };
  });
}

function resolveExport(
  rule: RatesDocument['export'],
  path: Path,
  resolvePricing: (input: PricingInput, path: Path) => Pricing,
  faults: Faults,
): ExportRule {
  if (rule === undefined) return { kind: 'none', name: 'Export credit', limitKw: Number.POSITIVE_INFINITY };
  const limitKw = rule.limitKw ?? Number.POSITIVE_INFINITY;
  switch (rule.kind) {
    case 'none':
      return { kind: 'none', name: 'Export credit', limitKw };
    case 'buy-all':
      return { kind: 'buy-all', name: rule.name, limitKw, pricing: resolvePricing(rule, path) };
    case 'net-billing':
      if (rule.carry === 'none' && rule.trueUpMonth !== undefined)
        faults.add(
          'not-together',
          [...path, 'trueUpMonth'],
          rule.trueUpMonth,
          '"carry" beside it',
          'add "carry": "money"',
        );
      return {
        kind: 'net-billing',
        name: rule.name,
        limitKw,
        pricing: resolvePricing(rule, path),
        carry: rule.carry,
        offsets: rule.offsets,
        trueUpMonth: rule.trueUpMonth,
        settleShare: rule.settleShare,
      };
    case 'net-metering': {
      if (rule.carry === 'none' && rule.trueUpMonth !== undefined)
        faults.add(
          'not-together',
          [...path, 'trueUpMonth'],
          rule.trueUpMonth,
          '"carry" beside it',
          'add "carry": "kwh"',
        );
      if (rule.carry === 'money' && rule.surplusPerKwh !== 0)
        faults.add(
          'not-together',
          [...path, 'surplusPerKwh'],
          rule.surplusPerKwh,
          'no price of surplus kWh beside "carry": "money"',
          'use "settleShare"',
        );
      return {
        kind: 'net-metering',
        name: rule.name,
        limitKw,
        within: rule.within,
        carry: rule.carry,
        offsets: rule.offsets,
        trueUpMonth: rule.trueUpMonth,
        surplusPerKwh: rule.surplusPerKwh,
        settleShare: rule.settleShare,
      };
    }
  }
}
