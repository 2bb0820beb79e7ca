import type { FindingList } from './findings.ts';
import type { IntervalSeries } from './series.ts';

/** From this share on what is metered differs from what was billed: dates of a bill move it by a day or two. */
export const TOLD_SHARE = 0.03;
/** Above this share no savings may rest on it, as where a load column contradicts the meter. */
export const BILLED_WITHHOLDS = 0.05;

/** How far what was metered to be bought lies from what was billed, as a share of the bill; gaps count as the rest does. */
export function billedGap({ importKwh }: IntervalSeries, billedKwh: number): { meteredKwh: number; share: number } {
  let meteredKwh = 0;
  let read = 0;
  for (const kwh of importKwh ?? []) {
    if (Number.isNaN(kwh)) continue;
    meteredKwh += kwh;
    read++;
  }
  const whole = read === 0 ? 0 : (meteredKwh * importKwh!.length) / read;
  return { meteredKwh, share: Math.abs(whole / billedKwh - 1) };
}

/** Tells where what is metered isn't what was billed. */
export function noteBilled(series: IntervalSeries, billedKwh: number | undefined, findings: FindingList): void {
  if (billedKwh === undefined || series.importKwh === undefined) return;
  const { meteredKwh, share } = billedGap(series, billedKwh);
  if (share < TOLD_SHARE) return;
  findings.add('billed-differs', 'warning', { meteredKwh, billedKwh, share, withheld: share > BILLED_WITHHOLDS });
}
