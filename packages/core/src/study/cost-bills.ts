import type { MeterCosts } from '../site/index.ts';
import type { ActualBill, CompiledTariff } from '../tariff/index.ts';

/**
 * Bills made of what the meter files say that each interval cost: over the tariff's own billing periods that the data cover
 * whole, without those in which a cost is missing, which are named.
 */
export function billsOfCosts(
  costs: MeterCosts['columns'],
  { axis, periods }: CompiledTariff,
): { readonly bills: ActualBill[]; readonly leftOut: readonly string[] } {
  const leftOut: string[] = [];
  const columns = [...costs].sort((a, b) => a.axis.startEpochMs - b.axis.startEpochMs);
  const bills = periods.flatMap(({ first, end, days, fullDays, startDate, endDate }) => {
    if (days < fullDays) return [];
    const stepMs = axis.stepMinutes * 60_000;
    const [from, until] = [axis.startEpochMs + first * stepMs, axis.startEpochMs + end * stepMs];
    let total = 0;
    let reached = from;
    for (const { axis: own, values } of columns) {
      const ownMs = own.stepMinutes * 60_000;
      for (let i = 0; i < values.length; i++) {
        const at = own.startEpochMs + i * ownMs;
        // Where two files overlap the first one counts; a missing cost ends the reach.
        if (at !== reached || at >= until || Number.isNaN(values[i]!)) continue;
        total += values[i]!;
        reached = at + ownMs;
      }
    }
    if (reached >= until) return [{ start: startDate, end: endDate, total: Math.round(total * 1e6) / 1e6 }];
    leftOut.push(`${startDate} to ${endDate}`);
    return [];
  });
  return { bills, leftOut };
}
