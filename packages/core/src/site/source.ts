import {
  decodeDocument,
  formatPath,
  InputError,
  type SourceDocument,
  showName,
  showValue,
  type YamlDecoder,
} from '../input/index.ts';
import type { XlsxDecoder } from '../meter/index.ts';
import { type InputRecord, type InputRole, recordOf } from './origin.ts';
import { MAX_DATA_BYTES, MAX_DOCUMENT_BYTES, readFault, sizeFault } from './read-faults.ts';

/**
 * Gives the bytes of a file, in a `Uint8Array` or an `ArrayBuffer`. `path` is what was passed to `loadSite`, or lies beside it, parts joined by `/`.
 * It throws where a file can't be had: an error of the host's file system (with its `code`, such as ENOENT) is told as an
 * InputError that says where the file is named, as is an InputError of its own; any other error passes through.
 *
 * @param maxBytes more than this will be refused, so that a host may stop reading there
 */
export type ReadFile = (path: string, maxBytes: number) => Uint8Array | ArrayBuffer | Promise<Uint8Array | ArrayBuffer>;

/**
 * Reads the bytes of a file, and tells of one that can't be had, is empty, or is larger than any of its kind.
 * @throws InputError
 */
export async function readBytes(read: ReadFile, path: string, maxBytes: number): Promise<Uint8Array> {
  let given: unknown;
  try {
    given = await read(path, maxBytes);
  } catch (error) {
    throw readFault(path, error);
  }
  const bytes = bytesOf(given, path);
  const fault = sizeFault(path, bytes.length, maxBytes);
  if (fault !== undefined) throw new InputError([fault]);
  return bytes;
}

/** What `read` gave, as bytes. By its tag, so that what came from another realm is known too. */
function bytesOf(given: unknown, path: string): Uint8Array {
  const tag = Object.prototype.toString.call(given);
  if (tag === '[object Uint8Array]' && ArrayBuffer.isView(given)) return given as Uint8Array;
  if (tag === '[object ArrayBuffer]') return new Uint8Array(given as ArrayBuffer);
  throw new InputError([
    {
      code: given === undefined ? 'missing' : 'wrong-type',
      where: { file: path },
      received: typeof given === 'string' ? `a text of ${given.length} characters` : showValue(given),
      expected: 'bytes of the file from `read`: a Uint8Array or an ArrayBuffer',
      ...(typeof given === 'string'
        ? { hint: 'read the file without an encoding; a text becomes bytes by new TextEncoder().encode(text)' }
        : {}),
    },
  ]);
}

/** What reads the formats that core doesn't carry. */
export interface Decoders {
  /** Reads YAML. Without it files must be JSON, and faults in them carry no line. */
  readonly yaml?: YamlDecoder;
  /** Reads spreadsheets. Without it they are refused, with the cure. */
  readonly xlsx?: XlsxDecoder;
}

/** Reads files as one call of `loadSite` was told to. */
export class Source {
  readonly #read: ReadFile;
  readonly #decoders: Decoders;
  /** What was read so far, in that order. */
  readonly inputs: InputRecord[] = [];

  constructor(read: ReadFile, decoders: Decoders) {
    this.#read = read;
    this.#decoders = decoders;
  }

  /** @param named the path as it was written where the file is named, for the record */
  async document(path: string, role: InputRole, named = path): Promise<SourceDocument> {
    return decodeDocument(await this.#bytes(path, MAX_DOCUMENT_BYTES, role, named), path, this.#decoders.yaml);
  }

  /** What reads spreadsheets, if anything does. */
  get xlsx(): XlsxDecoder | undefined {
    return this.#decoders.xlsx;
  }

  data(path: string, role: InputRole, named: string): Promise<Uint8Array> {
    return this.#bytes(path, MAX_DATA_BYTES, role, named);
  }

  async #bytes(path: string, maxBytes: number, role: InputRole, named: string): Promise<Uint8Array> {
    const bytes = await readBytes(this.#read, path, maxBytes);
    this.inputs.push(await recordOf(role, named, bytes));
    return bytes;
  }
}

/** Faults of a file that can't be read to its end, whatever it would hold. */
const UNREADABLE: readonly string[] = [
  'file-empty',
  'file-too-large',
  'file-unreadable',
  'path-impossible',
  'pipe-silent',
];

/** Runs what reads a file, and says of one that can't be had where it is named. */
export async function namedBy<T>(
  document: SourceDocument,
  path: readonly (string | number)[],
  step: () => Promise<T>,
): Promise<T> {
  try {
    return await step();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const line = document.lineOf(path);
    const place = `${showName(document.file)}${line === undefined ? '' : ` line ${line}`}, field "${formatPath(path)}"`;
    throw new InputError(
      error.issues.map((issue) => {
        // The document that names a file directly says more than the one that named that document.
        if (issue.where.namedIn !== undefined) return issue;
        const where = { ...issue.where, namedIn: { file: document.file, path } };
        if (issue.code === 'file-missing')
          return { ...issue, where, hint: `it is named in ${place}; paths are read from where that file lies` };
        if (issue.code === 'not-a-file') return { ...issue, where, hint: `it is named in ${place}: name a file` };
        if (UNREADABLE.includes(issue.code))
          return {
            ...issue,
            where,
            hint: `it is named in ${place}${issue.hint === undefined ? '' : `: ${issue.hint}`}`,
          };
        return issue;
      }),
    );
  }
}
