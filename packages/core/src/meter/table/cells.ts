import { cellKind, VALUE_WITH_UNIT } from './numbers.ts';
import { namesHours, type StampReader } from './stamps.ts';

/** What a cell of a sample looks like. */
export type CellClass = 'stamp' | 'date' | 'time' | 'number' | 'blank' | 'text';

/** A day of a spreadsheet with its time, as in 45658.0104166667: any number may look so. */
const SERIAL_TIME = /^\s*(?:3[5-9]|4\d|5\d)\d{3}(?:[.,]\d{1,12})?\s*$/;

/** What one cell looks like, by itself; a number of some ten thousand is a date where `serials` says that nothing else is one. */
export function classify(text: string, stamps: StampReader, serials = false): CellClass {
  if (text.trim() === '') return 'blank';
  if (serials && SERIAL_TIME.test(text)) return 'stamp';
  if (cellKind(text, false) === 'number')
    return /^\s*(?:19|20)\d{6}(?:\d{4}(?:\d{2})?)?\s*$|^\s*1[0-9]{9}(?:\d{3})?\s*$/.test(text) && stamps.read(text) >= 0
      ? stamps.hasTime
        ? 'stamp'
        : 'date'
      : 'number';
  if (stamps.read(text) >= 0) return stamps.hasTime ? 'stamp' : 'date';
  if (!namesHours(text) && stamps.readTime(text)) return 'time';
  const kind = cellKind(text, true);
  return kind === 'text' && VALUE_WITH_UNIT.test(text) ? 'number' : kind;
}
