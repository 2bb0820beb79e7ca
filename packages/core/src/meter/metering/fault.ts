import type { Adjustment } from '../adjust.ts';

/** Stands beside every word about transformers. */
export const PANEL_CAUTION =
  'Opening a panel is a licensed person’s work, and the supply side stays live with the main switch off.';

/** What is known about the home beside its data. */
export interface MeteringContext {
  /** Where the home stands; needed to compare the solar day with the sun. North and east positive. */
  readonly latitudeDeg?: number;
  readonly longitudeDeg?: number;
  /** Energy that the utility billed as bought over the span of the data, kWh. Needed to find a leg that is missing. */
  readonly billedKwh?: number;
}

/** A sign that the meter or monitor measures wrongly. */
export interface MeteringFault {
  /** Stable, kebab-case. */
  readonly code:
    | 'grid-reversed'
    | 'leg-reversed'
    | 'leg-missing'
    | 'solar-grid-swapped'
    | 'solar-half'
    | 'solar-in-load'
    | 'clock-shifted'
    | 'clock-without-dst'
    | 'stuck-value'
    | 'spike'
    | 'day-repeated'
    | 'zero-run';
  readonly confidence: 'sure' | 'likely' | 'possible';
  /** What in the data shows it. */
  readonly evidence: string;
  /** What it most often means, and what to look at, in an installer's words. */
  readonly meaning: string;
  /** The correction that the evidence speaks for, and the flag that states it. */
  readonly fix?: { readonly flag: string; readonly adjustment: Adjustment };
  /** Intervals concerned. */
  readonly count: number;
}
