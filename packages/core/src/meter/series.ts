import type { Axis } from '../axis/index.ts';

/**
 * A home's metered energy on one axis. Every present series is as long as the axis, in kWh an interval,
 * never negative. NaN marks a gap: it may stand here and nowhere later.
 */
export interface IntervalSeries {
  readonly axis: Axis;
  /** Energy bought at the service, kWh. */
  readonly importKwh?: Float64Array;
  /** Energy sold at the service, kWh. */
  readonly exportKwh?: Float64Array;
  /** What the home consumed, whatever its source, kWh. */
  readonly loadKwh?: Float64Array;
  /** Gross solar energy at AC, kWh. */
  readonly solarKwh?: Float64Array;
}

/** Something that a reader noticed in a file. `error` means that the data can't be trusted as they are. */
export interface Finding {
  /** Stable, kebab-case. */
  readonly code: string;
  readonly severity: 'error' | 'warning' | 'note';
  readonly message: string;
  /** Line numbers from 1, at most twenty of them; `count` has the full number. */
  readonly lines?: readonly number[];
  readonly count?: number;
  /** Energy that the finding concerns, kWh. */
  readonly energyKwh?: number;
}

/** How a file was understood, and by which evidence. */
export interface Layout {
  readonly name: string;
  readonly evidence: readonly string[];
}

/** What reading a file gives. `series` is absent where none can be trusted. */
export interface IntervalData {
  readonly series?: IntervalSeries;
  readonly findings: readonly Finding[];
  readonly layout: Layout;
}
