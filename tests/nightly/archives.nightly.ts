import { test } from 'vitest';
import { archives } from '../support/fuzz/archives.ts';
import { fuzzForShare } from './fuzz.ts';

test('archives damaged on purpose', () => fuzzForShare(archives, 0.05), 3_600_000);
