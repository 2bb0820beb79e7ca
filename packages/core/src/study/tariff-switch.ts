import { civilDayOf, dateOfCivilDay } from '../axis/index.ts';
import { none, runStrategy } from '../dispatch/index.ts';
import { preparePlant } from '../plant/index.ts';
import { billTariff, type CompileOptions, compileTariff, type ServiceFlows, type Tariff } from '../tariff/index.ts';
import { bestRunnable, billedFlows, compare } from './compare.ts';
import { perYear, type Study } from './home.ts';
import type { CompareReport, StrategyResult } from './report-schema.ts';

/** A study of the same home under one of the tariffs. */
export interface TariffChoice {
  readonly study: Study;
  readonly tariff: Tariff;
  readonly options?: CompileOptions;
}

export interface TariffSwitchOptions {
  /** Solar that is planned beside what is metered, AC kWh an interval. */
  readonly plannedSolarKwh?: Float64Array;
}

/** One step of the way from today's bill; `change = total − total of the step before`, to the cent. */
export interface SwitchStep {
  readonly step: 'today' | 'best-tariff' | 'planned-solar' | 'battery';
  readonly tariff: string;
  /** The strategy that runs the battery; null without one. */
  readonly strategy: string | null;
  readonly total: number;
  readonly change: number;
}

/** What a tariff would cost the home, without a battery and with one. */
export interface TariffRow {
  readonly tariff: string;
  readonly today: boolean;
  /** Whether the home may go there: closed tariffs are shown, never chosen. */
  readonly open: boolean;
  readonly withoutBattery: number;
  readonly withBattery: number | null;
  readonly strategy: string | null;
  /** What a home that took and gave nothing would still pay: no battery removes it. */
  readonly unavoidable: number;
  /** First-year cost where the tariff protects bills; null where it doesn't. */
  readonly protectedFirstYear: number | null;
  /** Dates and conditions, in words. */
  readonly life: readonly string[];
}

/** `compare` with several tariffs, as `--json` prints it: today's report, each row with its tariff, and the switch. */
export interface TariffSwitchReport extends CompareReport {
  readonly tariffSwitch: {
    /** The home as it is, month by month, and what the same energy will cost if nothing is done. */
    readonly today: readonly {
      readonly start: string;
      readonly end: string;
      readonly total: number;
      readonly later: number | null;
    }[];
    /** Why there is, or isn't, a later column. */
    readonly laterBasis: string;
    readonly tariffs: readonly TariffRow[];
    /** Today → best tariff → planned solar → battery: the changes sum to the cent. */
    readonly steps: readonly SwitchStep[];
    /** The best tariff once there is a battery, where it is another one. */
    readonly betterWithBattery: { readonly tariff: string; readonly strategy: string; readonly total: number } | null;
    /** The answer in one sentence. */
    readonly conclusion: string;
  };
}

/**
 * What switching tariffs gives, and what a battery adds on top: strategies × tariffs over the same past. The first
 * choice is the home's present tariff; all savings are against it, without a battery.
 */
export function tariffSwitch(choices: readonly TariffChoice[], options: TariffSwitchOptions = {}): TariffSwitchReport {
  const today = choices[0]!;
  const runs = choices.map(({ study }) => billedCompare(study));
  const reports = runs.map(({ report }) => report);
  const base = reports[0]!;
  const decimals = today.study.home.tariff.currencyDecimals;
  const toCents = (value: number) => Math.round(value * 10 ** decimals) / 10 ** decimals;
  const rows = choices.map((choice, c) => rowOf(choice, runs[c]!, today, c === 0, toCents));

  // Without a battery: the cheapest that the home may have.
  const bestIndex = rows.reduce(
    (best, row, c) => (row.open && row.withoutBattery < rows[best]!.withoutBattery ? c : best),
    0,
  );
  const bestChoice = choices[bestIndex]!;
  const sunny = withPlannedSolar(bestChoice, options.plannedSolarKwh);
  const sunnyRun = sunny === bestChoice.study ? runs[bestIndex]! : billedCompare(sunny);
  const battery = sunnyRun.best;
  const totals: Omit<SwitchStep, 'change'>[] = [
    { step: 'today', tariff: rows[0]!.tariff, strategy: null, total: rows[0]!.withoutBattery },
    { step: 'best-tariff', tariff: rows[bestIndex]!.tariff, strategy: null, total: rows[bestIndex]!.withoutBattery },
    { step: 'planned-solar', tariff: rows[bestIndex]!.tariff, strategy: null, total: toCents(sunnyRun.withoutBattery) },
  ];
  if (battery !== undefined)
    totals.push({
      step: 'battery',
      tariff: rows[bestIndex]!.tariff,
      strategy: battery.strategy,
      total: toCents(battery.total),
    });
  const steps = totals.map(
    (step, k): SwitchStep => ({ ...step, change: k === 0 ? 0 : toCents(step.total - totals[k - 1]!.total) }),
  );

  const withBattery = rows.flatMap((row, c) => (row.withBattery === null || !row.open ? [] : [{ row, c }]));
  const cheapest = withBattery.sort((a, b) => a.row.withBattery! - b.row.withBattery!)[0];
  const betterWithBattery =
    cheapest === undefined || cheapest.c === bestIndex || options.plannedSolarKwh !== undefined
      ? null
      : { tariff: cheapest.row.tariff, strategy: cheapest.row.strategy!, total: cheapest.row.withBattery! };
  const later = ifNothingIsDone(choices);
  const periods = today.study.home.tariff.periods;
  const own = periodTotals(today, flowsWithoutPlant(today.study));
  return {
    ...base,
    strategies: reports.flatMap((report) => report.strategies.map((row) => againstToday(row, base, today.study))),
    warnings: [
      ...base.warnings,
      ...reports
        .slice(1)
        .flatMap((report) => report.warnings.filter((w) => !base.warnings.some((b) => b.message === w.message))),
    ],
    tariffSwitch: {
      today: periods.map((period, p) => ({
        start: period.startDate,
        end: period.endDate,
        total: own[p]!,
        later: later.totals?.[p] ?? null,
      })),
      laterBasis: later.basis,
      tariffs: rows,
      steps,
      betterWithBattery,
      conclusion: conclusionOf(steps, rows, bestIndex, betterWithBattery, today.study, decimals),
    },
  };
}

/** A comparison whose totals are those of the printed bills. */
interface BilledCompare {
  readonly report: CompareReport;
  readonly withoutBattery: number;
  /** The causal strategy that saves most, where savings are given. */
  readonly best: { readonly strategy: string; readonly total: number } | undefined;
}

function billedCompare(study: Study): BilledCompare {
  const billed = new Map<string, number>();
  const report = compare(study, {
    onRun: ({ strategy, flows }) =>
      billed.set(strategy.name, billTariff(study.home.tariff, billedFlows(study, flows)).total),
  });
  const best = bestRunnable(report.strategies);
  return {
    report,
    withoutBattery: billTariff(study.home.tariff, flowsWithoutPlant(study)).total,
    best:
      best === undefined
        ? undefined
        : { strategy: best.strategy, total: billed.get(best.strategy)! + best.bill.startEnergy },
  };
}

function flowsWithoutPlant(study: Study): ServiceFlows {
  const { home } = study;
  const prepared = preparePlant(home.axis, home.loadKwh, home.solarKwh, home.plant, home.service);
  return billedFlows(study, runStrategy(none, home, { prepared }).flows);
}

function againstToday(row: StrategyResult, base: CompareReport, study: Study): StrategyResult {
  const savings = row.savings === null ? null : base.baseline.bill.total - row.bill.total;
  return { ...row, savings, savingsPerYear: savings === null ? null : savings * perYear(study.home.axis) };
}

function rowOf(
  choice: TariffChoice,
  run: BilledCompare,
  today: TariffChoice,
  isToday: boolean,
  toCents: (value: number) => number,
): TariffRow {
  const { study, tariff } = choice;
  const { intervals } = study.home.axis;
  const { best } = run;
  const nothing = { importKwh: new Float64Array(intervals), exportKwh: new Float64Array(intervals) };
  const { life } = tariff;
  const months = life.billProtectionMonths ?? 0;
  let protectedFirstYear: number | null = null;
  if (!isToday && months > 0) {
    const own = periodTotals(choice, flowsWithoutPlant(study));
    const former = periodTotals(today, flowsWithoutPlant(today.study));
    const sum = (totals: readonly number[], from: number, to: number) =>
      totals.slice(from, to).reduce((a, b) => a + b, 0);
    protectedFirstYear = toCents(Math.min(sum(own, 0, months), sum(former, 0, months)) + sum(own, months, own.length));
  }
  return {
    tariff: study.home.tariff.name,
    today: isToday,
    open: isToday || life.closedFrom === undefined,
    withoutBattery: toCents(run.withoutBattery),
    withBattery: best === undefined ? null : toCents(best.total),
    strategy: best?.strategy ?? null,
    unavoidable: billTariff(study.home.tariff, nothing).total,
    protectedFirstYear,
    life: [
      ...(life.closedFrom === undefined ? [] : [`closed to new customers from ${life.closedFrom}`]),
      ...(isToday && life.earliestSwitch !== undefined ? [`may be left from ${life.earliestSwitch}`] : []),
      ...(!isToday && life.lockInMonths !== undefined ? [`binds for ${life.lockInMonths} months`] : []),
      ...(life.endsOn === undefined
        ? []
        : [`ends on ${life.endsOn}${life.successor === undefined ? '' : `, "${life.successor}" follows`}`]),
      ...(life.eligibility ?? []),
    ],
  };
}

/** Bills of each period, rounded as the tariff says. */
function periodTotals({ study }: TariffChoice, flows: ServiceFlows): number[] {
  return billTariff(study.home.tariff, flows).periods.map((period) => period.total);
}

/**
 * The same energy on the same days, billed on what will hold so many years later: the versions of then, and the successor
 * once the tariff has ended. The calendar stays that of the data, so that nothing but the tariff makes a difference.
 */
function ifNothingIsDone(choices: readonly TariffChoice[]): { totals: number[] | undefined; basis: string } {
  const { study, tariff } = choices[0]!;
  const { axis } = study.home;
  const { days } = axis.calendar;
  const years = Math.max(1, Math.round(days.length / 365.25));
  const horizon = yearsBefore(days[days.length - 1]!.civilDay, -years);
  const { endsOn, successor } = tariff.life;
  const changes = [
    ...tariff.versions.slice(1).map((rates) => rates.fromDay),
    ...(endsOn === undefined ? [] : [dayOf(endsOn) + 1]),
  ].filter((day) => day > days[0]!.civilDay && day <= horizon);
  if (changes.length === 0)
    return {
      totals: undefined,
      basis:
        'nothing changes if nothing is done: no version, end or successor is scheduled in the data’s time and as long after it',
    };
  const flows = flowsWithoutPlant(study);
  const later = (choice: TariffChoice) => {
    const versions = choice.tariff.versions.map((rates) => ({ ...rates, fromDay: yearsBefore(rates.fromDay, years) }));
    const options = { ...choice.options, account: study.site.account };
    return billTariff(compileTariff({ ...choice.tariff, versions }, axis, options), flows).periods;
  };
  const when = years === 1 ? 'a year' : `${years} years`;
  const basis = `the same energy on the same days, on the versions that hold ${when} later`;
  const totals = later(choices[0]!).map((period) => period.total);
  if (endsOn === undefined || dayOf(endsOn) >= horizon) return { totals, basis };
  const heir = choices.find((choice) => choice.tariff.name === successor);
  if (heir === undefined)
    return { totals, basis: `${basis}; after ${endsOn} it is gone, and its successor is not among the tariffs given` };
  const lastDay = yearsBefore(dayOf(endsOn), years);
  const heirs = later(heir);
  return {
    totals: totals.map((total, p) => (dayOf(heirs[p]!.start) > lastDay ? heirs[p]!.total : total)),
    basis: `${basis}; "${heir.tariff.name}" from the first bill after ${endsOn}`,
  };
}

/** The same date so many years before; 29 February becomes 1 March. */
function yearsBefore(civilDay: number, years: number): number {
  if (!Number.isFinite(civilDay)) return civilDay;
  const { year, month, dayOfMonth } = dateOfCivilDay(civilDay);
  return civilDayOf(year - years, month, dayOfMonth);
}

function dayOf(date: string): number {
  return civilDayOf(Number(date.slice(0, 4)), Number(date.slice(5, 7)), Number(date.slice(8, 10)));
}

function withPlannedSolar({ study }: TariffChoice, plannedSolarKwh: Float64Array | undefined): Study {
  if (plannedSolarKwh === undefined) return study;
  const solarKwh = study.home.solarKwh.map((kwh, i) => kwh + plannedSolarKwh[i]!);
  return { ...study, home: { ...study.home, solarKwh } };
}

function conclusionOf(
  steps: readonly SwitchStep[],
  rows: readonly TariffRow[],
  bestIndex: number,
  betterWithBattery: TariffSwitchReport['tariffSwitch']['betterWithBattery'],
  study: Study,
  decimals: number,
): string {
  const { currency } = study.home.tariff;
  const money = (value: number) => `${currency} ${Math.abs(value).toFixed(decimals)}`;
  const [today, best] = rows.filter((_, k) => k === 0 || k === bestIndex);
  const battery = steps.find((step) => step.step === 'battery');
  const onTop =
    battery === undefined
      ? 'what a battery adds is withheld'
      : battery.change < 0
        ? `a battery on top saves another ${money(battery.change)}`
        : `a battery on top costs ${money(battery.change)} more in energy`;
  const basis = '(over the data’s time; modelled, not metered)';
  if (best === undefined || bestIndex === 0) {
    const better =
      betterWithBattery === null
        ? ''
        : `; with a battery "${betterWithBattery.tariff}" comes to less, ${money(betterWithBattery.total)}`;
    return `"${today!.tariff}" is the best of these without a battery; ${onTop}${better} ${basis}.`;
  }
  const saved = today!.withoutBattery - best.withoutBattery;
  const alone =
    today!.withBattery !== null && best.withoutBattery < today!.withBattery
      ? `, more than a battery on "${today!.tariff}" would`
      : '';
  const better =
    betterWithBattery === null
      ? ''
      : `; with a battery "${betterWithBattery.tariff}" comes to less still, ${money(betterWithBattery.total)}`;
  return `Switching to "${best.tariff}" saves ${money(saved)} without any battery${alone}; ${onTop}${better} ${basis}.`;
}
