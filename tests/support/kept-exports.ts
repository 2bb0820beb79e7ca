import { expect, test } from 'vitest';
import { functionsOf } from '../laws/door/functions.ts';
import { RECIPES } from '../laws/door/recipes.ts';
import { keptOf } from './kept.ts';
import { type GoneInto, keptRefused } from './kept-doors.ts';

/**
 * Keeps what every function that a folder exports answers to its recipe, or what it did to its arguments; and how it
 * refuses them where one part is wrong.
 */
export async function keepExports(folder: string): Promise<void> {
  const functions = await functionsOf(folder);
  test.each(Object.entries(RECIPES[folder]!))('%s', async (name, { args }) => {
    const given = args();
    expect(await keptOf(async () => (await functions.get(name)!(...given)) ?? given)).toMatchSnapshot();
  });
  const gone: GoneInto = new WeakMap();
  test.each(Object.entries(RECIPES[folder]!))('%s refuses', async (name, { args }) => {
    expect(await keptRefused(functions.get(name)!, args(), gone)).toMatchSnapshot();
  });
}
