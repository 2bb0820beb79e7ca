import { PLACING_WORDS } from './placing.ts';
import { READING_WORDS } from './reading.ts';

/** The sentences of every finding of interval files. */
export const METER_WORDS = { ...READING_WORDS, ...PLACING_WORDS } as const;

export type MeterWords = typeof METER_WORDS;
