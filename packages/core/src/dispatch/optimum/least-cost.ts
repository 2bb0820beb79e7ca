/** A variable of a linear program, 0 at least: what it costs, and how much of it each row holds. */
export interface Column {
  readonly cost: number;
  readonly row: readonly number[];
  readonly value: readonly number[];
}

/** Pivots between two that work the inverse out anew, against rounding. */
const REFRESH = 60;
const MOST_PIVOTS = 4000;
const TINY = 1e-9;

/**
 * A small linear program in equalities: the least of Σ cost · x over Σ value · x = `rightSide`, x ≥ 0. Solved by the revised
 * simplex method with an explicit inverse (Dantzig's rule), and solved again from where it stood after columns were added.
 * Nothing rests on its digits: what it gives are multipliers to try and weights to mix by, both checked by a whole pass.
 */
export class LeastCost {
  private readonly rows: number;
  private readonly columns: Column[] = [];
  private readonly rightSide: Float64Array;
  /** The column of each row's place in the basis. */
  private readonly basis: Int32Array;
  private readonly inverse: Float64Array;
  private readonly inBasis = new Set<number>();
  private pivots = 0;

  /**
   * @param rightSide of each row
   * @param starts a column a row that holds no other row, with the sign of its right side
   */
  constructor(rightSide: readonly number[], starts: readonly Column[]) {
    this.rows = rightSide.length;
    // A hair aside, so that no two rows run out at once: pivots that move nothing could go round in a circle.
    this.rightSide = Float64Array.from(
      rightSide,
      (b, r) => b + Math.sign(starts[r]!.value[0]!) * TINY * (1 + ((r * 0.618) % 1)),
    );
    this.basis = Int32Array.from(starts, (column) => this.add(column));
    this.inverse = new Float64Array(this.rows * this.rows);
    for (const [r, { value }] of starts.entries()) this.inverse[r * this.rows + r] = 1 / value[0]!;
    for (const j of this.basis) this.inBasis.add(j);
  }

  add(column: Column): number {
    return this.columns.push(column) - 1;
  }

  /** Moves to the least cost. @returns prices of the rows, and the weight of each column */
  solve(): { prices: Float64Array; weights: Float64Array; cost: number } {
    const { rows, columns, basis, inverse } = this;
    const prices = new Float64Array(rows);
    const step = new Float64Array(rows);
    const level = new Float64Array(rows);
    const priceRows = () => {
      prices.fill(0);
      for (let r = 0; r < rows; r++) {
        const cost = columns[basis[r]!]!.cost;
        if (cost !== 0) for (let c = 0; c < rows; c++) prices[c] = prices[c]! + cost * inverse[r * rows + c]!;
      }
    };
    const readLevels = () => {
      for (let r = 0; r < rows; r++) {
        let sum = 0;
        for (let c = 0; c < rows; c++) sum += inverse[r * rows + c]! * this.rightSide[c]!;
        level[r] = sum;
      }
    };
    readLevels();
    for (let k = 0; k < MOST_PIVOTS; k++) {
      priceRows();
      let entering = -1;
      let least = -TINY;
      for (let j = 0; j < columns.length; j++) {
        if (this.inBasis.has(j)) continue;
        const { cost, row, value } = columns[j]!;
        let reduced = cost;
        for (let e = 0; e < row.length; e++) reduced -= prices[row[e]!]! * value[e]!;
        if (reduced < least) {
          least = reduced;
          entering = j;
        }
      }
      if (entering < 0) break;
      const { row, value } = columns[entering]!;
      for (let r = 0; r < rows; r++) {
        let sum = 0;
        for (let e = 0; e < row.length; e++) sum += inverse[r * rows + row[e]!]! * value[e]!;
        step[r] = sum;
      }
      let leaving = -1;
      let ratio = Number.POSITIVE_INFINITY;
      for (let r = 0; r < rows; r++) {
        if (step[r]! <= 1e-8) continue;
        const at = Math.max(0, level[r]!) / step[r]!;
        if (at < ratio - 1e-13 || (at <= ratio + 1e-13 && step[r]! > step[leaving]!)) {
          ratio = at;
          leaving = r;
        }
      }
      // Rounding alone leaves nothing in the way: the prices so far are as good as any.
      if (leaving < 0) break;
      this.pivot(entering, leaving, step);
      if (this.pivots % REFRESH === 0) this.invert();
      readLevels();
    }
    const weights = new Float64Array(columns.length);
    let cost = 0;
    for (let r = 0; r < rows; r++) {
      weights[basis[r]!] = Math.max(0, level[r]!);
      cost += columns[basis[r]!]!.cost * level[r]!;
    }
    return { prices, weights, cost };
  }

  private pivot(entering: number, leaving: number, step: Float64Array): void {
    const { rows, inverse } = this;
    const own = leaving * rows;
    const by = 1 / step[leaving]!;
    for (let c = 0; c < rows; c++) inverse[own + c] = inverse[own + c]! * by;
    for (let r = 0; r < rows; r++) {
      const factor = step[r]!;
      if (r === leaving || factor === 0) continue;
      for (let c = 0; c < rows; c++) inverse[r * rows + c] = inverse[r * rows + c]! - factor * inverse[own + c]!;
    }
    this.inBasis.delete(this.basis[leaving]!);
    this.inBasis.add(entering);
    this.basis[leaving] = entering;
    this.pivots++;
  }

  /** The basis's inverse worked out anew, by elimination with the largest pivot of each column. */
  private invert(): void {
    const { rows, basis, columns, inverse } = this;
    const wide = 2 * rows;
    const work = new Float64Array(rows * wide);
    for (let c = 0; c < rows; c++) {
      const { row, value } = columns[basis[c]!]!;
      for (let e = 0; e < row.length; e++) work[row[e]! * wide + c] = value[e]!;
      work[c * wide + rows + c] = 1;
    }
    for (let c = 0; c < rows; c++) {
      let top = c;
      for (let r = c + 1; r < rows; r++) if (Math.abs(work[r * wide + c]!) > Math.abs(work[top * wide + c]!)) top = r;
      const pivot = work[top * wide + c]!;
      if (Math.abs(pivot) < 1e-12) return;
      for (let k = c; k < wide; k++) {
        const held = work[top * wide + k]!;
        work[top * wide + k] = work[c * wide + k]!;
        work[c * wide + k] = held / pivot;
      }
      for (let r = 0; r < rows; r++) {
        const factor = work[r * wide + c]!;
        if (r === c || factor === 0) continue;
        for (let k = c; k < wide; k++) work[r * wide + k] = work[r * wide + k]! - factor * work[c * wide + k]!;
      }
    }
    for (let r = 0; r < rows; r++) for (let c = 0; c < rows; c++) inverse[r * rows + c] = work[r * wide + rows + c]!;
  }
}
