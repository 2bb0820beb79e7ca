import type { FindingList } from '../findings.ts';
import { readHeader } from './header.ts';
import { cellKind } from './numbers.ts';
import type { Shape } from './shape.ts';

/**
 * Watches whether rows have as many fields as their header has names. A field too many moves values under another name,
 * as a decimal comma does between fields parted by commas (0,780 becomes 0 and 780); a field too few does the same. A
 * field beyond the last name that is empty or holds a note moves nothing, nor does a last name that is missing throughout.
 */
export class FieldCount {
  #most: number;
  #least: number;
  #rows = 0;
  #more = 0;
  #byOne = 0;
  /** Rows with more fields in which digits follow digits, so that they may be halves of one number. */
  #halves = 0;
  #moreLines: number[] = [];
  #fewerLines: number[] = [];
  #fewer = 0;

  constructor(shape: Shape) {
    this.#most = shape.names.length > 0 ? shape.names.length : commonLength(shape);
    this.#least = shape.names.length > 0 ? neededLength(shape.names) : this.#most;
  }

  /** Rows from here on stand under another header. */
  head(names: readonly string[]): void {
    this.#most = names.length;
    this.#least = neededLength(names);
  }

  /** Looks at a row that is read. */
  see(cells: readonly string[], line: number): void {
    this.#rows++;
    if (cells.length >= this.#least && cells.length <= this.#most) return;
    if (cells.length < this.#least) {
      this.#fewer++;
      if (this.#fewerLines.length < 20) this.#fewerLines.push(line);
      return;
    }
    const extra = cells.slice(this.#most).filter((cell) => cell.trim() !== '');
    if (!extra.some((cell) => cellKind(cell, false) === 'number' || cellKind(cell, true) === 'number')) return;
    this.#more++;
    if (extra.length === 1) this.#byOne++;
    if (this.#moreLines.length < 20) this.#moreLines.push(line);
    const before = cells[this.#most - 1] ?? '';
    if (/^\s*[-+]?\d+\s*$/.test(before) && extra.every((cell) => /^\s*\d+\s*$/.test(cell))) this.#halves++;
  }

  /** Says what was seen. */
  finish(delimiter: string, findings: FindingList): void {
    const looksHalved = delimiter === ',' && this.#halves === this.#more;
    // One more in every row, and no half of a number: the header lacks its last name.
    const lacksName = this.#more === this.#rows && this.#byOne === this.#rows && this.#halves < this.#rows / 2;
    if (this.#more > 0 && !lacksName)
      findings.add(
        'fields-differ',
        'error',
        { why: looksHalved ? 'decimal-comma' : 'more', fields: this.#most },
        { lines: this.#moreLines, count: this.#more, key: 'more' },
      );
    if (this.#fewer > 0)
      findings.add(
        'fields-differ',
        'error',
        { why: 'fewer', fields: this.#least },
        { lines: this.#fewerLines, count: this.#fewer, key: 'fewer' },
      );
  }
}

/** Fields up to the last that has a name; notes at the end of a row may be left off where there are none. */
function neededLength(names: readonly string[]): number {
  let length = names.length;
  while (length > 0 && (names[length - 1]!.trim() === '' || readHeader(names[length - 1]!).tells === 'quality'))
    length--;
  return length;
}

/** The commonest number of fields in the sample, where no header says how many there are. */
function commonLength({ rows }: Shape): number {
  const counts = new Map<number, number>();
  for (const { cells } of rows) counts.set(cells.length, (counts.get(cells.length) ?? 0) + 1);
  return [...counts].reduce((best, each) => (each[1] > best[1] ? each : best), [0, 0])[0];
}
