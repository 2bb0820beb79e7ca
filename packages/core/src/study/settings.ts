import {
  type Controller,
  followSheet,
  none,
  rolling,
  type Strategy,
  searchedSettings,
  searchSettings,
} from '../dispatch/index.ts';
import { layHome, playStrategy, reserveKwhOf } from '../dispatch/inside.ts';
import { check } from '../input/door.ts';
import { cautionsFor } from '../outage/inside.ts';
import { deliverableKwh } from '../plant/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import { totalOf } from '../tariff/inside.ts';
import { againstWords, billedOf, startEnergyCharge } from './bills.ts';
import { IN_SAMPLE_BASIS, settingsWarnings, UNSEEN_BASIS, VERSION } from './compare.ts';
import type { SettingsReport } from './settings-schema.ts';

/** The plainest box, taken where the site states none. */
const PLAINEST: Controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };

/**
 * Searches what the stated controller allows: what to enter on the box, what it saves, how far that can be trusted.
 * @throws InputError on a study that is not sound
 */
export function settings(study: Study): SettingsReport {
  check({ study }, { study: aStudy });
  const { home, site, island } = study;
  const { tariff, axis, plant } = home;
  const stated = site.plant.controller;
  const controller = stated ?? PLAINEST;
  const warnings = [...study.warnings, ...settingsWarnings(study)];
  if (stated === undefined)
    warnings.unshift({
      code: 'controller-assumed',
      message:
        'the site states no plant.controller: one clock window a day, one schedule all year and a 30-minute clock are assumed; state what the box takes, and run this again',
    });
  const onAxis = layHome(home);
  const found = searchSettings(onAxis, tariff, controller);
  const billOf = (strategy: Strategy) =>
    totalOf(tariff, billedOf(study, playStrategy(strategy, home, { onAxis }).flows));
  const base = billOf(none);
  const withheld = study.savingsWithheld !== undefined;
  const judged = (strategy: Strategy, basis: string) => {
    const total = billOf(strategy) + startEnergyCharge(study);
    const savings = base - total;
    return { total, savings, savingsPerYear: savings * perYear(axis), basis };
  };
  const shown = ({ total, savings, savingsPerYear, basis }: ReturnType<typeof judged>) => ({
    bill: { total },
    savings: withheld ? null : savings,
    savingsPerYear: withheld ? null : savingsPerYear,
    basis,
  });
  const expected = judged(searchedSettings(controller, found), UNSEEN_BASIS);
  const planned = withheld ? undefined : judged(rolling(), '');
  if (!withheld && expected.savings < 0)
    warnings.unshift({
      code: 'settings-lose-money',
      message:
        'with what this controller can be told, the battery loses money here: its losses and standby cost more than it saves',
    });
  const heldKwh = reserveKwhOf(found.all, plant);
  return {
    format: 'duskbank.settings/1',
    version: VERSION,
    site: site.name,
    basis: `modelled, not metered: past intervals replayed with the battery; savings against ${againstWords(study)}`,
    tariff: tariff.name,
    currency: tariff.currency,
    controller,
    controllerStated: stated !== undefined,
    sheet: found.all,
    reserve: {
      heldKwh,
      deliverableKwh: deliverableKwh(plant, heldKwh),
    },
    baseline: { bill: { total: base } },
    expected: shown(expected),
    inSample: shown(judged(followSheet(found.all), IN_SAMPLE_BASIS)),
    rolling:
      planned === undefined
        ? null
        : {
            bill: { total: planned.total },
            savings: planned.savings,
            savingsPerYear: planned.savingsPerYear,
            lostPerYear: planned.savingsPerYear - expected.savingsPerYear,
          },
    medical: island.medical,
    cautions: cautionsFor({ medical: island.medical, panels: false }),
    warnings,
  };
}
