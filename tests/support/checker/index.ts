/**
 * A second reckoning of a home, written from docs/reference and docs/concepts alone: it shares no code with the core and
 * imports nothing of it. Plain and slow, so that it can be read beside the documents.
 */

import { billOf, type CheckedBill } from './bill.ts';
import type { Document } from './days.ts';
import { aheadOf, countsForDemand } from './floor-ahead.ts';
import { inSteps, readIntervalCsv } from './interval-csv.ts';
import {
  type CheckedFlow,
  type CheckedHome,
  homeOf,
  runHold,
  runPeakShave,
  runSelfConsumption,
  runWithoutPlant,
} from './plant.ts';
import { survivalHours } from './survival.ts';
import { type LaidTariff, layTariff } from './tariff.ts';
import { runWindow, windowIsDescribedUntil } from './window-rule.ts';

export type { CheckedBill } from './bill.ts';
export type { Document } from './days.ts';
export type { CheckedFlow, CheckedHome } from './plant.ts';
export { islandLoad } from './survival.ts';
export type { LaidTariff } from './tariff.ts';

export type CheckedRule = 'none' | 'hold' | 'self-consumption' | 'window';

/** A site's documents and files, as they lie beside each other. */
export interface CheckedSite {
  readonly site: Document;
  readonly tariff: Document;
  /** Our own interval CSV of the home. */
  readonly meter: string;
  /** What the tariff and the plant name besides. */
  readonly files: Readonly<Record<string, string>>;
}

export interface Checked {
  readonly home: CheckedHome;
  readonly laid: LaidTariff;
  /** @param fillKwh of `window` alone: see `runWindow` */
  run(rule: CheckedRule, fillKwh?: number): CheckedFlow;
  /** `peak-shave` at a target that is given, kW. */
  peakShave(targetKw: number): CheckedFlow;
  /** Up to which interval the documents say all that `window` does here. */
  readonly windowIsDescribedUntil: number;
  bill(flow: CheckedFlow): CheckedBill;
  /** What energy at the start above the lowest floor of the data is charged at. */
  readonly startEnergy: (rule: CheckedRule) => number;
  hours(flow: CheckedFlow, load?: Float64Array, slackKwh?: number): Float64Array;
}

/** Lays a site out, for its rules to be run and billed. */
export function checkedSite({ site, tariff, meter, files }: CheckedSite): Checked {
  const account = (site.account ?? {}) as Document;
  // The longest steps that the fewest hours of the tariff begin or end within.
  const metered = readIntervalCsv(meter);
  let laid = layTariff(tariff, account, metered, files);
  for (const shorter of [30, 20, 15, 10, 5])
    if (laid.edgesInside() > 0 && metered.stepMinutes % shorter === 0 && shorter < metered.stepMinutes) {
      const split = layTariff(tariff, account, inSteps(metered, shorter), files);
      if (split.edgesInside() < laid.edgesInside()) laid = split;
    }
  const { intervals } = laid;
  const reachFile = ((site.plant as Document).reach as Document | undefined)?.file as string | undefined;
  const reach =
    reachFile === undefined
      ? undefined
      : inSteps(readIntervalCsv(files[reachFile]!), intervals.stepMinutes).columns.load_kwh;
  const bare = homeOf(site, tariff, intervals, reach);
  const home = { ...bare, ahead: aheadOf(bare, laid) };
  const { plant } = home;
  const meanPrice = laid.importPrice.reduce((sum, price) => sum + price, 0) / intervals.count;
  // Buy-all, sell-all: the home buys its whole load, what the battery takes and gives with it, and sells all its solar.
  const gross = (tariff.export as Document | undefined)?.kind === 'buy-all';
  const billedFlows = (flow: CheckedFlow) =>
    gross
      ? {
          importKwh: flow.importKwh.map((kwh, i) =>
            Math.max(0, kwh - flow.exportKwh[i]! + home.solar[i]! - flow.curtailedKwh[i]!),
          ),
          exportKwh: home.solar.map((kwh, i) => kwh - flow.curtailedKwh[i]!),
        }
      : flow;
  const lowestFloor = plant.floors.reduce((least, floor) => Math.min(least, floor));
  return {
    home,
    laid,
    windowIsDescribedUntil: windowIsDescribedUntil(laid),
    run: (rule, fillKwh) =>
      rule === 'none'
        ? runWithoutPlant(home)
        : rule === 'hold'
          ? runHold(home)
          : rule === 'self-consumption'
            ? runSelfConsumption(home)
            : runWindow(home, laid, fillKwh),
    peakShave: (targetKw) =>
      runPeakShave(home, (targetKw * intervals.stepMinutes) / 60, (i) => countsForDemand(laid, i)),
    bill: (flow) => billOf(laid, billedFlows(flow)),
    startEnergy: (rule) =>
      (Math.max(0, (rule === 'hold' ? plant.startOfHold : plant.start) - lowestFloor) * meanPrice) /
      plant.chargeEfficiency,
    hours: (flow, load, slackKwh) => survivalHours(home, site, flow, load, slackKwh),
  };
}
