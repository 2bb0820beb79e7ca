import { quoteCell } from '../../input/cell.ts';
import type { FindingList } from '../findings.ts';
import { unwrap } from './numbers.ts';

/** What the cells of one kind of mark, point or comma, speak for. */
interface Seen {
  /** Cells in which it can only be the mark before decimals: 0.5, 12.34, 1,234.5. */
  decimal: number;
  /** Lines of the first of these, and the first cell. */
  lines: number[];
  cell: string | undefined;
  /** Cells in which it may part thousands as well: 1.234. */
  open: number;
  openLines: number[];
  /** Sum of these, read as decimals. */
  sum: number;
}

const nothing = (): Seen => ({ decimal: 0, lines: [], cell: undefined, open: 0, openLines: [], sum: 0 });

/**
 * Watches over all values of a column what its points and commas can mean. A sample of some hundred rows may not hold one
 * that tells, and 1.234 read the wrong way is a thousandth.
 */
export class Marks {
  readonly #point = nothing();
  readonly #comma = nothing();
  readonly #decimalComma: boolean;
  #integers = 0;
  #sumOfIntegers = 0;

  /** @param decimalComma how the sample was understood */
  constructor(decimalComma: boolean) {
    this.#decimalComma = decimalComma;
  }

  /** Looks at a cell of a row that is read. */
  see(cell: string, line: number): void {
    const point = cell.indexOf('.');
    const comma = cell.indexOf(',');
    if (point < 0 && comma < 0) {
      const value = Number(cell);
      // Beyond the safe integers a cell is damaged: it is refused where it is read, and would make the sums endless.
      if (value !== 0 && Number.isSafeInteger(value)) {
        this.#integers++;
        this.#sumOfIntegers += Math.abs(value);
      }
      return;
    }
    // The common case: a column that has shown the mark which the sample had.
    if (this.#decimalComma ? point < 0 && this.#comma.decimal > 0 : comma < 0 && this.#point.decimal > 0) return;
    const text = unwrap(cell).replace(/[^\d.,]/g, '');
    const at = Math.max(text.lastIndexOf('.'), text.lastIndexOf(','));
    const mark = text.charAt(at);
    const seen = mark === '.' ? this.#point : this.#comma;
    const head = text.slice(0, at);
    const tail = text.slice(at + 1);
    if (head.includes(mark)) return;
    if (/[.,]/.test(head) || tail.length !== 3 || !/^[1-9]\d{0,2}$/.test(head)) {
      seen.decimal++;
      seen.cell ??= cell;
      if (seen.lines.length < 20) seen.lines.push(line);
    } else {
      seen.open++;
      seen.sum += Number(`${head}.${tail}`);
      if (seen.openLines.length < 20) seen.openLines.push(line);
    }
  }

  /**
   * Says what can't be read without guessing.
   * @param source the column, fit to print
   */
  finish(source: string, findings: FindingList): void {
    const decimalComma = this.#decimalComma;
    const [mine, others] = decimalComma ? [this.#comma, this.#point] : [this.#point, this.#comma];
    const names = decimalComma ? (['comma', 'point'] as const) : (['point', 'comma'] as const);
    if (others.decimal > 0)
      findings.add(
        'decimal-mixed',
        'error',
        {
          why: mine.decimal > 0 ? 'in-other-rows' : 'after-whole-numbers',
          column: source,
          mark: names[0],
          otherMark: names[1],
        },
        {
          lines: others.lines,
          count: others.decimal,
          key: source,
          cell: others.cell === undefined ? undefined : quoteCell(others.cell, 'number'),
        },
      );
    else if (mine.open > 0 && mine.decimal === 0 && this.#integers > 0) {
      const sum = (each: number) => this.#sumOfIntegers + each * mine.sum;
      findings.add(
        'decimal-unclear',
        'error',
        { column: source, mark: names[0], sumIfThousands: sum(1000), sumIfDecimals: sum(1) },
        { lines: mine.openLines, count: mine.open, key: source },
      );
    }
  }
}
