import { check, record } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { type Flows, type Levels, makeFlows } from '../plant/index.ts';
import { levelsOfLength } from '../plant/inside.ts';
import type { Curtain } from './curtain.ts';
import type { Strategy } from './strategy.ts';

/** What a strategy that isn't ours is handed, and what it left of it. */
export interface Stranger {
  /** Its own copy of the flows. */
  readonly flows: Flows;
  /** Shows it the flows of intervals `[from, to)`. */
  show(flows: Flows, from: number, to: number): void;
  /**
   * Its levels, read once. It may put arrays of its own in their place, but none may be missing or of another length; and no
   * array that it was shown may be gone (an array's memory can be given to a worker).
   * @throws InputError `missing` | `wrong-type` | `length-mismatch` | `array-gone`
   */
  levels(curtain: Curtain | undefined): Levels;
}

/** Meets a stranger at the begin of a run of `intervals`. */
export function meetStranger(strategy: Strategy, handed: Levels, intervals: number): Stranger {
  const own = { ...handed };
  const shown = makeFlows(intervals);
  const fields = Object.keys(shown) as (keyof Flows)[];
  return {
    // The object may be emptied; its arrays are kept here.
    flows: { ...shown },
    show(flows, from, to) {
      for (const field of fields) shown[field].set(flows[field].subarray(from, to), from);
    },
    levels(curtain) {
      const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, exportDownToKwh, importCapKw, gridChargeKw } = handed;
      const levels: Levels = {
        solarChargeToKwh,
        gridChargeToKwh,
        serveDownToKwh,
        exportDownToKwh,
        importCapKw,
        gridChargeKw,
      };
      const isOwn = (field: keyof Levels) => levels[field] === own[field] && own[field].length === intervals;
      if (!(Object.keys(own) as (keyof Levels)[]).every(isOwn)) checkLevels(strategy, levels, intervals);
      if (curtain?.isWhole() === false || fields.some((field) => shown[field].length !== intervals))
        throw arrayGone(strategy);
      return levels;
    },
  };
}

function checkLevels({ name }: Strategy, levels: Levels, intervals: number): void {
  try {
    check({ strategy: { levels } }, { strategy: record<{ levels: Levels }>({ levels: levelsOfLength }) }, intervals);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    throw new InputError(error.issues.map((issue) => ({ ...issue, where: { ...issue.where, name } })));
  }
}

function arrayGone({ name }: Strategy): InputError {
  return new InputError([
    {
      code: 'array-gone',
      where: { path: ['strategy', 'view'], name },
      received: 'an array whose memory was given away',
      expected: 'every array that the strategy was shown, as long as the run',
      hint: 'pass a copy on: array.slice()',
    },
  ]);
}
