import { test } from 'vitest';
import { tariffs } from '../support/fuzz/documents.ts';
import { fuzzForShare } from './fuzz.ts';

test('files of tariffs damaged on purpose', () => fuzzForShare(tariffs, 1), 3_600_000);
