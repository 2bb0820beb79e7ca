import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { expect, it } from 'vitest';

const core = fileURLToPath(new URL('../../../packages/core/src', import.meta.url));
const STATEMENT = /^(?:import|export)\s+(type\s+)?(?:([^'";]*?)\s+from\s+)?'([^']+)';/gms;

/** What a file imports; without `types` what is left of it at run time. */
function importsOf(file: string, types: boolean): string[] {
  return [...readFileSync(file, 'utf8').matchAll(STATEMENT)].flatMap(([, type, what = '', from = '']) => {
    const names = /^\{([\s\S]*)\}$/
      .exec(what.trim())?.[1]
      ?.split(',')
      .map((name) => name.trim());
    const typesOnly = type !== undefined || names?.every((name) => name === '' || name.startsWith('type ')) === true;
    if (typesOnly && !types) return [];
    return [from.startsWith('.') ? resolve(dirname(file), from) : from];
  });
}

const name = (file: string) => relative(core, file).replaceAll('\\', '/');

it('no file of the tariff imports itself by way of others, types included', () => {
  const circles = new Set<string>();
  const done = new Set<string>();
  const path: string[] = [];
  const visit = (file: string) => {
    if (!file.startsWith(core)) return;
    if (path.includes(file)) circles.add([...path.slice(path.indexOf(file)), file].map(name).join(' → '));
    if (path.includes(file) || done.has(file)) return;
    path.push(file);
    for (const next of importsOf(file, true)) visit(next);
    path.pop();
    done.add(file);
  };
  const files = readdirSync(join(core, 'tariff'), { recursive: true }).map(String);
  for (const file of files) if (file.endsWith('.ts')) visit(join(core, 'tariff', file));
  expect(done.size).toBeGreaterThan(60);
  expect([...circles]).toEqual([]);
});

it.each([
  'compile.ts',
  'bill/bill.ts',
  'evaluate.ts',
  'marginal.ts',
  'reconcile.ts',
  'terms/registry.ts',
  'resolve/tariff.ts',
])('tariff/%s runs without a library', (start) => {
  /** Each file that is loaded with it, and the one that asks for it. */
  const askedBy = new Map<string, string>([[join(core, 'tariff', start), '']]);
  for (const file of askedBy.keys())
    if (file.startsWith(core))
      for (const next of importsOf(file, false)) if (!askedBy.has(next)) askedBy.set(next, name(file));
  expect(askedBy.size).toBeGreaterThan(5);
  expect([...askedBy].filter(([file]) => !file.startsWith(core))).toEqual([]);
});
