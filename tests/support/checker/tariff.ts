// What a tariff says of every interval, looked up the slow way: docs/concepts/tariff.md and docs/reference/tariff-file.md.

import {
  type Document,
  dayOfText,
  holidaysBetween,
  listOf,
  minutesOf,
  type Period,
  partsOf,
  periodsBetween,
  seasonOf,
  WEEKDAYS,
} from './days.ts';
import { type ReadIntervals, readStamp } from './interval-csv.ts';

/** A part of a charge in one interval: a window, an hour's price, an event. */
export interface Part {
  readonly name: string;
  /** Money a kWh; with `blocks` that of the first. */
  readonly price: number;
  readonly blocks?: readonly Document[];
  /** How much of the interval's energy counts, 0 … 1. */
  readonly share: number;
}

/** A charge on imported energy or a credit for exported energy, in one version of the tariff. */
export interface Charge {
  readonly name: string;
  readonly kind: 'energy' | 'export';
  readonly supplier: string | undefined;
  /** One price an interval (a series, a table): one line whatever the prices are. */
  readonly many: boolean;
  readonly nonBypassable: boolean;
  readonly resets: string;
  /** Seasons that it is limited to; undefined: none. */
  readonly seasons: readonly string[] | undefined;
  readonly partsAt: (i: number) => readonly Part[];
}

export interface Version {
  readonly index: number;
  readonly fromDay: number;
  readonly document: Document;
  readonly charges: readonly Charge[];
}

export interface LaidTariff {
  readonly document: Document;
  readonly account: Document;
  readonly intervals: ReadIntervals;
  readonly versions: readonly Version[];
  readonly versionOfDay: (day: number) => Version;
  readonly seasonAt: (version: Version, day: number) => string;
  readonly isHoliday: (version: Version, day: number) => boolean;
  readonly periods: readonly Period[];
  readonly periodAt: Int32Array;
  /** The window of the tariff that has most minutes of the step: its place in the version's list; −1 where there are none. */
  readonly mainWindowAt: (version: Version, i: number) => number;
  /** The event that has most minutes of the step: its place in the version's list; −1 where none has. */
  readonly mainEventAt: (version: Version, i: number) => number;
  /** Whether most of the step lies in hours such as a demand charge's. */
  readonly mostlyWithin: (version: Version, hours: Document, i: number) => boolean;
  /** In how many intervals hours of the tariff begin or end inside. */
  readonly edgesInside: () => number;
  /** Money a kWh with percentages, before any block but the first. */
  readonly importPrice: Float64Array;
  readonly exportPrice: Float64Array;
}

const dayMatches = (days: readonly string[], weekday: number, holiday: boolean): boolean => {
  if (days.length === 0 || days.includes('all')) return true;
  if (holiday) return days.includes('holiday');
  return (
    days.includes(WEEKDAYS[weekday - 1]!) ||
    (days.includes('weekday') && weekday <= 5) ||
    (days.includes('weekend') && weekday > 5)
  );
};

const inProgramme = (charge: Document, account: Document): boolean =>
  charge.programme === undefined || listOf(account.programmes as string[]).includes(charge.programme as string);

/** Lays a tariff file's document on the intervals of a meter file. `files` holds the price series that it names. */
export function layTariff(
  document: Document,
  account: Document,
  intervals: ReadIntervals,
  files: Readonly<Record<string, string>> = {},
): LaidTariff {
  const { count, day, minuteOfDay, stepMinutes } = intervals;
  const firstDay = day[0]!;
  const lastDay = day[count - 1]!;

  // Versions: from their day on, each field that they give replaces the same field of the version before.
  const documents: { fromDay: number; document: Document }[] = [{ fromDay: Number.NEGATIVE_INFINITY, document }];
  for (const later of listOf(document.versions as Document[]))
    documents.push({
      fromDay: dayOfText(later.from as string),
      document: { ...documents.at(-1)!.document, ...later },
    });
  const holidays = documents.map((version) =>
    holidaysBetween(listOf(version.document.holidays as unknown[]), firstDay - 40, lastDay + 40),
  );
  const seasonAt = (version: { document: Document }, d: number) =>
    seasonOf(version.document.seasons as Document[] | undefined, d);
  const isHoliday = (version: { index: number }, d: number) => holidays[version.index]!.has(d);

  // Which entry of a list of windows holds in each minute of a day. Days of one season, month and kind share a map.
  const maps = new Map<unknown, Map<string, Int16Array>>();
  const days = new Map<unknown, Map<number, Int16Array>>();
  const minutesOfDay = (version: { index: number; document: Document }, list: readonly Document[], d: number) => {
    let byDay = days.get(list);
    if (byDay === undefined) {
      byDay = new Map();
      days.set(list, byDay);
    }
    const code = d * 64 + version.index;
    let map = byDay.get(code);
    if (map === undefined) {
      map = mapOfDay(version, list, d);
      byDay.set(code, map);
    }
    return map;
  };
  const mapOfDay = (version: { index: number; document: Document }, list: readonly Document[], d: number) => {
    let known = maps.get(list);
    if (known === undefined) {
      known = new Map();
      maps.set(list, known);
    }
    const season = seasonAt(version, d);
    const { month, weekday } = partsOf(d);
    const before = partsOf(d - 1).weekday;
    const key = [season, month, weekday, isHoliday(version, d), isHoliday(version, d - 1), version.index].join();
    const made = known.get(key);
    if (made !== undefined) return made;
    const map = new Int16Array(1440).fill(-1);
    const within = (rule: Document) =>
      (rule.seasons === undefined || listOf(rule.seasons as string).includes(season)) &&
      (rule.months === undefined || listOf(rule.months as number).includes(month));
    const rules = list.map((rule) => ({
      rule,
      today: within(rule) && dayMatches(listOf(rule.days as string), weekday, isHoliday(version, d)),
      yesterday: within(rule) && dayMatches(listOf(rule.days as string), before, isHoliday(version, d - 1)),
      from: rule.from === undefined ? 0 : minutesOf(rule.from as string),
      to: rule.to === undefined ? 1440 : minutesOf(rule.to as string),
    }));
    for (let minute = 0; minute < 1440; minute++) {
      let found = rules.findIndex(({ rule, today, yesterday, from, to }) => {
        if (rule.otherwise === true) return false;
        if (from < to) return today && minute >= from && minute < to;
        return (today && minute >= from) || ((rule.daysOf === 'start' ? yesterday : today) && minute < to);
      });
      if (found < 0) found = rules.findIndex(({ rule, today }) => rule.otherwise === true && today);
      map[minute] = found;
    }
    known.set(key, map);
    return map;
  };

  // Events of a version by day.
  const eventAt = (version: { document: Document }, d: number, minute: number): number =>
    listOf(version.document.events as Document[]).findIndex(
      (event) =>
        listOf(event.dates as string[]).some((date) => dayOfText(date) === d) &&
        minute >= minutesOf(event.from as string) &&
        minute < minutesOf(event.to as string),
    );
  const eventDays = new Set(
    documents.flatMap((version) =>
      listOf(version.document.events as Document[]).flatMap((event) => listOf(event.dates as string[]).map(dayOfText)),
    ),
  );

  /** Minutes of a step by what `kindOf` says of each. In the order in which they come up. */
  const minutesBy = (i: number, kindOf: (d: number, minute: number) => number): [number, number][] => {
    const found: [number, number][] = [];
    for (let k = 0; k < stepMinutes; k++) {
      const minute = minuteOfDay[i]! + k;
      const kind = minute < 1440 ? kindOf(day[i]!, minute) : kindOf(day[i]! + 1, minute - 1440);
      const entry = found.find(([other]) => other === kind);
      if (entry === undefined) found.push([kind, 1]);
      else entry[1]++;
    }
    return found;
  };
  const mostMinutes = (found: readonly (readonly [number, number])[]): number => {
    let best = found[0]!;
    for (const entry of found) if (entry[1] > best[1]) best = entry;
    return best[0];
  };
  const kept = new Map<unknown, ([number, number][] | undefined)[]>();
  const windowsAt = (version: Versionish, list: readonly Document[], i: number): [number, number][] => {
    let byInterval = kept.get(list);
    if (byInterval === undefined) {
      byInterval = new Array(count);
      kept.set(list, byInterval);
    }
    byInterval[i] ??= minutesBy(i, (d, minute) => minutesOfDay(version, list, d)[minute]!);
    return byInterval[i]!;
  };

  const chargesOf = (version: Versionish): Charge[] => {
    const tariff = version.document;
    const windows = listOf(tariff.windows as Document[]);
    const charges: Charge[] = [];
    const shareIn = (names: readonly string[] | undefined, i: number) =>
      names === undefined
        ? 1
        : windowsAt(version, windows, i)
            .filter(([w]) => w >= 0 && names.includes(windows[w]!.name as string))
            .reduce((sum, [, minutes]) => sum + minutes / stepMinutes, 0);

    if (windows.some((window) => window.pricePerKwh !== undefined || window.blocks !== undefined)) {
      const critical = listOf(tariff.events as Document[]).map((event) => event.pricePerKwh as number | undefined);
      const whole = windows.some((window) => window.blocks !== undefined);
      charges.push({
        ...charge('Energy', 'energy', {}),
        partsAt(i) {
          const hasEvent =
            critical.some((price) => price !== undefined) && (eventDays.has(day[i]!) || eventDays.has(day[i]! + 1));
          let found = hasEvent
            ? minutesBy(i, (d, minute) => {
                const event = eventAt(version, d, minute);
                return event >= 0 && critical[event] !== undefined
                  ? -2 - event
                  : minutesOfDay(version, windows, d)[minute]!;
              })
            : windowsAt(version, windows, i);
          if (whole) found = [[mostMinutes(found), stepMinutes]];
          return found.map(([w, minutes]) => {
            const share = minutes / stepMinutes;
            if (w <= -2) {
              const event = listOf(tariff.events as Document[])[-2 - w]!;
              return { name: event.name as string, price: event.pricePerKwh as number, share };
            }
            const window = windows[w]!;
            const blocks = window.blocks as Document[] | undefined;
            return {
              name: `${window.name}`,
              price: (blocks === undefined ? window.pricePerKwh : blocks[0]!.pricePerKwh) as number,
              share,
              ...(blocks === undefined ? {} : { blocks }),
            };
          });
        },
      });
    }
    for (const [k, event] of listOf(tariff.events as Document[]).entries())
      if (event.adderPerKwh !== undefined)
        charges.push({
          ...charge(event.name as string, 'energy', {}),
          partsAt(i) {
            if (!eventDays.has(day[i]!) && !eventDays.has(day[i]! + 1)) return [];
            return minutesBy(i, (d, minute) => eventAt(version, d, minute))
              .filter(([e]) => e === k)
              .map(([, minutes]) => ({ name: '', price: event.adderPerKwh as number, share: minutes / stepMinutes }));
          },
        });
    for (const entry of listOf(tariff.energy as Document[]))
      if (inProgramme(entry, account)) charges.push(priced(entry, 'energy'));
    const sold = (tariff.export ?? { kind: 'none' }) as Document;
    if (sold.kind === 'net-billing' || sold.kind === 'buy-all')
      charges.push(priced({ name: 'Export credit', ...sold }, 'export'));
    return charges;

    function charge(name: string, kind: 'energy' | 'export', from: Document): Charge {
      return {
        name,
        kind,
        supplier: from.supplier as string | undefined,
        many: from.series !== undefined || from.table !== undefined,
        nonBypassable: from.nonBypassable === true,
        resets: (from.resets as string) ?? 'billing-period',
        seasons: from.seasons === undefined ? undefined : (listOf(from.seasons as string) as string[]),
        partsAt: () => [],
      };
    }

    /** A charge of `energy`, or the credit for export: one of the forms of a price. */
    function priced(entry: Document, kind: 'energy' | 'export'): Charge {
      const made = charge(entry.name as string, kind, entry);
      const only = entry.inWindows === undefined ? undefined : (listOf(entry.inWindows as string) as string[]);
      const blocks = entry.blocks as Document[] | undefined;
      const own = entry.windows as Document[] | undefined;
      const table = entry.table as Document[] | undefined;
      const byWindow = entry.byWindow as Document | undefined;
      const series = entry.series === undefined ? undefined : seriesPrices(entry.series as Document);
      const holds = (i: number) => made.seasons === undefined || made.seasons.includes(seasonAt(version, day[i]!));
      const inside = (parts: Part[], i: number): Part[] => {
        const share = shareIn(only, i);
        return parts.map((part) => ({ ...part, share: part.share * share })).filter((part) => part.share > 0);
      };
      return {
        ...made,
        partsAt(i) {
          if (!holds(i)) return [];
          if (blocks !== undefined) {
            const main = only === undefined ? undefined : windows[mostMinutes(windowsAt(version, windows, i))]!.name;
            if (only !== undefined && !only.includes(main as string)) return [];
            return [{ name: '', price: blocks[0]!.pricePerKwh as number, blocks, share: 1 }];
          }
          if (series !== undefined) return inside([{ name: '', price: series[i]!, share: 1 }], i);
          if (table !== undefined) {
            const hours = minutesBy(
              i,
              (d, minute) => minutesOfDay(version, table, d)[minute]! * 24 + Math.floor(minute / 60),
            );
            return inside(
              hours.map(([code, minutes]) => ({
                name: '',
                price: (table[Math.floor(code / 24)]!.pricesByHour as number[])[code % 24]!,
                share: minutes / stepMinutes,
              })),
              i,
            );
          }
          if (own !== undefined)
            return inside(
              windowsAt(version, own, i).map(([w, minutes]) => ({
                name: own[w]!.name as string,
                price: own[w]!.pricePerKwh as number,
                share: minutes / stepMinutes,
              })),
              i,
            );
          if (byWindow !== undefined)
            return inside(
              windowsAt(version, windows, i).map(([w, minutes]) => ({
                name: windows[w]!.name as string,
                price: byWindow[windows[w]!.name as string] as number,
                share: minutes / stepMinutes,
              })),
              i,
            );
          return inside([{ name: '', price: entry.pricePerKwh as number, share: 1 }], i);
        },
      };
    }
  };

  function seriesPrices(series: Document): Float64Array {
    const rows = files[series.file as string]!.trim()
      .split('\n')
      .slice(1)
      .map((line) => {
        const [stamp, price] = line.split(',') as [string, string];
        return { epochMs: readStamp(stamp).epochMs, price: Number(price) };
      });
    const rowMs = rows[1]!.epochMs - rows[0]!.epochMs;
    const prices = new Float64Array(count);
    for (let i = 0; i < count; i++) {
      let sum = 0;
      for (let k = 0; k < stepMinutes; k++) {
        const at = intervals.startEpochMs + (i * stepMinutes + k) * 60_000;
        sum += rows[Math.floor((at - rows[0]!.epochMs) / rowMs)]!.price;
      }
      prices[i] = (sum / stepMinutes) * Number(series.multiplier ?? 1) + Number(series.adderPerKwh ?? 0);
    }
    return prices;
  }

  // Looked up once an interval, since every run is billed with the same parts; equal parts are one object.
  const once = (charge: Charge): Charge => {
    const known: (readonly Part[] | undefined)[] = new Array(count);
    const same = new Map<string, Part>();
    return {
      ...charge,
      partsAt(i) {
        known[i] ??= charge.partsAt(i).map((part) => {
          const key = `${part.name}|${part.price}|${part.share}|${part.blocks === undefined ? '' : JSON.stringify(part.blocks)}`;
          const equal = same.get(key) ?? part;
          same.set(key, equal);
          return equal;
        });
        return known[i];
      },
    };
  };
  const versions: Version[] = documents.map((version, index) => ({
    ...version,
    index,
    charges: chargesOf({ ...version, index }).map(once),
  }));
  const versionOfDay = (d: number) =>
    versions.length === 1 ? versions[0]! : versions.findLast((version) => version.fromDay <= d)!;

  const periods = periodsBetween((document.billing ?? {}) as Document, account, firstDay, lastDay);
  const periodAt = Int32Array.from(day, (d) => periods.findIndex((period) => d >= period.first && d < period.end));

  const netting = (tariff: Document) => (tariff.export as Document | undefined)?.kind === 'net-metering';
  const importPrice = new Float64Array(count);
  const exportPrice = new Float64Array(count);
  const weights = new Map<Charge, number>();
  for (const version of versions)
    for (const charge of version.charges) weights.set(charge, weightOf(version.document, account, charge));
  for (let i = 0; i < count; i++) {
    const version = versionOfDay(day[i]!);
    for (const charge of version.charges) {
      const netted = netting(version.document) && charge.kind === 'energy' && !charge.nonBypassable;
      const parts = charge.partsAt(i);
      let price = 0;
      // What is netted in kWh belongs to one window whole.
      if (netted && (version.document.export as Document).carry !== 'money' && parts.length > 0)
        price = mostShare(parts).price;
      else for (const part of parts) price += part.price * part.share;
      price *= weights.get(charge)!;
      if (charge.kind === 'export') exportPrice[i]! += price;
      else importPrice[i]! += price;
      if (netted) exportPrice[i]! += price;
    }
  }

  /** Whether the step has more than one of anything that the tariff says by the minute. */
  const hasEdgeInside = (i: number): boolean => {
    const version = versionOfDay(day[i]!);
    const tariff = version.document;
    const crosses = minuteOfDay[i]! + stepMinutes > 1440;
    if (
      crosses &&
      (versionOfDay(day[i]! + 1) !== version || seasonAt(version, day[i]! + 1) !== seasonAt(version, day[i]!))
    )
      return true;
    const priced = [...listOf(tariff.energy as Document[]), (tariff.export ?? {}) as Document];
    const byIndex = [tariff, ...priced].map((entry) => listOf(entry.windows as Document[])).filter((l) => l.length > 0);
    if (byIndex.some((list) => minutesBy(i, (d, minute) => minutesOfDay(version, list, d)[minute]!).length > 1))
      return true;
    for (const hours of listOf(tariff.demand as Document[]))
      if (minutesBy(i, (d, minute) => Number(minutesOfDay(version, asList(hours), d)[minute]! >= 0)).length > 1)
        return true;
    for (const { table } of priced as { table?: Document[] }[])
      if (
        table !== undefined &&
        minutesBy(i, (d, minute) => {
          const row = table[minutesOfDay(version, table, d)[minute]!]!;
          return (row.pricesByHour as number[])[Math.floor(minute / 60)]!;
        }).length > 1
      )
        return true;
    return minutesBy(i, (d, minute) => eventAt(version, d, minute)).length > 1;
  };

  return {
    edgesInside: () => Array.from({ length: count }, (_, i) => i).filter(hasEdgeInside).length,
    document,
    account,
    intervals,
    versions,
    versionOfDay,
    seasonAt,
    isHoliday,
    periods,
    periodAt,
    mainWindowAt(version, i) {
      const windows = listOf(version.document.windows as Document[]);
      return windows.length === 0 ? -1 : mostMinutes(windowsAt(version, windows, i));
    },
    mainEventAt: (version, i) =>
      eventDays.has(day[i]!) || eventDays.has(day[i]! + 1)
        ? mostMinutes(minutesBy(i, (d, minute) => eventAt(version, d, minute)))
        : -1,
    mostlyWithin: (version, hours, i) =>
      mostMinutes(minutesBy(i, (d, minute) => Number(minutesOfDay(version, asList(hours), d)[minute]! >= 0))) === 1,
    importPrice,
    exportPrice,
  };
}

/** The part that has most of the interval; of two with as much, the earlier. */
export function mostShare(parts: readonly Part[]): Part {
  let most = parts[0]!;
  for (const part of parts) if (part.share > most.share + 1e-9) most = part;
  return most;
}

const lists = new WeakMap<Document, readonly Document[]>();
/** A list of one entry, the same list each time. */
function asList(hours: Document): readonly Document[] {
  let list = lists.get(hours);
  if (list === undefined) {
    list = [hours];
    lists.set(hours, list);
  }
  return list;
}

interface Versionish {
  readonly index: number;
  readonly document: Document;
}

/** Whether a percentage falls on a line: "all", its kind, its supplier, or its name. */
export function fallsOn(on: unknown, line: { kind: string; name: string; supplier?: string | undefined }): boolean {
  return listOf((on ?? 'all') as string).some(
    (name) =>
      name === 'all' ||
      name === line.kind ||
      name === line.name ||
      (line.supplier !== undefined && name === line.supplier),
  );
}

/** Adjustments, then taxes, that fall on this account's bills. */
export function percentagesOf(
  tariff: Document,
  account: Document,
): { kind: string; name: string; percent: number; on: unknown }[] {
  return (['adjustments', 'taxes'] as const).flatMap((list) =>
    listOf(tariff[list] as Document[])
      .filter((entry) => inProgramme(entry, account))
      .map((entry) => ({
        kind: list === 'taxes' ? 'tax' : 'adjustment',
        name: entry.name as string,
        percent: entry.percent as number,
        on: entry.on,
      })),
  );
}

/** What a unit of money on a line costs with all percentages on it. */
export function weightOf(
  tariff: Document,
  account: Document,
  line: { kind: string; name: string; supplier?: string | undefined },
): number {
  const lines: { kind: string; name: string; supplier?: string | undefined; amount: number }[] = [
    { ...line, amount: 1 },
  ];
  for (const { kind, name, percent, on } of percentagesOf(tariff, account)) {
    const base = lines.filter((before) => fallsOn(on, before)).reduce((sum, before) => sum + before.amount, 0);
    lines.push({ kind, name, amount: (base * percent) / 100 });
  }
  return lines.reduce((sum, made) => sum + made.amount, 0);
}
