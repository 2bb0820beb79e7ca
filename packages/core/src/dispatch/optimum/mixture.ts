import type { ServiceFlows } from '../../tariff/index.ts';
import { type Multiplied, type PeakPrice, perUnit } from '../../tariff/terms/bound.ts';
import type { TakenBlocks } from './counted-blocks.ts';
import { finalWorth, peakCosts } from './demand.ts';
import type { Schedule } from './forward.ts';
import { type Column, LeastCost } from './least-cost.ts';
import { copySteps, type StepProblem, unservedPrice } from './problem.ts';
import { spansOf } from './quantity-range.ts';
import { makeReachable } from './reachable.ts';

/** Pieces that schedules are cut into at the most, and rows of the program; with more, it would take longer than it brings. */
const MOST_PIECES = 40;
const MOST_ROWS = 260;
/** What a row that can't be kept costs, as a multiple of the dearest price. */
const BIG = 1e4;

/**
 * Where a bill wants a schedule between two prices, no price leads to it: a mixture of schedules does. Steps are convex, so
 * that any mixture of feasible schedules is one; so it may be another one in each piece of the time, where what is stored at
 * the cuts is mixed alike. The best mixture under the bill's bends is a small linear program, and the prices of its rows are
 * the multipliers under which a better schedule would show, if there is one. Each adds a column a piece, until none does:
 * then the mixture is the best, and those multipliers prove it (Dantzig and Wolfe's decomposition, from memory).
 */
export interface Mixture {
  /** Adds a schedule found. */
  add(schedule: Schedule, flows: ServiceFlows): void;
  /** Mixes what is there: sets all multipliers, and returns what is stored after each step, and the cost by the program. */
  mix(): { readonly socKwh: Float64Array; readonly cost: number };
}

/** What a unit of a part's multiplier takes off the price of a peak charge, by the charge's groups; the part's group of each. */
export interface TakenPeak {
  readonly peak: number;
  readonly perKwh: Float64Array;
  readonly group: Int32Array;
}

/**
 * @param peaks peak charges beside the parts: none of their groups is cut
 * @param taken for each part the peak charges that its quantities have less of
 * @param blocks for each part the blocks that its quantities have less of
 * @returns undefined where the program would be large
 */
export function makeMixture(
  steps: StepProblem,
  parts: readonly Multiplied[],
  peaks: readonly PeakPrice[],
  taken: readonly (readonly TakenPeak[])[],
  blocks: readonly (readonly TakenBlocks[])[],
): Mixture | undefined {
  const { intervals, importCapKwh, overCapPerKwh } = steps;
  const spans = peaks.map(({ group, pricePerKwh }) => spansOf(group, pricePerKwh.length));
  const cuts = cutsOf(parts, spans, intervals);
  const pieces = cuts.length - 1;
  // Rows: a piece's weights add up to 1, what is stored at each cut, each group's quantity, each group's place on its cost.
  const rowOfCut = pieces;
  const rowOfPart: number[] = [];
  let rows = 2 * pieces - 1;
  for (const { multiplier, costs } of parts) {
    rowOfPart.push(rows);
    rows += multiplier.length * (costs === undefined ? 1 : 2);
  }
  if (rows > MOST_ROWS) return undefined;

  const { importPrice, exportPrice } = pricesAtNothing(steps, parts);
  let dearest = 1e-3;
  for (let i = 0; i < intervals; i++) dearest = Math.max(dearest, Math.abs(importPrice[i]!), Math.abs(exportPrice[i]!));
  for (const { low, high } of parts)
    for (let g = 0; g < low.length; g++) dearest = Math.max(dearest, Math.abs(low[g]!), Math.abs(high[g]!));
  const big = BIG * dearest;
  const rightSide = new Array<number>(rows).fill(0);
  const starts: Column[] = [];
  const alone = (row: number, value: number, cost: number): Column => ({ cost, row: [row], value: [value] });
  for (let p = 0; p < pieces; p++) {
    rightSide[p] = 1;
    starts.push(alone(p, 1, big * intervals));
  }
  for (let p = 1; p < pieces; p++) starts.push(alone(rowOfCut + p - 1, 1, big));
  const fixed: Column[] = [];
  /** Money in a group of blocks, and what of it other parts' quantities have less of. */
  const ofBlocks = (k: number, g: number, cost: number, rows: readonly number[], values: readonly number[]): Column => {
    const row = [...rows];
    const value = [...values];
    for (const [other, list] of blocks.entries())
      for (const { part, share, group } of list) {
        if (part !== k || group[g]! < 0) continue;
        row.push(rowOfPart[other]! + group[g]!);
        value.push(-share[g]! * cost);
      }
    return { cost, row, value };
  };
  for (let p = 1; p < pieces; p++) fixed.push(alone(rowOfCut + p - 1, -1, big));
  for (const [k, { low, high, begun, next, costs }] of parts.entries()) {
    const at = rowOfPart[k]!;
    for (let g = 0; g < low.length; g++) {
      rightSide[at + g] = -begun[g]!;
      // What is owed beyond: at the highest multiplier; what is left over: at the lowest, or carried on.
      const over = ofBlocks(k, g, high[g]!, [at + g], [-1]);
      const under = ofBlocks(k, g, -low[g]!, [at + g], [1]);
      const start = rightSide[at + g]! > 0 ? under : over;
      fixed.push(start === over ? under : over);
      if (start.row.length === 1) starts.push(start);
      else {
        fixed.push(start);
        starts.push(alone(at + g, start.value[0]!, big));
      }
      const into = next?.[g] ?? -1;
      if (into >= 0) fixed.push({ cost: 0, row: [at + g, at + into], value: [1, -1] });
    }
    if (costs === undefined) continue;
    for (const [g, { atKwh, cost }] of costs.entries()) {
      const row = at + low.length + g;
      rightSide[row] = 1;
      starts.push(alone(row, 1, big * intervals));
      for (let c = 0; c < atKwh.length; c++) fixed.push(ofBlocks(k, g, cost[c]!, [at + g, row], [-atKwh[c]!, 1]));
    }
  }
  const program = new LeastCost(rightSide, starts);
  for (const column of fixed) program.add(column);
  const offset = parts.reduce((sum, part) => sum + part.offset, 0);
  const added: { readonly piece: number; readonly column: number; readonly socKwh: Float64Array }[] = [];
  const seen = pieces === 1 ? undefined : new Set<string>();

  return {
    add(schedule, { importKwh, exportKwh }) {
      const ofPiece = new Float64Array(pieces);
      const pieceOf = (charge: number, g: number) => {
        const at = Math.max(0, spans[charge]!.first[g]!);
        return cuts.findIndex((cut) => cut > at) - 1;
      };
      for (const [c, charge] of peaks.entries())
        for (const [g, cost] of peakCosts(steps, charge, schedule).entries()) {
          const p = pieceOf(c, g);
          ofPiece[p] = ofPiece[p]! + cost;
        }
      const less = taken.map((list) =>
        list.map(({ peak, perKwh }) => peakCosts(steps, { ...peaks[peak]!, pricePerKwh: perKwh }, schedule)),
      );
      for (let p = 0; p < pieces; p++) {
        const first = cuts[p]!;
        const end = cuts[p + 1]!;
        let cost = ofPiece[p]! - (p === pieces - 1 ? finalWorth(steps, intervals - 1, schedule) : 0);
        for (let i = first; i < end; i++) {
          cost += importKwh[i]! * importPrice[i]! - exportKwh[i]! * exportPrice[i]!;
          cost += steps.wearPerKwh * schedule.dischargeKwh[i]!;
          if (importCapKwh !== undefined) cost += overCapPerKwh![i]! * Math.max(0, importKwh[i]! - importCapKwh[i]!);
          if (schedule.unservedKwh[i]! > 0) cost += unservedPrice(steps, i) * schedule.unservedKwh[i]!;
        }
        const row = [p];
        const value = [1];
        // Stored at the end of a piece, and at the start of the next.
        if (p < pieces - 1) {
          row.push(rowOfCut + p);
          value.push(schedule.socKwh[end - 1]!);
        }
        if (p > 0) {
          row.push(rowOfCut + p - 1);
          value.push(-schedule.socKwh[first - 1]!);
        }
        for (const [k, part] of parts.entries()) {
          const sums = new Map<number, number>();
          for (let i = first; i < end; i++) {
            const g = part.group[i]!;
            if (g < 0) continue;
            const quantity =
              importKwh[i]! * perUnit(part.importPerUnit, i) - exportKwh[i]! * perUnit(part.exportPerUnit, i);
            sums.set(g, (sums.get(g) ?? 0) + quantity);
          }
          for (const [j, { peak, group }] of taken[k]!.entries())
            for (const [c, money] of less[k]![j]!.entries())
              if (group[c]! >= 0 && pieceOf(peak, c) === p) sums.set(group[c]!, (sums.get(group[c]!) ?? 0) - money);
          for (const [g, quantity] of sums) {
            row.push(rowOfPart[k]! + g);
            value.push(quantity);
          }
        }
        const key = `${p} ${cost.toFixed(9)} ${value.map((each) => each.toFixed(9)).join(' ')}`;
        if (seen?.has(key)) continue;
        seen?.add(key);
        added.push({ piece: p, column: program.add({ cost, row, value }), socKwh: schedule.socKwh });
      }
    },
    mix() {
      const { prices, weights, cost } = program.solve();
      for (const [k, { multiplier, low, high }] of parts.entries())
        for (let g = 0; g < multiplier.length; g++)
          multiplier[g] = Math.min(high[g]!, Math.max(low[g]!, -prices[rowOfPart[k]! + g]!));
      const socKwh = new Float64Array(intervals);
      const share = new Float64Array(pieces);
      for (const { piece, column } of added) share[piece] = share[piece]! + weights[column]!;
      for (const { piece, column, socKwh: own } of added) {
        const weight = weights[column]! / share[piece]!;
        if (weight > 0) for (let i = cuts[piece]!; i < cuts[piece + 1]!; i++) socKwh[i] = socKwh[i]! + weight * own[i]!;
      }
      return { socKwh, cost: cost + offset };
    },
  };
}

/** The problem of following a path of stored energy, but for a hair. */
export function alongPath(steps: StepProblem, socKwh: Float64Array): StepProblem {
  const { lowKwh, highKwh, intervals } = steps;
  const near = copySteps(steps);
  const low = new Float64Array(intervals);
  const high = new Float64Array(intervals);
  for (let i = 0; i < intervals; i++) {
    const hair = 1e-9 * Math.max(1, highKwh[i]!);
    const level = Math.min(highKwh[i]!, Math.max(lowKwh[i]!, socKwh[i]!));
    low[i] = Math.max(lowKwh[i]!, level - hair);
    high[i] = Math.min(highKwh[i]!, level + hair);
  }
  near.lowKwh = low;
  near.highKwh = high;
  makeReachable(near);
  return near;
}

/** Where the time is cut: where groups begin and no other is cut through, as far apart as leaves {@link MOST_PIECES}. */
function cutsOf(
  parts: readonly Multiplied[],
  uncut: readonly ReturnType<typeof spansOf>[],
  intervals: number,
): number[] {
  const begins = new Set<number>();
  for (const { first } of [...parts.map(({ group, multiplier }) => spansOf(group, multiplier.length)), ...uncut])
    for (const at of first) if (at > 0) begins.add(at);
  const cuts = [0];
  const apart = intervals / MOST_PIECES;
  for (const at of [...begins].sort((a, b) => a - b)) {
    if (at - cuts[cuts.length - 1]! < apart) continue;
    if (!uncut.some(({ first, end }) => first.some((from, g) => from < at && at < end[g]!))) cuts.push(at);
  }
  cuts.push(intervals);
  return cuts;
}

/** Prices with all multipliers at 0. */
function pricesAtNothing(steps: StepProblem, parts: readonly Multiplied[]) {
  const importPrice = steps.importPricePerKwh.slice(0, steps.intervals);
  const exportPrice = steps.exportPricePerKwh.slice(0, steps.intervals);
  for (const { group, base, importPerUnit, exportPerUnit } of parts)
    for (let i = 0; i < group.length; i++) {
      const g = group[i]!;
      if (g < 0) continue;
      importPrice[i] = importPrice[i]! - base[g]! * perUnit(importPerUnit, i);
      exportPrice[i] = exportPrice[i]! - base[g]! * perUnit(exportPerUnit, i);
    }
  return { importPrice, exportPrice };
}
