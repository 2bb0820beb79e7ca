import { Grow } from '../grow.ts';

/** What a ReadingType says of the readings that refer to it: ESPI's own codes, NaN where it is silent. */
export interface ReadingType {
  uom: number;
  powerOfTen: number;
  flow: number;
  /** Seconds. */
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

/** Readings of one MeterReading, in file order; times and durations in seconds, NaN where a reading prints none. */
export interface MeterReading {
  readonly href: string;
  typeHref: string | undefined;
  title: string;
  readonly start: Grow;
  readonly duration: Grow;
  readonly value: Grow;
  /** What a reading cost, hundred-thousandths of the currency; NaN where it prints no cost. */
  readonly cost: Grow;
  readonly quality: Grow;
  readonly line: Grow;
  /** 0 where a reading has its own time, else its place in its block, from 1; `start` is the block's then. */
  readonly place: Grow;
}

/** The bill of one billing period, as a usage summary tells it. */
export interface FeedBill {
  /** Link of its usage point. */
  readonly point: string;
  /** Seconds. */
  readonly start: number;
  readonly duration: number;
  /** Hundred-thousandths of the currency. */
  readonly billed: number;
}

export function newReadingType(): ReadingType {
  return {
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
}

export function newMeterReading(href: string): MeterReading {
  const readings = () => new Grow(128);
  return {
    href,
    typeHref: undefined,
    title: '',
    start: readings(),
    duration: readings(),
    value: readings(),
    cost: readings(),
    quality: readings(),
    line: readings(),
    place: readings(),
  };
}
