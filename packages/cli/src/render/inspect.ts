import { CHANNELS, PANEL_CAUTION } from '@duskbank/core/meter';
import type { InspectReport } from '@duskbank/core/study';
import { spanText } from './home.ts';
import { fixed, percent } from './numbers.ts';
import { heading, table, WIDTH, wrap } from './text.ts';

type Finding = InspectReport['findings'][number];
type Picture = InspectReport['pictures'][number];

/** `inspect` in words and pictures, 80 columns wide. */
export function inspectText(report: InspectReport): string {
  const parts: string[] = [];
  for (const { file, layout, findings } of report.files) {
    const lines = [heading(file), wrap(`  layout    ${layout.name}`, WIDTH, '            ')];
    for (const evidence of layout.evidence) lines.push(wrap(`  because   ${evidence}`, WIDTH, '            '));
    for (const finding of findings) if (finding.severity !== 'error') lines.push(findingText(finding));
    parts.push(lines.join('\n'));
  }
  if (report.findings.length > 0) parts.push(['Joined', ...report.findings.map(findingText)].join('\n'));
  if (report.axis === null) return parts.join('\n\n');
  parts.push(`${heading(spanText(report.axis))}\n${monthTable(report)}`);
  if (report.estimatesMarked)
    parts.push(
      wrap(
        `${percent(report.estimatedShare!, 2)} of intervals are estimated; ${percent(report.estimatedShareOfDemandDays!, 2)} on the days that hold each month’s highest import.`,
      ),
    );
  for (const picture of report.pictures) parts.push(pictureText(picture));
  if (report.repairs !== null) parts.push(repairText(report.repairs));
  if (report.gaps.length > 0) parts.push(gapsText(report.gaps));
  parts.push(faultsText(report.faults));
  return parts.join('\n\n');
}

const MARKS = { error: 'x', warning: '!', note: '·' } as const;

function findingText(finding: Finding): string {
  const { lines, count, energyKwh } = finding;
  const more = [
    lines === undefined ? '' : `line ${lines.slice(0, 3).join(', ')}${(count ?? 0) > 3 ? ' …' : ''}`,
    count !== undefined && count > 1 ? `${fixed(count, 0)} in all` : '',
    energyKwh === undefined ? '' : `${fixed(energyKwh, 1)} kWh`,
  ].filter((text) => text !== '');
  return wrap(
    `${MARKS[finding.severity]} ${finding.message}${more.length === 0 ? '' : ` (${more.join('; ')})`} [${finding.code}]`,
    WIDTH,
    '  ',
  );
}

function monthTable({ months, totalsKwh }: InspectReport): string {
  const channels = CHANNELS.filter((channel) => totalsKwh?.[channel] !== undefined);
  const gaps = months.reduce((sum, month) => sum + month.gaps, 0);
  const estimated = months.reduce((sum, month) => sum + month.estimated, 0);
  const columns = [
    { head: 'month' },
    ...channels.map((channel) => ({ head: `${channel}\nkWh`, align: 'right' as const })),
    { head: 'gaps\nintervals', align: 'right' as const },
    { head: 'estimated\nintervals', align: 'right' as const },
  ];
  const rows = months.map((month) => [
    month.month,
    ...channels.map((channel) => fixed(month.kwh[channel]!, 1)),
    fixed(month.gaps, 0),
    fixed(month.estimated, 0),
  ]);
  rows.push(['all', ...channels.map((channel) => fixed(totalsKwh![channel]!, 1)), fixed(gaps, 0), fixed(estimated, 0)]);
  return table(columns, rows);
}

const SHADES = [' ', '░', '▒', '▓', '█'];

/** The year as a picture: an hour a row, some days a column, darker for more power, a dot for a gap. */
function pictureText({ channel, daysPerColumn, topKw, rows, monthStarts }: Picture): string {
  const days = daysPerColumn === 1 ? 'a day' : `${daysPerColumn} days`;
  const ruler = rows[0]!.replace(/./g, ' ').split('');
  for (const { column, month } of monthStarts) ruler[column] = 'JFMAMJJASOND'[month - 1]!;
  const shades = (row: string) => row.replaceAll('.', '·').replace(/[0-4]/g, (level) => SHADES[Number(level)]!);
  return [
    `${channel}: mean kW, an hour a row, ${days} a column; █ from ${fixed(topKw * 0.8, 2)} kW, · no reading`,
    `       ${ruler.join('').trimEnd()}`,
    ...rows.map((row, hour) => `${String(hour).padStart(2, '0')}:00  ${shades(row)}`.trimEnd()),
  ].join('\n');
}

function repairText(repair: NonNullable<InspectReport['repairs']>): string {
  const energy = repair.filled.reduce((sum, each) => sum + each.energyKwh, 0);
  const low = repair.filled.reduce((sum, each) => sum + each.spreadKwh[0]!, 0);
  const high = repair.filled.reduce((sum, each) => sum + each.spreadKwh[1]!, 0);
  const left = repair.left.reduce((sum, each) => sum + each.intervals, 0);
  return wrap(
    `Gaps filled with the median of like days: ${fixed(repair.filledIntervals, 0)} intervals, ${fixed(energy, 1)} kWh (like days ${fixed(low, 1)} to ${fixed(high, 1)} kWh, a tenth to nine tenths); ${fixed(left, 0)} intervals left as gaps.`,
  );
}

/** Where a study would stop, with its ways out, which are the same for all channels. */
function gapsText(gaps: InspectReport['gaps']): string {
  const where = new Map<string, string[]>();
  for (const { received, where: at } of gaps) where.set(received, [...(where.get(received) ?? []), String(at.column)]);
  const [{ hint, data }] = gaps as [InspectReport['gaps'][number]];
  const hours = data?.maxGapHours;
  const flag = typeof hours === 'number' ? `; "inspect" fills with --fill-gaps ${hours}` : '';
  return [
    heading('Gaps at which bills and comparisons stop'),
    ...Array.from(where, ([received, channels]) => wrap(`! ${received} (${channels.join(', ')})`, WIDTH, '  ')),
    wrap(`  ways out, in the site file: ${hint}${flag}`, WIDTH, '  '),
  ].join('\n');
}

function faultsText(faults: InspectReport['faults']): string {
  if (faults.length === 0) return 'No metering fault shows in these data.';
  const lines = [heading('Metering faults that show in the data')];
  for (const fault of faults) {
    lines.push(wrap(`! ${fault.evidence} [${fault.code}, ${fault.confidence}]`, WIDTH, '  '));
    lines.push(wrap(`  ${fault.meaning}`, WIDTH, '  '));
    if (fault.fix !== undefined) lines.push(wrap(`  to read the data corrected: ${fault.fix.flag}`, WIDTH, '  '));
  }
  if (!faults.some((fault) => fault.opensPanel)) lines.push(wrap(PANEL_CAUTION));
  return lines.join('\n');
}
