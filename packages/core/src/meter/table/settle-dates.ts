import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Evidence } from '../readings.ts';
import type { SettledDates } from './dates.ts';
import type { StampReader } from './stamps.ts';

/**
 * The dates of a file, with one order of day and month for all of them: as stated, or as the whole column shows it.
 *
 * @param ids of the dates of each block, in file order
 * @returns undefined, with an error finding, where nothing tells day and month apart
 */
export function settleDates(
  stamps: StampReader,
  ids: Iterable<Iterable<number>>,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): (SettledDates & { readonly year: number }) | undefined {
  // A year for dates that print none: a common one, or a leap year where 29 February is among them.
  const year = options.year ?? (stamps.hasLeapDay ? 2024 : 2023);
  function* sequence() {
    for (const block of ids) yield* block;
  }
  const { wrongYear } = stamps;
  if (wrongYear !== undefined) {
    findings.add('year-impossible', 'error', { year: wrongYear });
    return undefined;
  }
  const settled = stamps.settle(options.dateOrder, year, sequence());
  if (settled.unclear || settled.swapped) {
    findings.add('date-order-unclear', 'error', { why: settled.swapped ? 'exchanged' : 'either' });
    return undefined;
  }
  if (settled.evidence !== undefined) evidence.push(settled.evidence);
  return { ...settled, year };
}
