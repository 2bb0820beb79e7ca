import { expect, test } from 'vitest';
import { functionsOf } from '../laws/door/functions.ts';
import { RECIPES } from '../laws/door/recipes.ts';
import { kept, keptOf } from './kept.ts';
import { type GoneInto, keptRefused } from './kept-doors.ts';

/** Facts that a folder exports as data: what appliances draw, what words are known. Schemas have a document of their own. */
async function tablesOf(folder: string): Promise<[string, unknown][]> {
  const all = await import(`../../packages/core/src/${folder}/index.ts`);
  return Object.entries(all).filter(
    ([, value]) => typeof value !== 'function' && !(typeof value === 'object' && value !== null && '_zod' in value),
  );
}

/**
 * Keeps what every function that a folder exports answers to its recipe, or what it did to its arguments; and how it
 * refuses them where one part is wrong; and each table that it exports, whole.
 */
export async function keepExports(folder: string): Promise<void> {
  const functions = await functionsOf(folder);
  test.each(Object.entries(RECIPES[folder]!))('%s', async (name, { args }) => {
    const given = args();
    expect(await keptOf(async () => (await functions.get(name)!(...given)) ?? given)).toMatchSnapshot();
  });
  for (const [name, table] of await tablesOf(folder))
    test(`the table ${name}`, () => expect(kept(table)).toMatchSnapshot());
  const gone: GoneInto = new WeakMap();
  test.each(Object.entries(RECIPES[folder]!))('%s refuses', async (name, { args }) => {
    expect(await keptRefused(functions.get(name)!, args(), gone)).toMatchSnapshot();
  });
}
