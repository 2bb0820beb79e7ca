import { count, digits, figure, figureBound, kw, kwBound, kwhDigits, listed, percent, runsText } from './figures.ts';
import { describeStep } from './steps.ts';
import { type ToldStream, tellStream, tellStreams } from './streams.ts';

/** Why a unit was taken that nothing states: no other … */
export function unitReason(by: 'bill' | 'cost' | 'daily-energy'): string {
  switch (by) {
    case 'bill':
      return 'gives what was billed';
    case 'cost':
      return 'gives a price that fits the cost';
    case 'daily-energy':
      return 'gives a home’s daily energy';
  }
}

/** What was metered and what was billed, kWh. */
interface Billed {
  readonly meteredKwh: number;
  readonly billedKwh: number;
}

/** Why savings are withheld where the bill is another. */
export function billedDiffers({ meteredKwh, billedKwh }: Billed): string {
  return `${figure(billedKwh)} kWh were billed (\`billedKwh\`) and ${figure(meteredKwh)} kWh are metered to be bought`;
}

/** A totals row and what its rows were read as, kWh. */
interface HeldTotal {
  readonly column: string;
  readonly totalKwh: number;
  readonly readKwh: number;
}

/** Why savings are withheld where a total of the file isn't what its rows hold. */
export function totalsDiffer({ column, totalKwh, readKwh }: HeldTotal): string {
  return `a totals row says ${figure(totalKwh)} kWh, and the rows of ${column} hold ${figure(readKwh)} kWh`;
}

/** Energy that the user's words leave out, kWh. */
interface LeftOutKwh {
  readonly left: readonly { readonly stream: string; readonly energyKwh: number }[];
  /** Of what would be read with it. */
  readonly share: number;
}

/** Why savings are withheld where registers are left out. */
export function energyLeftOut({ left, share }: LeftOutKwh): string {
  const told = left.slice(0, 6).map(({ stream, energyKwh }) => `${stream} (${energy(energyKwh)} kWh)`);
  if (left.length > 6) told.push(`${left.length - 6} more`);
  return `${listed(told)}, ${percent(share)} of what would be read with them, are left out as stated`;
}

/** What rows that are left out leave open: intervals of which nothing else is read. */
export function gapsLeft(alone: number): string {
  return `${alone.toLocaleString('en-US')} of their readings ${alone === 1 ? 'is' : 'are'} of times of which nothing else is read: gaps`;
}

/** Columns of a channel that are not read, and those that are. */
interface BesideColumns {
  readonly columns: readonly { readonly column: string; readonly energyKwh: number }[];
  readonly read: readonly string[];
  readonly role: string;
  /** Of what would be read with them. */
  readonly share: number;
}

/** Why savings are withheld where columns of registers are left out. */
export function columnsBeside({ columns, read, role, share }: BesideColumns): string {
  const left = columns.map(({ column, energyKwh }) => `${column} (${energy(energyKwh)} kWh)`);
  const verb = left.length === 1 ? 'is' : 'are';
  return read.length === 0
    ? `${left.join(', ')} ${verb} of ${role} and not read, nor is anything else of it`
    : `${left.join(', ')} ${verb} of ${role} too and not read beside ${read.join(', ')}: ${percent(share)} of all`;
}

function energy(kwh: number): string {
  return kwhDigits(kwh).toLocaleString('en-US');
}

/** What is known of kWh without decimals. */
interface WholeKwh {
  readonly channel: string;
  readonly readings: number;
  readonly energyKwh: number;
  /** What cutting off decimals takes, half a kWh a reading. */
  readonly lostKwh: number;
}

/** Why savings are withheld where decimals are left out. */
export function wholeKwh({ channel, energyKwh, lostKwh }: WholeKwh): string {
  return `${channel} holds whole kWh alone, ${figure(energyKwh)} in all, and if the decimals were cut off and not rounded, some ${figure(lostKwh)} kWh may be missing`;
}

/** Why savings are withheld where the grid runs the wrong way. */
export const GRID_REVERSED =
  'what the home draws and what it exports seem exchanged: it exports through the night, when there is no sun';

/** Why savings are withheld where the sun of the data keeps to another clock. */
export const CLOCK_ELSEWHERE =
  'the clock of the readings seems to be another than the home’s: what follows the sun has its middle far from noon, so that every price would be taken at the wrong hour';

/** Why savings are withheld where a home buys next to nothing about noon and what it sells isn't given. */
export const SUN_UNSEEN =
  'nothing is drawn about noon, as of a home with solar panels, and what it sells is not given: add its export';

/** The same where that is about another hour than noon. */
export const SUN_UNSEEN_ELSEWHERE =
  'nothing is drawn about an hour far from noon, as of a home with solar panels whose labels keep another clock than the home’s: every price would be taken at the wrong hour, and what it sells is not given: state the clock and add its export';

/** The same where a net gives what is bought and never falls below zero. */
export const SUN_UNSEEN_NET =
  'nothing is drawn about noon, as of a home with solar panels, yet the net never falls below zero, so that what it sells is cut off: add its export, or say that nothing is sold';

/** Why savings are withheld where a net has lost its signs. */
export const NET_SIGNS_LOST =
  'the net never falls below zero and rises with the solar, so that its minus signs are lost and what was exported counts as bought';

/** Why savings are withheld where hours are written several times. */
export const HOURS_REPEATED =
  'hours are written several times over, and whether each row holds the whole hour’s energy isn’t known';

/** A span of shares in percent: `3.1–8.4 %`. */
function band([low, high]: readonly [number, number]): string {
  return `${(low * 100).toFixed(1)}–${(high * 100).toFixed(1)} %`;
}

/** `2025-01-01 to 2025-12-31`, of local dates. */
function span({ from, to }: { readonly from: string; readonly to: string }): string {
  return `${from.slice(0, 10)} to ${to.slice(0, 10)}`;
}

/** A register of a NEM12 connection point that lacks days, all of them or from the file. */
export type MissingRegister = {
  /** By its suffix: `E2`. */
  readonly register: string;
  readonly role: string;
  /** From 1, where the file has several; 0: one of which nothing is read. */
  readonly usagePoint?: number;
} & (
  | { readonly why: 'no-day' }
  | {
      readonly why: 'not-in-file';
      /** Whether no savings rest on what is read without it. */
      readonly withheld: boolean;
    }
  | {
      readonly why: 'days';
      readonly days: number;
      /** The first six stretches of them, both ends included. */
      readonly runs: readonly { readonly from: string; readonly to: string }[];
      /** Registers of the same role that are read, and what they hold on those days. */
      readonly others: readonly string[];
      readonly othersKwh: number;
    }
);

/** Why savings are withheld where no file holds a register. */
export function unreadRegister(data: MissingRegister): string {
  return `${registerName(data)} is named by the configuration and in no record`;
}

function registerName({ register, role, usagePoint }: MissingRegister): string {
  const of =
    usagePoint === undefined
      ? ''
      : usagePoint > 0
        ? ` of usage point ${usagePoint}`
        : ' of a usage point without readings';
  return `register ${register} (${role})${of}`;
}

function missingRegister(data: MissingRegister): string {
  const name = registerName(data);
  switch (data.why) {
    case 'no-day':
      return `${name} is declared, and none of its days can be read: what it counts is missing from every day`;
    case 'not-in-file':
      return data.withheld
        ? `savings are withheld: ${unreadRegister(data)}: its energy is missing; add the file that holds it; where the meter counts nothing on it, state what was billed for these days, \`billedKwh\``
        : `${unreadRegister(data)}: right where it counts nothing or stands in another file; else its energy is missing`;
    case 'days': {
      const { days, runs, others, role } = data;
      return `${name} has no readings on ${count(days, 'day')} (${runsText(runs)}) on which ${listed(others)} ${others.length === 1 ? 'holds' : 'hold'} ${figure(data.othersKwh)} kWh: the ${role} of ${days === 1 ? 'that day is' : 'those days is'} not known, and not read; add them, or records of 0 where it counted nothing`;
    }
  }
}

/** Days that one of the parts of a channel lacks. */
interface MissingPart {
  /** Fit to print: `column 3 "Night kWh"`, `rows of "2"`, `usage point 2`. */
  readonly part: string;
  readonly role: string;
  /** What it is taken for on those days; `not-there`: 0, for a file says that it has no such register. */
  readonly counted: 'unknown' | 'zero' | 'not-there';
  readonly days: number;
  /** The first six stretches of them, both ends included. */
  readonly runs: readonly { readonly from: string; readonly to: string }[];
  /** The first six of the others, and what all of them hold on those days. */
  readonly others: readonly string[];
  readonly othersKwh: number;
}

/** Registers of what the home takes that are all of it that there is, though their names say that the meter counts on others as well. */
interface LoneRegisters {
  /** Fit to print: `column 2 "Night kWh"`, `register E2`. */
  readonly parts: readonly string[];
  readonly role: string;
  readonly energyKwh: number;
  /** The hours that show it, where no name does: nothing counts in them from the first date to the last, and in all others something. */
  readonly silent?: {
    readonly first: string;
    readonly last: string;
    readonly on: string;
    readonly from: string;
    readonly to: string;
  };
  /** No name of the file tells which register it is: what another file holds can't be told from it. */
  readonly unnamed?: true;
  /** The silent hours would be about noon if the labels were UTC, and begin and end as the sun does. */
  readonly isUtc?: true;
  /** What is read as bought keeps to the hours of the sun, and what is read as sold doesn't: the two may have each other's names. */
  readonly exchanged?: true;
  /** The days on which they are, beside files that hold the whole on others: not known. Absent of one file. */
  readonly days?: number;
  /** The first six stretches of them, both ends included. */
  readonly runs?: readonly { readonly from: string; readonly to: string }[];
}

function loneRegisters({ parts, role, energyKwh, silent, isUtc, exchanged, days, runs }: LoneRegisters): string {
  const [is, has] = parts.length === 1 ? ['is', 'its name says'] : ['are', 'their names say'];
  const lone = `${listed(parts)} (${figure(energyKwh)} kWh) ${is} all that is there of ${role}`;
  if (silent !== undefined && days === undefined)
    return `${lone}, and from ${silent.first} to ${silent.last} nothing counts in the same hours of every week (${silent.on} from ${silent.from} to ${silent.to}), while in all others something does: ${isUtc === true ? 'on labels of UTC those are hours about noon, in which a roof carries a home, so that the clock is likelier another than a register missing' : 'so counts one register of several, or a home that is off then'}${exchanged === true ? '; and it keeps to the hours of the sun, and what is read as sold doesn’t: import and export seem to have each other’s names' : ''}`;
  const why = `and ${has} that the meter counts on others as well`;
  return days === undefined
    ? `${lone}, ${why}`
    : `${lone} on ${count(days, 'day')} (${runsText(runs ?? [])}), ${why}: the ${role} of ${days === 1 ? 'that day is' : 'those days is'} not known, and not read; add the file that holds the others; where it is all that the home took, state \`channel: ${role}\` of its file`;
}

function missingPart({ part, role, counted, days, runs, others, othersKwh }: MissingPart): string {
  const lack = `${part}: no ${role} on ${count(days, 'day')} (${runsText(runs)}) on which ${listed(others)} ${others.length === 1 ? 'has' : 'have'} ${figure(othersKwh)} kWh`;
  switch (counted) {
    case 'unknown':
      return `${lack}: the ${role} of ${days === 1 ? 'that day is' : 'those days is'} not known, and not read; add the readings, or readings of 0 where it counted nothing`;
    case 'zero':
      return `${lack}: counted as 0, as it leaves readings out on other days too; where they are missing, add them`;
    case 'not-there':
      return `${lack}: counted as 0, as the configuration in the file of those days doesn’t name it; where it did count, add its readings`;
  }
}

/** What is told of rows on their way to series on an axis: steps, clocks, units, channels, joins. */
export const PLACING_WORDS = {
  /** The same energy once more (power, a register, a part of a total, a copy, one side of a net); left out. */
  'alternative-left': ({
    why,
    left,
  }: {
    why: 'running-total' | 'power' | 'part-of-total' | 'total-of-parts' | 'copy' | 'side-of-net';
    left: ToldStream;
  }) => {
    const is = {
      'running-total': 'is a running total beside readings of the same times',
      power: 'is a power beside the energy of the same times',
      'part-of-total': 'is a part of the total of the same times',
      'total-of-parts': 'is the sum of other rows of the same times, which count',
      copy: 'repeats other readings of the same times',
      'side-of-net': 'is one side of the net',
    };
    return `${tellStream(left)} ${is[why]}: left out`;
  },
  /** The repeated hour is there once; the second pass is a gap. */
  'autumn-hour-once': ({ date }: { date: string }) =>
    `the hour that the clock repeats on ${date} is there once: taken as the first pass, the second is a gap`,
  /** What is metered isn't what was billed: above 5 % savings are withheld. */
  'billed-differs': (data: Billed & { share: number; withheld: boolean }) =>
    `${data.withheld ? 'savings are withheld: ' : ''}${billedDiffers(data)}; look at the dates and the unit of both, at parts of the home that aren’t in the file, or at \`adjust.scale\``,
  /** The repeated hour is there twice without a mark; file order decided. */
  'autumn-hour-repeated': ({ date }: { date: string }) =>
    `the hour that the clock repeats on ${date} is there twice without a mark: the rows that come first were taken as the first pass`,
  /** The repeated hour is there once with the energy of two; split evenly. */
  'autumn-hour-summed': ({ date }: { date: string }) =>
    `the hour that the clock repeats on ${date} is there once, with about the energy of two: split evenly over both`,
  /** The repeated hour is there once and zero; zero in both passes. */
  'autumn-hour-zero': ({ date }: { date: string }) =>
    `the hour that the clock repeats on ${date} is there once and zero: taken as zero in both passes`,
  /** Labels off the grid by up to a tenth of a step, or half a minute, were moved onto it. */
  'clock-drift': ({ mostSeconds }: { readonly mostSeconds: number }) =>
    `labels up to ${mostSeconds < 120 ? `${Math.ceil(mostSeconds)} s` : `${Math.ceil(mostSeconds / 60)} minutes`} off the grid were moved onto it`,
  /** Labels that follow no clock change are whole days of the zone if they are UTC, and none if they are standard time. */
  'clock-unclear': ({ from, to }: { readonly from: string; readonly to: string }) =>
    `labels follow no clock change, and run from ${from} to ${to}: whole days of the zone if they are UTC, none if they are its standard time: state \`clock\` utc or standard`,
  /** The column of the labels is named for UTC, but they follow the clock of the home. */
  'utc-name-contradicted': ({ zone, date, kind }: { zone: string; date: string; kind: 'skips' | 'repeats' }) =>
    `the column of the labels is named for UTC, but on ${date} they ${kind === 'skips' ? 'skip' : 'repeat'} the hour that the clock of ${zone} ${kind}: state \`clock\` local or utc`,
  /** Labels keep standard time all year. State `clock` to say otherwise. */
  'clock-standard': ({ onceInAutumn }: { onceInAutumn: boolean }) =>
    `the hour that the clock skips in spring holds energy beside the hours around it${onceInAutumn ? ', and no hour is repeated in autumn' : ''}: the labels were read as standard time all year; state \`clock\` to say otherwise`,
  /** What steps of 60 (30) minutes hide: by how much figures read low beside 15-minute data. */
  'coarse-steps': ({
    stepMinutes,
    peakShares,
    flowShares,
  }: {
    stepMinutes: number;
    /** By how much a month's peak reads low, from a tenth to nine tenths of modelled homes. */
    peakShares: readonly [number, number];
    /** The same of import and export; absent where the home has no solar. */
    flowShares?: { readonly import: readonly [number, number]; readonly export: readonly [number, number] };
  }) => {
    const both =
      flowShares === undefined
        ? ''
        : `, import ${band(flowShares.import)} low and export ${band(flowShares.export)} low, because they cancel within a step`;
    return `steps of ${stepMinutes} minutes hide what happens within them: beside 15-minute data a month’s peak reads ${band(peakShares)} low${both} (a tenth to nine tenths of modelled homes)`;
  },
  /**
   * Columns are stated, and others of the same kind hold energy that is neither read nor in them. Savings are withheld where those are
   * registers of price windows, or all that is sold.
   */
  'columns-beside': (
    data: BesideColumns & {
      /** Of those read and those beside. */
      readonly columnNumbers: readonly number[];
      readonly withheld: boolean;
    },
  ) =>
    `${data.withheld ? 'savings are withheld: ' : ''}${columnsBeside(data)}; right where what is read is ${data.role === 'export' ? 'all that the home sells' : 'the whole home'}; where all are parts of it (phases, mains, registers of a tariff’s windows), state columns: { ${data.role}: [${data.columnNumbers.join(', ')}] }${data.withheld && data.role !== 'export' ? '; where what is read is what was billed, state `billedKwh`' : ''}`,
  /** Readings that repeat another exactly, or another series, were left out. */
  duplicate: ({ of }: { of: 'interval' | 'series' }) =>
    `readings that repeat another one ${of === 'interval' ? 'exactly ' : ''}were left out`,
  /** Two readings of one interval differ; gaps, an error where many. State `repeats`. */
  'duplicate-differs': (
    data:
      | { became: 'gaps' }
      | {
          became: 'question';
          intervals: number;
          /** What each answer would make of the stream. */
          firstKwh: number;
          lastKwh: number;
          addKwh: number;
        },
  ) => {
    if (data.became === 'gaps') return 'intervals with two readings that differ became gaps';
    const { intervals, firstKwh, lastKwh, addKwh } = data;
    const choices = Object.entries({ first: firstKwh, last: lastKwh, add: addKwh }).map(
      ([name, kwh]) => `${name}: ${energy(kwh)} kWh`,
    );
    return `${count(intervals, 'interval')} ${intervals === 1 ? 'has' : 'have'} two readings that differ, and nothing tells them apart: name the column that does with \`columns.type\` and say with \`rows\` what its texts mean, or state \`repeats\` (${choices.join(', ')})`;
  },
  /** Two records of one day and register of NEM12 differ, and neither is a later update. Correct one, or state `repeats`. */
  'day-twice': ({
    register,
    days,
    runs,
    lines,
    firstKwh,
    secondKwh,
    far,
  }: {
    /** By its suffix: `E1`. */
    readonly register: string;
    readonly days: number;
    /** The first six stretches of them, both ends included. */
    readonly runs: readonly { readonly from: string; readonly to: string }[];
    /** Of the first day that is told. */
    readonly lines: readonly [number, number];
    /** Of all those days: of the first record of each, and of the second. */
    readonly firstKwh: number;
    readonly secondKwh: number;
    /** They are further apart than a correction is. */
    readonly far: boolean;
  }) => {
    const which =
      days === 1
        ? `line ${lines[0]} with ${energy(firstKwh)} kWh and line ${lines[1]} with ${energy(secondKwh)} kWh`
        : `${energy(firstKwh)} kWh in the first records and ${energy(secondKwh)} kWh in the second, first in lines ${lines[0]} and ${lines[1]}`;
    const doubt = far ? '; they are far apart: one of the two may be another register’s or another day’s' : '';
    return `register ${register} has two records of ${days === 1 ? runs[0]!.from : `each of ${days} days (${runsText(runs)})`} that differ, and neither is a later update: ${which}${doubt}`;
  },
  /**
   * Nearly all days of a NEM12 register are there twice and differ: records of another register, whose record 200 is lost
   * or has this one's suffix. Or equal days that `repeats: add` would count twice.
   */
  'days-twice': ({
    why,
    register,
    days,
    ofDays,
    firstKwh,
    secondKwh,
  }: {
    readonly why: 'other-register' | 'equal-added';
    /** By its suffix: `E1`. */
    readonly register: string;
    readonly days: number;
    readonly ofDays: number;
    /** Of all those days: of the first record of each, and of the second. */
    readonly firstKwh: number;
    readonly secondKwh: number;
  }) =>
    why === 'other-register'
      ? `register ${register} has ${days} of its ${count(ofDays, 'day')} twice, and they differ (${energy(firstKwh)} kWh in the first records, ${energy(secondKwh)} kWh in the second): one of the two is another register’s, whose record 200 is lost or has the same suffix`
      : `register ${register} has ${days} of its ${count(ofDays, 'day')} twice with equal values: \`repeats\` (add) would count their ${energy(secondKwh)} kWh twice`,
  /** Durations that their neighbours contradict were taken as one interval. */
  'duration-odd': () => 'readings whose duration contradicts their neighbours were taken as one interval long',
  /**
   * Rows that the user's words leave out hold energy that nothing else that is read does. Savings are withheld where they
   * are registers of price windows, or all that is sold.
   */
  'energy-left-out': (
    data: LeftOutKwh & {
      readonly role: 'import' | 'export' | 'solar';
      readonly withheld: boolean;
      /** Readings of times of which nothing else is read: they are gaps. */
      readonly alone: number;
    },
  ) => {
    const did = { import: 'took', export: 'sold', solar: 'made' }[data.role];
    // What was billed says nothing of what was sold.
    const other = data.role === 'export' ? 'take these rows out of the file' : 'state `billedKwh`';
    const gaps = data.alone === 0 ? '' : ` (${gapsLeft(data.alone)})`;
    return `${data.withheld ? 'savings are withheld: ' : ''}${energyLeftOut(data)}, and nothing that is read holds their energy${gaps}; where the home ${did} it, say with \`rows\` what they are, in place of \`ignore\`${data.withheld ? `; where it didn’t, ${other}` : ''}`;
  },
  /** Values that the file marks as estimated. */
  'estimated-by-source': ({ estimated, intervals }: { estimated: number; intervals: number }) =>
    `the file marks ${estimated} intervals (${((100 * estimated) / intervals).toFixed(1)} %) as estimated`,
  /** Export begins in the midst of the data: before, nothing was sold. By the configurations of NEM12, or as nothing says that the home had sun. */
  'export-begins': ({
    from,
    days,
    by,
  }: {
    /** Local date. */
    readonly from: string;
    readonly days: number;
    readonly by: 'configuration' | 'no-reading';
    /** Of a file with several, from 1. */
    readonly usagePoint?: number;
  }) =>
    `export counts from ${from} on; on the ${count(days, 'day')} before ${by === 'configuration' ? 'the configuration names no register of it' : 'none is metered'}, and it is 0, as of a home that then began to sell; the figures are of both times: for those of the home as it is now, cut the data to the days from ${from} on (\`span\`); where it sold before, add the file that holds it`,
  /** Export printed as negative values. */
  'export-negative': ({ stream }: { stream: string }) =>
    `${stream} prints export as negative values: their sign was dropped`,
  /** Intervals without a reading, in one file or after joining several. */
  gap: ({
    after,
    channels,
    longest,
  }: {
    after: 'reading' | 'joining';
    channels: readonly string[];
    /** The longest gap in local dates, both included. */
    longest: { readonly from: string; readonly to: string; readonly intervals: number };
  }) => {
    const where = longest.from === longest.to ? `on ${longest.from}` : `from ${longest.from} to ${longest.to}`;
    return after === 'joining'
      ? `${channels.join(' and ')} has intervals without a reading, the most of them in a row ${where}`
      : `intervals have no reading of ${channels.join(' or ')}, the most of them in a row ${where} (each line given is the last one before a gap)`;
  },
  /** One stretch of days without a reading that was filled, with how far the same filling missed elsewhere; `gaps-filled` is the sum of all. */
  'long-gap-filled': ({
    channel,
    from,
    to,
    energyKwh,
    missedByKwh,
  }: {
    channel: string;
    /** Local dates, both included. */
    from: string;
    to: string;
    energyKwh: number;
    /** How far the same filling was off on metered stretches of that length, at most; null: too few to tell. */
    missedByKwh: number | null;
  }) => {
    const doubt =
      missedByKwh === null
        ? 'how far off that may be can’t be told: too little is metered to try it on'
        : `tried on metered stretches of that length, the same filling was off by up to ${figureBound(missedByKwh, 'up')} kWh`;
    return `${channel} has no reading from ${from} to ${to}: ${figure(energyKwh)} kWh were filled in from like days, an estimate; ${doubt}`;
  },
  /** The steps of each hour are equal: hourly data written in shorter steps, with what hourly data hide. */
  'hourly-in-quarters': ({
    stepMinutes,
    equalShare,
    kwhADay,
    settled = true,
    channel = 'import',
  }: {
    stepMinutes: number;
    equalShare: number;
    kwhADay: number;
    /** Absent in what older versions found. */
    settled?: boolean;
    channel?: 'import' | 'load';
  }) =>
    `in ${Math.floor(100 * equalShare)} % of hours all steps of ${stepMinutes} minutes are equal: these are hourly data written ${60 / stepMinutes} times an hour, and hide peaks as hourly data do. They make ${figure(kwhADay)} kWh a day${settled ? '' : `; if each row holds the whole hour’s energy, the truth is ${figure(kwhADay / (60 / stepMinutes))}, and savings are withheld until it is settled: state \`billedKwh\`, or \`adjust: { scale: { ${channel}: ${figure(stepMinutes / 60)} } }\` if it does and 1 if it doesn’t`}`,
  /** Some series run as interval starts, some as ends; all read as starts. */
  'label-ends-differ': () =>
    'some series run as labels of interval starts do and some as labels of interval ends do: all were taken as starts; state `intervalEnd`',
  /** The midnight that ends a day is written with the date of that day: it is read as 00:00 of the next one. */
  'midnight-of-its-day': ({ stepMinutes }: { stepMinutes: number }) =>
    `days are written from ${stepMinutes === 60 ? '01:00' : `00:${String(stepMinutes).padStart(2, '0')}`} to 00:00 of the same date: that midnight was read as the one that ends the day`,
  /** Labels run as ends do, in a zone where starts of whole days of UTC, or of its standard time in summer, run so too. */
  'label-ends-asked': ({ days }: { days: 'written' | 'of-home' }) =>
    days === 'written'
      ? 'hourly labels run from 01:00 to midnight: so do ends of intervals, and so do starts where a file holds whole days of UTC; state `intervalEnd`'
      : 'in the home’s time labels run from one step after midnight to midnight: so do ends of intervals, and so do starts where a file holds whole days of UTC or of a standard time; state `intervalEnd`',
  /** The step changes from some row on: all is summed to the longest. */
  'steps-change': ({
    finerMinutes,
    coarserMinutes,
    changes,
  }: {
    finerMinutes: number;
    coarserMinutes: number;
    changes: number;
  }) =>
    `the step changes between ${finerMinutes} and ${coarserMinutes} minutes, ${changes === 1 ? 'once' : `${changes} times`}: all is summed to ${coarserMinutes} minutes (each line given is the first of another step)`,
  /** Two steps one after the other. */
  'mixed-steps': ({ finerMinutes, coarserMinutes }: { finerMinutes: number; coarserMinutes: number }) =>
    `the file holds steps of ${describeStep(finerMinutes)} and of ${describeStep(coarserMinutes)}: split it, or state one`,
  /** Negative load, solar or export among positive; gaps. */
  'negative-value': ({ stream, role }: { stream: string; role: string }) =>
    `${stream} has negative values, which ${role} cannot: they became gaps`,
  /** A net column that is not import less export; left out. */
  'net-differs': () => 'the net column is not import less export: it was left out',
  /** A net that never falls below zero: of a home that never exports, or without its minus signs. */
  'net-one-way': ({ stream }: { stream: string }) =>
    `${stream} is a net and never falls below zero: right for a home that never exports; where it has solar, the minus signs are lost and what was exported counts as bought: download it again, or take import and export apart`,
  /** A net without a minus that rises with the solar, where a net that is drawn falls: savings are withheld. */
  'net-signs-lost': ({ risePerSolar }: { risePerSolar: number }) =>
    `${NET_SIGNS_LOST} (${risePerSolar.toFixed(2)} kWh for each kWh of sun from one day to the next; drawn from the grid it would fall). Download it with its signs, ` +
    'or with a column of import and one of export; if this one is the import alone, name it so and add the export: `columns: { import: …, export: … }`',
  /** A net that is the one less the other of its parts; left out. */
  'net-redundant': (data: { of: 'import-export' } | { of: 'streams'; net: ToldStream; used: string; made: string }) =>
    data.of === 'import-export'
      ? 'the net column is import less export: it was left out'
      : `${tellStream(data.net)} is ${data.used} less ${data.made}: it was left out`,
  /** A file of what the home drew holds nothing at night, on any date, and isn't shaped as solar: rather one circuit. State `channel`. */
  'nothing-at-night': ({
    role,
    nightHours,
    daysShare,
  }: {
    role: 'import' | 'load';
    /** Hours round the clock without any energy, on all dates. */
    nightHours: number;
    /** Of the days, those that hold energy, 0 … 1. */
    daysShare: number;
  }) =>
    `the ${role} is nothing for ${nightHours} hours of every night, and something on ${percent(daysShare)} of days: a home draws at night; is it one circuit, or what solar gave? State \`channel\``,
  /** Readings beside the grid of the others; left out. */
  'off-grid': ({ stepMinutes }: { stepMinutes: number }) =>
    `readings that don't lie on the ${describeStep(stepMinutes)} grid of the others were left out`,
  /** Files overlap and hold different amounts there: they measure different things. Say what each measures, or leave one out. */
  'overlap-contradicts': ({
    channel,
    from,
    to,
    firstKwh,
    otherKwh,
    alike,
  }: {
    channel: string;
    /** Local dates of the overlap, both included. */
    from: string;
    to: string;
    /** The days beside those that differ, where they are few: where a file's own `span` may end or begin. */
    dayBefore?: string;
    dayAfter?: string;
    firstKwh: number;
    otherKwh: number;
    /** Registers of one of the two, fit to print, that may stand beside what the other holds or be a part of it. */
    beside?: readonly string[];
    /** Whether `repeats: add`, stated of one of the two, would add it to the other. */
    addable?: true;
    /** Both are registers that count at all times, and what they hold is the same in every reading. */
    alike?: true;
  }) =>
    alike === true
      ? `two files hold registers that both count at all times, with the same ${channel} from ${from} to ${to}, ${figure(firstKwh)} kWh each: nothing says whether it was metered once or twice`
      : `two files hold ${channel} from ${from} to ${to} and don’t measure the same: ${figure(firstKwh)} kWh in the first, ${figure(otherKwh)} kWh in the other, interval by interval apart`,
  /** Files overlap and differ; the first counts. */
  'overlap-differs': ({
    channel,
    runs,
    firstKwh,
    otherKwh,
  }: {
    channel: string;
    /** The first six stretches of days on which they differ, both ends included. */
    readonly runs: readonly { readonly from: string; readonly to: string }[];
    /** Of the intervals that differ. */
    readonly firstKwh: number;
    readonly otherKwh: number;
  }) =>
    `files overlap in ${channel} and differ there (${runsText(runs)}: ${figure(firstKwh)} kWh in the first, ${figure(otherKwh)} kWh in the other): the first file counts`,
  /** Files overlap and agree; counted once. */
  'overlap-equal': ({ channel }: { channel: string }) => `files overlap in ${channel} and agree there: counted once`,
  /**
   * All that the files hold of what the home takes is a register of which the meter has another, by its name (HT, off-peak, E2) or as in
   * some hours of every week nothing counts: the rest may stand in another file. A study asks. Beside a file that holds the whole of other days its own days are gaps.
   */
  'part-alone': (data: LoneRegisters) => loneRegisters(data),
  /** Of meters, registers or columns that are added, one lacks days of the others: not known, or 0 where it leaves out its zeros. */
  'part-missing': (data: MissingPart) => missingPart(data),
  /** Sums of shorter readings of which some are missing became gaps. */
  'partly-missing': () => 'intervals were left as gaps because some of their shorter readings are missing',
  /** Readings of one channel and time, not known to be parts of one whole. */
  'parts-unclear': ({
    why,
    answer,
    role,
    streams,
  }: {
    /**
     * They are of the same times; are windows that both count at once; one is a net that holds more than the other; one is named
     * a total and isn't the sum of the others, or only of them and of what `rows` leaves out.
     */
    why: 'same-times' | 'windows-at-once' | 'net-holds-more' | 'total-differs' | 'total-of-left-out';
    /** The option that answers it, beside `repeats`. */
    answer: 'meterReading' | 'rows' | 'columns';
    role: string;
    streams: readonly ToldStream[];
  }) => {
    const are = {
      'same-times': `are ${role} of the same times, and nothing says that they are parts of one whole`,
      'windows-at-once': `are ${role} and both count in most intervals, though a meter counts on one of such registers at a time`,
      'net-holds-more': 'are of the same times, and one is a net that holds more than the other',
      'total-differs': 'are of the same times, and the one that is named a total isn’t the sum of the others',
      'total-of-left-out':
        'are of the same times, and the one that is named a total holds the others and what `rows` leaves out',
    };
    const how = {
      meterReading: '`meterReading`, the number of one or of all that are to be added',
      rows: '`rows`, what each of them is by its text (`ignore` leaves it out, the same channel twice adds)',
      columns: '`columns`, one or all that are to be added',
    };
    return `${tellStreams(streams)} ${are[why]}: state ${how[answer]}; or \`repeats\` (first, last, add)`;
  },
  /** A reading above what the service carries. */
  'reading-above-service': ({
    channel,
    mostKw,
    limitKw,
    often,
  }: {
    channel: string;
    mostKw: number;
    limitKw: number;
    /** So often that the limit is rather what is wrong. */
    often: boolean;
  }) =>
    `${channel} reads ${kw(mostKw)} over an interval, and the service carries at most ${kwBound(limitKw, 'up')}${often ? ': so often that the limit is rather what is wrong' : ''}`,
  /** Readings that claim several intervals, and hold the energy of all of them or of one. */
  'reading-too-long': ({ holds }: { holds: 'all' | 'one' }) =>
    holds === 'all'
      ? 'readings last several intervals and hold the energy of them all: spread evenly'
      : 'readings claim to last several intervals but hold the energy of one: put into the first, the rest are gaps',
  /** Readings of no duration in a repeated hour were added to the one beside. */
  'reading-without-duration': () =>
    'readings of no duration share their start with another: added to it, so that no energy is lost',
  /** A column that rises through the day and falls at midnight is a running total of the day. */
  'day-total-differenced': ({ stream, gaps }: { stream: string; gaps: number }) =>
    `${stream} only rises through each day and starts anew at midnight: read as the day’s running total, each reading less the one before${gaps === 0 ? '' : `; ${gaps === 1 ? 'one interval beside a missing row is a gap' : `${gaps} intervals beside missing rows are gaps`}`}`,
  /** A running total of the day from which the energy of each interval can't be told. */
  'day-total-unclear': ({ stream, why }: { stream: string; why: 'power' | 'starts-at-zero' }) =>
    `${stream} only rises through each day and starts anew at midnight, as a running total of the day does, ${why === 'power' ? 'but its unit is one of power' : 'but each day starts with a reading of zero: what the last interval of the day adds is never shown'}`,
  /** Of several readings of one interval the first or the last was taken, as stated, and others differ from it. */
  'repeats-left': ({
    taken,
    stream,
    readings,
    differing,
    leftKwh,
  }: {
    readonly taken: 'first' | 'last';
    readonly stream: string;
    /** Readings that were not taken. */
    readonly readings: number;
    /** Of those, how many differ from the one that was. */
    readonly differing: number;
    /** What they hold; null of running totals, and where their unit isn't known. */
    readonly leftKwh: number | null;
  }) =>
    `of several readings of one interval the ${taken} was taken, as \`repeats\` says: of ${stream} ${count(readings, 'other')}${leftKwh === null ? '' : ` (${energy(leftKwh)} kWh)`} ${readings === 1 ? 'was' : 'were'} left out, ${differing.toLocaleString('en-US')} of which ${differing === 1 ? 'differs' : 'differ'} from what was taken; where they are registers or phases, state \`repeats: add\``,
  /**
   * A register that a NEM12 file declares is not read, or not on all days of the others: what its connection point took or
   * gave on these days is not known. One that its configuration alone names may be unused.
   */
  'register-missing': (data: MissingRegister) => missingRegister(data),
  /** Two files hold different registers of one meter for the same time: they are added. */
  'registers-joined': ({
    channel,
    first,
    other,
    from,
    to,
    firstKwh,
    otherKwh,
  }: {
    readonly channel: string;
    /** Fit to print: `register E1`, `column 2 "Day kWh"`. */
    readonly first: readonly string[];
    readonly other: readonly string[];
    /** Local dates of the overlap, both included. */
    readonly from: string;
    readonly to: string;
    readonly firstKwh: number;
    readonly otherKwh: number;
  }) =>
    `two files hold ${channel} from ${from} to ${to}, ${listed(first)} in the first (${figure(firstKwh)} kWh) and ${listed(other)} in the other (${figure(otherKwh)} kWh): registers of one meter, added`,
  /** A column that never falls is a running total. */
  'register-differenced': ({ stream }: { stream: string }) => `${stream} never falls: read as a meter’s running total`,
  /** A running total that falls; a gap. */
  'register-exchanged': () => 'a register falls: the meter was exchanged or reset; the interval became a gap',
  /** Readings of a running total are missing; their energy is known, its course isn't. */
  'register-gap': () =>
    'readings of a register are missing: the energy between its neighbours is known, its course is not',
  /** A running total that rolled over; counted through. */
  'register-rollover': () => 'a register rolled over: counted through',
  /** One file of a channel follows another, and a day holds several times as much, or as little: they may measure different things. */
  'seam-differs': ({
    channel,
    from,
    beforeKwhADay,
    afterKwhADay,
  }: {
    channel: string;
    /** Local date on which the later file begins. */
    from: string;
    /** Over the last and the first 28 days of the two, at most. */
    beforeKwhADay: number;
    afterKwhADay: number;
  }) =>
    `where one file follows the other on ${from} the ${channel} goes from ${figure(beforeKwhADay)} to ${figure(afterKwhADay)} kWh a day: hold the kWh of a bill beside each; is one of them a circuit, or another meter?`,
  /** Negative use without an export column; import less export. */
  'signed-net': ({ stream }: { stream: string }) =>
    `${stream} has negative values and there is no export column: read as import less export`,
  /** Solar printed as negative values: look at its transformer's direction. */
  'solar-negative': ({ stream }: { stream: string }) =>
    `${stream} prints solar as negative values: their sign was dropped; check the current transformer’s direction`,
  /** All that a file holds has the shape of solar, and would be read as what the home drew: state `channel`. A warning once stated. */
  'solar-shaped': ({
    role,
    stated,
    nightHours,
    daysShare,
  }: {
    role: 'import' | 'load';
    /** The user said that it is what the home drew. */
    stated: boolean;
    /** Hours round the clock without any energy, on all dates. */
    nightHours: number;
    /** Of the days, those that hold energy, 0 … 1. */
    daysShare: number;
  }) =>
    `the ${role} is nothing for ${nightHours} hours of every night and follows the sun’s course by day, on ${percent(daysShare)} of days: that is what solar panels give; a home draws at night${stated ? `; taken as ${role} all the same, for so it is stated` : ''}`,
  /** An inverter's own draw at night, taken as zero. */
  'solar-standby': ({ stream }: { stream: string }) => `${stream} is slightly negative at night: taken as zero`,
  /** Channels of several files cover different spans. */
  'span-differs': ({
    spans,
  }: {
    /** Of each channel over all files: local dates, both included. */
    spans: readonly { readonly channel: string; readonly from: string; readonly to: string }[];
  }) => `the channels cover different spans: ${spans.map((each) => `${each.channel} ${span(each)}`).join(', ')}`,
  /** Dates years apart with little between them. */
  'span-too-long': ({ years, filledShare }: { years: number; filledShare: number }) =>
    `the dates span ${years.toFixed(0)} years and readings fill ${(100 * filledShare).toFixed(1)} % of them: some dates are misread or mistaken (each line given holds the earliest or the latest)`,
  /** Cut to the span that every channel covers: local dates, both included. */
  'span-trimmed': (kept: { from: string; to: string }) =>
    `the span was cut to what every channel covers: ${span(kept)}`,
  /** Readings in the skipped hour beside all others; left out. */
  'spring-hour-extra': () =>
    'readings stand in the hour that the clock skips, and the hours around it are there too: they were left out',
  /** The skipped hour is filled with zeros or blanks; left out. */
  'spring-hour-filled': () => 'the hour that the clock skips is filled with zeros or blanks: left out',
  /** The skipped hour stands for the absent one beside it; moved. */
  'spring-hour-kept': () =>
    'readings labelled in the hour that the clock skips stand for the hour beside it, which is absent: moved there',
  /** A file with no reading within `meter.span`; left out. */
  'span-empty': ({ file, from, to }: { file: string; from: string; to: string }) =>
    `the readings of ${file}, ${from} to ${to}, lie outside of "meter.span": left out`,
  /** Options are stated that do nothing on such a file: it says by itself what each reading is, and when. */
  'stated-unused': ({ layout, options }: { readonly layout: string; readonly options: readonly string[] }) =>
    `${listed(options.map((name) => `\`${name}\``))} ${options.length === 1 ? 'is' : 'are'} stated, and ${options.length === 1 ? 'does' : 'do'} nothing on ${layout}: its own records say what each reading is, and when; what is read is the same without`,
  /** Too few readings to tell the step. */
  'step-unclear': () => 'there are too few readings to tell how long an interval is',
  /** Files whose steps can't be joined. */
  'steps-differ': (
    data: { why: 'no-multiple'; stepMinutes: number; longestMinutes: number } | { why: 'other-minute' },
  ) =>
    data.why === 'no-multiple'
      ? `steps of ${data.stepMinutes} and ${data.longestMinutes} minutes can't be joined`
      : 'the intervals of the files start at different minutes',
  /** Files summed to the longest step among them. */
  'steps-joined': ({ stepMinutes, longestMinutes }: { stepMinutes: number; longestMinutes: number }) =>
    `steps of ${stepMinutes} minutes were summed to ${longestMinutes}, the longest of the files`,
  /** Readings summed to a step that an axis can have. */
  'summed-to-coarser': ({ stepMinutes, toMinutes }: { stepMinutes: number; toMinutes: number }) =>
    `readings of ${describeStep(stepMinutes)} were summed to ${toMinutes} minutes`,
  /** One figure in two steps; one was read. */
  'two-resolutions': (
    data:
      | { beside: 'days-or-months' }
      | {
          beside: 'finer-step';
          stream: string;
          finerMinutes: number;
          coarserMinutes: number;
          /** The coarser where the finer covers less of the time. */
          read: 'finer' | 'coarser';
        },
  ) =>
    data.beside === 'days-or-months'
      ? 'sums of days or months stand beside the interval data: left out'
      : `${data.stream} is there in steps of ${describeStep(data.finerMinutes)} and of ${describeStep(data.coarserMinutes)}: ${data.read === 'finer' ? 'the finer was read' : 'the coarser was read, for the finer covers less of the time'}`,
  /** From a day on values are a thousand times as large, or as small: the unit changes within the file. */
  'unit-changes': (data: {
    readonly date: string;
    readonly times: number;
    readonly dailyKwhBefore: number;
    readonly dailyKwhAfter: number;
  }) =>
    `from ${data.date} on values are ${data.times} times as large (${digits(data.dailyKwhBefore, 3)} kWh a day before, ${digits(data.dailyKwhAfter, 3)} after): the unit changes within the file`,
  /** A totals row isn't the sum of its rows: above 5 % savings are withheld. */
  'totals-differ': (data: HeldTotal & { share: number; withheld: boolean }) =>
    `${data.withheld ? 'savings are withheld: ' : ''}${totalsDiffer(data)}; rows may be missing from the file, or the total is of another column or span: download it again, or state \`billedKwh\``,
  /** A totals row is the sum of its rows if they are in another unit. State `unit`. */
  'totals-unit': (
    data: HeldTotal & {
      /** Of the values as read. */
      readonly unit: string;
      /** As the totals row prints it; null where it prints none. */
      readonly totalUnit: string | null;
      /** Units of the values that would make the total. */
      readonly others: readonly string[];
    },
  ) =>
    `${totalsDiffer(data)}, read in ${data.unit}; they hold what the total says if they are in ${data.others.join(' or ')}: state \`unit\``,
  /** Values that make no home’s year; a warning once stated. State `unit`. */
  'unit-implausible': ({
    why,
    units,
    yearKwh,
    days,
    others,
    printed,
  }: {
    /** No unit is stated; the stated one contradicts what the file prints; it is stated, and was taken. */
    why: 'not-stated' | 'contradicts-file' | 'stated';
    /** In which the values were read. */
    units: readonly string[];
    /** Energy of the largest channel, scaled to a year. */
    yearKwh: number;
    /** Length of the data. */
    days: number;
    /** Units that would make a home's year. */
    others: readonly { readonly unit: string; readonly yearKwh: number }[];
    /** Units that the file prints. */
    printed: readonly string[];
  }) => {
    const year = (kwh: number) => `${digits(kwh, 3).toLocaleString('en-US')} kWh a year`;
    const would = others.map((other) => `${other.unit} would make ${year(other.yearKwh)}`).join(', ');
    const seen = `values in ${units.join(' and ')} make ${year(yearKwh)}, scaled from ${digits(days, 3)} days${would === '' ? '' : ` (${would})`}`;
    switch (why) {
      case 'not-stated':
        return `${seen}: no home’s year; state \`unit\`, this one or another`;
      case 'contradicts-file':
        return `${seen}: the stated unit contradicts the file, which prints ${printed.join(' and ')}`;
      case 'stated':
        return `${seen}: no home’s year, but the unit is stated and was taken`;
    }
  },
  /** No unit is stated and only one fits. */
  'unit-inferred': ({ unit, by }: { unit: string; by: 'bill' | 'cost' | 'daily-energy' }) =>
    `no unit is stated: ${unit} was taken, for no other ${unitReason(by)}`,
  /** The file says another unit than was stated. */
  'unit-overridden': ({ stream, printed, stated }: { stream: string; printed: string; stated: string }) =>
    `${stream} says ${printed}; ${stated} was stated and taken`,
  /** An hour of UTC twice, another absent; readings between moved. */
  'utc-hour-repeated': () =>
    'an hour of UTC occurs twice with different values and another of that day is absent: the readings between were moved by an hour, so that each has an interval of its own',
  /** The labels' own clock changes on other dates than the stated zone's: they are not of that zone. */
  'zone-contradicted': ({
    zone,
    like,
    skips,
    repeats,
    zoneChanges,
    fitAsEnds,
  }: {
    zone: string;
    like: string;
    skips: readonly string[];
    repeats: readonly string[];
    zoneChanges: readonly string[];
    fitAsEnds?: boolean;
  }) => {
    const does = [
      ...(skips.length === 0 ? [] : [`skip an hour on ${skips.join(', ')}`]),
      ...(repeats.length === 0 ? [] : [`repeat one on ${repeats.join(', ')}`]),
    ].join(' and ');
    const own =
      zoneChanges.length === 0
        ? 'does not change within the data'
        : `changes on ${zoneChanges.join(', ')}, which they don't`;
    if (fitAsEnds === true)
      return `the labels, read as the starts of their intervals, ${does}, as the clocks of ${like} do; read as the ends, as that of ${zone} does`;
    return `the labels ${does}, as the clocks of ${like} do; that of ${zone} ${own}: the zone is not theirs`;
  },
  /** The labels skip and repeat an hour on the zone's own dates, but hours before or after it does. */
  'clock-off-by-hours': ({
    zone,
    lateHours,
    dates,
  }: {
    zone: string;
    /** Negative where the labels are early. */
    lateHours: number;
    dates: readonly string[];
  }) =>
    `the labels skip and repeat an hour on ${dates.join(', ')}, as the clock of ${zone} does, but ${Math.abs(lateHours)} hours ${lateHours > 0 ? 'after' : 'before'} it: they stand ${Math.abs(lateHours)} hours too ${lateHours > 0 ? 'late' : 'early'}, and every price is taken at the wrong hour`,
  /** The labels state offsets from UTC that the stated zone never has. */
  'offsets-not-of-zone': ({
    zone,
    stated,
    zones,
  }: {
    zone: string;
    stated: readonly number[];
    zones: readonly number[];
  }) => {
    const list = (offsets: readonly number[]) => offsets.map(offsetText).join(' and ');
    return `the labels state offsets of ${list(stated)} from UTC, and ${zone} has ${list(zones)}: if the home does not stand in ${zone}, every price window is read at the wrong hour`;
  },
  /** Every reading is a whole kWh: decimals were rounded or cut off. Withheld where cutting may move the sum by a twentieth. */
  'whole-kwh': (data: WholeKwh & { readonly withheld: boolean }) =>
    `${data.withheld ? 'savings are withheld: ' : ''}${wholeKwh(data)}; each reading may be off by half a kWh where it was rounded, and too low by up to one where it was cut; look for a download with decimals, or state what a bill shows: \`billedKwh\``,
  /** The files to join stand in different zones. */
  'zone-differs': () => 'the files are of different zones',
} as const;

export type PlacingWords = typeof PLACING_WORDS;

/** `+01:00` of 60. */
function offsetText(minutes: number): string {
  const size = Math.abs(minutes);
  const part = (value: number) => String(value).padStart(2, '0');
  return `${minutes < 0 ? '−' : '+'}${part(Math.floor(size / 60))}:${part(size % 60)}`;
}
