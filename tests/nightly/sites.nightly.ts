import { test } from 'vitest';
import { sites } from '../support/fuzz/documents.ts';
import { fuzzForShare } from './fuzz.ts';

test('files of sites damaged on purpose', () => fuzzForShare(sites, 1), 3_600_000);
