import { lstatSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';

/** A command that writes, on the small home: what a run that is killed may leave, and what the next one must. */
export interface Writing {
  readonly name: string;
  readonly args: readonly string[];
  /** What it writes. */
  readonly targets: readonly string[];
  /** What stood there before; where nothing is named, nothing. */
  readonly old?: string;
  /** The folder that it is run in: a copy of the small home, or an empty one. */
  readonly folder: 'small' | 'empty';
}

/** Every command that writes a file, once onto nothing and, where it replaces its own files, once onto an old one. */
export const WRITINGS: readonly Writing[] = [
  {
    name: 'compare --intervals',
    args: ['compare', 'site.yaml', '--strategy', 'none', '--csv', '--intervals', 'flows.csv'],
    targets: ['flows.csv'],
    folder: 'small',
  },
  {
    name: 'compare --intervals onto its own',
    args: ['compare', 'site.yaml', '--strategy', 'none', '--csv', '--intervals', 'flows.csv'],
    targets: ['flows.csv'],
    old: '# format: duskbank.interval/1\nold\n',
    folder: 'small',
  },
  {
    name: 'inspect --write',
    args: ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'clean.csv'],
    targets: ['clean.csv'],
    folder: 'small',
  },
  {
    name: 'inspect --write onto its own',
    args: ['inspect', 'home.csv', '--zone', 'Australia/Adelaide', '--write', 'clean.csv'],
    targets: ['clean.csv'],
    old: '# format: duskbank.interval/1\nold\n',
    folder: 'small',
  },
  { name: 'init', args: ['init', '.'], targets: ['site.yaml', 'tariff.yaml'], folder: 'empty' },
];

/** All files below a folder, with their content. */
export function filesIn(folder: string): Map<string, string> {
  const names = readdirSync(folder, { recursive: true, encoding: 'utf8' }).sort();
  return new Map(
    names
      .filter((name) => lstatSync(join(folder, name)).isFile())
      .map((name) => [name, readFileSync(join(folder, name), 'latin1')]),
  );
}

/** Whether a name is one that a run gives to a file that isn't whole yet. */
const isPart = (name: string) => /(^|[\\/])\.duskbank-[^\\/]*\.part$/.test(name);

/**
 * What is wrong with a folder after a run was killed in it: each target must be as it was or whole, everything else as it
 * was, but for unfinished files of the run, which only the next one can remove.
 *
 * @param before the folder as the run found it
 * @param whole the targets as a run leaves them that isn't killed
 */
export function wrongAfterKill(
  { targets }: Writing,
  before: ReadonlyMap<string, string>,
  whole: ReadonlyMap<string, string>,
  after: ReadonlyMap<string, string>,
): string[] {
  const wrong: string[] = [];
  for (const [name, text] of after) {
    if (isPart(name) || text === before.get(name)) continue;
    if (!targets.includes(name)) wrong.push(`${name} has changed, or is new`);
    else if (text !== whole.get(name)) wrong.push(`${name} is neither as it was nor whole: ${text.length} bytes`);
  }
  for (const name of before.keys()) if (!after.has(name)) wrong.push(`${name} is gone`);
  return wrong;
}

/** What is wrong with a folder once the next run has ended: the targets are whole, and nothing else is there. */
export function wrongAfterNext(
  { targets }: Writing,
  before: ReadonlyMap<string, string>,
  whole: ReadonlyMap<string, string>,
  after: ReadonlyMap<string, string>,
): string[] {
  const wrong = targets
    .filter((name) => after.get(name) !== whole.get(name))
    .map((name) => `${name} isn't whole after the next run`);
  for (const name of after.keys())
    if (!before.has(name) && !targets.includes(name)) wrong.push(`${name} is left behind`);
  return wrong;
}
