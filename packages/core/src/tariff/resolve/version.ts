import type { DayKind } from '../hours.ts';
import type { Rates, WindowRule } from '../tariff.ts';
import type { Faults, Path } from './faults.ts';

/** What a version of a tariff says, whole: its own fields over those of the versions before. */
export type RatesDocument = Rates['written'];

/** An element of it, where it is there. */
export type Element<Key extends keyof RatesDocument> = NonNullable<RatesDocument[Key]>;

/** One version of a file while its elements are resolved: what they refer to. */
export interface Version {
  readonly document: RatesDocument;
  /** Where an element stands in the file: a version may have it from an earlier one. */
  pathOf(element: keyof RatesDocument): Path;
  readonly faults: Faults;
  readonly seasons: Seasons;
  /** The kinds of days that hours must be stated for. */
  readonly days: readonly DayKind[];
}

export interface Seasons {
  readonly names: readonly string[];
  /** Season of a day of the year, at `month · 32 + day`. */
  readonly ofDay: Uint8Array;
}

/** The tariff's own windows. */
export interface Windows {
  /** One for all hours where the file has none. */
  readonly rules: readonly WindowRule[];
  readonly names: readonly string[];
  /** Whether they bear prices. */
  readonly priced: boolean;
}
