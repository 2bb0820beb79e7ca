import type { Axis } from '../axis/index.ts';
import { none, type Strategy, selfConsumption, windowFill } from '../dispatch/index.ts';
import { darkIntervals, type SettledChannels, sunDays } from '../meter/inside.ts';
import type { Plant } from '../plant/index.ts';
import { type Case, evaluate } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';
import type { Site } from './schema.ts';

/** Load and solar of a home whose solar isn't metered, at one end of what is possible. kWh an interval. */
export interface HiddenEnd {
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  /** What both hold that no meter measured; absent at the end where that is nothing. */
  readonly hiddenKwh?: Float64Array;
}

/** A cloudless day is looked for among so many before and after. */
const DAYS_AROUND = 15;

/** What the ends are told apart by: rules that every home can run. */
const RULES: readonly Strategy[] = [selfConsumption, windowFill];

/**
 * Which of the two ends a home is taken for, whose solar isn't metered and whose battery acts on more than the net: behind an
 * inverter that it shares with the sun, or where it reaches only part of the load. At one end nothing of the solar was used
 * behind the meter, at the other each day was as clear as the clearest near it. The end on which the battery saves less is taken.
 *
 * @param lay a case of one end
 * @returns undefined where the net is all that counts
 */
export function takeLowerEnd(
  site: Site,
  axis: Axis,
  channels: SettledChannels,
  plant: Plant,
  lay: (end: HiddenEnd) => Case,
): { end: HiddenEnd; told: Fact } | undefined {
  if (site.plant === undefined) return undefined;
  const shares = plant.coupling === 'dc';
  const part = site.plant.reach !== 'whole-home';
  if (channels.loadKnown || !(shares || part)) return undefined;
  const hidden = hiddenKwh(site, axis, channels);
  const least: HiddenEnd = { loadKwh: channels.loadKwh, solarKwh: channels.solarKwh };
  const most: HiddenEnd = {
    loadKwh: channels.loadKwh.map((kwh, i) => kwh + hidden[i]!),
    solarKwh: channels.solarKwh.map((kwh, i) => kwh + hidden[i]!),
    hiddenKwh: hidden,
  };
  const lain = lay(least);
  const [ofLeast, ofMost] = [savedOn(lain), savedOn(lay(most))];
  const usesMost = ofMost < ofLeast;
  const { currency, currencyDecimals } = lain.tariff;
  const data = {
    why: shares && part ? ('both' as const) : shares ? ('shared-inverter' as const) : ('part-of-load' as const),
    hiddenKwh: hidden.reduce((sum, kwh) => sum + kwh, 0),
    savings: usesMost ? ofMost : ofLeast,
    otherSavings: usesMost ? ofLeast : ofMost,
    used: usesMost ? ('most' as const) : ('least' as const),
    currency,
    currencyDecimals,
  };
  const told = fact(HOME_WORDS, 'solar-hidden', 'warning', data, { path: ['meter', 'files'] });
  return { end: usesMost ? most : least, told };
}

/** What the better of the two rules saves on one end. */
function savedOn(home: Case): number {
  const without = evaluate(home, none, ['bill']).bill.unrounded;
  return Math.max(...RULES.map((rule) => without - evaluate(home, rule, ['bill']).bill.unrounded));
}

/**
 * Most solar that may have been used behind the meter, kWh an interval: what the most that was sold at that time of day,
 * within so many days, and the base load of the home leave above what was sold.
 */
function hiddenKwh(site: Site, axis: Axis, { importKwh, exportKwh }: SettledChannels): Float64Array {
  const { calendar } = axis;
  const dark = darkIntervals({ axis }, sunDays({ axis }, site.location ?? {}));
  const bought = importKwh.filter((_, i) => dark[i] === 1).sort();
  const baseKwh = bought[Math.floor(bought.length / 2)] ?? 0;
  const perDay = Math.round(24 / axis.stepHours);
  const slotOf = (i: number) => Math.floor((calendar.minuteOfDay[i]! / 60 / 24) * perDay);
  const days = calendar.days.length;
  const sold = new Float64Array(days * perDay);
  for (let i = 0; i < axis.intervals; i++) {
    const at = calendar.day[i]! * perDay + slotOf(i);
    sold[at] = Math.max(sold[at]!, exportKwh[i]!);
  }
  const hidden = new Float64Array(axis.intervals);
  for (let i = 0; i < axis.intervals; i++) {
    if (dark[i] === 1) continue;
    const day = calendar.day[i]!;
    let clearest = 0;
    for (let d = Math.max(0, day - DAYS_AROUND); d <= Math.min(days - 1, day + DAYS_AROUND); d++)
      clearest = Math.max(clearest, sold[d * perDay + slotOf(i)]!);
    if (clearest > 0) hidden[i] = Math.max(0, clearest + baseKwh - exportKwh[i]!);
  }
  return hidden;
}
