import type { Faults, Path } from './faults.ts';

/** Classes with rising upper ends, of which the last has none. */
export function risingSteps<Key extends 'upToKw' | 'upToAmps'>(
  steps: readonly ({ readonly [key in Key]?: number | undefined } & { readonly amount: number })[],
  key: Key,
  path: Path,
  faults: Faults,
): ({ [key in Key]: number } & { amount: number })[] {
  let last = Number.NEGATIVE_INFINITY;
  return steps.map((step, s) => {
    const bound: number | undefined = step[key];
    if (s === steps.length - 1 && bound !== undefined)
      faults.add(
        'last-block',
        [...path, s, key],
        bound,
        'no upper end in the last class',
        'remove it, or add a class for what is above',
      );
    if (s < steps.length - 1 && bound === undefined)
      faults.add('missing', [...path, s, key], undefined, 'an upper end in every class but the last', `add "${key}"`);
    if (bound !== undefined && bound <= last)
      faults.add('not-rising', [...path, s, key], bound, `more than ${last}`, 'order classes by their upper ends');
    last = bound ?? last;
    return { [key]: bound ?? Number.POSITIVE_INFINITY, amount: step.amount } as { [key in Key]: number } & {
      amount: number;
    };
  });
}
