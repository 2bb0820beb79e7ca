import { loadActualBills, loadSite } from '@duskbank/core/site';
import { check } from '@duskbank/core/study';
import { parseActualBills } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';
import { xlsx } from '../../../packages/cli/src/io/xlsx.ts';
import { dayOf, type XlsxCell, type XlsxSheet, xlsxOf } from '../../support/xlsx.ts';

const BILLS: XlsxSheet = {
  name: 'Bills',
  rows: [
    ['Von', 'Bis', 'Betrag', 'kWh'],
    [{ day: dayOf('2024-03-01'), as: 'date' }, { day: dayOf('2024-03-31'), as: 'date' }, 79.34, 262.9],
    [{ day: dayOf('2024-04-01'), as: 'date' }, { day: dayOf('2024-04-30'), as: 'date' }, '1.041,67 €', 192.8],
    ['Summe', null, 1121.01, 455.7],
  ],
};
const NOTES: XlsxSheet = { name: 'Notes', rows: [['asked twice'], ['thanks']] };

describe('bills in a spreadsheet', () => {
  test('are read from the sheet that has them: dates, numbers and amounts as text', async () => {
    const bytes = xlsxOf([NOTES, BILLS]);
    const { bills, input } = await loadActualBills('bills.xlsx', () => bytes, { xlsx });
    expect(bills).toEqual([
      { start: '2024-03-01', end: '2024-03-31', total: 79.34, importKwh: 262.9 },
      { start: '2024-04-01', end: '2024-04-30', total: 1041.67, importKwh: 192.8 },
    ]);
    expect(input).toMatchObject({ role: 'bills', path: 'bills.xlsx', bytes: bytes.length });
  });

  test('two sheets of bills, none, and a spreadsheet without a decoder are refused with the cure', async () => {
    const read = (sheets: readonly XlsxSheet[], decoders = { xlsx } as { xlsx?: typeof xlsx }) =>
      loadActualBills('bills.xlsx', () => xlsxOf(sheets), decoders);
    await expect(read([BILLS, { ...BILLS, name: 'Older' }])).rejects.toThrow(/2 of which hold such a table/);
    await expect(read([NOTES, { ...NOTES, name: 'More' }])).rejects.toThrow(/none of which/);
    await expect(read([BILLS], {})).rejects.toThrow(/spreadsheet/);
  });

  test('text comes in the encodings of meter files', async () => {
    const text = 'Von;Bis;Betrag €\n01.03.2024;31.03.2024;79,34 €\n';
    const latin = Uint8Array.from([...text].map((letter) => (letter === '€' ? 0x80 : letter.charCodeAt(0))));
    const utf16 = Uint8Array.from([
      0xff,
      0xfe,
      ...[...text].flatMap((c) => [c.charCodeAt(0) & 255, c.charCodeAt(0) >> 8]),
    ]);
    for (const bytes of [new TextEncoder().encode(text), latin, utf16])
      expect((await loadActualBills('bills.csv', () => bytes)).bills).toEqual(
        parseActualBills(text, 'bills.csv').bills,
      );
  });
});

describe('prices in a spreadsheet', () => {
  // Two days of hours: 81.25 EUR/MWh, 240 from 18:00 to 20:00.
  const rows = Array.from({ length: 48 }, (_, h): XlsxCell[] => [
    { day: dayOf('2025-01-06') + h / 24, as: 'date-time' },
    h % 24 === 18 || h % 24 === 19 ? 240 : 81.25,
  ]);
  const prices = xlsxOf([NOTES, { name: 'Day ahead', rows: [['Start', 'EUR/MWh'], ...rows] }]);
  const hours = Array.from(
    { length: 48 },
    (_, h) => `2025-01-0${6 + Math.floor(h / 24)} ${String(h % 24).padStart(2, '0')}:00,1`,
  );
  const text = (name: string) =>
    ({
      'home.csv': `Start,Import kWh\n${hours.join('\n')}\n`,
      'tariff.json': JSON.stringify({
        format: 'duskbank.tariff/1',
        name: 'Spot',
        currency: 'EUR',
        energy: [{ name: 'Spot', series: { file: 'prices.xlsx' } }],
        export: { kind: 'none' },
      }),
      'site.json': JSON.stringify({
        format: 'duskbank.site/1',
        name: 'Home',
        zone: 'Europe/Berlin',
        meter: { files: ['home.csv'] },
        tariff: 'tariff.json',
      }),
    })[name]!;
  const read = (name: string) => (name === 'prices.xlsx' ? prices : new TextEncoder().encode(text(name)));

  test('are money a kWh to the site that names them', async () => {
    const { study } = await loadSite('site.json', read, { xlsx });
    const { importPricePerKwh } = study.home.tariff;
    expect([...importPricePerKwh].slice(17, 21)).toEqual([0.08125, 0.24, 0.24, 0.08125]);
  });

  test('are told by check, alone and with the tariff that names them', async () => {
    for (const file of ['prices.xlsx', 'tariff.json']) {
      const { report } = await check(file, read, { xlsx, zone: 'Europe/Berlin' });
      expect(report.faults).toEqual([]);
      expect(report.prices).toMatchObject([
        { firstDay: '2025-01-06', prices: 48, leastPerKwh: 0.08125, mostPerKwh: 0.24 },
      ]);
    }
  });
});
