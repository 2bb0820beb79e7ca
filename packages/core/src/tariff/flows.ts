import { InputError, type InputIssue } from '../input/issue.ts';
import { showValue } from '../input/quote.ts';

/** What passes the service in each interval, kWh, never negative. */
export interface ServiceFlows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
}

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

/** @throws InputError `not-finite` | `out-of-range`: the first fault of each array */
export function checkFlows(flows: ServiceFlows): void {
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

function firstFault(kwh: Float64Array): number {
  return kwh.findIndex((value) => !(value >= 0 && value < Number.POSITIVE_INFINITY));
}
