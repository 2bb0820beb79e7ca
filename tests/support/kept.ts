// What is kept of an answer: a line for each of its parts, with figures that a person can read and a short digest of all
// that the part holds. It says that something moved, and where; never what is right.
import { createHash } from 'node:crypto';
import { describeIssue, InputError } from '@duskbank/core/input';

/** Numbers are kept to so many digits, and to so many decimals: the order of adding up moves none of them. */
const DIGITS = 9;
/** Lists with up to so many entries are told entry by entry. */
const FEW = 6;

/** A number as it is kept. */
function rounded(value: number): string {
  if (Number.isInteger(value) || !Number.isFinite(value)) return String(value + 0);
  const near = Math.round(value * 10 ** DIGITS) / 10 ** DIGITS;
  return String(Number(near.toPrecision(DIGITS)) + 0);
}

/** Everything in a part, gone through once: numbers and names of fields in one digest, texts in another. */
interface Sums {
  readonly figures: ReturnType<typeof createHash>;
  readonly words: ReturnType<typeof createHash>;
  count: number;
  sum: number;
  texts: number;
}

/** A figure in the sum that a person reads: an instant or an infinity would hide all others. */
const summed = (value: number) => (Math.abs(value) < 1e11 ? value : 0);

function walk(value: unknown, sums: Sums): void {
  if (typeof value === 'number') {
    sums.count++;
    sums.sum += summed(value);
    sums.figures.update(`${rounded(value)},`);
  } else if (typeof value === 'string') {
    sums.texts++;
    sums.words.update(`${value}\n`);
  } else if (ArrayBuffer.isView(value)) walkNumbers(value as Float64Array, sums);
  else if (Array.isArray(value)) {
    sums.figures.update(`[${value.length}`);
    for (const entry of value) walk(entry, sums);
  } else if (typeof value === 'object' && value !== null)
    for (const [key, entry] of entriesOf(value)) {
      sums.figures.update(`${key}:`);
      walk(entry, sums);
    }
  else sums.figures.update(`${String(value)},`);
}

function walkNumbers(values: Float64Array, sums: Sums): void {
  let text = `[${values.length}`;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    sums.sum += summed(value);
    text += `,${rounded(value)}`;
  }
  sums.count += values.length;
  sums.figures.update(text);
}

/** Fields in an order of their own: that of the code says nothing. */
function entriesOf(value: object): [string, unknown][] {
  const entries = value instanceof Map ? [...value] : Object.entries(value);
  return entries
    .filter(([, entry]) => entry !== undefined && typeof entry !== 'function')
    .map(([key, entry]): [string, unknown] => [String(key), entry])
    .sort(([a], [b]) => (a < b ? -1 : 1));
}

const short = (hash: ReturnType<typeof createHash>) => hash.digest('hex').slice(0, 8);

/** Lines of a like in one that is kept: their name and a digest of them. */
export const inOne = (name: string, lines: readonly string[]) =>
  `${name}: ${lines.length} #${short(createHash('sha256').update(lines.join('\n')))}`;

/** A part in a line: how many figures it holds, what they add up to, and a digest of them; the same of its texts. */
function inALine(value: unknown): string {
  const sums: Sums = { figures: createHash('sha256'), words: createHash('sha256'), count: 0, sum: 0, texts: 0 };
  walk(value, sums);
  const figures = `${sums.count} figures adding up to ${Number(sums.sum.toPrecision(6)) + 0} #${short(sums.figures)}`;
  return sums.texts === 0 ? figures : `${figures}, ${sums.texts} texts #${short(sums.words)}`;
}

function lines(name: string, value: unknown, depth: number, into: string[]): void {
  const say = (text: string) => into.push(`${name === '' ? 'all' : name}: ${text}`);
  if (typeof value === 'number') return void say(rounded(value));
  if (typeof value === 'string') return void say(value.length <= 60 ? JSON.stringify(value) : inALine(value));
  if (typeof value !== 'object' || value === null) return void say(String(value));
  const isList = Array.isArray(value);
  if (depth === 0 || ArrayBuffer.isView(value) || (isList && value.length > FEW)) return void say(inALine(value));
  const entries = entriesOf(value);
  if (entries.length === 0) return void say(isList ? 'none' : 'nothing');
  for (const [key, entry] of entries) lines(name === '' ? key : `${name}.${key}`, entry, depth - 1, into);
}

/**
 * An answer as it is kept, for `toMatchSnapshot`: a line for each part down to `depth`.
 */
export function kept(answer: unknown, depth = 1): string {
  const into: string[] = [];
  lines('', answer, depth, into);
  return into.join('\n');
}

/** What a call answers, kept, or how it refuses. */
export async function keptOf(call: () => unknown, depth = 1): Promise<string> {
  try {
    return kept(await call(), depth);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const told = error.issues.slice(0, FEW).map((issue) => `refused: ${describeIssue(issue)}`);
    return [...told, `${error.issues.length} ${error.issues.length === 1 ? 'fault' : 'faults'}`].join('\n');
  }
}

/** What each of several calls answers, kept, under its name. */
export async function keptEach(calls: Readonly<Record<string, () => unknown>>, depth = 1): Promise<string> {
  const told: string[] = [];
  for (const [name, call] of Object.entries(calls)) told.push(`-- ${name}`, await keptOf(call, depth));
  return told.join('\n');
}
