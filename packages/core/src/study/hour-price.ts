import type { Axis } from '../axis/index.ts';
import type { DatedReserve, ReservePlan } from '../dispatch/index.ts';
import { perYear } from '../site/index.ts';
import type { FrontierPoint, HourPrice, NextHour } from './outage-schema.ts';

/** What a home comes to with a reserve, and a charge target where it isn't the sheet's own. */
export interface Way {
  readonly floorShare: number;
  /** What every window that charges from the grid fills up to at the least, %; null where they do as the sheet says. */
  readonly targetPercent: number | null;
  /** What is set by hand in some months besides; absent where nothing is. */
  readonly dated?: readonly DatedReserve[];
  /** What the sheet keeps as it is; absent where none is entered. */
  readonly plan?: ReservePlan;
  /** Its money is what it comes to on all of the data: what one way costs more than another is the difference of both. */
  readonly row: Pick<
    FrontierPoint['strategies'][number],
    'savingsPerYear' | 'boughtOncePerYear' | 'evenings' | 'stormHours'
  >;
}

/** A home as it is, and what it may do to last longer: a higher reserve, windows that fill further, or both. */
export interface Ways {
  readonly own: Way;
  /** The higher reserves, the lowest first. */
  readonly reserves: readonly Way[];
  /** Charge targets above the sheet's, %, the lowest first. */
  readonly targets: readonly number[];
  /** The home with a reserve, and a target where one is given; what it has run it knows. */
  readonly run: (floorShare: number, targetPercent: number | null) => Way;
  /** The home with another reserve, %, in the storm months alone; null where the site names none, or no sheet is entered. */
  readonly inStormMonths: ((reservePercent: number) => Way) | null;
}

/** Hours gained that are less than a minute, as it is printed, have no price. */
const LEAST_GAIN = 1 / 60;

/** What gains less than this says little of an hour: it is taken where nothing gains more, h. */
const SOME_GAIN = 0.25;

/** What one way costs more than another; null where savings are withheld. */
export function priceOf(axis: Axis, from: Way, to: Way): HourPrice | null {
  const [before, after] = [from.row, to.row];
  if (before.savingsPerYear === null || after.savingsPerYear === null) return null;
  const hoursGained = after.evenings!.p10 - before.evenings!.p10;
  const { costPerYear, costOnce } = forgone(axis, before, after);
  return {
    fromFloorShare: from.floorShare,
    toFloorShare: to.floorShare,
    hoursGained,
    costPerYear,
    costOnce,
    pricePerHour: hoursGained >= LEAST_GAIN ? costPerYear / hoursGained : null,
  };
}

/** Savings forgone from one way to another: each year, and once, for what is bought to fill it. */
export function forgone(axis: Axis, before: Way['row'], after: Way['row']): { costPerYear: number; costOnce: number } {
  const once = after.boughtOncePerYear! - before.boughtOncePerYear!;
  return { costPerYear: before.savingsPerYear! - after.savingsPerYear! - once, costOnce: once / perYear(axis) };
}

/**
 * The cheapest way to last longer on evenings: a higher reserve, windows that fill further, or both; null where none does so or
 * savings are withheld. Of what gains more than an hour the whole is weighed, since less of it can't be had; of what gains less
 * the price of an hour at its rate.
 */
export function nextHourOf(axis: Axis, { own, reserves, targets, run }: Ways): NextHour | null {
  if (own.row.savingsPerYear === null) return null;
  const filled = targets.map((percent) => run(own.floorShare, percent));
  let best: NextHour | null = null;
  const weigh = (way: Way) => {
    const price = priceOf(axis, own, way);
    if (price === null || price.pricePerHour === null) return;
    const next = { ...price, toTargetPercent: way.targetPercent };
    if (best === null || isCheaper(next, best)) best = next;
  };
  for (const way of [...reserves, ...filled]) weigh(way);
  // Both cost no less than either alone: where one of them is dearer than what was found, so are they. Where nothing lasts longer
  // alone, a full reserve among it, nor do they.
  const isWorthAsking = (way: Way) => best !== null && hourCost(priceOf(axis, own, way)!, 1) < hourCost(best);
  for (const { floorShare, ...reserve } of reserves)
    for (const target of filled) {
      // What is kept back is filled anyway.
      if (target.targetPercent! <= 100 * floorShare + 1e-9) continue;
      if (isWorthAsking({ floorShare, ...reserve }) && isWorthAsking(target))
        weigh(run(floorShare, target.targetPercent!));
    }
  return best;
}

/**
 * The cheapest way to hours that are wished for in nine of ten starts of the storm months: the home as it is where it reaches them, else
 * a higher reserve, windows that fill further, or both, each to the whole per cent; undefined where none does. Where savings are
 * withheld the least reserve, since nothing is known of cost.
 */
export function cheapestReaching(axis: Axis, { own, reserves, targets, run }: Ways, hours: number): Way | undefined {
  const reaches = ({ row }: Way) => row.stormHours! >= hours - 1e-9;
  if (reaches(own)) return own;
  const k = reserves.findIndex(reaches);
  const below = (reserves[k - 1] ?? own).floorShare;
  const lowest =
    k < 0
      ? []
      : [lowestReaching(100 * below, 100 * reserves[k]!.floorShare, reserves[k]!, reaches, (p) => run(p / 100, null))];
  if (own.row.savingsPerYear === null) return lowest[0];
  // A gain by the figures is chance, and counts as nothing; of equals the first stays.
  const costOf = ({ row }: Way) => Math.max(0, forgone(axis, own.row, row).costPerYear);
  const filled = targets.map((percent) => run(own.floorShare, percent));
  let best: Way | undefined;
  const weigh = (way: Way) => {
    if (reaches(way) && (best === undefined || costOf(way) < costOf(best) - 1e-9)) best = way;
  };
  for (const way of [...lowest, ...reserves, ...filled]) weigh(way);
  // Both cost no less than either alone. What a higher reserve needs is no higher target: the targets are gone down once.
  const isWorthAsking = (way: Way) => best !== undefined && costOf(way) < costOf(best);
  let left = filled;
  for (const reserve of reserves)
    while (isWorthAsking(reserve)) {
      left = left.slice(0, left.findLastIndex(isWorthAsking) + 1);
      const target = left.at(-1)?.targetPercent ?? 0;
      // What is kept back is filled anyway.
      if (target <= 100 * reserve.floorShare + 1e-9) break;
      const both = run(reserve.floorShare, target);
      if (!reaches(both)) break;
      weigh(both);
      left = left.slice(0, -1);
    }
  const byTens = best as Way | undefined;
  if (byTens === undefined || byTens.targetPercent === null) return byTens;
  // A target by the tens may be more than it takes, and so may the reserve that goes with it.
  const { floorShare, targetPercent: ten } = byTens;
  const target = lowestReaching(ten - 10, ten, byTens, reaches, (percent) => run(floorShare, percent));
  weigh(target);
  const under = [own, ...reserves].findLast((way) => way.floorShare < floorShare - 1e-9);
  if (under !== undefined)
    weigh(
      lowestReaching(100 * under.floorShare, 100 * floorShare, target, reaches, (percent) =>
        run(percent / 100, target.targetPercent),
      ),
    );
  return best;
}

/** The lowest whole per cent of a higher reserve in the storm months alone that reaches the hours; undefined where none does. */
export function lowestInSeason({ own, inStormMonths }: Ways, hours: number): Way | undefined {
  if (inStormMonths === null) return undefined;
  const reaches = ({ row }: Way) => row.stormHours! >= hours - 1e-9;
  const full = inStormMonths(100);
  return reaches(full) ? lowestReaching(100 * own.floorShare, 100, full, reaches, inStormMonths) : undefined;
}

/**
 * The lowest whole per cent that reaches the hours, between one that doesn't and one that does: halved again and again. More
 * held back need not always last longer, so that none is taken that hasn't been run.
 */
function lowestReaching(
  belowPercent: number,
  atPercent: number,
  at: Way,
  reaches: (way: Way) => boolean,
  run: (percent: number) => Way,
): Way {
  let [below, reached, found] = [Math.floor(belowPercent + 1e-9), Math.ceil(atPercent - 1e-9), at];
  while (reached - below > 1) {
    const percent = Math.floor((below + reached) / 2);
    const way = run(percent);
    if (reaches(way)) [reached, found] = [percent, way];
    else below = percent;
  }
  return found;
}

/** What an hour is bought for: all of what lasts longer than that, a year. A gain by the figures is chance, and counts as nothing. */
function hourCost({ costPerYear, hoursGained }: HourPrice, hours = hoursGained): number {
  return Math.max(0, costPerYear) * Math.max(1, 1 / hours);
}

/** Whether an hour costs less; the first of equals stays. */
function isCheaper(one: HourPrice, than: HourPrice): boolean {
  const [gains, gained] = [one.hoursGained >= SOME_GAIN, than.hoursGained >= SOME_GAIN];
  if (gains !== gained) return gains;
  return hourCost(one) < hourCost(than) - 1e-9;
}
