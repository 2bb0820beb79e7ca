import { type Axis, formatDate } from '../axis/index.ts';
import { startMsOf } from '../axis/inside.ts';
import { InputError, type InputIssue } from '../input/index.ts';
import type { Finding, IntervalSeries, ServiceKw } from '../meter/index.ts';
import { asksHome, kw, readingsAboveService, SERVICE_KW, stopsStudy } from '../meter/inside.ts';
import { clockOf } from '../words/figures.ts';
import type { Site } from './schema.ts';

/** What a service carries each way, kW, and what says so. */
export interface ServiceLimit extends ServiceKw {
  readonly basis: { readonly draw: string; readonly feed: string };
}

/**
 * Most power that a site's service can carry: by its main breaker (`backup.panel`: amperes × volts), or by a stated limit
 * (`service.importLimitKw`, `service.exportLimitKw`) that is larger. A smaller one did not hold for the past, which is told
 * where it is below what was metered. Where nothing is stated: more than homes have.
 */
export function serviceLimit({ service, backup }: Pick<Site, 'service' | 'backup'>): ServiceLimit {
  const panel = backup?.panel;
  const volts = panel?.volts ?? 240;
  const usual = { kw: SERVICE_KW, basis: 'more than the service of a home carries' };
  const breaker =
    panel === undefined
      ? undefined
      : { kw: (panel.mainAmps * volts) / 1000, basis: `a main breaker of ${panel.mainAmps} A at ${volts} V` };
  const larger = (stated: number | undefined, field: string, other: typeof usual | undefined) =>
    stated !== undefined && !(stated <= (other?.kw ?? 0)) ? { kw: stated, basis: `"service.${field}" says so` } : other;
  const draw = larger(service?.importLimitKw, 'importLimitKw', breaker ?? usual) ?? usual;
  const feed = larger(service?.exportLimitKw, 'exportLimitKw', breaker ?? usual) ?? usual;
  return { drawKw: draw.kw, feedKw: feed.kw, basis: { draw: draw.basis, feed: feed.basis } };
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
  const stops = findings.filter((finding) => stopsStudy(finding) || asksHome(finding));
  const issues: InputIssue[] = stops.map(({ code, message, lines }) => ({
    code,
    where: { path, ...(lines === undefined ? {} : { line: lines[0]! }) },
    received: message,
    expected: 'interval data that can be read without guessing',
    hint: 'answer or mend it where the file is read',
  }));
  // What reading found already has its line.
  if (!issues.some(({ code }) => code === 'reading-above-service'))
    for (const { channel, intervals, mostKw, mostAt, limitKw } of readingsAboveService(series, limit))
      issues.push({
        code: 'reading-above-service',
        where: { path, column: channel },
        received: `${kw(mostKw)} in the interval from ${localTime(series.axis, mostAt)}${intervals.length > 1 ? `, and ${intervals.length - 1} more` : ''}`,
        expected: `at most ${kw(limitKw)}: ${channel === 'import' || channel === 'load' ? limit.basis.draw : limit.basis.feed}`,
        hint: 'correct the reading, or blank it (a gap); if it is right, state the service: "backup.panel.mainAmps" (of three phases all together) or "service.importLimitKw" ("exportLimitKw" for what is fed)',
      });
  if (issues.length > 0) throw new InputError(issues);
}

function localTime(axis: Axis, i: number): string {
  const { calendar } = axis;
  return `${formatDate(calendar.days[calendar.day[i]!]!)} ${clockOf(calendar.minuteOfDay[i]!)} (${new Date(startMsOf(axis, i)).toISOString()})`;
}
