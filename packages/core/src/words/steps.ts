/** The length of a step: `15 minutes`, `hour`, `2 hours`, `10 seconds`. */
export function describeStep(stepMinutes: number): string {
  if (stepMinutes % 60 === 0) return stepMinutes === 60 ? 'hour' : `${stepMinutes / 60} hours`;
  // Milliseconds at most: a third of a minute is no whole number of seconds for a computer.
  return Number.isInteger(stepMinutes) ? `${stepMinutes} minutes` : `${Number((60 * stepMinutes).toFixed(3))} seconds`;
}
