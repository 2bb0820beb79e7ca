import { quoteName } from '@duskbank/core/input';
import type { BillReport } from '@duskbank/core/study';
import { csvCell } from '../io/output.ts';
import { fixed, money, percent } from './numbers.ts';
import { cellName, heading, nameHeading, shortened, table, wrap } from './text.ts';
import { leavesOpen } from './warnings.ts';

type Line = BillReport['periods'][number]['lines'][number];

const KINDS: [kind: Line['kind'][], words: string][] = [
  [['energy'], 'energy bought'],
  [['demand'], 'power'],
  [['export'], 'energy sold'],
  [['rebate', 'carry'], 'other credits'],
  [['fixed'], 'fixed charges'],
  [['minimum'], 'minimum bill'],
  [['adjustment'], 'riders'],
  [['tax'], 'taxes'],
  [['rounding'], 'rounding'],
];

/** Bills for people: what they come to, whether they agree with those that the home got, then one table a billing period. */
export function billText(report: BillReport): string {
  const { currency, currencyDecimals: decimals, periods, axis } = report;
  const bills = periods.length === 1 ? 'the bill comes' : `${periods.length} bills come`;
  const [first, last] = [periods[0]!, periods.at(-1)!];
  const isCut = (period: BillReport['periods'][number]) => period.days < period.fullDays;
  const ends = [...(isCut(first) ? ['first'] : []), ...(isCut(last) && last !== first ? ['last'] : [])];
  const cut =
    ends.length === 0
      ? ''
      : last === first
        ? ' (a part of its period)'
        : ` (the ${ends.join(' and the ')} for a part of ${ends.length === 1 ? 'its' : 'their'} period${ends.length === 1 ? '' : 's'})`;
  // A period that the data cut begins or ends outside them.
  const from = isCut(first) ? axis.firstDay : first.start;
  const to = isCut(last) ? axis.lastDay : last.end;
  const told = (warnings: BillReport['warnings']) =>
    warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n');
  const open = report.warnings.filter(leavesOpen);
  const others = report.warnings.filter((warning) => !leavesOpen(warning));
  const parts = [
    [
      nameHeading(report.site),
      ...(open.length === 0
        ? []
        : [wrap('No bill of the meter yet: what follows is of the readings as they are.'), told(open)]),
      heading(
        `On ${quoteName(report.tariff)} ${bills} to ${money(report.total, currency, decimals)}, ${from} to ${to}${cut}: reckoned from the meter data, without a battery.`,
      ),
    ].join('\n'),
    ...(report.actual === null ? [] : [actualText(report.actual, currency, decimals)]),
    summary(report),
    baselineLine(report),
    ...(others.length === 0 ? [] : [told(others)]),
    ...(periods.length < 2 ? [] : [byPeriod(report)]),
    ...periods.map(({ start, end, days, fullDays, lines, total }) => {
      const cut = days < fullDays ? `, ${days} of ${fullDays} days: the data begin or end inside it` : `, ${days} days`;
      return `${heading(`${start} to ${end}`)}${cut}\n${lineTable(lines, total, decimals)}`;
    }),
  ];
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
      { head: 'unit' },
      { head: 'rate', align: 'right' },
      { head: 'amount', align: 'right' },
    ],
    [
      ...lines.map((line) => [
        shortened(
          cellName(suppliers.size > 1 && line.supplier !== undefined ? `${line.supplier}: ${line.name}` : line.name),
          38,
        ),
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
  return table(
    [{ head: periods.length === 1 ? '1 bill' : `${periods.length} bills` }, { head: currency, align: 'right' }],
    rows,
  );
}

/** One row a bill, before the bills themselves. */
function byPeriod({ periods, currency, currencyDecimals: decimals }: BillReport): string {
  return table(
    [{ head: 'bill from' }, { head: 'to' }, { head: 'days', align: 'right' }, { head: currency, align: 'right' }],
    periods.map(({ start, end, days, fullDays, total }) => [
      start,
      end,
      days < fullDays ? `${days} of ${fullDays}` : String(days),
      fixed(total, decimals),
    ]),
  );
}

type Beside = NonNullable<BillReport['actual']>;

const WITHOUT = { overlap: 'overlaps', cut: 'cut', 'no-data': 'no data' } as const;

function actualText(beside: Beside, currency: string, decimals: number): string {
  const percentOf = (difference: number, reckoned: number) =>
    reckoned === 0 ? '' : `${fixed((100 * difference) / Math.abs(reckoned), 1)} %`;
  const rows = beside.bills.map((row) => [
    row.start,
    row.end,
    row.importKwh === null ? '' : fixed(row.importKwh, 1),
    fixed(row.actual, decimals),
    row.ours === null ? WITHOUT[row.without ?? 'no-data'] : fixed(row.ours, decimals),
    row.difference === null ? '' : fixed(row.difference, decimals),
    row.difference === null || row.ours === null ? '' : percentOf(row.difference, row.ours),
  ]);
  const { total } = beside;
  if (total !== null && total.bills > 1)
    rows.push([
      `${total.bills} bills`,
      '',
      '',
      fixed(total.actual, decimals),
      fixed(total.ours, decimals),
      fixed(total.difference, decimals),
      percentOf(total.difference, total.ours),
    ]);
  const grid = table(
    [
      { head: 'from' },
      { head: 'to' },
      { head: 'kWh', align: 'right' },
      { head: 'charged', align: 'right' },
      { head: 'reckoned', align: 'right' },
      { head: 'difference', align: 'right' },
      { head: 'of the\nreckoned', align: 'right' },
    ],
    rows,
  );
  const cut = beside.bills.filter((row) => row.without === 'cut').length;
  return [
    heading(BESIDE[beside.from]),
    wrap(verdictText(beside, currency, decimals)),
    grid,
    ...(cut === 0
      ? []
      : [wrap(`Cut: the data hold a part of its days only. ${cut === 1 ? 'It counts' : 'They count'} in no total.`)]),
    ...beside.notes.map((note) => wrap(note)),
    ...(beside.from !== 'meter-file' || beside.verdict === 'exact'
      ? []
      : [wrap('A portal’s cost column often leaves out fixed charges and taxes: then that is the difference.')]),
    ...beside.causes.map((cause) => wrap(`• ${cause.message}`, 80, '  ')),
  ].join('\n');
}

/** What ours stands beside. */
const BESIDE: Readonly<Record<Beside['from'], string>> = {
  bills: 'Beside the bills that were charged',
  'meter-file': 'Beside what the meter file says that it cost',
  'meter-file-bills': 'Beside the bills that the meter file tells',
};

/** Whether the tariff file may be trusted, first. */
function verdictText({ bills, total, verdict, from, causes }: Beside, currency: string, decimals: number): string {
  if (total === null || verdict === null)
    return bills.length === 0
      ? 'No billing period is covered whole by what the file says.'
      : bills.some((row) => row.without === 'overlap')
        ? 'None of these bills could be set beside ours.'
        : `None of these bills lies ${bills.some((row) => row.without === 'cut') ? 'wholly ' : ''}within the data.`;
  // A line's rounding may put a bill a cent off: beside such rows "to the cent" would be untrue.
  const isCentOff = bills.some(
    ({ difference }) => difference !== null && Math.abs(difference) >= 0.5 * 10 ** -decimals,
  );
  const agree = `${total.bills === 1 ? 'The bill agrees' : `All ${total.bills} bills agree`} ${isCentOff ? 'but for rounding' : 'to the cent'}`;
  if (verdict === 'exact') return `${agree}. Trust the tariff file.`;
  const inAll = `${from === 'meter-file' ? 'The file says' : 'Charged'} ${offText(total, currency, decimals)}`;
  const below = causes.every(({ code }) => code === 'unexplained')
    ? 'No cause was found that explains it.'
    : 'Likely causes stand below.';
  const { furthest } = total;
  // Bills that are off both ways add up to little: the first number is that of the bill that is furthest off.
  const worstFirst =
    total.bills === 1
      ? inAll
      : `The bill from ${furthest.start} is ${offText(furthest, currency, decimals)}; in all ${total.bills}, ${offText(total, currency, decimals)}`;
  if (verdict === 'energy-differs') {
    const exact = bills.every(({ difference }) => difference === null || Math.abs(difference) < 0.011);
    return `${exact ? agree : inAll}, but not in the kWh that ${total.bills === 1 ? 'it states' : 'they state'}. Find out why before you rely on either: see below.`;
  }
  if (verdict === 'trust') {
    const most = furthest.share === null || total.bills === 1 ? '' : `, and no bill by more than ${offBy(furthest)}`;
    return `${inAll}${most}: trust the tariff file.`;
  }
  if (verdict === 'near')
    return `${worstFirst}: savings are known no better than ${total.bills === 1 || furthest.share === null ? 'that' : `the first, ${offBy(furthest)}`}. ${below}`;
  return `${worstFirst}: find out why before you rely on any saving. ${below}`;
}

type Off = Pick<NonNullable<Beside['total']>, 'ours' | 'difference' | 'share'>;

/** "USD 1.20 more than the USD 40.00 reckoned (3.0 % of that)". */
function offText({ ours, difference, share }: Off, currency: string, decimals: number): string {
  const reckoned = money(ours, currency, decimals);
  if (Math.abs(difference) < 0.5 * 10 ** -decimals) return `the ${reckoned} reckoned`;
  const amount = `${money(Math.abs(difference), currency, decimals)} ${difference > 0 ? 'more' : 'less'}`;
  return `${amount} than the ${reckoned} reckoned${share === null ? '' : ` (${offBy({ share })} of that)`}`;
}

function offBy({ share }: Pick<Off, 'share'>): string {
  const off = Math.abs(share ?? 0);
  return percent(off, off < 0.01 ? 2 : 1);
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
