import { aDate } from '../axis/inside.ts';
import { sum } from '../axis/sum.ts';
import { followSheet, none, optimum, type Strategy } from '../dispatch/index.ts';
import { roleOf, someStrategies } from '../dispatch/inside.ts';
import { type Wear, wearOf } from '../economics/index.ts';
import { callable, check, optional, record } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import { backupHours, summarizeBackup } from '../outage/index.ts';
import { worstMonth } from '../outage/inside.ts';
import type { Flows } from '../plant/index.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy, retellPlanned } from '../site/inside.ts';
import type { Tariff } from '../tariff/index.ts';
import { whereIn } from '../tariff/inside.ts';
import { type Abort, evaluate, type Outcome } from '../trial/index.ts';
import { anAbort } from '../trial/inside.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { againstWords, meteredHome } from './bills.ts';
import type { CompareReport, StrategyResult } from './compare-schema.ts';
import { bestRunnable, headlineOf } from './headline.ts';
import { begunRun, plannedInRun } from './headline-run.ts';
import { isIslandKnown } from './island-known.ts';
import { limitToCome } from './limit-to-come.ts';
import { longerEvenings } from './longer-evenings.ts';
import { bestFound, isLikeBest, keepsAsMuch, mostSaved, ROUNDING } from './most-saved.ts';
import { paybackOf } from './payback.ts';
import { planFrom } from './planned.ts';
import { capHoursOf, carriedOf, moneyParts, studyParts } from './report-parts.ts';
import {
  assumedBox,
  differsFromJudged,
  failedWindows,
  IN_SAMPLE_BASIS,
  judgedOn,
  lastsLonger,
  settingsWarnings,
  tieAYear,
} from './settings-basis.ts';
import { byHandWords, outagesOver, setByHand, sheetReserve } from './sheet-reserve.ts';
import { stepsOf } from './steps.ts';
import { stormReady } from './storm.ts';
import { isYardstick, keepingReserve, standardStrategies } from './strategies.ts';

/** What {@link compare} may be told. */
export interface CompareOptions {
  /** @defaultValue {@link standardStrategies} */
  readonly strategies?: readonly Strategy[];
  /** Called before each strategy runs. */
  readonly onStrategy?: (name: string) => void;
  /** Called with each finished run, in order. */
  readonly onRun?: (outcome: Outcome<'flows' | 'bill' | 'boughtOnce' | 'energy' | 'sheets' | 'judged'>) => void;
  /** Today's date on the home's clock, "2026-11-27": planned outages before it are over. @defaultValue none is */
  readonly today?: string | undefined;
  /** Looked at before each run: `compare` throws its reason once it is aborted. */
  readonly signal?: Abort | undefined;
}

/**
 * Runs strategies side by side over a study: bills, savings against the home without a battery, energy, and what is
 * left for an outage.
 *
 * @throws InputError on a study or a strategy that is not sound; `reserved-name`, `duplicate-name`
 */
export function compare(study: Study, options: CompareOptions = {}): CompareReport {
  check(
    { study, options },
    {
      study: aStudy,
      options: record<CompareOptions>({
        strategies: optional(someStrategies),
        onStrategy: optional(callable),
        onRun: optional(callable),
        today: optional(aDate),
        signal: optional(anAbort),
      }),
    },
  );
  const { home, island } = study;
  const { axis, tariff } = home;
  const { strategies = standardStrategies(study), signal } = options;
  const today = planFrom(study, options.today);
  const warnings: Fact[] = [...study.warnings];
  if (island.medical)
    warnings.unshift(fact(STUDY_WORDS, 'medical-load', 'hazard', {}, { path: ['backup', 'circuits'] }));
  const plain = evaluate(home, none, ROW_PARTS);
  const metered = meteredHome(study);
  const baseline = metered === home ? plain : evaluate(metered, none, ['bill', 'energy']);
  options.onStrategy?.('the best possible in hindsight');
  const best = evaluate(home, optimum(), ROW_PARTS_AND_BOUND, { signal });
  const bound = { ...best.bound };
  const kept = strategies.map((given) => keepingReserve(study, given));
  const outcomes = kept.map((strategy, s) => {
    const given = strategies[s]!;
    options.onStrategy?.(given.name);
    const outcome =
      given === none ? plain : roleOf(given) === 'bound' ? best : evaluate(home, strategy, ROW_PARTS, { signal });
    const judged = asJudged(outcome);
    // The same schedule, once by the optimum's flows and once by the plant's: a hair apart at most.
    const above = bound.billTotal - outcome.bill.unrounded;
    if (above > 0 && above < 1e-9 * Math.max(1, Math.abs(bound.billTotal))) bound.billTotal = outcome.bill.unrounded;
    if (bound.proof === 'exact') holdToBound(strategy, judged, bound.billTotal);
    return outcome;
  });
  const [searched] = outcomes.flatMap(({ sheets }) => sheets ?? []);
  if (searched !== undefined) warnings.push(...assumedBox(study), ...settingsWarnings(study, searched.all));
  if (followsMarket(study.tariff) && study.site.plant?.controller?.follows === undefined && !island.medical)
    warnings.push(
      fact(STUDY_WORDS, 'prices-not-followed', 'warning', { tariff: tariff.name }, { path: ['plant', 'controller'] }),
    );
  // A sheet is tried with all weeks seen, too: in hindsight it is as good a schedule as any.
  const seen = outcomes.map(({ sheets }) =>
    sheets === null ? undefined : evaluate(home, followSheet(sheets.all), ROW_PARTS, { signal }),
  );
  const { run: found, unrounded: foundTotal } = bestFound<RowOutcome>(best, [
    ...outcomes.map(asJudged),
    ...seen.filter((replayed) => replayed !== undefined),
  ]);
  const wear = wearOf(study.site.economics, home.plant);
  const against = {
    baselineTotal: baseline.bill.total,
    plainTotal: plain.bill.total,
    plainUnrounded: plain.bill.unrounded,
    boundTotal: bound.billTotal,
    foundTotal: bound.proof === 'exact' ? bound.billTotal : foundTotal,
    wear,
  };
  const rows: StrategyResult[] = [];
  for (const [s, strategy] of kept.entries()) {
    // The row of the best possible is of the best that was found, whatever found it.
    const own = outcomes[s]!;
    const outcome =
      own === best
        ? { ...found, bill: { ...found.bill, unrounded: foundTotal }, strategy: best.strategy, sheets: null }
        : own;
    options.onRun?.(outcome);
    const { shortfallIntervals, shortfallKwh } = outcome;
    if (shortfallIntervals > 0)
      warnings.push(
        fact(STUDY_WORDS, 'floor-shortfall', 'warning', {
          strategy: strategy.name,
          intervals: shortfallIntervals,
          mostKwh: shortfallKwh,
          asBest: keepsAsMuch(outcome, best),
        }),
      );
    // A share is money's, so that it is of the run that money is of; where the printed sheet keeps less, of neither.
    const alike = isLikeBest(asJudged(outcome), best) && keepsAsMuch(outcome, best);
    const row = resultOf(study, strategy, outcome, against, alike);
    rows.push(
      outcome.sheets === null ? row : { ...row, inSample: inSampleOf(study, outcome, seen[s], against, today) },
    );
    if (outcome.sheets !== null)
      warnings.push(...failedWindows(outcome.sheets), ...longerEvenings(study, outcome.sheets, signal));
  }
  if (study.plannedSolar !== undefined)
    warnings.push(
      fact(
        STUDY_WORDS,
        'planned-solar',
        'warning',
        {
          solarKwh: sum(study.plannedSolar.solarKwh),
          scaleOfExisting: study.site.plannedSolar?.scaleOfExisting ?? null,
        },
        { path: ['plannedSolar'] },
      ),
    );
  const headline = headlineOf(study, rows, today);
  const givenUp = outcomes.find(({ strategy }) => strategy === headline?.strategy)?.sheets?.lights?.givenUp ?? 0;
  warnings.push(...lastsLonger(study, rows, headline?.strategy, plain.bill.total, givenUp));
  const ran = strategies.findIndex(({ name }) => name === headline?.strategy);
  const counted = strategies[ran];
  const toCome = limitToCome(study, counted === undefined ? undefined : keepingReserve(study, counted));
  if (toCome !== undefined) warnings.push(toCome);
  const headlineRun = counted === undefined ? undefined : begunRun(study, counted, outcomes[ran]!);
  const payback = paybackOf(study, strategies, headline);
  if (payback === null && study.site.economics !== undefined && headline !== null && !island.medical)
    warnings.push(fact(STUDY_WORDS, 'tariff-ended', 'warning', { tariff: tariff.name }, whereIn(study.tariff)));
  return ownCopy({
    format: 'duskbank.compare/1',
    ...studyParts(study),
    basis: `modelled, not metered: past intervals replayed with the battery; savings against ${againstWords(study)}`,
    against: againstWords(study),
    ...moneyParts(tariff),
    tariff: tariff.name,
    baseline: { bill: { total: against.baselineTotal }, ...throughService(baseline) },
    plannedSolar: plannedSolarOf(study, plain, against, bestRunnable(rows, study)),
    strategies: rows,
    bound: {
      ...bound,
      gap: bound.proof === 'exact' ? 0 : Math.max(0, foundTotal - bound.billTotal),
      savings: study.savingsWithheld === undefined ? mostSaved(plain.bill, { ...best, bound }, likeBest(rows)) : null,
      found: {
        strategy: found.strategy,
        billTotal: foundTotal,
        savings:
          study.savingsWithheld === undefined ? Math.max(plain.bill.total - found.bill.total, ...likeBest(rows)) : null,
      },
    },
    wear: wear ?? null,
    headline,
    medical: island.medical,
    savingsWithheld: study.savingsWithheld ?? null,
    backupBasis: island.basis,
    carried: carriedOf(study),
    capHours: capHoursOf(axis),
    storm: !island.medical ? stormReady(study, headlineRun) : null,
    payback,
    tariffSwitch: null,
    warnings: headlineRun === undefined ? warnings : retellPlanned(warnings, plannedInRun(study, headlineRun, today)),
  });
}

/** Whether a tariff's energy prices come from a series: no window of a clock can follow them. */
function followsMarket({ versions }: Tariff): boolean {
  return versions.some((rates) => rates.energy.some(({ pricing }) => pricing.form === 'series'));
}

/** A run with the flows that its money is of. */
const asJudged = <Run extends Outcome<'judged'>>(run: Run): Run => ({ ...run, ...run.judged });

/** What the rows have saved that are the bound's own home. */
const likeBest = (rows: readonly StrategyResult[]) =>
  rows.flatMap((row) => (row.capturedShare === null ? [] : [row.batterySavings!]));

/**
 * No run may come under a bound that is exact, unless it missed the floor, left a load unserved, or had no battery: those
 * are other homes than the bound's.
 *
 * @throws Error `internal: …`: either the bound or the run is wrong, and no share of it may be printed
 */
function holdToBound(strategy: Strategy, outcome: Outcome<'bill' | 'energy'>, boundTotal: number): void {
  const { bill, energy, withoutPlant, shortfallIntervals } = outcome;
  if (withoutPlant || shortfallIntervals > 0 || energy.unservedKwh > 1e-9) return;
  const under = boundTotal - bill.unrounded;
  if (under > ROUNDING * Math.max(1, Math.abs(boundTotal)))
    throw new Error(`internal: "${strategy.name}" costs ${under} less than the proven least, ${boundTotal}`);
}

/** The one sheet found on the whole axis, replayed on it, unless it was already. */
function inSampleOf(
  study: Study,
  { bill, sheets }: Outcome<'bill' | 'sheets'>,
  seen: Outcome<'bill'> | undefined,
  { plainTotal }: Against,
  today: string | undefined,
): StrategyResult['inSample'] {
  const reserve = sheetReserve(study);
  const { all } = sheets!;
  const { total } = (seen ?? evaluate(study.home, followSheet(all), ['bill'])).bill;
  const savings = study.savingsWithheld === undefined ? plainTotal - total : null;
  return {
    bill: { total },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(study.home.axis),
    basis: `${IN_SAMPLE_BASIS}${byHandWords(reserve, today)}`,
    differs: savings !== null && differsFromJudged(study, plainTotal, plainTotal - bill.total, savings, sheets),
    tiePerYear: savings === null ? null : tieAYear(study, plainTotal, plainTotal - bill.total, sheets),
    apart: judgedOn(sheets!),
    reserveByHand: setByHand(reserve, today),
    outagesOver: outagesOver(reserve, today),
  };
}

function throughService({ energy: { importKwh, exportKwh, peakImportKw } }: Outcome<'energy'>) {
  return { importKwh, exportKwh, peakImportKw };
}

/** What the planned solar gives before any battery, and the steps to the plan. */
function plannedSolarOf(
  study: Study,
  plain: Outcome<'energy'>,
  totals: Pick<Against, 'baselineTotal' | 'plainTotal'>,
  headline: StrategyResult | undefined,
): CompareReport['plannedSolar'] {
  const { plannedSolar } = study;
  if (plannedSolar === undefined) return null;
  const { tariff, axis } = study.home;
  const { baselineTotal, plainTotal } = totals;
  const on = { tariff: tariff.name, strategy: null };
  const savings = study.savingsWithheld === undefined ? baselineTotal - plainTotal : null;
  return {
    basis: plannedSolar.basis,
    solarKwh: sum(plannedSolar.solarKwh),
    bill: { total: plainTotal },
    ...throughService(plain),
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(axis),
    steps: stepsOf(
      [
        { step: 'today', ...on, total: baselineTotal },
        { step: 'planned-solar', ...on, total: plainTotal },
        ...(headline === undefined
          ? []
          : [{ step: 'battery' as const, ...on, strategy: headline.strategy, total: headline.bill.total }]),
      ],
      tariff.currencyDecimals,
    ),
  };
}

/** Money that every row is set against: bills without a battery (as metered, and as planned), the best. */
interface Against {
  readonly baselineTotal: number;
  readonly plainTotal: number;
  /** Unrounded, as the bound is: shares of it are reckoned so. */
  readonly plainUnrounded: number;
  readonly boundTotal: number;
  /** Of the best that was found. */
  readonly foundTotal: number;
  readonly wear: Wear | undefined;
}

/** What a row of the table is made of. */
const ROW_PARTS = ['flows', 'bill', 'boughtOnce', 'energy', 'reserve', 'sheets', 'judged'] as const;
type RowOutcome = Outcome<(typeof ROW_PARTS)[number]>;
const ROW_PARTS_AND_BOUND = [...ROW_PARTS, 'bound'] as const;

function resultOf(
  study: Study,
  strategy: Strategy,
  outcome: RowOutcome,
  against: Against,
  alike: boolean,
): StrategyResult {
  const { axis, tariff } = study.home;
  const { bill, energy, reserve } = outcome;
  const absent = reserve === null;
  const savings = study.savingsWithheld === undefined ? against.baselineTotal - bill.total : null;
  const batterySavings = savings === null ? null : against.plainTotal - bill.total;
  const shareOf = (bestTotal: number) => {
    // Under a cent there is nothing to share.
    const possible = against.plainUnrounded - bestTotal;
    if (!alike || savings === null || !(possible > 0.005)) return null;
    return atMostAll((against.plainUnrounded - bill.unrounded) / possible);
  };
  return {
    strategy: strategy.name,
    role: roleOf(strategy),
    causal: strategy.knowledge === 'causal',
    yardstick: isYardstick(strategy),
    countsWear: strategy.countsWear === true,
    inSample: null,
    tariff: tariff.name,
    bill: { total: bill.total, startEnergy: bill.startEnergy, boughtOnce: outcome.boughtOnce },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(axis),
    batterySavings,
    ...energy,
    reserve,
    backupHours: absent ? null : backupOf(study, outcome.flows),
    capturedShare: shareOf(against.boundTotal),
    capturedShareOfFound: shareOf(against.foundTotal),
    wear: against.wear === undefined || absent ? null : wornBy(energy.dischargedKwh, batterySavings, against.wear),
  };
}

/** Hours of backup in short; null where the load isn't known, or a life may hang on it. */
function backupOf(study: Study, flows: Flows): StrategyResult['backupHours'] {
  const { home, island } = study;
  if (!isIslandKnown(study) || island.medical) return null;
  const { axis, plant } = home;
  const hours = backupHours({ axis, plant, socKwh: flows.socKwh, ...island });
  const summary = summarizeBackup(axis, hours);
  return {
    ...summary.allHours,
    weekdayEvenings: summary.weekdayEvenings,
    worst: summary.worst.hours,
    worstMonth: worstMonth(axis, hours),
  };
}

function wornBy(dischargedKwh: number, batterySavings: number | null, { perKwh }: Wear): StrategyResult['wear'] {
  const cost = dischargedKwh * perKwh;
  return { cost, savingsAfter: batterySavings === null ? null : batterySavings - cost };
}

/** 1e-9: the same schedule, once by the optimum's flows and once by the plant's. */
function atMostAll(share: number): number {
  return share > 1 && share < 1 + 1e-9 ? 1 : share;
}
