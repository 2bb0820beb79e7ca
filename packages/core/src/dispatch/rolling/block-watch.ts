import type { TierTerm } from '../../tariff/index.ts';
import type { StrategyView } from '../strategy.ts';

/** Share of a group that must have passed before its use so far tells where it is going. */
const TELLING_SHARE = 0.1;

interface Tier {
  readonly term: TierTerm;
  /** Intervals of each group: all, and those that have passed. */
  readonly size: Int32Array;
  readonly passed: Int32Array;
  readonly usedKwh: Float64Array;
  /** The block that each group is on its way to. */
  readonly block: Int32Array;
}

/** Blocks of a bill: what a kWh costs more in the block that its group will end in, as far as its use so far tells. */
export class BlockWatch {
  private readonly view: StrategyView;
  private readonly tiers: readonly Tier[];
  private seen = 0;
  /** Grows whenever a group's block changes. */
  revision = 0;

  constructor(view: StrategyView) {
    this.view = view;
    this.tiers = view.tariff.terms
      .filter((term): term is TierTerm => term.kind === 'tier' && term.flow === 'import')
      .map((term) => {
        const size = new Int32Array(term.groups);
        for (const g of term.group) if (g >= 0) size[g] = size[g]! + 1;
        const [passed, block] = [new Int32Array(term.groups), new Int32Array(term.groups).fill(-1)];
        return { term, size, passed, usedKwh: new Float64Array(term.groups), block };
      });
  }

  /** Takes the run up to interval `from` into account; `meanLoadKwh` is what a group not begun is taken to draw. */
  update(from: number, meanLoadKwh: number): void {
    const { importKwh } = this.view.flows;
    for (const { term, size, passed, usedKwh, block } of this.tiers) {
      for (let i = this.seen; i < from; i++) {
        const g = term.group[i]!;
        if (g < 0) continue;
        passed[g] = passed[g]! + 1;
        usedKwh[g] = usedKwh[g]! + importKwh[i]!;
      }
      for (let g = 0; g < size.length; g++) {
        if (passed[g] === size[g]) continue;
        const telling = passed[g]! > TELLING_SHARE * size[g]!;
        const expected = telling ? (usedKwh[g]! / passed[g]!) * size[g]! : meanLoadKwh * size[g]!;
        const bounds = term.upToKwh[g]!;
        let k = 0;
        while (k < bounds.length - 1 && expected > bounds[k]!) k++;
        if (k === block[g]) continue;
        block[g] = k;
        this.revision++;
      }
    }
    this.seen = from;
  }

  /** Raises the prices of `[from, end)`. */
  addTo(pricePerKwh: Float64Array, from: number, end: number): void {
    for (const { term, block } of this.tiers)
      for (let i = from; i < end; i++) {
        const g = term.group[i]!;
        if (g >= 0) pricePerKwh[i - from] = pricePerKwh[i - from]! + term.adderPerKwh[g]![block[g]!]!;
      }
  }
}
