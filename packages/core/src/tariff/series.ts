import type { Axis } from '../axis/index.ts';
import { anything, check, record } from '../input/door.ts';
import { InputError } from '../input/issue.ts';
import type { Path } from './resolve/faults.ts';

/** Prices of a file, each holding from its start for one step. */
export interface PriceSeries {
  readonly startEpochMs: number;
  readonly stepMinutes: number;
  readonly pricePerKwh: ArrayLike<number>;
}

/**
 * A price series on an axis: finer prices are averaged, coarser ones hold through their step.
 *
 * @throws InputError `missing-series` | `series-span` | `not-finite`
 */
export function pricesOnAxis(axis: Axis, file: string, series: PriceSeries | undefined): Float64Array {
  const fail = (code: string, received: string, expected: string, hint: string): never => {
    throw new InputError([{ code, where: { file }, received, expected, hint }]);
  };
  if (series === undefined)
    return fail('missing-series', 'nothing', 'the price series that the tariff names', 'hand it over with the tariff');
  const { pricePerKwh } = series;
  const stepMs = axis.stepMinutes * 60_000;
  const seriesMs = series.stepMinutes * 60_000;
  const endMs = series.startEpochMs + pricePerKwh.length * seriesMs;
  if (series.startEpochMs > axis.startEpochMs || endMs < axis.endEpochMs)
    return fail(
      'series-span',
      `prices from ${iso(series.startEpochMs)} to ${iso(endMs)}`,
      `prices from ${iso(axis.startEpochMs)} to ${iso(axis.endEpochMs)}, as the energy data`,
      'get the missing prices, or cut the energy data',
    );
  // What the data don't reach may be blank.
  const firstNeeded = Math.floor((axis.startEpochMs - series.startEpochMs) / seriesMs);
  const endNeeded = Math.ceil((axis.endEpochMs - series.startEpochMs) / seriesMs);
  let missing = 0;
  let firstMissing = -1;
  for (let k = firstNeeded; k < endNeeded; k++)
    if (!Number.isFinite(pricePerKwh[k])) {
      if (missing === 0) firstMissing = k;
      missing++;
    }
  if (missing > 0)
    return fail(
      'not-finite',
      `no price at ${iso(series.startEpochMs + firstMissing * seriesMs)} UTC${missing > 1 ? `, ${missing} of them missing` : ''}`,
      'a price for every step of the energy data',
      'fill the gap in the file',
    );
  const prices = new Float64Array(axis.intervals);
  for (let i = 0; i < prices.length; i++) {
    const from = axis.startEpochMs + i * stepMs - series.startEpochMs;
    const first = Math.floor(from / seriesMs);
    const last = Math.ceil((from + stepMs) / seriesMs);
    if (last === first + 1) {
      prices[i] = pricePerKwh[first]!;
      continue;
    }
    let sum = 0;
    for (let k = first; k < last; k++) {
      const overlap = Math.min(from + stepMs, (k + 1) * seriesMs) - Math.max(from, k * seriesMs);
      sum += pricePerKwh[k]! * (overlap / stepMs);
    }
    prices[i] = sum;
  }
  return prices;
}

function iso(epochMs: number): string {
  return new Date(epochMs).toISOString().slice(0, 16).replace('T', ' ');
}

/**
 * The price series that a tariff names, each once.
 * @throws InputError `wrong-type` on anything but an object with a document
 */
export function seriesFiles(tariff: { readonly document: unknown }): string[] {
  return seriesNamed(tariff).map(({ file }) => file);
}

/**
 * The price series that a tariff names, each once, and where in its document the first mention stands.
 * @throws InputError `wrong-type` on anything but an object with a document
 */
export function seriesNamed(tariff: { readonly document: unknown }): { readonly file: string; readonly path: Path }[] {
  check({ tariff }, { tariff: record<typeof tariff>({ document: anything }) });
  const named = new Map<string, Path>();
  const seen = new Set<object>();
  const left: Place[] = [{ value: tariff.document }];
  while (left.length > 0) {
    const place = left.pop()!;
    const { value, key } = place;
    if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value) || seen.has(value)) continue;
    seen.add(value);
    const file = key === 'series' ? (value as { file?: unknown }).file : undefined;
    if (typeof file === 'string') {
      if (!named.has(file)) named.set(file, [...pathOf(place), 'file']);
      continue;
    }
    const isList = Array.isArray(value);
    // The last first, so that files come in the order of the document.
    for (const [name, inner] of Object.entries(value).reverse())
      left.push({ value: inner, key: isList ? Number(name) : name, within: place });
  }
  return [...named].map(([file, path]) => ({ file, path }));
}

/** A value of a document, and where it stands: a path of its own for each would cost the square of the depth. */
interface Place {
  readonly value: unknown;
  readonly key?: string | number;
  readonly within?: Place;
}

function pathOf(place: Place): (string | number)[] {
  const path: (string | number)[] = [];
  for (let at: Place | undefined = place; at?.key !== undefined; at = at.within) path.push(at.key);
  return path.reverse();
}
