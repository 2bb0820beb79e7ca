import { closeSync, fstatSync, openSync, readFileSync } from 'node:fs';
import { readFault, sizeFault } from '@duskbank/core/site';
import { inputFault } from './fail.ts';

export { MAX_DATA_BYTES, MAX_DOCUMENT_BYTES } from '@duskbank/core/site';

/** Reads a whole file the user named. Throws an InputError where it is missing, no file, empty or too large. */
export function readInput(path: string, maxBytes: number): Uint8Array {
  let descriptor: number | undefined;
  try {
    descriptor = openSync(path, 'r');
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
