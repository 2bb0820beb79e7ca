import { InputError, type InputIssue } from '../input/issue.ts';
import { showValue } from '../words/quote.ts';

/** What passes the service in each interval, kWh, never negative. */
export interface ServiceFlows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
}

const FIELDS = ['importKwh', 'exportKwh'] as const;

/** @throws InputError `not-finite` | `out-of-range`: the first fault of each array */
export function checkFlows(flows: ServiceFlows): void {
  const issues: InputIssue[] = [];
  for (const field of FIELDS) {
    const at = firstFault(flows[field]);
    if (at < 0) continue;
    const kwh = flows[field][at]!;
    issues.push({
      code: Number.isFinite(kwh) ? 'out-of-range' : 'not-finite',
      where: { path: ['flows', field, at] },
      received: showValue(kwh),
      expected: `energy in kWh, at least 0 and below ${MOST_KWH}`,
    });
  }
  if (issues.length > 0) throw new InputError(issues);
}

/** More energy than any home moves in an interval. */
export const MOST_KWH = 1e9;

function firstFault(kwh: Float64Array): number {
  return kwh.findIndex((value) => !(value >= 0 && value < MOST_KWH));
}
