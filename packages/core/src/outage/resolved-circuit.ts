import { flag, list, number, oneOf, optional, record, text } from '../input/door.ts';
import { amount } from '../plant/inside.ts';

/** A circuit with every figure filled in, and what each assumption was. */
export interface ResolvedCircuit {
  readonly name: string;
  readonly leg: 'L1' | 'L2' | '240';
  /** Draw while it runs, W, and the apparent power that the inverter must carry then, VA: what fits at one time. */
  readonly runningW: number;
  readonly runningVa: number;
  /** Apparent power while it starts, its soft starter counted, VA; the running VA where nothing starts hard. */
  readonly startVa: number;
  /** Whether `startVa` is known or estimated well enough; where not, it is not carried. */
  readonly startKnown: boolean;
  readonly startSeconds: number | undefined;
  readonly fromMinute: number;
  /** End of its hours, minutes; beyond 1440 over midnight. */
  readonly toMinute: number;
  /** Bit m set: it can run in month m. */
  readonly months: number;
  /** Share of its hours in which it runs: `runningW` × `dutyShare` is its mean draw, and how long energy lasts. */
  readonly dutyShare: number;
  /** The same in a storm, at least `dutyShare`; absent: the same. */
  readonly stormDutyShare?: number;
  readonly priority: number;
  readonly neverShed: boolean;
  readonly shedBelow: number;
  readonly unattended: boolean;
  readonly medical: boolean;
  readonly sharedNeutralWith: string | undefined;
  readonly breakerAmps: number | undefined;
  /** What was taken because the file doesn't say, in words. */
  readonly assumed: readonly string[];
}

const share = number({ least: 0, most: 1 });

/** A circuit with every figure filled in. */
export const aCircuit = record<ResolvedCircuit>({
  name: text,
  leg: oneOf(['L1', 'L2', '240']),
  runningW: amount,
  runningVa: amount,
  startVa: amount,
  startKnown: flag,
  startSeconds: optional(amount),
  fromMinute: number({ least: 0, most: 1440 }),
  toMinute: number({ least: 0, most: 2880 }),
  months: number({ whole: true, least: 0, most: 8190 }),
  dutyShare: share,
  stormDutyShare: optional(share),
  priority: number(),
  neverShed: flag,
  shedBelow: share,
  unattended: flag,
  medical: flag,
  sharedNeutralWith: optional(text),
  breakerAmps: optional(amount),
  assumed: list(text),
});

/** Circuits with every figure filled in. */
export const someCircuits = list(aCircuit);
