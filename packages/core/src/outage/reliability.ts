import { errorFunction } from 'simple-statistics';
import * as z from 'zod';
import { bySchema } from '../input/by-schema.ts';
import { check, list, number, record, rising, text } from '../input/door.ts';
import { fields } from '../input/index.ts';
import { amount } from '../plant/inside.ts';

/** An interruption: how many customers it hit and for how long. */
export interface Interruption {
  readonly customers: number;
  readonly minutes: number;
}

/** Indices of IEEE Std 1366 over a period. */
export interface ReliabilityIndices {
  /** Interruptions a customer served. */
  readonly saifi: number;
  /** Minutes of interruption a customer served. */
  readonly saidiMinutes: number;
  /** Minutes an interruption; null where there was none. */
  readonly caidiMinutes: number | null;
  /** Share of the time that service was there. */
  readonly asai: number;
}

/**
 * SAIFI, SAIDI, CAIDI and ASAI of sustained interruptions (IEEE 1366: longer than five minutes; the caller leaves
 * momentary ones out).
 *
 * @param customersServed all customers of the system
 * @throws InputError `out-of-range`
 * @param hours length of the period, h
 * @see IEEE Std 1366-2012, clause 3
 */
export function reliabilityIndices(
  interruptions: readonly Interruption[],
  customersServed: number,
  hours = 8760,
): ReliabilityIndices {
  check(
    { interruptions, customersServed, hours },
    {
      interruptions: list(record<Interruption>({ customers: number({ least: 0 }), minutes: number({ least: 0 }) })),
      customersServed: number({ least: 1 }),
      hours: number({ least: 1 }),
    },
  );
  let hit = 0;
  let customerMinutes = 0;
  for (const { customers, minutes } of interruptions) {
    hit += customers;
    customerMinutes += customers * minutes;
  }
  const saidiMinutes = customerMinutes / customersServed;
  return {
    saifi: hit / customersServed,
    saidiMinutes,
    caidiMinutes: hit > 0 ? customerMinutes / hit : null,
    asai: 1 - saidiMinutes / 60 / hours,
  };
}

/** The `reliability` section: the utility's own indices, and what an unserved kWh is worth. */
export const reliabilitySchema = fields({
  saifi: z.number().min(0).max(100).describe('Interruptions a year, major events included (SAIFI).'),
  caidiMinutes: z
    .number()
    .min(0.001)
    .max(100_000)
    .describe('Mean length of one, minutes, major events included (CAIDI).'),
  ordinarySaifi: z.number().min(0).max(100).optional().describe('SAIFI without major event days.'),
  ordinaryCaidiMinutes: z.number().min(0.001).max(100_000).optional().describe('CAIDI without major event days.'),
  source: z.string().min(1).max(200).optional().describe('Where the figures come from, with their year.'),
  valueOfLostLoadPerKwh: z
    .number()
    .min(0.001)
    .max(10_000)
    .optional()
    .describe('What one kWh of backed-up load not served is worth to the household, in the tariff’s currency.'),
}).superRefine((reliability, context) => {
  const { saifi, caidiMinutes, ordinarySaifi, ordinaryCaidiMinutes } = reliability;
  const report = (path: string, code: string, message: string) =>
    context.addIssue({ code: 'custom', path: [path], params: { code }, message });
  if ((ordinarySaifi === undefined) !== (ordinaryCaidiMinutes === undefined))
    report(
      ordinarySaifi === undefined ? 'ordinarySaifi' : 'ordinaryCaidiMinutes',
      'missing',
      'ordinarySaifi and ordinaryCaidiMinutes, both or neither',
    );
  else if (ordinarySaifi !== undefined && ordinarySaifi > saifi)
    report('ordinarySaifi', 'out-of-range', `at most saifi, ${saifi}`);
  else if (ordinarySaifi !== undefined) {
    // What major events have is the difference of both: neither minutes without an interruption, nor one without minutes.
    const all = saifi * caidiMinutes;
    const major = all - ordinarySaifi * ordinaryCaidiMinutes!;
    if (ordinarySaifi < saifi && major <= 1e-9 * all)
      report('ordinaryCaidiMinutes', 'contradiction', 'fewer minutes a year without major events than with them');
    else if (ordinarySaifi === saifi && Math.abs(major) > 1e-9 * all)
      report(
        'ordinaryCaidiMinutes',
        'contradiction',
        `caidiMinutes, ${caidiMinutes}: there are as many interruptions without major events as with them`,
      );
  }
});

/** The `reliability` section, checked. */
export type Reliability = z.output<typeof reliabilitySchema>;

/** United States averages of 2023 by the IEEE method: EIA, Electric Power Annual, table 11.1. */
export const US_AVERAGE_2023: Reliability = {
  saifi: 1.348,
  caidiMinutes: 271.8,
  ordinarySaifi: 1.022,
  ordinaryCaidiMinutes: 121.3,
  source: 'US average of 2023, EIA Electric Power Annual table 11.1; not this utility’s',
};

/**
 * Zones of the states, with the names that the tz database keeps for them in its file `backward` (2025b): zone.tab's under US, and
 * all that links to one of them. Of `EST5EDT` and its like nobody knows the country.
 */
const STATE_ZONES =
  /^(US\/(?!Samoa$)|America\/(Kentucky\/|Indiana\/|North_Dakota\/|(New_York|Detroit|Chicago|Menominee|Denver|Boise|Phoenix|Los_Angeles|Anchorage|Juneau|Sitka|Metlakatla|Yakutat|Nome|Adak|Atka|Shiprock|Fort_Wayne|Indianapolis|Knox_IN|Louisville)$)|(Navajo|Pacific\/Honolulu)$)/;

/** The same of the territories that people live in: zone.tab's under PR, VI, GU, MP and AS. */
const TERRITORY_ZONES = /^(America\/(Puerto_Rico|St_Thomas|Virgin)|Pacific\/(Guam|Saipan|Pago_Pago|Samoa)|US\/Samoa)$/;

/**
 * Whose rules are cited for a home in a zone: those of the United States there, in its territories too, else none but the local
 * ones; these as well where the zone doesn't tell.
 */
export function rulesOf(zone: string): 'us' | 'local' {
  return STATE_ZONES.test(zone) || TERRITORY_ZONES.test(zone) ? 'us' : 'local';
}

/**
 * What is published of the country that a zone lies in, where a site states no figures of its utility; nothing where the
 * country isn't known from the zone, or no figures of it are held here: the averages are of the states alone.
 */
export function publishedReliability(zone: string): Reliability | undefined {
  return STATE_ZONES.test(zone) ? US_AVERAGE_2023 : undefined;
}

/** A kind of outage: so many a year, lengths lognormal. */
export interface OutageKind {
  readonly name: string;
  readonly perYear: number;
  readonly meanHours: number;
  /** Standard deviation of the length's logarithm. */
  readonly sigma: number;
}

const aKind = record<OutageKind>({
  name: text,
  perYear: amount,
  meanHours: number({ above: 0 }),
  sigma: number({ above: 0, most: 100 }),
});

/** Spread of lengths: one kind alone must cover storms too. Assumed; see docs/concepts/outage.md. */
const SIGMA_ALL = 1.5;
const SIGMA_KIND = 1;

/**
 * Outages as one or two lognormal kinds whose mean lengths are the published ones. With the figures without major events
 * given, what is left of frequency and minutes makes a second kind: rare and long, which a mean hides.
 *
 * @throws InputError on what the site file may not hold
 */
export function outageKinds(reliability: Reliability): OutageKind[] {
  check({ reliability }, { reliability: bySchema(reliabilitySchema) });
  const { saifi, caidiMinutes, ordinarySaifi, ordinaryCaidiMinutes } = reliability;
  if (ordinarySaifi === undefined || ordinaryCaidiMinutes === undefined)
    return [{ name: 'all outages', perYear: saifi, meanHours: caidiMinutes / 60, sigma: SIGMA_ALL }];
  const kinds: OutageKind[] = [
    { name: 'ordinary outages', perYear: ordinarySaifi, meanHours: ordinaryCaidiMinutes / 60, sigma: SIGMA_KIND },
  ];
  const perYear = saifi - ordinarySaifi;
  const minutes = saifi * caidiMinutes - ordinarySaifi * ordinaryCaidiMinutes;
  if (perYear > 0) kinds.push({ name: 'major events', perYear, meanHours: minutes / perYear / 60, sigma: SIGMA_KIND });
  return kinds;
}

/**
 * Probability that an outage of a kind lasts longer than so many hours.
 * @throws InputError `out-of-range`
 */
export function lastsLonger(kind: OutageKind, hours: number): number {
  check({ kind, hours }, { kind: aKind, hours: number({ infinite: true }) });
  if (hours <= 0) return 1;
  return 1 - normalCdf((Math.log(hours) - logMean(kind)) / kind.sigma);
}

/**
 * Mean of the outage's length, cut at so many hours: the integral of {@link lastsLonger} from 0.
 * @throws InputError `out-of-range`
 */
export function meanLengthUpTo(kind: OutageKind, hours: number): number {
  check({ kind, hours }, { kind: aKind, hours: number() });
  if (hours <= 0) return 0;
  const z = (Math.log(hours) - logMean(kind)) / kind.sigma;
  return kind.meanHours * normalCdf(z - kind.sigma) + hours * (1 - normalCdf(z));
}

function logMean(kind: OutageKind): number {
  return Math.log(kind.meanHours) - kind.sigma ** 2 / 2;
}

function normalCdf(z: number): number {
  return (1 + errorFunction(z / Math.SQRT2)) / 2;
}

/** Mean energy not served in an outage, by its length: rising, the first point (0, 0), straight lines between. */
export interface UnservedCurve {
  readonly hours: readonly number[];
  readonly kwh: readonly number[];
}

const anUnservedCurve = record<UnservedCurve>({ hours: list(amount), kwh: list(amount) });

/**
 * Expected energy not served in a year, kWh: how often × the mean over lengths of what is missing in one. Outages are
 * taken to start at any hour with the same chance. Beyond the curve's last point it goes on at its last slope.
 *
 * With U the curve and S the chance to last longer, `E U = ∫ U'(t) S(t) dt`, a sum over the curve's straight pieces.
 *
 * @throws InputError on lengths that don’t rise, and a curve with other than one energy a length
 */
export function expectedUnservedKwhPerYear(kinds: readonly OutageKind[], curve: UnservedCurve): number {
  check({ kinds, curve }, { kinds: list(aKind), curve: anUnservedCurve });
  check(curve, { hours: rising, kwh: list(number(), { least: curve.hours.length, most: curve.hours.length }) });
  const { hours, kwh } = curve;
  let total = 0;
  for (const kind of kinds) {
    let mean = 0;
    let before = 0;
    let slope = 0;
    for (let j = 1; j < hours.length; j++) {
      const upTo = meanLengthUpTo(kind, hours[j]!);
      slope = (kwh[j]! - kwh[j - 1]!) / (hours[j]! - hours[j - 1]!);
      mean += slope * (upTo - before);
      before = upTo;
    }
    mean += slope * (kind.meanHours - before);
    total += kind.perYear * mean;
  }
  return total;
}
