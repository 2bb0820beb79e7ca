import { kwhDigits } from './figures.ts';

/** Which readings of a file are meant, and how much they hold. */
export interface ToldStream {
  /** Fit to print: `column 5 "USAGE (kWh)"`, `rows of "Register 2"`, `meter reading 3`. */
  readonly stream: string;
  /** The text by which `rows` names them, where one cell tells them apart and it may be printed. */
  readonly rowText?: string;
  /** The number of the column, from 1, where it is one of several of the same rows. */
  readonly column?: number;
  /** The number by which `meterReading` names it. */
  readonly meterReading?: number;
  /** What it is taken for: import, export, load, solar or net. */
  readonly role?: string;
  /** Sum of the values, kWh; absent where they are a running total or of no known unit of energy. */
  readonly energyKwh?: number;
  /** Sum of the values as the file prints them, where they aren't known to be of energy. */
  readonly sum?: number;
  readonly firstLine: number;
  /** Its rows name themselves a total. */
  readonly total?: true;
}

/** `rows of "Register 2" (480 kWh, from line 7)`. A running total has no sum. */
export function tellStream({ stream, energyKwh, sum, firstLine }: ToldStream): string {
  const size =
    energyKwh !== undefined
      ? `${kwhDigits(energyKwh)} kWh`
      : sum === undefined
        ? undefined
        : `${Number(sum.toPrecision(4))} in all`;
  return size === undefined ? stream : `${stream} (${size}, from line ${firstLine})`;
}

/** The first six of several, and how many more there are. */
export function tellStreams(streams: readonly ToldStream[]): string {
  const shown = streams.slice(0, 6).map(tellStream).join(', ');
  return streams.length > 6 ? `${shown} and ${streams.length - 6} more` : shown;
}
