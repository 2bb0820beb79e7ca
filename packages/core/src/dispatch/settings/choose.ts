import { leastOf, type Run, type SettingsWishes, type Tried, type Tries, type Weeks } from './tries.ts';

/** What may be given up for hours of backup unless stated otherwise: a share of the savings, at least one of the bill. */
const GIVEN_UP = { ofSavings: 0.02, ofBill: 0.001 };

/** Shares of that sum that are tried one after the other, until weeks that a sheet was not found on bear it out. */
const SHARES = [1, 1 / 2, 0];

/** Of each schedule: how many of the cheapest are tried together with those of other schedules, how many that keep more. */
const CHEAPEST = 4;
const FULLER = 6;

/** Times that all schedules are gone through at the most. */
const ROUNDS = 2;

/** Hours that differ by less last as long: the cheaper one is taken. */
const SAME_HOURS = 0.02;

/** What is given up must make the battery last at least this share longer, or as long as settings entered without any of this. */
const WORTH_GIVING_UP = 0.05;

/** What a sheet's hours of backup are, and what the cheapest sheet would have had. */
export interface LightsChoice {
  /** In nine of ten starts at any hour, h. */
  readonly hours: number;
  readonly cheapestHours: number;
  /**
   * What the sheet costs more than the cheapest over the data, the higher of two figures: on the weeks that it was found on, and
   * judged on others; money, at least 0.
   */
  readonly givenUp: number;
  /** The most that could be given up over the data; money. */
  readonly most: number;
}

/** Schedules that were tried with one charging power, by part of the year. */
export interface Pool {
  readonly gridChargeKw: number;
  readonly tried: readonly (readonly Tried[])[];
}

/**
 * The best schedules together, for all weeks, the odd and the even ones: judged by whole runs of the axis. Of all that cost at
 * most so much more than the cheapest, what lasts longest is taken, where the wishes say how long a battery lasts. So much holds on the
 * weeks that a sheet was found on, and for the odd weeks' sheet on the even ones and the other way round: where it
 * comes to more there, less is given up.
 *
 * @param pools the first charges with full power
 * @param ruled what is cheapest by energy prices alone, at full power, of each part of the year and by weeks: settings as they are
 * entered without any of this
 */
export function chooseSheets(
  tries: Tries,
  pools: readonly Pool[],
  ruled: readonly (readonly Tried[])[],
  held: readonly Weeks[],
  wishes: SettingsWishes,
): { readonly chosen: readonly Run[]; readonly lights: LightsChoice | undefined } {
  const weighs = wishes.hoursOf !== undefined;
  const plain = held.map((weeks) =>
    tries.together({ set: ruled.map((byWeeks) => byWeeks[weeks]!), gridChargeKw: pools[0]!.gridChargeKw }),
  );
  const least = held.map((weeks, k) => cheapest(tries, pools, weeks, plain[k]!, weighs));
  if (!weighs) return { chosen: least, lights: undefined };
  const without = tries.costsWithout();
  const tieOver = (weeks: Weeks, cost: number) => {
    const { most } = wishes;
    if (most !== undefined) return weeks === 0 ? most : most / 2;
    return Math.max(GIVEN_UP.ofSavings * (without[weeks] - cost), GIVEN_UP.ofBill * Math.abs(without[weeks]));
  };
  const most = held.map((weeks, k) => tieOver(weeks, least[k]!.costs[weeks]));
  // Judged as it is printed: odd weeks with what the even ones taught and the other way round.
  const isJudged = held.length === 3;
  const leastApart = isJudged ? tries.apart(least[1]!, least[2]!) : 0;
  for (const share of SHARES) {
    const chosen = held.map((weeks, k) => lasting(tries, pools, weeks, least[k]!, plain[k]!, most[k]!, share));
    const apart = isJudged ? tries.apart(chosen[1]!, chosen[2]!) - leastApart : 0;
    if (share > 0 && isJudged && apart > tieOver(0, leastApart) + 1e-9) continue;
    return {
      chosen,
      lights: {
        hours: tries.hours(chosen[0]!, 0),
        cheapestHours: tries.hours(least[0]!, 0),
        givenUp: Math.max(0, chosen[0]!.costs[0] - least[0]!.costs[0], apart),
        most: most[0]!,
      },
    };
  }
  throw new Error('internal: a search of settings that ends without a sheet');
}

/** The cheapest schedules together. Where no hours are weighed, a window must earn to be entered. */
function cheapest(tries: Tries, pools: readonly Pool[], weeks: Weeks, plain: Run, weighs: boolean): Run {
  const costOf = (run: Run) => run.costs[weeks] + tries.worthOf(run, weeks);
  const starts = pools.map(({ gridChargeKw, tried }) =>
    tries.together({ set: tried.map((of) => leastOf(of, weeks)), gridChargeKw }),
  );
  let best = starts.reduce((one, other) => (costOf(other) < costOf(one) - 1e-9 ? other : one));
  const { tried } = pools.find(({ gridChargeKw }) => gridChargeKw === best.gridChargeKw)!;
  // What one schedule leaves stored, another need not buy; what one sets as a month's peak, another is free to draw.
  const alone = tried.length === 1 && !tries.isBent;
  for (let round = 0; round < ROUNDS && !alone; round++) {
    const before = best;
    for (const [s, of] of tried.entries())
      for (const other of cheapestOf(of, weeks)) {
        if (other === best.set[s]) continue;
        const changed = tries.together({ ...best, set: best.set.with(s, other) });
        if (costOf(changed) < costOf(best) - 1e-9) best = changed;
      }
    if (best === before) break;
  }
  const isCheaper = weighs ? plain.costs[weeks] <= best.costs[weeks] : costOf(plain) < costOf(best) - 1e-9;
  return isCheaper ? plain : best;
}

/** What lasts longest of all that costs at most a tie more than the cheapest. */
function lasting(
  tries: Tries,
  pools: readonly Pool[],
  weeks: Weeks,
  least: Run,
  plain: Run,
  tie: number,
  share: number,
): Run {
  const limit = least.costs[weeks] + share * tie + 1e-9;
  const hoursOf = (run: Run) => tries.hours(run, weeks);
  const isBetter = (one: Run, than: Run) =>
    one.costs[weeks] <= limit &&
    (hoursOf(one) >= hoursOf(than) + SAME_HOURS ||
      (one.costs[weeks] < than.costs[weeks] - 1e-9 && hoursOf(one) >= hoursOf(than) - 1e-9));
  const starts = pools.map(({ gridChargeKw, tried }) =>
    tries.together({ set: tried.map((of) => leastOf(of, weeks)), gridChargeKw }),
  );
  const start = isBetter(plain, least) ? plain : least;
  let now = starts.reduce((best, other) => (isBetter(other, best) ? other : best), start);
  const { tried } = pools.find(({ gridChargeKw }) => gridChargeKw === now.gridChargeKw)!;
  for (let round = 0; round < ROUNDS; round++) {
    const from = now;
    const singles: { readonly s: number; readonly other: Tried; readonly run: Run; readonly worth: number }[] = [];
    for (const [s, of] of tried.entries())
      for (const other of fullerOf(of, weeks, from.set[s]!, tie)) {
        if (other === from.set[s]) continue;
        const run = tries.together({ ...from, set: from.set.with(s, other) });
        if (!isBetter(run, from)) continue;
        const costsMore = Math.max(1e-6, run.costs[weeks] - from.costs[weeks]);
        singles.push({ s, other, run, worth: (hoursOf(run) - hoursOf(from)) / costsMore });
      }
    if (singles.length === 0) break;
    // Together in the order of hours for their money, against the one that lasts longest by itself.
    let all = from;
    for (const { s, other } of singles.sort((a, b) => b.worth - a.worth).slice(0, FULLER)) {
      const run = tries.together({ ...all, set: all.set.with(s, other) });
      if (isBetter(run, all)) all = run;
    }
    const single = singles.reduce((one, other) => (isBetter(other.run, one.run) ? other : one)).run;
    now = isBetter(single, all) ? single : all;
  }
  const longer = (1 + WORTH_GIVING_UP) * hoursOf(start);
  const enough = hoursOf(start) < hoursOf(plain) ? Math.min(hoursOf(plain), longer) : longer;
  return hoursOf(now) >= enough || now.costs[weeks] < start.costs[weeks] ? now : start;
}

function cheapestOf(tried: readonly Tried[], weeks: Weeks): Tried[] {
  return tried.toSorted((a, b) => a.cost[weeks] - b.cost[weeks]).slice(0, CHEAPEST);
}

/** Schedules that cost no more than a tie above the best and keep more stored than all that cost less, fullest first. */
function fullerOf(tried: readonly Tried[], weeks: Weeks, best: Tried, tie: number): Tried[] {
  const near = tried.filter(({ cost }) => cost[weeks] <= best.cost[weeks] + tie);
  let kept = 0;
  const fuller: Tried[] = [];
  for (const one of near.sort((a, b) => a.cost[weeks] - b.cost[weeks]))
    if (one.kept > kept + 1e-9) {
      kept = one.kept;
      fuller.push(one);
    }
  // Evenly spread where there are many, the fullest among them.
  const every = Math.max(1, fuller.length / FULLER);
  return Array.from({ length: Math.min(FULLER, fuller.length) }, (_, k) => fuller.at(-1 - Math.floor(k * every))!);
}
