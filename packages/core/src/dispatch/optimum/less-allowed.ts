import { copySteps, type StepProblem } from './problem.ts';
import { makeReachable } from './reachable.ts';

/**
 * The same problem with less allowed: a battery that sells nothing, one that isn't charged from the grid, one that does
 * neither, each laid out when it is asked for. Each of their schedules is one of the problem's own. None where by that the band could
 * not be kept as well.
 */
export function* lessAllowed(steps: StepProblem): Generator<StepProblem> {
  for (const [sells, buys] of [
    [false, true],
    [true, false],
    [false, false],
  ] as const) {
    if ((!sells && !steps.batteryExport) || (!buys && !steps.gridCharging)) continue;
    const own = copySteps(steps);
    own.batteryExport = sells && steps.batteryExport;
    own.gridCharging = buys && steps.gridCharging;
    own.lowKwh = steps.lowKwh.slice();
    own.highKwh = steps.highKwh.slice();
    makeReachable(own);
    if (within(own, steps)) yield own;
  }
}

/** Whether one band lies within another. */
function within(own: StepProblem, other: StepProblem): boolean {
  for (let i = 0; i < own.intervals; i++)
    if (own.lowKwh[i]! < other.lowKwh[i]! || own.highKwh[i]! > other.highKwh[i]!) return false;
  return true;
}
