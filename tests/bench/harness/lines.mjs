// From the lines of a bench file to its rows. A line is
//   name     what is timed, in 28 letters
//   run      does it once; or
//   take     does it once and returns what it took by a measure of its own, in `unit`: 'ms' (as it is unsaid) or 'MB'
//   sum      a number that stands for the result, asked for outside the clock
//   beside   the name of the line that it is held against, in the same group
//   aim      { most } times that line, { least } times as fast as that line, { mostNs } nanoseconds a step, or { mostMb }
//   within   by how much of itself `sum` may differ from that of the line beside it; a larger difference is said, and fails
//   steps    entries of the axis, for nanoseconds a step; `perStep` holds the time of a step against that of a step beside it
//   limit    { arrays } or { letters }: what it has to read and write at least, in arrays as long as the axis or signs of a text
//   made     true for a home or data from a seed, where others run on the demo home
//   fixed    true where nothing of core is in it, so that one version is as good as the other
//   note     words on the result for a person
import { measure, median, ratioOf, spread } from './rounds.mjs';

const LONGEST_NAME = 28;

/**
 * Times a group's lines of this version, and of the version before where there is one, all in the same rounds.
 * `before` are the same lines made by the other core, or undefined.
 */
export function measureLines(lines, before, options = {}) {
  const sides = lines.map((line, k) => {
    if (line.name.length > LONGEST_NAME) throw new Error(`no room for the name "${line.name}"`);
    const other = line.fixed ? undefined : before?.[k];
    if (other !== undefined && other.name !== line.name) throw new Error(`${other.name} stands beside ${line.name}`);
    const after = task(line);
    return { line, after, before: other === undefined ? undefined : task(other) };
  });
  const missing = new Map();
  const tasks = [];
  for (const side of sides) {
    tasks.push(side.after);
    if (side.before === undefined) continue;
    // What is new in this version can't be run in the one before.
    try {
      side.before.run?.();
      tasks.push(side.before);
    } catch (error) {
      missing.set(side.line.name, error.message);
      side.before = undefined;
    }
  }
  const rounds = measure(tasks, options);
  const named = new Map(sides.map((side) => [side.line.name, side]));
  return sides.map((side) => {
    const { line, after } = side;
    const peer = line.beside === undefined ? undefined : named.get(line.beside);
    if (line.beside !== undefined && peer === undefined) throw new Error(`no line is named ${line.beside}`);
    const held = (own, other) => (other === undefined ? undefined : ratioTo(line, own, other));
    const sum = line.sum?.();
    const old = side.before?.line.sum?.();
    return {
      line,
      rounds,
      value: median(after.times),
      spread: spread(after.times),
      ratio: held(after, peer?.after),
      before: side.before === undefined ? undefined : held(side.before, peer?.before ?? peer?.after),
      change: side.before === undefined ? undefined : ratioOf(after.times, side.before.times),
      same: side.before === undefined || line.sum === undefined ? undefined : difference(sum, old),
      missing: missing.get(line.name),
      settled: after.settled && (side.before?.settled ?? true),
      sum,
      off: line.within === undefined ? undefined : difference(sum, peer.line.sum()),
      note: line.note?.(),
    };
  });
}

const task = (line) => ({ line, run: line.run, take: line.take });

function ratioTo(line, own, peer) {
  const perStep = line.perStep ? peer.line.steps / line.steps : 1;
  const ratio = line.aim?.least === undefined ? ratioOf(own.times, peer.times) : ratioOf(peer.times, own.times);
  return { median: ratio.median * perStep, spread: ratio.spread * perStep };
}

/** By how much of itself a result differs; 0 where both are the same to the bit. */
export function difference(a, b) {
  if (Object.is(a, b)) return 0;
  if (typeof a !== 'number' || typeof b !== 'number') return Number.POSITIVE_INFINITY;
  const off = Math.abs(a - b) / Math.max(Math.abs(a), Math.abs(b));
  return Number.isNaN(off) ? Number.POSITIVE_INFINITY : off;
}

/** One number of many, which their order moves too. */
export function checksum(...arrays) {
  let sum = 0;
  for (const values of arrays) for (let i = 0; i < values.length; i++) sum += values[i] * (1 + (i % 89) / 89);
  return sum;
}
