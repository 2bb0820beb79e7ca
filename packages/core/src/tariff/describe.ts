import { aDate, civilDayOfDate } from '../axis/civil-day.ts';
import { civilDayOf, dateOfCivilDay, formatDate, makeAxis } from '../axis/index.ts';
import { check } from '../input/door.ts';
import type { Fact } from '../words/fact.ts';
import type { Account } from './account.ts';
import { layTariff } from './compile.ts';
import { aTariff } from './parsed.ts';
import { type PriceSeries, seriesFiles } from './series.ts';
import type { Block, EventRule, Pricing, Rates, Tariff, WindowRule } from './tariff.ts';

/** A week of prices: `pricePerKwh[d][h]`, d 0 Monday … 6 Sunday, h half-hours from midnight. */
export interface PriceWeek {
  /** Import: what one more kWh costs, riders and taxes included, before blocks and other terms. Export: what it earns. */
  readonly flow: 'import' | 'export';
  readonly season: string;
  /** Months that have this week, 1 … 12. */
  readonly months: readonly number[];
  readonly pricePerKwh: readonly (readonly number[])[];
  /** The same before riders and taxes: the sum of what the file states. */
  readonly statedPerKwh: readonly (readonly number[])[];
  /** Name of the window of each half-hour. */
  readonly window: readonly (readonly string[])[];
}

/** What a tariff says, for people. */
export interface TariffDescription {
  readonly name: string;
  readonly utility: string | undefined;
  readonly currency: string;
  /** The version that holds on the day asked about. */
  readonly version: { readonly from: string | undefined; readonly note: string | undefined };
  /** Plain sentences, by subject. */
  readonly sections: readonly { readonly title: string; readonly lines: readonly string[] }[];
  readonly weeks: readonly PriceWeek[];
  /** Where the tariff's life was over by that day: its last day, and the tariff that followed, if that is known. */
  readonly ended: { readonly on: string; readonly successor: string | undefined } | undefined;
  /** What changes next after that day: a version, a season, the tariff's end. Undefined once it has ended. */
  readonly nextChange: { readonly date: string; readonly what: string } | undefined;
  readonly warnings: readonly Fact[];
}

/**
 * A tariff in plain words, as it holds on a day. After the tariff's last day: what its file would say if it still held.
 *
 * @param date "2026-03-31"
 * @throws InputError `not-a-date` | `not-parsed`
 */
export function describeTariff(tariff: Tariff, date: string): TariffDescription {
  check({ tariff, date }, { tariff: aTariff, date: aDate });
  const day = civilDayOfDate(date);
  const index = tariff.versions.filter((rates) => rates.fromDay <= day).length - 1;
  const rates = tariff.versions[index]!;
  const { weeks, warnings } = priceWeeks(tariff, index, day);
  const { endsOn, successor } = tariff.life;
  const ended = endsOn !== undefined && civilDayOfDate(endsOn) < day ? { on: endsOn, successor } : undefined;
  return {
    name: tariff.name,
    utility: tariff.utility,
    currency: tariff.currency,
    version: { from: tariff.document.versions?.[index - 1]?.from, note: rates.note },
    sections: sectionsOf(tariff, rates),
    weeks,
    ended,
    nextChange: ended === undefined ? nextChange(tariff, day) : undefined,
    warnings,
  };
}

/** An account that lets any tariff be laid out: prices per kWh don't depend on it. */
function anyAccount(tariff: Tariff): Account {
  const zone = tariff.versions.flatMap((rates) => rates.baselines.flatMap((b) => b.zone ?? []))[0];
  return { serviceAmps: 100, serviceKva: 10, contractKw: 0, ...(zone === undefined ? {} : { baselineZone: zone }) };
}

function priceWeeks(tariff: Tariff, version: number, day: number): Pick<TariffDescription, 'weeks' | 'warnings'> {
  const rates = tariff.versions[version]!;
  const alone: Tariff = {
    ...tariff,
    versions: [{ ...rates, fromDay: Number.NEGATIVE_INFINITY }],
    billing: { ...tariff.billing, rule: { by: 'calendar-month' } },
  };
  const { year } = dateOfCivilDay(day);
  const startEpochMs = Date.UTC(year, 0, 1);
  const days = civilDayOf(year + 1, 1, 1) - civilDayOf(year, 1, 1);
  const axis = makeAxis({ startEpochMs, stepMinutes: 30, intervals: days * 48, zone: 'Etc/UTC' });
  const zeros: PriceSeries = { startEpochMs, stepMinutes: 60, pricePerKwh: new Float64Array(days * 24) };
  const series = Object.fromEntries(seriesFiles(tariff).map((file) => [file, zeros]));
  const compiled = layTariff(alone, axis, { account: anyAccount(tariff), series });
  const bare: Tariff = { ...alone, versions: [{ ...alone.versions[0]!, adjustments: [], taxes: [] }] };
  const stated = layTariff(bare, axis, { account: anyAccount(tariff), series });
  const weeks: (PriceWeek & { months: number[] })[] = [];
  const { schedule } = compiled.plan!;
  const firstOf = (month: number, season: number, weekday: number) =>
    axis.calendar.days.find(
      (local, d) =>
        local.month === month &&
        schedule.daySeason[d] === season &&
        schedule.dayKind[d] === weekday &&
        !rates.events.some((event) => event.civilDays.includes(local.civilDay)),
    )?.firstInterval;
  for (const flow of ['import', 'export'] as const)
    for (const [season, name] of rates.seasonNames.entries())
      for (let month = 1; month <= 12; month++) {
        const firsts = Array.from({ length: 7 }, (_, weekday) => firstOf(month, season, weekday));
        if (firsts.includes(undefined)) continue;
        const field = flow === 'import' ? 'importPricePerKwh' : 'exportPricePerKwh';
        const half = <T>(read: (i: number) => T) =>
          firsts.map((first) => Array.from({ length: 48 }, (_, h) => read(first! + h)));
        const pricePerKwh = half((i) => compiled[field][i]!);
        const statedPerKwh = half((i) => stated[field][i]!);
        const window = half((i) => compiled.windows[compiled.window[i]!]!.name);
        const same = weeks.find(
          (known) =>
            known.flow === flow &&
            known.season === name &&
            JSON.stringify([known.pricePerKwh, known.window]) === JSON.stringify([pricePerKwh, window]),
        );
        if (same === undefined) weeks.push({ flow, season: name, months: [month], pricePerKwh, statedPerKwh, window });
        else same.months.push(month);
      }
  return { weeks, warnings: compiled.warnings.filter((warning) => warning.code !== 'window-edge-inside-step') };
}

function nextChange(tariff: Tariff, day: number): TariffDescription['nextChange'] {
  const changes: { day: number; what: string }[] = [];
  for (const version of tariff.document.versions ?? [])
    changes.push({
      day: civilDayOfDate(version.from),
      what: `a new version holds${version.note === undefined ? '' : `: ${version.note}`}`,
    });
  const { life } = tariff;
  if (life.endsOn !== undefined)
    changes.push({
      day: civilDayOfDate(life.endsOn) + 1,
      what: `the tariff has ended${life.successor === undefined ? '' : `; "${life.successor}" follows`}`,
    });
  if (life.closedFrom !== undefined)
    changes.push({ day: civilDayOfDate(life.closedFrom), what: 'it is closed to new customers' });
  if (life.earliestSwitch !== undefined)
    changes.push({ day: civilDayOfDate(life.earliestSwitch), what: 'its customers may leave it' });
  for (let next = day + 1; next <= day + 366; next++) {
    const seasonOn = (civilDay: number) => {
      const rates = tariff.versions[tariff.versions.filter((r) => r.fromDay <= civilDay).length - 1]!;
      const { month, dayOfMonth } = dateOfCivilDay(civilDay);
      return rates.seasonNames[rates.seasonOf[month * 32 + dayOfMonth]!]!;
    };
    if (seasonOn(next) !== seasonOn(next - 1)) {
      changes.push({ day: next, what: `the season "${seasonOn(next)}" begins` });
      break;
    }
  }
  const [first] = changes.filter((change) => change.day > day).sort((a, b) => a.day - b.day);
  return first === undefined ? undefined : { date: formatDate(dateOfCivilDay(first.day)), what: first.what };
}

// ── words ────────────────────────────────────────────────────────────────────────────────────────────────────────

function sectionsOf(tariff: Tariff, rates: Rates): TariffDescription['sections'] {
  const { written } = rates;
  const sections: { title: string; lines: string[] }[] = [];
  const add = (title: string, lines: readonly (string | undefined)[]) => {
    const said = lines.filter((line): line is string => line !== undefined);
    if (said.length > 0) sections.push({ title, lines: said });
  };
  const seasonsOf = (mask: number) =>
    rates.seasonNames.length < 2 || rates.seasonNames.every((_, s) => (mask >> s) & 1)
      ? ''
      : ` in ${rates.seasonNames.filter((_, s) => (mask >> s) & 1).join(' and ')}`;
  add('Energy', [
    ...(rates.windows.some((w) => w.pricePerKwh !== undefined || w.blocks !== undefined)
      ? windowLines(written.windows ?? [], rates.windows)
      : []),
    ...rates.energy.map(
      (charge, c) =>
        `${charge.name}${charge.supplier === undefined ? '' : ` (${charge.supplier})`}: ${pricingWords(charge.pricing)}${seasonsOf(charge.seasonMask)}${inWindowsWords(written.energy?.[c]?.inWindows)}` +
        `${charge.nonBypassable ? ', on all import even where the rest is netted' : ''}${programmeWords(charge.programme)}`,
    ),
    ...rates.baselines.map(
      (baseline) =>
        `Baseline${baseline.zone === undefined ? '' : ` in zone "${baseline.zone}"`}: ${baseline.kwhPerDay} kWh a day${seasonsOf(baseline.seasonMask)}`,
    ),
    ...rates.events.map((event, e) => {
      const { from, to, dates = [] } = written.events?.[e] ?? {};
      const effect =
        event.effect.kind === 'rebate'
          ? `pays ${event.effect.pricePerKwh} for each kWh below usual${usualWords(event.effect)}`
          : event.effect.kind === 'price'
            ? `${event.effect.pricePerKwh} a kWh instead`
            : `${event.effect.pricePerKwh} a kWh on top`;
      return `${event.name}: ${from} to ${to} on ${datesWords(dates)}, ${effect}`;
    }),
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
        `${charge.name}${charge.supplier === undefined ? '' : ` (${charge.supplier})`}: ${price} on ${measure}` +
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
      return `${charge.name}: ${amount} a ${charge.per === 'kva-month' ? 'kVA and month' : charge.per}${seasonsOf(charge.seasonMask)}${programmeWords(charge.programme)}`;
    }),
  );
  add('Export', [exportWords(rates)]);
  add('On top', [
    ...rates.adjustments.map(
      (rule) => `${rule.name}: ${rule.percent} % on ${rule.on.join(', ')}${programmeWords(rule.programme)}`,
    ),
    rates.minimumBill === undefined
      ? undefined
      : `${rates.minimumBill.name}: ${rates.minimumBill.on.join(', ')} come to ${rates.minimumBill.amount} a ${rates.minimumBill.per} at least`,
    ...rates.taxes.map((rule) => `${rule.name}: ${rule.percent} % on ${rule.on.join(', ')}`),
    `Rounded ${{ line: 'line by line', bill: 'once a bill', never: 'nowhere' }[tariff.rounding.at]}, ${tariff.rounding.mode}, to ${tariff.rounding.decimals} decimals`,
  ]);
  add('Bills', [billingWords(tariff)]);
  const { life } = tariff;
  add('Its life', [
    life.closedFrom === undefined ? undefined : `Closed to new customers from ${life.closedFrom}`,
    life.endsOn === undefined
      ? undefined
      : `Ends on ${life.endsOn}${life.successor === undefined ? '' : `; "${life.successor}" follows`}`,
    life.lockInMonths === undefined ? undefined : `Who comes stays ${life.lockInMonths} months at least`,
    life.earliestSwitch === undefined ? undefined : `Its customers may leave from ${life.earliestSwitch}`,
    life.billProtectionMonths === undefined
      ? undefined
      : `Bills are protected for the first ${life.billProtectionMonths} months: what they cost above the former tariff is credited`,
    ...(life.eligibility ?? []),
  ]);
  return sections;
}

function programmeWords(programme: string | undefined): string {
  return programme === undefined ? '' : `, for homes in "${programme}"`;
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

function hoursWords({ seasons, months, days, from, to, daysOf }: StatedHours, otherwise?: true): string {
  const hours = otherwise ? 'all other hours' : from === undefined ? '' : `${from} to ${to}`;
  const when = [
    days === undefined ? undefined : [days].flat().join(', '),
    daysOf === 'start' ? 'by the day on which it began' : undefined,
    seasons === undefined ? undefined : [seasons].flat().join(', '),
    months === undefined ? undefined : `months ${[months].flat().join(', ')}`,
  ].filter((part) => part !== undefined);
  if (when.length === 0) return hours;
  return hours === '' ? when.join('; ') : `${hours} (${when.join('; ')})`;
}

function windowLines(
  documents: readonly (StatedHours & { readonly otherwise?: true })[],
  windows: readonly WindowRule[],
): string[] {
  return windows.map((window, w) => {
    const stated = documents[w] ?? {};
    const allDay = stated.otherwise === undefined && stated.from === undefined;
    const words = hoursWords(stated, stated.otherwise);
    const hours = !allDay ? words : words === '' ? 'all day' : `all day (${words})`;
    const price = window.blocks === undefined ? `${window.pricePerKwh} a kWh` : blockWords(window.blocks);
    return `${window.name}: ${hours}, ${price}`;
  });
}

function inWindowsWords(names: string | readonly string[] | undefined): string {
  return names === undefined ? '' : `, in ${[names].flat().join(' and ')} alone`;
}

/** Dates of an event, the first dozen. */
function datesWords(dates: readonly string[]): string {
  const told = dates.slice(0, 12).join(', ');
  return dates.length > 12 ? `${told} and ${dates.length - 12} more dates` : told;
}

/** What counts as usual for a rebate. */
function usualWords(effect: Extract<EventRule['effect'], { kind: 'rebate' }>): string {
  if (effect.baselineKwh !== undefined) return `, which is ${effect.baselineKwh} kWh in an event`;
  return effect.baselineDays === undefined ? '' : `, the mean of ${effect.baselineDays} days before`;
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

function blockWords(blocks: readonly Block[]): string {
  return blocks
    .map(({ bound, pricePerKwh }) => {
      if (bound === undefined) return `${pricePerKwh} above`;
      const end = {
        month: `${bound.value} kWh a month`,
        day: `${bound.value} kWh a day`,
        baseline: `${bound.value * 100} % of the baseline`,
      }[bound.by];
      return `${pricePerKwh} a kWh to ${end}`;
    })
    .join(', ');
}

function pricingWords(pricing: Pricing): string {
  switch (pricing.form) {
    case 'flat':
      return `${pricing.pricePerKwh} a kWh`;
    case 'by-window':
      return `by window, ${Math.min(...pricing.pricePerKwh)} to ${Math.max(...pricing.pricePerKwh)} a kWh`;
    case 'windows':
      return pricing.windows
        .map((w) => `${w.blocks === undefined ? w.pricePerKwh : blockWords(w.blocks)} in "${w.name}"`)
        .join(', ');
    case 'table':
      return 'a price for each month, kind of day and hour';
    case 'blocks':
      return blockWords(pricing.blocks) + (pricing.resets === 'day' ? ', each day anew' : '');
    case 'series':
      return `the price series ${pricing.file}${pricing.multiplier === 1 ? '' : ` × ${pricing.multiplier}`}${pricing.adderPerKwh === 0 ? '' : ` + ${pricing.adderPerKwh}`} (the picture leaves it out)`;
  }
}

function exportWords(rates: Rates): string {
  const rule = rates.export;
  const limit = rule.limitKw === Number.POSITIVE_INFINITY ? '' : `; at most ${rule.limitKw} kW may be exported`;
  const until =
    'trueUpMonth' in rule && rule.trueUpMonth !== undefined ? ` until the bill of month ${rule.trueUpMonth}` : '';
  switch (rule.kind) {
    case 'none':
      return `Exported energy earns nothing${limit}`;
    case 'buy-all':
      return `The home buys its whole load and sells all its solar: ${pricingWords(rule.pricing)}${limit}`;
    case 'net-billing':
      return `Exported energy is credited: ${pricingWords(rule.pricing)}; credit beyond ${rule.offsets === 'all' ? 'the bill' : 'the charges per kWh'} ${rule.carry === 'none' ? 'is paid out' : `carries over${until}`}${limit}`;
    case 'net-metering':
      return (
        `Export offsets import kWh by kWh within ${rule.within === 'window' ? 'each window' : 'the billing period'}; ` +
        (rule.carry === 'none'
          ? `what is left earns ${rule.surplusPerKwh} a kWh`
          : `what is left carries over in ${rule.carry === 'kwh' ? 'kWh' : 'money'}${until}${rule.carry === 'kwh' ? `, then earns ${rule.surplusPerKwh} a kWh` : ''}`) +
        limit
      );
  }
}
