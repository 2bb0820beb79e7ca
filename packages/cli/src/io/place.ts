import { accessSync, constants, existsSync, fstatSync, lstatSync, realpathSync, type Stats, statSync } from 'node:fs';
import { basename, dirname, join, sep } from 'node:path';
import type { InputError } from '@duskbank/core/input';
import { inputFault } from './fail.ts';
import { isOurs } from './ours.ts';
import { inputAt } from './read.ts';

/** Where an output goes. */
export interface Place {
  /** The file that is written: where links lead, under its real path. */
  readonly target: string;
  /** What is there now. */
  readonly there: Stats | undefined;
}

/**
 * Where a run may write, or the fault that says why not. A new name is free. What this run reads is never an output, by
 * no name and with no option; nor is a folder, a pipe, a device, a read-only file, a file of somebody else. A file that
 * Duskbank wrote may be replaced, any other one only with `force`.
 *
 * Links are followed: the file that they lead to is the one that is written.
 */
export function outputPlace(path: string, force: boolean): Place {
  try {
    const place = locate(path);
    refuseInput(path, place.target);
    if (place.there !== undefined) refuseTaken(path, { ...place, there: place.there }, force);
    accessSync(dirname(place.target), constants.W_OK | constants.X_OK);
    return place;
  } catch (error) {
    throw cannotWrite(path, error);
  }
}

function locate(path: string): Place {
  if (path === '' || path.endsWith('/') || path.endsWith(sep))
    throw unfit(path, path === '' ? 'an empty name' : 'the name of a folder', 'name a file');
  const there = lookAt(path, statSync);
  if (there === undefined) {
    if (lookAt(path, lstatSync) !== undefined) throw unfit(path, 'a link that leads nowhere', 'remove the link');
    const folder = firstThere(dirname(path));
    if (folder?.isDirectory() !== true || lookAt(dirname(path), statSync) === undefined)
      throw cannotWrite(path, { code: folder?.isDirectory() === false ? 'ENOTDIR' : 'ENOENT' });
    return { target: join(realpathSync(dirname(path)), basename(path)), there };
  }
  if (there.isDirectory())
    throw unfit(path, 'a folder of this name', `name a file in it, such as ${join(path, 'intervals.csv')}`);
  if (!there.isFile())
    throw unfit(path, there.isFIFO() ? 'a pipe' : there.isSocket() ? 'a socket' : 'a device', 'name a file');
  return { target: realpathSync(path), there };
}

function refuseInput(path: string, target: string): void {
  const input = inputAt(target);
  if (input === undefined) return;
  throw inputFault({
    code: 'output-is-input',
    where: { file: path },
    received: input === path ? 'a file that this run reads' : `a file that this run reads, as ${input}`,
    expected: 'the name of another file',
    hint: 'name a new file: what a run reads is never written over',
  });
}

function refuseTaken(path: string, { target, there }: Place & { there: Stats }, force: boolean): void {
  if (isPrintedTo(there)) throw unfit(path, 'the file that this run prints to', 'name another file');
  if ((there.mode & 0o222) === 0) throw unfit(path, 'a read-only file', 'name a new file, or make it writable first');
  if (!canKeepOwner(there)) throw unfit(path, 'a file of somebody else', 'name a new file');
  accessSync(target, constants.W_OK);
  if (!force && !isOurs(target))
    throw inputFault({
      code: 'file-exists',
      where: { file: path },
      received: 'a file that is there and that Duskbank did not write',
      expected: 'a new name, or a file that Duskbank wrote',
      hint: 'name a new file, or add --force to replace this one',
    });
}

function unfit(path: string, received: string, hint: string): InputError {
  return inputFault({
    code: 'cannot-write',
    where: { file: path },
    received,
    expected: 'the name of a file, new or to be replaced',
    hint,
  });
}

/** Whether what the run prints goes into this very file (`> FILE`): replaced, it would take the output with it. */
function isPrintedTo({ dev, ino }: Stats): boolean {
  return [1, 2].some((stream) => {
    try {
      const stat = fstatSync(stream);
      return stat.dev === dev && stat.ino === ino;
    } catch {
      // A stream that is closed goes nowhere.
      return false;
    }
  });
}

/** Whether the file that comes in this one's place can be given to the same owner and group. */
function canKeepOwner({ uid, gid }: Stats): boolean {
  const user = process.geteuid?.();
  if (user === undefined || user === 0) return true;
  return uid === user && (gid === process.getegid?.() || process.getgroups?.().includes(gid) === true);
}

/** What stands at a path, or at the nearest part of it that is there. */
function firstThere(path: string): Stats | undefined {
  const there = lookAt(path, statSync);
  return there !== undefined || dirname(path) === path ? there : firstThere(dirname(path));
}

function lookAt(path: string, look: typeof statSync | typeof lstatSync): Stats | undefined {
  try {
    return look(path);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR' || code === 'ELOOP') return undefined;
    throw error;
  }
}

/** A fault of the place where the system refused it, else the error itself. */
export function cannotWrite(path: string, error: unknown): unknown {
  const { code } = error as NodeJS.ErrnoException;
  if (code === undefined || !/^E[A-Z0-9]+$/.test(code)) return error;
  // Where the folder is there, it is the system that refuses to make anything in it, as /proc does.
  const missing = code === 'ENOENT' && !existsSync(dirname(path));
  const isFile = code === 'ENOTDIR';
  const isFull = code === 'ENOSPC' || code === 'EDQUOT';
  return inputFault({
    code: 'cannot-write',
    where: path === '' ? {} : { file: path },
    received:
      path === ''
        ? 'an empty name'
        : missing
          ? 'a folder that does not exist'
          : isFile
            ? 'a path through a file, as if that were a folder'
            : isFull
              ? 'a disk that is full'
              : `a place that refuses (${code})`,
    expected: 'a folder that may be written to',
    hint: isFull
      ? 'make room on it, or name a folder on another disk'
      : path === '' || !missing
        ? 'name another folder'
        : `make the folder ${dirname(path)} first, or name another`,
  });
}
