import { PLACING_WORDS } from './placing.ts';
import { READING_WORDS } from './reading.ts';

export type MeterWords = typeof READING_WORDS & typeof PLACING_WORDS;

/** The sentences of every finding of interval files. */
export const METER_WORDS: MeterWords = { ...READING_WORDS, ...PLACING_WORDS };
