import { randomBytes } from 'node:crypto';
import {
  closeSync,
  fsyncSync,
  openSync,
  realpathSync,
  renameSync,
  type Stats,
  statSync,
  unlinkSync,
  writeFileSync,
} from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { inputFault } from './fail.ts';

/**
 * Writes a file whole or not at all: into a neighbour first, then by rename. Replaces what was there, a link's target
 * rather than the link; never a folder or a device.
 */
export function writeWhole(path: string, chunks: Iterable<string>): void {
  const target = replaceable(path);
  const temporary = join(dirname(target), `.${basename(target)}.${randomBytes(6).toString('hex')}.part`);
  let descriptor: number;
  try {
    descriptor = openSync(temporary, 'wx');
  } catch (error) {
    throw cannotWrite(path, error);
  }
  try {
    try {
      for (const chunk of chunks) writeFileSync(descriptor, chunk);
      fsyncSync(descriptor);
    } finally {
      closeSync(descriptor);
    }
    renameSync(temporary, target);
  } catch (error) {
    unlinkSync(temporary);
    throw cannotWrite(path, error);
  }
}

/** Refuses a place that {@link writeWhole} can't replace: ask before long work whose result would have nowhere to go. */
export function replaceable(path: string): string {
  const there = lookAt(path);
  if (there !== undefined && !there.isFile())
    throw inputFault({
      code: 'cannot-write',
      where: { file: path },
      received: there.isDirectory() ? 'a folder of this name' : 'a device',
      expected: 'the name of a file, new or to be replaced',
      hint: there.isDirectory() ? `name a file in it, such as ${join(path, 'intervals.csv')}` : 'name a file',
    });
  if (there === undefined && lookAt(dirname(path))?.isDirectory() !== true) throw cannotWrite(path, { code: 'ENOENT' });
  return there === undefined ? path : realpathSync(path);
}

function lookAt(path: string): Stats | undefined {
  try {
    return statSync(path, { throwIfNoEntry: false });
  } catch (error) {
    if (isRefusal(error)) return undefined;
    throw error;
  }
}

/** Writes a new file; refuses where one of that name exists. */
export function writeNew(path: string, text: string): void {
  let descriptor: number;
  try {
    descriptor = openSync(path, 'wx');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') throw alreadyThere(path);
    throw cannotWrite(path, error);
  }
  try {
    writeFileSync(descriptor, text);
  } finally {
    closeSync(descriptor);
  }
}

/** The fault of a name that is taken. */
export function alreadyThere(path: string) {
  return inputFault({
    code: 'file-exists',
    where: { file: path },
    received: 'a file of this name',
    expected: 'none: nothing of yours is overwritten',
    hint: 'name another folder, or move the file away',
  });
}

const REFUSALS = [
  'ENOENT',
  'ENOTDIR',
  'EACCES',
  'EPERM',
  'EROFS',
  'EISDIR',
  'ENOSPC',
  'EDQUOT',
  'ENAMETOOLONG',
  'ELOOP',
];

function isRefusal(error: unknown): boolean {
  return REFUSALS.includes((error as NodeJS.ErrnoException).code ?? '');
}

/** A fault of the place where it is the place's, else the error itself. */
export function cannotWrite(path: string, error: unknown): unknown {
  if (!isRefusal(error)) return error;
  const { code } = error as NodeJS.ErrnoException;
  const missing = code === 'ENOENT' || code === 'ENOTDIR';
  return inputFault({
    code: 'cannot-write',
    where: { file: path },
    received: missing
      ? 'a folder that does not exist'
      : code === 'ENOSPC' || code === 'EDQUOT'
        ? 'a disk that is full'
        : `a place that refuses (${code})`,
    expected: 'a folder that may be written to',
    hint: missing ? `make the folder ${dirname(path)} first, or name another` : 'name another folder',
  });
}
