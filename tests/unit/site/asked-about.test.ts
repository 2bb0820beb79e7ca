import type { InputError } from '@duskbank/core/input';
import { loadSite, parseSite } from '@duskbank/core/site';
import { compare } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const WINDOWS = [
  { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.42 },
  { name: 'rest', otherwise: true, pricePerKwh: 0.24 },
];
const UNIT = { units: 1, usableKwh: 5, chargeKw: 2.5, dischargeKw: 2.5, roundTripEfficiency: 0.88 };

async function studyOf(tariff: object, battery: object = {}) {
  const site = smallSite(
    hoursOf(3, (h) => [h > 16 ? 1 : 0.3, h === 12 ? 3 : 0]),
    { currency: 'EUR', windows: WINDOWS, ...tariff },
    { battery: { ...UNIT, ...battery } },
  );
  return (await loadSite(site.path, site.read)).study;
}
const questions = async (tariff: object, battery: object = {}) =>
  (await studyOf(tariff, battery)).warnings.filter(({ severity }) => severity === 'question');

describe('a fixed charge that homes don’t pay is asked about', () => {
  test.each([
    [{ amount: 1200, per: 'month' }, ['EUR 1,200 a month', 'write 12.', '"per": "year"']],
    [{ amount: 45, per: 'day' }, ['EUR 45 a day', 'write 0.45']],
    [{ amount: 6000, per: 'year' }, ['EUR 6,000 a year', 'write 60']],
  ])('%j', async (charge, told) => {
    const asked = await questions({ fixed: [{ name: 'Grundpreis', ...charge }] });
    expect(asked.map(({ code }) => code)).toEqual(['fixed-unusual']);
    for (const words of told) expect(asked[0]!.message).toContain(words);
  });

  test.each([{ amount: 12 }, { amount: 144, per: 'year' }, { amount: 180 }, { amount: 0.45, per: 'day' }])(
    '%j isn’t',
    async (charge) => {
      expect(await questions({ fixed: [{ name: 'Grundpreis', ...charge }] })).toEqual([]);
    },
  );

  test('nor one that is stated to be right', async () => {
    expect(await questions({ fixed: [{ name: 'F', amount: 1200 }], unusualPrices: true })).toEqual([]);
  });
});

describe('a price of export below zero', () => {
  test('is asked about, and savings are withheld until it is confirmed', async () => {
    const tariff = { export: { kind: 'net-billing', pricePerKwh: -0.08 } };
    const study = await studyOf(tariff);
    const [asked] = study.warnings.filter(({ code }) => code === 'export-below-zero');
    expect(asked!.message).toContain('takes EUR 0.08 for a kWh that is exported');
    expect(asked!.message).toContain('write 0.08');
    expect(compare(study).savingsWithheld).toContain('takes EUR 0.08');
    const sure = await studyOf({ ...tariff, unusualPrices: true });
    expect(sure.savingsWithheld).toBeUndefined();
    expect(sure.warnings.map(({ code }) => code)).not.toContain('export-below-zero');
  });

  test('in some windows only is a tariff that there is', async () => {
    const mixed = {
      kind: 'net-billing',
      windows: [
        { name: 'noon', from: '10:00', to: '15:00', pricePerKwh: -0.02 },
        { name: 'other', otherwise: true, pricePerKwh: 0.05 },
      ],
    };
    expect(await questions({ export: mixed })).toEqual([]);
  });
});

test('a price ten times too high is asked about with its decimal mark', async () => {
  const windows = [{ ...WINDOWS[0]!, pricePerKwh: 4.5 }, WINDOWS[1]!];
  const [asked] = await questions({ windows });
  expect(asked).toMatchObject({ code: 'price-unusual' });
  expect(asked!.message).toContain('Then write 0.45');
});

describe('figures of a battery in Wh or W', () => {
  const refused = (battery: object, more: object = {}) => {
    const { document } = smallSite(
      hoursOf(1, () => [1, 0]),
      { windows: WINDOWS },
      { battery: { ...UNIT, ...battery }, ...more },
    );
    try {
      parseSite(document, 'site.json');
    } catch (error) {
      return (error as InputError).issues.map(({ where, hint }) => [where.path?.join('.'), hint]);
    }
    return [];
  };

  test('are refused where no unit of a home has as much', () => {
    expect(refused({ usableKwh: 5000 })).toEqual([
      ['plant.battery.usableKwh', 'it is in kWh: is this in Wh? Then write 5'],
    ]);
    expect(refused({ chargeKw: 2500 })).toEqual([
      ['plant.battery.chargeKw', 'it is in kW: is this in W? Then write 2.5'],
    ]);
    expect(refused({}, { inverter: { continuousKw: 3680 } })).toEqual([
      ['plant.inverter.continuousKw', 'it is in kW: is this in W? Then write 3.68'],
    ]);
    expect(refused({})).toEqual([]);
  });

  test.each([
    [{ usableKwh: 960 }, 'plant.battery.usableKwh', 'Then write 0.96'],
    [{ dischargeKw: 800 }, 'plant.battery.dischargeKw', 'Then write 0.8'],
    [{ dischargeKw: 25 }, 'plant.battery.dischargeKw', 'all of it in 12 min'],
    [{ usableKwh: 61 }, 'plant.battery.usableKwh', 'a digit may be too many'],
    [{ usableKwh: 500 }, 'plant.battery.usableKwh', 'where units of homes have 0.8 to 30 kWh'],
  ])('%j is asked about', async (battery, path, words) => {
    const asked = await questions({}, battery);
    expect(asked.map(({ code, where }) => [code, where.path?.join('.')])).toContainEqual(['battery-unusual', path]);
    expect(asked.map(({ message }) => message).join()).toContain(words);
  });

  test.each([{ usableKwh: 100 }, { usableKwh: 500 }])('%j has no cure that is no unit of a home', async (battery) => {
    const messages = (await questions({}, battery)).map(({ message }) => message).join();
    expect(messages).toContain('a digit may be too many');
    expect(messages).not.toContain('Then write');
  });

  test.each([{ usableKwh: 60 }, { usableKwh: 30 }, { usableKwh: 2.5, chargeKw: 5, dischargeKw: 5 }])(
    '%j isn’t',
    async (battery) => {
      expect(await questions({}, battery)).toEqual([]);
    },
  );
});

test('"tiers" at the top of a tariff file are blocks, which stand elsewhere', () => {
  const document = { format: 'duskbank.tariff/1', name: 'T', currency: 'EUR', tiers: [], windows: WINDOWS };
  try {
    parseTariff(document);
    expect.unreachable();
  } catch (error) {
    expect((error as InputError).issues[0]!.hint).toMatch(/did you mean "blocks".*inside a window/);
  }
});
