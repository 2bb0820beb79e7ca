import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { check, series } from '../input/door.ts';

/**
 * Energy of one axis laid on another: each interval gets the energy of the time that it shares with the first, spread
 * evenly within each of its intervals. What the first doesn't reach, or holds as a gap, is NaN.
 *
 * @param kwh energy of each interval of `from`, NaN for a gap
 * @throws InputError on energy of another length than `from`
 * @returns energy of each interval of `to`, kWh; the same numbers where the axes are the same
 */
export function energyOnAxis(kwh: Float64Array, from: Axis, to: Axis): Float64Array {
  check({ from, kwh, to }, { from: anAxis, kwh: series({ gaps: true }), to: anAxis });
  const fromMs = from.stepMinutes * 60_000;
  const toMs = to.stepMinutes * 60_000;
  const laid = new Float64Array(to.intervals);
  for (let i = 0; i < to.intervals; i++) {
    const start = to.startEpochMs + i * toMs;
    const end = start + toMs;
    let sum = 0;
    let k = Math.floor((start - from.startEpochMs) / fromMs);
    for (let at = start; at < end; k++) {
      const until = Math.min(end, from.startEpochMs + (k + 1) * fromMs);
      sum += (kwh[k] ?? Number.NaN) * ((until - at) / fromMs);
      at = until;
    }
    laid[i] = sum;
  }
  return laid;
}
