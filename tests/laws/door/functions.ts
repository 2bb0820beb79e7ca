import { existsSync, readdirSync } from 'node:fs';

/** Folders of core that programs import from. */
export const FOLDERS = readdirSync('packages/core/src', { withFileTypes: true })
  .filter((entry) => entry.isDirectory())
  .map((entry) => entry.name)
  .filter((folder) => existsSync(`packages/core/src/${folder}/index.ts`));

export type Callable = (...args: unknown[]) => unknown;

/** Methods of exported objects that programs call themselves; a strategy's are called by the runner alone. */
const METHODS = ['forecast'];

/** Every function that a sub-path exports, by name. */
export async function functionsOf(folder: string): Promise<Map<string, Callable>> {
  const exported: Record<string, unknown> = await import(`../../../packages/core/src/${folder}/index.ts`);
  const found = new Map<string, Callable>();
  for (const [name, value] of Object.entries(exported)) {
    if (typeof value === 'function')
      found.set(
        name,
        /^class\b/.test(String(value)) ? (...args) => Reflect.construct(value, args) : (value as Callable),
      );
    else if (typeof value === 'object' && value !== null)
      for (const method of METHODS) {
        const own = (value as Record<string, unknown>)[method];
        if (typeof own === 'function') found.set(`${name}.${method}`, own.bind(value));
      }
  }
  return found;
}
