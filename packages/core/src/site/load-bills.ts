import { callable, check, optional, record, text } from '../input/door.ts';
import type { ActualBill } from '../tariff/index.ts';
import { type DataDays, readActualBills, someDataDays } from '../tariff/inside.ts';
import { type InputRecord, recordOf } from './origin.ts';
import { MAX_DOCUMENT_BYTES } from './read-faults.ts';
import { type Decoders, type ReadFile, readBytes } from './source.ts';

/** The bills of a file, and the file itself for the record. */
export interface LoadedBills {
  readonly bills: readonly ActualBill[];
  /** What was read into the file, in words. */
  readonly notes: readonly string[];
  readonly input: InputRecord;
}

/** Decoders, and the days of the data: dates of bills that state no year are held against them. */
export interface BillOptions extends Decoders {
  readonly within?: DataDays;
}

/**
 * Reads the bills that a household got from a table of any form: text, or a spreadsheet where a decoder is there.
 * @throws InputError where the file can't be had, and with every fault in it, by line and column
 */
export async function loadActualBills(path: string, read: ReadFile, options: BillOptions = {}): Promise<LoadedBills> {
  check(
    { path, read, options },
    {
      path: text,
      read: callable,
      options: record<BillOptions>({
        yaml: optional(callable),
        xlsx: optional(callable),
        within: optional(someDataDays),
      }),
    },
  );
  const { xlsx, within } = options;
  const bytes = await readBytes(read, path, MAX_DOCUMENT_BYTES);
  const { bills, notes } = await readActualBills(bytes, path, xlsx, within);
  return { bills, notes, input: await recordOf('bills', path, bytes) };
}
