import { InputError, type InputIssue, showValue } from '../input/index.ts';
import type { ServiceFlows } from './flow-sums.ts';

const FIELDS = ['importKwh', 'exportKwh'] as const;

/** @throws InputError `length-mismatch` where an array isn't as long as the tariff's axis */
export function checkLengths(flows: ServiceFlows, intervals: number): void {
  if (flows.importKwh.length === intervals && flows.exportKwh.length === intervals) return;
  throw new InputError(
    FIELDS.filter((field) => flows[field].length !== intervals).map(
      (field): InputIssue => ({
        code: 'length-mismatch',
        where: { path: [field] },
        received: showValue(flows[field].length),
        expected: `${intervals} entries, one for each interval of the tariff’s axis`,
      }),
    ),
  );
}

/** @throws InputError `length-mismatch` | `not-finite` | `out-of-range`: the first fault of each array */
export function checkFlows(flows: ServiceFlows, intervals: number): void {
  checkLengths(flows, intervals);
  const issues: InputIssue[] = [];
  for (const field of FIELDS) {
    const at = firstFault(flows[field]);
    if (at < 0) continue;
    const kwh = flows[field][at]!;
    issues.push({
      code: Number.isFinite(kwh) ? 'out-of-range' : 'not-finite',
      where: { path: [field, at] },
      received: showValue(kwh),
      expected: 'energy in kWh, at least 0',
    });
  }
  if (issues.length > 0) throw new InputError(issues);
}

/**
 * `v − |v|` is 0 for what is right, below 0 for a negative number and NaN for what isn't finite: the sum is 0 only where
 * all are right. Eight sums at once, for a bill costs little more than a pass.
 */
function firstFault(kwh: Float64Array): number {
  const whole = kwh.length - (kwh.length % 8);
  let [a, b, c, d, e, f, g, h] = [0, 0, 0, 0, 0, 0, 0, 0];
  for (let i = 0; i < whole; i += 8) {
    a += kwh[i]! - Math.abs(kwh[i]!);
    b += kwh[i + 1]! - Math.abs(kwh[i + 1]!);
    c += kwh[i + 2]! - Math.abs(kwh[i + 2]!);
    d += kwh[i + 3]! - Math.abs(kwh[i + 3]!);
    e += kwh[i + 4]! - Math.abs(kwh[i + 4]!);
    f += kwh[i + 5]! - Math.abs(kwh[i + 5]!);
    g += kwh[i + 6]! - Math.abs(kwh[i + 6]!);
    h += kwh[i + 7]! - Math.abs(kwh[i + 7]!);
  }
  const right = a + b + c + d + e + f + g + h === 0;
  for (let i = right ? whole : 0; i < kwh.length; i++)
    if (!(kwh[i]! >= 0 && kwh[i]! < Number.POSITIVE_INFINITY)) return i;
  return -1;
}
