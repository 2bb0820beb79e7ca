import type { Case } from '../trial/index.ts';

/** Filling that takes longer is not waited for. */
const MOST_HOURS = 31 * 24;

/**
 * Hours that filling up takes, at the most over some ends of it: with the charging power that is entered, within what the
 * service leaves beside the home's own load, without sun, which nobody can promise. Where the data begin before the battery is
 * full, that end says nothing; where none says anything, as if there were no load.
 *
 * @param ends intervals before which it must be full
 */
export function hoursToFillBy(
  home: Pick<Case, 'plant' | 'onAxis'>,
  fillKwh: number,
  gridChargeKw: number,
  ends: readonly number[],
): number {
  if (fillKwh <= 1e-9) return 0;
  const { plant, onAxis } = home;
  const { stepHours, importLimitKwh, source, standbyKwh, conversionKwh, conversion, decayShare } = onAxis;
  const powerKw = Math.min(gridChargeKw, plant.chargeLimitKw);
  const unhindered = fillKwh / (powerKw * conversion.chargeEfficiency);
  if (importLimitKwh === Number.POSITIVE_INFINITY && decayShare === 0) return unhindered;
  const own = standbyKwh + conversionKwh;
  const mostSteps = Math.ceil(MOST_HOURS / stepHours);
  let longest = 0;
  for (const end of ends) {
    let lack = fillKwh;
    let kept = 1;
    for (let i = end - 1; i >= Math.max(0, end - mostSteps); i--) {
      const room = Math.max(0, importLimitKwh - source.loadKwh[i]! - own);
      const stored = kept * Math.min(powerKw * stepHours, room) * conversion.chargeEfficiency;
      if (stored >= lack) {
        longest = Math.max(longest, (end - 1 - i + lack / stored) * stepHours);
        break;
      }
      lack -= stored;
      kept *= 1 - decayShare;
      if (end - i === mostSteps) longest = MOST_HOURS;
    }
  }
  return longest === 0 ? unhindered : longest;
}
