import { type BigIntStats, closeSync, fstatSync, openSync, readFileSync, realpathSync, statSync } from 'node:fs';
import { inputFault } from './fail.ts';

/** Largest interval file that is read, bytes: refused by size, before a byte of it is decoded. */
export const MAX_DATA_BYTES = 256 * 1024 * 1024;

/** Largest site or tariff file, bytes. */
export const MAX_DOCUMENT_BYTES = 1024 * 1024;

/**
 * What this run reads: the name that each file was given, under its place on the disk, which is one for all names of a
 * file, and under its real path, should another file have come in its place since.
 */
const inputs = new Map<string, string>();

/** Notes a file that will be read, before what comes between takes long. One that can't be had is told on reading. */
export function noteInput(path: string): void {
  const stat = statOf(path);
  if (stat !== undefined) note(path, stat);
}

/** The name by which this run reads the file at `path`, under whatever name; undefined where it doesn't. */
export function inputAt(path: string): string | undefined {
  const stat = statOf(path);
  return (stat === undefined ? undefined : inputs.get(placeOf(stat))) ?? inputs.get(path);
}

function note(path: string, stat: BigIntStats): void {
  inputs.set(placeOf(stat), path);
  try {
    inputs.set(realpathSync(path), path);
  } catch {
    // A pipe of another process has no path of its own.
  }
}

function statOf(path: string): BigIntStats | undefined {
  try {
    return statSync(path, { bigint: true, throwIfNoEntry: false });
  } catch {
    return undefined;
  }
}

/** Numbers of device and file, as whole numbers of 64 bits: rounded ones would take two files for one. */
function placeOf({ dev, ino }: BigIntStats): string {
  return `${dev} ${ino}`;
}

/** Reads a whole file the user named. Throws an InputError where it is missing, no file, empty or too large. */
export function readInput(path: string, maxBytes: number): Uint8Array {
  let descriptor: number;
  try {
    descriptor = openSync(path, 'r');
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'ENOENT' || code === 'ENOTDIR')
      throw inputFault({
        code: 'file-missing',
        where: { file: path },
        received: 'no file of this name',
        expected: 'a file that exists',
        hint: 'look for a typing error in the name, and at the folder that you are in',
      });
    if (code === 'EACCES' || code === 'EPERM')
      throw inputFault({
        code: 'file-unreadable',
        where: { file: path },
        received: 'a file that may not be read',
        expected: 'read permission',
        hint: 'give yourself the right to read it, or copy it elsewhere',
      });
    throw error;
  }
  try {
    note(path, fstatSync(descriptor, { bigint: true }));
    const stat = fstatSync(descriptor);
    if (stat.isDirectory())
      throw inputFault({
        code: 'not-a-file',
        where: { file: path },
        received: 'a folder',
        expected: 'a file',
        hint: 'name a file in it',
      });
    if (stat.size > maxBytes)
      throw inputFault({
        code: 'file-too-large',
        where: { file: path },
        received: `a file of ${megabytes(stat.size)} MB`,
        expected: `at most ${megabytes(maxBytes)} MB`,
        hint:
          maxBytes === MAX_DATA_BYTES
            ? 'cut the file to one or two years of intervals'
            : 'was another file meant? Interval data belong in a file of their own',
      });
    const bytes = readFileSync(descriptor);
    if (bytes.length === 0)
      throw inputFault({
        code: 'file-empty',
        where: { file: path },
        received: 'an empty file',
        expected: 'content',
        hint: 'save or download it again',
      });
    return bytes;
  } finally {
    closeSync(descriptor);
  }
}

function megabytes(bytes: number): number {
  return Math.round(bytes / 1024 / 1024);
}
