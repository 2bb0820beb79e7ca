import type { Axis } from '../axis/index.ts';
import { anything, check, record } from '../input/door.ts';
import { InputError } from '../input/issue.ts';

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
  check({ tariff }, { tariff: record<typeof tariff>({ document: anything }) });
  const files = new Set<string>();
  const seen = new Set<object>();
  const left: unknown[] = [tariff.document];
  while (left.length > 0) {
    const value = left.pop();
    if (value instanceof Named) files.add(value.file);
    if (typeof value !== 'object' || value === null || ArrayBuffer.isView(value) || seen.has(value)) continue;
    seen.add(value);
    // The last first, so that files come in the order of the document.
    for (const [key, inner] of Object.entries(value).reverse()) {
      const file = key === 'series' ? (inner as { file?: unknown } | null)?.file : undefined;
      left.push(typeof file === 'string' ? new Named(file) : inner);
    }
  }
  return [...files];
}

/** A file's name on the way through a document. */
class Named {
  constructor(readonly file: string) {}
}
