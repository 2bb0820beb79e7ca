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

  test.each(['12,34,567', '1,2345.5', '1.234,50', '1,,5'])('no number: %s', (total) => {
    expect(() => read([total])).toThrow(
      expect.objectContaining({ issues: [expect.objectContaining({ code: 'not-finite' })] }),
    );
  });
});
