import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Sources of the core package. */
export const CORE = fileURLToPath(new URL('../../packages/core/src', import.meta.url));

const STATEMENT = /^(?:import|export)\s+(type\s+)?(?:([^'";]*?)\s+from\s+)?'([^']+)';/gms;

/** Every source file of a folder of core, or of core as a whole. */
export function sourcesIn(folder = ''): string[] {
  const files = readdirSync(join(CORE, folder), { recursive: true }).map(String);
  return files.filter((file) => file.endsWith('.ts')).map((file) => join(CORE, folder, file));
}

/** What a file imports; without `types` what is left of it at run time. */
export function importsOf(file: string, types: boolean): string[] {
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

/** A file of core as `axis/zone.ts`. */
export function nameOf(file: string): string {
  return relative(CORE, file).replaceAll('\\', '/');
}

/** Circles among files of core by way of their imports, types included: `a.ts → b.ts → a.ts`. */
export function circlesFrom(files: readonly string[]): { circles: string[]; files: number } {
  const circles = new Set<string>();
  const done = new Set<string>();
  const path: string[] = [];
  const visit = (file: string) => {
    if (!file.startsWith(CORE)) return;
    if (path.includes(file)) circles.add([...path.slice(path.indexOf(file)), file].map(nameOf).join(' → '));
    if (path.includes(file) || done.has(file)) return;
    path.push(file);
    for (const next of importsOf(file, true)) visit(next);
    path.pop();
    done.add(file);
  };
  for (const file of files) visit(file);
  return { circles: [...circles], files: done.size };
}
