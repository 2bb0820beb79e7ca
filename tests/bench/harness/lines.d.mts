export interface Line {
  readonly name: string;
  readonly run?: () => void;
  readonly take?: () => number;
  readonly sum?: () => number;
  readonly beside?: string;
  readonly aim?: { most?: number; least?: number; mostNs?: number; mostMb?: number };
  readonly within?: number;
  readonly steps?: number;
  readonly perStep?: boolean;
  readonly limit?: { arrays?: number; letters?: number };
  readonly made?: boolean;
  readonly fixed?: boolean;
  readonly unit?: 'ms' | 'MB';
  readonly note?: () => string;
}
export interface Ratio {
  readonly median: number;
  readonly spread: number;
}
export interface Row {
  readonly line: Line;
  readonly value: number;
  readonly ratio?: Ratio;
  readonly before?: Ratio;
  readonly change?: Ratio;
  readonly same?: number;
  readonly off?: number;
  readonly missing?: string;
  readonly settled: boolean;
}
export function measureLines(lines: readonly Line[], before?: readonly Line[], options?: object): Row[];
export function difference(a: unknown, b: unknown): number;
export function checksum(...arrays: Float64Array[]): number;
