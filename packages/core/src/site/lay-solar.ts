import { type Axis, formatDate } from '../axis/index.ts';
import { InputError } from '../input/index.ts';
import { energyOnAxis, type Finding, type IntervalSeries } from '../meter/index.ts';
import { type Fact, fact, factOf } from '../words/fact.ts';
import { HOME_WORDS, ofPlannedSolar } from '../words/home.ts';
import { plannedSolarBasis } from '../words/study.ts';
import type { Site } from './schema.ts';

/** The planned array's file, read: its production and what its reader noticed. */
export interface PlannedSolarInput {
  /** With `solarKwh`, on an axis of its own that covers the home's. */
  readonly series: IntervalSeries;
  readonly findings?: readonly Finding[];
}

/** The field of a site that names the planned array's file. */
const PLANNED = ['plannedSolar', 'file'];

/** Solar that would be added to what is metered. */
export interface PlannedSolar {
  /** kWh at AC in each interval of the home's axis. */
  readonly solarKwh: Float64Array;
  /** Where the figures come from, in words. */
  readonly basis: string;
}

/**
 * What the planned array gives on the home's axis, which stays as it is.
 *
 * @throws InputError where there is no metered solar to scale, the file holds no solar, or doesn't cover the data
 */
export function layPlannedSolar(
  site: Site,
  { series: home, meteredStepMinutes }: { readonly series: IntervalSeries; readonly meteredStepMinutes: number },
  input: PlannedSolarInput | undefined,
  warnings: Fact[],
): PlannedSolar | undefined {
  const stated = site.plannedSolar;
  if (stated?.scaleOfExisting !== undefined) return scaled(home, stated.scaleOfExisting);
  if (input === undefined) {
    if (stated === undefined) return undefined;
    throw fault(
      ['file'],
      'missing',
      'no series',
      'the series read from that file',
      'give `plannedSolar` to `makeStudy`',
    );
  }
  const { series } = input;
  // What hours hide of a home’s import doesn’t concern an array’s own output.
  for (const finding of input.findings ?? [])
    if (finding.severity !== 'note' && finding.code !== 'coarse-steps')
      warnings.push({
        ...factOf(finding),
        where: { ...finding.where, path: PLANNED },
        message: ofPlannedSolar(finding.message),
      });
  if (series.solarKwh === undefined)
    throw fault(
      ['file'],
      'missing-channel',
      `the channels ${Object.keys(series)
        .filter((key) => key.endsWith('Kwh'))
        .map((key) => key.replace('Kwh', ''))
        .join(', ')}`,
      'a column of solar production',
      'name it: "file": { "path": "…", "columns": { "solar": "its header" } }',
    );
  const solarKwh = energyOnAxis(series.solarKwh, series.axis, home.axis);
  let missing = 0;
  for (const kwh of solarKwh) if (Number.isNaN(kwh)) missing++;
  if (missing > 0)
    throw fault(
      ['file'],
      'planned-solar-span',
      `${span(series.axis)}, which leaves ${missing} of ${home.axis.intervals} intervals of the home without a value`,
      `production in every interval of the home’s data, ${span(home.axis)}`,
      'let the array be modelled for the span of the meter data: sun and load of different years don’t belong together',
    );
  if (series.axis.stepMinutes > meteredStepMinutes)
    warnings.push(
      fact(
        HOME_WORDS,
        'planned-solar-spread',
        'warning',
        { stepMinutes: series.axis.stepMinutes, homeStepMinutes: meteredStepMinutes },
        { path: PLANNED },
      ),
    );
  return { solarKwh, basis: plannedSolarBasis(null) };
}

function scaled(home: IntervalSeries, scale: number): PlannedSolar {
  if (home.solarKwh === undefined || home.solarKwh.every((kwh) => kwh === 0))
    throw fault(
      ['scaleOfExisting'],
      'missing-channel',
      home.solarKwh === undefined ? 'no metered solar to scale' : 'a metered solar of 0 kWh',
      'a solar column among the metered data',
      'give the planned array’s production instead: "plannedSolar": { "file": "array.csv" }',
    );
  return {
    solarKwh: home.solarKwh.map((kwh) => kwh * scale),
    basis: plannedSolarBasis(scale),
  };
}

function fault(path: string[], code: string, received: string, expected: string, hint: string): InputError {
  return new InputError([{ code, where: { path: ['plannedSolar', ...path] }, received, expected, hint }]);
}

function span({ calendar: { days } }: Axis): string {
  return `${formatDate(days[0]!)} to ${formatDate(days[days.length - 1]!)}`;
}
