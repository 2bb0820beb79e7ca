import { type Axis, formatDate, intervalStartMs } from '../axis/index.ts';
import { InputError, type InputIssue } from '../input/index.ts';
import { type Finding, type IntervalSeries, kw, readingsAboveService, SERVICE_KW, stopsStudy } from '../meter/index.ts';
import type { Site } from '../site/index.ts';

/** What a service carries at most, kW, and what says so. */
export interface ServiceLimit {
  readonly kw: number;
  readonly basis: string;
}

/**
 * Most power that a site's service can carry: by its main breaker (`backup.panel`: amperes × volts) or its stated limit
 * (`service.importLimitKw`), the larger of the two where both are stated, for the limit may be one that is planned; else
 * more than homes have.
 */
export function serviceLimit({ service, backup }: Pick<Site, 'service' | 'backup'>): ServiceLimit {
  const limits: ServiceLimit[] = [];
  const panel = backup?.panel;
  if (panel !== undefined) {
    const volts = panel.volts ?? 240;
    limits.push({ kw: (panel.mainAmps * volts) / 1000, basis: `a main breaker of ${panel.mainAmps} A at ${volts} V` });
  }
  if (service?.importLimitKw !== undefined)
    limits.push({ kw: service.importLimitKw, basis: 'as "service.importLimitKw" says' });
  limits.sort((a, b) => b.kw - a.kw);
  return limits[0] ?? { kw: SERVICE_KW, basis: 'more than the service of a home carries' };
}

/**
 * Refuses data with a finding that no result may rest on, and readings that the service could not carry.
 *
 * @param path field of the site file that the data come from
 * @throws InputError with every such fault
 */
export function refuseUntrusted(
  series: IntervalSeries,
  findings: readonly Finding[],
  limit: ServiceLimit,
  path: readonly string[],
): void {
  const issues: InputIssue[] = findings.filter(stopsStudy).map(({ code, message, lines }) => ({
    code,
    where: { path, ...(lines === undefined ? {} : { line: lines[0]! }) },
    received: message,
    expected: 'interval data that can be read without guessing',
    hint: 'answer or mend it where the file is read',
  }));
  // What reading found already has its line.
  if (!issues.some(({ code }) => code === 'reading-above-service'))
    for (const { channel, intervals, mostKw, mostAt } of readingsAboveService(series, limit.kw))
      issues.push({
        code: 'reading-above-service',
        where: { path, column: channel },
        received: `${kw(mostKw)} in the interval from ${localTime(series.axis, mostAt)}${intervals.length > 1 ? `, and ${intervals.length - 1} more` : ''}`,
        expected: `at most ${kw(limit.kw)}, ${limit.basis}`,
        hint: 'correct the reading, or blank it (a gap); if it is right, state the service: "backup.panel.mainAmps" or "service.importLimitKw"',
      });
  if (issues.length > 0) throw new InputError(issues);
}

function localTime(axis: Axis, i: number): string {
  const { calendar } = axis;
  const minute = calendar.minuteOfDay[i]!;
  const clock = [Math.floor(minute / 60), minute % 60].map((part) => String(part).padStart(2, '0')).join(':');
  return `${formatDate(calendar.days[calendar.day[i]!]!)} ${clock} (${new Date(intervalStartMs(axis, i)).toISOString()})`;
}
