import { type BigIntStats, closeSync, fstatSync, openSync, readFileSync, realpathSync, statSync } from 'node:fs';
import { readFault, sizeFault } from '@duskbank/core/site';
import { inputFault } from './fail.ts';

export { MAX_DATA_BYTES, MAX_DOCUMENT_BYTES } from '@duskbank/core/site';

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
  let descriptor: number | undefined;
  try {
    descriptor = openSync(path, 'r');
    note(path, fstatSync(descriptor, { bigint: true }));
    const { size } = fstatSync(descriptor);
    const tooLarge = size > maxBytes ? sizeFault(path, size, maxBytes) : undefined;
    if (tooLarge !== undefined) throw inputFault(tooLarge);
    const bytes = readFileSync(descriptor);
    const fault = sizeFault(path, bytes.length, maxBytes);
    if (fault !== undefined) throw inputFault(fault);
    return bytes;
  } catch (error) {
    throw readFault(path, error);
  } finally {
    if (descriptor !== undefined) closeSync(descriptor);
  }
}
