import type { DatedReserve } from './sheet.ts';

/** What a search of settings may be told. */
export interface SettingsWishes {
  /**
   * Hours that the battery lasts from each start, for what a run leaves stored. Among sheets that cost about the same the one
   * that lasts longer in nine of ten starts is taken; left out, the cheapest.
   */
  readonly hoursOf?: (socKwh: Float64Array) => Float64Array;
  /** Which intervals begin on an evening, 1 each: where another sheet lasts longer in nine of ten of those, it is told beside. */
  readonly evenings?: Uint8Array;
  /** How much may be given up for that over the data, money. @defaultValue 2 % of what the cheapest saves, at least 0.1 % of the bill without fixed charges */
  readonly most?: number;
  /** What a battery that is full in place of empty ages more over the data, money: counted in. @defaultValue 0 */
  readonly wearOfFull?: number;
  /** Reserves that are set by hand where the box charges with so much power, kW. @defaultValue the reserve's own */
  readonly datedAt?: (gridChargeKw: number) => readonly DatedReserve[];
  /** The same, with all of it kept through months too cold to charge: tried beside, for its hours. */
  readonly heldAt?: (gridChargeKw: number) => readonly DatedReserve[];
  /** Called before each schedule is tried: what it throws ends the search. */
  readonly onTry?: () => void;
}
