import type { Axis } from '../../axis/index.ts';
import type { TermClock } from '../flow-sums.ts';
import { blocksFit, findRuns, highestBlock, type Runs } from '../runs.ts';

/** How power is measured: what a demand term says of it. */
export interface PeakMeasure {
  readonly group: Int32Array;
  readonly groups: number;
  readonly averagingSteps: number;
  readonly phaseSteps: number;
  readonly highestDays: number;
  /** Stretches of `group`; cut by local days where days are counted. Found anew where they are left out. */
  readonly runs?: Runs;
}

/** Measured kW of each group: the highest block, or the mean of the highest of the highest days. */
export function measuredKw(clock: TermClock, term: PeakMeasure, importKwh: Float64Array): Float64Array {
  const { group, averagingSteps, phaseSteps, highestDays } = term;
  const { day } = clock.calendar;
  const hours = averagingSteps * clock.stepHours;
  const cutBy = highestDays === 1 ? undefined : day;
  const runs = term.runs !== undefined && areWithinDays(term.runs, cutBy) ? term.runs : findRuns(group, cutBy);
  const days = new HighestDays(term.groups, highestDays);
  if (blocksFit(runs, averagingSteps, phaseSteps)) {
    const { starts, groups } = runs;
    for (let r = 0; r < groups.length; r++) {
      const g = groups[r]!;
      if (g < 0) continue;
      const first = starts[r]!;
      days.see(g, day[first]!, highestBlock(importKwh, first, starts[r + 1]!, averagingSteps) / hours);
    }
    return days.peaks();
  }
  const sums = new Float64Array(term.groups);
  const touched = new Uint8Array(term.groups);
  let from = phaseSteps > 0 ? phaseSteps - averagingSteps : 0;
  for (; from < group.length; from += averagingSteps) {
    const end = Math.min(from + averagingSteps, group.length);
    const start = Math.max(0, from);
    for (let i = start; i < end; i++) {
      const g = group[i]!;
      if (g < 0) continue;
      sums[g] = sums[g]! + importKwh[i]!;
      touched[g] = 1;
    }
    for (let i = start; i < end; i++) {
      const g = group[i]!;
      if (g < 0 || touched[g] === 0) continue;
      days.see(g, day[i]!, sums[g]! / hours);
      sums[g] = 0;
      touched[g] = 0;
    }
  }
  return days.peaks();
}

/** Whether no run goes over midnight, where days are counted. */
function areWithinDays({ starts }: Runs, day: Int32Array | undefined): boolean {
  if (day === undefined) return true;
  for (let r = 0; r + 1 < starts.length; r++) if (day[starts[r]!] !== day[starts[r + 1]! - 1]) return false;
  return true;
}

/** The highest kW of each group, or the mean of those of its highest days. Days come in order. */
class HighestDays {
  private readonly highest: Float64Array;
  private readonly dayOf: Int32Array;
  private readonly daily: number[][];

  constructor(
    private readonly groups: number,
    private readonly count: number,
  ) {
    this.highest = new Float64Array(groups);
    this.dayOf = new Int32Array(groups).fill(-1);
    this.daily = Array.from({ length: count > 1 ? groups : 0 }, () => []);
  }

  see(group: number, day: number, kw: number): void {
    const { highest, dayOf } = this;
    if (this.count > 1 && dayOf[group] !== day) {
      if (dayOf[group]! >= 0) this.daily[group]!.push(highest[group]!);
      dayOf[group] = day;
      highest[group] = 0;
    }
    if (kw > highest[group]!) highest[group] = kw;
  }

  peaks(): Float64Array {
    const { highest, dayOf, count } = this;
    if (count === 1) return highest;
    for (let g = 0; g < this.groups; g++) {
      if (dayOf[g]! < 0) continue;
      const peaks = this.daily[g]!;
      peaks.push(highest[g]!);
      peaks.sort((a, b) => b - a);
      const taken = Math.min(count, peaks.length);
      let sum = 0;
      for (let k = 0; k < taken; k++) sum += peaks[k]!;
      highest[g] = sum / taken;
    }
    return highest;
  }
}

/** The blocks that make each group's measured kW, with the share that a kW of theirs has in it. */
export function peakBlocks(
  axis: Axis,
  term: PeakMeasure,
  importKwh: Float64Array,
): { group: number; members: number[]; share: number }[] {
  const { day } = axis.calendar;
  const byGroup: Map<number, { kwh: number; members: number[] }>[] = Array.from(
    { length: term.groups },
    () => new Map(),
  );
  const blocks = new Map<string, { group: number; kwh: number; members: number[]; day: number }>();
  for (let i = 0; i < importKwh.length; i++) {
    const g = term.group[i]!;
    if (g < 0) continue;
    const key = `${g} ${Math.floor((i - term.phaseSteps) / term.averagingSteps)}`;
    const block = blocks.get(key) ?? { group: g, kwh: 0, members: [], day: day[i]! };
    block.kwh += importKwh[i]!;
    block.members.push(i);
    blocks.set(key, block);
  }
  for (const block of blocks.values()) {
    const days = byGroup[block.group]!;
    const highest = days.get(block.day);
    if (highest === undefined || block.kwh > highest.kwh) days.set(block.day, block);
  }
  return byGroup.flatMap((days, group) => {
    const top = [...days.values()].sort((a, b) => b.kwh - a.kwh).slice(0, term.highestDays);
    return top.map((block) => ({ group, members: block.members, share: 1 / top.length }));
  });
}
