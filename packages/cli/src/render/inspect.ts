import { type InputIssue, reportIssue } from '@duskbank/core/input';
import {
  CHANNELS,
  type Channel,
  channelField,
  demandDays,
  ESTIMATED,
  estimatedShare,
  type Finding,
  type GapRepairResult,
  type IntervalData,
  type IntervalSeries,
  type MeteringFault,
  PANEL_CAUTION,
} from '@duskbank/core/meter';
import { spanText } from './check.ts';
import { fixed, percent } from './numbers.ts';
import { heading, table, WIDTH, wrap } from './text.ts';

/** What `inspect` found. */
export interface Inspection {
  readonly files: readonly { readonly file: string; readonly data: IntervalData }[];
  readonly joinFindings: readonly Finding[];
  readonly issues: readonly InputIssue[];
  readonly series?: IntervalSeries;
  readonly faults?: readonly MeteringFault[];
  readonly repair?: GapRepairResult;
}

/** Totals of one calendar month. */
interface Month {
  readonly month: string;
  readonly kwh: Partial<Record<Channel, number>>;
  readonly gaps: number;
  readonly estimated: number;
}

/** `inspect --json`. */
export function inspectReport(result: Inspection) {
  const { series, repair } = result;
  return {
    format: 'duskbank.inspect/1',
    ok: series !== undefined,
    files: result.files.map(({ file, data }) => ({ file, layout: data.layout, findings: data.findings })),
    findings: result.joinFindings,
    issues: result.issues.map(reportIssue),
    axis:
      series === undefined
        ? null
        : {
            start: new Date(series.axis.startEpochMs).toISOString(),
            end: new Date(series.axis.endEpochMs).toISOString(),
            zone: series.axis.zone,
            stepMinutes: series.axis.stepMinutes,
            intervals: series.axis.intervals,
          },
    totalsKwh: series === undefined ? null : totals(series),
    estimatedShare: series === undefined ? null : estimatedShare(series),
    estimatedShareOfDemandDays: series === undefined ? null : estimatedShare(series, demandDays(series)),
    months: series === undefined ? [] : monthsOf(series),
    faults: result.faults ?? [],
    repairs:
      repair === undefined
        ? null
        : { filledIntervals: repair.filledIntervals, filled: repair.repairs, left: repair.left },
  };
}

/** `inspect` in words and pictures, 80 columns wide. */
export function inspectText(result: Inspection): string {
  const parts: string[] = [];
  for (const { file, data } of result.files) {
    const lines = [heading(file), wrap(`  layout    ${data.layout.name}`, WIDTH, '            ')];
    for (const evidence of data.layout.evidence) lines.push(wrap(`  because   ${evidence}`, WIDTH, '            '));
    for (const finding of data.findings) if (finding.severity !== 'error') lines.push(findingText(finding));
    parts.push(lines.join('\n'));
  }
  if (result.joinFindings.length > 0) parts.push(['Joined', ...result.joinFindings.map(findingText)].join('\n'));
  const { series } = result;
  if (series === undefined) return parts.join('\n\n');
  parts.push(`${heading(spanText(series.axis))}\n${monthTable(series)}`);
  if (series.estimated !== undefined)
    parts.push(
      wrap(
        `${percent(estimatedShare(series), 2)} of intervals are estimated; ${percent(estimatedShare(series, demandDays(series)), 2)} on the days that hold each month’s highest import.`,
      ),
    );
  const shown = CHANNELS.filter((channel) => series[channelField(channel)] !== undefined);
  for (const channel of shown) parts.push(pictureText(series, channel));
  if (result.repair !== undefined) parts.push(repairText(result.repair));
  parts.push(faultsText(result.faults ?? []));
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

function totals(series: IntervalSeries): Partial<Record<Channel, number>> {
  const sums: Partial<Record<Channel, number>> = {};
  for (const channel of CHANNELS) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    let sum = 0;
    for (const value of values) if (!Number.isNaN(value)) sum += value;
    sums[channel] = sum;
  }
  return sums;
}

function monthsOf(series: IntervalSeries): Month[] {
  const { calendar, intervals } = series.axis;
  const months: { month: string; kwh: Partial<Record<Channel, number>>; gaps: number; estimated: number }[] = [];
  const channels = CHANNELS.filter((channel) => series[channelField(channel)] !== undefined);
  for (let i = 0; i < intervals; i++) {
    const day = calendar.days[calendar.day[i]!]!;
    const name = `${day.year}-${String(day.month).padStart(2, '0')}`;
    let last = months.at(-1);
    if (last?.month !== name) {
      last = { month: name, kwh: Object.fromEntries(channels.map((channel) => [channel, 0])), gaps: 0, estimated: 0 };
      months.push(last);
    }
    let gap = false;
    for (const channel of channels) {
      const value = series[channelField(channel)]![i]!;
      if (Number.isNaN(value)) gap = true;
      else last.kwh[channel]! += value;
    }
    if (gap) last.gaps++;
    if (series.estimated !== undefined && series.estimated[i] !== ESTIMATED.no) last.estimated++;
  }
  return months;
}

function monthTable(series: IntervalSeries): string {
  const months = monthsOf(series);
  const channels = CHANNELS.filter((channel) => series[channelField(channel)] !== undefined);
  const sums = totals(series);
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
  rows.push(['all', ...channels.map((channel) => fixed(sums[channel]!, 1)), fixed(gaps, 0), fixed(estimated, 0)]);
  return table(columns, rows);
}

const SHADES = [' ', '░', '▒', '▓', '█'];
const PICTURE_WIDTH = 73;

/** The year as a picture: an hour a row, some days a column, darker for more power, a dot for a gap. */
function pictureText(series: IntervalSeries, channel: Channel): string {
  const values = series[channelField(channel)]!;
  const { axis } = series;
  const { calendar } = axis;
  const days = calendar.days.length;
  const perColumn = Math.max(1, Math.ceil(days / PICTURE_WIDTH));
  const columns = Math.ceil(days / perColumn);
  const sums = new Float64Array(24 * columns);
  const counts = new Float64Array(24 * columns);
  const missing = new Float64Array(24 * columns);
  for (let i = 0; i < axis.intervals; i++) {
    const cell = Math.floor(calendar.minuteOfDay[i]! / 60) * columns + Math.floor(calendar.day[i]! / perColumn);
    if (Number.isNaN(values[i]!)) missing[cell]!++;
    else {
      sums[cell]! += values[i]! / axis.stepHours;
      counts[cell]!++;
    }
  }
  const means = sums.map((sum, cell) => (counts[cell]! === 0 ? Number.NaN : sum / counts[cell]!));
  const sorted = means.filter((mean) => !Number.isNaN(mean)).sort();
  const top = sorted[Math.floor(sorted.length * 0.98)] ?? 0;
  const lines = [
    `${channel}: mean kW, an hour a row, ${perColumn === 1 ? 'a day' : `${perColumn} days`} a column; █ from ${fixed(top * 0.8, 2)} kW, · no reading`,
  ];
  lines.push(`       ${monthRuler(series, perColumn, columns)}`);
  for (let hour = 0; hour < 24; hour++) {
    let row = '';
    for (let column = 0; column < columns; column++) {
      const cell = hour * columns + column;
      const mean = means[cell]!;
      if (Number.isNaN(mean) || missing[cell]! > counts[cell]!) row += missing[cell]! > 0 ? '·' : ' ';
      else row += SHADES[top === 0 ? 0 : Math.min(4, Math.floor((mean / top) * 5))];
    }
    lines.push(`${String(hour).padStart(2, '0')}:00  ${row}`.trimEnd());
  }
  return lines.join('\n');
}

const INITIALS = 'JFMAMJJASOND';

/** The first letter of each month over the column in which it begins. */
function monthRuler(series: IntervalSeries, perColumn: number, columns: number): string {
  const { days } = series.axis.calendar;
  let ruler = '';
  let before = 0;
  for (let column = 0; column < columns; column++) {
    const { month } = days[column * perColumn]!;
    ruler += month === before ? ' ' : INITIALS[month - 1];
    before = month;
  }
  return ruler.trimEnd();
}

function repairText(repair: GapRepairResult): string {
  const energy = repair.repairs.reduce((sum, each) => sum + each.energyKwh, 0);
  const low = repair.repairs.reduce((sum, each) => sum + each.spreadKwh[0], 0);
  const high = repair.repairs.reduce((sum, each) => sum + each.spreadKwh[1], 0);
  const left = repair.left.reduce((sum, each) => sum + each.intervals, 0);
  return wrap(
    `Gaps filled with the median of like days: ${fixed(repair.filledIntervals, 0)} intervals, ${fixed(energy, 1)} kWh (like days ${fixed(low, 1)} to ${fixed(high, 1)} kWh, a tenth to nine tenths); ${fixed(left, 0)} intervals left as gaps.`,
  );
}

function faultsText(faults: readonly MeteringFault[]): string {
  if (faults.length === 0) return 'No metering fault shows in these data.';
  const lines = [heading('Metering faults that show in the data')];
  for (const fault of faults) {
    lines.push(wrap(`! ${fault.evidence} [${fault.code}, ${fault.confidence}]`, WIDTH, '  '));
    lines.push(wrap(`  ${fault.meaning}`, WIDTH, '  '));
    if (fault.fix !== undefined) lines.push(wrap(`  to read the data corrected: ${fault.fix.flag}`, WIDTH, '  '));
  }
  if (!faults.some((fault) => fault.meaning.includes(PANEL_CAUTION))) lines.push(wrap(PANEL_CAUTION));
  return lines.join('\n');
}
