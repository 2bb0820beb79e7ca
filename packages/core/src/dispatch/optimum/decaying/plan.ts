import type { StepProblem } from '../problem.ts';
import { isApart } from '../shape.ts';
import { MOST_SLOPES, Values, WAYS } from './values.ts';

/** Where less than this is left at the end of a kWh of the beginning, what rounding leaves of a sum would show: three digits are lost. */
const LEAST_LEFT = 1e-3;

// What a run of steps can do, the dearest first.
export const BUY = 0;
/** Store its surplus, or carry its load. */
export const OWN = 1;
export const SELL = 2;

/** Runs from the last to the first; of each its first step, and for each way its level and its width, kWh at its end. */
export interface Runs {
  count: number;
  readonly begin: Uint32Array;
  readonly level: Float64Array;
  readonly width: Float64Array;
}

/** What a stored kWh costs or saves by each way in step `i`. */
export function slopesAt(p: StepProblem, i: number, slope: Float64Array): void {
  const importPrice = p.importPricePerKwh[i]!;
  const exportPrice = p.exportPricePerKwh[i]!;
  slope[BUY] = importPrice * p.acPerCharged;
  slope[OWN] =
    p.netLoadKwh[i]! < 0 ? exportPrice * p.acPerCharged : (importPrice - p.wearPerKwh) * p.dischargeEfficiency;
  slope[SELL] = (exportPrice - p.wearPerKwh) * p.dischargeEfficiency;
}

/** The levels that each run fills or empties to, from the last run to the first; undefined where they can't be told so. */
export function planRuns(problem: StepProblem): Runs | undefined {
  const { intervals: n, netLoadKwh, importPricePerKwh, exportPricePerKwh, initialKwh, decay, scratch } = problem;
  const { chargeLimitKwh, dischargeLimitKwh, gridCharging, batteryExport, chargeEfficiency, storedPerAc } = problem;
  const low = problem.lowKwh[0]!;
  const spanKwh = problem.highKwh[0]! - low;
  const lostKwh = decay * spanKwh;
  const left = 1 - decay;
  const runs: Runs = {
    count: 0,
    begin: scratch.counts('run-begin', n),
    level: scratch.doubles('run-level', WAYS * n),
    width: scratch.doubles('run-width', WAYS * n),
  };
  const { begin, level, width } = runs;
  const values = new Values();
  if (!values.put(values.rankOf(problem.finalValuePerKwh, 0), spanKwh, problem.finalValuePerKwh)) return undefined;
  const slope = new Float64Array(WAYS);
  const rank = new Uint8Array(WAYS);
  /** What is left at the end of the year of a kWh at the end of the run. */
  let kept = 1;
  for (let last = n - 1; last >= 0; ) {
    const surplus = netLoadKwh[last]! < 0;
    const importPrice = importPricePerKwh[last]!;
    const exportPrice = exportPricePerKwh[last]!;
    slopesAt(problem, last, slope);
    // Ways that cost the same, or the wrong way round, are for the list.
    if (gridCharging && !isApart(slope[BUY]!, slope[OWN]!)) return undefined;
    if (batteryExport && !isApart(slope[OWN]!, slope[SELL]!)) return undefined;

    let buyKwh = 0;
    let ownKwh = 0;
    let sellKwh = 0;
    /** What is left at the run's end of a kWh after the step. */
    let share = 1;
    let first = last;
    for (; first >= 0; first--) {
      const net = netLoadKwh[first]!;
      if (net < 0 !== surplus || importPricePerKwh[first] !== importPrice || exportPricePerKwh[first] !== exportPrice)
        break;
      const charge = chargeLimitKwh[first]!;
      const discharge = dischargeLimitKwh[first]!;
      const own = surplus ? (charge < -net ? charge : -net) : net < discharge ? net : discharge;
      const stores = surplus ? own : gridCharging ? charge : spanKwh;
      const alone = stores * chargeEfficiency < lostKwh;
      if (alone && first < last) break;
      ownKwh += own * share;
      if (gridCharging) buyKwh += (surplus ? charge - own : charge) * share;
      if (batteryExport) sellKwh += (surplus ? discharge : discharge - own) * share;
      share *= left;
      if (alone) {
        first--;
        break;
      }
    }
    first++;
    const at = WAYS * runs.count;
    begin[runs.count++] = first;
    width[at + BUY] = buyKwh * chargeEfficiency;
    width[at + OWN] = ownKwh * (surplus ? chargeEfficiency : storedPerAc);
    width[at + SELL] = sellKwh * storedPerAc;

    // A slope that is new moves those after it: all are asked for again once each of this run's has been met.
    for (let round = 0; round < 2; round++)
      for (let way = BUY; way < WAYS; way++) {
        if (width[at + way]! <= 0) continue;
        if (slope[way]! < 0) return undefined;
        rank[way] = values.rankOf(slope[way]!, way);
        if (rank[way] === MOST_SLOPES) return undefined;
      }
    // Where each way stands: after all that is worth more. What is worth nothing decays to the same nothing.
    for (let way = BUY; way < WAYS; way++) level[at + way] = low + values.above(rank[way]!, slope[way] === 0) / kept;
    const keptAtFirst = (kept * share) / left;
    for (let way = BUY; way < WAYS; way++) {
      if (width[at + way]! <= 0) continue;
      if (!values.put(rank[way]!, width[at + way]! * kept, slope[way]! / kept, slope[way]! / keptAtFirst))
        return undefined;
    }
    let skipKwh = (width[at + BUY]! + (surplus ? width[at + OWN]! : 0)) * kept;
    kept *= share;
    if (!(kept > LEAST_LEFT)) return undefined;
    if (first === 0) skipKwh += (initialKwh - low) * kept;
    values.cut(skipKwh, first === 0 ? 0 : spanKwh * kept);
    last = first - 1;
  }
  return runs;
}
