import type { FindingList } from '../findings.ts';
import type { Group } from '../readings.ts';
import type { Channel } from '../series.ts';
import { firstLine, nameOf } from './told-stream.ts';

/** Fewer intervals of generation prove nothing. */
const ENOUGH = 12;

/**
 * Asks what "consumption" and "generation" are where the home, by them, uses nothing at all in most intervals in which
 * something is generated. No home stops using energy when the sun shines: a meter at the grid that counts one way or the
 * other shows that, and then the two are import and export.
 *
 * @returns false, with an error finding, where it asks
 */
export function settleGross(
  groups: readonly Group[],
  channels: ReadonlyMap<Channel, Float64Array>,
  findings: FindingList,
): boolean {
  const streams = groups.flatMap((group) => group.streams);
  const used = streams.filter(({ gross }) => gross === true);
  const made = streams.filter(({ role }) => role === 'solar');
  const load = channels.get('load');
  const solar = channels.get('solar');
  if (used.length === 0 || load === undefined || solar === undefined) return true;
  let sunlit = 0;
  let without = 0;
  for (let i = 0; i < solar.length; i++) {
    if (!(solar[i]! > 0) || Number.isNaN(load[i]!)) continue;
    sunlit++;
    if (load[i] === 0) without++;
  }
  if (sunlit < ENOUGH || without <= sunlit / 2) return true;
  const asRows = used[0]!.kind !== undefined;
  findings.add(
    asRows ? 'rows-unclear' : 'columns-unclear',
    'error',
    {
      why: 'no-use-in-sun',
      used: used.map(nameOf),
      made: made.map(nameOf),
      unusedShare: without / sunlit,
    },
    { lines: [...used, ...made].map(firstLine), count: without },
  );
  return false;
}
