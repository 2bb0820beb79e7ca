export interface Task {
  readonly run?: () => void;
  readonly take?: () => number;
  settled?: boolean;
  calls?: number;
  perRound?: number;
  times?: number[];
}
export function median(values: readonly number[]): number;
export function spread(values: readonly number[]): number;
export function settled(medians: readonly number[], within?: number): boolean;
export function warmUp(tasks: readonly Task[], options?: { clock?: () => number; once?: boolean }): void;
export function measure(
  tasks: readonly Task[],
  options?: { clock?: () => number; budgetMs?: number; collect?: () => void; once?: boolean },
): number;
export function ratioOf(times: readonly number[], base: readonly number[]): { median: number; spread: number };
