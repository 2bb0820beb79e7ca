// Kept answers: see tests/support/kept.ts.
import { expect, test } from 'vitest';
import { type CrossedFile, crossedFiles } from '../../support/crossed-files.ts';
import { inALine } from '../../support/ladders.ts';

/** Files that are kept together. */
const EACH = 25;
const groupsOf = (files: readonly CrossedFile[]) =>
  Array.from({ length: Math.ceil(files.length / EACH) }, (_, g) => [g, files.slice(EACH * g, EACH * (g + 1))] as const);
const keep = (files: readonly CrossedFile[]) =>
  expect(files.map(({ name, text, options }) => `${name}: ${inALine(text, options)}`).join('\n')).toMatchSnapshot();

test.each(groupsOf(crossedFiles(20_261_128)))('files in which any two oddities meet, %d', (_group, files) => {
  keep(files);
});

test.each(groupsOf(crossedFiles(20_261_129, true)))(
  'files with one oddity, in any unit and columns, %d',
  (_group, files) => {
    keep(files);
  },
);
