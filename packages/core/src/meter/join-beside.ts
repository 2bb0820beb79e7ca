import type { Axis } from '../axis/index.ts';
import type { FindingList } from './findings.ts';
import { compared, contradict, type Held, tellContradiction } from './overlay.ts';
import type { Channel, ChannelPart } from './series.ts';
import { dateAt } from './span.ts';

/** A channel of one file: all of it, and its registers where the file names them. */
export interface OfFile extends Held {
  /** By their names; undefined where the channel is a whole. */
  readonly parts: ReadonlyMap<string, ChannelPart> | undefined;
  /** The same on the axis of all files; what the file names and doesn't hold is not among them. */
  readonly registers: ReadonlyMap<string, Held>;
}

/** What a file without a name of a register holds, where another one holds a register beside it. No text of a file is called so. */
const GENERAL = '\u0000general';
/** Of a circuit's energy, what stands above the other file's, which then can't hold it: more than rounding and clouds in a clock. */
const ABOVE_SHARE = 0.1;
/** What the other rises with each kWh that the circuit rises: 1 where it holds it, 0 where it doesn't. */
const MOST_RISE = 0.3;
/** Fewer steps of a circuit that is switched prove nothing. */
const LEAST_STEPS = 100;

/**
 * Files of a channel as registers of one meter, where some hold one that the meter has beside others (a controlled load) and the
 * rest hold what they call no register (general usage): they are added. So it is where the user says so, and of a circuit where its
 * readings show that the others don't hold it. Files that it isn't about come back as they are.
 *
 * @returns undefined, with an error finding that asks, where the others may hold it too, or where two files that name no register
 * hold different things
 */
export function besideGeneral(
  files: readonly OfFile[],
  channel: Channel,
  axis: Axis,
  findings: FindingList,
): readonly OfFile[] | undefined {
  const wholes = files.filter(({ parts }) => parts === undefined);
  const apart = files.filter(({ parts }) => parts !== undefined);
  const registers = apart.flatMap(readParts);
  if (registers.length === 0 && wholes.length === 2) {
    const both = compared(wholes[0]!.kwh, wholes[1]!.kwh);
    if (!contradict(both, axis)) return files;
    tellContradiction(both, channel, axis, findings, { addable: true });
    return undefined;
  }
  if (wholes.length === 0 || registers.length === 0 || !registers.every(isApart)) return files;
  const whole = firstOf(wholes.map(({ kwh }) => kwh));
  const own = firstOf(apart.map(({ kwh }) => kwh));
  const both = compared(whole, own);
  if (!contradict(both, axis)) return files;
  const names = [...new Set(registers.map(({ name }) => name))];
  const areStated = registers.every(({ added }) => added === true);
  const areCircuits = registers.every(({ counts }) => counts === 'any-time');
  if (!areStated && !(areCircuits && isOutside(own, whole))) {
    tellContradiction(both, channel, axis, findings, { beside: names });
    return undefined;
  }
  const isFirst = files[0]!.parts === undefined;
  const of = { general: 'the general register', kwh: both.knownKwh };
  findings.add(
    'registers-joined',
    'note',
    {
      channel,
      first: isFirst ? [of.general] : names,
      other: isFirst ? names : [of.general],
      from: dateAt(axis, both.first),
      to: dateAt(axis, both.last),
      firstKwh: isFirst ? of.kwh : both.otherKwh,
      otherKwh: isFirst ? both.otherKwh : of.kwh,
    },
    { count: both.intervals, key: `${channel} general ${names.join()}` },
  );
  const general: ChannelPart = { channel, register: GENERAL, name: of.general, counts: 'unsaid', allListed: false };
  return files.map((file) =>
    file.parts === undefined
      ? { ...file, parts: new Map([[GENERAL, { ...general, kwh: file.kwh }]]), registers: new Map([[GENERAL, file]]) }
      : file,
  );
}

/** Whether one of two files holds what another one's register stands beside: that they are added is settled. */
export function areBeside(one: OfFile, other: OfFile): boolean {
  return one.registers.has(GENERAL) !== other.registers.has(GENERAL);
}

function readParts({ parts }: OfFile): ChannelPart[] {
  return [...(parts?.values() ?? [])].filter(({ kwh }) => kwh !== undefined);
}

/** Whether a register is one that a meter has beside others, by its name, its hours or the user's word. */
function isApart({ counts, alone, added }: ChannelPart): boolean {
  return counts === 'any-time' || alone === true || added === true;
}

/** The first that is known. */
function firstOf(all: readonly Float64Array[]): Float64Array {
  return all[0]!.map((kwh, i) => (Number.isNaN(kwh) ? (all.find((each) => !Number.isNaN(each[i]!))?.[i] ?? kwh) : kwh));
}

/** Whether readings show that one series is no part of another: it is above it, or the other doesn't move with it. */
function isOutside(own: Float64Array, whole: Float64Array): boolean {
  let [all, above, products, squares, steps] = [0, 0, 0, 0, 0];
  for (let i = 0; i < own.length; i++) {
    if (Number.isNaN(own[i]! + whole[i]!)) continue;
    all += own[i]!;
    above += Math.max(0, own[i]! - whole[i]!);
    const step = i === 0 ? Number.NaN : own[i]! - own[i - 1]!;
    const rise = i === 0 ? Number.NaN : whole[i]! - whole[i - 1]!;
    if (Number.isNaN(step + rise) || step === 0) continue;
    steps++;
    products += step * rise;
    squares += step * step;
  }
  return above > ABOVE_SHARE * all || (steps >= LEAST_STEPS && products <= MOST_RISE * squares);
}
