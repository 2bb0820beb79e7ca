import { posix, win32 } from 'node:path';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { beside, folderOf } from '../../../packages/core/src/site/paths.ts';

const name = fc.constantFrom('a', 'b c', '..', '.', 'd.csv', 'ä');
const relative = fc.array(name, { minLength: 1, maxLength: 5 }).map((parts) => parts.join('/'));

test('a path is read from the folder of the file that names it, as a file system would', () => {
  fc.assert(
    fc.property(fc.constantFrom('', '/', './'), relative, relative, (root, folder, path) => {
      const site = `${root}${folder}/site.json`;
      expect(beside(folderOf(site), path)).toBe(posix.join(posix.dirname(site), path).replace(/(?<=.)\/$/, ''));
    }),
    { seed: 11 },
  );
});

test('an absolute path stays as it is, on either kind of system', () => {
  expect(beside('homes/one', '/data/home.csv')).toBe('/data/home.csv');
  expect(beside('homes/one', 'C:\\data\\home.csv')).toBe('C:\\data\\home.csv');
});

test('back slashes separate too: the parts are those of a Windows path', () => {
  const joined = beside(folderOf('C:\\homes\\one\\site.json'), '..\\two\\home.csv');
  expect(win32.normalize(joined)).toBe('C:\\homes\\two\\home.csv');
});

test('a file beside the one that names it keeps its bare name', () => {
  expect(beside(folderOf('site.json'), 'home.csv')).toBe('home.csv');
});
