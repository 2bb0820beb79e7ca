import { offsetMinutesAt } from '../../axis/index.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Evidence, Labels, Readings, Role, Stream } from '../readings.ts';
import { directionOf } from '../table/header.ts';
import { type Feed, readFeed } from './feed.ts';
import type { MeterReading, ReadingType } from './records.ts';

/**
 * Reads an ESPI feed (NAESB REQ.21): readings grouped by meter reading, joined to their reading type and usage point by
 * links, by order where a feed has no links.
 *
 * @see NAESB REQ.21 Energy Services Provider Interface, espi.xsd 4.0: IntervalReading, ReadingType, TimeType
 */
export function readEspi(text: string, options: ParseOptions, findings: FindingList): Readings | undefined {
  return readStreams(text, options, findings, 'value');
}

/**
 * {@link readEspi} of what the readings cost in place of what they measure: money of each step, in the readings' own steps.
 * Meter readings without costs are left out.
 *
 * @returns without a finding: `no-costs`, where none has one; `both-ways`, where what is exported has one too (whether it is
 * a credit isn't said)
 */
export function readEspiCosts(
  text: string,
  options: ParseOptions,
  findings: FindingList,
): Readings | 'no-costs' | 'both-ways' | undefined {
  const readings = readStreams(text, options, findings, 'cost');
  if (readings === undefined) return undefined;
  const priced = readings.streams.filter(({ values }) => values.some((value) => Math.abs(value) > 0));
  if (priced.length === 0) return 'no-costs';
  if (priced.some(({ role }) => role === 'export')) return 'both-ways';
  // A cost has a sign, whatever the energy has.
  for (const stream of priced) stream.role = 'net';
  return { ...readings, streams: priced };
}

function readStreams(
  text: string,
  options: ParseOptions,
  findings: FindingList,
  what: 'value' | 'cost',
): Readings | undefined {
  const evidence: Evidence = ['XML with interval readings of ESPI (NAESB REQ.21)'];
  const feed = readFeed(text);
  if ('refused' in feed) {
    findings.add('xml-refused', 'error', feed.refused);
    return undefined;
  }
  const { meters, types, pointKinds, lastType, tzOffsets } = feed;
  if (meters.size === 0) {
    findings.add('no-readings', 'error', { why: 'no-interval-reading' });
    return undefined;
  }
  checkZone(options, tzOffsets, findings, evidence);
  checkMidnights(feed, options, findings);

  const points: string[] = [];
  const streams: Stream[] = [];
  for (const meter of meters.values()) {
    const readingType =
      (meter.typeHref === undefined ? undefined : types.get(meter.typeHref)) ??
      (types.size === 1 ? lastType : loneElectricType(feed));
    const point = meter.href.replace(/\/MeterReading(?:\/.*)?$/, '');
    const kind = pointKinds.get(point);
    const stream = streamOf(meter, readingType, kind, what, options, findings, evidence);
    if (stream === undefined) continue;
    if (!points.includes(point)) points.push(point);
    stream.point = points.indexOf(point) + 1;
    stream.reading = streams.push(stream);
  }
  if (streams.length === 0) {
    findings.add('no-readings', 'error', { why: 'no-electric-energy' });
    return undefined;
  }
  return { layout: 'ESPI XML', evidence, streams };
}

/** Blocks of a day that all begin at midnight of UTC, where the zone's midnight is another: local times written as UTC. */
function checkMidnights(
  { meters, dayBlocks, midnightUtcBlocks }: Feed,
  options: ParseOptions,
  findings: FindingList,
): void {
  if (dayBlocks === 0 || midnightUtcBlocks < dayBlocks || options.zone === undefined || options.clock !== undefined)
    return;
  const first = meters.values().next().value!.start.data[0]! * 1000;
  if (Number.isFinite(first) && Math.abs(first) < 8e15 && offsetMinutesAt(options.zone, first) !== 0)
    findings.add('epoch-not-utc', 'warning', {});
}

/** Without links, a lone type of electric energy is the type of every meter reading. */
function loneElectricType({ types }: Feed): ReadingType | undefined {
  const electric = [...types.values()].filter((type) => type.uom === 72 || type.uom === 38);
  return electric.length === 1 ? electric[0] : undefined;
}

/** Compares the offset that the feed states with the zone's standard offset. */
function checkZone(
  options: ParseOptions,
  tzOffsets: readonly number[],
  findings: FindingList,
  evidence: Evidence,
): void {
  if (options.zone === undefined || tzOffsets.length === 0) {
    if (tzOffsets.length === 0) evidence.push('the feed states no local time');
    return;
  }
  const standard =
    Math.min(offsetMinutesAt(options.zone, Date.UTC(2015, 0, 1)), offsetMinutesAt(options.zone, Date.UTC(2015, 6, 1))) *
    60;
  for (const offset of new Set(tzOffsets)) {
    if (offset === standard || !Number.isFinite(offset)) continue;
    findings.add(
      'offset-differs',
      'warning',
      { why: offset === -standard ? 'wrong-sign' : 'other-offset', feedSeconds: offset, zoneSeconds: standard },
      { key: String(offset) },
    );
  }
}

/** Reading qualities that are no plain measurement: ESPI QualityOfReading. */
const ESTIMATED_QUALITY = new Set([7, 8, 9, 10, 11, 12, 13, 15]);

/** Costs are hundred-thousandths of the currency: espi.xsd, `IntervalReading.cost` and `UsageSummary.billLastPeriod`. */
export const MONEY = 1e-5;

// Codes of espi.xsd, their meanings from memory.
/** Units of measure other than Wh (72) and W (38): °C, V, A, VA, var, and those of gas and water. */
const OTHER_UNITS: readonly number[] = [5, 23, 29, 42, 61, 63, 71, 73, 106, 119, 132, 134, 169];
/** Kinds of measurement that are no active energy or power: power factor, temperature, voltage. */
const OTHER_KINDS: readonly number[] = [38, 46, 54];
/** Data qualifiers of the maximum and the minimum of a period. */
const EXTREMES: readonly number[] = [8, 9];
/** Accumulations that are running totals: bulk quantity, cumulative and summation. */
const RUNNING_TOTALS: readonly number[] = [1, 3, 9];

/** Whether readings are of no active energy or power; a finding says of what. */
function isOther(type: ReadingType | undefined, pointKind: number | undefined, findings: FindingList): boolean {
  const { commodity, kind, uom, dataQualifier } = type ?? {};
  if ((pointKind ?? 0) > 0 || (commodity! > 2 && commodity !== 26 && commodity! < 4096)) {
    findings.add('other-commodity', 'note', { left: 'readings' });
    return true;
  }
  if (type === undefined) return false;
  if (OTHER_KINDS.includes(kind!) || OTHER_UNITS.includes(uom!)) {
    findings.add('other-quantity', 'note', { left: 'readings' });
    return true;
  }
  if (EXTREMES.includes(dataQualifier!)) {
    findings.add('other-quantity', 'note', { left: 'extremes' });
    return true;
  }
  return false;
}

/** Says which codes of a reading type mean nothing here. */
function noteUnknownCodes(type: ReadingType | undefined, findings: FindingList): void {
  if (type === undefined) {
    findings.add('reading-type-missing', 'warning', {});
    return;
  }
  for (const [name, code, known] of [
    ['uom', type.uom, [0, 38, 72]],
    ['flowDirection', type.flow, [0, 1, 4, 19, 20]],
  ] as const)
    if (!Number.isNaN(code) && !(known as readonly number[]).includes(code))
      findings.add('code-unknown', 'warning', { element: name, value: code }, { key: name });
}

/** What a meter reading measures: by its direction of flow, else by the titles, else by what is stated. */
function roleOf(flow: number, titles: string, options: ParseOptions, findings: FindingList): Role {
  if (flow === 1 || flow === 20) return 'import';
  if (flow === 19) return 'export';
  if (flow === 4) return 'net';
  const told = directionOf(titles);
  if (told !== undefined && told !== 'gas') return told;
  if (options.channel === undefined) findings.add('channel-assumed', 'warning', { why: 'no-direction' });
  return options.channel ?? 'import';
}

function streamOf(
  meter: MeterReading,
  type: ReadingType | undefined,
  pointKind: number | undefined,
  what: 'value' | 'cost',
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): Stream | undefined {
  if (isOther(type, pointKind, findings)) return undefined;
  noteUnknownCodes(type, findings);
  const flow = type?.flow ?? Number.NaN;
  const role = roleOf(flow, `${type?.title ?? ''} ${meter.title}`, options, findings);
  const scale = what === 'cost' ? MONEY : 10 ** (type?.powerOfTen ?? 0);
  let unit: Unit | undefined;
  // Money adds up over steps as energy does.
  if (what === 'cost') unit = 'kWh';
  else if (type?.uom === 72) unit = 'Wh';
  else if (type?.uom === 38) unit = 'W';
  const n = meter.value.length;
  const labelMs = new Float64Array(n);
  const durationMs = new Float64Array(n);
  const line = new Int32Array(n);
  const values = new Float64Array(n);
  const estimated = new Uint8Array(n);
  const lengthS = type?.intervalLength ?? Number.NaN;
  const implied = lengthS > 0 && lengthS < 1e6 ? lengthS : commonest(meter.duration.view());
  let anyEstimated = false;
  let withoutTime = 0;
  let count = 0;
  const defaultQuality = type?.defaultQuality ?? Number.NaN;
  for (let i = 0; i < n; i++) {
    let startS = meter.start.data[i]!;
    const inBlock = meter.place.data[i]!;
    if (inBlock > 0) {
      startS += (inBlock - 1) * implied;
      withoutTime++;
    }
    if (!(startS > 0 && startS < 7.3e9)) {
      findings.add('unreadable-row', 'warning', { why: 'no-reading-time' }, { line: meter.line.data[i]! });
      continue;
    }
    labelMs[count] = startS * 1000;
    const duration = meter.duration.data[i]!;
    durationMs[count] = (duration >= 0 ? duration : implied) * 1000;
    line[count] = meter.line.data[i]!;
    values[count] = meter[what].data[i]! * scale;
    if (ESTIMATED_QUALITY.has(Number.isNaN(meter.quality.data[i]!) ? defaultQuality : meter.quality.data[i]!)) {
      estimated[count] = 1;
      anyEstimated = true;
    }
    count++;
  }
  if (count === 0) return undefined;
  if (withoutTime > 0)
    evidence.push(`${withoutTime} readings have no time of their own: placed in order from their block’s start`);
  evidence.push(
    `a meter reading is ${role}${unit === undefined ? '' : `, in ${unit} × ${scale}`}${Number.isNaN(flow) ? '' : `: flowDirection ${flow}`}`,
  );
  const labels: Labels = {
    clock: 'utc',
    zulu: true,
    labelEnd: { at: 'start', why: 'layout' },
    count,
    labelMs,
    line,
    durationMs,
  };
  return {
    role,
    unit,
    unitChoices: ['Wh', 'kWh'],
    labels,
    values,
    cumulative: what === 'value' && RUNNING_TOTALS.includes(type?.accumulation ?? Number.NaN),
    source: `a meter reading of ${role}`,
    ...(type !== undefined && (type.tou > 0 || type.tier > 0)
      ? {
          part: { id: `window ${type.tou}, tier ${type.tier}`, kind: 'window' } as const,
          register: `window ${type.tou}, tier ${type.tier}`,
        }
      : {}),
    ...(anyEstimated ? { estimated } : {}),
  };
}

function commonest(values: Float64Array): number {
  const times = new Map<number, number>();
  let best = Number.NaN;
  let most = 0;
  for (const value of values) {
    if (!(value > 0)) continue;
    const n = (times.get(value) ?? 0) + 1;
    times.set(value, n);
    if (n > most) {
      most = n;
      best = value;
    }
  }
  return best;
}
