import type { StepProblem } from './problem.ts';
import { makeShape, shapeStep } from './shape.ts';

/** Narrows the band of each step to what the start can reach, so that some schedule always exists. */
export function makeReachable(problem: StepProblem): void {
  const { intervals, lowKwh, highKwh, floorKwh, initialKwh, decay } = problem;
  let easy = true;
  for (let i = 0; i < intervals && easy; i++)
    easy =
      lowKwh[i]! <= (i === 0 ? initialKwh : lowKwh[i - 1]!) && highKwh[i]! >= (i === 0 ? initialKwh : highKwh[i - 1]!);
  if (easy) return;
  const shape = makeShape();
  let most = initialKwh;
  let least = initialKwh;
  for (let i = 0; i < intervals; i++) {
    shapeStep(problem, i, shape);
    const floor = floorKwh[i]!;
    const mostHeld = (most > floor ? most - decay * (most - floor) : most) + shape.chargeWidth;
    const leastHeld = (least > floor ? least - decay * (least - floor) : least) - shape.dischargeWidth;
    lowKwh[i] = Math.min(lowKwh[i]!, mostHeld);
    least = Math.max(lowKwh[i]!, leastHeld);
    highKwh[i] = Math.max(highKwh[i]!, least);
    most = Math.min(highKwh[i]!, mostHeld);
  }
}
