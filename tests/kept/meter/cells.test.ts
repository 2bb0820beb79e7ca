// Kept answers: see tests/support/kept.ts. A small table in which one cell, or one column, says something else.
import { describe, expect, test } from 'vitest';
import { toldOf as told } from '../../support/altered.ts';
import { inOne } from '../../support/kept.ts';
import { drawn, labelAt, rowsOf } from '../../support/ladders.ts';

describe('a table', () => {
  /** Two days of half hours with all that a portal prints beside them. */
  const columns: readonly (readonly [string, (i: number) => string])[] = [
    ['Meter number', () => 'M-1'],
    ['Start', (i) => labelAt(i, 30)],
    ['End', (i) => labelAt(i + 1, 30)],
    ['Direction', (i) => (i % 2 === 0 ? 'Import' : 'Export')],
    ['Unit', () => 'kWh'],
    ['Value', (i) => drawn(i, 2).toFixed(3)],
    ['Quality', (i) => (i % 9 === 0 ? 'Estimated' : 'Actual')],
    ['Cost', (i) => (0.2 * drawn(i, 2)).toFixed(3)],
  ];
  const cells = [
    columns.map(([name]) => name),
    ...rowsOf(192, String).map((text) => {
      const i = Number(text);
      return columns.map(([name, cell]) => (name === 'Start' || name === 'End' ? cell(i >> 1) : cell(i)));
    }),
  ];
  const file = (rows: readonly (readonly string[])[], delimiter = ',') =>
    rows.map((row) => row.join(delimiter)).join('\n');
  const zone = { zone: 'America/Denver' };
  const TEXTS = [
    '',
    '0',
    '-1.5',
    '1e9',
    'x',
    '24:00',
    '2026-01-06 03:00',
    '2026-03-08 02:30',
    '1,5',
    'Net',
    'Total',
    'kvarh',
    'N/A',
    '"',
    'M-2',
    '0.25 kWh',
    'Estimated',
  ];
  test.each(columns.map(([name], c) => [name, c] as const))('with another cell in column %s', (_name, c) => {
    const lines = [0, 1, 51, 192].map((r) =>
      inOne(
        String(r),
        TEXTS.map((text) => told(file(cells.with(r, cells[r]!.with(c, text))), zone)),
      ),
    );
    expect(lines.join('\n')).toMatchSnapshot();
  });
  test.each(columns.map(([name], c) => [name, c] as const))(
    'without column %s, with another name, or with another text all through',
    (_name, c) => {
      const changes = [
        cells.map((row) => row.toSpliced(c, 1)),
        cells.map((row) => [...row, row[c]!]),
        ...['', 'x', 'Peak (kWh)', 'Solar', 'Start', 'Net kW', 'Total', 'kVArh', 'Register', 'Hour'].map((name) =>
          cells.with(0, cells[0]!.with(c, name)),
        ),
        ...TEXTS.map((text) => cells.map((row, r) => (r === 0 ? row : row.with(c, text)))),
        ...TEXTS.map((text) => cells.map((row, r) => (r % 5 === 3 ? row.with(c, text) : row))),
        cells.slice(1),
        [['Preamble', '2026-01-01'], [], ...cells],
        [...cells, ['Total', '', '', '', '', '99.5']],
        cells.flatMap((row, r) => (r % 48 === 1 ? [cells[0]!, row] : [row])),
      ];
      expect(
        changes.map((rows, k) => inOne(String(k), [told(file(rows, k % 4 === 3 ? ';' : ','), zone)])).join('\n'),
      ).toMatchSnapshot();
    },
  );
});
