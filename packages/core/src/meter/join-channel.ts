import type { Axis } from '../axis/index.ts';
import { toldRuns } from './day-runs.ts';
import { MINUTE_MS } from './durations.ts';
import type { FindingList } from './findings.ts';
import { areBeside, besideGeneral, type OfFile } from './join-beside.ts';
import {
  type Both,
  civilDaysOf,
  compared,
  contradict,
  type Held,
  laidOn,
  overlay,
  tellContradiction,
} from './overlay.ts';
import { areDifferentWindows } from './part.ts';
import { type Added, addRegisters, allKnown, type LocalSlots, localSlots, MOST_AT_ONCE, tell } from './place/unite.ts';
import { type Channel, type ChannelPart, channelField, type IntervalSeries } from './series.ts';
import { dateAt } from './span.ts';

/** A weekend may be of one register alone: hours of the same time that show whether that is all. */
const ENOUGH_HOURS = 7 * 24;

interface Joined {
  readonly values: Float64Array;
  readonly parts: readonly ChannelPart[];
}

/**
 * A channel of several files as one. Files that hold the same registers are compared where they overlap, and the first counts.
 * Where one holds a register that another lacks, each register is joined by itself, and they are added as those of one file
 * are: what a register lacks while others are read is not known, unless something says that it counted nothing.
 *
 * @param estimated gets the marks of what is taken
 * @returns undefined, with an error finding, where files contradict each other
 */
export function joinChannel(
  all: readonly IntervalSeries[],
  channel: Channel,
  axis: Axis,
  estimated: Uint8Array,
  findings: FindingList,
): Joined | undefined {
  const own = all.flatMap((part) => {
    const kwh = part[channelField(channel)];
    return kwh === undefined ? [] : [ofFile(part, kwh, channel, axis)];
  });
  const files = besideGeneral(own, channel, axis, findings);
  if (files === undefined) return undefined;
  const registers = [...new Set(files.flatMap((file) => [...file.registers.keys()]))];
  const isWhole = ({ parts, registers: own }: OfFile) => parts === undefined || own.size === registers.length;
  if (files.every(isWhole)) {
    const values = overlay(withoutLone(files, channel, axis, findings), channel, axis, estimated, findings);
    return values && { values, parts: joinedParts(files, channel, axis) };
  }
  const apart = settleAsides(files, channel, axis, findings);
  if (apart === undefined) return undefined;
  const named = apart.filter(({ parts }) => parts !== undefined);
  const lone = areLone(named, registers);
  const parts: ChannelPart[] = [];
  for (const register of registers) {
    const holders = named.flatMap((file) => file.registers.get(register) ?? []);
    const kwh = overlay(holders, channel, axis, estimated, findings);
    if (kwh === undefined) return undefined;
    const { alone, ...part } = partOf(named, register);
    parts.push({ ...part, ...(lone ? { alone: lone } : {}), kwh });
  }
  const slots = localSlots(
    { startMs: axis.startEpochMs, stepMs: axis.stepMinutes * MINUTE_MS, intervals: axis.intervals },
    axis.zone,
  );
  countAbsent(named, parts, channel, axis, findings);
  const sum = addParts(named, parts, channel, slots, findings);
  // Of a file that holds all registers, its own reading of what they lack counts.
  for (const { kwh } of named.filter(isWhole))
    for (let i = 0; i < sum.length; i++) if (Number.isNaN(sum[i]!)) sum[i] = kwh[i]!;
  const wholes: Held[] = apart.filter((file) => file.parts === undefined);
  if (wholes.length === 0) return { values: sum, parts: withUnread(parts, named) };
  const names = parts.map(({ name }) => name);
  const added = lone ? knownOfLone({ kwh: sum }, names, wholes, channel, axis, findings) : { kwh: sum };
  const first = apart[0]!.parts === undefined ? [...wholes, added] : [added, ...wholes];
  const values = overlay(first, channel, axis, estimated, findings);
  return values && { values, parts: [] };
}

function ofFile(part: IntervalSeries, kwh: Float64Array, channel: Channel, axis: Axis): OfFile {
  const own = part.parts?.filter((each) => each.channel === channel) ?? [];
  const read = own.filter((each) => each.kwh !== undefined);
  return {
    ...laidOn(axis, part, kwh),
    parts: read.length === 0 ? undefined : new Map(own.map((each) => [each.register, each])),
    registers: new Map(read.map((each) => [each.register, laidOn(axis, part, each.kwh!)])),
  };
}

/** Files with what is known of lone registers beside those that hold the whole: see {@link knownOfLone}. */
function withoutLone(files: readonly OfFile[], channel: Channel, axis: Axis, findings: FindingList): readonly Held[] {
  const wholes = files.filter(({ parts }) => parts === undefined);
  return files.map((file) => (isLone(file) ? knownOfLone(file, namesOf(file), wholes, channel, axis, findings) : file));
}

/**
 * Registers that are lone in their files, where other files hold the whole: on days that none of those holds, what the other
 * registers counted is not known. What is the same as the whole for a week is all of it, whatever its name.
 */
function knownOfLone(
  { kwh, marks }: Held,
  names: readonly string[],
  wholes: readonly Held[],
  channel: Channel,
  axis: Axis,
  findings: FindingList,
): Held {
  const whole = new Float64Array(axis.intervals).fill(Number.NaN);
  for (const each of wholes)
    for (let i = 0; i < whole.length; i++) if (Number.isNaN(whole[i]!)) whole[i] = each.kwh[i]!;
  const both = compared(whole, kwh);
  // Where they contradict each other that is told.
  if (wholes.length === 0 || both.intervals * axis.stepHours >= ENOUGH_HOURS || contradict(both, axis))
    return { kwh, marks };
  const lost = [...kwh.keys()].filter((i) => !Number.isNaN(kwh[i]!) && Number.isNaN(whole[i]!));
  if (lost.length === 0) return { kwh, marks };
  const days = civilDaysOf(axis, lost);
  findings.add(
    'part-alone',
    'warning',
    {
      parts: names,
      role: channel,
      energyKwh: lost.reduce((sum, i) => sum + kwh[i]!, 0),
      days: days.length,
      runs: toldRuns(days),
    },
    { count: days.length, key: `${channel} ${names.join()} ${lost[0]}` },
  );
  return { kwh: kwh.map((value, i) => (Number.isNaN(whole[i]!) ? Number.NaN : value)), marks };
}

function isLone({ parts }: OfFile): boolean {
  return parts !== undefined && [...parts.values()].some(({ alone }) => alone === true);
}

/** Whether registers that are each lone in their files are so together: none is surely the other's counterpart. */
function areLone(files: readonly OfFile[], registers: readonly string[]): boolean {
  return (
    files.every(isLone) &&
    !registers.some((one, k) => registers.slice(k + 1).some((other) => areDifferentWindows(one, other)))
  );
}

function namesOf({ parts, registers }: OfFile): string[] {
  return [...registers.keys()].map((register) => parts!.get(register)!.name);
}

function partOf(files: readonly OfFile[], register: string): ChannelPart {
  const holder = files.find((file) => file.registers.has(register))!;
  return holder.parts!.get(register)!;
}

/** What is known of the registers of files that hold the same ones, joined as the channel is. */
function joinedParts(files: readonly OfFile[], channel: Channel, axis: Axis): ChannelPart[] {
  if (files.some(({ parts }) => parts === undefined)) return [];
  const registers = [...files[0]!.registers.keys()];
  const joined = registers.map((register): ChannelPart => {
    const kwh = new Float64Array(axis.intervals).fill(Number.NaN);
    for (const file of files) {
      const own = file.registers.get(register)!.kwh;
      for (let i = 0; i < kwh.length; i++) if (Number.isNaN(kwh[i]!)) kwh[i] = own[i]!;
    }
    return { ...partOf(files, register), channel, ...(files.some(isLone) ? { alone: true as const } : {}), kwh };
  });
  return withUnread(joined, files);
}

/** With what some file names and none holds. What one file says of all registers, the others may not. */
function withUnread(read: readonly ChannelPart[], files: readonly OfFile[]): ChannelPart[] {
  const parts = new Map(read.map((part) => [part.register, part]));
  for (const file of files)
    for (const [register, part] of file.parts!) if (!parts.has(register)) parts.set(register, part);
  const allListed = files.every((file) => [...file.parts!.values()].every((part) => part.allListed));
  return [...parts.values()].map((part) => ({ ...part, allListed }));
}

/**
 * Settles what two files hold of the same time that have no register in common: the same energy once more under other names,
 * which counts once, or registers of one meter, which are added.
 *
 * @returns undefined, with an error finding, where it is neither
 */
function settleAsides(
  files: readonly OfFile[],
  channel: Channel,
  axis: Axis,
  findings: FindingList,
): OfFile[] | undefined {
  const settled: OfFile[] = [];
  for (const file of files) {
    let own = file;
    for (const known of settled) {
      if (own.parts === undefined || known.parts === undefined || areBeside(known, own)) continue;
      if ([...own.registers.keys()].some((register) => known.registers.has(register))) continue;
      const both = compared(known.kwh, own.kwh);
      if (both.intervals === 0) continue;
      const arePoints = [known, own].every(({ parts }) =>
        [...parts!.values()].every(({ counts }) => counts === 'always'),
      );
      if (!arePoints && !contradict(both, axis)) own = without(own, known, channel, axis, findings);
      else if (areOfOneMeter(known, own) || isAdded(known) || isAdded(own))
        tellAdded(known, own, both, channel, axis, findings);
      else {
        tellContradiction(both, channel, axis, findings, { addable: true });
        return undefined;
      }
    }
    settled.push(own);
  }
  return settled;
}

/** A file without what another one holds too. */
function without(file: OfFile, known: OfFile, channel: Channel, axis: Axis, findings: FindingList): OfFile {
  overlay([known, file], channel, axis, new Uint8Array(axis.intervals), findings);
  const blanked = ({ kwh, marks }: Held): Held => ({
    kwh: kwh.map((value, i) => (Number.isNaN(known.kwh[i]!) ? value : Number.NaN)),
    marks,
  });
  return {
    ...file,
    ...blanked(file),
    registers: new Map([...file.registers].map(([register, held]) => [register, blanked(held)])),
  };
}

/** Whether two files hold registers of one meter: those of one connection point, windows that take turns, or a circuit. */
function areOfOneMeter(one: OfFile, other: OfFile): boolean {
  const [a, b] = [one, other].map(({ parts }) => [...parts!.values()].filter((part) => part.kwh !== undefined)) as [
    ChannelPart[],
    ChannelPart[],
  ];
  const points = new Set([...a, ...b].map(({ point }) => point));
  const all = (parts: readonly ChannelPart[], counts: ChannelPart['counts']) =>
    parts.every((part) => part.counts === counts);
  if (all([...a, ...b], 'always')) return points.size === 1 && !points.has(undefined);
  points.delete(undefined);
  if (points.size > 1 || [...a, ...b].some(({ counts }) => counts === 'always')) return false;
  if (all(a, 'any-time') !== all(b, 'any-time')) return true;
  const areWindows = [...a, ...b].every(({ counts }) => counts === 'in-turn' || counts === 'unsaid');
  // Words of the user hide what a file says of when a register counts, not its name.
  const areTold =
    all([...a, ...b], 'in-turn') || a.every((x) => b.every((y) => areDifferentWindows(x.register, y.register)));
  return areWindows && areTold && takeTurns(one.kwh, other.kwh);
}

/** Whether the user says that all that a file holds is added to what others hold. */
function isAdded({ parts }: OfFile): boolean {
  return [...parts!.values()].every(({ added }) => added === true);
}

function takeTurns(one: Float64Array, other: Float64Array): boolean {
  let counting = 0;
  let otherCounting = 0;
  let atOnce = 0;
  for (let i = 0; i < one.length; i++) {
    if (Number.isNaN(one[i]! + other[i]!)) continue;
    if (one[i]! > 0) counting++;
    if (other[i]! > 0) otherCounting++;
    if (one[i]! > 0 && other[i]! > 0) atOnce++;
  }
  return atOnce <= MOST_AT_ONCE * Math.min(counting, otherCounting);
}

function tellAdded(one: OfFile, other: OfFile, both: Both, channel: Channel, axis: Axis, findings: FindingList): void {
  findings.add(
    'registers-joined',
    'note',
    {
      channel,
      first: namesOf(one),
      other: namesOf(other),
      from: dateAt(axis, both.first),
      to: dateAt(axis, both.last),
      firstKwh: both.knownKwh,
      otherKwh: both.otherKwh,
    },
    { count: both.intervals, key: `${channel} ${namesOf(one).join()} ${namesOf(other).join()}` },
  );
}

/** Counts as 0 what a file says wasn't there while it was read. */
function countAbsent(
  files: readonly OfFile[],
  parts: readonly ChannelPart[],
  channel: Channel,
  axis: Axis,
  findings: FindingList,
): void {
  for (const { register, name, kwh, point } of parts) {
    const lacking: number[] = [];
    const others = new Set<string>();
    let othersKwh = 0;
    for (const file of files) {
      const own = [...file.parts!.values()];
      // What lists the registers of another connection point says nothing of this one's.
      if (file.parts!.has(register) || !own.every((part) => part.allListed && part.point === point)) continue;
      for (let i = 0; i < kwh!.length; i++) {
        if (!Number.isNaN(kwh![i]!) || Number.isNaN(file.kwh[i]!)) continue;
        kwh![i] = 0;
        lacking.push(i);
        othersKwh += file.kwh[i]!;
        for (const held of file.registers.keys()) others.add(file.parts!.get(held)!.name);
      }
    }
    if (lacking.length === 0) continue;
    const days = civilDaysOf(axis, lacking);
    findings.add(
      'part-missing',
      'warning',
      {
        part: name,
        role: channel,
        counted: 'not-there',
        days: days.length,
        runs: toldRuns(days),
        others: [...others],
        othersKwh,
      },
      { count: days.length, key: `${name} ${channel} not-there` },
    );
  }
}

/** Adds registers that were joined, as those of one file are added. */
function addParts(
  files: readonly OfFile[],
  parts: readonly ChannelPart[],
  channel: Channel,
  slots: LocalSlots,
  findings: FindingList,
): Float64Array {
  const registers = parts.map(({ register, name, counts, kwh }): Added & { readonly always: boolean } => {
    // What it lacks of a file that holds it was told of that file.
    const days = new Uint8Array(slots.days);
    for (const file of files)
      if (file.registers.has(register))
        for (const held of file.registers.values())
          for (let i = 0; i < kwh!.length; i++) if (!Number.isNaN(held.kwh[i]!)) days[slots.day[i]!] = 1;
    const always = counts === 'always';
    const window = counts === 'in-turn' || counts === 'unsaid' ? register : undefined;
    return { name, line: 0, values: kwh!, days, counts: always ? 'unsaid' : counts, always, window };
  });
  const always = registers.filter((register) => register.always);
  const others = registers.filter((register) => !register.always);
  if (always.length === 0) return addRegisters(others, channel, slots, findings);
  const sum = allKnown(always);
  for (const register of always) {
    const lacking = new Set<number>();
    for (let i = 0; i < sum.length; i++)
      if (Number.isNaN(register.values[i]!) && always.some(({ values }) => !Number.isNaN(values[i]!)))
        lacking.add(slots.day[i]!);
    const rest = always.filter((other) => other !== register);
    if (lacking.size > 0) tell('unknown', register, rest, channel, [...lacking], slots, findings);
  }
  if (others.length === 0) return sum;
  const days = new Uint8Array(slots.days);
  for (const register of always) for (const [d, has] of register.days.entries()) days[d] = days[d]! | has;
  const ofPoint: Added = { name: always[0]!.name, line: 0, values: sum, days, counts: 'any-time' };
  return addRegisters([ofPoint, ...others], channel, slots, findings);
}
