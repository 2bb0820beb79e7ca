import type { StrategyView } from '../strategy.ts';

/** Past days over which it is measured how much a morning tells of the afternoon, and how many it takes to say so. */
const DAYS_MEASURED = 28;
const FEWEST_DAYS = 7;

/** What the sun so far today says of the rest of the day. */
export interface Sky {
  /** Intervals of the day that have passed, and all that count. */
  readonly passed: number;
  readonly all: number;
  readonly soFarKwh: number;
  /** kWh more in the rest of the day for each kWh more so far. */
  readonly slope: number;
  /** The rest of the day, over the days measured: no future is taken beyond these. */
  readonly leastKwh: number;
  readonly mostKwh: number;
}

/**
 * Corrects futures for the sun that today has shown so far. By how much is measured on the home's own last four weeks:
 * the slope of a day's remaining sun over its sun until the same time, drawn towards 0 as far as it could be chance.
 */
export class SunSoFar {
  private readonly view: StrategyView;
  /** Sun before each interval, kWh. */
  private readonly sums: Float64Array;
  private seen = 0;

  constructor(view: StrategyView) {
    this.view = view;
    this.sums = new Float64Array(view.axis.intervals + 1);
  }

  update(until: number): void {
    const { solarKwh } = this.view;
    for (let i = this.seen; i < until; i++) this.sums[i + 1] = this.sums[i]! + solarKwh[i]!;
    this.seen = until;
  }

  /** Undefined where nothing can be said: too few days, or no sun that differed. */
  soFar(from: number, midnight: number): Sky | undefined {
    const { sums } = this;
    const { day, days } = this.view.axis.calendar;
    const today = day[from]!;
    const first = days[today]!.firstInterval;
    const passed = from - first;
    const all = midnight - first;
    let n = 0;
    let meanX = 0;
    let meanY = 0;
    let xx = 0;
    let xy = 0;
    let yy = 0;
    let leastKwh = Number.POSITIVE_INFINITY;
    let mostKwh = 0;
    for (let d = Math.max(0, today - DAYS_MEASURED); d < today; d++) {
      const begin = days[d]!.firstInterval;
      if (days[d]!.intervals < all) continue;
      const x = sums[begin + passed]! - sums[begin]!;
      const y = sums[begin + all]! - sums[begin + passed]!;
      n++;
      const dx = x - meanX;
      const dy = y - meanY;
      meanX += dx / n;
      meanY += dy / n;
      xx += dx * (x - meanX);
      xy += dx * (y - meanY);
      yy += dy * (y - meanY);
      if (y < leastKwh) leastKwh = y;
      if (y > mostKwh) mostKwh = y;
    }
    if (n < FEWEST_DAYS || !(xx > 0) || !(yy > 0)) return undefined;
    const explained = (xy * xy) / (xx * yy);
    // The slope's error, squared, as a share of the slope's square: what chance alone would have made of it.
    const chance = (1 - explained) / (explained * (n - 2));
    if (!(chance < 1)) return undefined;
    const slope = (xy / xx) * (1 - chance);
    return { passed, all, soFarKwh: sums[from]! - sums[first]!, slope, leastKwh, mostKwh };
  }

  /** What the rest of past day `d`'s sun is to be multiplied by, to stand for the rest of today's. */
  factorOf(sky: Sky, d: number): number {
    const { sums } = this;
    const { firstInterval, intervals } = this.view.axis.calendar.days[d]!;
    const until = Math.min(intervals, sky.passed);
    const end = Math.min(intervals, sky.all);
    const thenKwh = sums[firstInterval + until]! - sums[firstInterval]!;
    const restKwh = sums[firstInterval + end]! - sums[firstInterval + until]!;
    if (!(restKwh > 0)) return 1;
    const expected = restKwh + sky.slope * (sky.soFarKwh - thenKwh);
    return Math.min(sky.mostKwh, Math.max(sky.leastKwh, expected)) / restKwh;
  }
}
