import { randomBytes } from 'node:crypto';
import { closeSync, fsyncSync, openSync, renameSync, unlinkSync, writeSync } from 'node:fs';
import { basename, dirname, join } from 'node:path';
import { inputFault } from './fail.ts';

/** Writes a file whole or not at all: into a neighbour first, then by rename. Replaces what was there. */
export function writeWhole(path: string, chunks: Iterable<string>): void {
  const temporary = join(dirname(path), `.${basename(path)}.${randomBytes(6).toString('hex')}.part`);
  let descriptor: number;
  try {
    descriptor = openSync(temporary, 'wx');
  } catch (error) {
    throw cannotWrite(path, error);
  }
  try {
    for (const chunk of chunks) writeSync(descriptor, chunk);
    fsyncSync(descriptor);
    closeSync(descriptor);
    renameSync(temporary, path);
  } catch (error) {
    try {
      unlinkSync(temporary);
    } catch {
      // It went with the rename, or was never there.
    }
    throw cannotWrite(path, error);
  }
}

/** Writes a new file; refuses where one of that name exists. */
export function writeNew(path: string, text: string): void {
  let descriptor: number;
  try {
    descriptor = openSync(path, 'wx');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST')
      throw inputFault({
        code: 'file-exists',
        where: { file: path },
        received: 'a file of this name',
        expected: 'none: nothing of yours is overwritten',
        hint: 'name another folder, or move the file away',
      });
    throw cannotWrite(path, error);
  }
  writeSync(descriptor, text);
  closeSync(descriptor);
}

function cannotWrite(path: string, error: unknown): unknown {
  const { code } = error as NodeJS.ErrnoException;
  if (code === undefined || !['ENOENT', 'ENOTDIR', 'EACCES', 'EPERM', 'EROFS', 'EISDIR', 'ENOSPC'].includes(code))
    return error;
  return inputFault({
    code: 'cannot-write',
    where: { file: path },
    received:
      code === 'ENOENT' || code === 'ENOTDIR' ? 'a folder that does not exist' : `a place that refuses (${code})`,
    expected: 'a folder that may be written to',
  });
}
