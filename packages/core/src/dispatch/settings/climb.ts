import { leastOf, nearest, type Pool } from './pool.ts';
import type { Half, Run, Tried, Tries } from './tries.ts';

/** Of each schedule: how many of the cheapest are tried together with those of other schedules, how many that keep more. */
const CHEAPEST = 4;
const FULLER = 6;

/** Times that all schedules are gone through at the most. */
const ROUNDS = 2;

/** Hours that differ by less last as long: the cheaper one is taken. */
export const SAME_HOURS = 0.02;

/** What is given up must make the battery last at least this share longer, or as long as settings entered without any of this. */
export const WORTH_GIVING_UP = 0.05;

/** Runs to begin with: of the cheapest schedule of each part of the year, and of whole weeks. */
function startsOf(tries: Tries, pools: readonly Pool[], half: Half, held: boolean): [Run[], Run[]] {
  const runOf = ({ gridChargeKw }: Pool, set: readonly Tried[]) => tries.together({ set, gridChargeKw, held });
  const leastIn = ({ tried }: Pool) => tried.map((of) => leastOf(of, half));
  return [
    pools.map((pool) => runOf(pool, leastIn(pool))),
    pools.flatMap((pool) => pool.weeks(half).map((set) => runOf(pool, set))),
  ];
}

/** The cheapest schedules together. Where no hours are weighed, a window must earn to be entered. */
export function cheapest(
  tries: Tries,
  pools: readonly Pool[],
  half: Half,
  plain: Run,
  weighs: boolean,
  isHeld = false,
): Run {
  const costOf = (run: Run) => run.costs[half] + tries.worthOf(run, half);
  const cheaper = (one: Run, other: Run) => (costOf(other) < costOf(one) - 1e-9 ? other : one);
  const improved = (start: Run): Run => {
    let best = start;
    const { tried } = pools.find(({ gridChargeKw }) => gridChargeKw === best.gridChargeKw)!;
    // What one schedule leaves stored, another need not buy; what one sets as a month's peak, another is free to draw.
    const alone = tried.length === 1 && !tries.judge.isBent;
    for (let round = 0; round < ROUNDS && !alone; round++) {
      const before = best;
      for (const [s, of] of tried.entries())
        for (const other of cheapestOf(of, half)) {
          if (other === best.set[s]) continue;
          best = cheaper(best, tries.together({ ...best, set: best.set.with(s, other) }));
        }
      if (best === before) break;
    }
    return best;
  };
  const [each, whole] = startsOf(tries, pools, half, isHeld);
  const least = each.reduce(cheaper);
  const week = whole.reduce(cheaper, least);
  const best = week === least ? improved(least) : cheaper(improved(least), improved(week));
  const isCheaper = weighs ? plain.costs[half] <= best.costs[half] : costOf(plain) < costOf(best) - 1e-9;
  return isCheaper ? plain : best;
}

/**
 * What lasts longest of all that costs no more than a limit; `least` where nothing is within it.
 *
 * @param least the cheapest, held through the cold or not: so are all that are tried
 * @param tie what a schedule may cost more than the best of its part of the year to be tried
 */
export function lasting(
  tries: Tries,
  pools: readonly Pool[],
  half: Half,
  least: Run,
  plain: Run,
  most: number,
  tie: number,
): Run {
  const limit = most + 1e-9;
  const { held = false } = least;
  const hoursOf = (run: Run) => tries.hours(run, half);
  const isBetter = (one: Run, than: Run) =>
    one.costs[half] <= limit &&
    (hoursOf(one) >= hoursOf(than) + SAME_HOURS ||
      (one.costs[half] < than.costs[half] - 1e-9 && hoursOf(one) >= hoursOf(than) - 1e-9));
  const better = (one: Run, other: Run) => (isBetter(other, one) ? other : one);
  const ruled = tries.together({ ...plain, held });
  const start = better(least, ruled);
  const improved = (begun: Run): Run => {
    let now = begun;
    const { tried } = pools.find(({ gridChargeKw }) => gridChargeKw === now.gridChargeKw)!;
    for (let round = 0; round < ROUNDS; round++) {
      const from = now;
      const singles: { readonly s: number; readonly other: Tried; readonly run: Run; readonly worth: number }[] = [];
      for (const [s, of] of tried.entries())
        for (const other of fullerOf(of, half, from.set[s]!, tie)) {
          if (other === from.set[s]) continue;
          const run = tries.together({ ...from, set: from.set.with(s, other) });
          if (!isBetter(run, from)) continue;
          const costsMore = Math.max(1e-6, run.costs[half] - from.costs[half]);
          singles.push({ s, other, run, worth: (hoursOf(run) - hoursOf(from)) / costsMore });
        }
      if (singles.length === 0) break;
      // Together in the order of hours for their money, against the one that lasts longest by itself.
      let all = from;
      for (const { s, other } of singles.sort((a, b) => b.worth - a.worth).slice(0, FULLER)) {
        const run = tries.together({ ...all, set: all.set.with(s, other) });
        if (isBetter(run, all)) all = run;
      }
      const single = singles.map(({ run }) => run).reduce(better);
      now = better(all, single);
    }
    return now;
  };
  const [each, whole] = startsOf(tries, pools, half, held);
  const first = each.reduce(better, start);
  const week = whole.reduce(better, first);
  const now = week === first ? improved(first) : better(improved(first), improved(week));
  const longer = (1 + WORTH_GIVING_UP) * hoursOf(start);
  const enough = hoursOf(start) < hoursOf(ruled) ? Math.min(hoursOf(ruled), longer) : longer;
  return hoursOf(now) >= enough || now.costs[half] < start.costs[half] ? now : start;
}

function cheapestOf(tried: readonly Tried[], half: Half): Tried[] {
  return tried.toSorted((a, b) => a.cost[half] - b.cost[half]).slice(0, CHEAPEST);
}

/** Schedules that cost no more than a tie above the best and keep more stored than all that cost less, fullest first. */
function fullerOf(tried: readonly Tried[], half: Half, best: Tried, tie: number): Tried[] {
  const near = nearest(tried, half, best, tie).filter(({ cost }) => Number.isFinite(cost[half]));
  let kept = 0;
  const fuller: Tried[] = [];
  // Of those that cost the same, rounding aside, the fullest: which of them is a hair cheaper says nothing.
  const rounded = ({ cost }: Tried) => Math.round(cost[half] * 1e6);
  for (const one of near.sort((a, b) => rounded(a) - rounded(b) || b.kept - a.kept))
    if (one.kept > kept + 1e-9) {
      kept = one.kept;
      fuller.push(one);
    }
  // Evenly spread where there are many, the fullest among them.
  const every = Math.max(1, fuller.length / FULLER);
  return Array.from({ length: Math.min(FULLER, fuller.length) }, (_, k) => fuller.at(-1 - Math.floor(k * every))!);
}
