import type { ClockWindow } from '@duskbank/core/dispatch';
import type { SettingsReport, Study } from '@duskbank/core/study';
import { fixed, money } from './numbers.ts';
import { styled } from './style.ts';
import { table, wrap } from './text.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** The sheet to enter on the box, and what it comes to. */
export function settingsText(report: SettingsReport, study: Study): string {
  const decimals = study.home.tariff.currencyDecimals;
  const cash = (amount: number) => money(amount, report.currency, decimals);
  const rows = report.sheet.schedules.map((schedule) => [
    monthsText(schedule.months),
    schedule.days,
    schedule.charge === null ? 'no' : windowText(schedule.charge),
    schedule.charge === null ? '' : `${schedule.chargeToPercent} %`,
    schedule.discharge === null ? 'any time' : windowText(schedule.discharge),
  ]);
  const grid = table(
    [
      { head: 'months' },
      { head: 'days' },
      { head: 'charge from\nthe grid' },
      { head: 'up to', align: 'right' },
      { head: 'discharge' },
    ],
    rows,
  );
  const parts = [
    styled('bold', `${report.site}: what to enter on the box`),
    wrap(
      `Reserve ${report.sheet.reservePercent} %, grid charging at ${fixed(report.sheet.gridChargeKw, 1)} kW, own solar stored whenever there is some. Local clock time; tariff "${report.tariff}".`,
    ),
    grid,
  ];
  if (report.savings === null || report.expectedSavingsPerYear === null)
    parts.push(wrap(`No saving is given: ${study.savingsWithheld}.`));
  else {
    parts.push(
      wrap(
        `Replayed on the past that it was searched on: bill ${cash(report.bill.total)} instead of ${cash(report.baseline.bill.total)}, ${cash(report.savings)} saved. Searched on every other week and judged on the weeks between: ${cash(report.expectedSavingsPerYear)} a year, which is what to expect (modelled, energy prices only).`,
      ),
    );
    if (report.rolling !== null)
      parts.push(
        wrap(
          `A controller that plans again every hour ("rolling") would save ${cash(report.rolling.savings)} on the same past: these settings leave ${cash(report.rolling.lostPerYear)} a year of it. It is a yardstick, not a promise.`,
        ),
      );
  }
  if (report.warnings.length > 0)
    parts.push(report.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n'));
  return parts.join('\n\n');
}

function windowText({ fromMinute, toMinute }: ClockWindow): string {
  const clock = (minute: number) =>
    `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
  return `${clock(fromMinute)}–${clock(toMinute)}`;
}

/** `Apr–Sep`, `Jan, Mar`: runs of months, over the new year too. */
function monthsText(months: readonly number[]): string {
  if (months.length === 12) return 'all year';
  const set = new Set(months);
  const starts = months.filter((m) => !set.has(m === 1 ? 12 : m - 1)).sort((a, b) => a - b);
  return starts
    .map((start) => {
      let end = start;
      while (set.has((end % 12) + 1)) end = (end % 12) + 1;
      return start === end ? MONTHS[start - 1]! : `${MONTHS[start - 1]}–${MONTHS[end - 1]}`;
    })
    .join(', ');
}
