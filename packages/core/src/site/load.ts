import { makeAxis } from '../axis/index.ts';
import { anything, callable, check, list, optional, record, text } from '../input/door.ts';
import { InputError, type InputIssue, type SourceDocument, showName } from '../input/index.ts';
import { sameData } from '../input/same-data.ts';
import { withLines } from '../input/source.ts';
import {
  type Channel,
  checkMetering,
  type Finding,
  faultsOf,
  type IntervalSeries,
  joinSeries,
  type MeterFile,
  type MeteringContext,
  readIntervals,
  repairGaps,
} from '../meter/index.ts';
import {
  asksHome,
  cutToSpan,
  dateAt,
  FindingList,
  LONG_GAP_HOURS,
  noteNetSigns,
  statesRoles,
  withoutHeld,
} from '../meter/inside.ts';
import type { Case } from '../trial/index.ts';
import { type Fact, fact, factOf } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';
import type { PlannedSolarInput } from './lay-solar.ts';
import { type LoadedTariff, loadTariff } from './load-tariff.ts';
import { anOrigin, bothOrigins, fieldsFilledIn, type InputRole, type Origin } from './origin.ts';
import { parseSite } from './parse.ts';
import { beside, folderOf } from './paths.ts';
import type { Site } from './schema.ts';
import { type Decoders, namedBy, type ReadFile, Source } from './source.ts';
import { makeStudy, type Study } from './study.ts';
import type { PastInput } from './study-input.ts';
import { serviceLimit } from './trust.ts';

/** What reads the formats that core doesn't carry, and what is asked for in place of what the site says. */
export interface LoadOptions extends Decoders {
  /** A tariff file in place of the site's own. Its path is not read from where the site lies. */
  readonly insteadOfTariff?: string;
  /** Further tariff files, after the site's own: what else the home might choose. */
  readonly moreTariffs?: readonly string[];
}

/** A site file and all that it names, read, joined and repaired. */
export interface LoadedSite {
  readonly site: Site;
  /** The home laid on its axis under the first of `tariffs`, ready for `evaluate`. */
  readonly case: Case;
  /** The same with all that whole questions need beside it: `compare(loaded.study)`. */
  readonly study: Study;
  /** All that was found out of the meter files, the home and the tariff. A report adds what its own question brings. */
  readonly facts: readonly Fact[];
  /** The site's tariff, or the one asked for instead, then those asked for beside it; each with what it needs. */
  readonly tariffs: readonly LoadedTariff[];
  /** The files beside those of the tariffs, and what the site's one leaves out. */
  readonly origin: Origin;
  /** The metered past under one of `tariffs`, for its bills. */
  pastOf(tariff: LoadedTariff): PastInput & { readonly findings: readonly Finding[] };
  /** The home laid on its axis under one of `tariffs`. Faults across fields are thrown with their line. */
  studyOf(tariff: LoadedTariff): Study;
}

/**
 * Reads a site file and everything that it names: tariffs with their price series and successors, meter files, the load
 * behind the transfer equipment, planned solar. What forbids trusting them stops here, whoever the host is: the command
 * line, a server and a page give the same answer or the same refusal for the same bytes.
 *
 * @throws InputError with every fault that was found: those of form in all files at once
 */
export async function loadSite(path: string, read: ReadFile, options: LoadOptions = {}): Promise<LoadedSite> {
  check(
    { path, read, options },
    {
      path: text,
      read: callable,
      options: record<LoadOptions>({
        yaml: optional(callable),
        xlsx: optional(callable),
        insteadOfTariff: optional(text),
        moreTariffs: optional(list(text)),
      }),
    },
  );
  const source = new Source(read, options);
  const document = await source.document(path, 'site');
  const folder = folderOf(path);
  const issues: InputIssue[] = [];
  const site = await collect(issues, () => withLines(document, () => parseSite(document.value, path)));
  // A site with faults may still say where its tariff lies: that one's faults are told along with them.
  const named = site?.tariff ?? statedTariff(document.value, issues);
  const zone = site?.zone ?? 'UTC';
  const tariffs: (LoadedTariff | undefined)[] = [];
  // Each tariff has a source of its own, which records its files apart.
  const tariffFrom = async (offered: boolean, load: (source: Source) => Promise<Omit<LoadedTariff, 'offered'>>) =>
    tariffs.push(await collect(issues, async () => ({ ...(await load(new Source(read, options))), offered })));
  const own = named === undefined ? undefined : beside(folder, named);
  const isOwn = (path: string) => own !== undefined && beside('.', path) === beside('.', own);
  const { insteadOfTariff, moreTariffs = [] } = options;
  if (insteadOfTariff !== undefined)
    await tariffFrom(!isOwn(insteadOfTariff), (files) => loadTariff(files, insteadOfTariff, zone));
  else if (own !== undefined)
    await tariffFrom(false, (files) => namedBy(document, ['tariff'], () => loadTariff(files, own, zone, { named })));
  for (const path of moreTariffs) await tariffFrom(!isOwn(path), (files) => loadTariff(files, path, zone));
  const metered =
    site === undefined ? undefined : await collect(issues, () => loadMeter(source, site, folder, document));
  if (site === undefined || metered === undefined || issues.length > 0) throw new InputError(issues);
  const { series, findings } = metered;
  const reachKwh = await loadReach(source, site, folder, document, series);
  const plannedSolar = await loadPlannedSolar(source, site, folder, document);
  const origin: Origin = { inputs: source.inputs, assumptions: fieldsFilledIn('site', document.value, site) };
  const loaded = tariffs.filter((tariff) => tariff !== undefined);
  const pastOf = (laid: LoadedTariff) => {
    check({ laid }, { laid: record<Pick<LoadedTariff, 'tariff' | 'origin'>>({ tariff: anything, origin: anOrigin }) });
    const { tariff, options: tariffOptions, offered, origin: itsOrigin } = laid;
    const comparedTariffs = loaded.flatMap((other) => (other === laid ? [] : [other.tariff]));
    return {
      site,
      series,
      findings,
      tariff,
      tariffOptions,
      offered,
      comparedTariffs,
      origin: bothOrigins(origin, itsOrigin),
    };
  };
  const lay = (laid: LoadedTariff) =>
    withLines(document, () => makeStudy({ ...pastOf(laid), successors: laid.successors, reachKwh, plannedSolar }));
  // A site without a tariff was refused above.
  const [first] = loaded as [LoadedTariff, ...LoadedTariff[]];
  const study = lay(first);
  return {
    site,
    case: study.home,
    study,
    facts: [
      ...findings,
      ...study.warnings.filter(
        ({ code, data }) => !findings.some((finding) => finding.code === code && sameData(finding.data, data)),
      ),
    ],
    origin,
    tariffs: loaded,
    pastOf,
    studyOf: (laid) => (laid === first ? study : lay(laid)),
  };
}

function statedTariff(value: object, issues: readonly InputIssue[]): string | undefined {
  if (issues.some((issue) => issue.code === 'wrong-format' || issue.code === 'unknown-version')) return undefined;
  const { tariff } = value as { tariff?: unknown };
  return typeof tariff === 'string' && tariff !== '' ? tariff : undefined;
}

/** Reads one interval file as the site says, or throws what stands in the way. */
async function loadIntervals(
  source: Source,
  role: InputRole,
  entry: string | MeterFile,
  folder: string,
  site: Site,
): Promise<{ series: IntervalSeries; findings: readonly Finding[] }> {
  const { path, span, ...stated } = typeof entry === 'string' ? { path: entry } : entry;
  const file = beside(folder, path);
  const bytes = await source.data(file, role, path);
  const data = await readIntervals(bytes, { zone: site.zone, serviceKw: serviceLimit(site), ...stated }, source.xlsx);
  const faults = faultsOf(file, data.findings);
  if (data.series === undefined || faults.length > 0) throw new InputError(faults);
  const series = onClockOf(site, data.series);
  const cut = span === undefined ? series : cutToSpan(series, span);
  if (cut === undefined)
    throw new InputError([
      {
        code: 'span-empty',
        where: { file, path: ['span'] },
        received: `no reading within the "span" that is stated: the file holds ${datesOf(series)}`,
        expected: 'a span that the file has readings of',
      },
    ]);
  const findings = data.findings.map((finding) => ({ ...finding, where: { ...finding.where, file: showName(path) } }));
  return { series: cut, findings };
}

function datesOf({ axis }: IntervalSeries): string {
  return `${dateAt(axis, 0)} to ${dateAt(axis, axis.intervals - 1)}`;
}

/**
 * A series on the clock of the site. A file's own zone says what its labels mean, and no more: windows, holidays and
 * evenings are those of the home, wherever the meter's portal stands.
 */
function onClockOf({ zone }: Site, series: IntervalSeries): IntervalSeries {
  return series.axis.zone === zone ? series : { ...series, axis: makeAxis({ ...series.axis, zone }) };
}

async function loadMeter(
  source: Source,
  site: Site,
  folder: string,
  document: SourceDocument,
): Promise<{ series: IntervalSeries; findings: Finding[] }> {
  const ofFiles: Finding[] = [];
  const issues: InputIssue[] = [];
  const parts: IntervalSeries[] = [];
  let [rolesStated, drawnIsAll] = [true, true];
  const { span } = site.meter;
  const noticed = new FindingList();
  for (const [k, entry] of site.meter.files.entries()) {
    const read = await collect(issues, () =>
      namedBy(document, ['meter', 'files', k], () => loadIntervals(source, 'meter', entry, folder, site)),
    );
    if (read === undefined) continue;
    const part = span === undefined ? read.series : cutToSpan(read.series, span);
    if (part === undefined) {
      const { axis } = read.series;
      const file = showName(pathOf(entry));
      const dates = { from: dateAt(axis, 0), to: dateAt(axis, axis.intervals - 1) };
      noticed.add('span-empty', 'warning', { file, ...dates }, { key: String(k) });
      continue;
    }
    parts.push(part);
    if (part.exportKwh !== undefined)
      rolesStated &&= typeof entry !== 'string' && statesRoles(entry, part, read.findings);
    if (part.importKwh !== undefined || part.loadKwh !== undefined)
      drawnIsAll &&= typeof entry !== 'string' && entry.channel === 'import';
    for (const finding of read.findings) addOnce(ofFiles, finding);
  }
  if (issues.length > 0) throw new InputError(issues);
  if (parts.length === 0)
    throw new InputError([
      {
        code: 'span-empty',
        where: { file: document.file, path: ['meter', 'span'], line: document.lineOf(['meter', 'span']) },
        received: `readings of ${noticed
          .list()
          .map(({ data }) => `${data.from} to ${data.to}`)
          .join(', ')} only`,
        expected: 'a span that the files have readings of',
      },
    ]);
  const joined = joinSeries(parts);
  if (joined.series === undefined)
    throw new InputError(faultsOf(site.meter.files.map(pathOf).join(', '), joined.findings));
  const findings: Finding[] = [...withoutHeld(ofFiles, joined.series), ...joined.findings];
  const asking = findings.filter(asksHome).map((finding) => ({ ...finding, severity: 'error' as const }));
  const filesOf = ({ where }: Finding) => {
    const paths = [...new Set(site.meter.files.map(pathOf))];
    const told = paths.filter((path) => where.file?.split(', ').includes(showName(path)) === true);
    return told.map((path) => beside(folder, path)).join(', ');
  };
  if (asking.length > 0) throw new InputError(asking.flatMap((finding) => faultsOf(filesOf(finding), [finding])));
  const repaired = repairGaps(joined.series, site.meter.repair);
  const { axis } = joined.series;
  for (const { channel, firstInterval, intervals, energyKwh, missedByKwh } of repaired.repairs)
    if (intervals * axis.stepHours > LONG_GAP_HOURS)
      noticed.add(
        'long-gap-filled',
        'warning',
        {
          channel,
          from: dateAt(axis, firstInterval),
          to: dateAt(axis, firstInterval + intervals - 1),
          energyKwh,
          missedByKwh: missedByKwh ?? null,
        },
        { count: intervals, energyKwh, key: `${channel} ${firstInterval}` },
      );
  // The solar may lie in another file than the net.
  if (findings.some(({ code }) => code === 'net-one-way')) noteNetSigns(joined.series, noticed);
  const netOneWay = findings.some(({ code }) => code === 'net-one-way') && !noticed.has('net-signs-lost');
  // What makes power without sun exports through the night: that is answered with it, unless what is bought follows the sun.
  const answered = rolesStated || site.meter.nightGeneration !== undefined;
  const noPanels = site.meter.solarPanels === 'none';
  const metering = meteringFindings(joined.series, site, { rolesStated: answered, drawnIsAll, noPanels, netOneWay });
  // What is told of its sun or its signs says it better.
  const isToldOfNet =
    noticed.has('net-signs-lost') || (netOneWay && metering.some(({ code }) => code === 'sun-unseen'));
  findings.push(...noticed.list(), ...metering);
  // A gap that was filled is told as an estimate from here on; one that was left stops the study.
  return {
    series: repaired.series,
    findings: [
      ...findings.filter(({ code }) => code !== 'gap' && !(isToldOfNet && code === 'net-one-way')),
      ...gapsFilled(repaired),
    ],
  };
}

/** Adds a finding to those of other files: one that says the same without naming lines or amounts is told once, with both files. */
function addOnce(findings: Finding[], finding: Finding): void {
  const { code, severity, data, where, lines, energyKwh } = finding;
  const k = findings.findIndex((one) => one.code === code && one.severity === severity && sameData(one.data, data));
  const told = findings[k];
  if (told === undefined || lines !== undefined || energyKwh !== undefined) {
    findings.push(finding);
    return;
  }
  // One file may be listed for each of its columns.
  const files = new Set([...told.where.file!.split(', '), where.file]);
  const file = [...files].join(', ');
  findings[k] = { ...told, where: { file }, count: (told.count ?? 1) + (finding.count ?? 1) };
}

/** What filling gaps added: the sums of the files themselves (`inspect`) don't hold it. */
function gapsFilled({ repairs, filledIntervals }: ReturnType<typeof repairGaps>): Finding[] {
  if (filledIntervals === 0) return [];
  const filledKwh = (channel: Channel) =>
    repairs.filter((repair) => repair.channel === channel).reduce((sum, { energyKwh }) => sum + energyKwh, 0);
  const data = { intervals: filledIntervals, importKwh: filledKwh('import'), exportKwh: filledKwh('export') };
  return [{ ...fact(HOME_WORDS, 'gaps-filled', 'warning', data, { path: ['meter', 'files'] }), severity: 'warning' }];
}

/** The metered load behind the transfer equipment, on the home's axis. */
async function loadReach(
  source: Source,
  site: Site,
  folder: string,
  document: SourceDocument,
  home: IntervalSeries,
): Promise<Float64Array | undefined> {
  const reach = site.plant?.reach;
  if (typeof reach !== 'object' || !('file' in reach)) return undefined;
  const entry: MeterFile = {
    path: reach.file,
    ...(reach.column === undefined ? {} : { columns: { load: reach.column } }),
    ...(reach.unit === undefined ? {} : { unit: reach.unit }),
  };
  const read = await namedBy(document, ['plant', 'reach', 'file'], () =>
    loadIntervals(source, 'reach', entry, folder, site),
  );
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
async function loadPlannedSolar(
  source: Source,
  site: Site,
  folder: string,
  document: SourceDocument,
): Promise<PlannedSolarInput | undefined> {
  const file = site.plannedSolar?.file;
  if (file === undefined) return undefined;
  const entry = typeof file === 'string' ? { path: file } : file;
  const stated = entry.columns === undefined && entry.channel === undefined ? { channel: 'solar' as const } : {};
  const { series, findings } = await namedBy(document, ['plannedSolar', 'file'], () =>
    loadIntervals(source, 'planned-solar', { ...entry, ...stated }, folder, site),
  );
  return {
    series: repairGaps(series, site.meter.repair).series,
    findings: findings.filter((finding) => finding.code !== 'gap'),
  };
}

/**
 * Signs of wrong metering that aren't merely possible: what is billed rests on them. Days of zeros are told however few: they
 * are billed as days that cost nothing.
 */
function meteringFindings(
  series: IntervalSeries,
  { location }: Site,
  said: Required<Pick<MeteringContext, 'rolesStated' | 'drawnIsAll' | 'noPanels' | 'netOneWay'>>,
): Finding[] {
  return checkMetering(series, { ...location, ...said })
    .filter(({ code, confidence }) => confidence !== 'possible' || code === 'days-of-zero')
    .map((fault) => ({ ...factOf(fault), severity: fault.severity, count: fault.count }));
}

function pathOf(entry: string | MeterFile): string {
  return typeof entry === 'string' ? entry : entry.path;
}

/** Runs a step and keeps its faults, so that one call can report those of several files. */
async function collect<T>(issues: InputIssue[], step: () => T | Promise<T>): Promise<T | undefined> {
  try {
    return await step();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    issues.push(...error.issues);
    return undefined;
  }
}
