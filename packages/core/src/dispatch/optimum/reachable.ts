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
    const mostHeld = leftOf(most, floor, decay) + shape.chargeWidth;
    const leastHeld = leftOf(least, floor, decay) - shape.dischargeWidth;
    lowKwh[i] = Math.min(lowKwh[i]!, mostHeld);
    least = Math.max(lowKwh[i]!, leastHeld);
    highKwh[i] = Math.max(highKwh[i]!, least);
    most = Math.min(highKwh[i]!, mostHeld);
  }
}

/** What a step's decay leaves of stored energy. */
export function leftOf(kwh: number, floorKwh: number, decay: number): number {
  return kwh > floorKwh ? kwh - decay * (kwh - floorKwh) : kwh;
}
