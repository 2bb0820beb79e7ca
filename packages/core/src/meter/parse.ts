import { isZone } from '../axis/index.ts';
import { check } from '../input/door.ts';
import { adjustSeries } from './adjust.ts';
import { containerOf, unpack } from './archive/container.ts';
import { BILLED_WITHHOLDS, billedGap, noteBilled } from './billed.ts';
import { noteCoarseSteps } from './coarse.ts';
import { decodeText, looksBinary } from './decode.ts';
import { FindingList } from './findings.ts';
import { isIntervalFile, readIntervalFile } from './interval-file.ts';
import { joinSeries } from './join.ts';
import { kwhPer } from './kwh.ts';
import { readText } from './layouts.ts';
import { noteNetSigns } from './metering/net-signs.ts';
import { MAX_BYTES, type ParseOptions, parseOptions, textOrBytes } from './options.ts';
import { otherDocument } from './other-document.ts';
import { type Assembled, assemble } from './place/assemble.ts';
import { joinTurns } from './place/by-turns.ts';
import { labelEndWords } from './place/label-end.ts';
import { tellSilent } from './place/lone-register.ts';
import { settleKinds } from './place/parts.ts';
import { settleTotalRows } from './place/total-kinds.ts';
import { isBilled } from './place/units.ts';
import { withoutHeld } from './place/unread-registers.ts';
import type { Evidence, Readings, Stream } from './readings.ts';
import type { IntervalData, IntervalSeries } from './series.ts';
import { refuseAboveService, serviceKwOf } from './service.ts';
import { questionSolarShape } from './solar-shape.ts';
import { spreadsheetOf } from './spreadsheet-kind.ts';
import { takeSuffixes } from './stated-roles.ts';
import { saysNoData } from './stops.ts';
import { noteWholeKwh } from './whole-kwh.ts';

/**
 * Reads interval data as utilities, meters and monitors hand them out: delimited text of every usual layout,
 * ESPI XML, NEM12, and gzip or zip around any of them.
 *
 * The layout is recognised by evidence, which the result lists; whatever is stated in `options` replaces
 * recognition. Nothing is guessed in silence: where the evidence leaves a choice that would change energy,
 * there is an `error` finding that says what to state, and no series. Never throws on content.
 *
 * Reading never depends on the machine's zone or on today's date. Text of a preamble (names, addresses,
 * account numbers) is never repeated in findings.
 *
 * @param input the file's text, or its bytes (UTF-8, UTF-16 or Windows-1252; gzip, zip)
 * @param options what the user states; `zone` is needed unless the file is in the project's own format
 * @throws InputError on anything but text or bytes, and options that are none
 * @returns series in kWh an interval on a UTC axis (NaN: gap), findings, and how the file was understood
 * @see docs/concepts/meter.md
 * @example parseIntervalData('start,import_kwh\n2026-01-01 00:00,0.2\n2026-01-01 00:15,0.3\n', { zone: 'America/Denver' })
 */
export function parseIntervalData(input: string | Uint8Array, options: ParseOptions = {}): IntervalData {
  check({ input, options }, { input: textOrBytes, options: parseOptions });
  return parseBy(readText, input, options);
}

/** What reads a text: {@link readText}, or what reads something else of a layout, such as its costs. */
type TextReader = typeof readText;

/** {@link parseIntervalData} by a reader of one's own. */
export function parseBy(read: TextReader, input: string | Uint8Array, options: ParseOptions): IntervalData {
  const findings = new FindingList();
  const failed = (): IntervalData => ({ findings: findings.list(), layout: { name: 'unknown', evidence: [] } });
  if (options.zone !== undefined && !isZone(options.zone)) {
    findings.add('unknown-zone', 'error', { why: 'stated' });
    return failed();
  }
  const mostBytes = options.maxBytes ?? MAX_BYTES;
  if (input.length > mostBytes) {
    findings.add('too-large', 'error', { bytes: input.length, mostBytes });
    return failed();
  }
  if (typeof input === 'string') return parseText(read, input, options, findings);
  const kind = spreadsheetOf(input);
  if (kind !== undefined) {
    if (kind === 'locked') findings.add('spreadsheet-locked', 'error', {});
    else findings.add('spreadsheet-kind', 'error', { kind });
    return failed();
  }
  const container = containerOf(input);
  if (container === undefined) return parseText(read, decodeText(input, findings), options, findings);
  const members = unpack(input, mostBytes, findings);
  if (members === undefined) return failed();
  const results: IntervalData[] = [];
  for (const member of members) {
    const inner = new FindingList();
    if (containerOf(member) === undefined) results.push(parseText(read, decodeText(member, inner), options, inner));
  }
  return joinMembers(results, members.length, container, options.billedKwh, findings);
}

/**
 * Members of one archive are files of one home: those that hold interval data are joined. Where one leaves a question
 * open there is no series.
 *
 * @param members how many there are, with those that are archives again, which are not looked into
 */
function joinMembers(
  results: IntervalData[],
  members: number,
  container: string,
  billedKwh: number | undefined,
  findings: FindingList,
): IntervalData {
  const good = results.filter((result) => result.series !== undefined);
  if (members === 1 || good.length === 0) {
    const only = results[0];
    if (only === undefined) {
      findings.add('archive-empty', 'error', { why: 'only-archives' });
      return { findings: findings.list(), layout: { name: container, evidence: [] } };
    }
    return { ...only, layout: { name: only.layout.name, evidence: [`inside ${container}`, ...only.layout.evidence] } };
  }
  // Interval data that can't be trusted must not be left out in silence: half a year would pass for a year.
  const asking = results.filter((result) => result.series === undefined && !result.findings.some(saysNoData));
  if (asking.length > 0) {
    const [first] = asking as [IntervalData];
    return {
      findings: [...findings.list(), ...asking.flatMap((result) => result.findings)],
      layout: {
        name: first.layout.name,
        evidence: [`inside ${container}, one of ${members} members`, ...first.layout.evidence],
      },
    };
  }
  const { series, findings: joined } = joinSeries(good.map((result) => result.series!));
  if (series !== undefined) noteBilled(series, billedKwh, findings);
  // What was billed is of the whole archive.
  const ofMembers = good.flatMap((result) => result.findings.filter(({ code }) => code !== 'billed-differs'));
  if (good.length < members) findings.add('archive-members-left', 'warning', { left: members - good.length, members });
  return {
    ...(series === undefined ? {} : { series }),
    findings: [...findings.list(), ...withoutHeld(ofMembers, series), ...joined],
    layout: {
      name: good[0]!.layout.name,
      evidence: [`inside ${container}, ${good.length} members joined`, ...good[0]!.layout.evidence],
    },
  };
}

function parseText(read: TextReader, raw: string, options: ParseOptions, findings: FindingList): IntervalData {
  const text = raw.charCodeAt(0) === 0xfeff ? raw.slice(1) : raw;
  /** The corrections that are stated, and what even they leave above the service. */
  const corrected = ({ series, linesOf }: Assembled): IntervalSeries => {
    const { adjust, serviceKw } = options;
    const adjusted = adjust === undefined ? series : adjustSeries(series, adjust);
    if (adjust !== undefined) findings.add('adjusted', 'note', { corrections: Object.keys(adjust) });
    if (!findings.hasError) refuseAboveService(adjusted, serviceKwOf(serviceKw), linesOf, findings);
    if (!findings.hasError) questionSolarShape(adjusted, options, findings);
    if (findings.has('net-one-way')) noteNetSigns(adjusted, findings);
    return adjusted;
  };
  const result = (
    name: string,
    told: Readonly<Evidence>,
    series?: IntervalSeries,
    /** Whether the values are known to be of their own step: power, or our own format. */
    ofStep = false,
  ): IntervalData => {
    const trusted = series === undefined || findings.hasError ? {} : { series };
    if (trusted.series !== undefined) {
      noteCoarseSteps(trusted.series, ofStep || saysEnergy(trusted.series, options), findings);
      noteBilled(trusted.series, options.billedKwh, findings);
      noteWholeKwh(trusted.series, options.billedKwh, findings);
    }
    const evidence = told.map((line) => (typeof line === 'string' ? line : labelEndWords(line)));
    return { ...trusted, findings: findings.list(), layout: { name, evidence } };
  };
  if (text.trim() === '') {
    findings.add('empty', 'error', {});
    return result('unknown', []);
  }
  const other = otherDocument(text);
  if (other !== undefined) {
    findings.add('other-document', 'error', { is: other });
    return result('unknown', []);
  }
  if (looksBinary(text)) {
    findings.add('binary', 'error', {});
    return result('unknown', []);
  }
  if (isIntervalFile(text)) {
    const own = readIntervalFile(text, findings);
    if (own !== undefined) {
      refuseAboveService(own.series, serviceKwOf(options.serviceKw), own.linesOf, findings);
      tellSilent(own.series, options, isBilled(own.series, options), findings);
    }
    return result('our own interval file', ['the first line says format: duskbank.interval/1'], own?.series, true);
  }
  const readings = read(text, options, findings);
  if (readings === undefined || findings.hasError)
    return result(readings?.layout ?? 'unknown', readings?.evidence ?? []);
  const areSuffixes = readings.layout === 'NEM12' && options.rows !== undefined && takeSuffixes(readings, options.rows);
  noteUnused(readings.layout, areSuffixes ? { ...options, rows: undefined } : options, findings);
  const { zone } = options;
  if (zone === undefined) {
    findings.add('zone-missing', 'error', {});
    return result(readings.layout, readings.evidence);
  }
  takeChannel(readings, options);
  if (
    !chooseReadings(readings, options, findings) ||
    !choosePoints(readings, options, findings) ||
    !settleTotalRows(readings, options, findings) ||
    !settleKinds(readings, options, findings)
  )
    return result(readings.layout, readings.evidence);
  joinTurns(readings);
  if (options.clock === 'local' || options.clock === 'standard')
    for (const { labels } of readings.streams)
      if (labels.zulu === true || labels.utcByName === true) labels.clock = 'local';
  const assembled = assemble(readings, { ...options, zone }, findings);
  return result(readings.layout, readings.evidence, assembled && corrected(assembled), readings.streams.every(isPower));
}

/** Of the layouts that say by themselves what each reading is, the options that change nothing. */
const UNUSED: Readonly<Record<string, readonly (keyof ParseOptions)[]>> = {
  NEM12: ['rows', 'columns', 'clock', 'dateOrder', 'decimal'],
  'ESPI XML': ['rows', 'columns', 'dateOrder', 'decimal'],
};

/** Says which of the options that are stated do nothing. */
function noteUnused(
  layout: string,
  options: { readonly [K in keyof ParseOptions]?: unknown },
  findings: FindingList,
): void {
  const unused = (UNUSED[layout] ?? []).filter((name) => options[name] !== undefined);
  if (unused.length > 0) findings.add('stated-unused', 'warning', { layout, options: unused });
}

/** Whether what was billed, or a scale that is stated, says how much energy the rows hold. */
function saysEnergy(series: IntervalSeries, { billedKwh, adjust }: ParseOptions): boolean {
  if (adjust?.scale?.[series.importKwh === undefined ? 'load' : 'import'] !== undefined) return true;
  return (
    billedKwh !== undefined && series.importKwh !== undefined && billedGap(series, billedKwh).share <= BILLED_WITHHOLDS
  );
}

function isPower({ unit }: Stream): boolean {
  return unit === 'kW' || unit === 'W';
}

/** Where a file holds but one quantity, drawn by its own words, what is stated of it counts. */
function takeChannel({ streams, evidence }: Readings, { channel, columns, rows }: ParseOptions): void {
  if (channel === undefined || columns !== undefined || rows !== undefined) return;
  const roles = new Set(streams.map(({ role }) => role));
  const [role] = roles;
  if (roles.size !== 1 || (role !== 'import' && role !== 'load') || role === channel) return;
  for (const stream of streams) stream.role = channel;
  evidence.push(`${channel}, not ${role}: stated`);
}

/** Of the meter readings of an ESPI file, the stated ones; several of a channel are parts of it then. */
function chooseReadings(readings: Readings, { meterReading }: ParseOptions, findings: FindingList): boolean {
  if (meterReading === undefined) return true;
  const wanted = typeof meterReading === 'number' ? [meterReading] : meterReading;
  const known = new Set(readings.streams.map(({ reading }) => reading));
  if (wanted.some((number) => !known.has(number))) {
    known.delete(undefined);
    findings.add('unknown-meter-reading', 'error', { meterReadings: known.size });
    return false;
  }
  readings.streams = readings.streams.filter(({ reading }) => wanted.includes(reading!));
  for (const stream of readings.streams) {
    stream.part = { id: `meter reading ${stream.reading}`, kind: 'stated' };
    delete stream.total;
    delete stream.register;
  }
  readings.evidence.push(`meter reading ${wanted.join(' and ')}: stated`);
  return true;
}

/** Of several usage points, the stated ones; none is chosen in silence. */
function choosePoints(readings: Readings, options: ParseOptions, findings: FindingList): boolean {
  const points = new Set(readings.streams.map((stream) => stream.point ?? 1));
  if (options.usagePoint === undefined) {
    if (points.size <= 1) return true;
    const told = [...points].slice(0, 8).map((point) => ({
      usagePoint: point,
      streams: readings.streams.filter((stream) => (stream.point ?? 1) === point).map(sizeOf),
    }));
    findings.add('several-usage-points', 'error', { usagePoints: points.size, told }, { count: points.size });
    return false;
  }
  const wanted = typeof options.usagePoint === 'number' ? [options.usagePoint] : options.usagePoint;
  const unknown = wanted.find((point) => !points.has(point));
  if (unknown !== undefined) {
    findings.add('unknown-usage-point', 'error', { usagePoints: [...points] });
    return false;
  }
  readings.streams = readings.streams.filter((stream) => wanted.includes(stream.point ?? 1));
  // A total counts the meters that are left out too.
  delete readings.totals;
  readings.left = (readings.left ?? []).filter(({ point }) => wanted.includes(point));
  readings.evidence.push(`usage point ${wanted.join(' and ')}: stated`);
  return true;
}

/** How much a stream holds: energy where its unit is one of energy. */
function sizeOf({ role, unit, values }: Stream) {
  const readings = values.length;
  if (unit === undefined || !/h$/.test(unit)) return { role, readings };
  let sum = 0;
  for (const value of values) sum += value || 0;
  return { role, readings, energyKwh: sum * kwhPer(unit, 3_600_000) };
}
