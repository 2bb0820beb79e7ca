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
  parseActualBills(file(totals, delimiter), 'bills.csv').bills.map(({ total }) => total);

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
    expect(parseActualBills(text, 'bills.csv')).toEqual({ bills: one, notes: [] });
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
    parseActualBills([header, ...rows].join('\n'), 'bills.csv').bills.map(({ start, end }) => `${start} ${end}`);

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
  const one = (text: string) => parseActualBills(text, 'bills.csv').bills[0];
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
    parseActualBills(['Month,Amount', ...cells.map((cell) => `${cell},90.10`)].join('\n'), 'bills.csv').bills.map(
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

describe('dates that state no year', () => {
  const DATA = { firstDay: '2025-01-01', lastDay: '2025-12-31' };
  const read = (header: string, rows: readonly string[], within: typeof DATA | undefined = DATA) =>
    parseActualBills([header, ...rows.map((row) => `${row},90.10`)].join('\n'), 'bills.csv', within);
  const days = (...args: Parameters<typeof read>) => read(...args).bills.map(({ start, end }) => `${start} ${end}`);
  const winter = ['2025-01-16 2025-02-15', '2025-02-16 2025-03-15'];

  test.each([
    ['names', 'from,to,amount', ['16-Jan,15-Feb', '16-Feb,15-Mar']],
    ['names before', 'from,to,amount', ['Jan 16,Feb 15', 'Feb 16,Mar 15']],
    ['month first', 'from,to,amount', ['01/16,02/15', '02/16,03/15']],
    ['day first', 'from,to,amount', ['16.01.,15.02.', '16.02.,15.03.']],
    ['both in one cell', 'period,amount', ['Jan 16 - Feb 15', 'Feb 16 - Mar 15']],
  ])('are read where one year puts them within the data: %s', (_, header, rows) => {
    expect(days(header, rows)).toEqual(winter);
    expect(read(header, rows).notes.join()).toContain('state no year: they were taken to begin on 2025-01-16');
  });

  test('run over the new year, upwards or downwards', () => {
    const over = ['2024-12-16 2025-01-15', '2025-01-16 2025-02-15'];
    expect(days('from,to,amount', ['16 Dec,15 Jan', '16 Jan,15 Feb'])).toEqual(over);
    expect(days('from,to,amount', ['16 Jan,15 Feb', '16 Dec,15 Jan'])).toEqual([...over].reverse());
    expect(days('month,amount', ['January', 'February'])).toEqual(['2025-01-01 2025-01-31', '2025-02-01 2025-02-28']);
  });

  test.each([
    ['no data to hold them against', undefined, /write the year first, with four digits$/],
    ['two years of data', { firstDay: '2024-01-01', lastDay: '2025-12-31' }, /more than one year/],
    ['data of another season', { firstDay: '2025-06-01', lastDay: '2025-08-31' }, /no year puts/],
  ])('else are asked about: %s', (_, within, words) => {
    try {
      parseActualBills('from,to,amount\n16-Jan,15-Feb,90\n', 'bills.csv', within);
      expect.unreachable();
    } catch (error) {
      const [issue] = (error as InputError).issues;
      expect(issue).toMatchObject({ code: 'ambiguous-date', received: 'dates without a year' });
      expect(issue!.hint).toMatch(words);
    }
  });
});

describe('dates with a year of two digits in front', () => {
  const days = (rows: readonly string[], within?: { firstDay: string; lastDay: string }) =>
    parseActualBills(['from,to,amount', ...rows].join('\n'), 'bills.csv', within).bills.map(
      ({ start, end }) => `${start} ${end}`,
    );

  test('are read so where that makes bills, and no other order does', () => {
    // Before: 2001-01-24 to 2031-01-24.
    expect(days(['24-01-01,24-01-31,5', '24-02-01,24-02-29,5'])).toEqual([
      '2024-01-01 2024-01-31',
      '2024-02-01 2024-02-29',
    ]);
    expect(days(['24-01-16,24-02-15,5'])).toEqual(['2024-01-16 2024-02-15']);
  });

  test('are asked about, with the way out, where several do', () => {
    expect(() => days(['04-05-06,04-06-06,5'])).toThrow(/write the year first, with four digits/);
    // The data tell, where one order alone lies in them: 4 May to 4 June 2006, or 6 May to 6 June 2004.
    expect(days(['04-05-06,04-06-06,5'], { firstDay: '2004-01-01', lastDay: '2004-12-31' })).toEqual([
      '2004-05-06 2004-06-06',
    ]);
  });

  test('a bill of thirty years is refused', () => {
    expect(() => days(['2001-01-24,2031-01-24,5'])).toThrow(/a day within three years of 2001-01-24/);
  });
});

test('one date a bill is asked about, with what a spreadsheet may have made of it', () => {
  expect(() => parseActualBills('Month,Amount\n2026-01-25,5\n2026-02-25,6\n', 'bills.csv')).toThrow(
    /where a spreadsheet made "Mar 26" a day of March, write 2026-03/,
  );
  const shown = parseActualBills('Month,Amount\n25-Jan,5\n25-Feb,6\n', 'bills.csv').bills;
  expect(shown.map(({ start }) => start)).toEqual(['2025-01-01', '2025-02-01']);
});

describe('bills of several services', () => {
  const read = (header: string, row: string) =>
    parseActualBills(`start,end,${header}\n2025-01-01,2025-01-31,${row}\n`, 'bills.csv');

  test('have the amount of electricity taken, and that said', () => {
    const { bills, notes } = read('Electric,Gas,Total', '120.79,80,200.79');
    expect(bills[0]!.total).toBe(120.79);
    expect(notes.join()).toContain('those of the column of electricity, not the total');
    expect(read('Electric total,Gas total', '120.79,80').bills[0]!.total).toBe(120.79);
    expect(read('Electric usage kWh,Gas,Electric,Total', '600,80,120.79,200.79').bills[0]).toMatchObject({
      total: 120.79,
      importKwh: 600,
    });
  });

  test.each([
    ['Electric,Total', '120.79,200.79', /leave out the column that isn’t meant/],
    ['Gas,Total', '80,200.79', /add a column "Electric"/],
  ])('are asked about where the amount isn’t known: %s', (header, row, words) => {
    expect(() => read(header, row)).toThrow(words);
  });
});

describe('rows of several services, named in a column', () => {
  const read = (header: string, rows: readonly string[], delimiter = ',') =>
    parseActualBills([header, ...rows].join('\n').replaceAll(',', delimiter), 'bills.csv');
  const rowsOf = (electric: string, other: string) => [
    `2025-01-01,2025-01-31,${electric},120.79`,
    `2025-01-01,2025-01-31,${other},80.00`,
    `2025-02-01,2025-02-28,${electric},99.50`,
    `2025-02-01,2025-02-28,${other},60.40`,
  ];
  const ELECTRICITY = [120.79, 99.5];

  test.each([
    ['Service', 'Electricity', 'Natural gas', 'gas'],
    ['Utility', 'Electric', 'Water & sewer', 'water'],
    ['Sparte', 'Strom', 'Gas', 'gas'],
    ['Energieart', 'Ökostrom', 'Fernwärme', 'district heat'],
    ['Énergie', 'Électricité', 'Gaz naturel', 'gas'],
    ['Suministro', 'Electricidad', 'Agua', 'water'],
    ['Servicio', 'Luz', 'Gas', 'gas'],
    ['Fornitura', 'Energia elettrica', 'Gas metano', 'gas'],
    ['Soort', 'Stroom', 'Gas', 'gas'],
    ['Electricity or gas', 'electricity', 'gas', 'gas'],
    ['', 'Electric', 'Internet', 'telephone or internet'],
  ])('%s: those of electricity are read, the others are left out and said', (name, electric, other, told) => {
    const { bills, notes } = read(`start,end,${name},amount`, rowsOf(electric, other));
    expect(bills.map(({ total }) => total)).toEqual(ELECTRICITY);
    expect(notes).toEqual([`2 rows are of another service (${told}) by column 3, of 140.40 in all: left out.`]);
  });

  test('whatever the others hold: other days, energy in m³, an amount that can’t be read', () => {
    const { bills, notes } = read('Month,Service,kWh,Amount', [
      'January 2025,Electricity,512,120.79',
      'Jan 16 - Feb 15,Gas,70 m³,80.00',
      'Feb-25,Electricity,400,99.50',
      'Mar-25,Gas,,pending',
    ]);
    expect(bills).toEqual([
      { start: '2025-01-01', end: '2025-01-31', total: 120.79, importKwh: 512 },
      { start: '2025-02-01', end: '2025-02-28', total: 99.5, importKwh: 400 },
    ]);
    expect(notes.join()).toContain('of 80.00 in all without the 1 whose amount can’t be read: left out');
  });

  test.each(['Electricity and gas', 'Hot water', 'Heizung', ''])('a row of %j is asked about', (unclear) => {
    const rows = [...rowsOf('Electricity', 'Gas'), `2025-03-01,2025-03-31,${unclear},70.00`];
    expect(() => read('start,end,service,amount', rows)).toThrow(
      expect.objectContaining({
        issues: [
          expect.objectContaining({
            code: 'service-unclear',
            where: { file: 'bills.csv', line: 6, column: 3 },
          }),
        ],
      }),
    );
    // Both ways out.
    const written = [...rowsOf('Electricity', 'Gas'), '2025-03-01,2025-03-31,electricity,70.00'];
    expect(read('start,end,service,amount', written).bills.length).toBe(3);
    expect(read('start,end,service,amount', rows.slice(0, -1)).bills.length).toBe(2);
  });

  test('a row named total beside the services is left out, and said where it holds more than they do', () => {
    const rows = (total: string, sum: string) =>
      ['2025-01-01,2025-01-31', '2025-02-01,2025-02-28'].flatMap((days) => [
        `${days},Electric,100.00`,
        `${days},Gas,80.00`,
        `${days},${total},${sum}`,
      ]);
    for (const name of ['Total', 'Gesamtbetrag', 'Total amount due']) {
      const { bills, notes } = read('start,end,service,amount', rows(name, '180.00'));
      expect(bills.map(({ total }) => total)).toEqual([100, 100]);
      expect(notes).toEqual([
        '2 rows are called a total by column 3, with the other services in it: left out.',
        '2 rows are of another service (gas) by column 3, of 160.00 in all: left out.',
      ]);
    }
    expect(read('start,end,service,amount', rows('Total', '195.00')).notes[0]).toContain(
      'That of line 4 isn’t the sum of the rows with its days',
    );
    // Alone for its days it may be all that there is of them.
    const alone = [...rows('Total', '180.00'), '2025-03-01,2025-03-31,Total,170.00'];
    expect(() => read('start,end,service,amount', alone)).toThrow(
      expect.objectContaining({ issues: [expect.objectContaining({ code: 'service-unclear' })] }),
    );
  });

  test('a total that names electricity counts once: of all services it is left out, of its items it is taken for them', () => {
    const days = '2025-01-01,2025-01-31';
    const one = (...rows: string[]) =>
      read(
        'start,end,service,amount',
        rows.map((row) => `${days},${row}`),
      );
    // The word that a hint asks for, written into the sum of both services.
    const both = one('Electric,231.35', 'Gas,80', 'electricity total,311.35');
    expect(both.bills.map(({ total }) => total)).toEqual([231.35]);
    expect(both.notes[0]).toContain('A row of electricity is counted in another row with the same days');
    const items = one('Electric supply,131.35', 'Electric grid,100', 'Gas,80', 'Total electricity,231.35');
    expect(items.bills.map(({ total }) => total)).toEqual([231.35]);
    expect(items.notes[0]).toContain('2 rows of electricity are counted');
    // No sum of anything is no total of these rows.
    expect(one('Electric,231.35', 'Gas,80', 'electricity total,400').bills.length).toBe(2);
  });

  test('bills of gas alone are no bills of electricity', () => {
    expect(() => read('start,end,service,amount', rowsOf('Gas', 'Gas'))).toThrow(/bills of gas alone/);
  });

  test('a note here and there tells nothing apart', () => {
    const noted = [
      '2025-01-01,2025-01-31,gas boiler off,120.79',
      '2025-02-01,2025-02-28,electric car here,99.50',
      '2025-03-01,2025-03-31,,70.00',
      '2025-04-01,2025-04-30,,71.00',
      '2025-05-01,2025-05-31,,72.00',
    ];
    expect(read('start,end,note,amount', noted).bills.length).toBe(5);
    expect(read('start,end,supplier,amount', rowsOf('City Electric', 'City Electric')).notes).toEqual([]);
  });
});

describe('an amount below zero says in a column what it is', () => {
  const kindOf = (text: string, amount = '-20.00') =>
    parseActualBills(
      `start,end,what,amount\n2025-01-01,2025-01-31,energy,120\n2025-01-01,2025-01-31,${text},${amount}\n`,
      'bills.csv',
    ).bills[1]!.kind;

  test.each(
    [
      'Payment received - thank you',
      'Direct debit',
      'Paid by credit card',
      'Zahlungseingang',
      'SEPA-Lastschrift',
      'Überweisung',
      'Paiement',
      'Prélèvement automatique',
      'Règlement par carte de crédit',
      'Pago',
      'Domiciliación bancaria',
      'Pagamento',
      'Addebito diretto',
      'Betaling',
      'Automatische incasso',
    ].map((text) => [text]),
  )('paid: %s', (text) => {
    expect(kindOf(text)).toBe('payment');
    // What is charged is no payment, whatever is said of it.
    expect(kindOf(text, '20.00')).toBeUndefined();
  });

  test.each(
    [
      'Credit',
      'Climate credit',
      'Rebate',
      'Loyalty discount',
      'Refund',
      'Gutschrift',
      'Neukundenbonus',
      'Rückzahlung',
      'Avoir',
      'Remise fidélité',
      'Remboursement',
      'Descuento',
      'Abono',
      'Sconto',
      'Accredito',
      'Korting',
      'Terugbetaling',
      'Solar export',
    ].map((text) => [text]),
  )('credited: %s', (text) => {
    expect(kindOf(text)).toBe('credit');
  });

  test.each([['Other'], ['Direct debit discount'], ['']])('not told: %j', (text) => {
    expect(kindOf(text)).toBeUndefined();
  });
});

test('a column of credits says what was taken off the amount', () => {
  const bills = (name: string, cells: readonly string[]) =>
    parseActualBills(
      `From,To,Charges,${name},Total\n${cells.map((cell, k) => `2025-0${k + 1}-01,2025-0${k + 1}-28,219.29,${cell},169.29`).join('\n')}\n`,
      'bills.csv',
    ).bills.map(({ total, credits }) => [total, credits]);
  for (const name of ['Rebate', 'Solar credit', 'Discount'])
    expect(bills(name, ['-50', '50.00', '0', ''])).toEqual([
      [169.29, -50],
      [169.29, -50],
      [169.29, undefined],
      [169.29, undefined],
    ]);
  for (const name of ['Solar export kWh', 'Note']) expect(bills(name, ['-50'])).toEqual([[169.29, undefined]]);
});

test('energy is read in its unit, and kVAh are left out and said', () => {
  const read = (header: string, cell: string) =>
    parseActualBills(`start,end,${header},amount\n2025-01-01,2025-01-31,${cell},5\n`, 'bills.csv');
  expect(read('usage (MWh)', '0.6227').bills[0]!.importKwh).toBeCloseTo(622.7, 9);
  expect(read('usage', '0.6227 MWh').bills[0]!.importKwh).toBeCloseTo(622.7, 9);
  expect(read('Consumption (Wh)', '622700').bills[0]!.importKwh).toBeCloseTo(622.7, 9);
  const apparent = read('Consumption (kVAh)', '700');
  expect(apparent.bills[0]).not.toHaveProperty('importKwh');
  expect(apparent.notes.join()).toContain('kVAh, which the data don’t hold');
});

describe('a hint, followed as it stands, leads to bills', () => {
  const good = '2025-01-01,2025-01-31,120.79';
  const hintOf = (text: string) => {
    try {
      parseActualBills(text, 'bills.csv');
    } catch (error) {
      return (error as InputError).issues.map(({ hint }) => hint);
    }
    return [];
  };

  test.each([
    ['no header', `${good}\n`, 'in the first line', `start,end,total\n${good}\n`],
    ['a title above', `My bills\nfrom,to,amount\n${good}\n`, 'in the first line', `start,end,total\n${good}\n`],
    [
      'two amounts',
      `from,to,amount due,amount paid\n${good},120.79\n`,
      'call the one that is meant "total"',
      `from,to,total,amount paid\n${good},120.79\n`,
    ],
    [
      'a total beside electricity',
      `from,to,electric,total\n${good},200\n`,
      'leave out the column that isn’t meant, and call the other one "total"',
      `from,to,total\n${good}\n`,
    ],
    [
      'a total beside gas',
      'from,to,gas,total\n2025-01-01,2025-01-31,80,200.79\n',
      'add a column "Electric"',
      'from,to,gas,total,Electric\n2025-01-01,2025-01-31,80,200.79,120.79\n',
    ],
    [
      'no last day',
      'from,to,amount\n2025-01-01,,120.79\n',
      'write both days of each bill',
      `from,to,amount\n${good}\n`,
    ],
    [
      'no amount',
      `from,to,amount\n${good}\n2025-02-01,2025-02-28,\n`,
      'leave out its row',
      `from,to,amount\n${good}\n`,
    ],
    [
      'dates in several orders',
      'from,to,amount\n04-05-06,04-06-06,5\n',
      'write the year first, with four digits',
      'from,to,amount\n2004-05-06,2004-06-06,5\n',
    ],
    ['a month that is a day', 'month,amount\n2026-01-25,120.79\n', 'write 2026-03', 'month,amount\n2025-01,120.79\n'],
    ['a month and two digits', 'month,amount\nMar-24,5\n', 'write it as 2024-03', 'month,amount\n2024-03,5\n'],
  ])('%s', (_, text, hint, mended) => {
    const hints = hintOf(text);
    expect(hints.length).toBeGreaterThan(0);
    for (const one of hints) expect(one).toContain(hint);
    expect(parseActualBills(mended, 'bills.csv').bills.length).toBe(1);
  });
});

test('what a bill charges for its own days goes before what is due with it', () => {
  const text = 'start,end,previous balance,current charges,amount due\n2025-02-01,2025-02-28,120.79,100.40,221.19\n';
  expect(parseActualBills(text, 'bills.csv').bills[0]!.total).toBe(100.4);
});
