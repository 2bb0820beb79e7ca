import { expect, it } from 'vitest';
import { circlesFrom, sourcesIn } from '../support/imports.ts';

it('no file of core imports itself by way of others, types included', () => {
  const found = circlesFrom(sourcesIn());
  expect(found.files).toBeGreaterThan(200);
  expect(found.circles).toEqual([]);
});
