import { holidayDays } from '../axis/holidays.ts';
import type { Axis } from '../axis/index.ts';
import { type DayKind, edgesOf, HOLIDAY_KIND, type HourRule, holds, ruleAt } from './hours.ts';
import type { Rates } from './tariff.ts';

/**
 * Every interval of an axis belongs to a *slot*: a version, a season, and one label for each set of hours that the
 * version has (its windows, a charge's own windows, the hours of a demand charge). All that a tariff says of an
 * interval, price series apart, follows from its slot; there are a few dozen of them.
 */
export interface Schedule {
  readonly slot: Int32Array;
  readonly slots: readonly Slot[];
  /** Version and season of each day of the axis' calendar. */
  readonly dayVersion: Int32Array;
  readonly daySeason: Int32Array;
  /** Kind of each day: 0 … 6 Monday to Sunday, 7 a holiday. */
  readonly dayKind: Int32Array;
  /** Intervals with an edge of hours inside. */
  readonly mixedIntervals: number;
}

export interface Slot {
  readonly version: number;
  readonly season: number;
  /** One for each of the version's {@link HourSet}s. */
  readonly labels: readonly number[];
  /** Index of the event, −1 none. */
  readonly event: number;
  /** Slots that an interval with an edge inside shares its minutes between, the largest first. */
  readonly parts: readonly { readonly slot: number; readonly weight: number }[] | undefined;
}

/** Something that gives each minute of a kind of day a label: see {@link labelAt}. */
export type HourSet =
  /** Label: index of the rule that holds. */
  | { readonly by: 'rules'; readonly rules: readonly HourRule[] }
  /** Label: 1 where the rule holds, else 0. */
  | { readonly by: 'member'; readonly rule: HourRule }
  /** Label: row · 24 + hour, of the first place in the table that has the price: hours of one price are one slot. */
  | { readonly by: 'table'; readonly rows: readonly TableRow[]; readonly labels: readonly number[] };

interface TableRow {
  readonly monthMask: number;
  readonly dayMask: number;
  readonly pricesByHour: readonly number[];
}

/** The set of a table of prices by month, kind of day and hour. */
export function tableSet(rows: readonly TableRow[]): HourSet {
  const prices = rows.flatMap((row) => row.pricesByHour);
  return { by: 'table', rows, labels: prices.map((price) => prices.indexOf(price)) };
}

/** The label that a set gives a minute of a kind of day. */
function labelAt(set: HourSet, day: DayKind, minute: number): number {
  switch (set.by) {
    case 'rules':
      return ruleAt(set.rules, day, minute);
    case 'member':
      return holds(set.rule, day, minute) ? 1 : 0;
    case 'table': {
      const row = set.rows.findIndex((r) => (r.monthMask >> (day.month - 1)) & 1 & (r.dayMask >> day.kind));
      return set.labels[row * 24 + Math.floor(minute / 60)]!;
    }
  }
}

/** Minutes of the day at which a set's label may change. */
function edgesOfSet(set: HourSet): number[] {
  if (set.by === 'table') return Array.from({ length: 24 }, (_, hour) => hour * 60);
  return edgesOf(set.by === 'rules' ? set.rules : [set.rule]);
}

/** Whether a set asks what kind of day the day before was. */
function usesDayBefore(set: HourSet): boolean {
  if (set.by === 'table') return false;
  return set.by === 'rules' ? set.rules.some((rule) => rule.byStartDay) : set.rule.byStartDay;
}

interface Segment {
  readonly from: number;
  readonly slot: number;
}

/** Lays versions and their hours on an axis. `sets[v]` are the hour sets of version v. */
export function makeSchedule(axis: Axis, versions: readonly Rates[], sets: readonly (readonly HourSet[])[]): Schedule {
  const { days, minuteOfDay } = axis.calendar;
  const step = axis.stepMinutes;
  const count = days.length;
  const dayVersion = new Int32Array(count);
  const daySeason = new Int32Array(count);
  const dayKind = new Int32Array(count);
  const firstDay = days[0]!.civilDay;
  const lastDay = days[count - 1]!.civilDay;
  const holidays = versions.map((rates) =>
    rates.holidays.length === 0 ? undefined : holidayDays(rates.holidays, firstDay - 1, lastDay + 1),
  );
  const eventDays = versions.map((rates) => {
    const byDay = new Map<number, number[]>();
    for (const [e, event] of rates.events.entries())
      for (const day of event.civilDays) byDay.set(day, [...(byDay.get(day) ?? []), e]);
    return byDay;
  });
  const edges = versions.map((rates, v) => {
    const all = new Set<number>([0]);
    for (const set of sets[v]!) for (const edge of edgesOfSet(set)) all.add(edge);
    for (const event of rates.events) all.add(event.from).add(event.to % 1440);
    return [...all].sort((a, b) => a - b);
  });
  const looksBack = sets.map((list) => list.some(usesDayBefore));

  const slots: Slot[] = [];
  const slotIds = new Map<string, number>();
  const intern = (key: string, make: () => Slot): number => {
    let id = slotIds.get(key);
    if (id === undefined) {
      id = slots.length;
      slots.push(make());
      slotIds.set(key, id);
    }
    return id;
  };

  const dayTypes = new Map<string, number>();
  const segments: Segment[][] = [];
  const typeOfDay = new Int32Array(count);
  let version = 0;
  for (let d = 0; d < count; d++) {
    const day = days[d]!;
    while (version + 1 < versions.length && day.civilDay >= versions[version + 1]!.fromDay) version++;
    const rates = versions[version]!;
    const season = rates.seasonOf[day.month * 32 + day.dayOfMonth]!;
    const kept = holidays[version];
    const kind = kept?.has(day.civilDay) ? HOLIDAY_KIND : day.weekday - 1;
    const before = !looksBack[version] ? 0 : kept?.has(day.civilDay - 1) ? HOLIDAY_KIND : (day.weekday + 5) % 7;
    const events = eventDays[version]!.get(day.civilDay);
    dayVersion[d] = version;
    daySeason[d] = season;
    dayKind[d] = kind;
    const key = `${version} ${season} ${day.month} ${kind} ${before} ${events ?? ''}`;
    let type = dayTypes.get(key);
    if (type === undefined) {
      const list = segmentsOf(
        version,
        { season, month: day.month, kind, before },
        rates,
        events,
        edges[version]!,
        sets[version]!,
        intern,
      );
      // Kinds of days with the same slots share a row.
      const same = `= ${list.map((segment) => `${segment.from} ${segment.slot}`).join(' ')}`;
      type = dayTypes.get(same) ?? segments.push(list) - 1;
      dayTypes.set(same, type);
      dayTypes.set(key, type);
    }
    typeOfDay[d] = type;
  }

  // A row holds the slots of one kind of day, a step each. Phase: where steps don't begin on the full step, by how many
  // minutes they begin later.
  const rows = new Map<number, Int32Array>();
  const rowLength = Math.ceil(1440 / step);
  const rowOf = (type: number, next: number, phase: number): Int32Array => {
    const key = (type * (segments.length + 1) + (phase === 0 ? segments.length : next)) * 64 + phase;
    let row = rows.get(key);
    if (row === undefined) {
      row = new Int32Array(rowLength);
      const today = segments[type]!;
      let s = 0;
      for (let k = 0; k < rowLength; k++) {
        const minute = k * step + phase;
        while (s + 1 < today.length && today[s + 1]!.from <= minute) s++;
        row[k] =
          minute + step <= (today[s + 1]?.from ?? 1440)
            ? today[s]!.slot
            : slotOfStep(today, segments[next]!, minute, step, slots, intern);
      }
      rows.set(key, row);
    }
    return row;
  };

  const slot = new Int32Array(axis.intervals);
  for (let d = 0; d < count; d++) {
    const { firstInterval: first, intervals } = days[d]!;
    const type = typeOfDay[d]!;
    const next = typeOfDay[Math.min(d + 1, count - 1)]!;
    const phase = minuteOfDay[first]! % step;
    if (
      intervals === rowLength &&
      minuteOfDay[first] === phase &&
      minuteOfDay[first + intervals - 1]! % step === phase
    ) {
      slot.set(rowOf(type, next, phase), first);
      continue;
    }
    for (let i = first; i < first + intervals; i++) {
      const minute = minuteOfDay[i]!;
      slot[i] = rowOf(type, next, minute % step)[Math.floor(minute / step)]!;
    }
  }
  let mixedIntervals = 0;
  const mixed = slots.map((s) => s.parts !== undefined);
  if (mixed.includes(true)) for (let i = 0; i < slot.length; i++) if (mixed[slot[i]!]) mixedIntervals++;
  return { slot, slots, dayVersion, daySeason, dayKind, mixedIntervals };
}

function segmentsOf(
  version: number,
  day: DayKind,
  rates: Rates,
  events: readonly number[] | undefined,
  edges: readonly number[],
  sets: readonly HourSet[],
  intern: (key: string, make: () => Slot) => number,
): Segment[] {
  const segments: Segment[] = [];
  for (const from of edges) {
    const labels = sets.map((set) => labelAt(set, day, from));
    const event = events?.find((e) => from >= rates.events[e]!.from && from < rates.events[e]!.to) ?? -1;
    const slot = intern(`${version} ${day.season} ${event} ${labels.join(' ')}`, () => ({
      version,
      season: day.season,
      labels,
      event,
      parts: undefined,
    }));
    if (segments.length === 0 || segments[segments.length - 1]!.slot !== slot) segments.push({ from, slot });
  }
  return segments;
}

/** The slot of the step that begins at a minute of a day; where an edge lies inside, a slot of shares. */
function slotOfStep(
  today: readonly Segment[],
  tomorrow: readonly Segment[],
  minute: number,
  step: number,
  slots: readonly Slot[],
  intern: (key: string, make: () => Slot) => number,
): number {
  const minutes = new Map<number, number>();
  const count = (day: readonly Segment[], from: number, to: number) => {
    for (let s = 0; s < day.length; s++) {
      const overlap = Math.min(to, day[s + 1]?.from ?? 1440) - Math.max(from, day[s]!.from);
      if (overlap > 0) minutes.set(day[s]!.slot, (minutes.get(day[s]!.slot) ?? 0) + overlap);
    }
  };
  count(today, minute, Math.min(minute + step, 1440));
  if (minute + step > 1440) count(tomorrow, 0, minute + step - 1440);
  const shares = [...minutes].sort((a, b) => b[1] - a[1]);
  const [largest] = shares;
  if (shares.length === 1) return largest![0];
  return intern(`mixed ${shares.join(' ')}`, () => ({
    ...slots[largest![0]]!,
    parts: shares.map(([slot, m]) => ({ slot, weight: m / step })),
  }));
}
