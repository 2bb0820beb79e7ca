export const MINUTE_MS = 60_000;
export const HOUR_MS = 60 * MINUTE_MS;
export const DAY_MS = 24 * HOUR_MS;

/** The length of a step for messages: `15 minutes`, `hour`, `2 hours`, `10 seconds`. */
export function describeStep(ms: number): string {
  if (ms % HOUR_MS === 0) return ms === HOUR_MS ? 'hour' : `${ms / HOUR_MS} hours`;
  return ms % MINUTE_MS === 0 ? `${ms / MINUTE_MS} minutes` : `${ms / 1000} seconds`;
}
