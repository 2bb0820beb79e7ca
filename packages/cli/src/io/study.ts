import { dirname, isAbsolute, join } from 'node:path';
import { formatPath, InputError, type InputIssue, showValue } from '@duskbank/core/input';
import {
  type Finding,
  type IntervalSeries,
  joinSeries,
  type MeterFile,
  parseIntervalData,
  repairGaps,
  stopsStudy,
} from '@duskbank/core/meter';
import { parseSite, type Site } from '@duskbank/core/site';
import { makeStudy, type Study, serviceLimit, type TariffSource } from '@duskbank/core/study';
import { type CompileOptions, parsePriceSeries, parseTariff, seriesFiles, type Tariff } from '@duskbank/core/tariff';
import { CURES } from './cures.ts';
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

/** A tariff file with the price series that it names, and the tariffs that follow it once it ends. */
export interface LoadedTariff {
  readonly tariff: Tariff;
  readonly options: Pick<CompileOptions, 'series'>;
  readonly successors: readonly TariffSource[];
}

/**
 * Reads a site file and everything that it names. Every fault found is thrown at once.
 *
 * @param tariffPaths tariff files to read in place of the site's own
 */
export function loadSite(sitePath: string, tariffPaths?: readonly string[]): LoadedSite {
  const document = loadDocument(sitePath);
  const folder = dirname(sitePath);
  const issues: InputIssue[] = [];
  const site = collect(issues, () => withLines(document, () => parseSite(document.value, sitePath)));
  // A site with faults may still say where its tariff lies: that one's faults are told along with them.
  const named = site?.tariff ?? statedTariff(document.value, issues);
  const paths = tariffPaths ?? (named === undefined ? [] : [beside(folder, named)]);
  const tariffs = paths.map((path) =>
    collect(issues, () => {
      const load = () => loadTariff(path, site?.zone ?? 'UTC');
      return tariffPaths === undefined ? namedBy(document, ['tariff'], load) : load();
    }),
  );
  const metered = site === undefined ? undefined : collect(issues, () => loadMeter(site, folder, document));
  if (site === undefined || metered === undefined || issues.length > 0) throw new InputError(issues);
  return { document, site, folder, ...metered, tariffs: tariffs.filter((tariff) => tariff !== undefined) };
}

function statedTariff(value: unknown, issues: readonly InputIssue[]): string | undefined {
  if (issues.some((issue) => issue.code === 'wrong-format' || issue.code === 'unknown-version')) return undefined;
  const { tariff } = value as { tariff?: unknown };
  return typeof tariff === 'string' && tariff !== '' ? tariff : undefined;
}

const NAMED_IN = 'it is named in';

/** Runs what reads a file, and says of one that can't be had where it is named. */
function namedBy<T>(document: LoadedDocument, path: readonly (string | number)[], step: () => T): T {
  try {
    return step();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const place = `${document.file} line ${document.lineOf(path)}, field "${formatPath(path)}"`;
    throw new InputError(
      error.issues.map((issue) =>
        issue.hint?.startsWith(NAMED_IN)
          ? issue
          : issue.code === 'file-missing'
            ? { ...issue, hint: `${NAMED_IN} ${place}; paths are read from where that file lies` }
            : issue.code === 'not-a-file'
              ? { ...issue, hint: `${NAMED_IN} ${place}: name a file` }
              : issue,
      ),
    );
  }
}

/** Lays a site on one axis under one of its tariffs. */
export function studyOf(loaded: LoadedSite, { tariff, options, successors }: LoadedTariff): Study {
  const { document, site, folder, series, findings } = loaded;
  const reachKwh = loadReach(site, folder, series);
  const plannedSolar = loadPlannedSolar(site, folder, document);
  return withLines(document, () =>
    makeStudy({ site, series, findings, tariff, tariffOptions: options, successors, reachKwh, plannedSolar }),
  );
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

/**
 * Reads a tariff file with the price series that it names, their clock times in `zone`, and the files of those that
 * follow it.
 *
 * @param followed files that led here: one that comes up again ends the chain
 */
function loadTariff(path: string, zone: string, followed: readonly string[] = []): LoadedTariff {
  const document = loadDocument(path);
  const tariff = withLines(document, () => parseTariff(document.value, path));
  const series = Object.fromEntries(
    seriesFiles(tariff).map((name) => {
      const file = beside(dirname(path), name);
      return [name, parsePriceSeries(new TextDecoder().decode(readInput(file, MAX_DATA_BYTES)), zone, file)];
    }),
  );
  const { successor, successorFile } = tariff.life;
  const next = successorFile === undefined ? undefined : beside(dirname(path), successorFile);
  if (next === undefined || followed.includes(next) || next === path)
    return { tariff, options: { series }, successors: [] };
  const heir = namedBy(document, ['life', 'successorFile'], () => loadTariff(next, zone, [...followed, path]));
  if (heir.tariff.name !== successor)
    throw new InputError([
      {
        code: 'not-allowed',
        where: { file: path, path: ['life', 'successor'], line: document.lineOf(['life', 'successor']) },
        received: showValue(successor),
        expected: `"${heir.tariff.name}", the name in ${next}`,
        hint: 'name the successor as its own file does',
      },
    ]);
  return { tariff, options: { series }, successors: [heir, ...heir.successors] };
}

/** Reads one interval file as the site says, or throws what stands in the way. */
function loadIntervals(entry: string | MeterFile, folder: string, site: Site) {
  const { path, ...stated } = typeof entry === 'string' ? { path: entry } : entry;
  const file = beside(folder, path);
  const bytes = readInput(file, MAX_DATA_BYTES);
  const data = parseIntervalData(bytes, { zone: site.zone, serviceKw: serviceLimit(site), ...stated });
  const faults = faultsOf(file, data.findings, bytes);
  if (data.series === undefined || faults.length > 0) throw new InputError(faults);
  return { series: data.series, findings: data.findings };
}

function loadMeter(
  site: Site,
  folder: string,
  document: LoadedDocument,
): { series: IntervalSeries; findings: Finding[] } {
  const findings: Finding[] = [];
  const issues: InputIssue[] = [];
  const parts: IntervalSeries[] = [];
  for (const [k, entry] of site.meter.files.entries()) {
    const read = collect(issues, () =>
      namedBy(document, ['meter', 'files', k], () => loadIntervals(entry, folder, site)),
    );
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
  const read = loadIntervals(entry, folder, site);
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

/** The production of the planned array, gaps filled as in the metered data. */
function loadPlannedSolar(site: Site, folder: string, document: LoadedDocument) {
  const file = site.plannedSolar?.file;
  if (file === undefined) return undefined;
  const entry = typeof file === 'string' ? { path: file } : file;
  const stated = entry.columns === undefined && entry.channel === undefined ? { channel: 'solar' as const } : {};
  const { series, findings } = namedBy(document, ['plannedSolar', 'file'], () =>
    loadIntervals({ ...entry, ...stated }, folder, site),
  );
  return {
    series: repairGaps(series, site.meter.repair).series,
    findings: findings.filter((finding) => finding.code !== 'gap'),
  };
}

/**
 * The findings that forbid trusting a file, as faults of input.
 *
 * @param bytes the file, for the text of the lines that findings name
 */
export function faultsOf(file: string, findings: readonly Finding[], bytes?: Uint8Array): InputIssue[] {
  const lines = bytes === undefined || bytes.length > MAX_DATA_BYTES ? undefined : lineReader(bytes);
  const faults: InputIssue[] = [];
  for (const finding of findings.filter(stopsStudy)) {
    const line = finding.lines?.[0];
    const text = line === undefined ? undefined : lines?.(line);
    const cure = CURES[finding.code];
    const more =
      (finding.count ?? 1) > 1 && finding.lines !== undefined ? ` (${finding.count} in all; here first)` : '';
    faults.push({
      code: finding.code,
      where: { file, ...(line === undefined ? {} : { line }) },
      received: `${text === undefined ? '' : `${showValue(text)}: `}${finding.message}${more}`,
      expected: cure?.expected ?? 'interval data that can be read without guessing',
      hint: cure?.hint ?? `run "duskbank inspect ${file}" to see what was understood of the file`,
    });
  }
  return faults;
}

function lineReader(bytes: Uint8Array): (line: number) => string | undefined {
  let split: string[] | undefined;
  return (line) => {
    split ??= new TextDecoder().decode(bytes).split(/\r\n?|\n/);
    return split[line - 1];
  };
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
