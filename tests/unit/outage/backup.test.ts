import { checkDocument } from '@duskbank/core/input';
import { backupSchema, islandOf } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

const faults = (document: unknown) => {
  const checked = checkDocument(backupSchema, document);
  return checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.join('.')}`);
};

describe('the backup section', () => {
  test('takes a share or watts, one of them', () => {
    expect(faults({ load: { share: 0.4 } })).toEqual([]);
    expect(faults({ load: { watts: 600 } })).toEqual([]);
    expect(faults({})).toEqual([]);
    expect(faults({ load: { share: 0.4, watts: 600 } })).toEqual(['one-of load']);
    expect(faults({ load: {} })).toEqual(['one-of load']);
    expect(faults({ load: { share: 40 } })).toEqual(['out-of-range load.share']);
    expect(faults({ load: { watts: 0 } })).toEqual(['out-of-range load.watts']);
    expect(faults({ lod: { watts: 1 } })).toEqual(['unknown-key lod']);
  });

  const axis = axisOf(4, 30);
  const island = (backup: object, plant = plantOf()) =>
    islandOf({ axis, plant, backup, loadKwh: Float64Array.of(1, 2, 3, 4), solarKwh: series(4, 3) });

  test('the load is a share, a constant draw, or what the battery reaches', () => {
    expect([...island({ load: { share: 0.25 } }).loadKwh]).toEqual([0.25, 0.5, 0.75, 1]);
    expect([...island({ load: { watts: 600 } }).loadKwh]).toEqual([0.3, 0.3, 0.3, 0.3]);
    expect([...island({}).loadKwh]).toEqual([1, 2, 3, 4]);
    expect([...island({}, plantOf({ reach: 0.5 })).loadKwh]).toEqual([0.5, 1, 1.5, 2]);
    expect([...island({}, plantOf({ reach: Float64Array.of(2, 1, 1, 9) })).loadKwh]).toEqual([1, 1, 1, 4]);
    expect(island({}, plantOf({ reach: 0.5 })).basis).toBe('50 % of the metered load, no solar on the island');
  });

  test('solar counts only on the island’s side, and within the coupling limit', () => {
    expect([...island({}).solarKwh]).toEqual([0, 0, 0, 0]);
    expect([...island({}, plantOf({ coupling: 'dc' })).solarKwh]).toEqual([3, 3, 3, 3]);
    expect([...island({ solarOnIsland: false }, plantOf({ coupling: 'dc' })).solarKwh]).toEqual([0, 0, 0, 0]);
    expect([...island({ solarOnIsland: true, solarLimitKw: 4 }).solarKwh]).toEqual([2, 2, 2, 2]);
  });
});
