import { expect, test } from 'vitest';
import { tellsSolar } from '../../../packages/core/src/meter/home/columns.ts';

const columns = (importKwh: number[], exportKwh: number[], loadKwh: number[]) => ({
  importKwh: Float64Array.from(importKwh),
  exportKwh: Float64Array.from(exportKwh),
  loadKwh: Float64Array.from(loadKwh),
});

test('what is sold by day tells the sun, from the first interval on', () => {
  const dark = Uint8Array.of(0, 1);
  expect(tellsSolar(columns([0, 5], [1, 0], [1, 5]), dark)).toBe(true);
  expect(tellsSolar(columns([1, 5], [0, 0], [1, 5]), dark)).toBe(false);
});

test('what the columns differ by in the dark is weighed by what is bought there, however little that is', () => {
  // In the dark they differ by 0.1 of 0.2 kWh, a half: by day they would have to by twice as much, more than all of it.
  expect(tellsSolar(columns([0.5, 0.2], [0, 0], [1, 0.3]), Uint8Array.of(0, 1))).toBe(false);
  // Without that they differ by a half by day alone.
  expect(tellsSolar(columns([0.5, 0.2], [0, 0], [1, 0.2]), Uint8Array.of(0, 1))).toBe(true);
});
