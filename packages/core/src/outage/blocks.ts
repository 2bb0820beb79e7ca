/**
 * Composes steps into a heap: node 1 is all of them, node `b` covers those of `2b` and `2b + 1`, leaf `size + i` is step
 * `i`. A node maps `x → min(cap, k·x + add)` and carries every `x ≥ need`; its entry is `need, add, cap, k`.
 */
export function composeBlocks(addKwh: Float64Array, capKwh: number, keepStep: number): Float64Array {
  const n = addKwh.length;
  let levels = 0;
  while (1 << levels < n) levels++;
  const leaves = 1 << levels;
  // Blocks that reach past the end carry nothing, so that a walk goes down to the last step and wraps there.
  const blocks = new Float64Array(8 * leaves).fill(Number.POSITIVE_INFINITY);
  for (let i = 0; i < n; i++) {
    const at = 4 * (leaves + i);
    const a = addKwh[i]!;
    blocks[at] = a < 0 ? -a / keepStep : 0;
    blocks[at + 1] = a;
    blocks[at + 2] = capKwh;
    blocks[at + 3] = keepStep;
  }
  let k = keepStep;
  for (let level = 1; level <= levels; level++) {
    const first = leaves >> level;
    const end = first + (n >> level);
    for (let b = first; b < end; b++) {
      const at = 4 * b;
      const one = 2 * at;
      const two = one + 4;
      const wants = blocks[two]!;
      const capOne = blocks[one + 2]!;
      const addOne = blocks[one + 1]!;
      const addTwo = blocks[two + 1]!;
      blocks[at] = wants > capOne ? Number.POSITIVE_INFINITY : Math.max(blocks[one]!, (wants - addOne) / k);
      blocks[at + 1] = k * addOne + addTwo;
      blocks[at + 2] = Math.min(k * capOne + addTwo, blocks[two + 2]!);
      blocks[at + 3] = k * k;
    }
    k *= k;
  }
  return blocks;
}

/** Blocks of one walk that filled the battery, kept here so that a walk allocates nothing. */
const MOST_FILLED = 64;
const FILLED_NODE = new Int32Array(MOST_FILLED);
const FILLED_AT = new Float64Array(MOST_FILLED);

/**
 * Steps from step `t` of `n` with `x` kWh until energy runs out, the last in part; `most` or more where it lasts.
 *
 * A block that fills the battery leaves the same energy whatever went in, and so the same future: `memo` keeps it by
 * node, positive where energy runs out after so many steps more, negative where it lasts at least so many, 0 unknown.
 */
export function walkBlocks(
  blocks: Float64Array,
  memo: Float64Array,
  n: number,
  t: number,
  x: number,
  most: number,
): number {
  const leaves = blocks.length / 8;
  // Walking past what is asked makes what it teaches last for the starts to come.
  const far = 2 * most;
  let filled = 0;
  let steps = 0;
  let ends = false;
  let node = leaves + t;
  let size = 1;
  while (steps < far) {
    let at = 4 * node;
    if (x >= blocks[at]!) {
      // Up: the next block, twice as large where one begins there. A composed block may leave −1e-16 for a 0.
      const moved = blocks[at + 3]! * x + blocks[at + 1]!;
      const full = blocks[at + 2]!;
      steps += size;
      if (moved >= full) {
        x = Math.max(0, full);
        const known = memo[node]!;
        if (known > 0) {
          steps += known;
          ends = true;
          break;
        }
        if (steps - known >= most) {
          steps -= known;
          break;
        }
        if (filled < MOST_FILLED) {
          FILLED_NODE[filled] = node;
          FILLED_AT[filled++] = steps;
        }
      } else x = Math.max(0, moved);
      t += size;
      if (t === n) {
        t = 0;
        node = leaves;
        size = 1;
      } else {
        node++;
        if ((node & 1) === 0) {
          node >>= 1;
          size *= 2;
        }
      }
      continue;
    }
    // Down: the block doesn't carry, so its first half does or holds the step that fails.
    while (size > 1) {
      node *= 2;
      size /= 2;
      at = 4 * node;
      if (x >= blocks[at]!) {
        x = Math.max(0, Math.min(blocks[at + 3]! * x + blocks[at + 1]!, blocks[at + 2]!));
        steps += size;
        t += size;
        node++;
        if (t === n) break;
      }
    }
    if (t < n) {
      at = 4 * node;
      const held = blocks[at + 3]! * x;
      const a = blocks[at + 1]!;
      if (held + a < 0) {
        steps += held / -a;
        ends = true;
        break;
      }
      // A block's rounding, or the data's end, sent the walk down to a step that holds.
      x = Math.min(held + a, blocks[at + 2]!);
      steps++;
      t++;
    }
    if (t === n) t = 0;
    node = leaves + t;
    size = 1;
  }
  for (let f = 0; f < filled; f++) {
    const more = steps - FILLED_AT[f]!;
    if (more > 0) memo[FILLED_NODE[f]!] = ends ? more : -more;
  }
  return steps;
}
