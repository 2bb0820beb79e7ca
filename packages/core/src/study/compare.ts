import {
  bestInHindsight,
  followSheet,
  hold,
  homeOnAxis,
  isSearched,
  none,
  optimum,
  peakShave,
  rolling,
  runStrategy,
  type Strategy,
  type StrategyRun,
  searchedSettings,
  searchSettings,
  selfConsumption,
  windowFill,
} from '../dispatch/index.ts';
import { type Wear, wearOf } from '../economics/index.ts';
import { InputError, type InputIssue, nearestName, showName } from '../input/index.ts';
import { backupHours, summarizeBackup, summarizeReserve } from '../outage/index.ts';
import type { Flows } from '../plant/index.ts';
import { perYear, type Study, type Warning } from '../site/index.ts';
import { billTotal } from '../tariff/index.ts';
import { againstWords, billedFlows, flowsWithoutPlant, meteredHome, paidTotal, startEnergyCharge } from './bills.ts';
import type { CompareReport, StrategyResult } from './compare-schema.ts';
import { paybackOf } from './payback.ts';
import { capHoursOf, moneyParts, studyParts } from './report-parts.ts';
import { byHandWords, type SheetReserve, setByHand, sheetReserve } from './sheet-reserve.ts';
import { stepsOf } from './steps.ts';

/** What {@link compare} may be told. */
export interface CompareOptions {
  /** @defaultValue {@link standardStrategies} */
  readonly strategies?: readonly Strategy[];
  /** Called before each strategy runs. */
  readonly onStrategy?: (name: string) => void;
  /** Called with each finished run, in order. */
  readonly onRun?: (run: StrategyRun) => void;
}

/** The strategies that `compare` runs unless told otherwise. */
export function standardStrategies(study: Study): Strategy[] {
  const targetKw = study.site.dispatch?.peakShaveTargetKw;
  const { controller } = study.site.plant;
  return [
    none,
    hold,
    selfConsumption,
    windowFill,
    peakShave(targetKw === undefined ? {} : { targetKw }),
    ...(controller === undefined ? [] : [searchedSettings(controller, { reserve: sheetReserve(study) })]),
    optimum(),
  ];
}

/**
 * The strategy of a name.
 * @throws InputError `not-allowed`, with the names that there are and the nearest of them
 */
export function strategyNamed(name: string, strategies: readonly Strategy[]): Strategy {
  const found = strategies.find((strategy) => strategy.name === name);
  if (found !== undefined) return found;
  const known = strategies.map((strategy) => strategy.name);
  const near = nearestName(name, known);
  throw new InputError([
    {
      code: 'not-allowed',
      where: { column: '--strategy' },
      received: `"${showName(name)}"`,
      expected: `one of ${known.join(', ')}`,
      ...(name === 'settings'
        ? { hint: 'state "plant.controller" in the site file: "settings" is what that can be told' }
        : near === undefined
          ? {}
          : { hint: `did you mean "${near}"?` }),
    },
  ]);
}

/**
 * The strategies that make no cycle that earns less than it wears off.
 *
 * @throws InputError `missing` where the site states no price and cycle life; `out-of-range` where nothing is left of the price
 */
export function wearStrategies(study: Study, withRolling: boolean): Strategy[] {
  const { economics } = study.site;
  const wear = wearOf(economics, study.home.plant);
  const fault = (issue: Pick<InputIssue, 'code' | 'received' | 'expected' | 'hint'>, ...path: string[]) =>
    new InputError([{ ...issue, where: { path: ['economics', ...path] } }]);
  if (wear === undefined)
    throw fault(
      {
        code: 'missing',
        received: 'nothing',
        expected: 'the price and the cycle life that wear is reckoned from',
        hint:
          economics === undefined
            ? 'add "economics": { "price": …, "covers": …, "cycleLife": 6000 }'
            : 'add the full cycles that the battery is warranted or tested for: "cycleLife": 6000',
      },
      ...(economics === undefined ? [] : ['cycleLife']),
    );
  if (wear.cost === 0)
    throw fault(
      {
        code: 'out-of-range',
        received: String(economics!.rebate),
        expected: 'less than the price: what costs nothing wears nothing off',
        hint: 'state "batteryPrice", what a battery costs when this one is worn',
      },
      'rebate',
    );
  const wearPerKwh = wear.perKwh;
  return [optimum(undefined, wearPerKwh), ...(withRolling ? [rolling({ wearPerKwh })] : [])];
}

/**
 * Runs strategies side by side over a study: bills, savings against the home without a battery, energy, and what is
 * left for an outage.
 */
export function compare(study: Study, options: CompareOptions = {}): CompareReport {
  const { home, island } = study;
  const { axis, tariff } = home;
  const onAxis = homeOnAxis(home);
  const strategies = options.strategies ?? standardStrategies(study);
  const warnings: Warning[] = [...study.warnings];
  if (island.medical)
    warnings.unshift({
      code: 'medical-load',
      message:
        'a circuit is life-supporting or medical: hours of backup are withheld here, and `outage` gives the worst case only; it needs a plan of its own, the utility’s medical list, and a battery kept full, as "hold" and the sheet of `settings` keep it: what the others save, they spend of that',
    });
  if (strategies.some(isSearched)) warnings.push(...settingsWarnings(study));
  const plainRun = runStrategy(none, home, { onAxis });
  const plainTotal = paidTotal(tariff, billedFlows(study, plainRun.flows));
  const metered = meteredHome(study);
  const baselineFlows = metered === home ? plainRun.flows : flowsWithoutPlant(metered);
  const baselineTotal = metered === home ? plainTotal : paidTotal(tariff, billedFlows(study, baselineFlows, metered));
  options.onStrategy?.('the best possible in hindsight');
  const hindsight = bestInHindsight(home, { onAxis });
  const startEnergy = startEnergyCharge(study);
  const wear = wearOf(study.site.economics, home.plant);
  const bound = {
    billTotal: hindsight.boundTotal + startEnergy,
    proof: hindsight.proof,
    gap: hindsight.billTotal - hindsight.boundTotal,
  };
  const plainUnrounded = billTotal(tariff, billedFlows(study, plainRun.flows));
  const against = { baselineTotal, plainTotal, plainUnrounded, startEnergy, boundTotal: bound.billTotal, wear };
  const rows: StrategyResult[] = [];
  for (const given of strategies) {
    const sheets = isSearched(given)
      ? searchSettings(onAxis, tariff, given.controller, given.reserve ?? sheetReserve(study))
      : undefined;
    const strategy =
      given.name === 'optimum'
        ? optimum(hindsight)
        : isSearched(given)
          ? searchedSettings(given.controller, { found: sheets })
          : given;
    options.onStrategy?.(strategy.name);
    const run = strategy === none ? plainRun : runStrategy(strategy, home, { onAxis });
    options.onRun?.(run);
    if (run.shortfallIntervals > 0)
      warnings.push({
        code: 'floor-shortfall',
        message: `${strategy.name}: the reserve floor could not be kept in ${run.shortfallIntervals} intervals, by up to ${run.shortfallKwh.toFixed(2)} kWh`,
      });
    const { row, unrounded } = resultOf(study, run, against);
    // The same schedule, once by the optimum's flows and once by the plant's: a hair apart at most.
    const above = bound.billTotal - unrounded;
    if (above > 0 && above < 1e-9 * Math.max(1, Math.abs(bound.billTotal))) bound.billTotal = unrounded;
    if (sheets === undefined) rows.push(row);
    else {
      const { flows } = runStrategy(followSheet(sheets.all), home, { onAxis });
      rows.push({ ...row, inSample: inSampleOf(study, flows, { plainTotal, startEnergy }) });
    }
  }
  if (study.plannedSolar !== undefined)
    warnings.push({
      code: 'planned-solar',
      message: `solar of ${Math.round(sum(study.plannedSolar.solarKwh)).toLocaleString('en-US')} kWh is planned, not metered (${study.plannedSolar.basis}): all but the baseline has it`,
    });
  const headline = headlineOf(study, rows);
  const payback = paybackOf(study, strategies, headline);
  if (payback === null && study.site.economics !== undefined && headline !== null)
    warnings.push({
      code: 'tariff-ended',
      message: `no payback is given: "${tariff.name}" has ended before the plan holds, and what follows is not known`,
    });
  return {
    format: 'duskbank.compare/1',
    ...studyParts(study),
    basis: `modelled, not metered: past intervals replayed with the battery; savings against ${againstWords(study)}`,
    ...moneyParts(tariff),
    tariff: tariff.name,
    baseline: { bill: { total: baselineTotal }, ...throughService(study, baselineFlows) },
    plannedSolar: plannedSolarOf(study, plainRun.flows, { baselineTotal, plainTotal }, bestRunnable(rows)),
    strategies: rows,
    bound: {
      ...bound,
      savings: study.savingsWithheld === undefined ? plainUnrounded - bound.billTotal : null,
    },
    wear: wear ?? null,
    headline,
    medical: island.medical,
    savingsWithheld: study.savingsWithheld ?? null,
    backupBasis: island.basis,
    capHours: capHoursOf(axis),
    payback,
    tariffSwitch: null,
    warnings,
  };
}

/**
 * What the headline is about: the settings sheet where it was run, else what saves most of all that a home can run.
 * Yardsticks are left out: `rolling` plans as no box is known to, `optimum` knows the future.
 */
export function bestRunnable(rows: readonly StrategyResult[]): StrategyResult | undefined {
  let best: StrategyResult | undefined;
  for (const row of rows) {
    if (row.yardstick || row.savings === null || row.strategy === none.name) continue;
    if (row.strategy === 'settings') return row;
    if (best === undefined || row.savings > best.savings!) best = row;
  }
  return best;
}

function isYardstick(strategy: Strategy): boolean {
  return strategy.yardstick ?? strategy.knowledge === 'foresight';
}

/**
 * The strategy that the headline of {@link compare} is of, without what else a comparison takes: no bound, no
 * yardstick, no hours of backup.
 */
export function headlineStrategy(study: Study): Strategy {
  const { home } = study;
  const strategies = standardStrategies(study).filter((strategy) => strategy !== none && !isYardstick(strategy));
  const searched = strategies.find(isSearched);
  if (searched !== undefined) return searched;
  const onAxis = homeOnAxis(home);
  const totals = strategies.map((strategy) =>
    paidTotal(home.tariff, billedFlows(study, runStrategy(strategy, home, { onAxis }).flows)),
  );
  return strategies[totals.indexOf(Math.min(...totals))]!;
}

/** How searched settings were judged. */
export const UNSEEN_BASIS = 'each week run with the settings found on the other weeks, odd and even exchanged';
export const IN_SAMPLE_BASIS = 'the one sheet found on the whole past, replayed on that same past, which it has seen';

/** What the search of settings leaves out, or couldn't do; what its reserve is held for. */
export function settingsWarnings(study: Study, reserve: SheetReserve = sheetReserve(study)): Warning[] {
  const { axis, plant, tariff } = study.home;
  const warnings: Warning[] = [];
  if (reserve.setBy === 'medical')
    warnings.push({
      code: 'reserve-full-medical',
      message:
        'the settings keep the battery full, for the circuit that is life-supporting or medical: they save nothing on the bill',
    });
  if (reserve.setBy === 'no-history')
    warnings.push({
      code: 'reserve-no-history',
      message:
        'the data are too short to say what the hours to keep take: the settings keep the battery full until a week of load is there to tell',
    });
  const { keepHours } = reserve;
  if (keepHours !== null && keepHours.mostKwh > plant.capacityKwh)
    warnings.push({
      code: 'keep-hours-beyond-battery',
      message: `${keepHours.hours} h of the backed-up load take up to ${keepHours.mostKwh.toFixed(1)} kWh stored, more than the ${plant.capacityKwh.toFixed(1)} kWh of this battery: the settings keep it full, and even that is too little at times`,
    });
  if (tariff.terms.some((term) => term.kind === 'demand'))
    warnings.push({
      code: 'demand-not-weighed',
      message: 'the search for settings weighs energy prices only; the demand charge is in the bill, not in the choice',
    });
  if (axis.calendar.days.length < 14)
    warnings.push({
      code: 'settings-unjudged',
      message:
        'under two weeks of data: there is hardly another week to judge settings on, and what they save is a guess',
    });
  return warnings;
}

function headlineOf(study: Study, rows: readonly StrategyResult[]): CompareReport['headline'] {
  const best = bestRunnable(rows);
  if (best === undefined) return null;
  const judged = best.inSample === null ? '' : `${UNSEEN_BASIS}${byHandWords(sheetReserve(study))}; `;
  return {
    strategy: best.strategy,
    savings: best.batterySavings!,
    savingsPerYear: best.batterySavings! * perYear(study.home.axis),
    basis: `modelled, not metered; ${judged}against ${againstWords(study)}`,
  };
}

/** The one sheet found on the whole axis, replayed on it. */
function inSampleOf(
  study: Study,
  flows: Flows,
  against: Pick<Against, 'plainTotal' | 'startEnergy'>,
): StrategyResult['inSample'] {
  const reserve = sheetReserve(study);
  const total = paidTotal(study.home.tariff, billedFlows(study, flows)) + against.startEnergy;
  const savings = study.savingsWithheld === undefined ? against.plainTotal - total : null;
  return {
    bill: { total },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(study.home.axis),
    basis: `${IN_SAMPLE_BASIS}${byHandWords(reserve)}`,
    reserveByHand: setByHand(reserve),
  };
}

function throughService(study: Study, { importKwh, exportKwh }: Flows) {
  return {
    importKwh: sum(importKwh),
    exportKwh: sum(exportKwh),
    peakImportKw: peak(importKwh) / study.home.axis.stepHours,
  };
}

/** What the planned solar gives before any battery, and the steps to the plan. */
function plannedSolarOf(
  study: Study,
  flows: Flows,
  totals: { baselineTotal: number; plainTotal: number },
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
    ...throughService(study, flows),
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

/** Money that every row is set against: bills without a battery (as metered, and as planned), energy stored at the start, the best. */
interface Against {
  readonly baselineTotal: number;
  readonly plainTotal: number;
  readonly startEnergy: number;
  /** Unrounded, as the bound is: shares of it are reckoned so. */
  readonly plainUnrounded: number;
  readonly boundTotal: number;
  readonly wear: Wear | undefined;
}

function resultOf(study: Study, run: StrategyRun, against: Against): { row: StrategyResult; unrounded: number } {
  const { home, island } = study;
  const { axis, plant, tariff } = home;
  const { flows, strategy } = run;
  const absent = strategy.withoutPlant === true;
  const startEnergy = absent ? 0 : against.startEnergy;
  const billed = billedFlows(study, flows);
  const total = paidTotal(tariff, billed) + startEnergy;
  const unrounded = billTotal(tariff, billed) + startEnergy;
  const savings = study.savingsWithheld === undefined ? against.baselineTotal - total : null;
  const batterySavings = savings === null ? null : against.plainTotal - total;
  // Under a cent there is nothing to share.
  const possible = against.plainUnrounded - against.boundTotal;
  const shared = !absent && savings !== null && possible > 0.005;
  const chargedKwh = sum(flows.chargeKwh);
  const dischargedKwh = sum(flows.dischargeKwh);
  const startKwh = absent ? 0 : plant.startKwh;
  const endKwh = absent ? 0 : flows.socKwh[axis.intervals - 1]!;
  let backup: StrategyResult['backupHours'] = null;
  if (!absent && study.loadKnown && !island.medical) {
    const summary = summarizeBackup(axis, backupHours({ axis, plant, socKwh: flows.socKwh, ...island }));
    backup = { ...summary.allHours, weekdayEvenings: summary.weekdayEvenings, worst: summary.worst.hours };
  }
  const row: StrategyResult = {
    strategy: strategy.name,
    causal: strategy.knowledge === 'causal',
    yardstick: isYardstick(strategy),
    inSample: null,
    tariff: tariff.name,
    bill: { total, startEnergy },
    savings,
    savingsPerYear: savings === null ? null : savings * perYear(axis),
    batterySavings,
    importKwh: sum(flows.importKwh),
    exportKwh: sum(flows.exportKwh),
    peakImportKw: peak(flows.importKwh) / axis.stepHours,
    chargedKwh,
    dischargedKwh,
    lossKwh: chargedKwh - dischargedKwh - (endKwh - startKwh),
    standbyKwh: absent ? 0 : (plant.standbyW / 1000) * axis.stepHours * axis.intervals,
    curtailedKwh: sum(flows.curtailedKwh),
    unservedKwh: sum(flows.unservedKwh),
    equivalentFullCycles: absent ? 0 : dischargedKwh / plant.dischargeEfficiency / plant.capacityKwh,
    startKwh,
    endKwh,
    reserve: absent ? null : summarizeReserve(plant, flows.socKwh),
    backupHours: backup,
    capturedShare: shared ? atMostAll((against.plainUnrounded - unrounded) / possible) : null,
    wear: against.wear === undefined || absent ? null : wornBy(dischargedKwh, batterySavings, against.wear),
  };
  return { row, unrounded };
}

function wornBy(dischargedKwh: number, batterySavings: number | null, { perKwh }: Wear): StrategyResult['wear'] {
  const cost = dischargedKwh * perKwh;
  return { cost, savingsAfter: batterySavings === null ? null : batterySavings - cost };
}

function sum(values: Float64Array): number {
  let total = 0;
  for (let i = 0; i < values.length; i++) total += values[i]!;
  return total;
}

function peak(values: Float64Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}

/** 1e-9: the same schedule, once by the optimum's flows and once by the plant's. */
function atMostAll(share: number): number {
  return share > 1 && share < 1 + 1e-9 ? 1 : share;
}
