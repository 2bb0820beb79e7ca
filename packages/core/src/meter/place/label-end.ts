import { DAY_MS, HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Evidence, Group, LabelEnd, Labels } from '../readings.ts';
import { type DayRun, runOf } from './label-run.ts';
import { spanOf } from './label-span.ts';

const SECOND_MS = 1000;

/** By what labels are read: the zone of the home, and the clock that is stated. */
type Options = ParseOptions & { readonly zone: string };

/**
 * Decides which end of their interval the labels name whose reader found nothing that says so: once for all series of a
 * file, since a program that writes one of them by its end writes all of them so.
 *
 * What other labels of the file are named as counts first, then how the days run: from one step after midnight to
 * midnight in a file of interval ends. Where series run one way and the other, nothing is known, and all are starts.
 */
export function settleLabelEnds(
  groups: readonly Group[],
  options: Options,
  evidence: Evidence,
  findings: FindingList,
): void {
  for (const group of groups) {
    roundLastMoments(group);
    moveMidnights(group, findings);
  }
  decideBy(shownByRun, groups, options, evidence, findings);
}

/** Hourly labels of fewer days may begin and end with an hour by chance. */
const HOURLY_DAYS = 7;

/**
 * Decides the same of hourly labels about which nothing was found, once it is known whether values are totals of their day,
 * which say it better. A week and more of them from 01:00 to midnight are ends; but in a zone that is an hour ahead of UTC,
 * whole days of UTC told by their starts run just so. There an error finding asks: read by the wrong end all is an hour out,
 * and no figure shows it.
 */
export function settleHourlyEnds(
  groups: readonly Group[],
  options: Options,
  evidence: Evidence,
  findings: FindingList,
): void {
  decideBy(shownByHours, groups, options, evidence, findings);
}

/** What the first and the last label of a group show. */
type Shown = (group: Group, options: Options) => DayRun | undefined;

function decideBy(
  shownBy: Shown,
  groups: readonly Group[],
  options: Options,
  evidence: Evidence,
  findings: FindingList,
): void {
  const decided = decide(groups, (group) => shownBy(group, options));
  if ('at' in decided) settle(groups, decided, evidence, findings);
  else findings.add('label-ends-asked', 'error', { days: decided.days });
}

function settle(groups: readonly Group[], decided: LabelEnd, evidence: Evidence, findings: FindingList): void {
  if (decided.why === 'contradicted') findings.add('label-ends-differ', 'warning', {});
  for (const { labels } of groups) if (labels.labelEnd.why === 'assumed') labels.labelEnd = decided;
  for (const [k, told] of evidence.entries())
    if (typeof told !== 'string' && told.why === 'assumed') evidence[k] = decided;
}

/** What all labels are, or by which clock days run as both ends do. */
function decide(
  groups: readonly Group[],
  shownBy: (group: Group) => DayRun | undefined,
): LabelEnd | { readonly days: 'written' | 'of-home' } {
  const [one] = groups.map(({ labels }) => labels.labelEnd);
  if (
    (one?.why === 'day-run' || one?.why === 'home-day-run' || one?.why === 'last-moment') &&
    groups.every(({ labels }) => labels.labelEnd.why === one.why)
  )
    return one;
  const told = new Set(
    groups.map(({ labels }) => labels.labelEnd).flatMap(({ at, why }) => (why === 'assumed' ? [] : at)),
  );
  if (told.size === 1) return { at: [...told][0]!, why: 'others' };
  const shown = groups.flatMap((group) => (sayNothing(group.labels) ? [] : (shownBy(group) ?? [])));
  const end = shown.find(({ at }) => at === 'end');
  if (shown.some(({ at }) => at === 'start'))
    return { at: 'start', why: end === undefined ? 'assumed' : 'contradicted' };
  if (end !== undefined) return { at: 'end', why: end.isOfHome ? 'home-day-run' : 'day-run' };
  const [asked] = shown;
  return asked === undefined ? { at: 'start', why: 'assumed' } : { days: asked.isOfHome ? 'of-home' : 'written' };
}

/** Labels that are decided, or have both ends. */
function sayNothing({ labelEnd, durationMs }: Labels): boolean {
  return labelEnd.why !== 'assumed' || durationMs !== undefined;
}

/** What steps below an hour show by the first and the last label. */
function shownByRun({ labels, stepMs }: Group, { zone, clock }: Options): DayRun | undefined {
  return stepMs < HOUR_MS ? runOf(labels, stepMs, zone, clock) : undefined;
}

/** The same of hours. Few of them are no evidence: a first one of 01:00 is as likely the second hour of a day. */
function shownByHours({ labels, stepMs }: Group, { zone, clock }: Options): DayRun | undefined {
  const [first, last] = spanOf(labels);
  const isLong = stepMs === HOUR_MS && last - first >= HOURLY_DAYS * DAY_MS - stepMs;
  return isLong ? runOf(labels, stepMs, zone, clock) : undefined;
}

/** Below so long a step a logger's own phase may fall on a last minute by chance. */
const LEAST_OF_MINUTES_MS = 15 * MINUTE_MS;

/** `00:59:59`, `01:59:59`, … or `00:59`, `01:59`, …: the last second or minute of each interval. All become its full end. */
function roundLastMoments({ labels, stepMs }: Group): void {
  const { labelEnd, labelMs, count } = labels;
  if ((labelEnd.why !== 'assumed' && labelEnd.at === 'start') || count < 2) return;
  const left = stepMs - (labelMs[0]! % stepMs);
  if (left !== SECOND_MS && (left !== MINUTE_MS || stepMs < LEAST_OF_MINUTES_MS)) return;
  for (let i = 0; i < count; i++) if (labelMs[i]! % stepMs !== stepMs - left) return;
  for (let i = 0; i < count; i++) labelMs[i]! += left;
  if (labelEnd.why === 'assumed') labels.labelEnd = { at: 'end', why: 'last-moment' };
}

/** Of evenings, so many must have their last reading. */
const MOST_WHOLE = 0.9;

/**
 * Days that are written from one step after midnight to 00:00 of the same date: that midnight ends the day, though its date
 * says that it begins it. Told by the order of rows: each midnight stands after the evening of its date, not before its morning.
 */
function moveMidnights({ labels, stepMs }: Group, findings: FindingList): void {
  const { labelEnd, labelMs, count, line } = labels;
  if (labels.clock === 'utc' || labels.durationMs !== undefined) return;
  if (labelEnd.why !== 'assumed' && labelEnd.at === 'start') return;
  const midnights: number[] = [];
  for (let i = 0; i < count; i++) if (labelMs[i]! % DAY_MS === 0) midnights.push(i);
  if (midnights.length === 0) return;
  /** How far the label of another row is after a midnight, where it is of the same date. */
  const onDate = (i: number, other: number) => {
    const after = other >= 0 && other < count ? labelMs[other]! - labelMs[i]! : -1;
    return after >= 0 && after < DAY_MS ? after : undefined;
  };
  const endDates = (way: 1 | -1) => {
    const after = midnights.map((i) => (onDate(i, i + way) === undefined ? onDate(i, i - way) : undefined));
    if (!after.every((ms) => ms !== undefined && ms >= DAY_MS / 2)) return false;
    // Rows that were shuffled have one in the evening's last place by chance.
    return after.filter((ms) => ms === DAY_MS - stepMs).length >= MOST_WHOLE * midnights.length;
  };
  if (!endDates(1) && !endDates(-1)) return;
  for (const i of midnights) labelMs[i]! += DAY_MS;
  if (labelEnd.why === 'assumed') labels.labelEnd = { at: 'end', why: 'day-run' };
  const lines = midnights.map((i) => line[i]!);
  findings.add('midnight-of-its-day', 'note', { stepMinutes: stepMs / MINUTE_MS }, { lines, count: lines.length });
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
    case 'home-day-run':
      return `${are}: in the home’s time the first is one step after midnight, the last is midnight`;
    case 'last-moment':
      return `${are}: each is the last second or minute of its interval`;
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
