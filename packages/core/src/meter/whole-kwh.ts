import { billedGap, TOLD_SHARE } from './billed.ts';
import type { FindingList } from './findings.ts';
import { channelField, type IntervalSeries } from './series.ts';

/** Readings too few to tell that a portal leaves decimals out. */
const ENOUGH = 240;
/** A home whose hours are rarely below one kWh loses little: of readings of zero, such a share must be there. */
const ZEROS = 0.05;
/** Above this share of the energy that cutting may have taken, no savings may rest on it: as where a bill contradicts the meter. */
const WITHHOLDS = 0.05;

/**
 * Tells of kWh without decimals, as portals hand them out that round, or cut them off: a cut reading is too low by up to
 * one kWh. Running totals lose nothing by it, and a bill that agrees shows that nothing is lost.
 */
export function noteWholeKwh(series: IntervalSeries, billedKwh: number | undefined, findings: FindingList): void {
  if (findings.has('register-differenced') || findings.has('day-total-differenced')) return;
  for (const channel of ['import', 'load'] as const) {
    const values = series[channelField(channel)];
    if (values === undefined) continue;
    let readings = 0;
    let zeros = 0;
    let energyKwh = 0;
    let whole = true;
    for (const kwh of values) {
      if (Number.isNaN(kwh)) continue;
      readings++;
      energyKwh += kwh;
      if (kwh === 0) zeros++;
      // A unit such as Wh makes 3 of 3000 but for the last bit.
      else if (Math.abs(kwh - Math.round(kwh)) > 1e-9) whole = false;
    }
    if (!whole || readings < ENOUGH || zeros < ZEROS * readings || energyKwh === 0) continue;
    // What cutting takes is as likely little as much of a kWh.
    const lostKwh = readings / 2;
    const billed = channel === 'import' && billedKwh !== undefined && billedGap(series, billedKwh).share < TOLD_SHARE;
    const withheld = !billed && lostKwh > WITHHOLDS * energyKwh;
    findings.add('whole-kwh', 'warning', { channel, readings, energyKwh, lostKwh, withheld }, { key: channel });
  }
}
