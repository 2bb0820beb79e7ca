import vm from 'node:vm';
import { seeded } from '../../support/homes-plain.ts';

/** A value that no caller should hand over, fresh each time. */
const HOSTILE: (() => unknown)[] = [
  () => undefined,
  () => null,
  () => Number.NaN,
  () => Number.POSITIVE_INFINITY,
  () => Number.NEGATIVE_INFINITY,
  () => -1,
  () => 0,
  () => 0.5,
  () => 1e16,
  () => 1e308,
  () => -1e308,
  () => Number.MIN_VALUE,
  () => '',
  () => 'x',
  () => '2026-02-31',
  () => 'x'.repeat(10_000),
  () => true,
  () => 7n,
  () => Symbol('s'),
  () => ({}),
  () => [],
  () => [null],
  () => [[]],
  // Four billion holes.
  () => new Array(2 ** 32 - 1),
  () => Array.from({ length: 1000 }, () => Number.NaN),
  () => new Float64Array(0),
  () => new Float64Array(10_000),
  () => new Float64Array(72).fill(Number.NaN),
  () => new Uint8Array(72).fill(255),
  () => new Int32Array(72).fill(-7),
  () => new Date(Number.NaN),
  () => new Map(),
  () => () => {},
  () => () => Number.NaN,
  () => Object.create(null),
  () => JSON.parse('{"__proto__": {"a": 1}}'),
  () => {
    const circle: Record<string, unknown> = { name: 'circle' };
    circle.self = circle;
    circle.list = [circle];
    return circle;
  },
  () => {
    let deep: unknown = 1;
    for (let k = 0; k < 20_000; k++) deep = { deep };
    return deep;
  },
];

const NUMBERS = [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, -1, -1e308, 1e308];

type Step = string | number;

function isTyped(value: unknown): value is Float64Array {
  return ArrayBuffer.isView(value) && !(value instanceof DataView);
}

/** Addresses of the parts of some arguments, near the surface. */
function pathsOf(value: unknown, path: Step[], depth: number, found: Step[][]): void {
  if (path.length > 0) found.push(path);
  if (depth === 0 || typeof value !== 'object' || value === null || found.length > 4000) return;
  if (isTyped(value)) {
    for (const at of new Set([0, value.length >> 1, value.length - 1])) if (at >= 0) found.push([...path, at]);
  } else if (Array.isArray(value)) {
    for (let k = 0; k < Math.min(2, value.length); k++) pathsOf(value[k], [...path, k], depth - 1, found);
  } else if (Object.getPrototypeOf(value) === Object.prototype)
    for (const key of Object.keys(value))
      pathsOf((value as Record<string, unknown>)[key], [...path, key], depth - 1, found);
}

/** The same with another part at a path; what stands beside the path is shared, what lies on it is copied. */
function withPart(value: unknown, path: readonly Step[], part: unknown, drop: boolean): unknown {
  const [step, ...rest] = path;
  if (step === undefined) return part;
  if (isTyped(value)) {
    const copy = value.slice();
    copy[step as number] = typeof part === 'number' ? part : Number.NaN;
    return copy;
  }
  const copy = (Array.isArray(value) ? [...value] : { ...(value as object) }) as Record<Step, unknown>;
  if (rest.length === 0 && drop) delete copy[step];
  else copy[step] = withPart(copy[step], rest, part, drop);
  return copy;
}

/** Hostile forms of good arguments, the same for the same seed. */
export function* hostileForms(good: readonly unknown[], count: number, seed: number): Generator<readonly unknown[]> {
  const random = seeded(seed);
  const pick = <T>(list: readonly T[]) => list[Math.floor(random() * list.length)]!;
  yield [];
  for (let k = 0; k < good.length; k++)
    for (const make of HOSTILE.filter((_, h) => h % 3 === k % 3)) yield withPart(good, [k], make(), false) as unknown[];
  const paths: Step[][] = [];
  pathsOf(good, [], 4, paths);
  // Parts near the surface come as often as all the deep ones.
  const shallow = paths.filter((path) => path.length <= 2);
  for (let made = 0; made < count && paths.length > 0; made++) {
    const path = pick(random() < 0.5 && shallow.length > 0 ? shallow : paths);
    const parent = path.slice(0, -1).reduce<unknown>((at, step) => (at as Record<Step, unknown>)[step], good);
    if (isTyped(parent)) yield withPart(good, path, pick(NUMBERS), false) as unknown[];
    else {
      const own = (parent as Record<Step, unknown>)[path[path.length - 1]!];
      const lengths = isTyped(own) ? [own.slice(1), own.slice(0, 0), new Float64Array(own.length * 2)] : [];
      const part = lengths.length > 0 && random() < 0.5 ? pick(lengths) : pick(HOSTILE)();
      yield withPart(good, path, part, random() < 0.2) as unknown[];
    }
  }
}

/** Longest that a call may take, s of the processor; a call that takes ten times as long is cut off. */
const MOST_SECONDS = 1;

const script = new vm.Script('globalThis.hostileCall()');

/** What came of a call: its result, what it threw, and whether it took too long. */
export function watched(call: () => unknown): { result?: unknown; thrown?: unknown; slow: boolean } {
  const before = process.cpuUsage();
  const slow = () => {
    const { user, system } = process.cpuUsage(before);
    return (user + system) / 1e6 > MOST_SECONDS;
  };
  (globalThis as { hostileCall?: () => unknown }).hostileCall = call;
  try {
    const result = script.runInThisContext({ timeout: 10_000 * MOST_SECONDS });
    return { result, slow: slow() };
  } catch (thrown) {
    return { thrown, slow: slow() };
  }
}

/** The same, with what a promise came to in its place. */
export async function settled(outcome: ReturnType<typeof watched>): Promise<ReturnType<typeof watched>> {
  try {
    return { ...outcome, result: await outcome.result };
  } catch (thrown) {
    return { ...outcome, thrown };
  }
}

/** The address of the first number in a result that is none, or undefined. */
export function notFinite(value: unknown, infinite: boolean, path = 'result', depth = 6): string | undefined {
  if (typeof value === 'number') {
    const bad = infinite ? Number.isNaN(value) : !Number.isFinite(value);
    return bad ? `${path} is ${value}` : undefined;
  }
  if (typeof value !== 'object' || value === null || depth === 0) return undefined;
  if (value instanceof Map) return notFinite([...value], infinite, path, depth);
  const entries: [string, unknown][] = isTyped(value)
    ? Array.from(value, (entry, k) => [String(k), entry])
    : Object.entries(value);
  for (const [key, inner] of entries) {
    // What the caller wrote comes back as it is.
    if (key === 'document') continue;
    const bad = notFinite(inner, infinite, `${path}.${key}`, depth - 1);
    if (bad !== undefined) return bad;
  }
  return undefined;
}
