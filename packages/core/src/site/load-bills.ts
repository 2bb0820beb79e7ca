import { callable, check, optional, text } from '../input/door.ts';
import type { ActualBill } from '../tariff/index.ts';
import { readActualBills } from '../tariff/inside.ts';
import { type InputRecord, recordOf } from './origin.ts';
import { MAX_DOCUMENT_BYTES } from './read-faults.ts';
import { type Decoders, type ReadFile, readBytes } from './source.ts';

/** The bills of a file, and the file itself for the record. */
export interface LoadedBills {
  readonly bills: readonly ActualBill[];
  readonly input: InputRecord;
}

/**
 * Reads the bills that a household got from a table of any form: text, or a spreadsheet where a decoder is there.
 * @throws InputError where the file can't be had, and with every fault in it, by line and column
 */
export async function loadActualBills(path: string, read: ReadFile, { xlsx }: Decoders = {}): Promise<LoadedBills> {
  check({ path, read, xlsx }, { path: text, read: callable, xlsx: optional(callable) });
  const bytes = await readBytes(read, path, MAX_DOCUMENT_BYTES);
  return { bills: await readActualBills(bytes, path, xlsx), input: await recordOf('bills', path, bytes) };
}
