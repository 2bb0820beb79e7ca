import type { Flows, Levels, PlantOnAxis } from '../plant/index.ts';
import { executeLevels, highest, quantityAt, type RunState } from '../plant/inside.ts';
import { knownFloors } from './curtain.ts';
import type { Home } from './home.ts';
import { isOurs, roleOf } from './identity.ts';
import { countedForDemand } from './peak-shave.ts';
import type { Strategy } from './strategy.ts';

/** A floor is kept for so many hours before it rises, longer where filling takes longer, up to a week. */
const HOURS_AHEAD = 24;
const MOST_HOURS_AHEAD = 168;

/** Days whose load at the same hour is looked back on, where an import limit leaves less to charge with. */
const DAYS_BACK = 7;

/** Share of yesterday's surplus that is counted on to bring back what is carried before it comes. */
const TRUSTED_SURPLUS = 0.5;

/** Less than this is what rounding leaves, kWh. */
const ROUNDING_KWH = 1e-9;

/** What a floor that will rise asks for beforehand, kWh at the end of each interval; −∞ where nothing. */
export interface FloorAhead {
  /** Load isn't carried below this: a kWh carried now would have to come back at a price that doesn't pay for it. */
  readonly keepKwh: Float64Array;
  /** Bought up to at any price, and above the cap of a strategy: later it couldn't be reached at full power. */
  readonly needKwh: Float64Array;
  /** What could be reached later while no interval that counts for demand imports more than `capKwh`: no cap is held below it. */
  needUnder(i: number, capKwh: number): number;
}

/**
 * What a causal strategy of ours keeps for a floor that will rise: by the hour, by the month, by a date from its notice on.
 * `rolling` too: its plan counts on past days' sun, and doesn't hold such a floor alone. Undefined where the floor stands, where it is reckoned from the past and nobody knows it ahead, and where the strategy knows all of the future.
 *
 * With φ of the coming floors as they are known at i, R the most that can be bought in a step and p the import price, over the next 24 h
 *
 *     need(i) = max over j of  φ(j) − Σ R(k), i < k ≤ j
 *     keep(i) = the same with R(k) where p(k) < p(i)·ηc·ηd, and elsewhere half of the surplus of the same hour a day before
 *
 * each over what self-discharge leaves until j. R is the charging limit, within what the import limit leaves beside the
 * highest load of the same hour in the last week. Where prices are published a day ahead, keep is need. Without charging
 * from the grid only the sun can bring anything back, and nothing is bought. O(n · steps looked ahead).
 */
export function floorAhead(strategy: Strategy, home: Home, onAxis: PlantOnAxis): FloorAhead | undefined {
  const { netKwh, chargeLimitKwh, gridCharging, conversion, decayShare, stepHours } = onAxis;
  const floors = knownFloors(home.plant);
  if (floors === undefined || home.plant.floorFromPast === true) return undefined;
  if (!isOurs(strategy) || strategy.knowledge !== 'causal') return undefined;
  // A box with a sheet knows what is entered, and what is set by hand at its dates: nothing of the site's floors.
  if (roleOf(strategy) === 'baseline' || roleOf(strategy) === 'settings') return undefined;
  const n = netKwh.length;
  const day = Math.round(24 / stepHours);
  const steps = stepsAhead(onAxis);
  const keepKwh = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
  const needKwh = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
  const roundTrip = conversion.chargeEfficiency * conversion.dischargeEfficiency;
  const { importPricePerKwh, priceKnowledge } = home.tariff;
  const priced = priceKnowledge === 'published';
  const left = 1 - decayShare;
  const fillOf = fillsOf(onAxis, day);
  // Where converting draws, a purchase of less than the draw isn't made.
  const slackKwh = onAxis.conversionKwh * conversion.chargeEfficiency;
  for (const [f, { from, floorKwh }] of floors.entries()) {
    const until = Math.min(n, floors[f + 1]?.from ?? n);
    let rise = Number.POSITIVE_INFINITY;
    for (let i = Math.min(n - 2, until - 1 + steps); i >= from; i--) {
      if (floorKwh[i + 1]! > floorKwh[i]!) rise = i + 1;
      if (i >= until || rise - i >= steps) continue;
      const pays = !gridCharging
        ? Number.NEGATIVE_INFINITY
        : priced
          ? importPricePerKwh[i]! * roundTrip
          : Number.POSITIVE_INFINITY;
      const end = Math.min(n, i + steps);
      let backKwh = 0;
      let allKwh = 0;
      let kept = 1;
      let keep = Number.NEGATIVE_INFINITY;
      let need = Number.NEGATIVE_INFINITY;
      for (let k = i + 1; k < end; k++) {
        const like = alike(i, k, day);
        const fill = fillOf(i, like, k, Number.POSITIVE_INFINITY);
        // What was there before has decayed by one step more.
        kept *= left;
        allKwh = allKwh * left + fill;
        backKwh *= left;
        if (pays === Number.POSITIVE_INFINITY || importPricePerKwh[k]! < pays) backKwh += fill;
        else if (like >= day && netKwh[like - day]! < 0)
          backKwh +=
            Math.min(-TRUSTED_SURPLUS * netKwh[like - day]!, quantityAt(chargeLimitKwh, k)) *
            conversion.solarChargeEfficiency;
        const floor = floorKwh[k]! + slackKwh;
        if (floor - backKwh > keep * kept) keep = (floor - backKwh) / kept;
        if (floor - allKwh > need * kept) need = (floor - allKwh) / kept;
      }
      keepKwh[i] = keep;
      if (gridCharging) needKwh[i] = need;
    }
  }
  const counts = countedForDemand(home.tariff);
  return {
    keepKwh,
    needKwh,
    needUnder(i, capKwh) {
      let need = Number.NEGATIVE_INFINITY;
      if (needKwh[i] === need) return need;
      const { floorKwh } = floors.findLast(({ from }) => from <= i)!;
      let allKwh = 0;
      let kept = 1;
      for (let k = i + 1; k < Math.min(n, i + steps); k++) {
        kept *= left;
        allKwh = allKwh * left + fillOf(i, alike(i, k, day), k, counts[k] === 1 ? capKwh : Number.POSITIVE_INFINITY);
        const floor = floorKwh[k]! + slackKwh;
        if (floor - allKwh > need * kept) need = (floor - allKwh) / kept;
      }
      return need;
    },
  };
}

/** A floor that will rise, as what a strategy keeps at the end of an interval asks for. */
export interface RiseAhead {
  /** What is kept for it there, kWh. */
  readonly keptKwh: number;
  /** The highest of the floors that are looked ahead to, kWh, and hours from the end of the interval until it holds. */
  readonly toKwh: number;
  readonly inHours: number;
}

/** The floor ahead for which a strategy keeps more than today's at the end of interval `i`; undefined where none does. */
export function riseAhead(strategy: Strategy, home: Home, onAxis: PlantOnAxis, i: number): RiseAhead | undefined {
  const ahead = floorAhead(strategy, home, onAxis);
  if (ahead === undefined) return undefined;
  const { floorKwh } = knownFloors(home.plant)!.findLast(({ from }) => from <= i)!;
  const keptKwh = Math.max(ahead.keepKwh[i]!, ahead.needKwh[i]!);
  if (keptKwh <= floorKwh[i]! + ROUNDING_KWH) return undefined;
  let top = i;
  for (let k = i + 1; k < Math.min(floorKwh.length, i + stepsAhead(onAxis)); k++)
    if (floorKwh[k]! > floorKwh[top]! + ROUNDING_KWH) top = k;
  // The floor of an interval is kept at its end.
  return { keptKwh, toKwh: floorKwh[top]!, inHours: (top - i) * onAxis.stepHours };
}

/** How many steps a floor is looked ahead for. */
function stepsAhead({ capacityKwh, chargeLimitKwh, conversion, stepHours }: PlantOnAxis): number {
  const most = highest(chargeLimitKwh) * conversion.chargeEfficiency;
  const fillHours = most > 0 ? (highest(capacityKwh) / most) * stepHours : 0;
  return Math.ceil(Math.min(MOST_HOURS_AHEAD, Math.max(HOURS_AHEAD, fillHours)) / stepHours - 1e-9);
}

/** The interval of the 24 h from `i` on that begins at the same hour as `k`: a day before it everything is known. */
function alike(i: number, k: number, day: number): number {
  return k - i < day ? k : i + ((k - i) % day);
}

/**
 * What the battery can be filled by in interval `k`, as seen from `i`, kWh: at full power, within what a cap and the import
 * limit leave beside the highest net load of the same hour on the seven days before `like`; before there is one, beside the highest so far.
 */
function fillsOf(
  { netKwh, importLimitKwh, conversionKwh, chargeLimitKwh, conversion }: PlantOnAxis,
  day: number,
): (i: number, like: number, k: number, capKwh: number) => number {
  const n = netKwh.length;
  const soFar = new Float64Array(n);
  const usual = new Float64Array(n);
  for (let i = 1; i < n; i++) soFar[i] = Math.max(soFar[i - 1]!, netKwh[i - 1]!);
  for (let k = day; k < n; k++)
    for (let back = 1; back <= DAYS_BACK && k >= back * day; back++)
      usual[k] = Math.max(usual[k]!, netKwh[k - back * day]!);
  return (i, like, k, capKwh) => {
    const besideKwh = conversionKwh + (like < day ? soFar[i]! : usual[like]!);
    const room = Math.max(0, Math.min(importLimitKwh, capKwh) - besideKwh);
    return Math.min(quantityAt(chargeLimitKwh, k), room) * conversion.chargeEfficiency;
  };
}

/** Raises levels of intervals `[from, to)` to what is kept for a coming floor. */
export function keepAhead({ keepKwh, needKwh }: FloorAhead, levels: Levels, from: number, to: number): void {
  const { gridChargeToKwh, serveDownToKwh, exportDownToKwh } = levels;
  for (let i = from; i < to; i++) {
    if (keepKwh[i]! > serveDownToKwh[i]!) serveDownToKwh[i] = keepKwh[i]!;
    if (keepKwh[i]! > exportDownToKwh[i]!) exportDownToKwh[i] = keepKwh[i]!;
    if (needKwh[i]! > gridChargeToKwh[i]!) gridChargeToKwh[i] = needKwh[i]!;
  }
}

/**
 * Executes levels that {@link keepAhead} raised. Where holding the cap of a strategy would leave less than the floor, or than is needed
 * for the coming one, the cap isn't held in that interval: only so much is carried, or as much bought, as leaves just that.
 */
export function executeKeeping(
  onAxis: PlantOnAxis,
  { keepKwh, needKwh, needUnder }: FloorAhead,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  const { floorKwh, gridCharging } = onAxis;
  // What can't be bought back is kept as the other strategies keep it.
  const aheadKwh = gridCharging ? needKwh : keepKwh;
  const { importCapKw, gridChargeToKwh, serveDownToKwh } = levels;
  for (let i = from; i < to; ) {
    let end = i;
    while (end < to && importCapKw[end] === Number.POSITIVE_INFINITY) end++;
    if (end > i) executeLevels(onAxis, levels, i, end, state, flows);
    for (i = end; i < to && importCapKw[i] !== Number.POSITIVE_INFINITY; i++) {
      const before = { ...state };
      executeLevels(onAxis, levels, i, i + 1, state, flows);
      const wantedKwh = Math.max(aheadKwh[i]!, quantityAt(floorKwh, i));
      const heldKwh = Math.max(wantedKwh, needUnder(i, importCapKw[i]! * onAxis.stepHours));
      const gave = flows.dischargeKwh[i]! > 0;
      if (state.socKwh >= (gave ? heldKwh : wantedKwh) - ROUNDING_KWH) continue;
      Object.assign(state, before);
      for (const series of Object.values(flows) as Float64Array[]) series[i] = 0;
      importCapKw[i] = Number.POSITIVE_INFINITY;
      gridChargeToKwh[i] = wantedKwh;
      serveDownToKwh[i] = heldKwh;
      executeLevels(onAxis, levels, i, i + 1, state, flows);
    }
  }
}
