import type { IntervalData, ParseOptions } from '@duskbank/core/meter';

export interface Sample {
  readonly name: string;
  readonly bytes: Uint8Array;
  readonly options: ParseOptions;
}
export interface CorpusFile {
  readonly file: string;
  readonly bytes: Uint8Array;
  readonly options: ParseOptions;
}
export const PACKED: Date;
export function randomOf(seed: number): () => number;
export function loadCorpus(): CorpusFile[];
export function monsters(): Generator<Sample>;
export function mutated(corpus: CorpusFile[], seed: number, n: number): Sample;
export function wrongWith(result: IntervalData): string | undefined;
