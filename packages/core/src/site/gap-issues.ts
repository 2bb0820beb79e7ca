import type { Axis } from '../axis/index.ts';
import type { InputIssue } from '../input/index.ts';
import { type Finding, type IntervalSeries, LONGEST_GAP_HOURS, repairGaps } from '../meter/index.ts';
import { longestWholeSpan, type MissingSpan, MOST_FILLED_SHARE, missingSpans } from '../meter/inside.ts';
import { figure } from '../words/figures.ts';
import { columnsBeside, energyLeftOut, gapsLeft } from '../words/placing.ts';
import type { Site } from './schema.ts';

/**
 * What a study says of gaps that are left in its data, a fault a channel: where they are on the home's clock and the ways out,
 * a file that holds them, the longest span without one, or an estimate where every gap can be one.
 *
 * @param findings of the files: those that say why a channel isn't known stand beside its gaps
 * @param repair what the site states: why it leaves the longest gap of a channel is said
 */
export function gapIssues(
  series: IntervalSeries,
  findings: readonly Finding[] = [],
  repair: Site['meter']['repair'] = undefined,
): InputIssue[] {
  const { axis } = series;
  const missing = (['importKwh', 'exportKwh', 'loadKwh', 'solarKwh'] as const).flatMap((name) => {
    const spans = series[name] === undefined ? [] : missingSpans(series, series[name]);
    return spans.length === 0 ? [] : [{ channel: name.replace('Kwh', ''), spans }];
  });
  if (missing.length === 0) return [];
  // What is stated holds for all channels: it has to cure the longest gap of any.
  const hours = Math.ceil(Math.max(...missing.map(({ spans }) => spans[0]!.intervals)) * axis.stepHours - 1e-9);
  const ways = [...waysToRead(findings), 'add a file that holds them to "meter.files"'];
  const whole = longestWholeSpan(series);
  if (whole !== undefined)
    ways.push(
      `cut to the longest span without a gap (${whole.days} days): under "meter" state "span": { "from": "${whole.from}", "to": "${whole.to}" }`,
    );
  const fillable = repairGaps(series, { maxGapHours: hours }).left.length === 0;
  if (fillable)
    ways.push(
      `fill from like days, as an estimate that is told: under "meter" state "repair": { "maxGapHours": ${hours} }`,
    );
  return missing.map(({ channel, spans }) => ({
    code: 'gap',
    where: { column: channel, path: ['meter'] },
    received: [
      `no reading ${datesMissing(spans[0]!)}, ${lengthOf(spans[0]!.intervals * axis.stepHours)}${otherGaps(spans.slice(1))}`,
      ...findings.flatMap((finding) => whyGaps(finding, channel, findings)),
      ...(repair?.maxGapHours === undefined ? [] : [whyLeft(spans, axis, repair.maxGapHours)]),
    ].join('; '),
    expected: 'a value in every interval',
    hint: ways.join('; or '),
    data: { maxGapHours: fillable ? hours : null },
  }));
}

/** How to read what the user's own words leave out, where that may be what is missing. */
function waysToRead(findings: readonly Finding[]): string[] {
  const ways = findings.flatMap((finding) => {
    const { code, data, where } = finding;
    const of = where.file === undefined ? 'their file' : where.file;
    if (code === 'energy-left-out' && (Number(data?.alone) > 0 || leavesOutRegister(finding, findings)))
      return [`read the rows that are left out: say with "rows" of ${of} what they are, in place of "ignore"`];
    if (code !== 'columns-beside' || !leavesOutRegister(finding, findings)) return [];
    const numbers = (data.columnNumbers as readonly number[]).join(', ');
    return [`read the columns that are left out: "columns": { "${data.role}": [${numbers}] } of ${of}`];
  });
  return [...new Set(ways)];
}

/** Whether a finding tells of registers that the user's words leave out of one file, and another file of the home holds. */
function leavesOutRegister({ data }: Finding, findings: readonly Finding[]): boolean {
  const isLacking = ({ code, data: of }: Finding) =>
    code === 'part-missing' && of.counted === 'unknown' && of.role === data.role;
  return data.withheld === true && findings.some(isLacking);
}

/** Why a gap is left that the site asks to fill. */
function whyLeft(spans: readonly MissingSpan[], { stepHours, intervals }: Axis, maxGapHours: number): string {
  const hours = spans[0]!.intervals * stepHours;
  const missing = spans.reduce((sum, span) => sum + span.intervals, 0);
  const stated = `"repair": { "maxGapHours": ${maxGapHours} } is stated and doesn’t fill it`;
  if (hours > LONGEST_GAP_HOURS) return `${stated}: no gap of more than ${LONGEST_GAP_HOURS} hours is filled`;
  if (hours > maxGapHours) return `${stated}: it is ${figure(hours)} hours long`;
  return missing > MOST_FILLED_SHARE * intervals
    ? `${stated}: more than a quarter of the channel would be an estimate`
    : `${stated}: too few like days are metered around it, or more than a quarter of the channel would be an estimate`;
}

/** What a finding says of intervals of a channel that have no value; nothing where it speaks of something else. */
function whyGaps(finding: Finding, channel: string, findings: readonly Finding[]): string[] {
  const { code, data, message, where } = finding;
  if (data?.role !== channel) return [];
  const lacks =
    (code === 'part-alone' && data.days !== undefined) ||
    (code === 'part-missing' && data.counted === 'unknown') ||
    (code === 'register-missing' && data.why === 'days');
  if (lacks) return [message];
  if ((code === 'energy-left-out' || code === 'columns-beside') && leavesOutRegister(finding, findings)) {
    const told = code === 'columns-beside' ? columnsBeside(data as never) : energyLeftOut(data as never);
    return [where.file === undefined ? told : `${where.file}: ${told}`];
  }
  if (code !== 'energy-left-out' || !(Number(data.alone) > 0)) return [];
  return [`${energyLeftOut(data as never)}; ${gapsLeft(Number(data.alone))}`];
}

function datesMissing({ from, to }: MissingSpan): string {
  return from === to ? `on ${from}` : `from ${from} to ${to}`;
}

/** `31 days`, `9 hours`. */
function lengthOf(hours: number): string {
  if (hours >= 48) return `${figure(Math.round(hours / 24))} days`;
  return hours === 1 ? '1 hour' : `${figure(hours)} hours`;
}

function otherGaps(others: readonly MissingSpan[]): string {
  if (others.length === 0) return '';
  const told = others.slice(0, 3).map(datesMissing);
  return `; and ${told.join(', ')}${others.length > 3 ? `, and ${others.length - 3} shorter gaps` : ''}`;
}
