import { type Filled, HIGHER_TARGETS } from './filled.ts';
import { leastOf, nearest, type Pool } from './pool.ts';
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

/** What a sheet may cost to be taken for its evenings. */
interface Near {
  /** The most that it may cost over the data. */
  readonly limit: number;
  /** What a schedule may cost more than the best of its part of the year to be tried. */
  readonly tie: number;
}

/** Looks for sheets that last longer on evenings than the one that lasts longest over all hours. */
export class Evenings {
  private readonly tries: Tries;
  private readonly pools: readonly Pool[];
  private readonly filled: Filled;

  constructor(tries: Tries, pools: readonly Pool[], filled: Filled) {
    this.tries = tries;
    this.pools = pools;
    this.filled = filled;
  }

  /**
   * Of sheets that charge with the power of the one that is told and cost no more than the limit, the one that lasts longest on
   * evenings; undefined where none that was tried lasts longer then.
   *
   * @param isTaken what else it must be; asked of those that last longer on evenings alone
   */
  longest(told: Run, { limit, tie }: Near, isTaken: (run: Run) => boolean = () => true): Run | undefined {
    const { tries, filled } = this;
    const { tried } = this.pools.find(({ gridChargeKw }) => gridChargeKw === told.gridChargeKw)!;
    const base = { gridChargeKw: told.gridChargeKw, held: told.held };
    let best = told;
    let bestHours = tries.eveningHours(told);
    const take = (set: readonly Tried[]) => {
      const run = tries.together({ ...base, set });
      if (run.costs[0] > limit + 1e-9) return;
      const hours = tries.eveningHours(run);
      if (hours >= bestHours + SAME_HOURS && isTaken(run)) [best, bestHours] = [run, hours];
    };
    const near = (of: readonly Tried[], share: number) => fullestFirst(nearest(of, 0, leastOf(of, 0), share * tie));
    for (const share of SHARES) take(tried.map((of) => near(of, share)[0]!));
    // What is told, filled further: in all parts of the year at once, then in each.
    for (const percent of HIGHER_TARGETS) take(told.set.map((one) => filled.to(one, percent)));
    const each = Math.max(LEAST_TRIED, Math.floor(TRIED / tried.length));
    for (const [s, of] of tried.entries()) {
      for (const percent of HIGHER_TARGETS) take(best.set.with(s, filled.to(best.set[s]!, percent)));
      for (const other of near(of, 1).slice(0, each)) take(best.set.with(s, other));
      for (const other of this.between(of).slice(0, each)) take(best.set.with(s, other));
    }
    return best === told ? undefined : best;
  }

  /** Targets that were left out, of the windows that fill most on evenings first. Each is taken at what a run of the whole axis costs. */
  private between(tried: readonly Tried[]): Tried[] {
    const windowsOf = ({ schedule: { charge, discharge } }: Tried) => JSON.stringify([charge, discharge]);
    const keyOf = (windows: string, percent: number) => `${windows} ${percent}`;
    const charging = fullestFirst(tried.filter(({ schedule }) => schedule.charge !== null));
    const done = new Set(charging.map((one) => keyOf(windowsOf(one), one.schedule.chargeToPercent)));
    return charging.flatMap((one) =>
      TARGETS.flatMap((percent) => {
        const key = keyOf(windowsOf(one), percent);
        if (done.has(key)) return [];
        done.add(key);
        return [this.filled.withTarget(one, percent)];
      }),
    );
  }
}

const fullestFirst = (tried: readonly Tried[]) => tried.toSorted((a, b) => b.keptEvenings - a.keptEvenings);
