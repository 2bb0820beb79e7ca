import type { FindingList } from './findings.ts';
import { kwhPer } from './kwh.ts';
import type { ParseOptions, Unit } from './options.ts';
import type { Labels, Readings, Stream } from './readings.ts';

const HOUR_MS = 3_600_000;

/**
 * Gives every stream its unit: the user's word, the file's word, or evidence that leaves one choice.
 * Where more than one is left, an error finding asks; nothing is chosen in silence.
 */
export function settleUnits(
  readings: Readings,
  groups: readonly { labels: Labels; stepMs: number; streams: Stream[] }[],
  options: ParseOptions,
  findings: FindingList,
  evidence: string[],
): boolean {
  if (options.unit !== undefined) {
    for (const { streams } of groups) {
      for (const stream of streams) {
        if (
          stream.unit !== undefined &&
          stream.unit !== options.unit &&
          !(stream.unit === 'kW' && options.unit === 'kW-minutes')
        )
          findings.add(
            'unit-overridden',
            'warning',
            `${stream.source} says ${stream.unit}; ${options.unit} was stated and taken`,
            { key: stream.source },
          );
        stream.unit = options.unit;
      }
    }
    evidence.push(`the unit is ${options.unit}: stated`);
    return true;
  }
  let known = true;
  for (const { stepMs, streams } of groups) {
    const open = streams.filter((stream) => stream.unit === undefined);
    if (open.length === 0) continue;
    const named = streams.find((stream) => stream.unit !== undefined)?.unit;
    if (named !== undefined) {
      for (const stream of open) stream.unit = named;
      evidence.push(`values without a unit are in ${named}, as their neighbours are`);
      continue;
    }
    const plausible = plausibleUnits(open, stepMs);
    const { choices, by } = narrow(plausible, open, stepMs, readings, options);
    if (choices.length === 1) {
      for (const stream of open) stream.unit = choices[0]!;
      evidence.push(`the unit is ${choices[0]}: no other ${by}`);
      findings.add('unit-inferred', 'note', `no unit is stated: ${choices[0]} was taken, for no other ${by}`);
      continue;
    }
    known = false;
    const sizes = choices.map((unit) => `${unit} would make ${dailyKwh(open, unit, stepMs).toPrecision(3)} kWh a day`);
    findings.add(
      'unit-unknown',
      'error',
      `nothing says in which unit the values are (${sizes.join(', ') || 'no unit gives a home’s daily energy'}): state \`unit\``,
    );
  }
  return known;
}

/** A price that is believed without being stated, of a kWh in the file's currency. */
const PLAUSIBLE_PRICE = { least: 0.02, most: 1.5 };

/** Narrows the units in question by a bill, then by cost. */
function narrow(
  units: readonly Unit[],
  streams: readonly Stream[],
  stepMs: number,
  readings: Readings,
  options: ParseOptions,
): { choices: readonly Unit[]; by: string } {
  const { billedKwh, pricePerKwh } = options;
  const bought = streams.filter((stream) => stream.role === 'import' || stream.role === 'net');
  if (billedKwh !== undefined && bought.length > 0) {
    const fits = units.filter((unit) => Math.abs(totalKwh(bought, unit, stepMs) / billedKwh - 1) < 0.1);
    if (fits.length === 1) return { choices: fits, by: 'gives what was billed' };
  }
  if (readings.costPerValue !== undefined) {
    const price = (unit: Unit) => readings.costPerValue! / kwhPer(unit, stepMs);
    const fits = units.filter((unit) =>
      pricePerKwh === undefined
        ? price(unit) >= PLAUSIBLE_PRICE.least && price(unit) <= PLAUSIBLE_PRICE.most
        : Math.abs(Math.log(price(unit) / pricePerKwh)) < Math.log(1.4),
    );
    if (fits.length === 1) return { choices: fits, by: 'gives a price that fits the cost' };
  }
  return { choices: units, by: 'gives a home’s daily energy' };
}

function totalKwh(streams: readonly Stream[], unit: Unit, stepMs: number): number {
  let total = 0;
  for (const { values } of streams) for (const value of values) if (value > 0) total += value;
  return total * kwhPer(unit, stepMs);
}

/** Daily energy of a home, or of its solar, that is believed without asking, kWh. */
const PLAUSIBLE_DAILY_KWH = { least: 1, most: 200 };

function plausibleUnits(streams: readonly Stream[], stepMs: number): readonly Unit[] {
  const candidates =
    streams[0]!.unitChoices ?? (stepMs === HOUR_MS ? (['kWh', 'Wh'] as const) : (['kWh', 'kW', 'Wh', 'W'] as const));
  return candidates.filter((unit) => {
    const daily = dailyKwh(streams, unit, stepMs);
    return daily >= PLAUSIBLE_DAILY_KWH.least && daily <= PLAUSIBLE_DAILY_KWH.most;
  });
}

function dailyKwh(streams: readonly Stream[], unit: Unit, stepMs: number): number {
  let most = 0;
  for (const { values, cumulative } of streams) {
    if (cumulative) {
      most = Math.max(most, (rangeOf(values) / values.length) * ((24 * HOUR_MS) / stepMs) * kwhPer(unit, HOUR_MS));
      continue;
    }
    let sum = 0;
    let count = 0;
    for (const value of values)
      if (!Number.isNaN(value)) {
        sum += Math.abs(value);
        count++;
      }
    if (count > 0) most = Math.max(most, (sum / count) * ((24 * HOUR_MS) / stepMs) * kwhPer(unit, stepMs));
  }
  return most;
}

function rangeOf(values: Float64Array): number {
  let least = Number.POSITIVE_INFINITY;
  let most = Number.NEGATIVE_INFINITY;
  for (const value of values) {
    if (value < least) least = value;
    if (value > most) most = value;
  }
  return most - least;
}
