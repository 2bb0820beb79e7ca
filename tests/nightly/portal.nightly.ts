import { expect, it } from 'vitest';
import { blockFile, portalFile, readBlockFile, readPortalFile } from '../support/portal-files.ts';

const FIRST = Number(process.env.NIGHTLY_SEED ?? 1);
const FILES = 2_400;

it('of 2,400 files as portals write them none is read wrongly, and at least 95 % need no answer', () => {
  const asked: string[] = [];
  for (let seed = FIRST; seed < FIRST + FILES; seed++) {
    const file = portalFile(seed);
    const { verdict, why } = readPortalFile(file);
    expect(verdict, `seed ${seed}, ${file.manner}: ${why}`).not.toBe('wrong');
    if (verdict === 'asked') asked.push(`seed ${seed}, ${file.manner}: ${why}`);
  }
  expect(asked.length, asked.slice(0, 20).join('\n')).toBeLessThanOrEqual(0.05 * FILES);
}, 7_200_000);

it('of 2,400 with a block a day none is read wrongly, nor on another day, and at least 95 % need no answer', () => {
  const asked: string[] = [];
  for (let seed = FIRST; seed < FIRST + FILES; seed++) {
    const file = blockFile(seed);
    const { verdict, why } = readBlockFile(file);
    expect(verdict, `seed ${seed}, ${file.manner}: ${why}`).not.toBe('wrong');
    if (verdict === 'asked') asked.push(`seed ${seed}, ${file.manner}: ${why}`);
  }
  expect(asked.length, asked.slice(0, 20).join('\n')).toBeLessThanOrEqual(0.05 * FILES);
}, 7_200_000);
