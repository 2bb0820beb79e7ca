import { readFileSync } from 'node:fs';
import { makeAxis } from '@duskbank/core/axis';
import {
  bestInHindsight,
  type Home,
  none,
  rolling,
  runStrategy,
  searchedSettings,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import { billTotal, compileTariff, parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { statedPlant } from '../../support/data-homes.ts';
import { openService } from '../../support/homes.ts';
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome, marketSeries } from '../../support/invented.mjs';

const text = readFileSync(new URL('../../../docs/concepts/validation-dispatch.md', import.meta.url), 'utf8');

/** Rows of the tables of captured shares: tariff (as its heading says), home, kWh, and the figures. */
const rows = text
  .slice(text.indexOf('<!-- captured -->'), text.indexOf('<!-- /captured -->'))
  .split('\n### ')
  .slice(1)
  .flatMap((part) => {
    const [heading, ...lines] = part.split('\n');
    return lines
      .filter((line) => /^\| .*\d/.test(line))
      .map((line) => line.split('|').map((cell) => cell.trim()))
      .map(([, home, kwh, best, ...shares]) => ({
        tariff: heading!,
        home: home!,
        kwh: Number(kwh),
        best: best!,
        shares,
      }));
  });

describe('the tables of what strategies capture', () => {
  test('hold at least six homes and four tariffs, and no share above the bound', () => {
    expect(new Set(rows.map((row) => row.home)).size).toBeGreaterThanOrEqual(6);
    expect(new Set(rows.map((row) => row.tariff)).size).toBeGreaterThanOrEqual(4);
    for (const { tariff, home, shares } of rows)
      for (const share of shares)
        if (share !== '–' && share !== '') expect(Number(share), `${home}, ${tariff}`).toBeLessThanOrEqual(100);
  });

  test.each([
    ['home-a', 'Window', 7.6, 3, 97],
    ['home-c', 'Window', 7.6, 3, 97],
    ['home-a, solar × 4', 'Window', 7.6, 3, 87],
    ['home-a, solar × 4', 'Window', 13.5, 3, 90],
    ['home-a', 'Hourly', 7.6, 3, 85],
    ['home-a', 'Hourly', 13.5, 3, 85],
    ['home-a, solar × 4', 'Window', 7.6, 4, 95],
    ['home-a, solar × 4', 'Window', 13.5, 4, 95],
  ])('show what was asked of %s, %s, %s kWh', (home, tariff, kwh, column, least) => {
    const row = rows.find(
      (candidate) => candidate.home === home && candidate.tariff === tariff && candidate.kwh === kwh,
    );
    expect(Number(row!.shares[column])).toBeGreaterThanOrEqual(least);
  });

  // A part that takes no open data: what the script printed is what comes out today.
  test.each([
    ['small flat', 'window', 7.6],
    ['small flat', 'hourly', 13.5],
    ['family with 5 kW of solar', 'window', 13.5],
    ['car charged at night', 'window, demand charge', 7.6],
  ])('%s, %s, %s kWh: as printed', (name, tariffName, capacityKwh) => {
    const data = inventedHome(INVENTED_HOMES.find((home) => home.name === name)!);
    const axis = makeAxis(data);
    const series = marketSeries(5, data.startEpochMs, data.intervals * axis.stepHours);
    const tariff = compileTariff(parseTariff(INVENTED_TARIFFS[tariffName]), axis, { series });
    const { loadKwh, solarKwh } = data;
    const home: Home = { axis, loadKwh, solarKwh, tariff, plant: statedPlant(capacityKwh), service: openService };
    const baseline = billTotal(tariff, runStrategy(none, home).flows);
    const most = baseline - bestInHindsight(home).boundTotal;
    const controller = { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 30 };
    const shares = [windowFill, selfConsumption, searchedSettings(controller), rolling()].map((strategy) => {
      const share = (baseline - billTotal(tariff, runStrategy(strategy, home).flows)) / most;
      expect(share).toBeLessThanOrEqual(1 + 1e-9);
      return (100 * share).toFixed(1);
    });
    const row = rows.find(
      (candidate) =>
        candidate.home === name && candidate.tariff.toLowerCase() === tariffName && candidate.kwh === capacityKwh,
    );
    expect(row?.shares.slice(0, 4)).toEqual(shares);
  });
});
