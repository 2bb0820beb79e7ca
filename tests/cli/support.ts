import { spawnSync } from 'node:child_process';
import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll } from 'vitest';
import { unspeakable } from '../support/fuzz/fuzzer.ts';

/** The project's root folder. */
export const ROOT = fileURLToPath(new URL('../..', import.meta.url));

/** The built command line, as it ships. */
export const BINARY = join(ROOT, 'packages/cli/bin/duskbank.js');

/** What a run of the command line left. */
export interface Run {
  /** Exit code; null where a signal ended it. */
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

refuseStaleBuild();

const folders: string[] = [];
afterAll(() => {
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
});

/** A temporary folder with the given files (text, bytes, or null for a folder), gone when the test file ends. */
export function folderWith(files: Readonly<Record<string, string | Uint8Array | null>> = {}): string {
  const folder = mkdtempSync(join(tmpdir(), 'duskbank-test-'));
  folders.push(folder);
  for (const [name, content] of Object.entries(files)) {
    const path = join(folder, name);
    mkdirSync(content === null ? path : dirname(path), { recursive: true });
    if (content !== null) writeFileSync(path, content);
  }
  return folder;
}

/** A temporary folder with a copy of one of our fixtures: `demo`, `small`. */
export function copyOf(fixture: string): string {
  const folder = folderWith();
  cpSync(join(ROOT, 'fixtures', fixture), folder, { recursive: true });
  return folder;
}

/** Leaves of the home in a folder its first days: enough where only words are looked for. Give it a copy. */
export function cutHome(folder: string, days = 60): void {
  const path = join(folder, 'home.csv');
  const [header, ...rows] = readFileSync(path, 'utf8').trimEnd().split('\n');
  writeFileSync(path, `${[header, ...rows.slice(0, days * 96)].join('\n')}\n`);
}

/**
 * Runs the built command line in a folder and returns what came of it. No terminal, no colour wanted.
 * @throws where it printed what nobody can read: ∞, NaN, undefined, [object Object]
 */
export function duskbank(args: readonly string[], cwd = folderWith(), env: NodeJS.ProcessEnv = {}): Run {
  const { NO_COLOR, FORCE_COLOR, TERM, ...plain } = process.env;
  const result = spawnSync(process.execPath, [BINARY, ...args], {
    cwd,
    // A date before that of any data: lines of the year begin where the data end, whenever the test runs.
    env: { ...plain, SOURCE_DATE_EPOCH: '0', ...env },
    encoding: 'utf8',
    maxBuffer: 64 * 1024 * 1024,
    timeout: 60_000,
  });
  const { status, stdout, stderr } = result;
  const wrong = unspeakable(stdout) ?? unspeakable(stderr);
  if (wrong !== undefined) throw new Error(`duskbank ${args.join(' ')} ${wrong}`);
  return { status, stdout, stderr };
}

/** A whole run as one text, for a golden file. */
export function wholeRun(args: readonly string[], run: Run): string {
  return `$ duskbank ${args.join(' ')}\n${run.stdout}${run.stderr === '' ? '' : `--- stderr\n${run.stderr}`}--- exit ${run.status}\n`;
}

/** A printed object as a golden file: an entry a line, numbers to the sixth decimal, since the last bits are nobody's promise. */
export function goldenJson(printed: unknown): string {
  const rounded = JSON.stringify(
    printed,
    (_key, value) => (typeof value === 'number' ? Number(value.toFixed(6)) : value),
    2,
  );
  return `${rounded}\n`;
}

/** Lines that are too long for a terminal of 80 columns. */
export function tooWide(text: string): string[] {
  return text.split('\n').filter((line) => [...line].length > 80);
}

/** Tests of a build that is older than its sources say nothing about the sources. */
function refuseStaleBuild(): void {
  const built = join(ROOT, 'packages/cli/dist/main.js');
  const newest = Math.max(...['packages/cli/src', 'packages/core/src'].map((folder) => newestIn(join(ROOT, folder))));
  if (!existsSync(built) || statSync(built).mtimeMs < newest)
    throw new Error('the build is missing or older than its sources: run "pnpm build", then these tests');
}

function newestIn(folder: string): number {
  let newest = 0;
  for (const entry of readdirSync(folder, { withFileTypes: true })) {
    const path = join(folder, entry.name);
    newest = Math.max(newest, entry.isDirectory() ? newestIn(path) : statSync(path).mtimeMs);
  }
  return newest;
}
