/** Numbers in [0, 1) from a seed. */
export function seeded(seed: number): () => number;
export interface InventedHome {
  readonly name: string;
  readonly seed: number;
}
export interface HomeYear {
  readonly name: string;
  readonly startEpochMs: number;
  readonly stepMinutes: number;
  readonly intervals: number;
  readonly zone: string;
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
}
export const INVENTED_HOMES: readonly InventedHome[];
export const INVENTED_TARIFFS: Readonly<Record<string, object>>;
export function inventedHome(spec: InventedHome, stepMinutes?: number): HomeYear;
export function marketSeries(
  seed: number,
  startEpochMs: number,
  hours: number,
): Record<string, { startEpochMs: number; stepMinutes: number; pricePerKwh: Float64Array }>;
