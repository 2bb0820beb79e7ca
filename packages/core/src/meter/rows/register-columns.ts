import { isNumbered, registerByPlace } from '../part.ts';
import { type HeaderCell, unitOf } from '../table/header.ts';
import { readNumber } from '../table/numbers.ts';
import { columnName, type Shape } from '../table/shape.ts';
import { countOneAtATime } from './registers.ts';

/** A tariff has no more prices than so: what holds more different values is metered. */
const MOST_PRICES = 8;

/**
 * The register that a column's name tells of by its place alone (`Rate 1`, `Register 2`), where its values may be energy: a rate may be
 * a price as well, which has few values and is never nothing.
 */
export function placedRegister({ header, classes, rows, decimalComma }: Shape, column: number): string | undefined {
  const head = header[column];
  if (head === undefined || classes[column] !== 'number' || head.part !== undefined) return undefined;
  if (head.foreign === true || head.inactive !== undefined || head.tells !== undefined) return undefined;
  if ((head.skip !== undefined && head.skip !== 'other') || head.time !== undefined) return undefined;
  const register = registerIn(head);
  if (register === undefined || head.skip === undefined) return head.role === undefined ? register : undefined;
  const values = new Set(rows.map(({ cells }) => readNumber(cells[column] ?? '', decimalComma)));
  return values.has(0) || values.size > MOST_PRICES ? register : undefined;
}

export function isNamedTotal({ header }: Shape, column: number): boolean {
  return /^(?:(?:grand )?total|sum)$/.test(header[column]!.words.join(' '));
}

/** A price window, and no word of what is measured in it. */
const REGISTER =
  /^(?:hours? )?(?:(?:on|off|mid|part|super)?(?: ?peak)|shoulder|day|night|high|low|tier ?\d|t[1-4]|tou ?\d)(?: p[1-6])?$/;

/** The register that a column's name tells of, whatever else it may be: `Day`, which alone is a time; `Rate 1 kWh`, which may be a price. */
export function registerIn({ part, words }: HeaderCell): string | undefined {
  if (part !== undefined) return part.id;
  const bare = words.filter((word) => unitOf(word) === undefined).join(' ');
  return REGISTER.test(bare) ? bare : registerByPlace(bare);
}

/** Columns named after price windows alone ("Peak", "Off-Peak"), and the one named as their total. */
export function registersOf(shape: Shape, taken: ReadonlySet<number>) {
  const isFree = (c: number) => {
    const { skip, tells, role } = shape.header[c]!;
    return shape.classes[c] === 'number' && !taken.has(c) && (skip ?? tells ?? role) === undefined;
  };
  const named = (is: (head: HeaderCell) => boolean) =>
    shape.header.flatMap((head, c) => (isFree(c) && placedRegister(shape, c) === undefined && is(head) ? [c] : []));
  const placed = shape.header.flatMap((_, c) => (!taken.has(c) && placedRegister(shape, c) !== undefined ? [c] : []));
  const windows = [
    ...named(({ part, words }) => part?.kind === 'window' || REGISTER.test(words.join(' '))),
    ...placed,
  ].sort((a, b) => a - b);
  // Circuits and phases have numbers too.
  const numbered = windows.filter((c) => shape.header[c]!.part !== undefined && isNumbered(shape.header[c]!.part));
  const areRegisters = countOneAtATime(
    numbered.map((column) => ({ column })),
    shape,
  );
  const parts = areRegisters ? windows : windows.filter((c) => !numbered.includes(c));
  const totals = shape.header.flatMap((_, c) => (isFree(c) && isNamedTotal(shape, c) ? [c] : []));
  if (parts.length < 2 || totals.length > 1) return undefined;
  const [total] = totals;
  const about = {
    parts: parts.map((c) => columnName(shape, c)),
    partNumbers: parts.map((c) => c + 1),
  };
  if (total === undefined) return about;
  const valueAt = (cells: readonly string[], c: number) => readNumber(cells[c] ?? '', shape.decimalComma) || 0;
  // Each may be rounded by itself.
  const differs = shape.rows.filter(({ cells }) => {
    const sum = parts.reduce((all, c) => all + valueAt(cells, c), 0);
    return Math.abs(sum - valueAt(cells, total)) > 0.011 * Math.max(1, Math.abs(sum));
  });
  return {
    ...about,
    total: columnName(shape, total),
    totalNumber: total + 1,
    isSum: differs.length <= shape.rows.length / 50,
  };
}
