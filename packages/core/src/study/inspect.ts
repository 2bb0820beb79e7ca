import { anything, callable, check, list, number, optional, record, text } from '../input/door.ts';
import { InputError, type InputIssue, reportIssue } from '../input/index.ts';
import {
  type Adjustment,
  adjustSeries,
  CHANNELS,
  channelField,
  checkMetering,
  demandDays,
  ESTIMATED,
  estimatedShare,
  faultsOf,
  type IntervalData,
  type IntervalSeries,
  joinSeries,
  type MeteringContext,
  type ParseOptions,
  readIntervals,
  repairGaps,
} from '../meter/index.ts';
import { FindingList, noteBilled, statesRoles, withoutHeld } from '../meter/inside.ts';
import { type Decoders, type InputRecord, MAX_DATA_BYTES, type ReadFile } from '../site/index.ts';
import { gapIssues, readBytes, recordOf } from '../site/inside.ts';
import { VERSION } from '../version.ts';
import type { InspectReport } from './inspect-schema.ts';
import { pictureOf } from './picture.ts';
import { provenanceOf } from './provenance.ts';
import { axisPart } from './report-parts.ts';

/** What {@link inspect} may be told. */
export interface InspectOptions extends Pick<Decoders, 'xlsx'> {
  /** What is stated about the files. */
  readonly parse?: ParseOptions;
  /** Corrections of metering faults, applied to the files joined. */
  readonly adjustment?: Adjustment;
  /** What is known about the home. */
  readonly home?: MeteringContext;
  /** Gaps up to so many hours are filled. @defaultValue none is */
  readonly maxGapHours?: number;
}

/** What {@link inspect} found. */
export interface InspectOutcome {
  readonly report: InspectReport;
  /** The report's issues, as an InputError has them. */
  readonly issues: readonly InputIssue[];
  /** The files joined, corrected and filled as asked; absent where none can be trusted. */
  readonly series?: IntervalSeries;
}

/**
 * Reads interval files of a home, joins them, and says what was understood: evidence, totals, pictures, faults.
 * @throws InputError where the call itself is wrong; what is wrong with the files is in the report
 */
export async function inspect(
  paths: readonly string[],
  read: ReadFile,
  options: InspectOptions = {},
): Promise<InspectOutcome> {
  check(
    { paths, read, options },
    {
      paths: list(text, { least: 1 }),
      read: callable,
      // What is stated of the files and the home is looked at where it is used.
      options: record<InspectOptions>({
        xlsx: optional(callable),
        parse: anything,
        adjustment: anything,
        // An object; its fields are looked at there.
        home: optional(
          record<MeteringContext>({
            latitudeDeg: anything,
            longitudeDeg: anything,
            billedKwh: anything,
            rolesStated: anything,
            drawnIsAll: anything,
            noPanels: anything,
            netOneWay: anything,
          }),
        ),
        maxGapHours: optional(number({ least: 0 })),
      }),
    },
  );
  const { xlsx, home, maxGapHours } = options;
  // What was billed is of all files together.
  const together = paths.length > 1 ? options.parse?.billedKwh : undefined;
  // A unit that is stated with how many of it a value counts is judged by both, file by file.
  const { scale, ...others } = options.adjustment ?? {};
  const early = scale !== undefined && Object.keys(others).length === 0;
  const parse = early ? { ...options.parse, adjust: { scale } } : options.parse;
  const adjustment = early ? {} : (options.adjustment ?? {});
  const inputs: InputRecord[] = [];
  const files: { file: string; data: IntervalData }[] = [];
  const issues: InputIssue[] = [];
  for (const file of paths) {
    try {
      const bytes = await readBytes(read, file, MAX_DATA_BYTES);
      inputs.push(await recordOf('meter', file, bytes));
      const data = await readIntervals(bytes, parse, xlsx);
      const findings = data.findings.filter(({ code }) => together === undefined || code !== 'billed-differs');
      files.push({ file, data: { ...data, findings } });
      if (data.series === undefined) issues.push(...faultsOf(file, data.findings));
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      issues.push(...error.issues);
    }
  }
  const joined = joinSeries(files.flatMap(({ data }) => (data.series === undefined ? [] : [data.series])));
  if (issues.length === 0 && joined.series === undefined) issues.push(...faultsOf(paths.join(', '), joined.findings));
  const understood: InspectReport = {
    format: 'duskbank.inspect/1',
    version: VERSION,
    ok: false,
    provenance: provenanceOf({ inputs, assumptions: [] }),
    files: files.map(({ file, data }) => ({
      file,
      layout: data.layout,
      findings: withoutHeld(data.findings, joined.series),
    })),
    findings: [],
    issues: issues.map(reportIssue),
    axis: null,
    totalsKwh: null,
    estimatesMarked: false,
    estimatedShare: null,
    estimatedShareOfDemandDays: null,
    months: [],
    pictures: [],
    faults: [],
    gaps: [],
    repairs: null,
  };
  if (issues.length > 0 || joined.series === undefined) return { report: understood, issues };
  const adjusted = adjustSeries(joined.series, adjustment);
  const faults = checkMetering(adjusted, {
    ...home,
    rolesStated: statesRoles(
      parse ?? {},
      adjusted,
      files.flatMap(({ data }) => data.findings),
    ),
    drawnIsAll: parse?.channel === 'import',
    netOneWay: files.some(({ data }) => data.findings.some(({ code }) => code === 'net-one-way')),
  });
  const noticed = new FindingList();
  noteBilled(adjusted, together, noticed);
  const repair = maxGapHours === undefined ? undefined : repairGaps(adjusted, { maxGapHours });
  const series = repair?.series ?? adjusted;
  return {
    report: {
      ...understood,
      ok: true,
      findings: [...joined.findings, ...noticed.list()],
      axis: axisPart(series.axis),
      totalsKwh: totals(series),
      estimatesMarked: series.estimated !== undefined,
      estimatedShare: estimatedShare(series),
      estimatedShareOfDemandDays: estimatedShare(series, demandDays(series)),
      months: monthsOf(series),
      pictures: channelsOf(series).map((channel) => pictureOf(series, channel)),
      faults,
      // A study fills the shortest unasked.
      gaps: gapIssues(repairGaps(series).series).map(reportIssue),
      repairs:
        repair === undefined
          ? null
          : { filledIntervals: repair.filledIntervals, filled: repair.repairs, left: repair.left },
    },
    issues,
    series,
  };
}

function channelsOf(series: IntervalSeries) {
  return CHANNELS.filter((channel) => series[channelField(channel)] !== undefined);
}

function totals(series: IntervalSeries): NonNullable<InspectReport['totalsKwh']> {
  return Object.fromEntries(
    channelsOf(series).map((channel) => {
      let sum = 0;
      for (const value of series[channelField(channel)]!) if (!Number.isNaN(value)) sum += value;
      return [channel, sum];
    }),
  );
}

function monthsOf(series: IntervalSeries): InspectReport['months'] {
  const { calendar, intervals } = series.axis;
  const months: { month: string; kwh: Record<string, number>; gaps: number; estimated: number }[] = [];
  const channels = channelsOf(series);
  for (let i = 0; i < intervals; i++) {
    const day = calendar.days[calendar.day[i]!]!;
    const name = `${day.year}-${String(day.month).padStart(2, '0')}`;
    let last = months.at(-1);
    if (last?.month !== name) {
      last = { month: name, kwh: Object.fromEntries(channels.map((channel) => [channel, 0])), gaps: 0, estimated: 0 };
      months.push(last);
    }
    let gap = false;
    for (const channel of channels) {
      const value = series[channelField(channel)]![i]!;
      if (Number.isNaN(value)) gap = true;
      else last.kwh[channel]! += value;
    }
    if (gap) last.gaps++;
    if (series.estimated !== undefined && series.estimated[i] !== ESTIMATED.no) last.estimated++;
  }
  return months;
}
