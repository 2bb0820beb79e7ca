import { cheapest, lasting, SAME_HOURS, WORTH_GIVING_UP } from './climb.ts';
import { Evenings } from './evenings.ts';
import { Filled, longestFilled } from './filled.ts';
import { withoutIdleRows } from './idle.ts';
import { longestMoved } from './moved.ts';
import type { Pool } from './pool.ts';
import type { Half, Run, Tried, Tries } from './tries.ts';
import type { SettingsWishes } from './wishes.ts';

/** Shares of the savings, and of the bill at least: see {@link tieOf}. */
const GIVEN_UP = { ofSavings: 0.02, ofBill: 0.001 };

/**
 * What may be given up for hours of backup unless stated otherwise: of a home's bill without a battery and without its fixed
 * charges, which change no choice, and of what one saves.
 */
export function tieOf(billWithout: number, savings: number): number {
  return Math.max(GIVEN_UP.ofSavings * savings, GIVEN_UP.ofBill * Math.abs(billWithout));
}

/** Shares of that sum that are tried one after the other, until the half that a sheet was not found on bears it out. */
const SHARES = [1, 1 / 2, 0];

/** Or so many hours, where that is less: of a window that is moved. */
const WORTH_HOURS = 0.4;

/** What a sheet's hours of backup are, and what the cheapest sheet would have had. */
export interface LightsChoice {
  /** In nine of ten starts at any hour, h. */
  readonly hours: number;
  readonly cheapestHours: number;
  /** The same of starts on the evenings that the wishes name; left out where they name none. */
  readonly evenings?: { readonly hours: number; readonly cheapestHours: number };
  /**
   * What the sheet costs more than the cheapest, both replayed on all of the data, and what a fuller battery ages more; money, at
   * least 0.
   */
  readonly givenUp: number;
  /** Of that what it ages more, which no bill has. */
  readonly wear: number;
  /** The most that could be given up over the data; money. */
  readonly most: number;
  /** Where months are too cold to charge: what keeping all of it through them comes to. */
  readonly held?: HeldChoice;
}

/** Keeping all of it through months too cold to charge, against spending it before they begin. */
export interface HeldChoice {
  /** Whether the sheet does so: it costs little enough. */
  readonly taken: boolean;
  /** What the sheet that is told costs more with it than without, over the data; money, at least 0. */
  readonly cost: number;
  /** Of that sheet in nine of ten starts at any hour, held and not, h. */
  readonly hours: number;
  readonly hoursWithout: number;
}

/**
 * The best schedules together, for all of the data and for each half: judged by whole runs of the axis. Of all that cost at
 * most so much more than the cheapest, what lasts longest is taken, where the wishes say how long a battery lasts. So much holds on the
 * data that a sheet was found on, and for the odd half's sheet on the even half and the other way round: where it
 * comes to more there, less is given up. Between two that last as long at any hour the one is taken that does so
 * longer on evenings, for no more than that. Where windows do worse there than none at all, none are told.
 *
 * @param pools the first charges with full power
 * @param ruled what is cheapest by energy prices alone, at full power, of each part of the year and by halves: settings as they are
 * entered without any of this
 */
export function chooseSheets(
  tries: Tries,
  pools: readonly Pool[],
  ruled: readonly (readonly Tried[])[],
  held: readonly Half[],
  wishes: SettingsWishes,
): {
  readonly chosen: readonly Run[];
  readonly windowsFailed: boolean;
  /** Whether both halves run the one sheet that was found on all of the data, so that nothing is judged apart. */
  readonly isAlike: boolean;
  readonly lights: LightsChoice | undefined;
  /** About as cheap as the first of these and longer on evenings, where there is one that isn't taken: it lasts less at other hours. */
  readonly evenings?: Run | undefined;
  /** What the hours of the first are weighed against: the cheapest; left out where no hours are weighed. */
  readonly cheapest?: Run;
} {
  const weighs = wishes.hoursOf !== undefined;
  const plain = held.map((half) =>
    tries.together({ set: ruled.map((byHalves) => byHalves[half]!), gridChargeKw: pools[0]!.gridChargeKw }),
  );
  const least = held.map((half, k) => cheapest(tries, pools, half, plain[k]!, weighs));
  const none = tries.together({
    set: pools[0]!.tried.map(([selfConsumption]) => selfConsumption!),
    gridChargeKw: pools[0]!.gridChargeKw,
  });
  const noWindows = held.map(() => none);
  // Judged as it is printed: the odd half with what the even one taught and the other way round.
  const isJudged = held.length === 3;
  const apart = ([, odd, even]: readonly Run[]) => tries.apart(odd!, even!);
  const leastApart = isJudged ? apart(least) : { bill: least[0]!.bills[0], cost: least[0]!.costs[0] };
  const noneIsCheaper = isJudged && none.costs[0] < leastApart.cost - 1e-9;
  const tidied = (runs: readonly Run[]) => {
    const first = withoutIdleRows(tries, runs[0]!);
    return first === runs[0] ? runs : [first, ...runs.slice(1)];
  };
  if (!weighs)
    return {
      chosen: tidied(noneIsCheaper ? noWindows : least),
      windowsFailed: noneIsCheaper,
      isAlike: false,
      lights: undefined,
    };
  const without = tries.billsWithout();
  const tieOver = (half: Half, bill: number) => {
    const { most } = wishes;
    if (most !== undefined) return most * tries.judge.shareOf(half);
    return tieOf(without[half], without[half] - bill);
  };
  const most = held.map((half, k) => tieOver(half, least[k]!.bills[half]));
  const tieApart = tieOver(0, noneIsCheaper ? none.bills[0] : leastApart.bill);
  const cheapestApart = Math.min(leastApart.cost, none.costs[0]);
  const hoursOf = (run: Run) => tries.hours(run, 0);
  const eveningsOf = (run: Run) => tries.eveningHours(run);
  const lastingWith = (share: number, from: readonly Run[]) =>
    held.map((half, k) =>
      lasting(tries, pools, half, from[k]!, plain[k]!, least[k]!.costs[half] + share * most[k]!, most[k]!),
    );
  /** What lasts longest with nothing held through the cold; undefined where windows do worse than none. */
  const spent = (): readonly Run[] | undefined => {
    for (const share of [...SHARES, undefined]) {
      const chosen = share === undefined ? least : lastingWith(share, least);
      const cost = isJudged ? apart(chosen).cost : cheapestApart;
      const hours = hoursOf(chosen[0]!);
      // A half's sheet may last longer there, and the printed one no longer than the cheapest.
      if (cost > leastApart.cost + 1e-9 && hours < hoursOf(least[0]!) + SAME_HOURS) continue;
      const longer = hours >= hoursOf(none) + SAME_HOURS;
      if (cost - cheapestApart <= (noneIsCheaper && !longer ? 0 : tieApart) + 1e-9) return chosen;
    }
    return undefined;
  };
  const found = spent();
  const chosen = found ?? noWindows;
  const cheapestTold = found === undefined ? none : least[0]!;
  const givenUpHere = ([run]: readonly Run[]) => run!.costs[0] - cheapestTold.costs[0];
  const givenUpApart = (runs: readonly Run[]) => (isJudged ? apart(runs).cost - cheapestApart : 0);
  const wearOf = ({ bills, costs }: Run) => costs[0] - bills[0];
  const lightsOf = (runs: readonly Run[]) => ({
    hours: hoursOf(runs[0]!),
    cheapestHours: hoursOf(cheapestTold),
    ...(wishes.evenings === undefined
      ? {}
      : { evenings: { hours: eveningsOf(runs[0]!), cheapestHours: eveningsOf(cheapestTold) } }),
    // What the halves' sheets lose on other weeks bounds the choice, and is no price of the one that is entered.
    givenUp: Math.max(0, givenUpHere(runs)),
    wear: wearOf(runs[0]!) - wearOf(cheapestTold),
    most: most[0]!,
  });
  const isWithin = (runs: readonly Run[]) =>
    givenUpHere(runs) <= most[0]! + 1e-9 && givenUpApart(runs) <= Math.min(most[0]!, tieApart) + 1e-9;
  /** Sheets that are changed alike, where that is within the sum; else with the charging power of the printed one in the halves too. */
  const within = (runs: readonly Run[]) => {
    if (isWithin(runs)) return runs;
    const { gridChargeKw } = runs[0]!;
    if (runs.every((run) => run.gridChargeKw === gridChargeKw)) return undefined;
    const withItsPower = runs.map((run) => tries.together({ ...run, gridChargeKw }));
    return isWithin(withItsPower) ? withItsPower : undefined;
  };
  const isWorthIt = (one: Run, than: Run, hours = hoursOf) =>
    hours(one) - hours(than) >= Math.min(WORTH_GIVING_UP * hours(than), WORTH_HOURS);
  const isEnough = (one: Run, than: Run, hours = hoursOf) =>
    one.costs[0] <= than.costs[0] + 1e-9 ? hours(one) - hours(than) >= SAME_HOURS : isWorthIt(one, than, hours);
  const isBetter = (one: Run, than: Run) => givenUpHere([one]) <= most[0]! + 1e-9 && isEnough(one, than);
  const filled = new Filled();
  const evenings = new Evenings(tries, pools, filled);
  const near = { limit: least[0]!.costs[0] + most[0]!, tie: most[0]! };
  const longestOnEvenings = (told: Run, isTaken?: (run: Run) => boolean) =>
    found === undefined || wishes.evenings === undefined ? undefined : evenings.longest(told, near, isTaken);
  /** Longer on evenings and no shorter at any hour: those of the halves are changed alike. */
  const lastingOnEvenings = (runs: readonly Run[]) => {
    const [told] = runs as [Run];
    const alikeOf = (one: Run) =>
      runs.map((run) => {
        const set = run.set.map((own, s) => (one.set[s] === told.set[s] ? own : one.set[s]!));
        return run === told ? one : tries.together({ ...run, set });
      });
    const other = longestOnEvenings(
      told,
      (run) =>
        hoursOf(run) >= hoursOf(told) - 1e-9 && within(alikeOf(run)) !== undefined && isEnough(run, told, eveningsOf),
    );
    return other === undefined ? runs : tidied(within(alikeOf(other))!);
  };
  const longest = (runs: readonly Run[]) => {
    let now = tidied(runs);
    // Rows that have become one may be moved on.
    for (let round = 0; round < 2; round++) {
      const moved = longestMoved(tries, now, isBetter, within);
      if (moved === now) break;
      now = tidied(moved);
    }
    return lastingOnEvenings(tidied(longestFilled(tries, filled, now, isBetter, within)));
  };
  const lastsLonger = ([one]: readonly Run[], [than]: readonly Run[]) =>
    hoursOf(one!) >= hoursOf(than!) + SAME_HOURS ||
    (hoursOf(one!) > hoursOf(than!) - SAME_HOURS && one!.costs[0] < than!.costs[0] - 1e-9);
  /**
   * One sheet for both halves. What one of them finds dearer by a hair more than a tie isn't taken there, and weeks that run two
   * sheets in turn pay for each change: run by both the printed one may be within, and last longer.
   */
  const alike = (): readonly Run[] | undefined => {
    for (const share of isJudged ? SHARES : []) {
      const [run] = lastingWith(share, least) as [Run];
      const runs = held.map(() => run);
      if (isWorthIt(run, cheapestTold) && isWithin(runs)) return runs;
    }
    return undefined;
  };
  const begun = [chosen, alike()]
    .filter((runs) => runs !== undefined)
    .map((from) => ({
      from,
      to: longest(from),
    }));
  const failed = ([run]: readonly Run[]) => found === undefined && run!.set.every((one, s) => one === none.set[s]);
  const best = begun.reduce((one, other) => (lastsLonger(other.to, one.to) ? other : one));
  const isAlike = best.from !== chosen;
  if (wishes.heldAt === undefined) {
    const told = best.to;
    return {
      chosen: told,
      windowsFailed: failed(told),
      isAlike,
      lights: lightsOf(told),
      evenings: longestOnEvenings(told[0]!),
      cheapest: cheapestTold,
    };
  }
  // In the cold what is spent doesn't come back: kept from before it on, it is there all winter. What may be given up for
  // hours goes to whatever lasts longest for it: to holding, to fuller targets, or to both.
  const heldThrough = (runs: readonly Run[]) => runs.map((run) => tries.together({ ...run, held: true }));
  const heldPlain = heldThrough(plain);
  const leastHeld = held.map((half, k) => cheapest(tries, pools, half, heldPlain[k]!, weighs, true));
  const tried = [...SHARES.map((share) => lastingWith(share, leastHeld)), heldThrough(best.from), heldThrough(least)];
  const heldRuns = tried
    .filter(isWithin)
    .reduce<readonly Run[] | undefined>(
      (best, runs) => (best === undefined || lastsLonger(runs, best) ? runs : best),
      undefined,
    );
  const taken =
    heldRuns !== undefined && hoursOf(heldRuns[0]!) >= (1 + WORTH_GIVING_UP) * hoursOf(best.from[0]!) + 1e-9;
  const told = taken ? longest(heldRuns) : best.to;
  // The sheet that is told, with and without it: what its line is worth.
  const withIt = tries.together({ ...told[0]!, held: true });
  const withoutIt = tries.together({ ...told[0]!, held: false });
  return {
    chosen: told,
    evenings: longestOnEvenings(told[0]!),
    cheapest: cheapestTold,
    windowsFailed: failed(told),
    isAlike: isAlike && !taken,
    lights: {
      ...lightsOf(told),
      held: {
        taken,
        cost: Math.max(0, withIt.costs[0] - withoutIt.costs[0]),
        hours: hoursOf(withIt),
        hoursWithout: hoursOf(withoutIt),
      },
    },
  };
}
