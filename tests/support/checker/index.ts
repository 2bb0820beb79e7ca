/**
 * A second reckoning of a home, written from docs/reference and docs/concepts alone: it shares no code with the core and
 * imports nothing of it. Plain and slow, so that it can be read beside the documents.
 */

import { billOf, type CheckedBill } from './bill.ts';
import type { Document } from './days.ts';
import { readIntervalCsv } from './interval-csv.ts';
import {
  type CheckedFlow,
  type CheckedHome,
  homeOf,
  runHold,
  runSelfConsumption,
  runWithoutPlant,
} from './plant.ts';
import { survivalHours } from './survival.ts';
import { type LaidTariff, layTariff } from './tariff.ts';
import { runWindow } from './window-rule.ts';

export type { CheckedBill } from './bill.ts';
export { billOf } from './bill.ts';
export type { Document } from './days.ts';
export { readIntervalCsv } from './interval-csv.ts';
export { type CheckedFlow, type CheckedHome, homeOf } from './plant.ts';
export { islandLoad, survivalHours } from './survival.ts';
export { type LaidTariff, layTariff } from './tariff.ts';
export { onPeak } from './window-rule.ts';

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
  run(rule: CheckedRule): CheckedFlow;
  bill(flow: CheckedFlow): CheckedBill;
  /** What energy above the floor at the start is charged at. */
  readonly startEnergy: number;
  hours(flow: CheckedFlow, load?: Float64Array, slackKwh?: number): Float64Array;
}

/** Lays a site out, for its rules to be run and billed. */
export function checkedSite({ site, tariff, meter, files }: CheckedSite): Checked {
  const intervals = readIntervalCsv(meter);
  const reachFile = ((site.plant as Document).reach as Document | undefined)?.file as string | undefined;
  const reach = reachFile === undefined ? undefined : readIntervalCsv(files[reachFile]!).columns.load_kwh;
  const home = homeOf(site, tariff, intervals, reach);
  const laid = layTariff(tariff, (site.account ?? {}) as Document, intervals, files);
  const { plant } = home;
  const meanPrice = laid.importPrice.reduce((sum, price) => sum + price, 0) / intervals.count;
  return {
    home,
    laid,
    run: (rule) =>
      rule === 'none'
        ? runWithoutPlant(home)
        : rule === 'hold'
          ? runHold(home)
          : rule === 'self-consumption'
            ? runSelfConsumption(home)
            : runWindow(home, laid),
    bill: (flow) => billOf(laid, flow),
    startEnergy: (Math.max(0, plant.start - plant.floors[0]!) * meanPrice) / plant.chargeEfficiency,
    hours: (flow, load, slackKwh) => survivalHours(home, site, flow.socKwh, load, slackKwh),
  };
}
