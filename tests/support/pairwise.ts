// Rows in which any two levels of any two factors meet at least once: what two options do to each other shows in few cases.
import { randomOf } from './mutate-meter.mjs';

/** Rows that are drawn for each one that is taken: the one with the most pairs that are new. */
const DRAWN = 40;

/**
 * A level of each factor by its number, row by row, the same on every machine; `levels` are how many each factor has.
 */
export function pairwise(levels: readonly number[], seed: number): number[][] {
  const random = randomOf(seed);
  const open = new Set<string>();
  const key = (a: number, x: number, b: number, y: number) => `${a}:${x} ${b}:${y}`;
  for (let a = 0; a < levels.length; a++)
    for (let b = a + 1; b < levels.length; b++)
      for (let x = 0; x < levels[a]!; x++) for (let y = 0; y < levels[b]!; y++) open.add(key(a, x, b, y));
  const pairsOf = (row: readonly number[]) =>
    row.flatMap((x, a) => row.slice(a + 1).map((y, later) => key(a, x, a + 1 + later, y)));
  const rows: number[][] = [];
  while (open.size > 0) {
    // One pair that is still open stands in each of them, so that every row brings something new.
    const [a, x, b, y] = [...open][Math.floor(random() * open.size)]!.split(/[: ]/).map(Number);
    let best: { readonly row: number[]; readonly fresh: string[] } | undefined;
    for (let k = 0; k < DRAWN; k++) {
      const row = levels.map((count) => Math.floor(random() * count));
      row[a!] = x!;
      row[b!] = y!;
      const fresh = pairsOf(row).filter((pair) => open.has(pair));
      if (best === undefined || fresh.length > best.fresh.length) best = { row, fresh };
    }
    for (const pair of best!.fresh) open.delete(pair);
    rows.push(best!.row);
  }
  return rows;
}
