import type { Axis } from '../../axis/index.ts';
import { againstSun } from '../against-sun.ts';
import type { FindingList } from '../findings.ts';
import { isNoonAsUtc } from '../noon-as-utc.ts';
import type { ParseOptions } from '../options.ts';
import { areOneSided, namedPart } from '../part.ts';
import type { Beside, Group } from '../readings.ts';
import { type ChannelPart, channelField, type IntervalSeries } from '../series.ts';
import { noNightOf } from '../solar-shape.ts';
import { type SilentHours, silentHours } from './silent-hours.ts';
import { nameOf } from './told-stream.ts';

/** What a home takes. */
const TAKEN = ['import', 'load'] as const;
type Taken = (typeof TAKEN)[number];

/** Hours in which a home may draw nothing of the grid because the sun carries it, from and to. */
const SUN_HOURS = { from: 8, to: 17 };
/** Of the mean of all hours: a home's least draw lies above, what a holiday leaves in a register's idle hours below. */
const SILENT_SHARE = 0.08;
/** Hours of a weekday, those of the sun aside, in which nothing counts: a home has none. */
const FEWEST_SILENT = 2;
/** The same of a weekend, on which a register of weekdays has nothing all day. */
const FEWEST_SILENT_WEEKEND = 12;

/** A register by its place, of which the first is another. */
const NOT_FIRST =
  /^(?:(?:e|t|p|f|(?:tier|tou|rate|window|register|reg) ?)[2-9]|(?:second|third|fourth) (?:rate|tariff|register))$/;

/**
 * Marks registers of what the home takes that are all that a file holds of it, though the meter counts on others as well. Their names say
 * so: those of the dear hours or of the cheap ones, in other hours of which nothing counts; a second one without a first; a circuit.
 * Or their hours do, whatever the name: see {@link silentHours}. Another file of the home may hold the rest: until it does, this is told.
 * The user may say that it is all (`channel`, `rows`, several `columns`), and so may a bill. What the file itself holds beside it is
 * told elsewhere.
 */
export function markLone(
  parts: readonly ChannelPart[],
  series: IntervalSeries,
  groups: readonly Group[],
  beside: readonly Beside[],
  options: ParseOptions,
  billed: boolean,
  findings: FindingList,
): ChannelPart[] {
  const marked = new Set<ChannelPart>();
  for (const role of TAKEN) {
    const own = parts.filter(({ channel }) => channel === role);
    const kwh = series[channelField(role)];
    const isTold = beside.some((columns) => columns.role === role && columns.areRegisters);
    if (kwh === undefined || billed || isTold || isStated(role, groups, options)) continue;
    // What a file names and doesn't hold is told by its name.
    if (own.some((part) => part.kwh === undefined)) continue;
    const byName = own.length > 0 && areLone(own, series.axis, kwh);
    const silent = byName ? undefined : silentOf(series, role, kwh);
    if (!byName && silent === undefined) continue;
    for (const part of own) marked.add(part);
    const names = own.length > 0 ? own.map(({ name }) => name) : namesOf(role, groups);
    tellAlone(series, role, kwh, { names, areNamed: own.length > 0 }, silent, findings);
  }
  return parts.map((part) => (marked.has(part) ? { ...part, alone: true } : part));
}

/** The same of a file in our own format, which names no register: by its hours alone. */
export function tellSilent(
  series: IntervalSeries,
  { channel }: ParseOptions,
  billed: boolean,
  findings: FindingList,
): void {
  for (const role of TAKEN) {
    const kwh = series[channelField(role)];
    if (kwh === undefined || billed || channel === role) continue;
    const silent = silentOf(series, role, kwh);
    if (silent === undefined) continue;
    tellAlone(series, role, kwh, { names: [`column "${role}_kwh"`], areNamed: false }, silent, findings);
  }
}

/** The silent hours of what is taken; what has the shape of solar is asked about as that. */
function silentOf({ axis, exportKwh, solarKwh }: IntervalSeries, role: Taken, kwh: Float64Array) {
  const sunny = role === 'import' ? [exportKwh, solarKwh] : [];
  const silent = silentHours(axis, kwh, (i) => sunny.some((other) => other !== undefined && other[i]! > 0));
  return silent === undefined || noNightOf({ axis }, kwh)?.arc === true ? undefined : silent;
}

/** Asks about what is alone, by its names or by hours in which it is silent. */
function tellAlone(
  series: IntervalSeries,
  role: Taken,
  kwh: Float64Array,
  { names, areNamed }: { names: string[]; areNamed: boolean },
  silent: SilentHours | undefined,
  findings: FindingList,
): void {
  const { isRagged, ...told } = silent ?? {};
  const energyKwh = kwh.reduce((sum, each) => sum + (each || 0), 0);
  const hours =
    silent === undefined
      ? {}
      : {
          silent: told,
          ...(isRagged === true && isNoonOfUtc(series.axis, silent) ? { isUtc: true as const } : {}),
          ...(areNamed ? {} : { unnamed: true as const }),
          ...(role === 'import' && looksExchanged(series) ? { exchanged: true as const } : {}),
        };
  findings.add('part-alone', 'warning', { parts: names, role, energyKwh, ...hours }, { key: role });
}

/** Whether silent hours that aren't those of the sun would be if labels were UTC. */
function isNoonOfUtc(axis: Axis, { from, to }: SilentHours): boolean {
  const [start, end] = [from, to].map((clock) => Number(clock.slice(0, 2)) + Number(clock.slice(3)) / 60);
  const middle = (start! + end!) / 2;
  return (middle < SUN_HOURS.from || middle > SUN_HOURS.to) && isNoonAsUtc(axis, middle);
}

/** Whether what is read as bought keeps to the hours of the sun, and what is read as sold doesn't. */
function looksExchanged({ axis, importKwh, exportKwh }: IntervalSeries): boolean {
  return (
    importKwh !== undefined &&
    exportKwh !== undefined &&
    againstSun({ axis }, importKwh, exportKwh, undefined) !== undefined
  );
}

/** What a channel is read from, where no name tells a register. */
function namesOf(role: Taken, groups: readonly Group[]): string[] {
  return groups.flatMap(({ streams }) => streams.filter((stream) => stream.role === role).map(nameOf));
}

/** Whether the user says that what is read of a channel is that. */
function isStated(role: Taken, groups: readonly Group[], { channel, columns }: ParseOptions): boolean {
  const stated = columns?.[role];
  // A column has to be named where its name says nothing of energy: that says where the energy is, not that it is all.
  if (channel === role || (Array.isArray(stated) && stated.length > 1)) return true;
  const own = groups.flatMap(({ streams }) => streams.filter((stream) => stream.role === role));
  return own.every(({ kind }) => kind?.stated === true);
}

function areLone(parts: readonly ChannelPart[], axis: Axis, kwh: Float64Array): boolean {
  const names = parts.map(({ register }) => register);
  const areAll = (counts: ChannelPart['counts']) => parts.every((part) => whenCounts(part) === counts);
  if (areAll('always')) return !parts.some(({ allListed }) => allListed) && names.every((name) => NOT_FIRST.test(name));
  if (areAll('any-time')) return true;
  if (!areAll('in-turn')) return false;
  if (names.every((name) => NOT_FIRST.test(name))) return true;
  return (parts.length === 1 || areOneSided(names)) && hasSilentHours(axis, kwh);
}

/** When a register counts, by its name where no more is known: words of the user hide the rest, and a place says nothing of it. */
function whenCounts({ counts, register }: ChannelPart): ChannelPart['counts'] {
  if (counts !== 'unsaid') return counts;
  const { kind } = namedPart(register);
  if (kind === 'window' || NOT_FIRST.test(register)) return 'in-turn';
  return kind === 'circuit' ? 'any-time' : 'unsaid';
}

/** Whether there are hours of the week, outside of those of the sun, in which nothing counts. */
function hasSilentHours({ calendar, intervals }: Axis, kwh: Float64Array): boolean {
  const sums = [new Float64Array(24), new Float64Array(24)];
  const counts = [new Float64Array(24), new Float64Array(24)];
  let all = 0;
  for (let i = 0; i < intervals; i++) {
    const k = calendar.weekday[i]! > 5 ? 1 : 0;
    const hour = Math.floor(calendar.minuteOfDay[i]! / 60);
    counts[k]![hour]!++;
    // A portal may leave out the rows of a register's idle hours.
    if (Number.isNaN(kwh[i]!)) continue;
    sums[k]![hour]! += kwh[i]!;
    all += kwh[i]!;
  }
  const limit = (SILENT_SHARE * all) / intervals;
  return [FEWEST_SILENT, FEWEST_SILENT_WEEKEND].some((fewest, k) => {
    let silent = 0;
    for (let hour = 0; hour < 24; hour++) {
      if (hour >= SUN_HOURS.from && hour < SUN_HOURS.to) continue;
      if (counts[k]![hour]! > 0 && sums[k]![hour]! <= limit * counts[k]![hour]!) silent++;
    }
    return silent >= fewest;
  });
}
