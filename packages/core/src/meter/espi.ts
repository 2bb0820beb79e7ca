import { SaxesParser } from 'saxes';
import { offsetMinutesAt } from '../axis/index.ts';
import type { FindingList } from './findings.ts';
import { Grow } from './grow.ts';
import type { ParseOptions, Unit } from './options.ts';
import type { Evidence, Labels, Readings, Role, Stream } from './readings.ts';
import { directionOf } from './table/header.ts';

/** Elements deeper than this are no feed. */
const MOST_DEPTH = 64;
/** Longest text of one element that is kept, characters. */
const MOST_TEXT = 400;
const SLICE = 1 << 16;

interface ReadingType {
  uom: number;
  powerOfTen: number;
  flow: number;
  intervalLength: number;
  accumulation: number;
  commodity: number;
  kind: number;
  dataQualifier: number;
  defaultQuality: number;
  /** Time-of-use window and tier, 0 for none: readings of one channel that have others are parts of it. */
  tou: number;
  tier: number;
  title: string;
}

/** Readings of one MeterReading, in file order. */
interface Meter {
  href: string;
  typeHref: string | undefined;
  title: string;
  start: Grow;
  duration: Grow;
  value: Grow;
  quality: Grow;
  line: Grow;
  /** 0 where a reading has its own time, else its place in its block, from 1; `start` is the block's then. */
  place: Grow;
}

class Refused extends Error {}

/** Whether a text is XML. */
export function isXml(text: string): boolean {
  return /^\s*<(?:\?xml|!|[A-Za-z])/.test(text.slice(0, 2000));
}

/**
 * Reads an ESPI feed (NAESB REQ.21) in one pass: readings grouped by meter reading, joined to their reading
 * type and usage point by links, by order where a feed has no links. Document type declarations and entities
 * of the file's own are refused.
 *
 * @see NAESB REQ.21 Energy Services Provider Interface, espi.xsd 4.0: IntervalReading, ReadingType, TimeType
 */
export function readEspi(text: string, options: ParseOptions, findings: FindingList): Readings | undefined {
  const evidence: Evidence = ['XML with interval readings of ESPI (NAESB REQ.21)'];
  const types = new Map<string, ReadingType>();
  const meters = new Map<string, Meter>();
  const pointKinds = new Map<string, number>();
  let lastType: ReadingType | undefined;
  const tzOffsets: number[] = [];
  let dayBlocks = 0;
  let midnightUtcBlocks = 0;

  const parser = new SaxesParser({ xmlns: false, position: true });
  let depth = 0;
  let kept = '';
  let keep = false;
  // One entry's state.
  let self = '';
  let up = '';
  let related: string[] = [];
  let title = '';
  let entryMeters: Meter[] = [];
  let hasMeterReading = false;
  let type: ReadingType | undefined;
  let inPoint = false;
  let pointKind = Number.NaN;
  // One block's state.
  let block: Meter | undefined;
  let blockStart = Number.NaN;
  let blockDuration = Number.NaN;
  let place = 0;
  // One reading's state.
  let inReading = false;
  let inQuality = false;
  let start = Number.NaN;
  let duration = Number.NaN;
  let value = Number.NaN;
  let quality = Number.NaN;

  parser.on('error', (error) => {
    throw new Refused(
      // After a colon the parser quotes the file: a tag or an attribute may be of a customer.
      `it is not well-formed (line ${parser.line}: ${error.message
        .replace(/^[\d:]+\s*/, '')
        .split(':')[0]!
        .slice(0, 60)
        .replace(/[^\w ,.]/g, '')})`,
    );
  });
  parser.on('doctype', () => {
    throw new Refused('it has a document type declaration, which no meter file needs');
  });
  parser.on('opentag', (tag) => {
    if (++depth > MOST_DEPTH) throw new Refused(`its elements are nested more than ${MOST_DEPTH} deep`);
    kept = '';
    const { name } = tag;
    const local = name.slice(name.indexOf(':') + 1);
    switch (local) {
      case 'value':
      case 'start':
      case 'duration':
        keep = true;
        return;
      case 'IntervalReading':
        inReading = true;
        start = Number.NaN;
        duration = Number.NaN;
        value = Number.NaN;
        quality = Number.NaN;
        return;
      case 'timePeriod':
        return;
      case 'ReadingQuality':
        inQuality = true;
        return;
      case 'IntervalBlock':
        block = newMeter('');
        entryMeters.push(block);
        blockStart = Number.NaN;
        blockDuration = Number.NaN;
        place = 0;
        return;
      case 'entry':
        self = '';
        up = '';
        related = [];
        title = '';
        entryMeters = [];
        hasMeterReading = false;
        type = undefined;
        inPoint = false;
        pointKind = Number.NaN;
        return;
      case 'link': {
        const attributes = tag.attributes as Record<string, string>;
        const href = (attributes.href ?? '').replace(/\/+$/, '');
        if (attributes.rel === 'self') self = href;
        else if (attributes.rel === 'up') up = href;
        else if (attributes.rel === 'related') related.push(href);
        return;
      }
      case 'MeterReading':
        hasMeterReading = true;
        return;
      case 'UsagePoint':
        inPoint = true;
        return;
      case 'ReadingType':
        type = {
          uom: Number.NaN,
          powerOfTen: 0,
          flow: Number.NaN,
          intervalLength: Number.NaN,
          accumulation: Number.NaN,
          commodity: Number.NaN,
          kind: Number.NaN,
          dataQualifier: Number.NaN,
          defaultQuality: Number.NaN,
          tou: 0,
          tier: 0,
          title: '',
        };
        return;
      default:
        keep = true;
    }
  });
  parser.on('text', (chunk) => {
    if (keep && kept.length < MOST_TEXT) kept += chunk;
  });
  parser.on('cdata', (chunk) => {
    if (keep && kept.length < MOST_TEXT) kept += chunk;
  });
  parser.on('closetag', (tag) => {
    depth--;
    const { name } = tag;
    const local = name.slice(name.indexOf(':') + 1);
    const text = kept;
    kept = '';
    keep = false;
    if (inReading) {
      switch (local) {
        case 'start':
          start = numberOf(text);
          return;
        case 'duration':
          duration = numberOf(text);
          return;
        case 'value':
          value = numberOf(text);
          return;
        case 'quality':
          if (inQuality || Number.isNaN(quality)) quality = numberOf(text);
          return;
        case 'ReadingQuality':
          inQuality = false;
          if (text.trim() !== '') quality = numberOf(text);
          return;
        case 'IntervalReading': {
          inReading = false;
          // Some feeds have readings outside of any block.
          block ??= entryMeters[entryMeters.push(newMeter('')) - 1]!;
          place++;
          block.start.push(Number.isNaN(start) ? blockStart : start);
          block.place.push(Number.isNaN(start) ? place : 0);
          block.duration.push(duration);
          block.value.push(value);
          block.quality.push(quality);
          block.line.push(parser.line);
          return;
        }
      }
      return;
    }
    switch (local) {
      case 'start':
        if (block !== undefined) blockStart = numberOf(text);
        return;
      case 'duration':
        if (block !== undefined) blockDuration = numberOf(text);
        return;
      case 'IntervalBlock':
        if (blockDuration >= 82_800 && blockDuration <= 90_000) {
          dayBlocks++;
          if (blockStart % 86_400 === 0) midnightUtcBlocks++;
        }
        if (depth <= 1) closeEntry();
        block = undefined;
        return;
      case 'ReadingType':
        if (type !== undefined) lastType = type;
        return;
      case 'title':
        title = text.trim();
        return;
      case 'kind':
        if (type !== undefined) type.kind = numberOf(text);
        else if (inPoint) pointKind = numberOf(text);
        return;
      case 'uom':
        if (type !== undefined) type.uom = numberOf(text);
        return;
      case 'powerOfTenMultiplier':
        if (type !== undefined) type.powerOfTen = numberOf(text) || 0;
        return;
      case 'flowDirection':
        if (type !== undefined) type.flow = numberOf(text);
        return;
      case 'intervalLength':
        if (type !== undefined) type.intervalLength = numberOf(text);
        return;
      case 'accumulationBehaviour':
        if (type !== undefined) type.accumulation = numberOf(text);
        return;
      case 'commodity':
        if (type !== undefined) type.commodity = numberOf(text);
        return;
      case 'dataQualifier':
        if (type !== undefined) type.dataQualifier = numberOf(text);
        return;
      case 'defaultQuality':
        if (type !== undefined) type.defaultQuality = numberOf(text);
        return;
      case 'tou':
        if (type !== undefined) type.tou = numberOf(text) || 0;
        return;
      case 'consumptionTier':
        if (type !== undefined) type.tier = numberOf(text) || 0;
        return;
      case 'tzOffset':
        tzOffsets.push(numberOf(text));
        return;
      case 'entry':
        closeEntry();
        return;
    }
  });

  function newMeter(href: string): Meter {
    return {
      href,
      typeHref: undefined,
      title: '',
      start: new Grow(128),
      duration: new Grow(128),
      value: new Grow(128),
      quality: new Grow(128),
      line: new Grow(128),
      place: new Grow(128),
    };
  }

  function meterAt(href: string): Meter {
    let meter = meters.get(href);
    if (meter === undefined) {
      meter = newMeter(href);
      meters.set(href, meter);
    }
    return meter;
  }

  function closeEntry(): void {
    if (type !== undefined) {
      type.title = title;
      types.set(self, type);
      type = undefined;
    }
    if (inPoint && self !== '') pointKinds.set(self, pointKind);
    if (hasMeterReading && entryMeters.length === 0) {
      const meter = meterAt(self);
      meter.typeHref = related.find((href) => /ReadingType\b/.test(href));
      meter.title = title;
    }
    for (const part of entryMeters) {
      // `up` ends in …/MeterReading/01/IntervalBlock.
      const owner = (up !== '' ? up : self).replace(/\/IntervalBlock(?:\/.*)?$/, '');
      const meter = meterAt(owner);
      for (const field of ['start', 'duration', 'value', 'quality', 'line', 'place'] as const) {
        const from = part[field];
        for (let i = 0; i < from.length; i++) meter[field].push(from.data[i]!);
      }
    }
    entryMeters = [];
    hasMeterReading = false;
  }

  try {
    for (let at = 0; at < text.length; at += SLICE) parser.write(text.slice(at, at + SLICE));
    parser.close();
  } catch (error) {
    const why = error instanceof Refused ? error.message : 'it is not well-formed';
    findings.add('xml-refused', 'error', `the XML was refused: ${why}`);
    return undefined;
  }
  closeEntry();
  for (const meter of [...meters.values()]) if (meter.value.length === 0) meters.delete(meter.href);
  if (meters.size === 0) {
    findings.add('no-readings', 'error', 'the XML holds no interval readings of ESPI');
    return undefined;
  }

  checkZone(options, tzOffsets, findings, evidence);
  if (dayBlocks > 0 && midnightUtcBlocks === dayBlocks && options.zone !== undefined && options.clock === undefined) {
    const first = meters.values().next().value!.start.data[0]! * 1000;
    if (Number.isFinite(first) && Math.abs(first) < 8e15 && offsetMinutesAt(options.zone, first) !== 0)
      findings.add(
        'epoch-not-utc',
        'warning',
        'each day’s block starts at midnight of UTC and not of the zone: the times may be local standard time written as UTC; if so state `clock` standard (or utc to confirm)',
      );
  }

  const points: string[] = [];
  const streams: Stream[] = [];
  for (const meter of meters.values()) {
    const readingType =
      (meter.typeHref === undefined ? undefined : types.get(meter.typeHref)) ??
      (types.size === 1 ? lastType : typeNear(meter, types));
    const point = meter.href.replace(/\/MeterReading(?:\/.*)?$/, '');
    const kind = pointKinds.get(point);
    const stream = streamOf(meter, readingType, kind, options, findings, evidence);
    if (stream === undefined) continue;
    if (!points.includes(point)) points.push(point);
    stream.point = points.indexOf(point) + 1;
    stream.reading = streams.push(stream);
  }
  if (streams.length === 0) {
    findings.add('no-readings', 'error', 'the feed holds no electric energy');
    return undefined;
  }
  return { layout: 'ESPI XML', evidence, streams };
}

/** Without links, a lone type of electric energy is the type of every meter reading. */
function typeNear(_meter: Meter, types: ReadonlyMap<string, ReadingType>): ReadingType | undefined {
  const electric = [...types.values()].filter((type) => type.uom === 72 || type.uom === 38);
  return electric.length === 1 ? electric[0] : undefined;
}

function numberOf(text: string): number {
  const trimmed = text.trim();
  if (trimmed === '' || trimmed.length > 24) return Number.NaN;
  const value = Number(trimmed);
  return Number.isFinite(value) ? value : Number.NaN;
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
      offset === -standard
        ? 'the feed states the zone’s offset from UTC with the wrong sign; the stated zone counts'
        : `the feed states a standard offset of ${offset} s from UTC, the stated zone has ${standard} s; the stated zone counts`,
      { key: String(offset) },
    );
  }
}

/** Reading qualities that are no plain measurement: ESPI QualityOfReading. */
const ESTIMATED_QUALITY = new Set([7, 8, 9, 10, 11, 12, 13, 15]);

function streamOf(
  meter: Meter,
  type: ReadingType | undefined,
  pointKind: number | undefined,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): Stream | undefined {
  const skip = (code: string, message: string) => {
    findings.add(code, 'note', message);
    return undefined;
  };
  if (pointKind !== undefined && pointKind > 0)
    return skip('other-commodity', 'readings of gas or water were left out');
  if (type !== undefined) {
    const { commodity, kind, uom, dataQualifier } = type;
    if (commodity > 2 && commodity !== 26 && commodity < 4096)
      return skip('other-commodity', 'readings of gas or water were left out');
    if (
      kind === 46 ||
      uom === 23 ||
      kind === 38 ||
      kind === 54 ||
      [5, 29, 42, 61, 63, 71, 73, 106, 119, 132, 134, 169].includes(uom)
    )
      return skip('other-quantity', 'readings of something else than active energy or power were left out');
    if (dataQualifier === 8 || dataQualifier === 9)
      return skip('other-quantity', 'readings of maximum or minimum demand were left out');
    for (const [name, code, known] of [
      ['uom', uom, [0, 38, 72]],
      ['flowDirection', type.flow, [0, 1, 4, 19, 20]],
    ] as const)
      if (!Number.isNaN(code) && !(known as readonly number[]).includes(code))
        findings.add('code-unknown', 'warning', `the feed has ${name} ${code}, which says nothing here`, { key: name });
  } else
    findings.add(
      'reading-type-missing',
      'warning',
      'readings have no reading type: what they measure is taken from their size',
    );

  let role: Role;
  const flow = type?.flow ?? Number.NaN;
  if (flow === 1 || flow === 20) role = 'import';
  else if (flow === 19) role = 'export';
  else if (flow === 4) role = 'net';
  else {
    const told = directionOf(`${type?.title ?? ''} ${meter.title}`);
    if (told !== undefined && told !== 'gas') role = told;
    else {
      role = options.channel ?? 'import';
      if (options.channel === undefined)
        findings.add(
          'channel-assumed',
          'warning',
          'a meter reading doesn’t say in which direction energy flowed: taken as import; state `channel`',
        );
    }
  }
  const scale = 10 ** (type?.powerOfTen ?? 0);
  let unit: Unit | undefined;
  if (type?.uom === 72) unit = 'Wh';
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
      findings.add('unreadable-row', 'warning', 'readings without a readable time were left out', {
        line: meter.line.data[i]!,
      });
      continue;
    }
    labelMs[count] = startS * 1000;
    const duration = meter.duration.data[i]!;
    durationMs[count] = (duration >= 0 ? duration : implied) * 1000;
    line[count] = meter.line.data[i]!;
    values[count] = meter.value.data[i]! * scale;
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
    cumulative: [1, 3, 9].includes(type?.accumulation ?? Number.NaN),
    source: `a meter reading of ${role}`,
    ...(type !== undefined && (type.tou > 0 || type.tier > 0) ? { part: `window ${type.tou}, tier ${type.tier}` } : {}),
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
