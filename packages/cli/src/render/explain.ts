import { quoteName } from '@duskbank/core/input';
import type { ExplainReport } from '@duskbank/core/study';
import { fixed } from './numbers.ts';
import { nameHeading, table, wrap } from './text.ts';

/** One interval in words and numbers. */
export function explainText(report: ExplainReport): string {
  const local = (iso: string) =>
    new Intl.DateTimeFormat('en-GB', {
      timeZone: report.axis.zone,
      weekday: 'short',
      year: 'numeric',
      month: 'short',
      day: 'numeric',
      hour: '2-digit',
      minute: '2-digit',
    }).format(new Date(iso));
  const price = (amount: number) => `${report.currency} ${amount.toFixed(4)}`;
  const amount = (each: number) => (each === 0 ? 'nothing' : price(each));
  const { flows, stored, now } = report;
  const { hiddenKwh = 0 } = flows;
  const asMetered = report.loadKnown || hiddenKwh > 0 ? '' : ', as ';
  const numbers = table(
    [
      { head: 'kWh in the interval' },
      { head: '', align: 'right' },
      { head: 'a stored kWh, now' },
      { head: '', align: 'right' },
    ],
    [
      [
        asMetered === '' ? 'load' : `load${asMetered}bought`,
        fixed(flows.loadKwh, 3),
        'bought costs',
        amount(now.boughtCosts),
      ],
      [
        asMetered === '' ? 'solar' : `solar${asMetered}sold`,
        fixed(flows.solarKwh, 3),
        'from surplus costs',
        amount(now.surplusCosts),
      ],
      ['battery in', fixed(flows.chargeKwh, 3), 'carrying load saves', amount(now.servingSaves)],
      ['battery out', fixed(flows.dischargeKwh, 3), 'sold earns', amount(now.sellingEarns)],
      ['bought', fixed(flows.importKwh, 3), 'is worth kept', amount(report.valueOfStoredKwh)],
      ['sold', fixed(flows.exportKwh, 3), '', ''],
      ['stored, from', fixed(stored.startKwh, 3), 'reserve floor, kWh', fixed(stored.floorKwh, 3)],
      ['stored, to', fixed(stored.endKwh, 3), 'capacity, kWh', fixed(stored.capacityKwh, 3)],
    ],
  );
  const context: string[] = [];
  if (report.nextPeak !== null)
    context.push(
      `Next on-peak window: ${quoteName(report.nextPeak.window)} from ${local(report.nextPeak.start)} at ${price(report.nextPeak.importPerKwh)}.`,
    );
  if (report.forecast !== null)
    context.push(
      `From the past alone a day like this takes ${fixed(report.forecast.loadKwh, 1)} kWh of load and brings ${fixed(report.forecast.solarKwh, 1)} kWh of sun (mean of ${report.forecast.days} days).`,
    );
  const { importPerKwh, exportPerKwh, statedImportPerKwh, statedExportPerKwh } = report.price;
  const differs = (all: number, stated: number) => all.toFixed(4) !== stated.toFixed(4);
  const taxed = differs(importPerKwh, statedImportPerKwh) || differs(exportPerKwh, statedExportPerKwh);
  const withTax = (all: number, stated: number) =>
    differs(all, stated) ? `${price(stated)} (${all.toFixed(4)} with riders and taxes)` : price(all);
  const sells =
    exportPerKwh === 0 && statedExportPerKwh === 0
      ? 'and nothing is paid for one that is sold'
      : `and sells for ${withTax(exportPerKwh, statedExportPerKwh)}`;
  return [
    nameHeading(report.site, `, ${local(report.interval.start)}, ${quoteName(report.strategy)}`),
    wrap(
      `Window ${quoteName(report.price.window)}: a kWh costs ${withTax(importPerKwh, statedImportPerKwh)} ${sells}.${taxed ? ' All prices below are with riders and taxes.' : ''}`,
    ),
    ...(report.loadKnown
      ? []
      : [
          wrap(
            `What the home used behind the meter isn’t known, since its solar isn’t metered: load is what was bought, solar what was sold${
              hiddenKwh > 0
                ? `, and of both ${fixed(hiddenKwh, 3)} kWh are an estimate of what it used of its solar`
                : ''
            }.`,
          ),
        ]),
    report.words.map((line) => wrap(line)).join('\n'),
    numbers,
    context.map((line) => wrap(line)).join('\n'),
  ].join('\n\n');
}
