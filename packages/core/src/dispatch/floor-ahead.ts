import type { Levels, PlantOnAxis } from '../plant/index.ts';
import { quantityAt } from '../plant/inside.ts';
import type { Home } from './home.ts';
import { isOurs, roleOf } from './identity.ts';
import type { Strategy } from './strategy.ts';

/** A floor is kept for so many hours before it rises. */
const HOURS_AHEAD = 24;

/** Share of yesterday's surplus that is counted on to bring back what is carried before it comes. */
const TRUSTED_SURPLUS = 0.5;

/** What a floor that will rise asks for beforehand, kWh at the end of each interval; −∞ where nothing. */
export interface FloorAhead {
  /** Load isn't carried below this: a kWh carried now would have to come back at a price that doesn't pay for it. */
  readonly keepKwh: Float64Array;
  /** Bought up to at any price: later it couldn't be reached at full power. */
  readonly needKwh: Float64Array;
}

/**
 * What a strategy of ours keeps for a floor that will rise: by the hour, by the month, by a date. Undefined where the floor
 * stands, where it is reckoned from the past and nobody knows it ahead, and where the strategy knows all of the future.
 *
 * With φ of the coming floors, R the most that can be bought in a step and p the import price, over the next 24 h
 *
 *     need(i) = max over j of  φ(j) − Σ R(k), i < k ≤ j
 *     keep(i) = the same with R(k) where p(k) < p(i)·ηc·ηd, and elsewhere half of the surplus of the same hour a day before
 *
 * each over what self-discharge leaves of it until j. Where prices are published a day ahead, keep is need. Without
 * charging from the grid only the sun can bring anything back, and nothing is bought. O(n · steps of a day).
 */
export function floorAhead(strategy: Strategy, home: Home, onAxis: PlantOnAxis): FloorAhead | undefined {
  const { floorKwh, netKwh, chargeLimitKwh, gridCharging, conversion, decayShare, stepHours, importLimitKwh } = onAxis;
  if (typeof floorKwh === 'number' || home.plant.floorFromPast === true) return undefined;
  if (!isOurs(strategy) || strategy.knowledge !== 'causal' || roleOf(strategy) !== 'rule') return undefined;
  const n = floorKwh.length;
  const steps = Math.round(HOURS_AHEAD / stepHours);
  const keepKwh = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
  const needKwh = new Float64Array(n).fill(Number.NEGATIVE_INFINITY);
  const roundTrip = conversion.chargeEfficiency * conversion.dischargeEfficiency;
  const { importPricePerKwh, priceKnowledge } = home.tariff;
  const priced = priceKnowledge === 'published';
  const left = 1 - decayShare;
  let rise = Number.POSITIVE_INFINITY;
  for (let i = n - 2; i >= 0; i--) {
    if (floorKwh[i + 1]! > floorKwh[i]!) rise = i + 1;
    if (rise - i > steps) continue;
    const pays = !gridCharging
      ? Number.NEGATIVE_INFINITY
      : priced
        ? importPricePerKwh[i]! * roundTrip
        : Number.POSITIVE_INFINITY;
    const end = Math.min(n, i + 1 + steps);
    let backKwh = 0;
    let allKwh = 0;
    let kept = 1;
    let keep = Number.NEGATIVE_INFINITY;
    let need = Number.NEGATIVE_INFINITY;
    for (let k = i + 1; k < end; k++) {
      kept *= left;
      const limit = quantityAt(chargeLimitKwh, k);
      const fill = (limit < importLimitKwh ? limit : importLimitKwh) * conversion.chargeEfficiency;
      allKwh += fill;
      if (pays === Number.POSITIVE_INFINITY || importPricePerKwh[k]! < pays) backKwh += fill;
      else if (k >= steps && netKwh[k - steps]! < 0)
        backKwh += Math.min(-TRUSTED_SURPLUS * netKwh[k - steps]!, limit) * conversion.solarChargeEfficiency;
      const floor = floorKwh[k]!;
      if (floor - backKwh > keep * kept) keep = (floor - backKwh) / kept;
      if (floor - allKwh > need * kept) need = (floor - allKwh) / kept;
    }
    keepKwh[i] = keep;
    if (gridCharging) needKwh[i] = need;
  }
  return { keepKwh, needKwh };
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
