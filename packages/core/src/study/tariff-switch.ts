import { civilDayOf, dateOfCivilDay } from '../axis/index.ts';
import { InputError } from '../input/index.ts';
import { billTariff, compileTariff, type ServiceFlows } from '../tariff/index.ts';
import { bestRunnable, billedFlows, compare, flowsWithoutPlant, meteredHome } from './compare.ts';
import { perYear, type Study, type Warning } from './home.ts';
import type { CompareReport, StrategyResult } from './report-schema.ts';
import { type SwitchStep, stepsOf, toCents } from './steps.ts';

/** What a tariff would cost the home, without a battery and with one. */
export interface TariffRow {
  readonly tariff: string;
  readonly today: boolean;
  /** Whether the home may go there: closed tariffs are shown, never chosen. */
  readonly open: boolean;
  /** The home as metered. */
  readonly withoutBattery: number;
  /** With the planned solar and no battery; null where none is planned. */
  readonly withPlannedSolar: number | null;
  /** With the planned solar, where there is one, and the battery. */
  readonly withBattery: number | null;
  readonly strategy: string | null;
  /** What a home that took and gave nothing would still pay: no battery removes it. */
  readonly unavoidable: number;
  /** First-year cost where the tariff protects bills; null where it doesn't. */
  readonly protectedFirstYear: number | null;
  /** Dates and conditions, in words. */
  readonly life: readonly string[];
}

/**
 * `compare` with several tariffs, as `--json` prints it: today's report, each row with its tariff, and the switch.
 * `headline` and `payback` are of the battery on the best tariff.
 */
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
 * What switching tariffs gives, and what planned solar and a battery add on top: strategies × tariffs over the same past.
 *
 * @throws InputError `currency-differs` where a tariff is in another currency than today's
 * @param studies the same home under each of the tariffs, its present one first: `savings` are against that one's bill
 */
export function tariffSwitch(studies: readonly Study[]): TariffSwitchReport {
  const today = studies[0]!;
  refuseOtherCurrencies(studies);
  const { currencyDecimals: decimals, periods } = today.home.tariff;
  const runs = studies.map(billedCompare);
  const reports = runs.map(({ report }) => report);
  const base = reports[0]!;
  const rows = studies.map((study, c) => rowOf(study, runs[c]!, today, c === 0));

  // Without a battery or planned solar: the cheapest that the home may have.
  const bestIndex = rows.reduce(
    (best, row, c) => (row.open && row.withoutBattery < rows[best]!.withoutBattery ? c : best),
    0,
  );
  const best = rows[bestIndex]!;
  const { battery } = runs[bestIndex]!;
  const on = { tariff: best.tariff, strategy: null };
  const steps = stepsOf(
    [
      { step: 'today', tariff: rows[0]!.tariff, strategy: null, total: rows[0]!.withoutBattery },
      { step: 'best-tariff', ...on, total: best.withoutBattery },
      { step: 'planned-solar', ...on, total: best.withPlannedSolar ?? best.withoutBattery },
      ...(battery === undefined
        ? []
        : [{ step: 'battery' as const, ...on, strategy: battery.strategy, total: battery.total }]),
    ],
    decimals,
  );
  const cheapest = rows
    .filter((row) => row.open && row.withBattery !== null)
    .reduce<TariffRow | undefined>(
      (least, row) => (least === undefined || row.withBattery! < least.withBattery! ? row : least),
      undefined,
    );
  const betterWithBattery =
    cheapest === undefined || !(cheapest.withBattery! < (best.withBattery ?? Number.POSITIVE_INFINITY))
      ? null
      : { tariff: cheapest.tariff, strategy: cheapest.strategy!, total: cheapest.withBattery! };
  const later = ifNothingIsDone(studies);
  const own = periodTotals(today);
  return {
    ...base,
    headline: reports[bestIndex]!.headline,
    payback: reports[bestIndex]!.payback,
    strategies: reports.flatMap((report) => report.strategies.map((row) => againstToday(row, base, today))),
    warnings: [...base.warnings, ...reports.slice(1).flatMap((report) => warningsOn(report, base))],
    tariffSwitch: {
      today: periods.map((period, p) => ({
        start: period.startDate,
        end: period.endDate,
        total: own[p]!,
        later: later.totals?.[p] ?? null,
      })),
      laterBasis: later.basis,
      tariffs: [rows[0]!, ...rows.slice(1).sort((a, b) => a.withoutBattery - b.withoutBattery)],
      steps,
      betterWithBattery,
      conclusion: conclusionOf(steps, rows, bestIndex, betterWithBattery, today),
    },
  };
}

function refuseOtherCurrencies(studies: readonly Study[]): void {
  const { currency } = studies[0]!.tariff;
  const issues = studies
    .filter(({ tariff }) => tariff.currency !== currency)
    .map(({ tariff }) => ({
      code: 'currency-differs',
      where: { file: tariff.file, path: ['currency'] },
      received: tariff.currency,
      expected: `${currency}, the currency of "${studies[0]!.tariff.name}", which the home is on today`,
      hint: 'bills in two currencies can’t be set side by side: write the prices in the home’s own',
    }));
  if (issues.length > 0) throw new InputError(issues);
}

/** What is to be known of another tariff's results that isn't said of today's. */
function warningsOn(report: CompareReport, base: CompareReport): readonly Warning[] {
  return report.warnings
    .filter((warning) => !base.warnings.some((known) => known.message === warning.message))
    .map(({ code, message }) => ({
      code,
      message: message.includes(`"${report.tariff}"`) ? message : `on "${report.tariff}": ${message}`,
    }));
}

/** A comparison whose totals are those of the printed bills. */
interface BilledCompare {
  readonly report: CompareReport;
  /** The home with its planned solar and no battery. */
  readonly plain: number;
  /** The headline's strategy, where savings are given. */
  readonly battery: { readonly strategy: string; readonly total: number } | undefined;
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
    plain: billed.get('none')!,
    battery:
      best === undefined
        ? undefined
        : { strategy: best.strategy, total: billed.get(best.strategy)! + best.bill.startEnergy },
  };
}

/** What the home as metered sends through the service, as the tariff bills it. */
function meteredFlows(study: Study): ServiceFlows {
  const home = meteredHome(study);
  return billedFlows(study, flowsWithoutPlant(study, home), home);
}

function againstToday(row: StrategyResult, base: CompareReport, study: Study): StrategyResult {
  const savings = row.savings === null ? null : base.baseline.bill.total - row.bill.total;
  return { ...row, savings, savingsPerYear: savings === null ? null : savings * perYear(study.home.axis) };
}

function rowOf(study: Study, run: BilledCompare, today: Study, isToday: boolean): TariffRow {
  const { axis, tariff } = study.home;
  const { life } = study.tariff;
  const { battery } = run;
  const cents = (value: number) => toCents(value, tariff.currencyDecimals);
  const withoutBattery = periodTotals(study).reduce((a, b) => a + b, 0);
  const nothing = { importKwh: new Float64Array(axis.intervals), exportKwh: new Float64Array(axis.intervals) };
  const months = life.billProtectionMonths ?? 0;
  let protectedFirstYear: number | null = null;
  if (!isToday && months > 0) {
    const own = periodTotals(study);
    const former = periodTotals(today);
    const sum = (totals: readonly number[], from: number, to: number) =>
      totals.slice(from, to).reduce((a, b) => a + b, 0);
    protectedFirstYear = cents(Math.min(sum(own, 0, months), sum(former, 0, months)) + sum(own, months, own.length));
  }
  return {
    tariff: tariff.name,
    today: isToday,
    open: isToday || life.closedFrom === undefined,
    withoutBattery: cents(withoutBattery),
    withPlannedSolar: study.plannedSolar === undefined ? null : cents(run.plain),
    withBattery: battery === undefined ? null : cents(battery.total),
    strategy: battery?.strategy ?? null,
    // What is metered apart, load and all solar, no battery touches.
    unavoidable: cents(tariff.metering === 'gross' ? run.plain : billTariff(tariff, nothing).total),
    protectedFirstYear,
    life: [
      ...(life.closedFrom === undefined ? [] : [`closed to new customers from ${life.closedFrom}`]),
      ...(isToday && life.earliestSwitch !== undefined ? [`may be left from ${life.earliestSwitch}`] : []),
      ...(!isToday && life.lockInMonths !== undefined ? [`binds for ${life.lockInMonths} months`] : []),
      ...(life.endsOn === undefined
        ? []
        : [`ends on ${life.endsOn}${life.successor === undefined ? '' : `, "${life.successor}" follows`}`]),
      ...(life.eligibility ?? []).map((line) => `who may have it: ${line}`),
    ],
  };
}

/** Bills of each period of the home as metered, rounded as the tariff says. */
function periodTotals(study: Study): number[] {
  return billTariff(study.home.tariff, meteredFlows(study)).periods.map((period) => period.total);
}

/**
 * The same energy on the same days, billed on what will hold so many years later: the versions of then, and the successor
 * once the tariff has ended. The calendar stays that of the data, so that nothing but the tariff makes a difference.
 */
function ifNothingIsDone(studies: readonly Study[]): { totals: number[] | undefined; basis: string } {
  const study = studies[0]!;
  const { tariff } = study;
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
  const flows = meteredFlows(study);
  const later = (on: Study) => {
    const versions = on.tariff.versions.map((rates) => ({ ...rates, fromDay: yearsBefore(rates.fromDay, years) }));
    return billTariff(compileTariff({ ...on.tariff, versions }, axis, on.tariffOptions), flows).periods;
  };
  const when = years === 1 ? 'a year' : `${years} years`;
  const basis = `the same energy on the same days, on the versions that hold ${when} later`;
  const totals = later(study).map((period) => period.total);
  if (endsOn === undefined || dayOf(endsOn) >= horizon) return { totals, basis };
  const heir = studies.find((other) => other.tariff.name === successor);
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

function conclusionOf(
  steps: readonly SwitchStep[],
  rows: readonly TariffRow[],
  bestIndex: number,
  betterWithBattery: TariffSwitchReport['tariffSwitch']['betterWithBattery'],
  study: Study,
): string {
  const { currency, currencyDecimals: decimals } = study.home.tariff;
  const money = (value: number) => `${currency} ${Math.abs(value).toFixed(decimals)}`;
  const today = rows[0]!;
  const best = rows[bestIndex]!;
  const changeOf = (name: SwitchStep['step']) => steps.find((step) => step.step === name)?.change;
  const battery = changeOf('battery');
  const solar = best.withPlannedSolar === null ? undefined : changeOf('planned-solar');
  const plan = solar === undefined ? 'a battery' : 'planned solar and a battery';
  const gains = [
    ...(solar === undefined ? [] : [`planned solar ${solar <= 0 ? 'saves another' : 'costs'} ${money(solar)}`]),
    battery === undefined
      ? 'what a battery adds is withheld'
      : battery < 0
        ? `a battery on top saves another ${money(battery)}`
        : `a battery on top costs ${money(battery)} more in energy`,
  ];
  if (betterWithBattery !== null)
    gains.push(
      `with ${plan} "${betterWithBattery.tariff}" comes to less${bestIndex === 0 ? '' : ' still'}, ${money(betterWithBattery.total)}`,
    );
  const without =
    bestIndex === 0
      ? `"${today.tariff}" is the best of these without a battery`
      : `Switching to "${best.tariff}" saves ${money(today.withoutBattery - best.withoutBattery)} without any battery` +
        (today.withBattery !== null && best.withoutBattery < today.withBattery
          ? `, more than ${plan} on "${today.tariff}" would`
          : '');
  return `${[without, ...gains].join('; ')} (over the data’s time; modelled, not metered).`;
}
