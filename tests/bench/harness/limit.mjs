// What no program can do without: a loop over the year that does next to nothing, and reading what a line has to read.
import { measure, median, spread } from './rounds.mjs';

const INTERVALS = 35_040;

/** A loop over a year of quarter hours that keeps a store between two bounds. `net` is what flows, `out` takes the store. */
export function bareLoop(net, out) {
  let stored = 2;
  for (let i = 0; i < net.length; i++) {
    stored -= net[i];
    if (stored < 2) stored = 2;
    else if (stored > 9.6) stored = 9.6;
    out[i] = stored;
  }
}

/** Nanoseconds that an entry of an array and a letter of a text take to read once, and a bare loop a step. */
export function measureLimits(options) {
  const arrays = Array.from({ length: 4 }, (_, k) =>
    Float64Array.from({ length: INTERVALS }, (_, i) => Math.sin(i * (k + 1))),
  );
  const [a, b, c, d] = arrays;
  const out = new Float64Array(INTERVALS);
  const text = Array.from({ length: INTERVALS }, (_, i) => `2026-01-01 00:00,${(i % 900) / 1000}`).join('\n');
  let kept = 0;
  const read = {
    run() {
      let sum = 0;
      for (let i = 0; i < INTERVALS; i++) sum += a[i] + b[i] + c[i] + d[i];
      kept += sum;
    },
  };
  const letters = {
    run() {
      let sum = 0;
      for (let i = 0; i < text.length; i++) sum += text.charCodeAt(i);
      kept += sum;
    },
  };
  const bare = { run: () => bareLoop(a, out) };
  measure([read, letters, bare], { budgetMs: 300, ...options });
  if (!Number.isFinite(kept)) throw new Error('internal: what was read is no number');
  const ns = (task, entries) => ({
    median: (median(task.times) * 1e6) / entries,
    spread: (spread(task.times) * 1e6) / entries,
  });
  return {
    arrayNs: ns(read, INTERVALS * arrays.length),
    letterNs: ns(letters, text.length),
    bareNs: ns(bare, INTERVALS),
    intervals: INTERVALS,
  };
}

/** Milliseconds that a line can't do without. */
export function limitMs({ limit, steps }, { arrayNs, letterNs }) {
  if (limit === undefined) return undefined;
  const ns = limit.arrays === undefined ? limit.letters * letterNs.median : limit.arrays * steps * arrayNs.median;
  return ns / 1e6;
}
