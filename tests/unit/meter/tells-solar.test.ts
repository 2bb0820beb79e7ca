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
