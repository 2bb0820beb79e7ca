import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { hold, none, type Strategy } from '../dispatch/index.ts';
import { type SavingsStretch, simplePayback } from '../economics/index.ts';
import { perYear, type Study, type TariffSource } from '../site/index.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import { layTariff } from '../tariff/inside.ts';
import { evaluate, withTariff } from '../trial/index.ts';
import { billOf } from '../trial/inside.ts';
import { againstWords } from './bills.ts';
import type { CompareReport } from './compare-schema.ts';
import { runnableOf } from './strategies.ts';

/** A switch of tariff that the payback starts with. */
export interface Switching {
  /** The civil day of the switch. */
  readonly day: number;
  /** The tariff that the home leaves: bill protection is reckoned against it. */
  readonly former: TariffSource;
}

/** The civil day from which the plan holds: the site's own, else the day after the data. */
export function startDay(study: Study): number {
  const { startsOn } = study.site;
  if (startsOn !== undefined) return civilDayOfDate(startsOn);
  const { days } = study.home.axis.calendar;
  return days[days.length - 1]!.civilDay + 1;
}

/** The tariff that follows another one by name, where it is known. */
export function successorOf({ tariff }: TariffSource, known: readonly TariffSource[]): TariffSource | undefined {
  const { successor } = tariff.life;
  return successor === undefined ? undefined : known.find((next) => next.tariff.name === successor);
}

/** The civil day so many months later; the month's last day where it has no such day. */
export function monthsLater(civilDay: number, months: number): number {
  const { year, month, dayOfMonth } = dateOfCivilDay(civilDay);
  const target = month - 1 + months;
  const date = new Date(Date.UTC(year, target + 1, 0));
  date.setUTCDate(Math.min(dayOfMonth, date.getUTCDate()));
  return date.getTime() / 86_400_000;
}

/**
 * Payback over the tariff's life: each version, each scheduled successor and the time of bill protection with the savings
 * that it gives, the metered days replayed on it. Where a tariff ends and what follows isn't known, it stops there.
 *
 * @param strategies what may run the battery, as in the comparison
 * @param headline the comparison's own saving: taken for the stretches on which it rests
 * @returns null without a price or a headline, where a medical circuit keeps the battery full with no sheet, or where the tariff has ended before the plan holds and nothing known follows
 */
export function paybackOf(
  study: Study,
  strategies: readonly Strategy[],
  headline: CompareReport['headline'],
  switching?: Switching,
): CompareReport['payback'] {
  const { economics } = study.site;
  if (economics === undefined || headline === null) return null;
  // Held full for a medical circuit by no sheet: nothing is earned that could come back.
  if (study.island.medical && strategies.find(({ name }) => name === headline.strategy) === hold) return null;
  const payback = simplePayback(economics, stretchesOf(study, strategies, headline, switching), againstWords(study));
  if (payback === undefined) return null;
  const { tariff, strategy } = payback.stretches[0]!;
  return { ...payback, tariff, strategy };
}

function* stretchesOf(
  study: Study,
  strategies: readonly Strategy[],
  headline: NonNullable<CompareReport['headline']>,
  switching: Switching | undefined,
): Generator<SavingsStretch> {
  let source: TariffSource = { tariff: study.tariff, options: study.tariffOptions };
  let day = switching?.day ?? startDay(study);
  const months = switching === undefined ? 0 : (study.tariff.life.billProtectionMonths ?? 0);
  const protectedUntil = monthsLater(day, months) - 1;
  const passed = new Set<string>();
  for (;;) {
    const { endsOn } = source.tariff.life;
    const endDay = endsOn === undefined ? Number.POSITIVE_INFINITY : civilDayOfDate(endsOn);
    if (day > endDay) {
      const next = successorOf(source, study.successors);
      // Tariffs that name each other and have all ended lead nowhere.
      if (next === undefined || passed.has(next.tariff.name)) return;
      passed.add(next.tariff.name);
      source = next;
      continue;
    }
    passed.clear();
    const former = day <= protectedUntil && source.tariff === study.tariff ? switching?.former : undefined;
    const changes = [source, ...(former === undefined ? [] : [former])]
      .flatMap(({ tariff }) => tariff.versions.map((rates) => rates.fromDay - 1))
      .filter((last) => last >= day);
    const last = Math.min(endDay, ...changes, ...(former === undefined ? [] : [protectedUntil]));
    const own = former === undefined && source.tariff === study.tariff && restsOnAxis(study, day);
    const { strategy, savingsPerYear } = own ? headline : bestSaving(study, strategies, source, day, former);
    const until = last === Number.POSITIVE_INFINITY ? null : formatDate(dateOfCivilDay(last));
    yield { from: formatDate(dateOfCivilDay(day)), until, tariff: source.tariff.name, strategy, savingsPerYear };
    if (until === null) return;
    day = last + 1;
  }
}

/** The version of a tariff that holds on a day. */
function ratesOn({ tariff }: TariffSource, day: number) {
  return tariff.versions.findLast((rates) => rates.fromDay <= day)!;
}

/** Whether the version that holds on a day holds all through the data, so that the comparison was made on it. */
function restsOnAxis(study: Study, day: number): boolean {
  const source = { tariff: study.tariff, options: study.tariffOptions };
  const { days } = study.home.axis.calendar;
  const rates = ratesOn(source, day);
  return rates === ratesOn(source, days[0]!.civilDay) && rates === ratesOn(source, days[days.length - 1]!.civilDay);
}

/** The whole of the data on the version that holds on a day. */
function compiledOn(study: Study, source: TariffSource, day: number): CompiledTariff {
  const versions = [{ ...ratesOn(source, day), fromDay: Number.NEGATIVE_INFINITY }];
  return layTariff({ ...source.tariff, versions }, study.home.axis, source.options);
}

/** What the battery saves a year on the rates of a day, run as what saves most of all that a home can run. */
function bestSaving(
  study: Study,
  strategies: readonly Strategy[],
  source: TariffSource,
  day: number,
  former: TariffSource | undefined,
): { strategy: string; savingsPerYear: number } {
  const tariff = compiledOn(study, source, day);
  const formerTariff = former === undefined ? undefined : compiledOn(study, former, day);
  // The limit that the home's tariff has today was there when it was metered; another one is new.
  const exportLimitKw =
    tariff.exportLimitKw === study.home.tariff.exportLimitKw
      ? study.home.service.exportLimitKw
      : Math.min(study.siteService.exportLimitKw, tariff.exportLimitKw);
  const home = withTariff(study.home, tariff, { ...study.home.service, exportLimitKw });
  const formerHome = formerTariff === undefined ? undefined : withTariff(home, formerTariff);
  // What is protected never costs more than the same energy on the former tariff.
  const cost = (strategy: Strategy) => {
    const { flows, bill } = evaluate(home, strategy, ['flows', 'bill']);
    if (formerHome === undefined) return bill.total;
    return Math.min(bill.total, billOf(formerHome, flows, bill.startEnergy).total);
  };
  const without = cost(none);
  const totals = runnableOf(study, strategies).map((strategy) => ({
    strategy: strategy.name,
    savings: without - cost(strategy),
  }));
  const best = totals.reduce((most, row) => (row.savings > most.savings ? row : most));
  return { strategy: best.strategy, savingsPerYear: best.savings * perYear(home.axis) };
}
