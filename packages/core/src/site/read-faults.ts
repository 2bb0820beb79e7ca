import { check, number, text } from '../input/door.ts';
import { InputError, type InputIssue } from '../input/index.ts';

/** Largest interval or price file that is read, bytes. */
export const MAX_DATA_BYTES = 256 * 1024 * 1024;

/** Largest site or tariff file, bytes. */
export const MAX_DOCUMENT_BYTES = 1024 * 1024;

/** What the error codes of a file system mean for the user (POSIX errno names, which Node gives as `error.code`). */
const FAULTS: Readonly<Record<string, Omit<InputIssue, 'where'>>> = {
  ENOENT: {
    code: 'file-missing',
    received: 'no file of this name',
    expected: 'a file that exists',
    hint: 'look for a typing error in the name, and at the folder that you are in',
  },
  EISDIR: { code: 'not-a-file', received: 'a folder', expected: 'a file', hint: 'name a file in it' },
  EACCES: {
    code: 'file-unreadable',
    received: 'a file that may not be read',
    expected: 'read permission',
    hint: 'give yourself the right to read it, or copy it elsewhere',
  },
  ELOOP: {
    code: 'not-a-file',
    received: 'a link that leads round in a circle',
    expected: 'a file',
    hint: 'name the file itself, or remove the link',
  },
  ENAMETOOLONG: {
    code: 'path-impossible',
    received: 'a name longer than any file has',
    expected: 'the path of a file',
    hint: 'was the content of the file given in place of its name?',
  },
  // Node's own: a NUL in the path.
  ERR_INVALID_ARG_VALUE: {
    code: 'path-impossible',
    received: 'a name that no file can have',
    expected: 'the path of a file',
    hint: 'write the name anew: it holds a character that can’t be seen',
  },
  ENXIO: { code: 'not-a-file', received: 'a device or a socket', expected: 'a file, or a pipe', hint: 'name a file' },
  EIO: {
    code: 'file-unreadable',
    received: 'a file that the disk can’t give',
    expected: 'a file that can be read to its end',
    hint: 'copy it anew from where it came',
  },
};
const ALIKE: Readonly<Record<string, string>> = { ENOTDIR: 'ENOENT', EPERM: 'EACCES', ENODEV: 'ENXIO', EINVAL: 'EIO' };

/**
 * The fault of a file that can't be had, from the file system's error; any other error as it is.
 * @throws InputError on a path that is no text
 */
export function readFault(path: string, error: unknown): unknown {
  check({ path }, { path: text });
  const stated = (error as { code?: unknown } | null | undefined)?.code;
  const code = typeof stated === 'string' ? stated : '';
  const fault = FAULTS[ALIKE[code] ?? code];
  return fault === undefined ? error : new InputError([{ ...fault, where: { file: path } }]);
}

/**
 * The fault of a file that is empty, or larger than any file of its kind.
 * @throws InputError on sizes that are none
 */
export function sizeFault(path: string, bytes: number, maxBytes: number): InputIssue | undefined {
  check(
    { path, bytes, maxBytes },
    { path: text, bytes: number({ least: 0 }), maxBytes: number({ least: 0, infinite: true }) },
  );
  if (bytes === 0)
    return {
      code: 'file-empty',
      where: { file: path },
      received: 'an empty file',
      expected: 'content',
      hint: 'save or download it again',
    };
  if (bytes <= maxBytes) return undefined;
  return {
    code: 'file-too-large',
    where: { file: path },
    received: `a file of at least ${bytes.toLocaleString('en-US')} bytes`,
    expected: `at most ${maxBytes.toLocaleString('en-US')} bytes`,
    hint:
      maxBytes === MAX_DATA_BYTES
        ? 'cut the file to one or two years of intervals'
        : 'was another file meant? Interval data belong in a file of their own',
  };
}
