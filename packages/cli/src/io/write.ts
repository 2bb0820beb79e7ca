import {
  closeSync,
  existsSync,
  fchmodSync,
  fchownSync,
  fstatSync,
  fsyncSync,
  linkSync,
  mkdirSync,
  openSync,
  renameSync,
  rmdirSync,
  type Stats,
  writeFileSync,
} from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { InputError } from '@duskbank/core/input';
import { inputFault } from './fail.ts';
import { newPart, removeQuietly, sweepParts } from './part.ts';
import { cannotWrite, outputPlace } from './place.ts';

/**
 * Refuses a place that {@link writeWhole} may not or can't write to: ask before long work whose result would have nowhere
 * to go, and once all that the run reads is known.
 *
 * @param force replace a file that Duskbank did not write, too
 */
export function refuseOutput(path: string, force: boolean): void {
  outputPlace(path, force);
}

/**
 * Writes a file whole or not at all: into a neighbour first, then by rename. What was there keeps its owner and mode.
 * Every output of a command goes through here, and so through the rules of {@link outputPlace}.
 */
export async function writeWhole(path: string, chunks: Iterable<string>, force: boolean): Promise<void> {
  const { target } = outputPlace(path, force);
  sweepParts(dirname(target));
  const part = newPart(dirname(target));
  const forget = removeAtEnd(part);
  try {
    // Until it has the mode of what it replaces, nobody else may look into it.
    const descriptor = openSync(part, 'wx', existsSync(target) ? 0o600 : 0o666);
    try {
      for (const chunk of chunks) {
        writeFileSync(descriptor, chunk);
        // Signals are heard between chunks only.
        await nextTurn();
      }
      // Looked at again: work was long, and somebody may have put a file there meanwhile.
      const { there } = outputPlace(target, force);
      if (there !== undefined) keepOwnerAndMode(descriptor, there);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    await nextTurn();
    renameSync(part, target);
  } catch (error) {
    throw cannotWrite(path, error);
  } finally {
    removeQuietly(part);
    forget();
  }
}

function keepOwnerAndMode(descriptor: number, { uid, gid, mode }: Stats): void {
  const own = fstatSync(descriptor);
  if (own.uid !== uid || own.gid !== gid) fchownSync(descriptor, uid, gid);
  if (own.mode !== mode) fchmodSync(descriptor, mode & 0o7777);
}

/** Signals that leave time to clean up. Where a terminal closes or a run is killed, the next one sweeps. */
const SIGNALS = ['SIGINT', 'SIGTERM'] as const;

/** Removes a file if the run ends, by a signal or otherwise, before the returned function is called. */
function removeAtEnd(path: string): () => void {
  const remove = () => removeQuietly(path);
  const die = (signal: NodeJS.Signals) => {
    remove();
    forget();
    // Once more with nobody listening, so that the caller sees which signal it was.
    process.kill(process.pid, signal);
  };
  const forget = () => {
    process.off('exit', remove);
    for (const signal of SIGNALS) process.off(signal, die);
  };
  process.on('exit', remove);
  for (const signal of SIGNALS) process.on(signal, die);
  return forget;
}

/**
 * Writes new files into a folder, all of them or none, and makes the folder where it is missing. Overwrites nothing.
 *
 * @param texts what to write under which name
 * @returns the paths of the files
 */
export function writeNew(folder: string, texts: Readonly<Record<string, string>>): string[] {
  if (folder === '') throw cannotWrite(folder, { code: 'ENOENT' });
  const paths = Object.keys(texts).map((name) => join(folder, name));
  const taken = paths.filter((path) => existsSync(path));
  if (taken.length > 0) throw new InputError(taken.flatMap((path) => alreadyThere(path).issues));
  const missing = missingFolders(folder);
  const made: string[] = [];
  try {
    // One by one: where the system refuses what it says isn't there (/proc), making them all at once never ends on Node 20.
    for (const path of missing.toReversed()) mkdirSync(path);
    sweepParts(folder);
    const parts = Object.values(texts).map((text) => {
      const part = newPart(folder);
      made.push(part);
      writeFileSync(part, text, { flag: 'wx', flush: true });
      return part;
    });
    for (const [k, path] of paths.entries()) {
      place(parts[k]!, path, made);
    }
  } catch (error) {
    for (const path of made) removeQuietly(path);
    for (const path of missing) removeIfEmpty(path);
    throw cannotWrite(folder, error);
  }
  return paths;
}

/**
 * Gives a whole file its name, or refuses where another has it. A rename would replace that one; a second name is given
 * only where it is free, and at once, so that a run that is killed leaves no file half made.
 *
 * @param made gets the path, once it is ours to remove
 */
function place(part: string, path: string, made: string[]): void {
  try {
    linkSync(part, path);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST') throw alreadyThere(path);
    if (code === undefined || !NO_SECOND_NAMES.has(code)) throw error;
    // Some disks (FAT) know one name a file only. There the name is taken by an empty file first.
    claim(path);
    made.push(path);
    renameSync(part, path);
    return;
  }
  made.push(path);
  removeQuietly(part);
}

/** How systems refuse a second name on a disk that knows none. */
const NO_SECOND_NAMES: ReadonlySet<string> = new Set(['EPERM', 'ENOTSUP', 'EOPNOTSUPP', 'ENOSYS', 'EMLINK']);

/** Takes a name by an empty file, or refuses where another has it. */
function claim(path: string): void {
  try {
    closeSync(openSync(path, 'wx'));
  } catch (error) {
    throw (error as NodeJS.ErrnoException).code === 'EEXIST' ? alreadyThere(path) : error;
  }
}

/** A folder and those above it that don't exist, the deepest first. */
function missingFolders(folder: string): string[] {
  const missing: string[] = [];
  for (let path = resolve(folder); !existsSync(path); path = dirname(path)) missing.push(path);
  return missing;
}

function removeIfEmpty(folder: string): void {
  try {
    rmdirSync(folder);
  } catch {}
}

function alreadyThere(path: string): InputError {
  return inputFault({
    code: 'file-exists',
    where: { file: path },
    received: 'a file of this name',
    expected: 'none: nothing of yours is overwritten',
    hint: 'name another folder, or move the file away',
  });
}
