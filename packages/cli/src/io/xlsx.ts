import type { Sheet, XlsxDecoder } from '@duskbank/core/meter';

/** Reads spreadsheets. Its library is loaded with the first of them, so that no other run pays for it. */
export const xlsx: XlsxDecoder = async (bytes) => {
  const { default: readSheets } = await import('read-excel-file/universal');
  // The library takes a whole buffer, and the bytes may be a part of one.
  const sheets = await readSheets(Uint8Array.from(bytes).buffer);
  // Its types call a date the maker of dates.
  return sheets.map(({ sheet, data }) => ({ name: sheet, rows: data as unknown as Sheet['rows'] }));
};
