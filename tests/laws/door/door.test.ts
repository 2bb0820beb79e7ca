import { InputError } from '@duskbank/core/input';
import { describe, expect, test } from 'vitest';
import { FOLDERS, functionsOf } from './functions.ts';
import { hostileForms, notFinite, settled, watched } from './hostile.ts';
import { RECIPES } from './recipes.ts';

/** Hostile calls of each function beside those that replace an argument whole. */
const CALLS = Number(process.env.DOOR_CALLS ?? 60);

describe.each(FOLDERS)('%s', async (folder) => {
  const functions = await functionsOf(folder);
  const recipes = RECIPES[folder] ?? {};

  test('every exported function has a recipe, and every recipe a function', () => {
    expect(Object.keys(recipes).sort()).toEqual([...functions.keys()].sort());
  });

  test.each([...functions])('%s refuses what is hostile as data, or answers', async (name, call) => {
    const recipe = recipes[name]!;
    await call(...recipe.args());
    let calls = 0;
    for (const args of hostileForms(recipe.args(), CALLS, Number(process.env.DOOR_SEED ?? 1) + name.length)) {
      calls++;
      const { result, thrown, slow } = await settled(watched(() => call(...args)));
      const shown = () => `call ${calls} of ${name}: ${briefly(args)}`;
      if (thrown !== undefined && !(thrown instanceof InputError))
        throw new Error(`${shown()} threw ${thrown instanceof Error ? thrown.stack : String(thrown)}`);
      if (thrown instanceof InputError) expect(thrown.issues.length, shown()).toBeGreaterThan(0);
      if (slow) throw new Error(`${shown()} took more than a second`);
      if (thrown === undefined && recipe.allows !== 'gaps')
        expect(notFinite(result, recipe.allows === 'infinite'), shown()).toBeUndefined();
    }
    // What takes no argument can be called in one way only.
    expect(calls).toBeGreaterThanOrEqual(recipe.args().length === 0 ? 1 : 50);
  });
});

/** Arguments in a few words, whatever they are. */
function briefly(value: unknown, depth = 3): string {
  if (typeof value === 'function') return 'a function';
  if (typeof value !== 'object' || value === null)
    return typeof value === 'string' ? JSON.stringify(value).slice(0, 30) : String(value);
  if (ArrayBuffer.isView(value)) {
    const array = value as Float64Array;
    const odd = array.findIndex((entry) => !Number.isFinite(entry) || entry < 0 || Math.abs(entry) > 1e12);
    return `${array.constructor.name}(${array.length})${odd < 0 ? '' : ` with ${array[odd]} at ${odd}`}`;
  }
  if (depth === 0) return '…';
  const inner = Object.entries(value)
    .slice(0, 12)
    .map(([key, part]) => `${key}: ${briefly(part, depth - 1)}`);
  return `{${inner.join(', ')}}`;
}
