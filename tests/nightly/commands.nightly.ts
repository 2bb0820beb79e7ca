import { test } from 'vitest';
import { commands } from '../support/fuzz/commands.ts';
import { fuzzForShare } from './fuzz.ts';

test('command lines that nobody means', () => fuzzForShare(commands, 0.6), 3_600_000);
