import { type Axis, STEP_MINUTES } from '../axis/index.ts';
import { MAX_INTERVALS } from '../axis/inside.ts';
import { splitAxis, splitSteps, spreadEvenly } from '../meter/inside.ts';
import type { Tariff } from '../tariff/index.ts';
import { edgesInside } from '../tariff/inside.ts';
import type { PastInput, StudyInput } from './study-input.ts';

/** Steps of the data that were split, so that none has two prices. */
export interface StepsSplit {
  /** The axis of the data as metered. */
  readonly metered: Axis;
  readonly stepMinutes: number;
  /** The tariffs whose hours begin or end within a step of the data. */
  readonly tariffs: readonly string[];
}

/**
 * A past in steps that the hours of its tariffs don't begin or end within: a battery that fills at night would else be billed at
 * the mean of two prices. Each step is split into equal ones, as long as can be, its energy spread evenly over them. Hours that
 * no step of an axis meets split nothing.
 */
export function onPriceSteps<T extends PastInput & Pick<StudyInput, 'successors' | 'reachKwh'>>(
  input: T,
): { readonly input: T; readonly split?: StepsSplit } {
  const { series, successors = [], comparedTariffs = [] } = input;
  const metered = series.axis;
  const tariffs = [input.tariff, ...successors.map(({ tariff }) => tariff), ...comparedTariffs];
  const { stepMinutes, least } = bestSteps(metered, tariffs);
  if (stepMinutes === metered.stepMinutes) return { input };
  const parts = metered.stepMinutes / stepMinutes;
  const { reachKwh } = input;
  const inside = tariffs.filter((tariff, k) => edgesInside(tariff, metered) > least[k]!);
  return {
    input: {
      ...input,
      series: splitSteps(series, stepMinutes),
      ...(reachKwh === undefined ? {} : { reachKwh: spreadEvenly(reachKwh, parts) }),
    },
    split: { metered, stepMinutes, tariffs: [...new Set(inside.map(({ name }) => name))].sort() },
  };
}

/** The longest steps that the fewest hours of the tariffs begin or end within, and in how many of them each tariff's do. */
function bestSteps(axis: Axis, tariffs: readonly Tariff[]): { stepMinutes: number; least: readonly number[] } {
  let best = { stepMinutes: axis.stepMinutes, least: tariffs.map((tariff) => edgesInside(tariff, axis)) };
  const sum = (counts: readonly number[]) => counts.reduce((all, count) => all + count, 0);
  for (const stepMinutes of [...STEP_MINUTES].reverse()) {
    const parts = axis.stepMinutes / stepMinutes;
    if (sum(best.least) === 0) break;
    if (parts === 1 || !Number.isInteger(parts) || axis.intervals * parts > MAX_INTERVALS) continue;
    const fine = splitAxis(axis, stepMinutes);
    const counts = tariffs.map((tariff) => edgesInside(tariff, fine));
    if (sum(counts) < sum(best.least)) best = { stepMinutes, least: counts };
  }
  return best;
}
