import { DAY_MS, HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { Evidence, Group, LabelEnd } from '../readings.ts';

/**
 * Decides which end of their interval the labels name whose reader found nothing that says so: once for all series of a
 * file, since a program that writes one of them by its end writes all of them so.
 *
 * What other labels of the file are named as counts first, then how the days run: from one step after midnight to
 * midnight in a file of interval ends. Where series run one way and the other, nothing is known, and all are starts.
 */
export function settleLabelEnds(groups: readonly Group[], evidence: Evidence, findings: FindingList): void {
  const decided = decide(groups);
  if (decided.why === 'contradicted') findings.add('label-ends-differ', 'warning', {});
  for (const { labels } of groups) if (labels.labelEnd.why === 'assumed') labels.labelEnd = decided;
  for (const [k, told] of evidence.entries())
    if (typeof told !== 'string' && told.why === 'assumed') evidence[k] = decided;
}

function decide(groups: readonly Group[]): LabelEnd {
  if (groups.length > 0 && groups.every(({ labels }) => labels.labelEnd.why === 'day-run'))
    return groups[0]!.labels.labelEnd;
  const told = new Set(
    groups.map(({ labels }) => labels.labelEnd).flatMap(({ at, why }) => (why === 'assumed' ? [] : at)),
  );
  if (told.size === 1) return { at: [...told][0]!, why: 'others' };
  const shown = new Set(groups.flatMap((group) => shownByRun(group) ?? []));
  if (shown.size > 1) return { at: 'start', why: 'contradicted' };
  return shown.has('end') ? { at: 'end', why: 'day-run' } : { at: 'start', why: 'assumed' };
}

/**
 * Which end the first and the last label speak for. Hourly labels are no evidence (a first one of 01:00 is as likely the
 * second hour of a day), nor are instants, whose midnight is another one, nor labels that have both ends.
 */
function shownByRun({ labels, stepMs }: Group): LabelEnd['at'] | undefined {
  if (labels.labelEnd.why !== 'assumed') return undefined;
  if (labels.clock === 'utc' || labels.durationMs !== undefined || stepMs >= HOUR_MS) return undefined;
  let first = Number.POSITIVE_INFINITY;
  let last = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < labels.count; i++) {
    first = Math.min(first, labels.labelMs[i]!);
    last = Math.max(last, labels.labelMs[i]!);
  }
  if (first % DAY_MS === stepMs && last % DAY_MS === 0) return 'end';
  return first % DAY_MS === 0 && last % DAY_MS === DAY_MS - stepMs ? 'start' : undefined;
}

/** What a decision is told as. */
export function labelEndWords({ at, why }: LabelEnd): string {
  const are = `labels are interval ${at}s`;
  switch (why) {
    case 'stated':
      return `${are}: stated`;
    case 'column-name':
      return `${are}: by the column’s name`;
    case 'column-names':
      return `${are}: by the columns’ names`;
    case 'shows-24':
      return `${are}: 24:00 occurs`;
    case 'day-run':
      return `${are}: the first is one step after midnight, the last is midnight`;
    case 'day-total':
      return `${are}: the day’s total starts anew ${at === 'end' ? 'one step after' : 'at'} midnight`;
    case 'others':
      return `${are}: others of the file are`;
    case 'both-ends':
      return `${are}: their cells print both ends`;
    case 'layout':
      return `${are}: so the layout has it`;
    case 'contradicted':
      return 'labels are taken as the start of their interval: some series run as starts do and some as ends do';
    case 'assumed':
      return 'labels are taken as the start of their interval: nothing says otherwise';
  }
}
