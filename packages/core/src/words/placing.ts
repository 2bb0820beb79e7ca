/** What is told of rows on their way to series on an axis: steps, clocks, units, channels, joins. */
export const PLACING_WORDS = {
  /** The files to join stand in different zones. */
  'zone-differs': () => 'the files are of different zones',
} as const;
