// Times lines beside each other: warm-up until they have settled, then rounds in which each line has its turn.

/** Processor time of this process in milliseconds: what else runs on the machine hardly counts in it. */
export function processorMs() {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}

export function median(values) {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

/** The median distance from the median: an odd round moves it as little as it moves the median. */
export function spread(values) {
  const middle = median(values);
  return median(values.map((value) => Math.abs(value - middle)));
}

/**
 * The engine changes what it runs for some hundred calls: a year of `window` took 2.6 ms in its first 70 calls, and 1.55 after
 * 340. In between it stood still for a while, so that standing still alone doesn't say that a line has settled. Warm-up
 * therefore lasts for `CALLS` calls or `MS` of the line's own time, goes on until the medians of the last two slices are within
 * `WITHIN` of each other, and ends in any case at `BOUND` times that, which is then said of the line. Slices of all lines take
 * turns, since what one line teaches the engine can make it undo what it made for another.
 */
const CALLS = 360;
const MS = 1000;
const SLICES = 4;
const WITHIN = 0.03;
const BOUND = 4;

/** Whether the last two medians are within a share of each other. */
export function settled(medians, within = WITHIN) {
  if (medians.length < 2) return false;
  const [before, last] = medians.slice(-2);
  return Math.abs(last - before) <= within * Math.min(last, before);
}

/** Runs tasks, each `{ run }` or `{ take }`, until each has settled or its bound is reached; whether it did is `task.settled`. */
export function warmUp(tasks, { clock = processorMs, once = false } = {}) {
  for (const task of tasks) {
    Object.assign(task, { calls: 0, spentMs: 0, medians: [], settled: false, warm: false });
    // What a line measures itself is work of another process or another language: a first call fills the machine's caches.
    if (task.take !== undefined || once) {
      const ms = timed(task, clock, 1);
      Object.assign(task, { ms: task.lastedMs ?? ms, settled: true, warm: true, perRound: 1 });
    }
  }
  while (tasks.some((task) => !task.warm))
    for (const task of tasks) {
      if (task.warm) continue;
      const times = [];
      let sliceMs = 0;
      while (times.length < CALLS / SLICES && sliceMs < MS / SLICES) {
        times.push(timed(task, clock, 1));
        sliceMs += times.at(-1);
      }
      task.calls += times.length;
      task.spentMs += sliceMs;
      task.ms = median(times);
      task.medians.push(task.ms);
      const share = Math.max(task.calls / CALLS, task.spentMs / MS);
      // One call as long as a whole warm-up has been through its loops often enough.
      task.settled = share >= 1 && (task.ms >= MS || settled(task.medians));
      task.warm = task.settled || share >= BOUND;
    }
}

const LEAST_ROUNDS = 5;
const MOST_ROUNDS = 61;
/** What a line is given of a round at least, since the clock goes in steps of a microsecond. */
const LEAST_MS = 0.05;
/** Beside one that lasts longer than this, short ones are called several times: so few rounds would say little of them. */
const LONG_MS = 200;
const MOST_CALLS = 40;

/**
 * Times the tasks round by round, in turn forwards and backwards, so that a busy moment and what runs next to it fall on all
 * alike. Where it can, each is called once a round: called again at once, it would find its arrays in the cache, as it doesn't
 * in use (the bare loop takes two thirds of the time then). `once` runs each a single time: results can be
 * compared, and times say nothing. What a task took in each round is `task.times`.
 */
export function measure(
  tasks,
  { budgetMs = 5000, clock = processorMs, collect = globalThis.gc, once = false, leastRounds = LEAST_ROUNDS } = {},
) {
  warmUp(tasks, { clock, once });
  const slowest = Math.max(...tasks.map((task) => task.ms));
  const leastMs = slowest > LONG_MS ? slowest / 20 : LEAST_MS;
  let roundMs = 0;
  for (const task of tasks) {
    task.perRound =
      task.take === undefined ? Math.min(MOST_CALLS, Math.max(1, Math.ceil(leastMs / Math.max(task.ms, 1e-6)))) : 1;
    roundMs += task.ms * task.perRound;
    task.times = [];
  }
  const rounds = once ? 1 : Math.round(Math.min(MOST_ROUNDS, Math.max(leastRounds, budgetMs / roundMs)));
  for (let round = 0; round < rounds; round++) {
    if (roundMs > LONG_MS) collect?.();
    for (const task of round % 2 === 0 ? tasks : tasks.toReversed()) task.times.push(timed(task, clock, task.perRound));
  }
  return rounds;
}

/** What a task takes a call by its measure. */
function timed(task, clock, calls) {
  const begun = clock();
  if (task.take === undefined) {
    for (let k = 0; k < calls; k++) task.run();
    return (clock() - begun) / calls;
  }
  const begunOnWall = performance.now();
  const took = task.take();
  task.lastedMs = performance.now() - begunOnWall;
  return took;
}

/** Median and spread of what `times` are of `base`, round by round. */
export function ratioOf(times, base) {
  const ratios = times.map((time, round) => time / base[round]);
  return { median: median(ratios), spread: spread(ratios) };
}
