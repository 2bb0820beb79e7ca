import type { TariffChoiceReport } from '@duskbank/core/study';
import { spanText } from './home.ts';
import { fixed } from './numbers.ts';
import { spanOf } from './span.ts';
import { stepsTable } from './steps.ts';
import { livesOf, today } from './tariff-switch.ts';
import { cellName, heading, nameHeading, shortened, table, wrap } from './text.ts';
import { openApart } from './warnings.ts';

/** Which tariff is best for a home without a battery: the answer, the tariffs, the steps, today's bills. */
export function choiceText(report: TariffChoiceReport): string {
  const { tariffSwitch, currency, currencyDecimals: decimals } = report;
  const span = spanOf(report.axis);
  const money = (value: number) => fixed(span.factor * value, decimals);
  const planned = tariffSwitch.tariffs.some((row) => row.withPlannedSolar !== null);
  const { open, others } = openApart(report);
  const parts = [
    [
      nameHeading(report.site),
      ...(open === '' ? [] : [open]),
      wrap(tariffSwitch.conclusion),
      wrap(`${spanText(report.axis)}; money in ${currency}; no battery is stated.`),
      ...(span.note === undefined ? [] : [wrap(span.note)]),
    ].join('\n'),
    [
      heading(`The tariffs, over the same past: ${currency} ${span.words}`),
      table(
        [
          { head: 'tariff' },
          { head: 'the bill', align: 'right' },
          ...(planned ? ([{ head: 'planned\nsolar', align: 'right' }] as const) : []),
          { head: 'of it fixed:\nsaved by nothing', align: 'right' },
        ],
        tariffSwitch.tariffs.map((row) => [
          shortened(cellName(row.tariff), 34) + (row.today ? ' (today)' : row.open ? '' : ' (closed)'),
          money(row.withoutBattery),
          ...(planned ? [money(row.withPlannedSolar ?? row.withoutBattery)] : []),
          money(row.unavoidable),
        ]),
      ),
      ...livesOf(report, span, ''),
    ].join('\n'),
    stepsTable(tariffSwitch.steps, currency, decimals, span),
    today(report, (value) => fixed(value, decimals)),
    wrap(
      'What a battery would save, and which tariff is best with one, is answered once the site states it under "plant".',
    ),
  ];
  if (others !== '') parts.push(others);
  return parts.join('\n\n');
}
