import type { FindingList } from '../findings.ts';
import type { Readings } from '../readings.ts';
import type { Finding, IntervalSeries } from '../series.ts';

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

/** Findings of files without those of registers that another file of the home holds. */
export function withoutHeld<F extends Pick<Finding, 'code' | 'data'>>(
  findings: readonly F[],
  { parts = [] }: IntervalSeries,
): F[] {
  const isHeld = ({ role, register }: Finding['data']) =>
    parts.some((part) => part.kwh !== undefined && part.channel === role && part.register.toUpperCase() === register);
  return findings.filter(
    ({ code, data }) => code !== 'register-missing' || data.why !== 'not-in-file' || !isHeld(data),
  );
}
