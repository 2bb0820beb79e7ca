import { number, oneOf, type Rule, record, report } from '../input/door.ts';

/** Steps an axis may have, in minutes: those that divide an hour and that meters use. */
export const STEP_MINUTES = [5, 10, 15, 20, 30, 60] as const;

/** More than fifty years of 5-minute steps: beyond this the input is a mistake. */
export const MAX_INTERVALS = 6_000_000;

interface Steps {
  readonly intervals: number;
  readonly stepMinutes: number;
  readonly stepHours: number;
}

/** The steps of an axis, for what never looks at its calendar; every series among the arguments is held to their number. */
export const axisSteps: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<Steps>({
    intervals: number({ whole: true, least: 1, most: MAX_INTERVALS }),
    stepMinutes: oneOf(STEP_MINUTES),
    stepHours: number(),
  })(value, path, looking);
  if (looking.issues.length > before) return;
  const { intervals, stepMinutes, stepHours } = value as Steps;
  if (stepHours !== stepMinutes / 60)
    report(looking, [...path, 'stepHours'], 'contradiction', stepHours, `a sixtieth of stepMinutes, ${stepMinutes}`);
  looking.intervals = intervals;
};
