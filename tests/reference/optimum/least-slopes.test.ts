import type { BillTerm } from '@duskbank/core/tariff';
import { describe, expect, it } from 'vitest';
import { leastSlopesOf } from '../../../packages/core/src/dispatch/optimum/converting.ts';
import { seeded } from './problems.ts';
import { type Meter, type TermProblem, termProblem } from './whole-terms.ts';

// What the optimum takes for the least that a kWh more may cost, or earn, beside what it does by sums of its own.

const HALF = 0.5;
/** They have jumps, not slopes. */
const JUMPS = /classes|credit for use/;

interface Bill {
  readonly name: string;
  readonly importPricePerKwh: Float64Array;
  readonly exportPricePerKwh: Float64Array;
  readonly terms: readonly BillTerm[];
  readonly bill: (meter: Meter) => number;
}

/**
 * Left out, since they aren't bounded: credit carried beside other parts, some of which it may not count, and a top-up that
 * weighs more than what it counts.
 */
const isUnbounded = (term: BillTerm, terms: readonly BillTerm[]) =>
  terms.length > 1 && (term.kind === 'carry' || (term.kind === 'minimum' && term.share.some((share) => share > 1)));

/** A rebate alone, in the first step in place of the last, and one that takes money for it. */
function turned({ name, problem, bill }: TermProblem): Bill[] {
  const plain = { name, ...problem, bill } as Bill;
  const [term] = problem.terms;
  if (problem.terms.length !== 1 || term!.kind !== 'rebate') return [plain];
  const n = problem.netLoadKwh.length;
  const back = (values: ArrayLike<number>) => Float64Array.from(values).reverse();
  const prices = [problem.importPricePerKwh, problem.exportPricePerKwh].map((each) => back(each as Float64Array));
  const first: Bill = {
    name: `${name}, first`,
    importPricePerKwh: prices[0]!,
    exportPricePerKwh: prices[1]!,
    terms: [
      {
        ...term,
        group: Int32Array.from(term!.group).reverse(),
        references: term!.references.map((ends) => Int32Array.from(ends, (end) => n - end).reverse()),
      } as BillTerm,
    ],
    bill: (meter) => bill([...meter].reverse()),
  };
  return [plain, first].flatMap((one) => [one, negated(one)]);
}

function negated({ terms, bill, ...prices }: Bill): Bill {
  const energy = (meter: Meter) =>
    meter.reduce(
      (sum, kwh, i) => sum + kwh * (kwh > 0 ? prices.importPricePerKwh[i]! : prices.exportPricePerKwh[i]!),
      0,
    );
  const [term] = terms as [BillTerm & { readonly pricePerKwh: Float64Array }];
  return {
    ...prices,
    name: `${prices.name}, negated`,
    terms: [{ ...term, pricePerKwh: term.pricePerKwh.map((price) => -price) } as BillTerm],
    bill: (meter) => 2 * energy(meter) - bill(meter),
  };
}

describe('no kWh more takes more off a bill than the least slopes of its terms say', () => {
  it.each(Array.from({ length: 10 }, (_, lot) => lot))('lot %d of 40', (lot) => {
    let told = 0;
    for (let seed = 40 * lot; seed < 40 * (lot + 1); seed++)
      for (const { name, importPricePerKwh, exportPricePerKwh, terms, bill } of turned(termProblem(seed))) {
        if (JUMPS.test(name) || terms.some((term) => isUnbounded(term, terms))) continue;
        const least = leastSlopesOf({ importPricePerKwh, exportPricePerKwh, terms });
        const r = seeded(seed * 31 + 7);
        for (let turn = 0; turn < 40; turn++) {
          const meter = Array.from({ length: 4 }, () => HALF * (Math.floor(r() * 7) - 3));
          const i = turn % 4;
          const isImport = meter[i]! > 0 || (meter[i] === 0 && turn % 8 < 4);
          const more = meter.map((kwh, k) => (k === i ? kwh + (isImport ? HALF : -HALF) : kwh));
          const change = (bill(more) - bill(meter)) / HALF;
          const at = `seed ${seed}: ${name}, step ${i} of ${meter.join(' ')}`;
          const lowest = isImport ? least.importPerKwh[i]! : least.exportPerKwh[i]!;
          const mostOff = Math.max(0, -lowest);
          if (mostOff > 0) told++;
          // A kWh more of export earns the other way round.
          expect(isImport ? -change : change, at).toBeLessThanOrEqual(mostOff + 1e-9);
        }
      }
    // Else the law says of no slope below nothing.
    expect(told).toBeGreaterThan(0);
  });
});
