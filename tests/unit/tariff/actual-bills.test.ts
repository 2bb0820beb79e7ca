import { InputError } from '@duskbank/core/input';
import { parseActualBills } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

/** A file of bills with these totals, as written between delimiters. */
const file = (totals: readonly string[], delimiter: string) =>
  [
    ['start', 'end', 'total'],
    ...totals.map((total, k) => [`2026-0${k + 1}-01`, `2026-0${k + 1}-28`, delimiter === ',' ? `"${total}"` : total]),
  ]
    .map((row) => row.join(delimiter))
    .join('\n');
const read = (totals: readonly string[], delimiter = ';') =>
  parseActualBills(file(totals, delimiter), 'bills.csv').map(({ total }) => total);

describe('money with commas', () => {
  test.each([
    ['decimals by comma through the column', ['150,20', '99,5', '120', '-3,07'], ';', [150.2, 99.5, 120, -3.07]],
    ['other rows make a lone group decimals', ['1,234', '99,50'], ';', [1.234, 99.5]],
    ['other rows make a lone group thousands', ['1,234', '99.50'], ';', [1234, 99.5]],
    ['thousands that are certain', ['$1,234.50', '12,345,678'], ';', [1234.5, 12345678]],
    ['thousands in a file that commas delimit', ['1,234', '-1,234.5'], ',', [1234, -1234.5]],
    ['thousands by point', ['1.234,50', '12,3'], ';', [1234.5, 12.3]],
    [
      'what stands behind',
      ['150.20 €', '12.30-', '(4.50)', '7.25 CR', '1 234.50', "2'000.00", '-$3.10', '−2.5'],
      ';',
      [150.2, -12.3, -4.5, -7.25, 1234.5, 2000, -3.1, -2.5],
    ],
    ['none', ['USD 150.20', '.5', '7'], ';', [150.2, 0.5, 7]],
  ])('%s', (_, totals, delimiter, expected) => {
    expect(read(totals, delimiter)).toEqual(expected);
  });

  test.each([
    ['a lone group that nothing settles', ['1,234', '120'], ';', 2, /between thousands or before decimals/],
    ['a decimal comma below a decimal point', ['150.20', '99,50'], ';', 3, /other rows .* decimal point/],
    ['a decimal comma where commas delimit', ['150.20', '150,20'], ',', 3, /delimits the columns/],
  ])('refused with a cure: %s', (_, totals, delimiter, line, words) => {
    expect(() => read(totals, delimiter)).toThrow(InputError);
    try {
      read(totals, delimiter);
    } catch (error) {
      const [issue, ...rest] = (error as InputError).issues;
      expect(rest).toEqual([]);
      expect(issue).toMatchObject({ code: 'ambiguous-number', where: { file: 'bills.csv', line, column: 'total' } });
      expect(issue!.hint).toMatch(words);
      expect(issue!.hint).toMatch(/write decimals with a point/);
    }
  });

  test.each(['12,34,567', '1,2345.5', '12.34,50', '1,,5', '(5', '-5-'])('no number: %s', (total) => {
    expect(() => read([total])).toThrow(
      expect.objectContaining({ issues: [expect.objectContaining({ code: 'not-finite' })] }),
    );
  });
});

describe('files of bills as households write them', () => {
  const one = [{ start: '2026-01-05', end: '2026-02-03', total: 101.5, importKwh: 512 }];

  test.each([
    ['our own names', 'start,end,total,kWh\n2026-01-05,2026-02-03,101.50,512\n'],
    ['dates of paper, a column called Amount', 'From,To,Usage (kWh),Amount\n1/5/26,2/3/26,512,$101.50\n'],
    ['day first, where only so bills run some weeks', 'from;to;kWh;amount due\n05.01.2026;03.02.2026;512;101,50 €\n'],
    ['German', 'von;bis;Verbrauch kWh;Betrag\n5. Januar 2026;3. Februar 2026;512;101,50\n'],
    ['both dates in one cell', 'Billing period,kWh used,Total charges\n"Jan 5, 2026 - Feb 3, 2026",512 kWh,101.50\n'],
    [
      'a row of sums below, an account before',
      'Account,Bill start,Bill end,kWh,Amount\n1,2026-01-05,2026-02-03,512,101.50\nTotal,,,512,101.50\n',
    ],
  ])('%s', (_, text) => {
    expect(parseActualBills(text, 'bills.csv')).toEqual(one);
  });

  test.each([
    ['dates that nothing tells apart', 'start,end,total\n01/02/26,03/04/26,5\n', 'ambiguous-date'],
    ['two amounts', 'start,end,amount due,amount paid\n2026-01-05,2026-02-03,5,6\n', 'several-columns'],
    ['no amount', 'start,end,meter\n2026-01-05,2026-02-03,5\n', 'missing-column'],
    ['a day that there isn’t', 'start,end,total\n2026-02-30,2026-03-03,5\n', 'not-a-date'],
  ])('refused: %s', (_, text, code) => {
    expect(() => parseActualBills(text, 'bills.csv')).toThrow(
      expect.objectContaining({ issues: [expect.objectContaining({ code })] }),
    );
  });
});

describe('dates in which day and month could be exchanged', () => {
  const days = (header: string, rows: readonly string[]) =>
    parseActualBills([header, ...rows].join('\n'), 'bills.csv').map(({ start, end }) => `${start} ${end}`);

  test('are read so that bills are as long as bills are, and follow one another', () => {
    expect(days('From,To,Amount', ['03/04/2024,03/05/2024,41.67', '03/05/2024,03/06/2024,13.05'])).toEqual([
      '2024-04-03 2024-05-03',
      '2024-05-03 2024-06-03',
    ]);
    expect(days('From,To,Amount', ['03/01/2024,03/31/2024,41.67', '04/01/2024,04/30/2024,13.05'])[1]).toBe(
      '2024-04-01 2024-04-30',
    );
    // Month-first these would be bills of one day.
    expect(days('From,To,Amount', ['01/02/2025,01/03/2025,105.50', '01/03/2025,01/04/2025,99'])).toEqual([
      '2025-02-01 2025-03-01',
      '2025-03-01 2025-04-01',
    ]);
  });

  test('have the day first where points part them', () => {
    expect(days('von;bis;Betrag', ['01.02.2025;01.03.2025;105,50'])).toEqual(['2025-02-01 2025-03-01']);
  });

  test('are asked about where both readings make bills', () => {
    expect(() => days('From,To,Amount', ['01/02/2025,03/04/2025,105.50'])).toThrow(InputError);
  });
});

test('a month alone, both dates in one cell, and energy both ways are read', () => {
  const one = (text: string) => parseActualBills(text, 'bills.csv')[0];
  const march = { start: '2024-03-01', end: '2024-03-31', total: 79.34 };
  expect(one('Month,Amount\nMarch 2024,79.34')).toEqual(march);
  expect(one('Monat;Betrag\n03/2024;79,34')).toEqual(march);
  expect(one('Monat;Betrag\n2024-03;79,34')).toEqual(march);
  expect(one('Zeitraum;Betrag\n01.03.2024 - 31.03.2024;79,34')).toEqual(march);
  expect(one('Von;Bis;Verbrauch kWh;Einspeisung kWh;Betrag brutto\n01.03.2024;31.03.2024;262,9;270,2;79,34')).toEqual({
    ...march,
    importKwh: 262.9,
  });
});

describe('a month and two digits', () => {
  const starts = (cells: readonly string[]) =>
    parseActualBills(['Month,Amount', ...cells.map((cell) => `${cell},90.10`)].join('\n'), 'bills.csv').map(
      ({ start, end }) => `${start} ${end}`,
    );

  test('are a month and its year where all follow one another', () => {
    expect(starts(['January 2024', 'February 2024', 'Mar-24'])[2]).toBe('2024-03-01 2024-03-31');
    expect(starts(['Dec-23', 'Jan-24'])).toEqual(['2023-12-01 2023-12-31', '2024-01-01 2024-01-31']);
    expect(starts(['mars 24', 'févr. 24'])).toEqual(['2024-03-01 2024-03-31', '2024-02-01 2024-02-29']);
  });

  test.each([[['Mar-24']], [['Mar-24', 'Apr-22']], [['Jan-24', 'Mar-24']]])('else are asked about: %j', (cells) => {
    expect(() => starts(cells)).toThrow(
      expect.objectContaining({
        issues: cells.map((_, k) =>
          expect.objectContaining({
            code: 'ambiguous-date',
            where: { file: 'bills.csv', line: k + 2, column: 'period' },
          }),
        ),
      }),
    );
  });
});
