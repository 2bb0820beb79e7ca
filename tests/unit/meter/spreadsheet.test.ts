import { inspect } from '@duskbank/core/study';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { xlsx } from '../../../packages/cli/src/io/xlsx.ts';
import { dayOf, type XlsxCell, type XlsxSheet, xlsxOf } from '../../support/xlsx.ts';

const ZONE = 'America/Denver';

const TITLE: readonly (readonly XlsxCell[])[] = [['Download of 1 February'], [], ['Start', 'Import kWh', 'Remark']];

/** Days of hours from a January day on, 0.125 kWh each and 0.5 at eight in the evening: 3.375 kWh a day. */
function hours(from: string, days: number, more: Partial<XlsxSheet> = {}, from1904 = false): XlsxSheet {
  const first = dayOf(from, from1904);
  const rows = Array.from({ length: days * 24 }, (_, h): XlsxCell[] => [
    { day: first + h / 24, as: 'date-time' },
    h % 24 === 20 ? 0.5 : 0.125,
    null,
  ]);
  return { name: 'Readings', rows: [...TITLE, ...rows], merged: ['A1:C1'], ...more };
}

async function read(bytes: Uint8Array, parse: object = {}, decoder: typeof xlsx | null = xlsx) {
  const { report, issues } = await inspect(['home.xlsx'], () => bytes, {
    parse: { zone: ZONE, ...parse },
    ...(decoder === null ? {} : { xlsx: decoder }),
  });
  return {
    report,
    issues,
    kwh: report.totalsKwh?.import,
    from: report.axis?.firstDay,
    codes: issues.map(({ code }) => code),
  };
}

describe('a spreadsheet of readings', () => {
  test('is read below a merged title, with its dates, and says which sheet was taken', async () => {
    const { report, kwh, from } = await read(xlsxOf([hours('2025-01-06', 7), { name: 'Notes', rows: [['thanks']] }]));
    expect(kwh).toBeCloseTo(7 * 3.375, 9);
    expect(from).toBe('2025-01-06');
    expect(report.files[0]!.layout.evidence[0]).toBe('the sheet "Readings" of the spreadsheet; not "Notes"');
  });

  test('days are counted from 1904 where the workbook says so', async () => {
    const { kwh, from } = await read(xlsxOf([hours('2025-01-06', 7, {}, true)], { from1904: true }));
    expect(from).toBe('2025-01-06');
    expect(kwh).toBeCloseTo(7 * 3.375, 9);
  });

  test('numbers kept as text, with a comma, are numbers; those beside them too', async () => {
    const sheet = hours('2025-01-06', 7);
    const rows = sheet.rows.map((row, r) => (r > 2 && r % 2 === 1 ? [row[0]!, String(row[1]).replace('.', ',')] : row));
    expect((await read(xlsxOf([{ ...sheet, rows }]))).kwh).toBeCloseTo(7 * 3.375, 9);
  });

  test('numbers of three decimals are not thousands', async () => {
    const rows = hours('2025-01-06', 7).rows.map((row, r) => (r > 2 ? [row[0]!, 1.125] : row));
    expect((await read(xlsxOf([{ name: 'Readings', rows }]))).kwh).toBeCloseTo(7 * 24 * 1.125, 9);
  });

  test('rows that a filter hides count, formulas count as last reckoned, a protected sheet is read', async () => {
    const sheet = hours('2025-01-06', 7, { hidden: [4, 5, 6, 30] });
    const rows = sheet.rows.map((row, r) =>
      r > 2 && r % 5 === 0 ? [row[0]!, { formula: 'C5/4', value: row[1] as number }] : row,
    );
    expect((await read(xlsxOf([{ ...sheet, rows }], { isProtected: true }))).kwh).toBeCloseTo(7 * 3.375, 9);
  });

  test('a date and a time of day in two columns are one moment, 24:00 at a day’s end', async () => {
    const first = dayOf('2025-01-06');
    const rows = Array.from({ length: 7 * 24 }, (_, h): XlsxCell[] => [
      { day: first + Math.floor(h / 24), as: 'date' },
      { day: ((h % 24) + 1) / 24, as: 'hours' },
      h % 24 === 20 ? 0.5 : 0.125,
    ]);
    const { kwh, report } = await read(xlsxOf([{ name: 'R', rows: [['Date', 'Time to', 'kWh'], ...rows] }]));
    expect(kwh).toBeCloseTo(7 * 3.375, 9);
    expect(report.axis).toMatchObject({ firstDay: '2025-01-06', lastDay: '2025-01-12' });
  });

  test('blank cells and errors of formulas are gaps', async () => {
    const sheet = hours('2025-01-06', 7);
    const rows = sheet.rows.map((row, r) =>
      r === 10 ? [row[0]!, { error: '#N/A' }] : r === 11 ? [row[0]!, null] : row,
    );
    const { report } = await read(xlsxOf([{ ...sheet, rows }]));
    expect(report.months[0]!.gaps).toBe(2);
  });
});

describe('several sheets', () => {
  test('are joined where each holds a stretch of its own', async () => {
    const sheets = [hours('2025-01-06', 7, { name: 'One' }), hours('2025-01-13', 7, { name: 'Two' })];
    const { kwh, report } = await read(xlsxOf(sheets));
    expect(kwh).toBeCloseTo(14 * 3.375, 9);
    expect(report.files[0]!.layout.evidence[0]).toBe('the sheets "One", "Two" of the spreadsheet, joined');
  });

  test('are a question where they tell the same time, answered by a name; one that there isn’t is told', async () => {
    const bytes = xlsxOf([hours('2025-01-06', 7, { name: 'Meter 1' }), hours('2025-01-06', 7, { name: 'Meter 2' })]);
    const asked = await read(bytes);
    expect(asked.codes).toEqual(['several-sheets']);
    expect(asked.issues[0]).toMatchObject({ data: { sheets: ['Meter 1', 'Meter 2'] } });
    expect(asked.issues[0]!.hint).toContain('--sheet');
    expect((await read(bytes, { sheet: 'Meter 2' })).kwh).toBeCloseTo(7 * 3.375, 9);
    expect((await read(bytes, { sheet: 'Meter 3' })).codes).toEqual(['unknown-sheet']);
  });
});

test('a faulty cell is told by its sheet and address', async () => {
  const sheet = hours('2025-01-06', 7);
  const rows = sheet.rows.map((row, r) => (r === 40 ? [row[0]!, '0.1.2'] : row));
  const { report } = await read(xlsxOf([{ ...sheet, rows }]));
  const finding = report.files[0]!.findings.find(({ code }) => code === 'not-a-number');
  expect(finding?.where).toEqual({ sheet: 'Readings', cell: 'B41' });
});

test.each([
  [1, 'B41'],
  [25, 'Z41'],
  [26, 'AA41'],
  [51, 'AZ41'],
  [52, 'BA41'],
])('a faulty cell in column %d is told as %s', async (column, cell) => {
  const { rows } = hours('2025-01-06', 7);
  const wide = rows.map((row, r): XlsxCell[] => {
    const between = Array.from({ length: column - 1 }, () => (r === 2 ? 'Remark' : null));
    return row.length < 2 ? [...row] : [row[0]!, ...between, r === 40 ? '0.1.2' : row[1]!];
  });
  const { report } = await read(xlsxOf([{ name: 'Readings', rows: wide }]));
  expect(report.files[0]!.findings.find(({ code }) => code === 'not-a-number')?.where.cell).toBe(cell);
});

describe('refused with a cure', () => {
  const compound = (name: string) =>
    Uint8Array.from([
      0xd0,
      0xcf,
      0x11,
      0xe0,
      0xa1,
      0xb1,
      0x1a,
      0xe1,
      ...[...name].flatMap((c) => [c.charCodeAt(0), 0]),
    ]);
  const ods = zipSync({ mimetype: [strToU8('application/vnd.oasis.opendocument.spreadsheet'), { level: 0 }] });
  const xlsb = zipSync({ 'xl/workbook.bin': strToU8('x') });
  const far = xlsxOf([{ name: 'Far', rows: [['x']] }]);

  test.each([
    ['one locked with a password', compound('EncryptedPackage'), 'spreadsheet-locked', 'without one'],
    ['an .xls', compound('Workbook'), 'spreadsheet-kind', 'save it as .xlsx'],
    ['an .ods', ods, 'spreadsheet-kind', 'save it as .xlsx'],
    ['an .xlsb', xlsb, 'spreadsheet-kind', 'save it as .xlsx'],
    ['one cut off', far.subarray(0, far.length - 40), 'archive-damaged', ''],
  ])('%s', async (_, bytes, code, cure) => {
    const { issues } = await read(bytes);
    expect(issues.map((issue) => issue.code)).toEqual([code]);
    expect(issues[0]!.hint).toContain(cure);
  });

  test('an .xlsx where the host hands over no decoder', async () => {
    expect((await read(xlsxOf([hours('2025-01-06', 7)]), {}, null)).codes).toEqual(['spreadsheet-kind']);
  });

  test('one that unpacks without end, and one whose last cell lies at the world’s end, before a decoder sees them', async () => {
    let asked = 0;
    const counting: typeof xlsx = () => {
      asked++;
      return [];
    };
    const bomb = zipSync({ 'xl/workbook.xml': strToU8(' '.repeat(40_000_000)) });
    expect((await read(bomb, {}, counting)).codes).toEqual(['archive-too-large']);
    const sheet = '<worksheet><sheetData><row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData></worksheet>';
    const grid = zipSync({ 'xl/workbook.xml': strToU8('<w/>'), 'xl/worksheets/sheet1.xml': strToU8(sheet) });
    expect((await read(grid, {}, counting)).codes).toEqual(['spreadsheet-unreadable']);
    expect(asked).toBe(0);
  });
});
