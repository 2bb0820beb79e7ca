import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { hold, none, type Strategy } from '../dispatch/index.ts';
import { type SavingsStretch, simplePayback } from '../economics/index.ts';
import { perYear, type Study, spanDays, type TariffSource } from '../site/index.ts';
import { coversYear } from '../site/inside.ts';
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

/** What the battery's plan is set against, where that isn't the same home on the same tariff. */
export interface Alternative {
  /** The home on the tariff that is best without a battery. */
  readonly study: Study;
  /** What the savings are against, in words. */
  readonly words: string;
}

/**
 * Payback over the tariff's life: each version, each scheduled successor and the time of bill protection with the savings
 * that it gives, the metered days replayed on it. Where a tariff ends and what follows isn't known, it stops there.
 *
 * @param strategies what may run the battery, as in the comparison
 * @param headline the comparison's own saving: taken for the stretches on which it rests
 * @param alternative what the home would do without a battery; the same tariff where it isn't given
 * @returns null without a price or a headline, where a medical circuit keeps the battery full with no sheet, or where the tariff has ended before the plan holds and nothing known follows
 */
export function paybackOf(
  study: Study,
  strategies: readonly Strategy[],
  headline: CompareReport['headline'],
  switching?: Switching,
  alternative?: Alternative,
): CompareReport['payback'] {
  const { economics } = study.site;
  if (economics === undefined || headline === null) return null;
  // Held full for a medical circuit by no sheet: nothing is earned that could come back.
  if (study.island.medical && strategies.find(({ name }) => name === headline.strategy) === hold) return null;
  const without = alternative?.study ?? study;
  const stretches = stretchesOf(study, without, strategies, headline, switching);
  const payback = simplePayback(economics, stretches, alternative?.words ?? againstWords(study));
  if (payback === undefined) return null;
  const { tariff, strategy } = payback.stretches[0]!;
  const { axis } = study.home;
  const scaled = coversYear(axis) ? '' : `, a year scaled from ${Math.round(spanDays(axis))} days`;
  return { ...payback, tariff, strategy, basis: `${payback.basis}${scaled}` };
}

/** What holds on a day, asked for day after day; undefined where a tariff has ended and what follows isn't known. */
function successionOf(
  study: Study,
  switching: Switching | undefined,
  firstDay: number,
): (day: number) => Held | undefined {
  const switched = switching !== undefined && switching.former.tariff !== study.tariff;
  const months = study.tariff.life.billProtectionMonths ?? 0;
  const protectedUntil = switched ? monthsLater(firstDay, months) - 1 : Number.NEGATIVE_INFINITY;
  const passed = new Set<string>();
  let source: TariffSource = { tariff: study.tariff, options: study.tariffOptions };
  return (day) => {
    for (;;) {
      const { endsOn } = source.tariff.life;
      const endDay = endsOn === undefined ? Number.POSITIVE_INFINITY : civilDayOfDate(endsOn);
      if (day <= endDay) {
        passed.clear();
        const isOwn = source.tariff === study.tariff;
        const former = day <= protectedUntil && isOwn ? switching?.former : undefined;
        const changes = [source, ...(former === undefined ? [] : [former])]
          .flatMap(({ tariff }) => tariff.versions.map((rates) => rates.fromDay - 1))
          .filter((last) => last >= day);
        const last = Math.min(endDay, ...changes, ...(former === undefined ? [] : [protectedUntil]));
        return { study, source, former, last, asCompared: former === undefined && isOwn && restsOnAxis(study, day) };
      }
      const next = successorOf(source, study.successors);
      // Tariffs that name each other and have all ended lead nowhere.
      if (next === undefined || passed.has(next.tariff.name)) return undefined;
      passed.add(next.tariff.name);
      source = next;
    }
  };
}

/** The tariff that holds from a day on. */
interface Held {
  readonly study: Study;
  readonly source: TariffSource;
  /** The tariff that bills are protected against. */
  readonly former: TariffSource | undefined;
  readonly last: number;
  /** Whether it is what the comparison was made on. */
  readonly asCompared: boolean;
}

function* stretchesOf(
  study: Study,
  without: Study,
  strategies: readonly Strategy[],
  headline: NonNullable<CompareReport['headline']>,
  switching: Switching | undefined,
): Generator<SavingsStretch> {
  let day = switching?.day ?? startDay(study);
  const planned = successionOf(study, switching, day);
  const otherwise = without === study ? planned : successionOf(without, switching, day);
  for (;;) {
    const held = planned(day);
    const instead = otherwise(day);
    if (held === undefined || instead === undefined) return;
    const last = Math.min(held.last, instead.last);
    const { strategy, savingsPerYear, cyclesPerYear } =
      held.asCompared && instead.asCompared ? headline : bestSaving(strategies, held, instead, day);
    const until = last === Number.POSITIVE_INFINITY ? null : formatDate(dateOfCivilDay(last));
    const from = formatDate(dateOfCivilDay(day));
    yield { from, until, tariff: held.source.tariff.name, strategy, savingsPerYear, cyclesPerYear };
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

/** What a strategy costs on the rates of a day, and its full cycles over the data. */
function costOn(
  { study, source, former }: Held,
  day: number,
): (strategy: Strategy) => { cost: number; cycles: number } {
  const tariff = compiledOn(study, source, day);
  const formerTariff = former === undefined ? undefined : compiledOn(study, former, day);
  // The limit that the home's tariff has today was there when it was metered; another one is new.
  const exportLimitKw =
    tariff.exportLimitKw === study.home.tariff.exportLimitKw
      ? study.home.service.exportLimitKw
      : Math.min(study.siteService.exportLimitKw, tariff.exportLimitKw);
  const home = withTariff(study.home, tariff, { ...study.home.service, exportLimitKw });
  const formerHome = formerTariff === undefined ? undefined : withTariff(home, formerTariff);
  return (strategy) => {
    const { flows, bill, energy, judged } = evaluate(home, strategy, ['flows', 'bill', 'energy', 'judged']);
    const billed = judged?.flows ?? flows;
    // What is protected never costs more than the same energy on the former tariff.
    const cost =
      formerHome === undefined ? bill.total : Math.min(bill.total, billOf(formerHome, billed, bill.startEnergy).total);
    return { cost, cycles: energy.equivalentFullCycles };
  };
}

/** What the battery saves a year on the rates of a day, run as what saves most of all that a home can run. */
function bestSaving(
  strategies: readonly Strategy[],
  held: Held,
  instead: Held,
  day: number,
): { strategy: string; savingsPerYear: number; cyclesPerYear: number } {
  const costWith = costOn(held, day);
  const without = (instead === held || instead.study === held.study ? costWith : costOn(instead, day))(none).cost;
  const rows = runnableOf(held.study, strategies).map((strategy) => ({
    strategy: strategy.name,
    ...costWith(strategy),
  }));
  const best = rows.reduce((least, row) => (row.cost < least.cost ? row : least));
  const scale = perYear(held.study.home.axis);
  return {
    strategy: best.strategy,
    savingsPerYear: (without - best.cost) * scale,
    cyclesPerYear: best.cycles * scale,
  };
}
