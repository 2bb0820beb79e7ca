import { quoteName } from '@duskbank/core/input';
import type { TariffSwitchReport } from '@duskbank/core/study';
import { plantText, spanText } from './home.ts';
import { fixed } from './numbers.ts';
import { paybackText } from './payback.ts';
import { type Span, spanOf } from './span.ts';
import { stepsTable } from './steps.ts';
import { cellName, heading, nameHeading, shortened, table, wrap } from './text.ts';
import { openApart } from './warnings.ts';

/** The homeowner who wonders about switching: the answer, the tariffs, the steps, then today's bills and what it rests on. */
export function switchText(report: TariffSwitchReport): string {
  const { tariffSwitch, currency, currencyDecimals: decimals } = report;
  const span = spanOf(report.axis);
  const money = (value: number) => fixed(span.factor * value, decimals);
  const planned = report.plannedSolar !== null;
  const payback = paybackText(report);
  const { open, others } = openApart(report);
  const parts = [
    [nameHeading(report.site), ...(open === '' ? [] : [open]), heading(tariffSwitch.conclusion)].join('\n'),
    [
      heading(`The tariffs, over the same past: ${currency} ${span.words}`),
      table(
        [
          { head: 'tariff' },
          { head: 'no\nbattery', align: 'right' },
          ...(planned ? ([{ head: 'planned\nsolar', align: 'right' }] as const) : []),
          { head: 'with\nbattery', align: 'right' },
          { head: 'run as' },
          { head: 'no battery\nremoves', align: 'right' },
        ],
        tariffSwitch.tariffs.map((row) => [
          shortened(cellName(row.tariff), planned ? 14 : 20) + (row.today ? ' (today)' : row.open ? '' : ' (closed)'),
          money(row.withoutBattery),
          ...(planned ? [money(row.withPlannedSolar ?? row.withoutBattery)] : []),
          row.withBattery === null ? 'withheld' : money(row.withBattery),
          row.strategy ?? '',
          money(row.unavoidable),
        ]),
      ),
      ...livesOf(report, span, ' without a battery'),
    ].join('\n'),
    stepsTable(
      tariffSwitch.steps.filter((step) => planned || step.step !== 'planned-solar'),
      currency,
      decimals,
      span,
    ),
    ...(payback === undefined ? [] : [payback]),
    today(report, (value) => fixed(value, decimals)),
    [
      wrap(`Data: ${spanText(report.axis)}; money in ${currency}.`),
      ...(span.note === undefined ? [] : [wrap(span.note)]),
      wrap(`Battery: ${plantText(report.plant)}`),
    ].join('\n'),
  ];
  if (others !== '') parts.push(others);
  return parts.join('\n\n');
}

/** What the life of each tariff is, and what its bill protection makes of a switch on its first day; a line each. */
export function livesOf(
  {
    tariffSwitch,
    currency,
    currencyDecimals,
  }: Pick<TariffSwitchReport, 'tariffSwitch' | 'currency' | 'currencyDecimals'>,
  { factor, words }: Span,
  without: string,
): string[] {
  return tariffSwitch.tariffs.flatMap(({ tariff, life, withProtection }) => {
    const lines = life.map((line) => `${quoteName(tariff)}: ${line}`);
    if (withProtection !== null)
      lines.push(
        `${quoteName(tariff)} costs ${currency} ${fixed(factor * withProtection, currencyDecimals)}${without} ${words}, had the switch been made on its first day: bill protection counted`,
      );
    return lines.map((line) => wrap(`• ${line}`, 80, '  '));
  });
}

/** The home's bills as they are, and what they come to if nothing is done. */
export function today(
  report: Pick<TariffSwitchReport, 'tariff' | 'tariffSwitch' | 'currency' | 'axis'>,
  money: (value: number) => string,
): string {
  const { today: months, laterBasis } = report.tariffSwitch;
  const sum = (values: readonly (number | null)[]) => values.reduce<number>((total, value) => total + (value ?? 0), 0);
  const hasLater = months.some((month) => month.later !== null);
  const totals = { total: sum(months.map((m) => m.total)), later: sum(months.map((m) => m.later)) };
  const cells = (month: { total: number; later: number | null }) =>
    hasLater
      ? [money(month.total), money(month.later ?? 0), money((month.later ?? 0) - month.total)]
      : [money(month.total)];
  return [
    heading(`Today: ${quoteName(report.tariff)}, no battery`),
    table(
      [
        { head: 'bill from' },
        { head: 'to' },
        { head: report.currency, align: 'right' },
        ...(hasLater
          ? ([
              { head: 'later', align: 'right' },
              { head: 'change', align: 'right' },
            ] as const)
          : []),
      ],
      [
        ...months.map((month) => [month.start, month.end, ...cells(month)]),
        [
          report.axis.isYear && report.axis.perYear === 1 ? 'all' : `${fixed(report.axis.spanDays, 0)} days`,
          '',
          ...cells(totals),
        ],
      ],
    ),
    wrap(`${hasLater ? 'Later: ' : ''}${laterBasis}.`.replace(/^./, (letter) => letter.toUpperCase())),
  ].join('\n');
}
