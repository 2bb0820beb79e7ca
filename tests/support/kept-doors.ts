// How exported functions refuse arguments that are wrong in one place: every rule of a door has its say, whatever its bounds.
import { describeIssue, InputError } from '@duskbank/core/input';
import { kept } from './kept.ts';

type Step = string | number;

/** Parts of arguments that are tried, this deep: no rule of ours lies deeper than the arguments of its recipe go. */
const DEEPEST = 6;
/** Functions of a folder in which the same object is gone into. */
const OFTEN = 2;

const isPlainObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value) && !ArrayBuffer.isView(value);

/** What no rule lets through in place of a field that isn't there. */
const ODD: unknown = [[]];

/**
 * Fields that a door asks for and that an object doesn't have. The last that it has is wrong while they are noted, so that
 * nothing is computed.
 */
async function askedOf(value: object, call: (asking: object) => Promise<unknown>): Promise<string[]> {
  const asked = new Set<string>();
  const last = Object.keys(value).at(-1);
  const given = last === undefined ? {} : { ...value, [last]: ODD };
  const asking = new Proxy(given, {
    get: (own, key) => {
      if (typeof key === 'string' && !Object.hasOwn(own, key)) asked.add(key);
      return Reflect.get(own, key);
    },
  });
  await call(asking);
  for (const key of ['then', 'toJSON']) asked.delete(key);
  return [...asked].sort();
}

/** A series with another entry in its middle. */
function withEntry(value: Float64Array, entry: number): Float64Array {
  const copy = value.slice();
  copy[copy.length >> 1] = entry;
  return copy;
}

/** What stands in place of a part, each with its name: wrong in kind, beyond all bounds, too short. */
function wrongFor(value: unknown): [name: string, wrong: unknown][] {
  const kind: [string, unknown] = ['odd', ODD];
  if (typeof value === 'number') return [kind, ['NaN', Number.NaN], ['huge', 1e300], ['low', -1e300]];
  if (Array.isArray(value)) return [kind, ['empty', []]];
  if (value instanceof Float64Array)
    return [
      kind,
      ['short', value.slice(1)],
      ...[Number.NaN, Number.POSITIVE_INFINITY, 1e300, -1e300].map((entry): [string, unknown] => [
        String(entry),
        withEntry(value, entry),
      ]),
    ];
  if (value instanceof Int32Array || value instanceof Uint8Array || value instanceof Int16Array) {
    const high = value.slice();
    high[high.length >> 1] = value instanceof Uint8Array ? 255 : 32_000;
    return [kind, ['short', value.slice(1)], ['high', high]];
  }
  return [kind];
}

/** How often each object was gone into: a home or study is handed to many functions, and has the same rules in all. */
export type GoneInto = WeakMap<object, number>;

/** Every part of some arguments; of a list its first entry and its last. */
function* partsOf(
  value: unknown,
  path: readonly Step[],
  gone: GoneInto,
): Generator<{ path: readonly Step[]; part: unknown }> {
  if (path.length > 0) yield { path, part: value };
  if (path.length >= DEEPEST || typeof value !== 'object' || value === null || path.at(-1) === 'data') return;
  const before = gone.get(value) ?? 0;
  gone.set(value, before + 1);
  if (before >= OFTEN) return;
  if (Array.isArray(value))
    for (const k of new Set([0, value.length - 1])) {
      if (k >= 0) yield* partsOf(value[k], [...path, k], gone);
    }
  else if (isPlainObject(value) && Object.getPrototypeOf(value) === Object.prototype)
    for (const [key, part] of Object.entries(value)) yield* partsOf(part, [...path, key], gone);
}

/** The same arguments with another part at a path: what lies on the path is copied, so that nobody has looked at it yet. */
function withPart(value: unknown, [step, ...rest]: readonly Step[], part: unknown): unknown {
  if (step === undefined) return part;
  const copy = (Array.isArray(value) ? [...value] : { ...(value as object) }) as Record<Step, unknown>;
  copy[step] = withPart(copy[step], rest, part);
  return copy;
}

/** How a call is refused for each thing that may be wrong with its arguments, a line for each argument. */
export async function keptRefused(
  call: (...args: unknown[]) => unknown,
  good: readonly unknown[],
  gone: GoneInto,
): Promise<string> {
  const told = new Map<string, string[]>();
  const tell = async (path: readonly Step[], name: string, wrong: unknown) => {
    const args = withPart(good, path, wrong) as unknown[];
    const argument = path.slice(0, 2).join('.');
    const line = `${path.join('.')} ${name}: ${await refusal(() => call(...args))}`;
    told.set(argument, [...(told.get(argument) ?? []), line]);
  };
  for (const { path, part } of partsOf(good, [], gone)) {
    for (const [name, wrong] of wrongFor(part)) await tell(path, name, wrong);
    if (!isPlainObject(part) || Object.getPrototypeOf(part) !== Object.prototype) continue;
    const asked = await askedOf(part, (asking) => refusal(() => call(...(withPart(good, path, asking) as unknown[]))));
    if (asked.length > 0)
      await tell(path, 'odd fields', { ...part, ...Object.fromEntries(asked.map((key) => [key, ODD])) });
  }
  return kept(told);
}

async function refusal(call: () => unknown): Promise<string> {
  try {
    await call();
    return 'let in';
  } catch (error) {
    if (error instanceof InputError) return error.issues.map(describeIssue).join('; ');
    throw error;
  }
}
