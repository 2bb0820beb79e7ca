import type { Multiplied } from '../../tariff/terms/bound.ts';

/** Blocks that a part's quantities have less of: the part that they are, the share of their cost, and the group here of each of theirs. */
export interface TakenBlocks {
  readonly part: number;
  readonly share: Float64Array;
  readonly group: Int32Array;
}

/** Which blocks each part takes from, and what. */
export function takenBlocks(
  multiplied: readonly { readonly part: Multiplied; readonly term: number }[],
): readonly (readonly TakenBlocks[])[] {
  return multiplied.map(({ part: { blocks = [] } }) =>
    blocks.flatMap(({ term, share, group }) => {
      const part = multiplied.findIndex((other) => other.term === term);
      return part < 0 ? [] : [{ part, share, group }];
    }),
  );
}

/** What the multipliers leave of each part's blocks, a share a group; multipliers of blocks are lowered to what their slopes leave. */
export function leftOfBlocks(
  parts: readonly Multiplied[],
  taken: readonly (readonly TakenBlocks[])[],
): readonly (Float64Array | undefined)[] {
  const left: (Float64Array | undefined)[] = parts.map(() => undefined);
  for (const [k, list] of taken.entries())
    for (const { part, share, group } of list) {
      left[part] ??= new Float64Array(share.length).fill(1);
      const own = left[part];
      for (let g = 0; g < own.length; g++)
        own[g] = Math.max(0, own[g]! - (parts[k]!.multiplier[group[g]!] ?? 0) * share[g]!);
    }
  for (const [k, { multiplier, low, high }] of parts.entries())
    left[k]?.forEach((share, g) => {
      multiplier[g] = Math.min(share * high[g]!, Math.max(share * low[g]!, multiplier[g]!));
    });
  return left;
}
