import { readFileSync } from 'node:fs';
import { makeAxis } from '@duskbank/core/axis';
import { followSheet, none, searchedSettings } from '@duskbank/core/dispatch';
import { summarizeBackup } from '@duskbank/core/outage';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { evaluate, makeCase } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { GIVEN_UP, type Judged, sheetHomes, sheetRow } from '../../support/settings-rows.mjs';

const core = {
  makeAxis,
  followSheet,
  none,
  searchedSettings,
  summarizeBackup,
  compileTariff,
  parseTariff,
  evaluate,
  makeCase,
};

const text = readFileSync(new URL('../../../docs/concepts/validation-settings.md', import.meta.url), 'utf8');

/** Rows of the table: home, tariff, bill, then saved and hours of the sheet before and apart, and of this one. */
const rows = text
  .slice(text.indexOf('<!-- sheets -->'), text.indexOf('<!-- /sheets -->'))
  .split('\n')
  .filter((line) => /^\| .*\d/.test(line))
  .map((line) => line.split('|').map((cell) => cell.trim()))
  .map(([, home, tariff, ...figures]) => {
    const [bill, saved, hours, beforeApart, savedNow, hoursNow, apartNow] = figures.map(Number);
    return {
      home: home!,
      tariff: tariff!,
      bill: bill!,
      before: { saved: saved!, hours: hours! },
      beforeApart: beforeApart!,
      now: { saved: savedNow!, hours: hoursNow! },
      apart: apartNow!,
    };
  });

/** Rows whose sheet lasts less long than the one before: hours before and now, as the document says. */
const SHORTER: Readonly<Record<string, readonly [before: number, now: number]>> = {
  'small flat, demand charge': [47.2, 46.2],
  'home-b, demand charge': [22.1, 20.8],
};

describe('the table of settings sheets', () => {
  test('holds eight homes and four tariffs: no sheet saves less than before by more than a tie, and two last less long, than one that saves less by more than a tie', () => {
    expect(rows).toHaveLength(32);
    expect(new Set(rows.map(({ home }) => home)).size).toBe(8);
    for (const { home, tariff, bill, before, beforeApart, now, apart } of rows) {
      const tie = Math.max(GIVEN_UP.ofSavings * Math.max(before.saved, now.saved), GIVEN_UP.ofBill * bill);
      const name = `${home}, ${tariff}`;
      // Figures are rounded to 1 and to 0.1 h.
      expect(now.saved, name).toBeGreaterThanOrEqual(before.saved - tie - 1);
      expect(apart, name).toBeGreaterThanOrEqual(beforeApart - tie - 1);
      const shorter = SHORTER[name];
      if (shorter !== undefined) {
        expect([before.hours, now.hours], name).toEqual(shorter);
        // The sheet before is a candidate still, and no tie.
        expect(now.saved - before.saved, name).toBeGreaterThan(tie);
      } else expect(now.hours, name).toBeGreaterThanOrEqual(before.hours - 1e-9);
    }
  });

  test.each([
    ['heat pump, winter peak', 'window'],
    ['small flat', 'demand charge'],
    ['car charged at night', 'demand charge'],
    ['family with 5 kW of solar', 'one price'],
  ])('%s, %s: what the script printed is what comes out today', (name, tariff) => {
    const row = rows.find((each) => each.home === name && each.tariff === tariff)!;
    const made = sheetRow(core, sheetHomes().find((home) => home.name === name)!, tariff);
    const shown = ({ saved, hours }: Judged) => ({ saved: Math.round(saved) || 0, hours: Number(hours.toFixed(1)) });
    expect([Math.round(made.bill), shown(made.sheet), shown(made.apart).saved]).toEqual([row.bill, row.now, row.apart]);
  });

  // On this home a sheet gave up more than was said, and one for the odd weeks more on the even ones.
  test('what is given up for hours is within the tie, on the weeks seen and judged apart', () => {
    const home = sheetHomes().find(({ name }) => name === 'family with 5 kW of solar')!;
    const sheet = sheetRow(core, home, 'blocks');
    const cheapest = sheetRow(core, home, 'blocks', { most: 0 });
    const lights = sheet.lights!;
    const givenUp = [cheapest.sheet.saved - sheet.sheet.saved, cheapest.apart.saved - sheet.apart.saved];
    expect(lights.hours).toBeGreaterThan(lights.cheapestHours + 1);
    expect(lights.most).toBeCloseTo(GIVEN_UP.ofSavings * cheapest.sheet.saved, 2);
    // Bills are rounded, the sums of the search aren't.
    expect(lights.givenUp).toBeCloseTo(Math.max(0, ...givenUp), 0);
    expect(lights.givenUp).toBeGreaterThan(0);
    expect(lights.givenUp).toBeLessThanOrEqual(lights.most + 1e-9);
  });
});
