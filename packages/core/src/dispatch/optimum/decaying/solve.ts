import type { Schedule } from '../along-plan.ts';
import type { StepProblem } from '../problem.ts';
import { followRuns } from './follow.ts';
import { planRuns } from './plan.ts';

/**
 * The optimum of a store that loses a share of its energy in every step, where nothing but the battery binds, within one
 * band throughout, and prices are few: planned and followed by runs of steps of one price and one sign of net load.
 * A year of windows has some thousand of them.
 *
 * Energy is counted as what self-discharge leaves of it at the end of the year, so that nothing decays: what is stored in step t
 * counts `(1 − decay)^(n − 1 − t)`. In a run every step has the same ways to store and to give, worth a little more the earlier it is.
 * So it stores as late as may be and gives as early as may be, and moves one way only, since moving both ways pays nowhere;
 * the band then holds within the run if it holds at its ends. (A step that can't store even what a full battery loses is a run of its own:
 * a full end could not be reached through it.)
 *
 * The value of stored energy falls in steps, one for each slope, as long as the oldest energy of a slope is worth more than the newest of
 * the next lower one: then the level that a run fills or empties to is a sum over slopes, and no list is walked. Where two slopes
 * run into each other, as where anything else doesn't fit, the answer is undefined and the list of `planBackward` finds it.
 *
 * Its plain twin is `planBackward` followed step by step, to which it is held in tests/laws/optimum/fast-ways.test.ts.
 */
export function solveDecaying(problem: StepProblem): Schedule | undefined {
  if (!problem.plain || problem.decay === 0 || problem.importCapKwh !== undefined) return undefined;
  if (!hasOneBand(problem)) return undefined;
  const plan = planRuns(problem);
  if (plan === undefined) return undefined;
  const schedule = followRuns(problem, plan);
  problem.scratch.giveBack('run-level', plan.level);
  problem.scratch.giveBack('run-width', plan.width);
  problem.scratch.giveBack('run-begin', plan.begin);
  return schedule;
}

/** Whether the band is the same after every step, and begins at the floor. */
function hasOneBand({ intervals, lowKwh, highKwh, floorKwh, initialKwh }: StepProblem): boolean {
  const low = lowKwh[0]!;
  const high = highKwh[0]!;
  for (let i = 0; i < intervals; i++) if (lowKwh[i] !== low || highKwh[i] !== high || floorKwh[i] !== low) return false;
  return high > low && initialKwh >= low && initialKwh <= high;
}
