import { type Axis, intervalStartMs } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import type { Home } from '../dispatch/index.ts';
import { check, vouchFor } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/index.ts';
import type { IntervalSeries } from '../meter/index.ts';
import {
  type Island,
  islandOf,
  medicalHazards,
  movingFloor,
  planCarry,
  questionCircuits,
  resolveCircuits,
  resolveOutput,
  sharedNeutralHazards,
} from '../outage/index.ts';
import { type Plant, resolvePlant } from '../plant/index.ts';
import { resolveService } from '../plant/inside.ts';
import { type CompiledTariff, type CompileOptions, compileTariff, type Tariff } from '../tariff/index.ts';
import { layPlannedSolar, type PlannedSolar } from './lay-solar.ts';
import type { Site } from './schema.ts';
import { checkStudyInput, type StudyInput, type TariffSource } from './study-input.ts';

/** Something that bears on how far results can be trusted. */
export interface Warning {
  /** Stable, kebab-case. */
  readonly code: string;
  readonly message: string;
}

/** A home on its axis, and what is known of the numbers that it rests on. */
export interface Study {
  readonly site: Site;
  /** The home as planned: with the planned solar, where the site has some. */
  readonly home: Home;
  /** Solar as metered, kWh an interval: what the baseline has. */
  readonly meteredSolarKwh: Float64Array;
  readonly plannedSolar: PlannedSolar | undefined;
  /** The tariff of {@link Home.tariff} as its file has it, and what else it needs. */
  readonly tariff: Tariff;
  readonly tariffOptions: CompileOptions;
  /** The tariffs that may follow it by name once it ends. */
  readonly successors: readonly TariffSource[];
  readonly island: Island;
  readonly warnings: readonly Warning[];
  /** False where solar was not metered: what the home consumed behind the meter isn't known. */
  readonly loadKnown: boolean;
  /** Why savings can't be given, where they can't. */
  readonly savingsWithheld: string | undefined;
  /** Share of the intervals that hold an estimate, and of those in on-peak windows. */
  readonly estimatedShare: number;
  readonly estimatedPeakShare: number;
}

/** Above this share of estimated intervals, over all or on-peak, the saving is withheld. */
export const MOST_ESTIMATED_SHARE = 0.1;

/** Export by a dark array above this share of all export, and above 5 kWh, looks like a battery's. */
const DARK_EXPORT_SHARE = 0.02;

/**
 * Lays a site's data, tariff and plant on one axis.
 *
 * `net = import − export` and `load = net + solar`, solar gross at AC. Without a solar column what the home uses behind
 * the meter isn't known: the surplus then stands for solar and the net import for load, which gives the same bills,
 * but no figure for an outage.
 *
 * @throws InputError where the data can't carry a study: gaps left, channels missing, series of another length or zone
 */
export function makeStudy(input: StudyInput): Study {
  checkStudyInput(input);
  const { site, series, tariff } = input;
  const { axis } = series;
  const warnings: Warning[] = (input.findings ?? [])
    .filter((finding) => finding.severity !== 'note')
    .map((finding) => ({ code: finding.code, message: finding.message }));
  refuseGaps(series);
  const { loadKwh, solarKwh: meteredSolarKwh, loadKnown } = loadAndSolar(series, warnings);
  const plannedSolar = layPlannedSolar(site, series, input.plannedSolar, warnings);
  const solarKwh =
    plannedSolar === undefined ? meteredSolarKwh : meteredSolarKwh.map((kwh, i) => kwh + plannedSolar.solarKwh[i]!);
  const tariffOptions = { ...input.tariffOptions, account: site.account };
  const compiled = compileTariff(tariff, axis, tariffOptions);
  warnings.push(...compiled.warnings);
  const fixedPlant = resolvePlant(site.plant, input.reachKwh);
  const island = islandOf({ axis, plant: fixedPlant, backup: site.backup, loadKwh, solarKwh });
  const plant = withReserve(axis, fixedPlant, site, island, warnings);
  warnings.push(...circuitWarnings(site, plant));
  const ownService = resolveService(site.service);
  const service = { ...ownService, exportLimitKw: Math.min(ownService.exportLimitKw, compiled.exportLimitKw) };
  if (service.importLimitKw * 1000 <= plant.standbyW)
    throw new InputError([
      {
        code: 'out-of-range',
        where: { path: ['service', 'importLimitKw'] },
        received: String(service.importLimitKw),
        expected: `more than the plant's own standby draw, ${plant.standbyW} W`,
        hint: 'raise the limit, or look whether it was meant in another unit: it is in kW',
      },
    ]);
  const { estimatedShare, estimatedPeakShare } = shareEstimated(series, compiled);
  const days = spanDays(axis);
  if (days < 330)
    warnings.push({
      code: 'short-span',
      message: `the data cover ${figure(days)} days: a year scaled from them leaves out a season`,
    });
  if (estimatedShare > 0)
    warnings.push({
      code: 'estimated-intervals',
      message: `${percent(estimatedShare)} of intervals are estimated, ${percent(estimatedPeakShare)} of those in on-peak windows`,
    });
  let savingsWithheld = batteryInData(series);
  if (savingsWithheld !== undefined)
    warnings.push({ code: 'battery-in-data', message: `savings are withheld: ${savingsWithheld}` });
  else if (Math.max(estimatedShare, estimatedPeakShare) > MOST_ESTIMATED_SHARE) {
    savingsWithheld = `more than ${percent(MOST_ESTIMATED_SHARE)} of the intervals, or of those in on-peak windows, are estimated`;
    warnings.push({ code: 'too-many-estimates', message: `savings are withheld: ${savingsWithheld}` });
  }
  return vouchFor('study', {
    site,
    home: { axis, loadKwh, solarKwh, tariff: compiled, plant, service },
    meteredSolarKwh,
    plannedSolar,
    tariff,
    tariffOptions,
    successors: (input.successors ?? []).map((next) => ({
      tariff: next.tariff,
      options: { ...next.options, account: site.account },
    })),
    island,
    warnings,
    loadKnown,
    savingsWithheld,
    estimatedShare,
    estimatedPeakShare,
  });
}

/** The plant with the site's moving floors, which it starts at unless the site states a start. */
function withReserve(axis: Axis, plant: Plant, site: Site, island: Island, warnings: Warning[]): Plant {
  const reserve = site.backup?.reserve;
  if (reserve === undefined) return plant;
  const { floorKwh, planned } = movingFloor({
    axis,
    plant,
    reserve,
    islandLoadKwh: island.loadKwh,
    energyShare: island.energyShare,
    gaugeErrorKwh: island.gaugeErrorKwh,
  });
  for (const outage of planned)
    if (outage.verdict !== 'in-time')
      warnings.push({
        code: 'planned-outage',
        message: {
          'too-late': `planned outage of ${outage.from}: ${outage.noticeHours} h of notice are too short, filling takes ${figure(outage.fillHours)} h`,
          'no-grid-charging': `planned outage of ${outage.from}: without grid charging only sun can fill the battery, which nobody can promise`,
          'off-axis': `planned outage of ${outage.from}: the data don't reach it`,
        }[outage.verdict],
      });
  return {
    ...plant,
    floorKwh,
    floorFromPast: reserve.keepHours !== undefined,
    startKwh: site.plant.startShare === undefined ? floorKwh[0]! : plant.startKwh,
  };
}

/** Dangers and doubts about the circuits, by name. */
function circuitWarnings(site: Site, plant: Plant): Warning[] {
  const circuits = site.backup?.circuits;
  if (circuits === undefined) return [];
  const output = resolveOutput(plant, site.backup?.output);
  const listed = resolveCircuits(circuits);
  return [
    ...medicalHazards(planCarry(listed, output), site.backup?.transfer?.kind),
    ...sharedNeutralHazards(listed, output),
    ...questionCircuits(circuits),
  ];
}

/**
 * Length of an axis in days of 24 hours.
 * @throws InputError on anything but an axis
 */
export function spanDays(axis: Axis): number {
  check({ axis }, { axis: anAxis });
  return (axis.intervals * axis.stepHours) / 24;
}

/**
 * What turns a sum over the axis into one a year: `365.25 / days`.
 * @throws InputError on anything but an axis
 */
export function perYear(axis: Axis): number {
  return 365.25 / spanDays(axis);
}

function refuseGaps(series: IntervalSeries): void {
  const issues: InputIssue[] = [];
  for (const name of ['importKwh', 'exportKwh', 'loadKwh', 'solarKwh'] as const) {
    const values = series[name];
    if (values === undefined) continue;
    let gaps = 0;
    let first = -1;
    for (let i = 0; i < values.length; i++)
      if (Number.isNaN(values[i]!)) {
        if (first < 0) first = i;
        gaps++;
      }
    if (gaps === 0) continue;
    const firstAt = new Date(intervalStartMs(series.axis, first)).toISOString();
    issues.push({
      code: 'gap',
      where: { column: name.replace('Kwh', ''), path: ['meter'] },
      received: `${gaps} intervals without a value, the first at ${firstAt}`,
      expected: 'a value in every interval',
      hint: 'long gaps are filled only when asked for: raise "meter.repair.maxGapHours", or cut the data to a span without them',
    });
  }
  if (issues.length > 0) throw new InputError(issues);
}

/** Load and gross solar at AC from whatever channels were metered. */
function loadAndSolar(
  series: IntervalSeries,
  warnings: Warning[],
): { loadKwh: Float64Array; solarKwh: Float64Array; loadKnown: boolean } {
  const { axis, importKwh, exportKwh } = series;
  const n = axis.intervals;
  if (series.loadKwh !== undefined)
    return { loadKwh: series.loadKwh, solarKwh: series.solarKwh ?? new Float64Array(n), loadKnown: true };
  const missing = (received: string, expected: string, hint: string) =>
    new InputError([{ code: 'missing-channel', where: { path: ['meter', 'files'] }, received, expected, hint }]);
  if (importKwh === undefined)
    throw missing(
      exportKwh === undefined ? 'solar alone' : 'export without import',
      'load, or import (with export where there is solar)',
      'add the file or the column that holds it',
    );
  if (exportKwh === undefined) {
    if (series.solarKwh !== undefined)
      throw missing(
        'import and solar without export',
        'export or load too: without it what the home used of its solar is not known',
        'add the export column of the meter',
      );
    return { loadKwh: importKwh, solarKwh: new Float64Array(n), loadKnown: true };
  }
  let bothKwh = 0;
  let beyondKwh = 0;
  let exportedKwh = 0;
  const loadKwh = new Float64Array(n);
  const solarKwh = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const bought = importKwh[i]!;
    const sold = exportKwh[i]!;
    bothKwh += Math.min(bought, sold);
    exportedKwh += sold;
    const net = bought - sold;
    const solar = series.solarKwh === undefined ? Math.max(0, -net) : series.solarKwh[i]!;
    const load = net + solar;
    // Where more left the home than the array gave, the service's own reading stands.
    if (load < 0) beyondKwh -= load;
    loadKwh[i] = load > 0 ? load : 0;
    solarKwh[i] = load > 0 ? solar : Math.max(0, -net);
  }
  if (bothKwh > 1e-6)
    warnings.push({
      code: 'netted-within-interval',
      message: `${figure(bothKwh)} kWh went both ways within one interval: bills and battery act on the net, so the baseline is lower than a bill on both readings`,
    });
  if (beyondKwh > Math.max(1, 0.01 * exportedKwh))
    warnings.push({
      code: 'export-above-solar',
      message: `${figure(beyondKwh)} kWh were exported beyond the metered solar: check the solar transformer, its leg and its clock`,
    });
  const loadKnown = series.solarKwh !== undefined || exportedKwh === 0;
  if (!loadKnown)
    warnings.push({
      code: 'load-unknown',
      message:
        'solar is not metered, so what the home uses behind the meter is not known: bills hold, hours of backup are withheld',
    });
  return { loadKwh, solarKwh, loadKnown };
}

/** Export while the metered solar is dark: a battery (or a fault) is in the data already. */
function batteryInData(series: IntervalSeries): string | undefined {
  const { exportKwh, solarKwh } = series;
  if (exportKwh === undefined || solarKwh === undefined) return undefined;
  let darkKwh = 0;
  let allKwh = 0;
  for (let i = 0; i < exportKwh.length; i++) {
    allKwh += exportKwh[i]!;
    if (solarKwh[i]! < 1e-6) darkKwh += exportKwh[i]!;
  }
  if (darkKwh <= DARK_EXPORT_SHARE * allKwh || darkKwh < 5) return undefined;
  return `${figure(darkKwh)} kWh were exported while solar gave nothing: the data seem to contain a battery already, or a transformer is reversed`;
}

function shareEstimated(series: IntervalSeries, tariff: CompiledTariff) {
  const { estimated, axis } = series;
  if (estimated === undefined) return { estimatedShare: 0, estimatedPeakShare: 0 };
  const isPeak = tariff.windows.map((window) => window.kind === 'peak');
  let count = 0;
  let peaks = 0;
  let peakCount = 0;
  for (let i = 0; i < axis.intervals; i++) {
    const marked = estimated[i]! > 0 ? 1 : 0;
    count += marked;
    if (isPeak[tariff.window[i]!]) {
      peaks++;
      peakCount += marked;
    }
  }
  return { estimatedShare: count / axis.intervals, estimatedPeakShare: peaks === 0 ? 0 : peakCount / peaks };
}

function percent(share: number): string {
  return `${Number((share * 100).toPrecision(2))} %`;
}

/** Three significant digits, for messages. */
function figure(value: number): string {
  return value >= 100 ? Math.round(value).toLocaleString('en-US') : String(Number(value.toPrecision(3)));
}
