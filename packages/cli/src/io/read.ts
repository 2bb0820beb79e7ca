import { type BigIntStats, closeSync, constants, fstatSync, openSync, readSync, realpathSync, statSync } from 'node:fs';
import type { InputError } from '@duskbank/core/input';
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
    return path === STANDARD_INPUT
      ? fstatSync(0, { bigint: true })
      : statSync(path, { bigint: true, throwIfNoEntry: false });
  } catch {
    return undefined;
  }
}

/** Numbers of device and file, as whole numbers of 64 bits: rounded ones would take two files for one. */
function placeOf({ dev, ino }: BigIntStats): string {
  return `${dev} ${ino}`;
}

/** What stands for standard input where a file is named. */
const STANDARD_INPUT = '-';

/** So long a pipe may be without a writer, and so long a writer may be silent, before it is given up, ms. */
const PATIENCE_MS = { nobody: 1000, silent: 60_000 };

/**
 * Reads a whole file that the user named, once, from its beginning to its end: a regular file, a pipe, or standard input by `-`.
 * Reads no byte more than it takes to see that it is too large, whatever its size is said to be.
 * @throws InputError where it is missing, no file, a device, empty or too large, or a pipe that nothing comes from
 */
export function readInput(path: string, maxBytes: number): Uint8Array {
  let descriptor: number | undefined;
  try {
    const isStandard = path === STANDARD_INPUT;
    // What lies beside a pipe has no folder: it is looked for where the user is.
    const place = /^\/(?:dev|proc\/(?:self|\d+))\/fd\/(?!\d+$)(.+)$/.exec(path)?.[1] ?? path;
    // Looked at before it is opened: that alone does something to some devices.
    const before = isStandard ? fstatSync(0) : statSync(place);
    if (before.isCharacterDevice() || before.isBlockDevice()) throw deviceFault(path);
    // Opened without waiting: a named pipe would else hold until somebody writes to it.
    descriptor = isStandard ? 0 : openSync(place, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
    const stat = fstatSync(descriptor, { bigint: true });
    note(path, stat);
    const size = Number(stat.size);
    // What is said to be too large isn't begun; what grows, or says no size, is caught while reading.
    const bytes = size > maxBytes ? undefined : readAll(path, descriptor, size, maxBytes);
    const fault = sizeFault(path, bytes?.length ?? size, maxBytes);
    if (fault !== undefined) throw inputFault(fault);
    return bytes!;
  } catch (error) {
    throw readFault(path, error);
  } finally {
    if (descriptor !== undefined && descriptor !== 0) closeSync(descriptor);
  }
}

function readAll(path: string, descriptor: number, expectedBytes: number, maxBytes: number): Uint8Array {
  const room = maxBytes + 1;
  let buffer = Buffer.allocUnsafe(Math.min(Math.max(expectedBytes + 1, 65_536), room));
  let length = 0;
  let waitedMs = 0;
  for (;;) {
    if (length === buffer.length) {
      if (length === room) return buffer;
      const larger = Buffer.allocUnsafe(Math.min(2 * length, room));
      buffer.copy(larger);
      buffer = larger;
    }
    const got = readSome(descriptor, buffer, length);
    if (got !== 'nothing yet' && got > 0) {
      length += got;
      waitedMs = 0;
      continue;
    }
    const isPipe = fstatSync(descriptor).isFIFO() && descriptor !== 0;
    if (got === 0 && (length > 0 || !isPipe)) return buffer.subarray(0, length);
    if (waitedMs >= (got === 0 ? PATIENCE_MS.nobody : PATIENCE_MS.silent)) throw silentFault(path, waitedMs / 1000);
    waitedMs += pause(20);
  }
}

/** Reads on into a buffer: so many bytes, 0 at the end, or nothing yet where a pipe is empty for now. */
function readSome(descriptor: number, buffer: Buffer, from: number): number | 'nothing yet' {
  try {
    return readSync(descriptor, buffer, from, buffer.length - from, null);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EAGAIN') return 'nothing yet';
    // Standard input of a terminal or a pipe that has ended, on Windows.
    if (code === 'EOF') return 0;
    throw error;
  }
}

function pause(ms: number): number {
  Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, ms);
  return ms;
}

function deviceFault(path: string): InputError {
  return inputFault({
    code: 'not-a-file',
    where: { file: path },
    received: path === STANDARD_INPUT ? 'a terminal or a device' : 'a device',
    expected: 'a file, or a pipe',
    hint: path === STANDARD_INPUT ? 'send a file in: duskbank inspect - < home.csv' : 'name a file',
  });
}

function silentFault(path: string, seconds: number): InputError {
  return inputFault({
    code: 'pipe-silent',
    where: { file: path },
    received: `a pipe from which nothing came for ${seconds} s`,
    expected: 'a program that writes to it',
    hint: 'start that program first, or save what it writes in a file and name that',
  });
}
