import { offsetSpans } from '../../axis/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Group, Labels } from '../readings.ts';
import { spanOf } from './label-span.ts';

/** Zones whose clocks change by rules of their own, one for each rule that many homes live under. */
const RULES = [
  'Europe/Berlin',
  'Europe/London',
  'Europe/Athens',
  'America/New_York',
  'America/Havana',
  'America/Santiago',
  'Australia/Sydney',
  'Pacific/Auckland',
];

/** A clock that is set so many hours late changes on its zone's dates, so late. Fewer may be a portal's own hour for it. */
const HOURS_OFF = [3, 4, 5, 6, -3, -4, -5, -6];

/** A change of the clock as labels show it: the local time at which the skipped or the repeated hour begins, ms. */
interface Change {
  readonly kind: 'skips' | 'repeats';
  readonly localMs: number;
}

/**
 * Says so where the labels' own clock changes on other dates than the stated zone's: they skip an hour in spring or repeat
 * one in autumn as the clocks of other places do, and on no date of the zone's own; or on its dates, but hours off. Labels that state offsets are asked
 * whether the zone ever has these.
 */
export function holdAgainstZone(
  { labels, stepMs }: Group,
  zone: string,
  { adjust }: ParseOptions,
  findings: FindingList,
): void {
  if (labels.count < 2) return;
  if (labels.clock === 'utc' && labels.utcByName === true) holdName(labels, stepMs, zone, findings);
  else if (labels.clock === 'utc') holdOffsets(labels, zone, findings);
  else holdChanges(labels, stepMs, zone, (adjust?.shiftMinutes ?? 0) !== 0, findings);
}

/** Asks where a column is named for UTC and its labels skip or repeat the hours that the home's clock does: UTC has none. */
function holdName(labels: Labels, stepMs: number, zone: string, findings: FindingList): void {
  const [from, to] = spanOf(labels);
  const shown = changesShown(labels, stepMs);
  const own = changesOf(zone, from, to).find(({ kind, localMs }) =>
    shown.some((each) => each.kind === kind && each.localMs === localMs),
  );
  if (own === undefined) return;
  const date = new Date(own.localMs).toISOString().slice(0, 10);
  findings.add('utc-name-contradicted', 'error', { zone, date, kind: own.kind });
}

function holdOffsets(labels: Labels, zone: string, findings: FindingList): void {
  const stated = labels.offsetMinutes ?? [];
  // UTC is how a portal stores times; it says nothing of the home.
  if (stated.every((offset) => offset === 0)) return;
  const [from, to] = spanOf(labels);
  const own = new Set(offsetSpans(zone, from - 366 * DAY_MS, to + DAY_MS).map(({ offsetMinutes }) => offsetMinutes));
  if (stated.every((offset) => own.has(offset))) return;
  findings.add('offsets-not-of-zone', 'warning', { zone, stated, zones: [...own] }, { lines: [labels.line[0]!] });
}

function holdChanges(labels: Labels, stepMs: number, zone: string, isShifted: boolean, findings: FindingList): void {
  const shown = changesShown(labels, stepMs);
  if (shown.length === 0) return;
  const [from, to] = spanOf(labels);
  const own = changesOf(zone, from, to);
  const isShown = ({ kind, localMs }: Change) => shown.some((each) => each.kind === kind && each.localMs === localMs);
  if (own.some(isShown)) return;
  const lateHours = HOURS_OFF.find((hours) =>
    own.every(({ kind, localMs }) => isShown({ kind, localMs: localMs + hours * HOUR_MS })),
  );
  // A single hour that is missing, or stands twice, on the day of a change may be anything.
  if (lateHours !== undefined && own.length > 1) {
    if (!isShifted)
      findings.add('clock-off-by-hours', 'error', {
        zone,
        lateHours,
        dates: own.map(({ localMs }) => new Date(localMs).toISOString().slice(0, 10)),
      });
    return;
  }
  const like = RULES.find((rule) => {
    const changes = changesOf(rule, from, to);
    return changes.length > 0 && changes.every(isShown);
  });
  if (like === undefined) return;
  const dates = (changes: readonly Change[], kind: Change['kind']) =>
    changes.filter((change) => change.kind === kind).map(({ localMs }) => new Date(localMs).toISOString().slice(0, 10));
  const seen = changesOf(like, from, to);
  // Ends that are told as a start and a step skip the hour after the one that the clock skips.
  const fitAsEnds =
    labels.labelEnd.at === 'start' &&
    own.length > 0 &&
    own.every(({ kind, localMs }) => isShown({ kind, localMs: localMs + stepMs }));
  findings.add('zone-contradicted', 'error', {
    zone,
    like,
    skips: dates(seen, 'skips'),
    repeats: dates(seen, 'repeats'),
    zoneChanges: own.map(({ localMs }) => new Date(localMs).toISOString().slice(0, 10)),
    ...(fitAsEnds ? { fitAsEnds } : {}),
  });
}

/** Changes of a zone's clock by an hour that lie well within a span of local times. */
function changesOf(zone: string, from: number, to: number): Change[] {
  const spans = offsetSpans(zone, from - DAY_MS, to + DAY_MS);
  const changes: Change[] = [];
  for (let k = 1; k < spans.length; k++) {
    const before = spans[k - 1]!.offsetMinutes * MINUTE_MS;
    const after = spans[k]!.offsetMinutes * MINUTE_MS;
    const at = spans[k]!.fromEpochMs;
    if (Math.abs(after - before) !== HOUR_MS) continue;
    const change: Change =
      after > before ? { kind: 'skips', localMs: at + before } : { kind: 'repeats', localMs: at + after };
    if (change.localMs > from + 3 * HOUR_MS && change.localMs < to - 3 * HOUR_MS) changes.push(change);
  }
  return changes;
}

/** Single hours that labels leave out, or have twice, between hours that are whole. */
function changesShown(labels: Labels, stepMs: number): Change[] {
  const perHour = Math.round(HOUR_MS / stepMs);
  if (perHour < 1) return [];
  // An end may be read off the wall (the one at the skipped hour's beginning is written as its end), or be the start and a step.
  const shifts = labels.labelEnd.at === 'end' ? [0, stepMs] : [0];
  const times = Float64Array.from(labels.labelMs.subarray(0, labels.count)).sort();
  const found: Change[] = [];
  const add = (kind: Change['kind'], localMs: number) =>
    found.push(...shifts.map((shift) => ({ kind, localMs: localMs - shift })));
  let twice = 0;
  for (let i = 1; i < times.length; i++) {
    const distance = times[i]! - times[i - 1]!;
    if (distance === 0) {
      twice++;
      continue;
    }
    // A run of labels that all stand twice ends before one that stands once.
    if (twice > 0 && (i + 1 >= times.length || times[i + 1]! > times[i]!)) {
      if (twice === perHour) add('repeats', times[i - 1]! - (perHour - 1) * stepMs);
      twice = 0;
    }
    if (distance === stepMs + HOUR_MS) add('skips', times[i - 1]! + stepMs);
  }
  return found;
}
