// Days by number since 1970-01-01, and what a tariff file says of them: docs/concepts/tariff.md, "Time".

export type Document = { readonly [key: string]: unknown };

export interface DayParts {
  readonly year: number;
  readonly month: number;
  readonly dayOfMonth: number;
  /** 1 Monday … 7 Sunday. */
  readonly weekday: number;
}

export const WEEKDAYS = ['monday', 'tuesday', 'wednesday', 'thursday', 'friday', 'saturday', 'sunday'];

export function partsOf(day: number): DayParts {
  const date = new Date(day * 86_400_000);
  return {
    year: date.getUTCFullYear(),
    month: date.getUTCMonth() + 1,
    dayOfMonth: date.getUTCDate(),
    weekday: date.getUTCDay() === 0 ? 7 : date.getUTCDay(),
  };
}

export const dayOf = (year: number, month: number, dayOfMonth: number): number =>
  Math.round(Date.UTC(year, month - 1, dayOfMonth) / 86_400_000);

export const dayOfText = (date: string): number => Math.round(Date.parse(`${date}T00:00Z`) / 86_400_000);

export const daysInMonth = (year: number, month: number): number => dayOf(year, month + 1, 1) - dayOf(year, month, 1);

export const minutesOf = (clock: string): number => Number(clock.slice(0, 2)) * 60 + Number(clock.slice(3, 5));

export const listOf = <T>(value: T | readonly T[] | undefined): readonly T[] =>
  value === undefined ? [] : Array.isArray(value) ? value : [value as T];

/** The name of the season of a day; "" where a tariff has none. */
export function seasonOf(seasons: readonly Document[] | undefined, day: number): string {
  if (seasons === undefined) return '';
  const { month, dayOfMonth } = partsOf(day);
  const code = month * 100 + dayOfMonth;
  for (const season of seasons) {
    if (season.months !== undefined) {
      if (listOf(season.months as number).includes(month)) return season.name as string;
      continue;
    }
    const codeOf = (text: string) => Number(text.slice(0, 2)) * 100 + Number(text.slice(3, 5));
    const from = codeOf(season.from as string);
    // "one that ends on 28 February ends on the 29th in leap years"
    const to = season.to === '02-28' ? 229 : codeOf(season.to as string);
    if (from <= to ? code >= from && code <= to : code >= from || code <= to) return season.name as string;
  }
  throw new Error(`no season holds on ${month}-${dayOfMonth}`);
}

/** Easter Sunday of the Gregorian calendar (Anonymous, Nature 13 (1876) 487; from memory). */
function westernEaster(year: number): number {
  const a = year % 19;
  const b = Math.floor(year / 100);
  const c = year % 100;
  const d = Math.floor(b / 4);
  const e = b % 4;
  const f = Math.floor((b + 8) / 25);
  const g = Math.floor((b - f + 1) / 3);
  const h = (19 * a + b - d - g + 15) % 30;
  const i = Math.floor(c / 4);
  const k = c % 4;
  const l = (32 + 2 * e + 2 * i - h - k) % 7;
  const m = Math.floor((a + 11 * h + 22 * l) / 451);
  const month = Math.floor((h + l - 7 * m + 114) / 31);
  return dayOf(year, month, ((h + l - 7 * m + 114) % 31) + 1);
}

/** Easter of the Julian calendar, as a day of the Gregorian (Meeus; from memory). 13 days apart from 1900 to 2099. */
function orthodoxEaster(year: number): number {
  const d = (19 * (year % 19) + 15) % 30;
  const e = (2 * (year % 4) + 4 * (year % 7) - d + 34) % 7;
  const month = Math.floor((d + e + 114) / 31);
  return dayOf(year, month, ((d + e + 114) % 31) + 1) + 13;
}

// 5 U.S.C. 6103, and the six that utilities keep as off-peak days; both from memory, as docs/concepts/tariff.md names them.
const FEDERAL: Document[] = [
  { date: '01-01', observed: 'nearest-weekday' },
  { weekday: 'monday', nth: 3, month: 1 },
  { weekday: 'monday', nth: 3, month: 2 },
  { weekday: 'monday', nth: -1, month: 5 },
  { date: '06-19', observed: 'nearest-weekday', since: 2021 },
  { date: '07-04', observed: 'nearest-weekday' },
  { weekday: 'monday', nth: 1, month: 9 },
  { weekday: 'monday', nth: 2, month: 10 },
  { date: '11-11', observed: 'nearest-weekday' },
  { weekday: 'thursday', nth: 4, month: 11 },
  { date: '12-25', observed: 'nearest-weekday' },
];
const SIX: Document[] = [
  { date: '01-01', observed: 'sunday-to-monday' },
  { weekday: 'monday', nth: -1, month: 5 },
  { date: '07-04', observed: 'sunday-to-monday' },
  { weekday: 'monday', nth: 1, month: 9 },
  { weekday: 'thursday', nth: 4, month: 11 },
  { date: '12-25', observed: 'sunday-to-monday' },
];

/** The days that count as holidays from one day to another. */
export function holidaysBetween(rules: readonly unknown[], from: number, to: number): Set<number> {
  const all = rules.flatMap((rule) => (rule === 'us-federal' ? FEDERAL : rule === 'us-six' ? SIX : [rule as Document]));
  const kept = new Set<number>();
  const later: number[] = [];
  for (let year = partsOf(from).year - 1; year <= partsOf(to).year + 1; year++)
    for (const rule of all) {
      if (year < Number(rule.since ?? year) || year > Number(rule.until ?? year)) continue;
      const day = holidayIn(rule, year);
      if (day === undefined) continue;
      if (rule.observed === 'next-weekday' && partsOf(day).weekday > 5) later.push(day);
      else kept.add(observed(day, rule.observed as string | undefined));
    }
  for (const rule of all) for (const date of listOf(rule.dates as string[])) kept.add(dayOfText(date));
  for (const day of later.sort((a, b) => a - b)) {
    let next = day;
    while (partsOf(next).weekday > 5 || kept.has(next)) next++;
    kept.add(next);
  }
  return kept;
}

function holidayIn(rule: Document, year: number): number | undefined {
  if (typeof rule.date === 'string') {
    const [month, dayOfMonth] = rule.date.split('-').map(Number) as [number, number];
    return dayOfMonth > daysInMonth(year, month) ? undefined : dayOf(year, month, dayOfMonth);
  }
  if (rule.daysAfterEaster !== undefined)
    return (rule.church === 'orthodox' ? orthodoxEaster(year) : westernEaster(year)) + Number(rule.daysAfterEaster);
  if (rule.weekday === undefined) return undefined;
  const weekday = WEEKDAYS.indexOf(rule.weekday as string) + 1;
  if (rule.nth !== undefined) {
    const month = Number(rule.month);
    const matching: number[] = [];
    for (let d = 1; d <= daysInMonth(year, month); d++)
      if (partsOf(dayOf(year, month, d)).weekday === weekday) matching.push(dayOf(year, month, d));
    return rule.nth === -1 ? matching.at(-1) : matching[Number(rule.nth) - 1];
  }
  const [month, dayOfMonth] = ((rule.onOrBefore ?? rule.onOrAfter) as string).split('-').map(Number) as [
    number,
    number,
  ];
  let day = dayOf(year, month, dayOfMonth);
  while (partsOf(day).weekday !== weekday) day += rule.onOrBefore === undefined ? 1 : -1;
  return day;
}

function observed(day: number, rule: string | undefined): number {
  const { weekday } = partsOf(day);
  if (rule === 'nearest-weekday') return weekday === 6 ? day - 1 : weekday === 7 ? day + 1 : day;
  if (rule === 'sunday-to-monday') return weekday === 7 ? day + 1 : day;
  return day;
}

/** A billing period: days `[first, end)`. */
export interface Period {
  readonly first: number;
  readonly end: number;
}

/** The billing periods that hold the days from `from` to `to`. */
export function periodsBetween(billing: Document, account: Document, from: number, to: number): Period[] {
  const starts: number[] = [];
  const dates = (account.readDates ??
    (account.cycleDay === undefined && billing.by === 'read-dates' ? billing.dates : undefined)) as
    | string[]
    | undefined;
  if (dates !== undefined) {
    const days = dates.map(dayOfText);
    const lengths = days
      .slice(1)
      .map((day, k) => day - days[k]!)
      .sort((a, b) => a - b);
    // Of an even number of lengths the upper one of the two in the middle.
    const median = lengths[Math.floor(lengths.length / 2)]!;
    while (days[0]! > from) days.unshift(days[0]! - median);
    while (days.at(-1)! <= to) days.push(days.at(-1)! + median);
    starts.push(...days);
  } else {
    const cycleDay = Number(account.cycleDay ?? (billing.by === 'cycle-day' ? billing.day : 1));
    const { year, month } = partsOf(from);
    for (let k = -1; ; k++) {
      const first = partsOf(dayOf(year, month + k, 1));
      const start = dayOf(first.year, first.month, Math.min(cycleDay, daysInMonth(first.year, first.month)));
      starts.push(start);
      if (start > to) break;
    }
  }
  const periods: Period[] = [];
  for (let k = 1; k < starts.length; k++)
    if (starts[k]! > from && starts[k - 1]! <= to) periods.push({ first: starts[k - 1]!, end: starts[k]! });
  return periods;
}
