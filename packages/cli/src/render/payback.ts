import type { CompareReport } from '@duskbank/core/study';
import { fixed, money } from './numbers.ts';
import { wrap } from './text.ts';

/** Whether and when it pays back, over the tariff's scheduled life; nothing where there is no price. */
export function paybackText(report: CompareReport): string | undefined {
  const { payback, currency, currencyDecimals: decimals, tariff: present } = report;
  if (payback === null) return undefined;
  const { cost, years, stretches, validUntil, recovered, basis } = payback;
  const last = stretches[stretches.length - 1]!;
  const paid = money(cost, currency, decimals);
  const on = payback.tariff === present ? '' : ` on "${payback.tariff}"`;
  const reckoned =
    stretches.length === 1
      ? ''
      : ` Reckoned from ${payback.from}: ${stretches
          .map(
            ({ until, tariff, strategy, savingsPerYear }, k) =>
              `${k === 0 ? `${currency} ` : ''}${fixed(savingsPerYear, decimals)} a year on "${tariff}" as "${strategy}"${until === null ? '' : ` until ${until}`}`,
          )
          .join(', then ')}.`;
  if (years !== null) {
    const before = validUntil === null ? '' : `, before "${last.tariff}" changes or ends on ${validUntil}`;
    return wrap(
      `${paid} come back in ${fixed(years, 1)} years under "${payback.strategy}"${on}${before}: ${basis}.${reckoned}`,
    );
  }
  if (recovered !== null)
    return wrap(
      `No payback is claimed: "${last.tariff}" ends on ${validUntil}, and what follows is not known. By then ${money(recovered, currency, decimals)} of ${paid} have come back, counted from ${payback.from}: ${basis}.${reckoned}`,
    );
  return wrap(`It never pays back ${paid}${on}: ${basis}.${reckoned}`);
}
