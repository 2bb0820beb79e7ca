import { cellKind } from './numbers.ts';
import type { StampReader } from './stamps.ts';

/** What a cell of a sample looks like. */
export type CellClass = 'stamp' | 'date' | 'time' | 'number' | 'blank' | 'text';

/** What one cell looks like, by itself. */
export function classify(text: string, stamps: StampReader): CellClass {
  if (text.trim() === '') return 'blank';
  if (cellKind(text, false) === 'number')
    return /^\s*(?:19|20)\d{6}(?:\d{4}(?:\d{2})?)?\s*$|^\s*1[0-9]{9}(?:\d{3})?\s*$/.test(text) && stamps.read(text) >= 0
      ? stamps.hasTime
        ? 'stamp'
        : 'date'
      : 'number';
  if (stamps.read(text) >= 0) return stamps.hasTime ? 'stamp' : 'date';
  if (stamps.readTime(text)) return 'time';
  const kind = cellKind(text, true);
  return kind === 'text' ? 'text' : kind;
}
