/** What is told of a file on its way to rows: archives, texts, tables, feeds. */
export const READING_WORDS = {
  /** The text is not valid UTF-8, and was read in the coding that spreadsheets of old write. */
  'encoding-guessed': () => 'the text is not valid UTF-8: read as Windows-1252',
} as const;
