// Hours of backup from every start, one interval after another: docs/concepts/outage.md, "Hours of backup".

import { type Document, listOf, minutesOf, partsOf } from './days.ts';
import type { CheckedFlow, CheckedHome } from './plant.ts';

/** What stays on when the grid fails, kWh an interval. */
export function islandLoad(home: CheckedHome, backup: Document): Float64Array {
  const load = backup.load as Document | undefined;
  const { count, stepMinutes, day, minuteOfDay } = home.intervals;
  if (load?.share !== undefined) return home.load.map((kwh) => kwh * Number(load.share));
  if (load?.watts !== undefined) return new Float64Array(count).fill((Number(load.watts) * stepMinutes) / 60_000);
  if (backup.circuits === undefined) return home.reached;
  // Circuits: their mean draw in their hours and months.
  const kwh = new Float64Array(count);
  for (const circuit of listOf(backup.circuits as Document[])) {
    const hours = circuit.hours as Document | undefined;
    const from = hours === undefined ? 0 : minutesOf(hours.from as string);
    const to = hours === undefined ? 1440 : minutesOf(hours.to as string);
    for (let i = 0; i < count; i++) {
      if (circuit.months !== undefined && !listOf(circuit.months as number[]).includes(partsOf(day[i]!).month))
        continue;
      const minute = minuteOfDay[i]!;
      if (from < to ? minute < from || minute >= to : minute < from && minute >= to) continue;
      kwh[i]! += (Number(circuit.watts) * Number(circuit.dutyShare ?? 1) * stepMinutes) / 60_000;
    }
  }
  return kwh;
}

/**
 * For how many hours the battery carries the island from the start of each interval.
 *
 * @param slackKwh added in every interval: with a little more and a little less than nothing the two answers enclose what
 * any order of adding up gives where sun and load are the same to the last digit
 */
export function survivalHours(
  home: CheckedHome,
  site: Document,
  { socKwh, startKwh }: Pick<CheckedFlow, 'socKwh' | 'startKwh'>,
  load: Float64Array = islandLoad(home, (site.backup ?? {}) as Document),
  slackKwh = 0,
): Float64Array {
  const backup = (site.backup ?? {}) as Document;
  const { plant, intervals } = home;
  const { count, stepMinutes } = intervals;
  const dc = (site.plant as Document).coupling === 'dc';
  const solarHere = (backup.solarOnIsland ?? dc) === true;
  const solarLimit = Number(backup.solarLimitKw ?? Number.POSITIVE_INFINITY) * (stepMinutes / 60);
  const margin = (backup.margin ?? {}) as Document;
  const left = 1 - Number(margin.fadeShare ?? 0);
  const gauge = Number(margin.gaugeShare ?? 0) * plant.capacity;
  const cold = backup.cold as Document | undefined;
  const full = left * plant.capacity - plant.shutdown;
  const keeps = 1 - plant.decay;

  // What an interval adds to stored energy; −Infinity where the load is more than the equipment can carry.
  const adds = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const sun = solarHere ? Math.min(home.solar[i]!, solarLimit) : 0;
    const net = load[i]! + plant.standby - sun;
    const frozen =
      cold !== undefined && (cold.lowsC as number[])[partsOf(intervals.day[i]!).month - 1]! <= Number(cold.limitC);
    adds[i] =
      load[i]! - slackKwh > plant.discharge
        ? Number.NEGATIVE_INFINITY
        : net > 0
          ? -net / plant.dischargeEfficiency
          : frozen
            ? 0
            : Math.min(-net, plant.charge) * plant.solarEfficiency;
  }
  const most = Math.min(count, Math.ceil((336 * 60) / stepMinutes));
  const hours = new Float64Array(count);
  for (let start = 0; start < count; start++) {
    const soc = start === 0 ? startKwh : socKwh[start - 1]!;
    let stored = Math.max(0, Math.min(full, left * soc - gauge - plant.shutdown));
    let steps = 0;
    for (; steps < most; steps++) {
      const i = (start + steps) % count;
      const next = stored * keeps + adds[i]! + slackKwh;
      if (next < 0) {
        if (adds[i] !== Number.NEGATIVE_INFINITY) steps += (stored * keeps) / -adds[i]!;
        break;
      }
      stored = Math.min(full, next);
    }
    hours[start] = Math.min(336, (steps * stepMinutes) / 60);
  }
  return hours;
}
