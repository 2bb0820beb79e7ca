import type { FindingList } from '../findings.ts';
import type { Readings } from '../readings.ts';
import { CHANNELS, channelField, type Finding, type IntervalSeries } from '../series.ts';

/**
 * Tells of registers that the file names and holds nothing of. Savings are withheld where the home draws by one: what it takes
 * isn't known, unless what is read is what was billed.
 */
export function tellUnread(
  { declared = [], streams }: Readings,
  { importKwh }: IntervalSeries,
  billed: boolean,
  findings: FindingList,
): void {
  for (const [k, { unread }] of declared.entries()) {
    const usagePoint = k + 1;
    if (!streams.some(({ point }) => (point ?? 1) === usagePoint)) continue;
    for (const { register, role } of unread)
      findings.add(
        'register-missing',
        'warning',
        {
          why: 'not-in-file',
          register: register.toUpperCase(),
          role,
          ...(declared.length > 1 ? { usagePoint } : {}),
          withheld: role === 'import' && importKwh !== undefined && !billed,
        },
        { key: `${usagePoint} ${register}` },
      );
  }
}

/** Findings of files without those of registers that another file of the home holds, or beside which one does. */
export function withoutHeld<F extends Pick<Finding, 'code' | 'data'>>(
  findings: readonly F[],
  series: IntervalSeries | undefined,
): F[] {
  if (series === undefined) return [...findings];
  const { parts = [] } = series;
  const isHeld = ({ role, register }: Finding['data']) =>
    parts.some((part) => part.kwh !== undefined && part.channel === role && part.register.toUpperCase() === register);
  const isAlone = ({ role }: Finding['data']) => parts.some((part) => part.alone === true && part.channel === role);
  // What the words of one file leave out, another may hold: then nothing of the channel is missing.
  const isRead = ({ role }: Finding['data'], names: readonly string[]) =>
    isWhole(series, String(role)) &&
    names.every((each) => /"/.test(each) && parts.some(({ channel, name }) => channel === role && name === each));
  return findings.filter(({ code, data }) => {
    if (code === 'energy-left-out' || code === 'columns-beside') return !isRead(data, namesLeft(data));
    if (code === 'part-alone') return data.days !== undefined || data.unnamed === true || isAlone(data);
    return code !== 'register-missing' || data.why !== 'not-in-file' || !isHeld(data);
  });
}

/** Whether a channel has a value in every interval. */
function isWhole(series: IntervalSeries, role: string): boolean {
  const channel = CHANNELS.find((each) => each === role);
  const kwh = channel === undefined ? undefined : series[channelField(channel)];
  return kwh !== undefined && !kwh.some(Number.isNaN);
}

/** Fit to print: what the user's words leave out of a file, as parts are named. */
function namesLeft({ left, columns }: Finding['data']): string[] {
  const all = (left ?? columns ?? []) as readonly { readonly stream?: string; readonly column?: string }[];
  return all.map(({ stream, column }) => stream ?? column ?? '');
}
