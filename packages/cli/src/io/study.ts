import { dirname, isAbsolute, join } from 'node:path';
import { InputError, type InputIssue } from '@duskbank/core/input';
import {
  type Finding,
  type IntervalSeries,
  joinSeries,
  type MeterFile,
  parseIntervalData,
  repairGaps,
} from '@duskbank/core/meter';
import { parseSite, type Site } from '@duskbank/core/site';
import { makeStudy, type Study } from '@duskbank/core/study';
import { type CompileOptions, parsePriceSeries, parseTariff, seriesFiles, type Tariff } from '@duskbank/core/tariff';
import { type LoadedDocument, loadDocument, withLines } from './document.ts';
import { MAX_DATA_BYTES, readInput } from './read.ts';

/** A site file with all that it names, read. */
export interface LoadedSite {
  readonly document: LoadedDocument;
  readonly site: Site;
  readonly folder: string;
  readonly series: IntervalSeries;
  readonly findings: readonly Finding[];
  /** The site's tariff, or those asked for instead, with what each needs. */
  readonly tariffs: readonly LoadedTariff[];
}

/** A tariff file with the price series that it names. */
export interface LoadedTariff {
  readonly tariff: Tariff;
  readonly options: Pick<CompileOptions, 'series'>;
}

/**
 * Reads a site file and everything that it names. Every fault found is thrown at once.
 *
 * @param tariffPaths tariff files to read in place of the site's own
 */
export function loadSite(sitePath: string, tariffPaths?: readonly string[]): LoadedSite {
  const document = loadDocument(sitePath);
  const site = withLines(document, () => parseSite(document.value, sitePath));
  const folder = dirname(sitePath);
  const issues: InputIssue[] = [];
  const paths = tariffPaths ?? [beside(folder, site.tariff)];
  const tariffs = paths.map((path) => collect(issues, () => loadTariff(path, site.zone)));
  const metered = collect(issues, () => loadMeter(site, folder));
  if (metered === undefined || issues.length > 0) throw new InputError(issues);
  return { document, site, folder, ...metered, tariffs: tariffs.filter((tariff) => tariff !== undefined) };
}

/** Lays a site on one axis under one of its tariffs. */
export function studyOf(loaded: LoadedSite, { tariff, options }: LoadedTariff): Study {
  const { document, site, folder, series, findings } = loaded;
  const reachKwh = loadReach(site, folder, series);
  return withLines(document, () => makeStudy({ site, series, findings, tariff, tariffOptions: options, reachKwh }));
}

/** Reads a site file and everything that it names, and lays it on one axis. Every fault found is thrown at once. */
export function loadStudy(sitePath: string): Study {
  const loaded = loadSite(sitePath);
  return studyOf(loaded, loaded.tariffs[0]!);
}

/** Reads a tariff file alone. */
export function readTariff(path: string): Tariff {
  const document = loadDocument(path);
  return withLines(document, () => parseTariff(document.value, path));
}

/** Reads a tariff file and the price series that it names, their clock times in `zone`. */
function loadTariff(path: string, zone: string): LoadedTariff {
  const tariff = readTariff(path);
  const series = Object.fromEntries(
    seriesFiles(tariff).map((name) => {
      const file = beside(dirname(path), name);
      return [name, parsePriceSeries(new TextDecoder().decode(readInput(file, MAX_DATA_BYTES)), zone, file)];
    }),
  );
  return { tariff, options: { series } };
}

/** Reads one interval file as the site says, or throws what stands in the way. */
function loadIntervals(entry: string | MeterFile, folder: string, zone: string) {
  const { path, ...stated } = typeof entry === 'string' ? { path: entry } : entry;
  const file = beside(folder, path);
  const data = parseIntervalData(readInput(file, MAX_DATA_BYTES), { zone, ...stated });
  if (data.series === undefined) throw new InputError(faultsOf(file, data.findings));
  return { series: data.series, findings: data.findings };
}

function loadMeter(site: Site, folder: string): { series: IntervalSeries; findings: Finding[] } {
  const findings: Finding[] = [];
  const issues: InputIssue[] = [];
  const parts: IntervalSeries[] = [];
  for (const entry of site.meter.files) {
    const read = collect(issues, () => loadIntervals(entry, folder, site.zone));
    if (read === undefined) continue;
    parts.push(read.series);
    findings.push(...read.findings);
  }
  if (issues.length > 0) throw new InputError(issues);
  const joined = joinSeries(parts);
  findings.push(...joined.findings);
  if (joined.series === undefined)
    throw new InputError(faultsOf(site.meter.files.map(pathOf).join(', '), joined.findings));
  const repaired = repairGaps(joined.series, site.meter.repair);
  // A gap that was filled is told as an estimate from here on; one that was left stops the study.
  return { series: repaired.series, findings: findings.filter((finding) => finding.code !== 'gap') };
}

/** The metered load behind the transfer equipment, on the home's axis. */
function loadReach(site: Site, folder: string, home: IntervalSeries): Float64Array | undefined {
  const { reach } = site.plant;
  if (typeof reach !== 'object' || !('file' in reach)) return undefined;
  const entry: MeterFile = {
    path: reach.file,
    ...(reach.column === undefined ? {} : { columns: { load: reach.column } }),
  };
  const read = loadIntervals(entry, folder, site.zone);
  const joined = joinSeries([{ axis: home.axis, exportKwh: new Float64Array(home.axis.intervals) }, read.series]);
  const series = joined.series === undefined ? undefined : repairGaps(joined.series, site.meter.repair).series;
  const values = series?.loadKwh ?? series?.importKwh;
  if (
    series === undefined ||
    values === undefined ||
    series.axis.intervals !== home.axis.intervals ||
    values.some(Number.isNaN)
  )
    throw new InputError([
      {
        code: 'reach-span',
        where: { file: beside(folder, reach.file) },
        received: 'a series that does not cover the home’s intervals',
        expected: 'the load behind the transfer equipment in every interval of the home’s data',
        hint: 'or give a share: "reach": { "share": 0.4 }',
      },
    ]);
  return values;
}

/** The findings that forbid trusting a file, as faults of input. */
export function faultsOf(file: string, findings: readonly Finding[]): InputIssue[] {
  return findings
    .filter((finding) => finding.severity === 'error')
    .map((finding) => ({
      code: finding.code,
      where: { file, ...(finding.lines?.[0] === undefined ? {} : { line: finding.lines[0] }) },
      received: finding.message,
      expected: 'interval data that can be read without guessing',
    }));
}

function pathOf(entry: string | MeterFile): string {
  return typeof entry === 'string' ? entry : entry.path;
}

function beside(folder: string, path: string): string {
  return isAbsolute(path) ? path : join(folder, path);
}

/** Runs a step and keeps its faults, so that one call can report those of several files. */
function collect<T>(issues: InputIssue[], step: () => T): T | undefined {
  try {
    return step();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    issues.push(...error.issues);
    return undefined;
  }
}
