import type { BillReport } from '@duskbank/core/study';
import { csvCell } from '../io/output.ts';
import { fixed, money } from './numbers.ts';
import { heading, shortened, table, wrap } from './text.ts';

type Line = BillReport['periods'][number]['lines'][number];

const KINDS: [kind: Line['kind'][], words: string][] = [
  [['energy'], 'energy'],
  [['demand'], 'power'],
  [['export', 'rebate', 'carry'], 'credits'],
  [['fixed', 'minimum'], 'fixed and minimum'],
  [['adjustment', 'tax', 'rounding'], 'riders and taxes'],
];

/** Bills for people: one table a billing period, then what the parts come to, then the bills that the home got. */
export function billText(report: BillReport): string {
  const { currency, currencyDecimals: decimals } = report;
  const parts = [
    `${heading(report.site)}\n${wrap(`Bills of the metered past on "${report.tariff}", in ${currency}.`)}`,
    ...report.periods.map(({ start, end, days, fullDays, lines, total }) => {
      const cut = days < fullDays ? `, ${days} of ${fullDays} days: the data begin or end inside it` : `, ${days} days`;
      return `${heading(`${start} to ${end}`)}${cut}\n${lineTable(lines, total, decimals)}`;
    }),
    summary(report),
    baselineLine(report),
  ];
  if (report.actual !== null) parts.push(actualText(report.actual, currency, decimals));
  return parts.filter((part) => part !== undefined).join('\n\n');
}

/** What `compare` sets savings against, where that is another figure. */
function baselineLine({ total, baseline, currency, currencyDecimals: decimals }: BillReport): string | undefined {
  const difference = total - baseline.total;
  if (Math.abs(difference) < 0.5 * 10 ** -decimals) return undefined;
  return wrap(
    `Netted within each interval, as "duskbank compare" has it: ${money(baseline.total, currency, decimals)}, ${money(Math.abs(difference), currency, decimals)} ${difference > 0 ? 'less' : 'more'}. A meter that counts both ways apart bills the figure above.`,
  );
}

function lineTable(lines: readonly Line[], total: number, decimals: number): string {
  const suppliers = new Set(lines.map((line) => line.supplier ?? ''));
  return table(
    [
      { head: 'line' },
      { head: 'quantity', align: 'right' },
      { head: '' },
      { head: 'rate', align: 'right' },
      { head: 'amount', align: 'right' },
    ],
    [
      ...lines.map((line) => [
        shortened(suppliers.size > 1 && line.supplier !== undefined ? `${line.supplier}: ${line.name}` : line.name, 38),
        number(line.quantity, 3),
        line.unit,
        number(line.rate, 6),
        fixed(line.amount, decimals),
      ]),
      ['total', '', '', '', fixed(total, decimals)],
    ],
  );
}

/** A number with at most so many decimals, no zeros at the end. */
function number(value: number, decimals: number): string {
  return fixed(value, decimals)
    .replace(/(\.\d*?)0+$/, '$1')
    .replace(/\.$/, '');
}

function summary(report: BillReport): string {
  const { currency, currencyDecimals: decimals, periods } = report;
  const rows: string[][] = [];
  for (const [kinds, words] of KINDS) {
    const lines = periods.flatMap((p) => p.lines.filter((line) => kinds.includes(line.kind)));
    if (lines.length === 0) continue;
    rows.push([
      words,
      fixed(
        lines.reduce((sum, line) => sum + line.amount, 0),
        decimals,
      ),
    ]);
  }
  rows.push(['all bills', fixed(report.total, decimals)]);
  return table([{ head: `${periods.length} bills` }, { head: currency, align: 'right' }], rows);
}

function actualText(reconciliation: NonNullable<BillReport['actual']>, currency: string, decimals: number): string {
  const rows = reconciliation.bills.map((row) => [
    row.start,
    row.end,
    row.importKwh === null ? '' : fixed(row.importKwh, 1),
    fixed(row.actual, decimals),
    row.without === 'overlap' ? 'overlaps' : row.ours === null ? 'no data' : fixed(row.ours, decimals),
    row.difference === null ? '' : fixed(row.difference, decimals),
  ]);
  const grid = table(
    [
      { head: 'from' },
      { head: 'to' },
      { head: 'kWh', align: 'right' },
      { head: 'charged', align: 'right' },
      { head: 'reckoned', align: 'right' },
      { head: 'difference', align: 'right' },
    ],
    rows,
  );
  const known = reconciliation.bills.filter((row) => row.difference !== null);
  const sum = known.reduce((total, row) => total + row.difference!, 0);
  const verdict =
    known.length === 0
      ? reconciliation.bills.some((row) => row.without === 'overlap')
        ? 'None of these bills could be set beside ours.'
        : 'None of these bills lies within the data.'
      : reconciliation.causes.length === 0
        ? `All ${known.length} bills agree to the cent.`
        : `Charged ${money(Math.abs(sum), currency, decimals)} ${sum >= 0 ? 'more' : 'less'} than reckoned. Likely causes:`;
  return [
    heading('Beside the bills that were charged'),
    grid,
    ...reconciliation.notes.map((note) => wrap(note)),
    wrap(verdict),
    ...reconciliation.causes.map((cause) => wrap(`• ${cause.message}`, 80, '  ')),
  ].join('\n');
}

/** One row a line. */
export function billCsv({ periods }: BillReport): string {
  const rows = ['start,end,line,kind,supplier,quantity,unit,rate,amount'];
  for (const period of periods)
    for (const line of period.lines)
      rows.push(
        [
          period.start,
          period.end,
          csvCell(line.name),
          line.kind,
          csvCell(line.supplier),
          line.quantity,
          line.unit,
          line.rate,
          line.amount,
        ].join(','),
      );
  return rows.join('\n');
}
