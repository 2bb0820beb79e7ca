import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** Files of one try, by name, and what else is needed to try it again. */
export interface Try {
  /** What was done to what, for the report. */
  readonly name: string;
  readonly files: Readonly<Record<string, Uint8Array>>;
  readonly args?: readonly string[];
}

/** Makes inputs that no honest user would, and says what went wrong with one. */
export interface Fuzzer {
  readonly name: string;
  /** The same input for the same seed and number. */
  make(seed: number, n: number): Try;
  /** What the input brought to light; undefined where all is well. */
  wrongWith(input: Try): Promise<string | undefined> | string | undefined;
}

/** What a fuzzer came to. */
export interface FuzzResult {
  readonly tries: number;
  readonly failures: readonly { readonly n: number; readonly name: string; readonly why: string }[];
  readonly slowest: { readonly ms: number; readonly name: string };
}

/** More of this process's CPU than this for one try is a hang: the same on a machine that is busy with others. */
const HANG_MS = 2000;
/** Longer than this is a hang of another process, whose CPU isn't known here, on a busy machine too. */
const HANG_OF_OTHERS_MS = 20_000;

/**
 * Runs a fuzzer until its time is up.
 * @param keepIn folder in which each failing input is kept as files; left out, none is
 */
export async function fuzz(
  fuzzer: Fuzzer,
  {
    seed,
    seconds,
    most = Number.POSITIVE_INFINITY,
    keepIn,
  }: { seed: number; seconds: number; most?: number; keepIn?: string },
): Promise<FuzzResult> {
  const until = performance.now() + seconds * 1000;
  const failures: { n: number; name: string; why: string }[] = [];
  let slowest = { ms: 0, name: '' };
  let n = 0;
  for (; n < most && performance.now() < until && failures.length < 20; n++) {
    // What was left to be collected isn't what a try holds.
    if (n % 200 === 0) globalThis.gc?.();
    const input = fuzzer.make(seed, n);
    const begun = performance.now();
    const cpu = process.cpuUsage();
    let why: string | undefined;
    try {
      why = await fuzzer.wrongWith(input);
    } catch (error) {
      why = error instanceof Error ? (error.stack ?? error.message) : `threw ${String(error)}`;
    }
    const ms = performance.now() - begun;
    if (ms > slowest.ms) slowest = { ms, name: input.name };
    const { user, system } = process.cpuUsage(cpu);
    const cpuMs = (user + system) / 1e3;
    if (cpuMs > HANG_MS) why ??= `took ${cpuMs.toFixed(0)} ms of CPU`;
    else if (ms > HANG_OF_OTHERS_MS) why ??= `took ${ms.toFixed(0)} ms`;
    if (why === undefined) continue;
    failures.push({ n, name: input.name, why });
    if (keepIn !== undefined) keep(join(keepIn, `${fuzzer.name}-${seed}-${n}`), input, why);
  }
  return { tries: n, failures, slowest };
}

function keep(folder: string, { name, files, args }: Try, why: string): void {
  mkdirSync(folder, { recursive: true });
  for (const [file, bytes] of Object.entries(files)) writeFileSync(join(folder, file), bytes);
  writeFileSync(join(folder, 'why.txt'), `${name}\n${args === undefined ? '' : `${args.join(' ')}\n`}${why}\n`);
}

/**
 * What no text that people or programs read may hold: quoted texts of the input are left out of the search.
 * @param given what the user wrote: names of files, say, are told as they were given
 */
export function unspeakable(text: string, given = ''): string | undefined {
  const own = text.replace(/"(?:[^"\\\n]|\\.)*"/g, '""');
  for (const [found] of own.matchAll(/∞|\bNaN\b|\bundefined\b|\bInfinity\b|\[object \w+\]/g))
    if (!given.includes(found)) return `prints ${found}`;
  return undefined;
}
