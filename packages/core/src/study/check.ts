import { makeAxis } from '../axis/index.ts';
import { sum } from '../axis/sum.ts';
import { callable, check as checkArguments, flag, optional, record, text } from '../input/door.ts';
import { InputError, type InputIssue, nearestName, reportIssue } from '../input/index.ts';
import {
  CHANNELS,
  channelField,
  faultsOf,
  type IntervalData,
  readIntervals,
  UNITS,
  type Unit,
} from '../meter/index.ts';
import { type Decoders, loadSite, loadTariffFile, MAX_DATA_BYTES, type ReadFile, type Study } from '../site/index.ts';
import { loadPrices, readBytes, recordOf } from '../site/inside.ts';
import type { PriceSeries } from '../tariff/index.ts';
import { priceQuestions, readPriceSeries } from '../tariff/inside.ts';
import { VERSION } from '../version.ts';
import { quoteName } from '../words/quote.ts';
import type { CheckReport } from './check-schema.ts';
import { type Provenance, provenanceOf } from './provenance.ts';
import { axisPart, homeParts, moneyParts, plantPart } from './report-parts.ts';

/** What {@link check} may be told. */
export interface CheckOptions extends Decoders {
  /** IANA time zone of an interval file's labels. */
  readonly zone?: string;
  /** Unit of an interval file's values; one that there isn't is a fault. */
  readonly unit?: string;
  /** Which sheet of a spreadsheet is read. */
  readonly sheet?: string;
  /** Whether labels of an interval file name the end of their interval; found out where it isn’t said. */
  readonly intervalEnd?: boolean;
}

/** What {@link check} found. */
export interface CheckOutcome {
  readonly report: CheckReport;
  /** The report's faults, as an InputError has them. */
  readonly issues: readonly InputIssue[];
}

/** What a file was understood to say. */
type Understood = Pick<CheckReport, 'site' | 'tariff' | 'intervals' | 'prices' | 'provenance'>;

/**
 * Reads any input file of ours, with all that it names, and says what is understood and what is wrong.
 *
 * @throws InputError where the file itself can't be had
 */
export async function check(path: string, read: ReadFile, options: CheckOptions = {}): Promise<CheckOutcome> {
  checkArguments(
    { path, read, options },
    {
      path: text,
      read: callable,
      options: record<CheckOptions>({
        yaml: optional(callable),
        xlsx: optional(callable),
        zone: optional(text),
        unit: optional(text),
        sheet: optional(text),
        intervalEnd: optional(flag),
      }),
    },
  );
  const bytes = await readBytes(read, path, MAX_DATA_BYTES);
  // What was looked at is what is read.
  const again: ReadFile = (asked, maxBytes) => (asked === path ? bytes : read(asked, maxBytes));
  let kind = kindOf(path, bytes);
  let understood: Understood = {
    site: null,
    tariff: null,
    intervals: null,
    prices: null,
    provenance: provenanceOf(undefined),
  };
  let issues: readonly InputIssue[] = [];
  try {
    if (kind === 'document') throw new InputError([withoutFormat(path)]);
    if (kind === 'site') understood = { ...understood, ...(await siteUnderstood(path, again, options)) };
    else if (kind === 'tariff') understood = { ...understood, ...(await tariffUnderstood(path, again, options)) };
    else {
      const { zone: stated, sheet, intervalEnd, xlsx } = options;
      const data = await readIntervals(bytes, { zone: stated, unit: unitOf(options.unit), sheet, intervalEnd }, xlsx);
      if (data.findings.some(({ code, data: { holds } }) => code === 'not-meter-data' && holds === 'prices')) {
        kind = 'prices';
        const provenance = provenanceOf({ inputs: [await recordOf('prices', path, bytes)], assumptions: [] });
        const zone = options.zone ?? NO_ZONE;
        understood = { ...understood, provenance };
        understood = {
          ...understood,
          prices: [pricesUnderstood(path, await readPriceSeries(bytes, zone, path, xlsx), zone)],
        };
      } else {
        const inputs = [await recordOf('meter', path, bytes)];
        understood = {
          ...understood,
          intervals: intervalsUnderstood(data),
          provenance: provenanceOf({ inputs, assumptions: [] }),
        };
        issues = faultsOf(path, data.findings);
      }
    }
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    issues = error.issues;
  }
  const { provenance, ...parts } = understood;
  return {
    report: {
      format: 'duskbank.check/1',
      version: VERSION,
      file: path,
      kind,
      ok: issues.length === 0,
      provenance,
      ...parts,
      faults: issues.map(reportIssue),
    },
    issues,
  };
}

/**
 * Tells the kind of a file by its content: the `format` that it states, else by its name. `document` is an object in JSON
 * or YAML without a format of ours.
 */
function kindOf(path: string, bytes: Uint8Array): CheckReport['kind'] {
  const head = new TextDecoder().decode(bytes.subarray(0, 65_536));
  // Where a field may begin: at the start of a line, or after a brace or a comma. A comment is no field.
  const stated = /(?:^[ \t]*|[{,]\s*)["']?format["']?\s*:\s*["']?duskbank\.(site|tariff)\//m.exec(
    head.replace(/^[ \t]*#.*$/gm, ''),
  );
  if (stated !== null) return stated[1] as 'site' | 'tariff';
  return /\.(json|ya?ml)$/i.test(path) ? 'document' : 'intervals';
}

function withoutFormat(file: string): InputIssue {
  return {
    code: 'no-format',
    where: { file, path: ['format'] },
    received: 'no "format" of Duskbank’s',
    expected: '"format": "duskbank.site/1" or "duskbank.tariff/1"',
    hint: '"duskbank init" writes files to start from',
  };
}

async function siteUnderstood(
  path: string,
  read: ReadFile,
  { yaml, xlsx }: Decoders,
): Promise<{ site: CheckReport['site']; provenance: Provenance }> {
  const loaded = await loadSite(path, read, { yaml, xlsx });
  const study = loaded.studyOf(loaded.tariffs[0]!);
  const { axis, provenance } = homeParts(study);
  const plant = study.site.plant === undefined ? null : plantPart(study);
  return { site: { name: study.site.name, axis, plant, ...homeUnderstood(study) }, provenance };
}

function homeUnderstood(study: Study): Omit<NonNullable<CheckReport['site']>, 'name' | 'axis' | 'plant'> {
  const { home, plannedSolar, hiddenKwh } = study;
  const ownUseKwh = hiddenKwh === undefined ? 0 : sum(hiddenKwh);
  const { tariff } = home;
  const peaks = tariff.windows.filter((window) => window.kind === 'peak').map((window) => window.name);
  return {
    loadKnown: study.loadKnown,
    // The meter's figures stay its own.
    loadKwh: Math.max(0, sum(home.loadKwh) - ownUseKwh),
    solarKwh: Math.max(0, sum(study.meteredSolarKwh) - ownUseKwh),
    ...(hiddenKwh === undefined ? {} : { estimatedOwnUseKwh: ownUseKwh }),
    plannedSolar:
      plannedSolar === undefined ? null : { solarKwh: sum(plannedSolar.solarKwh), basis: plannedSolar.basis },
    estimatedShare: study.estimatedShare,
    tariff: tariff.name,
    ...moneyParts(tariff),
    billingPeriods: tariff.periods.length,
    peakWindows: [...new Set(peaks)],
    backupBasis: study.site.plant === undefined ? null : study.island.basis,
    warnings: study.warnings,
  };
}

/** The clock of price files where no zone is stated: only whether they can be read is asked then. */
const NO_ZONE = 'Etc/UTC';

async function tariffUnderstood(
  path: string,
  read: ReadFile,
  { yaml, xlsx, zone = NO_ZONE }: CheckOptions,
): Promise<Pick<Understood, 'tariff' | 'prices' | 'provenance'>> {
  const { tariff, origin } = await loadTariffFile(path, read, yaml);
  const prices = await loadPrices(path, read, zone, { yaml, xlsx });
  const questions = priceQuestions(tariff, Object.fromEntries(prices.map(({ file, series }) => [file, series])));
  const allTime = { firstDay: Number.NEGATIVE_INFINITY, lastDay: Number.POSITIVE_INFINITY };
  return {
    tariff: { name: tariff.name, ...moneyParts(tariff), warnings: questions },
    prices: prices.length === 0 ? null : prices.map(({ file, series }) => pricesUnderstood(file, series, zone)),
    provenance: provenanceOf(origin, { tariff, ...allTime }),
  };
}

/** What a file of prices says. */
function pricesUnderstood(
  file: string,
  { startEpochMs, stepMinutes, pricePerKwh }: PriceSeries,
  zone: string,
): NonNullable<CheckReport['prices']>[number] {
  const prices = Array.from(pricePerKwh).filter((price) => !Number.isNaN(price));
  const axis = makeAxis({ startEpochMs, stepMinutes, intervals: pricePerKwh.length, zone });
  const { firstDay, lastDay } = axisPart(axis);
  return {
    file,
    firstDay,
    lastDay,
    stepMinutes,
    prices: prices.length,
    missing: pricePerKwh.length - prices.length,
    leastPerKwh: prices.length === 0 ? null : minOf(prices),
    meanPerKwh: prices.length === 0 ? null : Number((sum(Float64Array.from(prices)) / prices.length).toPrecision(6)),
    mostPerKwh: prices.length === 0 ? null : maxOf(prices),
  };
}

function minOf(values: readonly number[]): number {
  return values.reduce((least, value) => Math.min(least, value));
}

function maxOf(values: readonly number[]): number {
  return values.reduce((most, value) => Math.max(most, value));
}

function intervalsUnderstood({ layout, series, findings }: IntervalData): NonNullable<CheckReport['intervals']> {
  const channels = CHANNELS.flatMap((channel) => {
    const values = series?.[channelField(channel)];
    if (values === undefined) return [];
    let kwh = 0;
    let gaps = 0;
    for (const value of values)
      if (Number.isNaN(value)) gaps++;
      else kwh += value;
    return [{ channel, kwh, gaps }];
  });
  return { layout, axis: series === undefined ? null : axisPart(series.axis), channels, findings };
}

function unitOf(text: string | undefined): Unit | undefined {
  if (text === undefined) return undefined;
  const unit = UNITS.find((known) => known === text);
  if (unit !== undefined) return unit;
  const near = nearestName(text, UNITS);
  throw new InputError([
    {
      code: 'not-allowed',
      where: { path: ['unit'] },
      received: quoteName(text),
      expected: `one of ${UNITS.join(', ')}`,
      ...(near === undefined ? {} : { hint: `did you mean "${near}"?` }),
    },
  ]);
}
