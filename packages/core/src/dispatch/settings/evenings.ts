import { leastOf, type Pool } from './choose.ts';
import type { Run, Tried, Tries } from './tries.ts';

/** Schedules that are tried in place of one that was chosen, in all parts of the year together at the most, and in each at the least. */
const TRIED = 30;
const LEAST_TRIED = 3;

/** Charge targets between those that a search always runs: with sun a high one may cost less than its neighbours do. */
const TARGETS = [90, 80, 70, 60];

/** Shares of the sum that may be given up, each tried in all parts of the year at once. */
const SHARES = [1, 1 / 2, 1 / 4, 0];

/** Hours that differ by less last as long. */
const SAME_HOURS = 0.02;

/**
 * Of sheets that charge with the power of the one that is told and cost no more than the limit, the one that lasts longest on
 * evenings; undefined where none that was tried lasts longer then. The one told lasts longest over all hours: a household that
 * thinks of its evenings is told of the other.
 *
 * @param limit the most that a sheet may cost over the data
 * @param tie what a schedule may cost more than the best of its part of the year to be tried
 */
export function longestOnEvenings(
  tries: Tries,
  pools: readonly Pool[],
  told: Run,
  { limit, tie }: { readonly limit: number; readonly tie: number },
): Run | undefined {
  const { tried } = pools.find(({ gridChargeKw }) => gridChargeKw === told.gridChargeKw)!;
  const base = { gridChargeKw: told.gridChargeKw, held: told.held };
  let best = told;
  let bestHours = tries.eveningHours(told);
  const take = (set: readonly Tried[]) => {
    const run = tries.together({ ...base, set });
    if (run.costs[0] > limit + 1e-9) return;
    const hours = tries.eveningHours(run);
    if (hours >= bestHours + SAME_HOURS) [best, bestHours] = [run, hours];
  };
  const near = (of: readonly Tried[], share: number) => {
    const most = leastOf(of, 0).cost[0] + share * tie + 1e-9;
    return fullestFirst(of.filter(({ cost }) => cost[0] <= most));
  };
  for (const share of SHARES) take(tried.map((of) => near(of, share)[0]!));
  const each = Math.max(LEAST_TRIED, Math.floor(TRIED / tried.length));
  for (const [s, of] of tried.entries()) {
    for (const other of near(of, 1).slice(0, each)) take(best.set.with(s, other));
    for (const other of between(of).slice(0, each)) take(best.set.with(s, other));
  }
  return best === told ? undefined : best;
}

const fullestFirst = (tried: readonly Tried[]) => tried.toSorted((a, b) => b.keptEvenings - a.keptEvenings);

/** Targets that were left out, of the windows that fill most on evenings first. Each is taken at what a run of the whole axis costs. */
function between(tried: readonly Tried[]): Tried[] {
  const windowsOf = ({ schedule: { charge, discharge } }: Tried) => JSON.stringify([charge, discharge]);
  const keyOf = (windows: string, percent: number) => `${windows} ${percent}`;
  const charging = fullestFirst(tried.filter(({ schedule }) => schedule.charge !== null));
  const done = new Set(charging.map((one) => keyOf(windowsOf(one), one.schedule.chargeToPercent)));
  return charging.flatMap((one) =>
    TARGETS.flatMap((chargeToPercent) => {
      const key = keyOf(windowsOf(one), chargeToPercent);
      if (done.has(key)) return [];
      done.add(key);
      return [{ ...one, schedule: { ...one.schedule, chargeToPercent } }];
    }),
  );
}
