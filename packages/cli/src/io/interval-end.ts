import { inputFault } from './fail.ts';

/** Which end of its interval a label names, by `--interval-end` or `--interval-start`; undefined where neither is given. */
export function intervalEndOf(flags: {
  readonly intervalEnd?: boolean;
  readonly intervalStart?: boolean;
}): boolean | undefined {
  if (flags.intervalStart !== true) return flags.intervalEnd;
  if (flags.intervalEnd === true)
    throw inputFault({
      code: 'bad-flag',
      where: { column: '--interval-start' },
      received: '--interval-end beside it',
      expected: 'one of the two: a label names one end of its interval',
    });
  return false;
}
