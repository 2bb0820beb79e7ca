/** A cost of a quantity made of straight pieces: its corners, and the slope after each of them. */
export interface BlockCost {
  readonly atKwh: Float64Array;
  readonly cost: Float64Array;
  /** As many as corners where the last piece goes on for ever, one less (but one at least) where the range ends with it. */
  readonly slopePerKwh: Float64Array;
}

/** The convex envelope of blocks in any order over [leastKwh, mostKwh]: the highest convex cost that lies under them. */
export function envelopeOf({ atKwh, cost, slopePerKwh }: BlockCost, leastKwh: number, mostKwh: number): BlockCost {
  const costAt = (kwh: number) => {
    let k = 0;
    while (k < atKwh.length - 1 && kwh > atKwh[k + 1]!) k++;
    return cost[k]! + slopePerKwh[k]! * (kwh - atKwh[k]!);
  };
  // Lower hull, left to right.
  const x = [leastKwh];
  const y = [costAt(leastKwh)];
  const slopes: number[] = [];
  const add = (kwh: number) => {
    const value = costAt(kwh);
    for (;;) {
      const j = x.length - 1;
      const slope = (value - y[j]!) / (kwh - x[j]!);
      if (j > 0 && slope <= slopes[j - 1]!) {
        x.pop();
        y.pop();
        slopes.pop();
        continue;
      }
      x.push(kwh);
      y.push(value);
      slopes.push(slope);
      return;
    }
  };
  for (const kwh of atKwh) if (kwh > x[x.length - 1]! && kwh < mostKwh) add(kwh);
  if (mostKwh > leastKwh) add(mostKwh);
  return {
    atKwh: Float64Array.from(x),
    cost: Float64Array.from(y),
    slopePerKwh: Float64Array.from(slopes.length > 0 ? slopes : [0]),
  };
}
