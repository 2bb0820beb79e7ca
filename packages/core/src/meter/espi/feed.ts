import { SaxesParser } from 'saxes';
import type { XmlRefusal } from '../../words/reading.ts';
import { readPlain } from '../table/numbers.ts';
import { type FeedBill, type MeterReading, newMeterReading, newReadingType, type ReadingType } from './records.ts';

/** Elements deeper than this are no feed. */
const MOST_DEPTH = 64;
/** Longest text of one element that is kept, characters. */
const MOST_TEXT = 400;
/** The parser is fed in slices, so that it holds no second copy of the text. */
const SLICE = 1 << 16;

/** What a feed holds, by the links that its entries refer to each other with. */
export interface Feed {
  readonly types: ReadonlyMap<string, ReadingType>;
  /** The type that stands last in the feed. */
  readonly lastType: ReadingType | undefined;
  /** Those that have readings, by link, in file order. */
  readonly meters: ReadonlyMap<string, MeterReading>;
  /** Kind of service of each usage point, by link. */
  readonly pointKinds: ReadonlyMap<string, number>;
  /** Bills of usage summaries, in file order. */
  readonly bills: readonly FeedBill[];
  /** Offsets from UTC that the feed states, s. */
  readonly tzOffsets: readonly number[];
  /** Blocks about a day long, and how many of them begin at midnight of UTC. */
  readonly dayBlocks: number;
  readonly midnightUtcBlocks: number;
}

/** Fields of a reading type by the element that holds them. */
const TYPE_FIELDS: ReadonlyMap<string, Exclude<keyof ReadingType, 'title'>> = new Map([
  ['uom', 'uom'],
  ['powerOfTenMultiplier', 'powerOfTen'],
  ['flowDirection', 'flow'],
  ['intervalLength', 'intervalLength'],
  ['accumulationBehaviour', 'accumulation'],
  ['commodity', 'commodity'],
  ['kind', 'kind'],
  ['dataQualifier', 'dataQualifier'],
  ['defaultQuality', 'defaultQuality'],
  ['tou', 'tou'],
  ['consumptionTier', 'tier'],
]);
/** Of these an empty element means 0. */
const ZERO_WHERE_EMPTY: readonly string[] = ['powerOfTen', 'tou', 'tier'];
const READING_FIELDS = ['start', 'duration', 'value', 'cost', 'quality', 'line', 'place'] as const;

/** Why a text is no feed that is read. */
class Refused extends Error {
  readonly refusal: XmlRefusal;

  constructor(refusal: XmlRefusal) {
    super(refusal.why);
    this.refusal = refusal;
  }
}

/** Whether a text is XML. */
export function isXml(text: string): boolean {
  return /^\s*<(?:\?xml|!|[A-Za-z])/.test(text.slice(0, 2000));
}

/**
 * Reads the entries of a feed in one pass. Document type declarations, and with them entities of the file's own, are
 * refused.
 *
 * @returns the feed, or why the text was refused
 */
export function readFeed(text: string): Feed | { readonly refused: XmlRefusal } {
  const reader = new FeedReader();
  try {
    return reader.read(text);
  } catch (error) {
    return { refused: error instanceof Refused ? error.refusal : { why: 'not-well-formed' } };
  }
}

/** One entry: links to itself, to its parent and to what it refers to, and what it holds. */
interface Entry {
  self: string;
  up: string;
  related: string[];
  title: string;
  /** Its blocks of readings. */
  blocks: MeterReading[];
  hasMeterReading: boolean;
  type: ReadingType | undefined;
  isPoint: boolean;
  pointKind: number;
  /** Of a usage summary: seconds, and hundred-thousandths of the currency. */
  isSummary: boolean;
  billStart: number;
  billDuration: number;
  billed: number;
}

class FeedReader {
  readonly #types = new Map<string, ReadingType>();
  readonly #meters = new Map<string, MeterReading>();
  readonly #pointKinds = new Map<string, number>();
  readonly #bills: FeedBill[] = [];
  readonly #tzOffsets: number[] = [];
  #lastType: ReadingType | undefined;
  #dayBlocks = 0;
  #midnightUtcBlocks = 0;

  readonly #parser = new SaxesParser({ xmlns: false, position: true });
  #depth = 0;
  /** Text of the element that is open, where it may be of use. */
  #kept = '';
  #keep = false;

  #entry = newEntry();
  #block: MeterReading | undefined;
  #blockStart = Number.NaN;
  #blockDuration = Number.NaN;
  /** Readings of the block so far. */
  #place = 0;
  #inReading = false;
  #inBillingPeriod = false;
  #inQuality = false;
  #start = Number.NaN;
  #duration = Number.NaN;
  #value = Number.NaN;
  #cost = Number.NaN;
  #quality = Number.NaN;

  read(text: string): Feed {
    const parser = this.#parser;
    parser.on('error', (error) => {
      throw new Refused({
        why: 'not-well-formed',
        fault: {
          line: parser.line,
          // After a colon the parser quotes the file: a tag or an attribute may be of a customer.
          detail: error.message
            .replace(/^[\d:]+\s*/, '')
            .split(':')[0]!
            .slice(0, 60)
            .replace(/[^\w ,.]/g, ''),
        },
      });
    });
    parser.on('doctype', () => {
      throw new Refused({ why: 'document-type' });
    });
    parser.on('opentag', (tag) => this.#open(localName(tag.name), tag.attributes as Record<string, string>));
    const add = (chunk: string) => {
      if (this.#keep && this.#kept.length < MOST_TEXT) this.#kept += chunk;
    };
    parser.on('text', add);
    parser.on('cdata', add);
    parser.on('closetag', (tag) => this.#close(localName(tag.name)));
    for (let at = 0; at < text.length; at += SLICE) parser.write(text.slice(at, at + SLICE));
    parser.close();
    this.#closeEntry();
    for (const meter of [...this.#meters.values()]) if (meter.value.length === 0) this.#meters.delete(meter.href);
    return {
      types: this.#types,
      lastType: this.#lastType,
      meters: this.#meters,
      pointKinds: this.#pointKinds,
      bills: this.#bills,
      tzOffsets: this.#tzOffsets,
      dayBlocks: this.#dayBlocks,
      midnightUtcBlocks: this.#midnightUtcBlocks,
    };
  }

  #open(name: string, attributes: Readonly<Record<string, string>>): void {
    if (++this.#depth > MOST_DEPTH) throw new Refused({ why: 'nested-too-deep', mostDepth: MOST_DEPTH });
    this.#kept = '';
    const entry = this.#entry;
    switch (name) {
      case 'IntervalReading':
        this.#inReading = true;
        this.#start = Number.NaN;
        this.#duration = Number.NaN;
        this.#value = Number.NaN;
        this.#cost = Number.NaN;
        this.#quality = Number.NaN;
        return;
      case 'timePeriod':
        return;
      case 'ReadingQuality':
        this.#inQuality = true;
        return;
      case 'IntervalBlock':
        this.#block = newMeterReading('');
        entry.blocks.push(this.#block);
        this.#blockStart = Number.NaN;
        this.#blockDuration = Number.NaN;
        this.#place = 0;
        return;
      case 'entry':
        this.#entry = newEntry();
        return;
      case 'link': {
        const href = (attributes.href ?? '').replace(/\/+$/, '');
        if (attributes.rel === 'self') entry.self = href;
        else if (attributes.rel === 'up') entry.up = href;
        else if (attributes.rel === 'related') entry.related.push(href);
        return;
      }
      case 'MeterReading':
        entry.hasMeterReading = true;
        return;
      case 'UsagePoint':
        entry.isPoint = true;
        return;
      case 'UsageSummary':
      case 'ElectricPowerUsageSummary':
        entry.isSummary = true;
        return;
      case 'billingPeriod':
        this.#inBillingPeriod = true;
        return;
      case 'ReadingType':
        entry.type = newReadingType();
        return;
      default:
        this.#keep = true;
    }
  }

  #close(name: string): void {
    this.#depth--;
    const text = this.#kept;
    this.#kept = '';
    this.#keep = false;
    if (this.#inReading) this.#closeInReading(name, text);
    else this.#closeInEntry(name, text);
  }

  #closeInReading(name: string, text: string): void {
    switch (name) {
      case 'start':
        this.#start = numberOf(text);
        return;
      case 'duration':
        this.#duration = numberOf(text);
        return;
      case 'value':
        this.#value = numberOf(text);
        return;
      case 'cost':
        this.#cost = numberOf(text);
        return;
      case 'quality':
        if (this.#inQuality || Number.isNaN(this.#quality)) this.#quality = numberOf(text);
        return;
      case 'ReadingQuality':
        this.#inQuality = false;
        if (text.trim() !== '') this.#quality = numberOf(text);
        return;
      case 'IntervalReading': {
        this.#inReading = false;
        // Some feeds have readings outside of any block.
        if (this.#block === undefined) {
          this.#block = newMeterReading('');
          this.#entry.blocks.push(this.#block);
        }
        const block = this.#block;
        const hasStart = !Number.isNaN(this.#start);
        this.#place++;
        block.start.push(hasStart ? this.#start : this.#blockStart);
        block.place.push(hasStart ? 0 : this.#place);
        block.duration.push(this.#duration);
        block.value.push(this.#value);
        block.cost.push(this.#cost);
        block.quality.push(this.#quality);
        block.line.push(this.#parser.line);
      }
    }
  }

  #closeInEntry(name: string, text: string): void {
    const entry = this.#entry;
    const field = TYPE_FIELDS.get(name);
    if (field !== undefined && entry.type !== undefined) {
      entry.type[field] = ZERO_WHERE_EMPTY.includes(field) ? numberOf(text) || 0 : numberOf(text);
      return;
    }
    switch (name) {
      case 'start':
        if (this.#inBillingPeriod) entry.billStart = numberOf(text);
        else if (this.#block !== undefined) this.#blockStart = numberOf(text);
        return;
      case 'duration':
        if (this.#inBillingPeriod) entry.billDuration = numberOf(text);
        else if (this.#block !== undefined) this.#blockDuration = numberOf(text);
        return;
      case 'billingPeriod':
        this.#inBillingPeriod = false;
        return;
      case 'billLastPeriod':
        if (entry.isSummary) entry.billed = numberOf(text);
        return;
      case 'IntervalBlock':
        // 23 to 25 hours.
        if (this.#blockDuration >= 82_800 && this.#blockDuration <= 90_000) {
          this.#dayBlocks++;
          if (this.#blockStart % 86_400 === 0) this.#midnightUtcBlocks++;
        }
        if (this.#depth <= 1) this.#closeEntry();
        this.#block = undefined;
        return;
      case 'ReadingType':
        if (entry.type !== undefined) this.#lastType = entry.type;
        return;
      case 'title':
        entry.title = text.trim();
        return;
      case 'kind':
        if (entry.isPoint) entry.pointKind = numberOf(text);
        return;
      case 'tzOffset':
        this.#tzOffsets.push(numberOf(text));
        return;
      case 'entry':
        this.#closeEntry();
    }
  }

  #closeEntry(): void {
    const entry = this.#entry;
    const { self, up, title } = entry;
    if (entry.type !== undefined) {
      entry.type.title = title;
      this.#types.set(self, entry.type);
      entry.type = undefined;
    }
    if (entry.isPoint && self !== '') this.#pointKinds.set(self, entry.pointKind);
    if (entry.isSummary && entry.billDuration > 0 && !Number.isNaN(entry.billStart) && !Number.isNaN(entry.billed))
      this.#bills.push({
        // `up` ends in …/UsagePoint/01/UsageSummary, or ElectricPowerUsageSummary.
        point: (up !== '' ? up : self).replace(/\/\w*UsageSummary(?:\/.*)?$/, ''),
        start: entry.billStart,
        duration: entry.billDuration,
        billed: entry.billed,
      });
    entry.isSummary = false;
    if (entry.hasMeterReading && entry.blocks.length === 0) {
      const meter = this.#meterAt(self);
      meter.typeHref = entry.related.find((href) => /ReadingType\b/.test(href));
      meter.title = title;
    }
    for (const block of entry.blocks) {
      // `up` ends in …/MeterReading/01/IntervalBlock.
      const owner = (up !== '' ? up : self).replace(/\/IntervalBlock(?:\/.*)?$/, '');
      const meter = this.#meterAt(owner);
      for (const field of READING_FIELDS) {
        const from = block[field];
        for (let i = 0; i < from.length; i++) meter[field].push(from.data[i]!);
      }
    }
    entry.blocks = [];
    entry.hasMeterReading = false;
  }

  #meterAt(href: string): MeterReading {
    let meter = this.#meters.get(href);
    if (meter === undefined) {
      meter = newMeterReading(href);
      this.#meters.set(href, meter);
    }
    return meter;
  }
}

function newEntry(): Entry {
  return {
    self: '',
    up: '',
    related: [],
    title: '',
    blocks: [],
    hasMeterReading: false,
    type: undefined,
    isPoint: false,
    pointKind: Number.NaN,
    isSummary: false,
    billStart: Number.NaN,
    billDuration: Number.NaN,
    billed: Number.NaN,
  };
}

function localName(name: string): string {
  return name.slice(name.indexOf(':') + 1);
}

function numberOf(text: string): number {
  const trimmed = text.trim();
  return trimmed.length > 24 ? Number.NaN : readPlain(trimmed);
}
