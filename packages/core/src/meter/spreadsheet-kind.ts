/** Kinds of spreadsheets by their first bytes; `locked` is any with a password. */
export type SpreadsheetKind = 'xlsx' | 'xlsb' | 'xls' | 'ods' | 'locked';

/** First bytes of a compound file ([MS-CFB], 2.2): old spreadsheets, and all that office programs lock with a password. */
const COMPOUND = [0xd0, 0xcf, 0x11, 0xe0, 0xa1, 0xb1, 0x1a, 0xe1];
/** The list of members at a zip's end lies within this of it: a spreadsheet has some dozens. */
const LIST_BYTES = 1 << 18;
/** The list of streams of a compound file is looked for within this of its begin and its end. */
const STREAMS_BYTES = 1 << 20;

/** Which spreadsheet a file is, undefined where it is none. */
export function spreadsheetOf(bytes: Uint8Array): SpreadsheetKind | undefined {
  if (COMPOUND.every((byte, i) => bytes[i] === byte)) {
    const ends = [bytes.subarray(0, STREAMS_BYTES), bytes.subarray(-STREAMS_BYTES)];
    // Names of streams are in UTF-16.
    return ends.some((end) => latin1(end).replaceAll('\0', '').includes('EncryptedPackage')) ? 'locked' : 'xls';
  }
  if (bytes[0] !== 0x50 || bytes[1] !== 0x4b) return undefined;
  if (latin1(bytes.subarray(0, 200)).includes('mimetypeapplication/vnd.oasis.opendocument.spreadsheet')) return 'ods';
  const list = latin1(bytes.subarray(-LIST_BYTES));
  if (list.includes('xl/workbook.bin')) return 'xlsb';
  return list.includes('xl/workbook.xml') ? 'xlsx' : undefined;
}

function latin1(bytes: Uint8Array): string {
  return new TextDecoder('latin1').decode(bytes);
}
