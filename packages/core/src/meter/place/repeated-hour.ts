import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { eachLater, type Group } from '../readings.ts';

/** How far apart an hour that is there twice and one that is absent may lie, ms. */
const REPEAT_REACH_MS = DAY_MS;

/**
 * An hour of UTC that occurs twice with different values, with an absent hour on the same day: clock changes
 * were put through at the wrong moment, and the readings between the two lie an hour off. They are moved back,
 * so that every reading has an interval of its own and no energy is lost. Durations that the same mistake
 * made 0 or doubled are then as they should be. A layout of whole days has no hour that could be moved.
 */
export function moveRepeatedHour(group: Group, findings: FindingList): void {
  const { labels, streams, stepMs } = group;
  const { labelMs, durationMs } = labels;
  if (labels.stepMs !== undefined || eachLater(labels)) return;
  const perHour = HOUR_MS / stepMs;
  const seen = new Map<number, number>();
  const again: number[] = [];
  for (let i = 0; i < labels.count; i++) {
    const known = seen.get(labelMs[i]!);
    if (known === undefined) seen.set(labelMs[i]!, i);
    else if (
      streams.some(
        ({ values }) => values[i]! !== values[known]! && !Number.isNaN(values[i]!) && !Number.isNaN(values[known]!),
      )
    )
      again.push(i);
    if (again.length > 400) return;
  }
  if (again.length >= perHour && Number.isInteger(perHour)) {
    again.sort((a, b) => labelMs[a]! - labelMs[b]! || a - b);
    for (let j = 0; j + perHour <= again.length; j += perHour) {
      const run = again.slice(j, j + perHour);
      const from = labelMs[run[0]!]!;
      if (run.some((i, k) => labelMs[i]! !== from + k * stepMs)) continue;
      let free = 0;
      for (let distance = HOUR_MS; distance <= REPEAT_REACH_MS && free === 0; distance += stepMs)
        free = [distance, -distance].find((shift) => run.every((_, k) => !seen.has(from + k * stepMs + shift))) ?? 0;
      if (free === 0) continue;
      const moved: number[] = [];
      const second = new Set(run);
      for (let i = 0; i < labels.count; i++) {
        const label = labelMs[i]!;
        const inRun = label >= from && label < from + HOUR_MS;
        if (
          free > 0
            ? (inRun && second.has(i)) || (label >= from + HOUR_MS && label < from + free)
            : (inRun && !second.has(i)) || (label >= from + free + HOUR_MS && label < from)
        )
          moved.push(i);
      }
      for (const i of moved) labelMs[i] = labelMs[i]! + (free > 0 ? HOUR_MS : -HOUR_MS);
      findings.add(
        'utc-hour-repeated',
        'warning',
        {},
        { lines: [...moved].sort((x, y) => x - y).map((i) => labels.line[i]!), count: moved.length },
      );
    }
    if (findings.has('utc-hour-repeated')) {
      seen.clear();
      for (let i = 0; i < labels.count; i++) seen.set(labelMs[i]!, (seen.get(labelMs[i]!) ?? 0) + 1);
      for (let i = 0; durationMs !== undefined && i < labels.count; i++)
        if (
          seen.get(labelMs[i]!) === 1 &&
          (durationMs[i] === 0 || (durationMs[i]! > 1.5 * stepMs && seen.has(labelMs[i]! + stepMs)))
        ) {
          findings.add('duration-odd', 'note', {}, { line: labels.line[i]! });
          durationMs[i] = stepMs;
        }
    }
  }
}
