import { hold, type Strategy } from '../dispatch/index.ts';
import { isSearched } from '../dispatch/inside.ts';
import { check } from '../input/door.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import { evaluate } from '../trial/index.ts';
import { againstWords } from './bills.ts';
import type { CompareReport, StrategyResult } from './compare-schema.ts';
import { unseenBasis } from './settings-basis.ts';
import { byHandWords, sheetReserve } from './sheet-reserve.ts';
import { runnableOf, standardStrategies } from './strategies.ts';

/**
 * What the headline is about: the settings sheet where it was run, else what saves most of all that a home can run.
 * Yardsticks are left out: `rolling` plans as no box is known to, `optimum` knows the future. With a medical circuit it is
 * what keeps the battery full: the sheet, else `hold`, never what spends of it.
 */
export function bestRunnable(
  rows: readonly StrategyResult[],
  { island: { medical } }: Pick<Study, 'island'>,
): StrategyResult | undefined {
  let best: StrategyResult | undefined;
  for (const row of rows) {
    if (row.yardstick || row.savings === null || row.role === 'baseline') continue;
    // A sheet that was handed over may keep less: where it matters, only what was searched keeps all for sure.
    if (row.role === 'settings' && (!medical || row.inSample !== null)) return row;
    if (medical && row.strategy !== hold.name) continue;
    if (best === undefined || row.savings > best.savings!) best = row;
  }
  return best;
}

/**
 * The strategy that the headline of `compare` is of, without what else a comparison takes: no bound, no yardstick, no
 * hours of backup.
 *
 * @throws InputError on a study that is not sound
 */
export function headlineStrategy(study: Study): Strategy {
  check({ study }, { study: aStudy });
  const runnable = runnableOf(study, standardStrategies(study));
  if (runnable.some(isSearched)) return runnable[0]!;
  const totals = runnable.map((strategy) => evaluate(study.home, strategy, ['bill']).bill.total);
  return runnable[totals.indexOf(Math.min(...totals))]!;
}

/** The headline of a comparison; null where savings are withheld or nothing that was run can be counted on. */
export function headlineOf(
  study: Study,
  rows: readonly StrategyResult[],
  today: string | undefined,
): CompareReport['headline'] {
  const best = bestRunnable(rows, study);
  if (best === undefined) return null;
  const scale = perYear(study.home.axis);
  return {
    strategy: best.strategy,
    tariff: best.tariff,
    savings: best.batterySavings!,
    savingsPerYear: best.batterySavings! * scale,
    cyclesPerYear: best.equivalentFullCycles * scale,
    basis: headlineBasis(study, best, againstWords(study), today),
  };
}

/** What a headline rests on, and what it is set against. */
export function headlineBasis(
  study: Study,
  { inSample }: Pick<StrategyResult, 'inSample'>,
  against: string,
  today: string | undefined,
): string {
  const judged = inSample === null ? '' : `${unseenBasis(inSample.apart)}${byHandWords(sheetReserve(study), today)}; `;
  return `modelled, not metered; ${judged}against ${against}`;
}
