import { civilDayOfDate, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { aDate } from '../axis/inside.ts';
import { none } from '../dispatch/index.ts';
import { callable, check, list, optional, record } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { sameData } from '../input/same-data.ts';
import { perYear, type Study, type TariffSource } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import type { PeriodBill } from '../tariff/index.ts';
import { toCents } from '../tariff/inside.ts';
import { type Abort, evaluate, withLoad, withPlant } from '../trial/index.ts';
import { anAbort } from '../trial/inside.ts';
import { moneyText } from '../words/figures.ts';
import { MOST_NOTE, quoteName } from '../words/quote.ts';
import { onTariff } from '../words/study.ts';
import { meteredHome } from './bills.ts';
import { compare } from './compare.ts';
import type { CompareReport, StrategyResult } from './compare-schema.ts';
import { bestRunnable, headlineBasis } from './headline.ts';
import { costOfDays, ifNothingIsDone } from './later.ts';
import { type Alternative, monthsLater, paybackOf, startDay } from './payback.ts';
import { planFrom } from './planned.ts';
import { provenanceOfAll } from './provenance.ts';
import { axisPart } from './report-parts.ts';
import { refuseOtherHomes } from './same-home.ts';
import { stepsOf } from './steps.ts';
import { runnableOf, standardStrategies } from './strategies.ts';
import type { SwitchStep, TariffRow, TariffSwitch } from './tariff-switch-schema.ts';

/**
 * `compare` with several tariffs, as `--json` prints it: today's report, each row with its tariff, and the switch.
 * `headline` and `payback` are of the best pair of tariff and battery, against the best tariff without a battery.
 */
export interface TariffSwitchReport extends CompareReport {
  readonly tariffSwitch: TariffSwitch;
}

/** What {@link tariffSwitch} may be told. */
export interface TariffSwitchOptions {
  /** Called before each strategy runs, with the tariff that it runs on. */
  readonly onStrategy?: (name: string, tariff: string) => void;
  /** Today's date on the home's clock, as in `compare`. */
  readonly today?: string | undefined;
  /** Looked at before each run: `tariffSwitch` throws its reason once it is aborted. */
  readonly signal?: Abort | undefined;
}

/**
 * What switching tariffs gives, and what planned solar and a battery add on top: strategies × tariffs over the same past.
 *
 * @throws InputError `currency-differs` where a tariff is in another currency than today's; `axis-differs`, `home-differs` where a
 * study is of another home or another past than the first; `duplicate-name` where two tariffs have one name
 * @param choices the same home under each of the tariffs, its present one first: `savings` are against that one's bill
 */
export function tariffSwitch(choices: readonly Study[], options: TariffSwitchOptions = {}): TariffSwitchReport {
  check(
    { choices, options },
    {
      choices: list(aStudy, { least: 1 }),
      options: record<TariffSwitchOptions>({
        onStrategy: optional(callable),
        today: optional(aDate),
        signal: optional(anAbort),
      }),
    },
  );
  refuseAsunder(choices);
  const studies = choices.map((study) => ({ ...study, successors: [...study.successors, ...choices.map(sourceOf)] }));
  const today = studies[0]!;
  const switchDay = switchDayOf(today);
  const switchOn = formatDate(dateOfCivilDay(switchDay));
  const { currencyDecimals: decimals } = today.home.tariff;
  const runs = studies.map((study) => ownCompare(study, options));
  const reports = runs.map(({ report }) => report);
  const base = reports[0]!;
  const rows = studies.map((study, c) => rowOf(study, runs[c]!, today, switchOn));

  const best = cheapestOpen(rows);
  const open = rows.filter((row) => row.open);
  // With the battery the choice may be another one: what the payback is of.
  const withBattery = (row: TariffRow) => row.withBattery ?? Number.POSITIVE_INFINITY;
  const all = open.reduce((least, row) => (withBattery(row) < withBattery(least) ? row : least), best);
  const allIndex = rows.indexOf(all);
  const on = { tariff: best.tariff, strategy: null };
  const steps = stepsOf(
    [
      { step: 'today', tariff: rows[0]!.tariff, strategy: null, total: rows[0]!.withoutBattery },
      { step: 'best-tariff', ...on, total: best.withoutBattery },
      { step: 'planned-solar', ...on, total: best.withPlannedSolar ?? best.withoutBattery },
      ...(all.withBattery === null
        ? []
        : [{ step: 'battery' as const, tariff: all.tariff, strategy: all.strategy, total: all.withBattery }]),
    ],
    decimals,
  );
  const betterWithBattery =
    all === best || all.withBattery === null
      ? null
      : { tariff: all.tariff, strategy: all.strategy!, total: all.withBattery };
  const plain = open.reduce((least, row) => (plainBill(row) < plainBill(least) ? row : least), best);
  const alternative = all === plain ? undefined : alternativeOf(studies[rows.indexOf(plain)]!, rows.length);
  const chosen = studies[allIndex]!;
  const headline = headlineOfPair(
    chosen,
    runs[allIndex]!,
    runs[rows.indexOf(plain)]!,
    alternative,
    planFrom(today, options.today),
  );
  return {
    ...base,
    provenance: provenanceOfAll(reports.map((report) => report.provenance)),
    headline,
    payback:
      allIndex === 0 && alternative === undefined
        ? base.payback
        : paybackOf(
            chosen,
            standardStrategies(chosen),
            headline,
            { day: switchDay, former: sourceOf(today) },
            alternative,
          ),
    strategies: reports.flatMap((report) => report.strategies.map((row) => againstToday(row, base, today))),
    warnings: [...base.warnings, ...reports.slice(1).flatMap((report) => warningsOn(report, base))],
    tariffSwitch: {
      switchOn,
      ...todayOf(today),
      tariffs: [rows[0]!, ...rows.slice(1).sort((a, b) => a.withoutBattery - b.withoutBattery)],
      steps,
      betterWithBattery,
      runnerUp: runnerUpOf(studies, reports, rows, { tariff: all.tariff, strategy: all.strategy }, decimals),
      conclusion: conclusionOf({ steps, rows, best, betterWithBattery, switchOn }, today),
    },
  };
}

/** The first civil day on which the home can be on another tariff. */
export function switchDayOf(today: Study): number {
  const { earliestSwitch } = today.tariff.life;
  return Math.max(startDay(today), earliestSwitch === undefined ? 0 : civilDayOfDate(earliestSwitch));
}

/** The home's bills as they are, and what they come to later if nothing is done. */
export function todayOf(today: Study): Pick<TariffSwitch, 'today' | 'laterBasis'> {
  const later = ifNothingIsDone(today);
  const own = meteredBills(today);
  return {
    today: today.home.tariff.periods.map((period, p) => ({
      start: period.startDate,
      end: period.endDate,
      total: own[p]!.total,
      later: later.totals?.[p] ?? null,
    })),
    laterBasis: later.basis,
  };
}

/** Bill without a battery, planned solar in it where there is some. */
function plainBill(row: TariffRow): number {
  return row.withPlannedSolar ?? row.withoutBattery;
}

function alternativeOf(study: Study, tariffs: number): Alternative {
  const home = study.plannedSolar === undefined ? 'the home' : 'the home with its planned solar';
  const best = tariffs > 2 ? `the best of these ${tariffs} tariffs` : 'the better of the two tariffs';
  return { study, words: `${home} without a battery on ${quoteName(study.tariff.name)}, ${best} without one` };
}

/** What the best pair of tariff and battery saves against the best tariff without a battery. */
function headlineOfPair(
  study: Study,
  { report, battery }: OwnCompare,
  { plain }: OwnCompare,
  alternative: Alternative | undefined,
  today: string | undefined,
): CompareReport['headline'] {
  const { headline } = report;
  if (alternative === undefined || headline === null || battery === undefined) return headline;
  const savings = plain - battery.total;
  return {
    ...headline,
    savings,
    savingsPerYear: savings * perYear(study.home.axis),
    basis: headlineBasis(study, battery, alternative.words, today),
  };
}

/** The best of all other pairs of an open tariff and what a home can run; null where there is none. */
function runnerUpOf(
  studies: readonly Study[],
  reports: readonly CompareReport[],
  rows: readonly TariffRow[],
  best: { readonly tariff: string; readonly strategy: string | null },
  decimals: number,
): TariffSwitch['runnerUp'] {
  const pairs = reports.flatMap((report, k) => {
    const runnable = new Set(runnableOf(studies[k]!, standardStrategies(studies[k]!)).map(({ name }) => name));
    return rows[k]!.open ? report.strategies.filter((row) => row.savings !== null && runnable.has(row.strategy)) : [];
  });
  const others = pairs.filter((row) => row.tariff !== best.tariff || row.strategy !== best.strategy);
  if (others.length === 0) return null;
  const { tariff, strategy, bill } = others.reduce((least, row) => (row.bill.total < least.bill.total ? row : least));
  return { tariff, strategy, total: toCents(bill.total, decimals) };
}

export function sourceOf(study: Study): TariffSource {
  return { tariff: study.tariff, options: study.tariffOptions };
}

/** Refuses studies that can't be set side by side: of another currency, home, past, or of one tariff's name. */
export function refuseAsunder(studies: readonly Study[]): void {
  refuseOtherCurrencies(studies);
  refuseOtherHomes(studies);
}

/** Without a battery or planned solar: the cheapest tariff that the home may have, today's where none is open. */
export function cheapestOpen(rows: readonly TariffRow[]): TariffRow {
  const open = rows.filter((row) => row.open);
  return open.reduce((least, row) => (row.withoutBattery < least.withoutBattery ? row : least), open[0] ?? rows[0]!);
}

function refuseOtherCurrencies(studies: readonly Study[]): void {
  const { currency } = studies[0]!.tariff;
  const issues = studies
    .filter(({ tariff }) => tariff.currency !== currency)
    .map(({ tariff }) => ({
      code: 'currency-differs',
      where: { file: tariff.file, path: ['currency'] },
      received: tariff.currency,
      expected: `${currency}, the currency of ${quoteName(studies[0]!.tariff.name)}, which the home is on today`,
      hint: 'bills in two currencies can’t be set side by side: write the prices in the home’s own',
    }));
  if (issues.length > 0) throw new InputError(issues);
}

/** What is to be known of another tariff's results that isn't said of today's. */
export function warningsOn(
  { tariff, warnings }: Pick<CompareReport, 'tariff' | 'warnings'>,
  base: Pick<CompareReport, 'warnings'>,
): CompareReport['warnings'] {
  return warnings
    .filter(({ code, data }) => !base.warnings.some((known) => known.code === code && sameData(known.data, data)))
    .map((warning) =>
      // A fact whose data name the tariff has it in its sentence.
      warning.data.tariff === tariff
        ? warning
        : { ...warning, data: { ...warning.data, tariff }, message: onTariff(tariff, warning.message) },
    );
}

/** The comparison on one tariff, and what steps are made of. */
interface OwnCompare {
  readonly report: CompareReport;
  /** The home with its planned solar and no battery. */
  readonly plain: number;
  /** The headline's strategy, where savings are given. */
  readonly battery:
    | { readonly strategy: string; readonly total: number; readonly inSample: StrategyResult['inSample'] }
    | undefined;
}

function ownCompare(study: Study, { onStrategy, today, signal }: TariffSwitchOptions): OwnCompare {
  const report = compare(study, {
    today,
    signal,
    ...(onStrategy === undefined ? {} : { onStrategy: (name: string) => onStrategy(name, study.tariff.name) }),
  });
  const best = bestRunnable(report.strategies, study);
  return {
    report,
    plain: (report.plannedSolar ?? report.baseline).bill.total,
    battery:
      best === undefined ? undefined : { strategy: best.strategy, total: best.bill.total, inSample: best.inSample },
  };
}

/** Bills of each period of the home as metered, rounded as the tariff says. */
export function meteredBills(study: Study): readonly PeriodBill[] {
  return evaluate(meteredHome(study), none, ['lines']).lines.periods;
}

/** What a home that took and gave nothing would still pay. */
function unavoidableOf({ home }: Study): number {
  const nothing = new Float64Array(home.axis.intervals);
  // Without its battery it keeps nothing back for an outage.
  const bare = withPlant(home, { ...home.plant, floorKwh: 0, floorFromPast: false });
  return evaluate(withLoad(bare, nothing, nothing), none, ['lines']).lines.total;
}

function againstToday(row: StrategyResult, base: CompareReport, study: Study): StrategyResult {
  const savings = row.savings === null ? null : base.baseline.bill.total - row.bill.total;
  return { ...row, savings, savingsPerYear: savings === null ? null : savings * perYear(study.home.axis) };
}

/** What a tariff would cost the home. */
export function rowOf(
  study: Study,
  run: Pick<OwnCompare, 'plain' | 'battery'>,
  today: Study,
  switchOn: string,
): TariffRow {
  const isToday = study === today;
  const { tariff } = study.home;
  const { life } = study.tariff;
  const { battery } = run;
  const cents = (value: number) => toCents(value, tariff.currencyDecimals);
  const months = life.billProtectionMonths ?? 0;
  const { closedFrom, endsOn } = life;
  const gone = endsOn !== undefined && endsOn < switchOn;
  const closed = !isToday && closedFrom !== undefined && closedFrom <= switchOn;
  return {
    tariff: tariff.name,
    today: isToday,
    open: !gone && !closed,
    withoutBattery: cents(totalOf(meteredBills(study))),
    withPlannedSolar: study.plannedSolar === undefined ? null : cents(run.plain),
    withBattery: battery === undefined ? null : cents(battery.total),
    strategy: battery?.strategy ?? null,
    unavoidable: cents(unavoidableOf(study)),
    withProtection: isToday || months === 0 ? null : cents(protectedCost(study, today, months)),
    life: [
      ...(closedFrom === undefined ? [] : [`closed to new customers from ${closedFrom}`]),
      ...(isToday && life.earliestSwitch !== undefined ? [`may be left from ${life.earliestSwitch}`] : []),
      ...(!isToday && life.lockInMonths !== undefined ? [`binds for ${life.lockInMonths} months`] : []),
      ...(endsOn === undefined
        ? []
        : [`ends on ${endsOn}${life.successor === undefined ? '' : `, ${quoteName(life.successor)} follows`}`]),
      ...(months > 0 && !isToday
        ? [`protects bills for ${months} months: what they come to above today’s tariff is credited`]
        : []),
      ...(life.eligibility ?? []).map((line) => `who may have it: ${quoteName(line, MOST_NOTE)}`),
    ],
  };
}

/** What the data's time costs without a battery, protected for so many months from its first day. */
function protectedCost(study: Study, today: Study, months: number): number {
  const { axis } = study.home;
  const { days } = axis.calendar;
  const firstDay = days[0]!.civilDay;
  const lastDay = Math.min(monthsLater(firstDay, months) - 1, days[days.length - 1]!.civilDay);
  const own = meteredBills(study);
  const underProtection = costOfDays(own, axis, firstDay, lastDay);
  const former = costOfDays(meteredBills(today), axis, firstDay, lastDay);
  return totalOf(own) - Math.max(0, underProtection - former);
}

function totalOf(bills: readonly PeriodBill[]): number {
  return bills.reduce((total, bill) => total + bill.total, 0);
}

interface Answer {
  readonly steps: readonly SwitchStep[];
  readonly rows: readonly TariffRow[];
  readonly best: TariffRow;
  readonly betterWithBattery: TariffSwitch['betterWithBattery'];
  readonly switchOn: string;
}

/** The answer in one sentence. */
export function conclusionOf(
  { steps, rows, best, betterWithBattery, switchOn }: Answer,
  study: Study,
  withoutBattery = 'what a battery adds is withheld',
): string {
  const { currency, currencyDecimals: decimals } = study.home.tariff;
  const { isYear, perYear: factor, spanDays: days } = axisPart(study.home.axis);
  const scale = isYear ? factor : 1;
  const money = (value: number) => `${currency} ${moneyText(Math.abs(scale * value), decimals)}`;
  const span = isYear ? 'a year' : `over the data’s ${Math.round(days)} days`;
  const today = rows[0]!;
  const stays = best === today;
  const bound = study.tariff.life.earliestSwitch === switchOn ? `, possible from ${switchOn},` : '';
  const changeOf = (name: SwitchStep['step']) => steps.find((step) => step.step === name)?.change;
  const battery = changeOf('battery');
  const solar = best.withPlannedSolar === null ? undefined : changeOf('planned-solar');
  const plan = solar === undefined ? 'a battery' : 'planned solar and a battery';
  const gains = [
    ...(solar === undefined ? [] : [`planned solar ${solar <= 0 ? 'saves another' : 'costs'} ${money(solar)}`]),
    battery === undefined
      ? withoutBattery
      : battery === 0
        ? 'a battery on top saves nothing'
        : battery < 0
          ? betterWithBattery === null
            ? `a battery on top saves another ${money(battery)}`
            : `with ${plan} ${quoteName(betterWithBattery.tariff)} is the better one: ${money(betterWithBattery.total)}, another ${money(battery)} less`
          : `a battery on top costs ${money(battery)} more in energy`,
  ];
  const difference = today.withoutBattery - best.withoutBattery;
  const cheaper = rows
    .filter((row) => !row.open && row !== today && row.withoutBattery < best.withoutBattery)
    .sort((a, b) => a.withoutBattery - b.withoutBattery)[0];
  if (cheaper !== undefined && best.open)
    gains.unshift(
      `${quoteName(cheaper.tariff)}, at ${money(cheaper.withoutBattery)}, would cost less but is not open to you on ${switchOn}`,
    );
  const without = stays
    ? best.open
      ? `${quoteName(today.tariff)} is the best of these ${cheaper === undefined ? '' : 'that is open to you '}without a battery`
      : `None of these is open to you on ${switchOn}`
    : `Switching to ${quoteName(best.tariff)}${bound} ${difference < 0 ? 'costs' : 'saves'} ${money(difference)}${difference < 0 ? ' more' : ''} without any battery` +
      (today.withBattery !== null && best.withoutBattery < today.withBattery
        ? `, more than ${plan} on ${quoteName(today.tariff)} would`
        : '');
  return `${[without, ...gains].join('; ')} (${span}; modelled, not metered).`;
}
