import {
  type Controller,
  energyCosts,
  followSheet,
  none,
  rolling,
  runStrategy,
  type SettingsSheet,
  searchSettings,
  weekParity,
} from '../dispatch/index.ts';
import { preparePlant } from '../plant/index.ts';
import { billTotal } from '../tariff/index.ts';
import { billedFlows, VERSION } from './compare.ts';
import { perYear, type Study, type Warning } from './home.ts';

/** What to enter on the box, what it saves, and how far that can be trusted. Money is unrounded. */
export interface SettingsReport {
  readonly format: 'duskbank.settings/1';
  readonly version: string;
  readonly site: string;
  readonly tariff: string;
  readonly currency: string;
  readonly controller: Controller;
  readonly sheet: SettingsSheet;
  /** The metered past replayed under the sheet. */
  readonly bill: { readonly total: number };
  readonly baseline: { readonly bill: { readonly total: number } };
  /** `baseline − bill`: the sheet has seen the data that it is judged on. Null where a basis withholds it. */
  readonly savings: number | null;
  /**
   * The same with sheets searched on odd weeks and judged on even ones, and exchanged: what to expect of a time not
   * yet seen. A year of 365.25 days.
   */
  readonly expectedSavingsPerYear: number | null;
  /** What `rolling`, which plans again every hour, saves, and the sheet's share of it; null where withheld. */
  readonly rolling: { readonly savings: number; readonly lostPerYear: number } | null;
  readonly warnings: readonly Warning[];
}

/** Searches what the stated controller allows, and says what it comes to. */
export function settings(study: Study): SettingsReport {
  const { home, site } = study;
  const { tariff, axis } = home;
  const stated = site.plant.controller;
  const controller: Controller = stated ?? { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };
  const warnings: Warning[] = [...study.warnings];
  if (stated === undefined)
    warnings.push({
      code: 'controller-assumed',
      message: 'the site states no plant.controller: one clock window a day, no seasons, a 30-minute clock are assumed',
    });
  if (tariff.terms.some((term) => term.kind === 'demand'))
    warnings.push({
      code: 'demand-not-weighed',
      message: 'the search weighs energy prices only; the demand charge is in the bill, not in the choice',
    });
  const prepared = preparePlant(axis, home.loadKwh, home.solarKwh, home.plant, home.service);
  const found = searchSettings(prepared, tariff, controller);
  const bill = (flows: Parameters<typeof billedFlows>[1]) => billTotal(tariff, billedFlows(study, flows));
  const baseRun = runStrategy(none, home, { prepared });
  const base = bill(baseRun.flows);
  const run = runStrategy(followSheet(found.all, true), home, { prepared });
  const total = bill(run.flows);
  const parity = weekParity(axis);
  const costs = (sheet: SettingsSheet) =>
    energyCosts(tariff, runStrategy(followSheet(sheet), home, { prepared }).flows, parity);
  const judged = costs(found.even)[1] + costs(found.odd)[2];
  const withheld = study.savingsWithheld !== undefined;
  const expected = (energyCosts(tariff, baseRun.flows, parity)[0] - judged) * perYear(axis);
  const planned = withheld ? undefined : base - bill(runStrategy(rolling(), home, { prepared }).flows);
  if (!withheld && expected < 0)
    warnings.push({
      code: 'settings-lose-money',
      message:
        'with what this controller can be told, the battery loses money here: it costs more in losses and standby than it saves',
    });
  return {
    format: 'duskbank.settings/1',
    version: VERSION,
    site: site.name,
    tariff: tariff.name,
    currency: tariff.currency,
    controller,
    sheet: found.all,
    bill: { total },
    baseline: { bill: { total: base } },
    savings: withheld ? null : base - total,
    expectedSavingsPerYear: withheld ? null : expected,
    rolling: planned === undefined ? null : { savings: planned, lostPerYear: planned * perYear(axis) - expected },
    warnings,
  };
}
