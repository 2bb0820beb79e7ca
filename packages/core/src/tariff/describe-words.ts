import { monthsInWords } from '../input/months.ts';
import { MONTHS } from '../words/figures.ts';
import { MOST_NOTE, quoteName, quoteNames } from '../words/quote.ts';
import { holidaySets } from './resolve/holiday-sets.ts';
import type { Block, EventRule, Pricing, Rates, Tariff, WindowRule } from './tariff.ts';
import { asList, CHARGE_KINDS } from './vocabulary.ts';

/** Of a table's row: more stretches of one price than this are told by the least and the most, and by the picture. */
const MOST_STRETCHES = 8;

type Written = Rates['written'];
type WrittenPricing = Pick<NonNullable<Written['energy']>[number], 'windows' | 'table' | 'byWindow'>;
type WrittenHoliday = NonNullable<Written['holidays']>[number];

/** What one version of a tariff says, in plain sentences by subject. Every field that the file may have is told. */
export function sectionsOf(tariff: Tariff, rates: Rates): { title: string; lines: string[] }[] {
  const { written } = rates;
  const sections: { title: string; lines: string[] }[] = [];
  const add = (title: string, lines: readonly (string | undefined)[]) => {
    const said = lines.filter((line): line is string => line !== undefined);
    if (said.length > 0) sections.push({ title, lines: said });
  };
  const seasonsOf = (mask: number) =>
    rates.seasonNames.length < 2 || rates.seasonNames.every((_, s) => (mask >> s) & 1)
      ? ''
      : ` in ${quoteNames(
          rates.seasonNames.filter((_, s) => (mask >> s) & 1),
          ' and ',
        )}`;
  const { notes } = tariff.document;
  add('Notes', notes === undefined ? [] : [notes].flat().map((note) => quoteName(note.replace(/\.$/, ''), MOST_NOTE)));
  add('Seasons', (written.seasons ?? []).map(seasonWords));
  add('Holidays', (written.holidays ?? []).map(holidayWords));
  add('Energy', [
    ...windowLines(written.windows ?? [], rates.windows),
    ...rates.energy.flatMap((charge, c) => [
      `${quoteName(charge.name)}${supplierWords(charge)}: ${pricingWords(charge.pricing, written.energy?.[c] ?? {})}${seasonsOf(charge.seasonMask)}${inWindowsWords(written.energy?.[c]?.inWindows)}` +
        `${charge.nonBypassable ? ', on all import even where the rest is netted' : ''}${programmeWords(charge.programme)}`,
      ...tableLines(charge.name, written.energy?.[c]?.table),
    ]),
    ...rates.baselines.map(
      (baseline) =>
        `Baseline${baseline.zone === undefined ? '' : ` in zone ${quoteName(baseline.zone)}`}: ${baseline.kwhPerDay} kWh a day${seasonsOf(baseline.seasonMask)}`,
    ),
    ...rates.events.map((event, e) => {
      const { from, to, dates = [] } = written.events?.[e] ?? {};
      const effect =
        event.effect.kind === 'rebate'
          ? `pays ${event.effect.pricePerKwh} for each kWh below usual${usualWords(event.effect)}`
          : event.effect.kind === 'price'
            ? `${event.effect.pricePerKwh} a kWh instead`
            : `${event.effect.pricePerKwh} a kWh on top`;
      return `${quoteName(event.name)}: ${from} to ${to} on ${datesWords(dates)}, ${effect}`;
    }),
    tariff.document.unusualPrices
      ? 'The file says that its prices per kWh are right, though they are unusual'
      : undefined,
  ]);
  add(
    'Power',
    rates.demand.map((charge, c) => {
      const stated = written.demand?.[c];
      const measure =
        charge.highestDays === 1
          ? `the highest ${charge.averagingMinutes} minutes`
          : `the mean of the highest ${charge.averagingMinutes} minutes of the ${charge.highestDays} highest days`;
      const price =
        charge.steps === undefined
          ? `${charge.pricePerKw} a ${charge.unit}${charge.per === 'day' ? ' and day' : ''}`
          : `a fee by class: ${charge.steps.map((s) => (s.upToKw === Number.POSITIVE_INFINITY ? `${s.amount} above` : `${s.amount} to ${s.upToKw} kW`)).join(', ')}`;
      const ratchet =
        charge.ratchet === undefined
          ? ''
          : `, at least ${charge.ratchet.share * 100} % of the highest of ${charge.ratchet.months} bills before${seasonsOf(charge.ratchet.seasonMask)}`;
      const least = [
        charge.minimumKw > 0 ? `, ${charge.minimumKw} ${charge.unit} at least` : '',
        charge.contractShare > 0 ? `, at least ${charge.contractShare * 100} % of the contracted power` : '',
      ].join('');
      const hours = stated === undefined ? '' : hoursWords(stated);
      return (
        `${quoteName(charge.name)}${supplierWords(charge)}: ${price} on ${measure}` +
        `${hours === '' ? '' : `, ${hours}`}${inWindowsWords(stated?.inWindows)}${least}${ratchet}`
      );
    }),
  );
  add(
    'Fixed',
    rates.fixed.map((charge) => {
      const amount =
        charge.bySize === undefined
          ? String(charge.amount)
          : charge.bySize
              .map((s) =>
                s.upToAmps === Number.POSITIVE_INFINITY ? `${s.amount} above` : `${s.amount} to ${s.upToAmps} A`,
              )
              .join(', ');
      return `${quoteName(charge.name)}${supplierWords(charge)}: ${amount} a ${charge.per === 'kva-month' ? 'kVA and month' : charge.per}${seasonsOf(charge.seasonMask)}${programmeWords(charge.programme)}`;
    }),
  );
  add(
    'For using so much',
    (written.usageCredits ?? []).map((credit) => {
      const { amount, leastKwh, belowKwh } = credit;
      const range =
        belowKwh === undefined
          ? `${leastKwh} kWh or more`
          : leastKwh === 0
            ? `less than ${belowKwh} kWh`
            : `${leastKwh} kWh or more, and less than ${belowKwh} kWh`;
      const effect = amount < 0 ? `${-amount} on top of` : `${amount} off`;
      return `${quoteName(credit.name)}${supplierWords(credit)}: ${effect} each bill on which ${range} are bought`;
    }),
  );
  add('Export', [
    exportWords(rates),
    ...(rates.export.kind === 'none'
      ? []
      : tableLines(rates.export.name, (written.export as WrittenPricing | undefined)?.table)),
  ]);
  add('On top', [
    ...rates.adjustments.map(
      (rule) => `${quoteName(rule.name)}: ${rule.percent} % on ${linesWords(rule.on)}${programmeWords(rule.programme)}`,
    ),
    rates.minimumBill === undefined
      ? undefined
      : `${quoteName(rates.minimumBill.name)}: ${linesWords(rates.minimumBill.on)} come to ${rates.minimumBill.amount} a ${rates.minimumBill.per} at least`,
    ...rates.taxes.map(
      (rule) => `${quoteName(rule.name)}: ${rule.percent} % on ${linesWords(rule.on)}${programmeWords(rule.programme)}`,
    ),
    roundingWords(tariff),
  ]);
  add('Bills', [billingWords(tariff)]);
  const { life } = tariff;
  add('Its life', [
    life.closedFrom === undefined ? undefined : `Closed to new customers from ${life.closedFrom}`,
    life.endsOn === undefined
      ? undefined
      : `Ends on ${life.endsOn}${life.successor === undefined ? '' : `; ${quoteName(life.successor)} follows`}${life.successorFile === undefined ? '' : `, as its file ${quoteName(life.successorFile)} says`}`,
    life.lockInMonths === undefined ? undefined : `Who comes stays ${life.lockInMonths} months at least`,
    life.earliestSwitch === undefined ? undefined : `Its customers may leave from ${life.earliestSwitch}`,
    life.billProtectionMonths === undefined
      ? undefined
      : `Bills are protected for the first ${life.billProtectionMonths} months: what they cost above the former tariff is credited`,
    ...(life.eligibility ?? []).map((text) => quoteName(text, MOST_NOTE)),
  ]);
  return sections;
}

/** Kinds of lines as they are, and lines by their names. */
function linesWords(on: readonly string[]): string {
  const kinds: readonly string[] = ['all', ...CHARGE_KINDS];
  return on.map((each) => (kinds.includes(each) ? each : quoteName(each))).join(', ');
}

function supplierWords({ supplier }: { readonly supplier?: string | undefined }): string {
  return supplier === undefined ? '' : ` (${quoteName(supplier)})`;
}

function programmeWords(programme: string | undefined): string {
  return programme === undefined ? '' : `, for homes in ${quoteName(programme)}`;
}

// ── days and hours ───────────────────────────────────────────────────────────────────────────────────────────────

/** "06-01" as "1 Jun". */
function dayWords(monthDay: string): string {
  return `${Number(monthDay.slice(3))} ${MONTHS[Number(monthDay.slice(0, 2)) - 1]}`;
}

const monthsWords = (stated: number | readonly number[]) => monthsInWords([stated].flat());

function seasonWords({ name, from, to, months }: NonNullable<Written['seasons']>[number]): string {
  return months === undefined
    ? `${quoteName(name)}: ${dayWords(from!)} to ${dayWords(to!)}`
    : `${quoteName(name)}: ${monthsWords(months)}`;
}

const capital = (word: string) => word.charAt(0).toUpperCase() + word.slice(1);

const KEPT = {
  none: '',
  'nearest-weekday': ', a Saturday’s kept on Friday and a Sunday’s on Monday',
  'sunday-to-monday': ', a Sunday’s kept on Monday',
  'next-weekday': ', a weekend’s kept on the next weekday that is no holiday',
};

const NTH = ['first', 'second', 'third', 'fourth', 'fifth'];

function holidayWords(holiday: WrittenHoliday): string {
  if (typeof holiday === 'string')
    return `The list "${holiday}": ${holidaySets[holiday].map((h) => h.name).join(', ')}`;
  const { name, since, until } = holiday;
  const years =
    since === undefined && until === undefined
      ? ''
      : `, ${since === undefined ? '' : `from ${since}`}${until === undefined ? '' : `${since === undefined ? '' : ' '}until ${until}`}`;
  return `${quoteName(name)}: ${holidayDate(holiday)}${years}`;
}

function holidayDate(holiday: Exclude<WrittenHoliday, string>): string {
  if ('date' in holiday) return `${dayWords(holiday.date)}${KEPT[holiday.observed]}`;
  if ('nth' in holiday) {
    const which = holiday.nth < 0 ? 'last' : NTH[holiday.nth - 1]!;
    return `the ${which} ${capital(holiday.weekday)} of ${MONTHS[holiday.month - 1]}`;
  }
  if ('onOrBefore' in holiday)
    return `the last ${capital(holiday.weekday)} on or before ${dayWords(holiday.onOrBefore)}`;
  if ('onOrAfter' in holiday) return `the first ${capital(holiday.weekday)} on or after ${dayWords(holiday.onOrAfter)}`;
  if ('daysAfterEaster' in holiday) {
    const { daysAfterEaster: days, church } = holiday;
    const away = `${Math.abs(days)} day${Math.abs(days) === 1 ? '' : 's'}`;
    const day = days === 0 ? 'Easter Sunday' : `${away} ${days < 0 ? 'before' : 'after'} Easter Sunday`;
    return church === 'orthodox' ? `${day} of the Orthodox church` : day;
  }
  return datesWords(holiday.dates);
}

/** Dates of an event or a holiday, the first dozen. */
function datesWords(dates: readonly string[]): string {
  const told = dates.slice(0, 12).join(', ');
  return dates.length > 12 ? `${told} and ${dates.length - 12} more dates` : told;
}

/** The hours that a window or a charge states. */
interface StatedHours {
  readonly seasons?: string | readonly string[];
  readonly months?: number | readonly number[];
  readonly days?: string | readonly string[];
  readonly from?: string;
  readonly to?: string;
  readonly daysOf?: 'clock' | 'start';
}

function hoursWords({ seasons, months, days, from, to, daysOf }: StatedHours, rest?: string): string {
  const hours = rest !== undefined ? rest : from === undefined ? '' : `${from} to ${to}`;
  const when = [
    days === undefined ? undefined : [days].flat().join(', '),
    daysOf === 'start' ? 'by the day on which it began' : undefined,
    seasons === undefined ? undefined : quoteNames([seasons].flat()),
    months === undefined ? undefined : monthsWords(months),
  ].filter((part) => part !== undefined);
  if (when.length === 0) return hours;
  return hours === '' ? when.join('; ') : `${hours} (${when.join('; ')})`;
}

interface StatedWindow extends StatedHours {
  readonly otherwise?: true;
  readonly kind?: string;
}

/** A window's name, hours, price, and how the battery is told to see it, where the file says. */
function windowLines(documents: readonly StatedWindow[], windows: readonly WindowRule[]): string[] {
  // Where no window states hours there are no others.
  const rest = documents.every(({ otherwise }) => otherwise) ? 'every hour' : 'all other hours';
  return documents.map((stated, w) => {
    const { name, pricePerKwh, blocks } = windows[w]!;
    const allDay = stated.otherwise === undefined && stated.from === undefined;
    const words = hoursWords(stated, stated.otherwise ? rest : undefined);
    const hours = !allDay ? words : words === '' ? 'all day' : `all day (${words})`;
    const price =
      blocks !== undefined ? `, ${blockWords(blocks)}` : pricePerKwh !== undefined ? `, ${pricePerKwh} a kWh` : '';
    return `${quoteName(name)}: ${hours}${price}${stated.kind === undefined ? '' : `; stated to be ${stated.kind}`}`;
  });
}

function inWindowsWords(names: string | readonly string[] | undefined): string {
  return names === undefined ? '' : `, in ${quoteNames([names].flat(), ' and ')} alone`;
}

/** What counts as usual for a rebate. */
function usualWords(effect: Extract<EventRule['effect'], { kind: 'rebate' }>): string {
  if (effect.baselineKwh !== undefined) return `, which is ${effect.baselineKwh} kWh in an event`;
  return effect.baselineDays === undefined ? '' : `, the mean of ${effect.baselineDays} days before`;
}

// ── prices ───────────────────────────────────────────────────────────────────────────────────────────────────────

/** The end of a block, as "60 kWh a month". */
export function blockEnd({ by, value }: NonNullable<Block['bound']>): string {
  return { month: `${value} kWh a month`, day: `${value} kWh a day`, baseline: `${value * 100} % of the baseline` }[by];
}

function blockWords(blocks: readonly Block[]): string {
  return blocks
    .map(({ bound, pricePerKwh }) =>
      bound === undefined ? `${pricePerKwh} above` : `${pricePerKwh} a kWh to ${blockEnd(bound)}`,
    )
    .join(', ');
}

function pricingWords(pricing: Pricing, written: WrittenPricing): string {
  switch (pricing.form) {
    case 'flat':
      return `${pricing.pricePerKwh} a kWh`;
    case 'by-window':
      return Object.entries(written.byWindow ?? {})
        .map(([window, price]) => `${price} a kWh in ${quoteName(window)}`)
        .join(', ');
    case 'windows':
      return windowLines(written.windows ?? [], pricing.windows).join('; ');
    case 'table':
      return 'by the hour';
    case 'blocks':
      return blockWords(pricing.blocks) + (pricing.resets === 'day' ? ', each day anew' : '');
    case 'series': {
      const known = pricing.known === 'day-ahead' ? 'the day before, from 13:00' : 'long before';
      return `the price series ${quoteName(pricing.file)}${pricing.multiplier === 1 ? '' : ` × ${pricing.multiplier}`}${pricing.adderPerKwh === 0 ? '' : ` + ${pricing.adderPerKwh}`}, known ${known} (the picture leaves it out)`;
    }
  }
}

/** The rows of a table of prices, each a sentence of its own. */
function tableLines(name: string, table: WrittenPricing['table']): string[] {
  return (table ?? []).map((row) => `${quoteName(name)}, ${tableRowWords(row)}`);
}

/** A row of a table of 24 prices: each stretch of hours with one price, as long as they are few. */
function tableRowWords({ months, days, pricesByHour }: NonNullable<WrittenPricing['table']>[number]): string {
  const when = [days === undefined ? undefined : asList(days).join(', '), months && monthsWords(months)].filter(
    (part) => part !== undefined,
  );
  const stretches: { from: number; to: number; price: number }[] = [];
  for (const [hour, price] of pricesByHour.entries()) {
    const last = stretches.at(-1);
    if (last !== undefined && last.price === price) last.to = hour + 1;
    else stretches.push({ from: hour, to: hour + 1, price });
  }
  const prices =
    stretches.length === 1
      ? `${stretches[0]!.price} at all hours`
      : stretches.length <= MOST_STRETCHES
        ? stretches.map(({ from, to, price }) => `${price} from ${from} to ${to} h`).join(', ')
        : `${Math.min(...pricesByHour)} to ${Math.max(...pricesByHour)}, as the picture shows`;
  return when.length === 0 ? prices : `${when.join('; ')}: ${prices}`;
}

function exportWords(rates: Rates): string {
  const rule = rates.export;
  const written = (rates.written.export ?? {}) as WrittenPricing;
  const limit = rule.limitKw === Number.POSITIVE_INFINITY ? '' : `; at most ${rule.limitKw} kW may be exported`;
  if (rule.kind === 'none') return `Exported energy earns nothing${limit}`;
  return `${quoteName(rule.name)}: ${earningWords(rule, written)}${limit}`;
}

function earningWords(rule: Exclude<Rates['export'], { kind: 'none' }>, written: WrittenPricing): string {
  if (rule.kind === 'buy-all')
    return `the home buys its whole load and sells all its solar, ${pricingWords(rule.pricing, written)}`;
  const until = rule.trueUpMonth === undefined ? '' : ` until the bill of ${MONTHS[rule.trueUpMonth - 1]}`;
  const paysFor = rule.offsets === 'all' ? 'the whole bill' : 'charges per kWh';
  const settled =
    rule.trueUpMonth === undefined
      ? ''
      : rule.settleShare === 0
        ? ', then it is lost'
        : `, then ${Number((rule.settleShare * 100).toPrecision(9))} % of it is paid out`;
  if (rule.kind === 'net-billing')
    return (
      `exported energy is credited, ${pricingWords(rule.pricing, written)}; ` +
      (rule.carry === 'none'
        ? 'credit beyond a bill’s charges is paid out'
        : `credit pays for ${paysFor}, and what is left of it carries over${until}${settled}`)
    );
  const within = rule.within === 'window' ? 'each window' : 'the billing period';
  const left = {
    none: `what is left earns ${rule.surplusPerKwh} a kWh`,
    kwh: `what is left carries over in kWh${until}${until === '' ? '' : `, then earns ${rule.surplusPerKwh} a kWh`}`,
    money: `what is left becomes credit at the retail price, which pays for ${paysFor} and carries over${until}${settled}`,
  }[rule.carry];
  return `export offsets import kWh by kWh within ${within}; ${left}`;
}

// ── bills ────────────────────────────────────────────────────────────────────────────────────────────────────────

function roundingWords({ rounding }: Tariff): string {
  const { at, mode, decimals, energyDecimals } = rounding;
  const where = { line: 'line by line', bill: 'once a bill', never: 'nowhere' }[at];
  const energy =
    energyDecimals === 6
      ? ''
      : energyDecimals === 0
        ? '; whole kWh are billed'
        : `; kWh are billed to ${energyDecimals} decimals`;
  return `Rounded ${where}, ${mode}, to ${decimals} decimals${energy}`;
}

/** Which days a bill holds, where the file says; and how monthly amounts are shared. */
function billingWords({ document: { billing } }: Tariff): string | undefined {
  if (billing === undefined) return undefined;
  const { by, day, dates, monthDays, monthDecimals } = billing;
  const periods =
    by === 'cycle-day'
      ? `A bill begins on day ${day} of each month`
      : by === 'read-dates'
        ? `Bills begin on ${datesWords(dates ?? [])}`
        : 'A bill is a calendar month';
  if (monthDays === undefined) return periods;
  const decimals = monthDecimals === undefined ? '' : `, rounded to ${monthDecimals} decimals`;
  return `${periods}; monthly amounts and blocks are scaled by days ÷ ${monthDays}${decimals}`;
}
