import { hasLongNumber } from '../../words/quote.ts';
import { visible } from '../../words/visible.ts';
import type { Unit } from '../options.ts';
import { namedPart, type Part } from '../part.ts';
import type { Role } from '../readings.ts';
import { inEnglish } from './languages.ts';

/** What alternating current carries beside active energy: apparent (kVA, kVAh), or reactive alone (kvar, kvarh). */
export type Inactive = 'apparent' | 'reactive';

/** What a column's name says. */
export interface HeaderCell {
  readonly words: readonly string[];
  readonly unit?: Unit;
  /** A number stands before the unit, so that a value may count several of it: `10 Wh`, `(0.1 kWh)`. */
  readonly multiple?: boolean;
  /** The unit stands behind each value instead. */
  readonly unitInCells?: boolean;
  /** A unit of heat, gas or water. */
  readonly foreign?: boolean;
  /** Energy or power that isn't billed as kWh. */
  readonly inactive?: Inactive;
  /** What it measures; `weak` where the word would fit import as well as load. */
  readonly role?: Role;
  readonly weak?: boolean;
  /** Word of a price window or register (day, night, tier 1): such columns are parts of one whole. */
  readonly part?: Part;
  /** Holds no interval energy: cost, temperature, gas, names. */
  readonly skip?: 'cost' | 'battery' | 'other';
  /** A meter's running total. */
  readonly cumulative?: boolean;
  readonly time?: 'start' | 'end' | 'plain';
  /** Text that tells what the row measures, its unit, its quality, its meter. */
  readonly tells?: 'type' | 'unit' | 'quality' | 'meter' | 'length';
}

const UNIT_WORDS: Record<string, Unit> = {
  kwh: 'kWh',
  kwhs: 'kWh',
  wh: 'Wh',
  mwh: 'MWh',
  kw: 'kW',
  mw: 'MW',
  w: 'W',
  watt: 'W',
  watts: 'W',
  kilowatt: 'kW',
  kilowatts: 'kW',
  kilowatthour: 'kWh',
  kilowatthours: 'kWh',
};

/**
 * A unit in a name, in any case and glued to other words: `Consumo_KWh`, `ImportKWH`, `PowerW`. Read letter by letter,
 * for a capital decides where `k` is the end of a word (`PeakWh`) and where `w` is (`FLOW`).
 */
const UNIT_TEXT = new RegExp(
  [
    // kWh, whatever its case and wherever it stands; `peakWh` is a peak in Wh.
    '(?<!pea|Pea|PEA|networ|Networ|NETWOR|bac|Bac|BAC)[Kk][Ww][Hh](?:[Rr]?[Ss]?(?![A-Za-z]))?',
    '(?:(?<![A-Za-z])[Mm]|(?<=[a-z])M)[Ww][Hh](?![A-Za-z])',
    '(?:(?<![A-Za-z])[Ww][Hh]|(?<=[a-z])W[Hh]|(?<=[a-z]{4})wh|(?<=[A-Z]{4})WH)(?![A-Za-z])|Wh(?=[A-Z])',
    '(?<!pea|Pea|PEA|networ|Networ|NETWOR|bac|Bac|BAC)(?:kW(?![a-z])|(?:(?<![A-Za-z])[Kk]|(?<=[a-z])[Kk]|(?<=[A-Z]{3})K)[Ww](?![A-Za-z]))',
    '(?:(?<![A-Za-z])[Mm]|(?<=[a-z])M)[Ww](?![A-Za-z])',
    '(?<=[a-z])W(?![A-Za-z])',
  ].join('|'),
  'g',
);

/** Lower-case words of a name: camelCase, punctuation and units part them. */
export function wordsOf(name: string): string[] {
  return inEnglish(
    name
      .slice(0, 200)
      // A unit by the area is no energy of a home: sunshine, heat.
      .replace(/[km]?wh? ?\/ ?m(?:2|²)|[km]?wh? ?m(?:-2|⁻²)/gi, ' perarea ')

      .replace(
        /(kilo|mega|(?<![a-z]))[-_ ]?watts?[-_ ]?(?:hours?|hrs?)/gi,
        (_, size: string) => ` ${size.charAt(0)}wh `,
      )
      .replace(/(?<![a-z])([km]) ?w[-_ .·*]{1,2}h(?:ours?|rs?)?(?![a-z0-9])/gi, ' $1wh ')
      .replace(/(?<![a-z])([km]?)wh ?\/ ?h(?![a-z])/gi, ' $1w ')
      // "kW/h" is written by those who mean kWh and by those who mean kW: it says neither.
      .replace(/(?<![a-z])[km]?w ?\/ ?h(?![a-z])/gi, ' ')
      .replace(/(?<![A-Za-z])(?:[kK][vV]|V)[aA][rR]?[hH]?(?![A-Za-z])/g, (unit) => ` ${unit.toLowerCase()} `)
      .replace(UNIT_TEXT, (unit) => ` ${unit.toLowerCase().replace(/(h)r?s?$/, '$1')} `)
      .replace(/([a-z])([A-Z])/g, '$1 $2')
      .toLowerCase()
      .replace(/off[- ]peak/g, 'offpeak')
      .replace(/[^\p{L}\p{M}\p{N}$]+/gu, ' ')
      .trim(),
  )
    .split(' ')
    .filter((word) => word !== '');
}

/** Money for a kWh, whatever stands around it: `EUR/MWh`, `ct per kWh`, `€/kWh`. */
const PRICE =
  /(?:\b(?:[a-z]{2} ?)?(?:eur|euros?|usd|gbp|aud|nzd|cad|chf|sek|nok|dkk|pln|ct|cts|cents?|rp|pence|p|kr)|[€$£¢])\s*(?:\/|per\b|je\b|pro\b|por\b|par\b)\s*[km]?wh/i;

/** Whether a text speaks of a price of energy, which is no energy. */
export function isPrice(text: string): boolean {
  return PRICE.test(text.slice(0, 200));
}

/** What a file holds that is no meter data, by the names of its columns; undefined where they don't say. */
export function otherThanMeter(names: readonly string[]): 'weather' | 'prices' | 'gas-or-water' | undefined {
  const words = names.map((name) => wordsOf(name).join(' '));
  const some = (form: RegExp) => words.some((text) => form.test(text));
  if (
    some(
      /\b(?:irradiance|perarea|ghi|dni|dhi|temp|temperature|humidity|weather|wind|cloud(?:s| cover)?|sunshine|rain|pressure)\b/,
    )
  )
    return 'weather';
  if (names.some(isPrice) || some(/\bprice\b/)) return 'prices';
  return some(/\bgas\b|\bwater\b|\btherms?\b|\bccf\b|\bm3\b|\bm³/) ? 'gas-or-water' : undefined;
}

/** Whether a text speaks of apparent or reactive energy or power, and names no unit of active. */
export function inactiveOf(text: string): Inactive | undefined {
  const words = wordsOf(text);
  if (words.some((word) => UNIT_WORDS[word] !== undefined)) return undefined;
  const plain = words.join(' ');
  return APPARENT.test(plain) ? 'apparent' : REACTIVE.test(plain) ? 'reactive' : undefined;
}

/** A text as a unit: ` KWH `, `Wh`. */
export function unitOf(text: string): Unit | undefined {
  if (isPrice(text)) return undefined;
  const words = wordsOf(text);
  return words.length <= 3 ? words.map((word) => UNIT_WORDS[word]).find((unit) => unit !== undefined) : undefined;
}

const EXPORT =
  /\bto (?:the )?grid\b|\bexport(?:s|ed)?\b|\bfeed ?in\b|\bfeedin\b|\bsold\b|\bsurplus\b|\breturn(?:ed)?\b|\binjection\b|\breceived?\b|\breverse\b|\bsell ?back\b|\bfed (?:back|in)\b/;
const IMPORT =
  /\bfrom (?:the )?grid\b|\bimport(?:s|ed)?\b|\bpurchase[ds]?\b|\bbought\b|\bdelivered\b|\bdelivery\b|\bsupplied\b|\bforward\b|\bgrid consumption\b/;
const SOLAR =
  /\bsolar\b(?! (?:sponge|soak)\b)|\bpv\b|\bgenerat(?:ion|ed|or)\b|\bproduc(?:tion|ed)\b|\byield\b|\bphotovoltaics?\b|^gg$/;
const LOAD = /\bload\b|\bhome\b|\bhouse(?:hold)?\b|\bbuilding\b|\bfacility\b|\bwhole\b/;
const USE =
  /\busage\b|\bconsum(?:ption|ed)?\b|\buse[ds]?\b|\bdemand\b|\benergy\b|\belectric(?:ity)?\b|\bgrid\b|\bpower\b|^gc$|^cl$/;
const COST = /\bcosts?\b|\bprice\b|\bamount\b|\bcharges?\b|\bbill(?:ed)?\b|\$|\busd\b|\baud\b|\bcredit\b/;
const OTHER =
  /\bperarea\b|\birradiance\b|\bselfuse\b|\bprevious\b|\blast year\b|\bprior year\b|\bneighbou?rs?\b|\bforecast(?:ed)?\b|\bpredicted\b|\bghi\b|\bdni\b|\btemp(?:erature)?\b|\bweather\b|\bhumidity\b|\baccount\b|\baddress\b|\bname\b|\bcustomer\b|\bgas\b|\btherms?\b|\bccf\b|\bwater\b|\bco2\b|\bcarbon\b|\bvoltage\b|\bvolts?\b|\bcurrent\b|\bamps?\b|\bfactor\b|\bk?varh?\b|\bkvah?\b|\bvah\b|\breactive\b|\bapparent\b|\brate\b|\btariff\b|\bpercent\b|\bsoc\b|\bfrequency\b|\bmax(?:imum)?\b|\bmin(?:imum)?\b/;
const APPARENT = /\bkvah?\b|\bvah\b|\bapparent\b/;
const REACTIVE = /\bk?varh?\b|\breactive\b/;
/** Units of heat, gas and water: a value in them is no kWh. */
const FOREIGN_UNIT = /\b(?:k|mm)?btu\b|\b[mg]j\b|\bkcal\b|\bm3\b|\bm³|\btherms?\b|\bccf\b|\bgal(?:lons?)?\b/;
const PART =
  /\b(solar (?:sponge|soak)|offpeak|on peak|peak|shoulder|day|night|high|low|super|tier ?\d|t[1-4]|tou ?\d|cl ?\d?)\b/;
const CIRCUIT = /\bcontrolled(?: load)?(?: [1-9]\b)?/;

/** Registers that have a number alone, as in Italy and Spain: so may circuits and phases. */
const NUMBERED = /\b(p[1-6]|f[123]|f23)\b/;

/**
 * A multiple of a unit: any number that a bracket, `x` or "in" joins to it, and tenths, tens and hundreds that stand before
 * it. Other numbers belong to what stands before them: `Register 2 kWh`, `Tier 1 (kWh)`.
 */
const MULTIPLE =
  /(?:[([{]\s*|\bin\s+|[x×*]\s*)(?!1\s)\d+(?:[.,]\d+)?\s*[x×*]?\s*[km]?wh?\b|(?:^|[\s_])(?:0[.,]0*[1-9]\d*|\d*[.,]\d+|10+)\s*[x×*]?\s*[km]?wh?\b/i;

/** Reads one header cell. Order matters: what holds no energy first, then direction, then mere use. */
export function readHeader(name: string): HeaderCell {
  const words = wordsOf(name);
  const text = words.join(' ');
  const unit = words.map((word) => UNIT_WORDS[word]).find((found) => found !== undefined);
  const multiple = unit !== undefined && MULTIPLE.test(name.slice(0, 200));
  const base = { words, ...(unit === undefined ? {} : { unit }), ...(multiple ? { multiple } : {}) };
  if (text === '') return base;
  if (/^(?:units?|uom|unit of measure)$/.test(text)) return { ...base, tells: 'unit' };
  if (
    /\b(?:quality|flag|status|notes?|comments?|estimated|estimate|read type|validated)\b/.test(text) &&
    unit === undefined
  )
    return { ...base, tells: 'quality' };
  if (
    /\b(?:meter|nmi|esi|service|point|serial|device|site|premise)\b/.test(text) &&
    /\b(?:number|no|id|identifier|nmi|serial|esiid|point|service|agreement|device|name)\b/.test(text)
  )
    return { ...base, tells: 'meter' };
  if (/^(?:nmi|esiid|meter|account)$/.test(text)) return { ...base, tells: 'meter' };
  if (/^(?:interval|interval length|length|resolution|granularity|duration|frequency|period length)$/.test(text))
    return { ...base, tells: 'length', time: 'plain' };
  if (
    /^(?:type|direction|channel|register|reg|flow|measure|measurement|stream|data|obis|description|commodity|kind|suffix|consumption)(?: ?(?:type|code|id|no|number|name|description|direction|category))?$/.test(
      text,
    ) &&
    !/^(?:data|consumption)$/.test(text)
  )
    return { ...base, tells: 'type' };
  if (
    /\b(?:flow direction|energy direction|reading type|usage type|energy type|service type|data stream|(?:nmi|register) suffix)\b/.test(
      text,
    )
  )
    return { ...base, tells: 'type' };
  if (isPrice(name) || (COST.test(text) && (unit === undefined || /\bprice\b/.test(text))))
    return { words, skip: 'cost' };
  if (/\bbattery\b|\bstorage\b|\bdischarge\b/.test(text)) return { ...base, skip: 'battery' };
  if (unit === undefined && FOREIGN_UNIT.test(text)) return { ...base, skip: 'other', foreign: true };
  if (OTHER.test(text)) {
    const inactive = inactiveOf(name);
    return { ...base, skip: 'other', ...(inactive === undefined ? {} : { inactive }) };
  }
  // An off-peak controlled load is a circuit, whenever it runs.
  const part = (CIRCUIT.exec(text)?.[0] ?? PART.exec(text)?.[1] ?? NUMBERED.exec(text)?.[1])?.trim();
  const cumulative =
    /\b(?:register read|meter reading|meter read|cumulative|index|odometer|counter|running total)\b/.test(text);
  const more = { ...(part === undefined ? {} : { part: namedPart(part) }), ...(cumulative ? { cumulative } : {}) };
  if (unit === undefined) {
    const date =
      /\bdate\b|\bday\b|\btimestamp\b|\bdatetime\b|\btime\b|\bhours?\b|\binterval\b|\bperiod\b|\bstart(?:s|ing)?\b|\bend(?:s|ing)?\b|\bfrom\b|\bto\b|\bbegin(?:s|ning)?\b|\bdatum\b|\bdate ?time\b|\bhe\b/;
    if (
      date.test(text) &&
      !IMPORT.test(text) &&
      !EXPORT.test(text) &&
      !SOLAR.test(text) &&
      !/\busage\b|\bconsum/.test(text)
    ) {
      if (/\bend(?:s|ing)?\b|\bto\b|\buntil\b|\bstop\b|\bfinish\b|\bhe\b/.test(text)) return { ...base, time: 'end' };
      if (/\bstart(?:s|ing)?\b|\bfrom\b|\bbegin(?:s|ning)?\b/.test(text)) return { ...base, time: 'start' };
      return { ...base, time: 'plain' };
    }
  }
  if (/\bnet\b/.test(text)) return { ...base, role: 'net', ...more };
  if (/\bcontrolled\b/.test(text)) return { ...base, role: 'import', weak: true, ...more };
  // "Received from grid" is import, "delivered to grid" export: the grid's side outweighs the verb.
  if (/\bfrom (?:the )?grid\b/.test(text)) return { ...base, role: 'import', ...more };
  if (EXPORT.test(text)) return { ...base, role: 'export', ...more };
  if (SOLAR.test(text)) return { ...base, role: 'solar', ...more };
  if (IMPORT.test(text)) return { ...base, role: 'import', ...more };
  if (LOAD.test(text)) return { ...base, role: 'load', ...more };
  if (USE.test(text)) return { ...base, role: 'import', weak: true, ...more };
  if (unit !== undefined || cumulative) return { ...base, role: 'import', weak: true, ...more };
  return { ...base, ...more };
}

const SAFE_WORDS = new Set(
  'kwh wh mwh kw mw w watts usage use used consumption consumed energy electricity electric import imports imported export exports exported delivered received delivery net grid to from the solar pv generation generated production produced load home house household total facility gross value reading read register meter interval power demand demands peak offpeak on off shoulder day night high low tier controlled feed in feedin sold surplus returned forward reverse hourly gc gg cl channel rate tariff general date time start end units type data first second third sponge soak 1 2 3 4 kva kvah kvarh apparent reactive active and of'.split(
    ' ',
  ),
);

/**
 * A column as messages may name it. The name is printed only where every word of it is one that meter
 * files use, so that no customer's name or number reaches a message.
 */
export function showColumn(index: number, name: string | undefined): string {
  const safe =
    name !== undefined &&
    name.trim() !== '' &&
    name.length <= 60 &&
    !hasLongNumber(name) &&
    wordsOf(name).every((word) => SAFE_WORDS.has(word));
  return safe ? `column ${index + 1} "${visible(name.trim().replace(/\s+/g, ' '))}"` : `column ${index + 1}`;
}

/** Whether a text holds nothing but words of meter files and short numbers, so that a message may print it. */
export function isSafeText(text: string): boolean {
  return (
    text.length <= 30 &&
    !hasLongNumber(text) &&
    /^[\p{L}\p{N} ()/+._-]*$/u.test(text) &&
    wordsOf(text).every((word) => SAFE_WORDS.has(word) || /^(?:[a-z]?\d{1,2}|[a-z])$/.test(word))
  );
}

/** Whether the words of a text speak of use. */
export function isUseText(words: string): boolean {
  return USE.test(words);
}

/** What a cell of a type column, or a banner between blocks, says about the rows it stands for. */
export function directionOf(text: string): Role | 'gas' | undefined {
  const words = wordsOf(text).join(' ');
  if (/\bgas\b|\btherms?\b|\bwater\b/.test(words)) return 'gas';
  if (/\bnet\b/.test(words)) return 'net';
  if (/\bfrom (?:the )?grid\b/.test(words)) return 'import';
  if (EXPORT.test(words)) return 'export';
  if (SOLAR.test(words)) return 'solar';
  if (IMPORT.test(words)) return 'import';
  // A controlled load is a circuit with a register of its own, not what the whole home uses.
  if (LOAD.test(words) && !/\bcontrolled\b/.test(words)) return 'load';
  return undefined;
}
