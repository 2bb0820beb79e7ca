import type { TariffDocument } from '@duskbank/core/tariff';
import { Decimal } from 'decimal.js';
import { DateTime } from 'luxon';

/**
 * A bill reckoned the slow way, to hold the engine's against: every interval is looked at by itself with a date
 * library, every number is a decimal. It reads the tariff file alone and shares no code with the engine.
 */

Decimal.set({ precision: 40 });
const D = (value: Decimal.Value) => new Decimal(value);
const ZERO = D(0);

type Rates = Omit<NonNullable<TariffDocument['versions']>[number], 'from' | 'note'>;
type Window = NonNullable<Rates['windows']>[number];
type Energy = NonNullable<Rates['energy']>[number];
type Block = NonNullable<Window['blocks']>[number];

export interface SlowAxis {
  startEpochMs: number;
  stepMinutes: number;
  intervals: number;
  zone: string;
}

export interface SlowAccount {
  readDates?: string[];
  cycleDay?: number;
  serviceAmps?: number;
  serviceKva?: number;
  contractKw?: number;
  powerFactor?: number;
  baselineZone?: string;
  programmes?: string[];
  earlierPeaksKw?: number[];
  carriedKwh?: number;
  carriedMoney?: number;
}

export interface SlowOptions {
  account?: SlowAccount;
  /** Hourly prices by file, the first at the axis' start. */
  series?: Record<string, readonly number[]>;
  /** Minutes looked at together; the tariff's clock times are multiples of it. */
  grain: number;
}

export interface SlowPeriod {
  start: string;
  end: string;
  lines: { kind: string; name: string; amount: Decimal }[];
  total: Decimal;
}

/** What a clock shows, remembered: fixtures look at the same hours again and again. */
interface ClockReading {
  date: string;
  month: number;
  year: number;
  minute: number;
  offset: number;
}
const readings = new Map<string, Map<number, ClockReading>>();
function readClock(zone: string, ms: number): ClockReading {
  let ofZone = readings.get(zone);
  if (ofZone === undefined) {
    ofZone = new Map();
    readings.set(zone, ofZone);
  }
  let reading = ofZone.get(ms);
  if (reading === undefined) {
    const time = DateTime.fromMillis(ms, { zone });
    reading = {
      date: iso(time),
      month: time.month,
      year: time.year,
      minute: time.hour * 60 + time.minute,
      offset: time.offset,
    };
    ofZone.set(ms, reading);
  }
  return reading;
}

const DAY_NAMES = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];
const list = <T>(value: T | readonly T[] | undefined): readonly T[] =>
  value === undefined ? [] : Array.isArray(value) ? value : [value as T];
const iso = (date: DateTime) => date.toFormat('yyyy-MM-dd');
const utc = (date: string) => DateTime.fromISO(date, { zone: 'utc' });
const daysBetween = (from: string, to: string) => Math.round(utc(to).diff(utc(from), 'days').days);
const plusDays = (date: string, days: number) => iso(utc(date).plus({ days }));

// ── holidays ─────────────────────────────────────────────────────────────────────────────────────────────────────

type Holiday = NonNullable<Rates['holidays']>[number];
const SIX: Holiday[] = [
  { name: 'a', date: '01-01', observed: 'sunday-to-monday' },
  { name: 'b', weekday: 'monday', nth: -1, month: 5 },
  { name: 'c', date: '07-04', observed: 'sunday-to-monday' },
  { name: 'd', weekday: 'monday', nth: 1, month: 9 },
  { name: 'e', weekday: 'thursday', nth: 4, month: 11 },
  { name: 'f', date: '12-25', observed: 'sunday-to-monday' },
] as Holiday[];

/** Butcher's rule for Easter Sunday, in its 1961 wording (Jones, General Astronomy). */
function easter(year: number): string {
  const a = year % 19;
  const b = Math.trunc(year / 100);
  const c = year % 100;
  const d = Math.trunc(b / 4);
  const e = b % 4;
  const f = Math.trunc((b + 8) / 25);
  const g = Math.trunc((b - f + 1) / 3);
  const h = (19 * a + b - d - g + 15) % 30;
  const i = Math.trunc(c / 4);
  const k = c % 4;
  const l = (32 + 2 * e + 2 * i - h - k) % 7;
  const m = Math.trunc((a + 11 * h + 22 * l) / 451);
  const n = h + l - 7 * m + 114;
  return iso(DateTime.utc(year, Math.trunc(n / 31), (n % 31) + 1));
}

function holidaysOf(rates: Rates, years: number[]): Set<string> {
  const dates = new Set<string>();
  const rules = list(rates.holidays).flatMap((h) => (h === 'us-six' ? SIX : [h])) as Exclude<Holiday, string>[];
  for (const year of years)
    for (const rule of rules) {
      if (('since' in rule && rule.since! > year) || ('until' in rule && rule.until! < year)) continue;
      if ('dates' in rule) for (const date of rule.dates) dates.add(date);
      else if ('daysAfterEaster' in rule) dates.add(plusDays(easter(year), rule.daysAfterEaster));
      else if ('nth' in rule) {
        const hits: string[] = [];
        for (let day = DateTime.utc(year, rule.month, 1); day.month === rule.month; day = day.plus({ days: 1 }))
          if (DAY_NAMES[day.weekday - 1] === rule.weekday) hits.push(iso(day));
        dates.add(rule.nth === -1 ? hits[hits.length - 1]! : hits[rule.nth - 1]!);
      } else if ('onOrBefore' in rule || 'onOrAfter' in rule) {
        let day = utc(`${year}-${'onOrBefore' in rule ? rule.onOrBefore : rule.onOrAfter}`);
        while (DAY_NAMES[day.weekday - 1] !== rule.weekday) day = day.plus({ days: 'onOrBefore' in rule ? -1 : 1 });
        dates.add(iso(day));
      } else {
        let day = utc(`${year}-${rule.date}`);
        const saturday = day.weekday === 6;
        const sunday = day.weekday === 7;
        if (rule.observed === 'nearest-weekday' && saturday) day = day.minus({ days: 1 });
        else if ((rule.observed === 'nearest-weekday' || rule.observed === 'sunday-to-monday') && sunday)
          day = day.plus({ days: 1 });
        else if (rule.observed === 'next-weekday') while (day.weekday > 5) day = day.plus({ days: 1 });
        dates.add(iso(day));
      }
    }
  return dates;
}

// ── where a minute stands ────────────────────────────────────────────────────────────────────────────────────────

interface Moment {
  date: string;
  month: number;
  minute: number;
  /** A day's name, or "holiday". */
  day: string;
  dayBefore: string;
  season: string;
}

function inDays(days: readonly string[], day: string): boolean {
  if (days.length === 0 || days.includes('all')) return true;
  if (day === 'holiday') return days.includes('holiday');
  return (
    days.includes(day) ||
    (days.includes('weekday') && DAY_NAMES.indexOf(day) < 5) ||
    (days.includes('weekend') && DAY_NAMES.indexOf(day) >= 5)
  );
}

const minutes = (clock: string) => Number(clock.split(':')[0]) * 60 + Number(clock.split(':')[1]);

type Hours = Pick<Window, 'seasons' | 'months' | 'days' | 'from' | 'to' | 'daysOf'>;

function holds(hours: Hours, at: Moment): boolean {
  if (hours.seasons !== undefined && !list(hours.seasons).includes(at.season)) return false;
  if (hours.months !== undefined && !list(hours.months).includes(at.month)) return false;
  const days = list(hours.days) as string[];
  if (hours.from === undefined) return inDays(days, at.day);
  const [from, to] = [minutes(hours.from), minutes(hours.to!)];
  if (from < to) return at.minute >= from && at.minute < to && inDays(days, at.day);
  if (at.minute >= from) return inDays(days, at.day);
  return at.minute < to && inDays(days, hours.daysOf === 'start' ? at.dayBefore : at.day);
}

function windowAt(windows: readonly Window[], at: Moment): Window {
  const found = windows.filter((w) => w.otherwise === undefined && holds(w, at));
  if (found.length === 0) return windows.find((w) => w.otherwise !== undefined && holds(w, at))!;
  return found[0]!;
}

function seasonOf(rates: Rates, monthDay: string): string {
  if (rates.seasons === undefined) return 'all year';
  for (const season of rates.seasons) {
    if (season.months !== undefined) {
      if (list(season.months).includes(Number(monthDay.slice(0, 2)))) return season.name;
    } else {
      const [from, to] = [season.from!, season.to === '02-28' ? '02-29' : season.to!];
      if (from <= to ? monthDay >= from && monthDay <= to : monthDay >= from || monthDay <= to) return season.name;
    }
  }
  throw new Error(`no season for ${monthDay}`);
}

// ── the year, interval by interval ───────────────────────────────────────────────────────────────────────────────

interface Part {
  weight: Decimal;
  moment: Moment;
  window: string;
  windowIndex: number;
  event: number;
}

interface Step {
  period: number;
  version: number;
  parts: Part[];
  /** The part with most of the interval. */
  main: Part;
  /** "2026-11-01 25 −420": the block of the demand average by its length in minutes. */
  block: (averaging: number) => string;
}

interface Period {
  start: string;
  end: string;
}

const ALL_HOURS: Window = { name: 'all hours' };

export function slowBiller(document: TariffDocument, axis: SlowAxis, options: SlowOptions) {
  const account = options.account ?? {};
  const versions: Rates[] = [document];
  const starts = ['0000-01-01'];
  for (const { from, note, ...changes } of document.versions ?? []) {
    versions.push({ ...versions[versions.length - 1]!, ...changes });
    starts.push(from);
  }
  const local = (ms: number) => readClock(axis.zone, ms);
  const firstYear = local(axis.startEpochMs).year;
  const lastYear = local(axis.startEpochMs + axis.intervals * axis.stepMinutes * 60_000).year;
  const years = Array.from({ length: lastYear - firstYear + 3 }, (_, k) => firstYear - 1 + k);
  const holidays = versions.map((rates) => holidaysOf(rates, years));
  const versionOn = (date: string) => starts.filter((from) => from <= date).length - 1;
  const dayName = (version: number, date: string) =>
    holidays[version]!.has(date) ? 'holiday' : DAY_NAMES[utc(date).weekday - 1]!;

  // Billing periods.
  const billing = document.billing;
  const periods: Period[] = [];
  const periodStart = (date: string): [string, string] => {
    const reads = account.readDates ?? (account.cycleDay === undefined ? billing?.dates : undefined);
    if (reads !== undefined) {
      const k = reads.filter((read) => read <= date).length - 1;
      return [reads[k]!, plusDays(reads[k + 1]!, -1)];
    }
    const cycle = account.cycleDay ?? billing?.day ?? 1;
    const day = utc(date);
    const at = (month: DateTime) => month.set({ day: Math.min(cycle, month.daysInMonth!) });
    const month = day.startOf('month');
    const begin = day >= at(month) ? month : month.minus({ months: 1 });
    return [iso(at(begin)), iso(at(begin.plus({ months: 1 })).minus({ days: 1 }))];
  };
  const moments = new Map<string, Moment>();
  const momentAt = (ms: number): Moment => {
    const { date, minute, month } = local(ms);
    const key = `${date} ${minute}`;
    let moment = moments.get(key);
    if (moment === undefined) {
      const version = versionOn(date);
      moment = {
        date,
        month,
        minute,
        day: dayName(version, date),
        dayBefore: dayName(version, plusDays(date, -1)),
        season: seasonOf(versions[version]!, date.slice(5)),
      };
      moments.set(key, moment);
    }
    return moment;
  };
  const eventAt = (rates: Rates, at: Moment) =>
    list(rates.events).findIndex(
      (e) => (e.dates as string[]).includes(at.date) && at.minute >= minutes(e.from) && at.minute < minutes(e.to),
    );

  const steps: Step[] = [];
  const dates = new Map<string, { intervals: number; period: number }>();
  for (let i = 0; i < axis.intervals; i++) {
    const ms = axis.startEpochMs + i * axis.stepMinutes * 60_000;
    const { date, minute, offset } = local(ms);
    if (periods.length === 0 || date > periods[periods.length - 1]!.end) {
      const [start, end] = periodStart(date);
      periods.push({ start, end });
    }
    const period = periods.length - 1;
    const day = dates.get(date) ?? { intervals: 0, period };
    day.intervals++;
    dates.set(date, day);
    const version = versionOn(date);
    const rates = versions[version]!;
    const windows = rates.windows ?? [ALL_HOURS];
    const parts: Part[] = [];
    const grains = Math.max(1, axis.stepMinutes / options.grain);
    for (let g = 0; g < grains; g++) {
      const moment = momentAt(ms + g * options.grain * 60_000);
      const window = windowAt(windows, moment);
      parts.push({
        weight: D(1).div(grains),
        moment,
        window: window.name,
        windowIndex: windows.indexOf(window),
        event: eventAt(rates, moment),
      });
    }
    steps.push({
      period,
      version,
      parts,
      main: mainPart(parts),
      block: (averaging) => `${date} ${Math.floor(minute / averaging)} ${offset}`,
    });
  }
  // A day counts where at least half of it is there.
  const covered = [...dates]
    .filter(([, day]) => day.intervals >= (12 * 60) / axis.stepMinutes)
    .map(([date, day]) => ({ date, period: day.period, version: versionOn(date) }));
  const daysIn = (
    period: number,
    version: number,
    seasons?: string | readonly string[],
    months?: number | readonly number[],
  ) =>
    covered.filter(
      (day) =>
        day.period === period &&
        day.version === version &&
        (seasons === undefined || list(seasons).includes(seasonOf(versions[version]!, day.date.slice(5)))) &&
        (months === undefined || list(months).includes(Number(day.date.slice(5, 7)))),
    );
  const monthShare = (period: number, days: number): Decimal => {
    if (billing?.monthDays === undefined) {
      const { start, end } = periods[period]!;
      const length = daysBetween(start, end) + 1;
      const months = Math.max(1, Math.round((12 * length) / 365.25));
      const whole = D(months).times('30.4375');
      if (length > 31 && D(length).minus(whole).abs().gt(5)) return D(days).div('30.4375');
      return D(days).times(months).div(length);
    }
    const share = D(days).div(billing.monthDays);
    return billing.monthDecimals === undefined ? share : share.toDecimalPlaces(billing.monthDecimals);
  };
  const lastDate = local(axis.startEpochMs + axis.intervals * axis.stepMinutes * 60_000 - 1);
  const lastDay = (period: number) => {
    const [end] = [periods[period]!.end, lastDate.date].sort() as [string, string];
    return { version: versionOn(end), season: seasonOf(versions[versionOn(end)]!, end.slice(5)) };
  };
  const versionsIn = (period: number) =>
    [...new Set(covered.filter((day) => day.period === period).map((day) => day.version))].sort();

  // ── one bill ──
  return (importKwh: ArrayLike<number>, exportKwh: ArrayLike<number>): { periods: SlowPeriod[]; total: Decimal } => {
    const rounding = document.rounding;
    const decimals =
      rounding?.decimals ?? ({ JPY: 0, VND: 0, KWD: 3 } as Record<string, number>)[document.currency] ?? 2;
    const mode = {
      'half-up': Decimal.ROUND_HALF_UP,
      'half-even': Decimal.ROUND_HALF_EVEN,
      down: Decimal.ROUND_DOWN,
      up: Decimal.ROUND_UP,
    }[rounding?.mode ?? 'half-up'];
    const at = rounding?.at ?? 'line';
    const round = (money: Decimal) => money.toDecimalPlaces(at === 'line' ? decimals : decimals + 6, mode);
    const quantityOf = (kwh: Decimal) =>
      at === 'never' ? kwh : kwh.toDecimalPlaces(rounding?.energyDecimals ?? 6, Decimal.ROUND_HALF_UP);

    interface Line {
      kind: string;
      name: string;
      supplier?: string | undefined;
      version: number;
      amount: Decimal;
    }
    const bills: Line[][] = periods.map(() => []);
    const sums = new Map<string, { line: Omit<Line, 'amount'>; period: number; kwh: Decimal; rate: Decimal }>();
    const money = new Map<string, { line: Omit<Line, 'amount'>; period: number; sum: Decimal }>();
    const addKwh = (period: number, line: Omit<Line, 'amount'>, label: string, kwh: Decimal, rate: Decimal) => {
      const key = [period, line.version, line.kind, line.name, label, rate].join('|');
      const entry = sums.get(key) ?? { line, period, kwh: ZERO, rate };
      entry.kwh = entry.kwh.plus(kwh);
      sums.set(key, entry);
    };
    const addMoney = (period: number, line: Omit<Line, 'amount'>, amount: Decimal) => {
      const key = [period, line.version, line.kind, line.name].join('|');
      const entry = money.get(key) ?? { line, period, sum: ZERO };
      entry.sum = entry.sum.plus(amount);
      money.set(key, entry);
    };

    /** The forms of price as a function of the moment. */
    interface Price {
      rate: Decimal;
      label: string;
      blocks?: { blocks: readonly Block[]; seasons: string | readonly string[] | undefined; daily: boolean };
      averaged?: true;
    }
    const windowPrice = (window: Window): Price => ({
      rate: D(window.pricePerKwh ?? window.blocks![0]!.pricePerKwh),
      label: window.name,
      ...(window.blocks === undefined
        ? {}
        : { blocks: { blocks: window.blocks, seasons: window.seasons, daily: false } }),
    });
    type Pricing = Pick<
      Energy,
      'pricePerKwh' | 'byWindow' | 'windows' | 'table' | 'blocks' | 'series' | 'resets' | 'seasons'
    >;
    const priceOf = (pricing: Pricing, part: Part, i: number): Price => {
      if (pricing.pricePerKwh !== undefined) return { rate: D(pricing.pricePerKwh), label: '' };
      if (pricing.byWindow !== undefined) return { rate: D(pricing.byWindow[part.window]!), label: part.window };
      if (pricing.windows !== undefined) return windowPrice(windowAt(pricing.windows, part.moment));
      if (pricing.table !== undefined) {
        const row = pricing.table.find(
          (r) =>
            (r.months === undefined || list(r.months).includes(part.moment.month)) &&
            inDays(list(r.days) as string[], part.moment.day),
        )!;
        return { rate: D(row.pricesByHour[Math.floor(part.moment.minute / 60)]!), label: '', averaged: true };
      }
      if (pricing.blocks !== undefined)
        return {
          rate: D(pricing.blocks[0]!.pricePerKwh),
          label: '',
          blocks: { blocks: pricing.blocks, seasons: pricing.seasons, daily: pricing.resets === 'day' },
        };
      const { file, multiplier, adderPerKwh } = pricing.series!;
      const hour = Math.floor((i * axis.stepMinutes) / 60);
      const price = D(options.series![file]![hour]!)
        .times(multiplier ?? 1)
        .plus(adderPerKwh ?? 0);
      return { rate: price, label: '', averaged: true };
    };

    interface Charge {
      line: Omit<Line, 'amount'>;
      flow: 'import' | 'export';
      gross: boolean;
      price: (part: Part, i: number) => Price | undefined;
    }
    const chargesOf = (version: number): Charge[] => {
      const rates = versions[version]!;
      const charges: Charge[] = [];
      const mine = (programme?: string) => programme === undefined || list(account.programmes).includes(programme);
      if (rates.windows?.some((w) => w.pricePerKwh !== undefined || w.blocks !== undefined))
        charges.push({
          line: { kind: 'energy', name: 'Energy', version },
          flow: 'import',
          gross: false,
          price: (part) => {
            const event = part.event < 0 ? undefined : rates.events![part.event]!;
            if (event?.pricePerKwh !== undefined) return { rate: D(event.pricePerKwh), label: event.name };
            return windowPrice(rates.windows![part.windowIndex]!);
          },
        });
      for (const charge of rates.energy ?? []) {
        if (!mine(charge.programme)) continue;
        charges.push({
          line: { kind: 'energy', name: charge.name, supplier: charge.supplier, version },
          flow: 'import',
          gross: charge.nonBypassable === true,
          price: (part, i) => {
            if (charge.seasons !== undefined && !list(charge.seasons).includes(part.moment.season)) return undefined;
            if (charge.inWindows !== undefined && !list(charge.inWindows).includes(part.window)) return undefined;
            return priceOf(charge, part, i);
          },
        });
      }
      for (const [e, event] of (rates.events ?? []).entries())
        if (event.adderPerKwh !== undefined)
          charges.push({
            line: { kind: 'energy', name: event.name, version },
            flow: 'import',
            gross: false,
            price: (part) => (part.event === e ? { rate: D(event.adderPerKwh!), label: '' } : undefined),
          });
      const rule = rates.export;
      if (rule !== undefined && (rule.kind === 'net-billing' || rule.kind === 'buy-all'))
        charges.push({
          line: { kind: 'export', name: rule.name ?? 'Export credit', version },
          flow: 'export',
          gross: true,
          price: (part, i) => priceOf(rule, part, i),
        });
      return charges;
    };
    const blockLimit = (
      block: Block,
      blocks: NonNullable<Price['blocks']>,
      version: number,
      period: number,
      date: string,
    ): Decimal => {
      const rates = versions[version]!;
      const baselineOn = (season: string) =>
        rates.baseline!.find(
          (b) =>
            (b.zone === undefined || b.zone === account.baselineZone) &&
            (b.seasons === undefined || list(b.seasons).includes(season)),
        )!.kwhPerDay;
      const days = blocks.daily ? [{ date }] : daysIn(period, version, blocks.seasons);
      if (block.upToKwh !== undefined)
        return blocks.daily ? D(block.upToKwh) : D(block.upToKwh).times(monthShare(period, days.length));
      if (block.upToKwhPerDay !== undefined) return D(block.upToKwhPerDay).times(days.length);
      if (block.upToBaseline !== undefined)
        return days
          .reduce((sum, day) => sum.plus(baselineOn(seasonOf(rates, day.date.slice(5)))), ZERO)
          .times(block.upToBaseline);
      return D(Number.POSITIVE_INFINITY);
    };

    const blockGroups = new Map<
      string,
      {
        charge: Charge;
        period: number;
        label: string;
        blocks: NonNullable<Price['blocks']>;
        date: string;
        kwh: Decimal;
      }
    >();
    const addBlocks = (charge: Charge, period: number, price: Price, date: string, kwh: Decimal) => {
      const { blocks } = price;
      const key = [
        period,
        charge.line.version,
        charge.line.name,
        price.label,
        JSON.stringify(blocks),
        blocks!.daily ? date : '',
      ].join('|');
      const group = blockGroups.get(key) ?? { charge, period, label: price.label, blocks: blocks!, date, kwh: ZERO };
      group.kwh = group.kwh.plus(kwh);
      blockGroups.set(key, group);
    };

    // Net metering: kWh of one price, window and season offset each other.
    interface Netting {
      period: number;
      version: number;
      label: string;
      net: Decimal;
      prices: { charge: Charge; price: Price }[];
      date: string;
    }
    const nettings = new Map<string, Netting>();

    const charges = versions.map((_, v) => chargesOf(v));
    for (let i = 0; i < steps.length; i++) {
      const step = steps[i]!;
      const rates = versions[step.version]!;
      const rule = rates.export;
      const netsKwh = rule?.kind === 'net-metering' && rule.carry !== 'money';
      const netsMoney = rule?.kind === 'net-metering' && rule.carry === 'money';
      const bought = D(importKwh[i]!);
      const sold = D(exportKwh[i]!);
      const netted: { charge: Charge; price: Price }[] = [];
      for (const charge of charges[step.version]!) {
        let kwh = charge.flow === 'export' ? sold : bought;
        if (netsMoney && !charge.gross) kwh = kwh.minus(sold);
        const main = charge.price(step.main, i);
        if (netsKwh && !charge.gross) {
          if (main !== undefined) netted.push({ charge, price: main });
          continue;
        }
        if (main?.blocks !== undefined) {
          addBlocks(charge, step.period, main, step.main.moment.date, kwh);
          continue;
        }
        for (const part of step.parts) {
          const price = charge.price(part, i);
          if (price === undefined) continue;
          const share = kwh.times(part.weight);
          const rate = charge.flow === 'export' ? price.rate.negated() : price.rate;
          if (price.averaged) addMoney(step.period, charge.line, share.times(rate));
          else addKwh(step.period, charge.line, price.label, share, rate);
        }
      }
      if (netsKwh) {
        // kWh belong to hours by name: windows of the tariff and of each charge, and each price of a table.
        const named = rule.within !== 'period';
        const hours = netted.map(({ price }) => (price.averaged ? `at ${price.rate}` : named ? price.label : ''));
        const label = [...new Set([named ? step.main.window : '', ...hours])].filter((name) => name !== '').join(', ');
        const key = [
          step.period,
          step.version,
          step.main.moment.season,
          label,
          ...netted.map((n) => `${n.charge.line.name} ${n.price.rate} ${n.price.label}`),
        ].join('|');
        const group = nettings.get(key) ?? {
          period: step.period,
          version: step.version,
          label,
          net: ZERO,
          prices: netted,
          date: step.main.moment.date,
        };
        group.net = group.net.plus(bought).minus(sold);
        nettings.set(key, group);
      }
    }
    // Month by month: a window's surplus waits in the bank until the window is back, or the bank is cashed.
    const bank = new Map<string, { kwh: Decimal; period: number; version: number }>();
    const groups = [...nettings.values()];
    if (groups.length > 0)
      bank.set(groups[0]!.label, { kwh: D(account.carriedKwh ?? 0), period: -1, version: groups[0]!.version });
    const keeps = (version: number) => {
      const rule = versions[version]!.export;
      return rule?.kind === 'net-metering' && rule.carry === 'kwh' ? rule : undefined;
    };
    periods.forEach((period, p) => {
      for (const group of groups.filter((g) => g.period === p)) {
        const net = group.net.minus(bank.get(group.label)?.kwh ?? ZERO);
        const due = Decimal.max(net, 0);
        for (const { charge, price } of group.prices) {
          if (price.averaged) addMoney(group.period, charge.line, due.times(price.rate));
          else if (price.blocks === undefined) addKwh(group.period, charge.line, price.label, due, price.rate);
          else addBlocks(charge, group.period, price, group.date, due);
        }
        bank.set(group.label, { kwh: Decimal.max(net.negated(), 0), period: p, version: group.version });
      }
      for (const [label, { kwh, period: since, version: own }] of bank) {
        if (since < 0) continue;
        const version = since === p || keeps(lastDay(p).version) === undefined ? own : lastDay(p).version;
        const rule = keeps(since === p ? own : lastDay(p).version);
        const goesOn =
          rule !== undefined &&
          p + 1 < periods.length &&
          utc(period.end).month !== rule.trueUpMonth &&
          keeps(versionOn(periods[p + 1]!.start)) !== undefined;
        if (goesOn) continue;
        bank.delete(label);
        const line = versions[version]!.export as Extract<Rates['export'], { kind: 'net-metering' }>;
        if (!kwh.isZero())
          addKwh(
            p,
            { kind: 'export', name: line.name ?? 'Export credit', version },
            `settled ${label}`,
            kwh,
            D(line.surplusPerKwh ?? 0).negated(),
          );
      }
    });
    for (const { charge, period, label, blocks, date, kwh } of blockGroups.values()) {
      let lower = ZERO;
      for (const [k, block] of blocks.blocks.entries()) {
        const upper = blockLimit(block, blocks, charge.line.version, period, date);
        const inside = Decimal.min(kwh, upper).minus(lower);
        lower = upper;
        const rate = charge.flow === 'export' ? D(block.pricePerKwh).negated() : D(block.pricePerKwh);
        if (inside.gt(0)) addKwh(period, charge.line, `${label} block ${k}`, inside, rate);
      }
    }
    for (const { line, period, kwh, rate } of sums.values())
      if (!kwh.isZero()) bills[period]!.push({ ...line, amount: round(quantityOf(kwh).times(rate)) });
    for (const { line, period, sum } of money.values()) bills[period]!.push({ ...line, amount: round(sum) });

    // ── demand ──
    const names = new Map<string, { version: number; charge: NonNullable<Rates['demand']>[number] }[]>();
    versions.forEach((rates, version) => {
      for (const charge of rates.demand ?? [])
        names.set(charge.name, [...(names.get(charge.name) ?? []), { version, charge }]);
    });
    for (const entries of names.values()) {
      const measured = periods.map((_, p) => {
        const byDay = new Map<string, Map<string, Decimal>>();
        steps.forEach((step, i) => {
          if (step.period !== p) return;
          const charge = entries.find((entry) => entry.version === step.version)?.charge;
          if (charge === undefined || !holds(charge, step.main.moment)) return;
          if (charge.inWindows !== undefined && !list(charge.inWindows).includes(step.main.window)) return;
          const averaging = Math.max(axis.stepMinutes, charge.averagingMinutes ?? 15);
          const blocks = byDay.get(step.parts[0]!.moment.date) ?? new Map<string, Decimal>();
          const key = step.block(averaging);
          blocks.set(key, (blocks.get(key) ?? ZERO).plus(D(importKwh[i]!).div(D(averaging).div(60))));
          byDay.set(step.parts[0]!.moment.date, blocks);
        });
        const peaks = [...byDay.values()]
          .map((blocks) => Decimal.max(...blocks.values()))
          .sort((a, b) => b.comparedTo(a));
        const top = peaks.slice(0, entries[0]!.charge.highestDays ?? 1);
        const kw = top.length === 0 ? ZERO : top.reduce((a, b) => a.plus(b)).div(top.length);
        return entries[0]!.charge.unit === 'kVA' ? kw.div(account.powerFactor ?? 1) : kw;
      });
      periods.forEach((_, p) => {
        const here = entries
          .map((entry) => ({
            ...entry,
            days: daysIn(p, entry.version, entry.charge.seasons, entry.charge.months).length,
          }))
          .filter((entry) => entry.days > 0);
        if (here.length === 0) return;
        const { charge } = here[here.length - 1]!;
        let kw = Decimal.max(
          measured[p]!,
          charge.minimumKw ?? 0,
          D(charge.contractShare ?? 0).times(account.contractKw ?? 0),
        );
        const { ratchet } = entries[entries.length - 1]!.charge;
        if (ratchet !== undefined) {
          const before: Decimal[] = [ZERO];
          for (let q = p - 1; q >= p - ratchet.months; q--) {
            if (q < 0) before.push(D(account.earlierPeaksKw?.[-1 - q] ?? 0));
            else if (ratchet.seasons === undefined || list(ratchet.seasons).includes(lastDay(q).season))
              before.push(measured[q]!);
          }
          kw = Decimal.max(kw, Decimal.max(...before).times(ratchet.share));
        }
        for (const { version, charge: own, days } of here) {
          const line = { kind: 'demand', name: own.name, supplier: own.supplier, version };
          const share = own.pricePerKwDay === undefined ? monthShare(p, days) : D(days);
          if (own.steps === undefined)
            bills[p]!.push({
              ...line,
              amount: round(
                quantityOf(kw)
                  .times(own.pricePerKw ?? own.pricePerKwDay!)
                  .times(share),
              ),
            });
          else {
            const step = own.steps.find((s) => s.upToKw === undefined || kw.toDecimalPlaces(9).lte(s.upToKw))!;
            bills[p]!.push({ ...line, amount: round(D(step.amount).times(share)) });
          }
        }
      });
    }

    // ── rebates ──
    versions.forEach((rates, version) => {
      const called = (rates.events ?? []).flatMap((e) => e.dates as string[]);
      for (const event of rates.events ?? []) {
        if (event.rebatePerKwh === undefined) continue;
        const usedOn = (date: string) => {
          let kwh: Decimal | undefined;
          steps.forEach((step, i) => {
            const { moment } = step.parts[0]!;
            if (moment.date === date && moment.minute >= minutes(event.from) && moment.minute < minutes(event.to))
              kwh = (kwh ?? ZERO).plus(importKwh[i]!);
          });
          return kwh;
        };
        const below = new Map<number, Decimal>();
        for (const date of event.dates as string[]) {
          const used = usedOn(date);
          if (used === undefined || versionOn(date) !== version) continue;
          let usual = D(event.baselineKwh ?? 0);
          if (event.baselineDays !== undefined) {
            const seen: Decimal[] = [];
            for (let back = 1; seen.length < event.baselineDays && back < 400; back++) {
              const day = plusDays(date, -back);
              const name = dayName(version, day);
              if (name === 'holiday' || DAY_NAMES.indexOf(name) >= 5 || called.includes(day)) continue;
              const kwh = usedOn(day);
              if (kwh === undefined) break;
              seen.push(kwh);
            }
            if (seen.length === 0) continue;
            usual = seen.reduce((a, b) => a.plus(b)).div(seen.length);
          }
          const period = dates.get(date)!.period;
          below.set(period, (below.get(period) ?? ZERO).plus(Decimal.max(0, usual.minus(used))));
        }
        for (const [p, kwh] of below)
          bills[p]!.push({
            kind: 'rebate',
            name: event.name,
            version,
            amount: round(quantityOf(kwh).times(event.rebatePerKwh).negated()),
          });
      }
    });

    // ── fixed charges, percentages, minimum, carried credit ──
    const mine = (programme?: string) => programme === undefined || list(account.programmes).includes(programme);
    const result = periods.map((period, p) => {
      const lines = bills[p]!;
      for (const version of versionsIn(p)) {
        for (const charge of versions[version]!.fixed ?? []) {
          if (!mine(charge.programme)) continue;
          const days = daysIn(p, version, charge.seasons).length;
          if (days === 0) continue;
          const rate =
            charge.byServiceSize?.find((s) => s.upToAmps === undefined || account.serviceAmps! <= s.upToAmps)?.amount ??
            charge.amount!;
          const last = lastDay(p);
          const quantity = {
            day: D(days),
            year: D(days).div(365),
            month: monthShare(p, days),
            'kva-month': monthShare(p, days).times(account.serviceKva ?? 0),
            bill: D(
              last.version === version && (charge.seasons === undefined || list(charge.seasons).includes(last.season))
                ? 1
                : 0,
            ),
          }[charge.per ?? 'month'];
          lines.push({
            kind: 'fixed',
            name: charge.name,
            supplier: charge.supplier,
            version,
            amount: round(quantity.times(rate)),
          });
        }
      }
      // ── credits for using so much, of the version on the last day ──
      for (const credit of versions[lastDay(p).version]!.usageCredits ?? []) {
        let kwh = ZERO;
        steps.forEach((step, i) => {
          if (step.period === p) kwh = kwh.plus(importKwh[i]!);
        });
        if (kwh.gte(credit.leastKwh) && (credit.belowKwh === undefined || kwh.lt(credit.belowKwh)))
          lines.push({
            kind: 'rebate',
            name: credit.name,
            supplier: credit.supplier,
            version: lastDay(p).version,
            amount: round(D(credit.amount).negated()),
          });
      }
      const selected = (on: readonly string[], line: Line) =>
        on.some((name) => name === 'all' || name === line.kind || name === line.name || name === line.supplier);
      const sumOn = (on: readonly string[], version: number) =>
        lines
          .filter((line) => line.version === version && selected(on, line))
          .reduce((sum, line) => sum.plus(line.amount), ZERO);
      const percents = (kind: 'adjustment' | 'tax') => {
        for (const version of versionsIn(p))
          for (const rule of (kind === 'tax' ? versions[version]!.taxes : versions[version]!.adjustments) ?? []) {
            if (!mine(rule.programme)) continue;
            const base = sumOn(rule.on === undefined ? ['all'] : list(rule.on), version);
            lines.push({ kind, name: rule.name, version, amount: round(base.times(rule.percent).div(100)) });
          }
      };
      percents('adjustment');
      let least = ZERO;
      let counted = ZERO;
      let minimumVersion = -1;
      for (const version of versionsIn(p)) {
        const rule = versions[version]!.minimumBill;
        if (rule === undefined) continue;
        minimumVersion = version;
        const days = daysIn(p, version).length;
        const share = { day: D(days), month: monthShare(p, days), bill: D(lastDay(p).version === version ? 1 : 0) }[
          rule.per ?? 'month'
        ];
        least = least.plus(round(share.times(rule.amount)));
        counted = counted.plus(sumOn(rule.on === undefined ? ['all'] : list(rule.on), version));
      }
      if (minimumVersion >= 0 && counted.lt(least))
        lines.push({
          kind: 'minimum',
          name: versions[minimumVersion]!.minimumBill!.name ?? 'Minimum bill',
          version: minimumVersion,
          amount: least.minus(counted),
        });
      percents('tax');
      return { period, lines };
    });
    let credit = D(account.carriedMoney ?? 0);
    const out = result.map(({ period, lines }, p): SlowPeriod => {
      const rule = versions[lastDay(p).version]!.export;
      if (rule !== undefined && 'carry' in rule && rule.carry === 'money') {
        // Credit pays energy and export lines, or everything.
        const countedLines =
          rule.offsets === 'all' ? lines : lines.filter((l) => ['energy', 'export'].includes(l.kind));
        const counted = countedLines.reduce((sum, line) => sum.plus(line.amount), ZERO);
        const due = Decimal.max(0, counted.minus(credit));
        let left = Decimal.max(0, credit.minus(counted));
        lines.push({ kind: 'carry', name: 'Credit', version: 0, amount: due.minus(counted) });
        if (p + 1 === periods.length || utc(period.end).month === rule.trueUpMonth) {
          lines.push({
            kind: 'carry',
            name: 'Settled',
            version: 0,
            amount: round(left.times(rule.settleShare ?? 0)).negated(),
          });
          left = ZERO;
        }
        credit = left;
      }
      let total = lines.reduce((sum, line) => sum.plus(line.amount), ZERO);
      if (at === 'bill') total = total.toDecimalPlaces(decimals, mode);
      return { start: period.start, end: period.end, lines: lines.filter((l) => !l.amount.isZero()), total };
    });
    return { periods: out, total: out.reduce((sum, bill) => sum.plus(bill.total), ZERO) };
  };
}

/** The part that has most of the interval; the earlier one where two have as much. */
function mainPart(parts: Part[]): Part {
  const minutesOf = new Map<string, { part: Part; weight: Decimal }>();
  for (const part of parts) {
    const key = `${part.windowIndex} ${part.event} ${part.moment.season} ${part.moment.day}`;
    const entry = minutesOf.get(key) ?? { part, weight: ZERO };
    entry.weight = entry.weight.plus(part.weight);
    minutesOf.set(key, entry);
  }
  let best: { part: Part; weight: Decimal } | undefined;
  for (const entry of minutesOf.values()) if (best === undefined || entry.weight.gt(best.weight)) best = entry;
  return best!.part;
}
