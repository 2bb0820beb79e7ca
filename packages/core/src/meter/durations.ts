import { describeStep as describeMinutes } from '../words/steps.ts';

export const MINUTE_MS = 60_000;
export const HOUR_MS = 60 * MINUTE_MS;
export const DAY_MS = 24 * HOUR_MS;

/** The length of a step for messages, see `words/steps.ts`. */
export function describeStep(ms: number): string {
  return describeMinutes(ms / MINUTE_MS);
}
