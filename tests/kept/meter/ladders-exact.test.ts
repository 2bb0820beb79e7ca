// Kept answers: see tests/support/kept.ts. Tables that meet limits exactly: one rung on the limit, and those beside it.
import { drawn, fileOf, keepLadders, labelAt, rowsOf, steps } from '../../support/ladders.ts';

const f = (value: number, decimals = 3) => value.toFixed(decimals);
/** Minutes of the day of an interval. */
const minute = (i: number, stepMinutes: number) => (i * stepMinutes) % 1440;
const WEEK = 168;

const two = (number: number) => String(number).padStart(2, '0');
const MONTHS = 'January February March April May June July August September October November December'.split(' ');
/** A date from its year, its month from 0, and its day. */
const DATES: readonly ((y: number, m: number, d: number) => string)[] = [
  (y, m, d) => `${y}-${two(m + 1)}-${two(d)}`,
  (y, m, d) => `${y}/${m + 1}/${d}`,
  (y, m, d) => `${y}.${two(m + 1)}.${two(d)}.`,
  (y, m, d) => `${y}${two(m + 1)}${two(d)}`,
  (y, m, d) => `${two(d)}.${two(m + 1)}.${y}`,
  (y, m, d) => `${m + 1}/${d}/${y}`,
  (y, m, d) => `${m + 1}/${d}/${String(y).slice(2)}`,
  (y, m, d) => `${d} ${MONTHS[m]} ${y}`,
  (y, m, d) => `${MONTHS[m]} ${d}, ${y}`,
  (y, m, d) => `${d}-${MONTHS[m]!.slice(0, 3)}-${y}`,
  (y, m, d) => `${y}-${MONTHS[m]!.slice(0, 3)}-${two(d)}`,
  (_y, m, d) => `${two(d)}/${two(m + 1)}`,
  (_y, m, d) => `${MONTHS[m]!.slice(0, 3)} ${d}`,
  (y, m, d) => `${y}-${String(Math.round((Date.UTC(y, m, d) - Date.UTC(y, 0, 0)) / 86_400_000)).padStart(3, '0')}`,
];

keepLadders({
  'nothing for two hours from so many minutes after midnight, over ten days': {
    rungs: steps(170, 200, 5),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(288 * 10, (i) => {
          const isSilent = minute(i, 5) >= k && minute(i, 5) < k + 120;
          return `${labelAt(i, 5)},${isSilent ? 0 : f(drawn(i, 12), 4)}`;
        }),
      ),
  },
  'nothing from midnight to five over so many days': {
    rungs: [5, 6, 7, 8, 13, 14, 15, 20, 21, 22],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(24 * k, (i) => `${labelAt(i)},${i % 24 < 5 ? 0 : f(drawn(i))}`),
      ),
  },
  'nothing from ten to twelve on all but so many of fifty days': {
    rungs: steps(0, 8),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(24 * 50, (i) => {
          const isSilent = i % 24 >= 10 && i % 24 < 14 && (i / 24) % 50 >= k;
          return `${labelAt(i)},${isSilent ? 0 : f(drawn(i))}`;
        }),
      ),
  },
  'a register that lacks days, at once with another in so many of its hundred hours': {
    rungs: [0, 8, 9, 10, 11, 12, 49, 50, 51],
    make: (k) => ({
      text: fileOf(
        'Start,Register,kWh',
        rowsOf(240, (i) => `${labelAt(i)},A,${f(i < 100 - k || i >= WEEK ? 0 : drawn(i))}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},B,${f(i < 100 ? drawn(i) : 0)}`),
      ),
      options: { rows: { '*': 'import' } },
    }),
  },
  'windows by name that lack days, at once in so many of a hundred hours': {
    rungs: [0, 9, 10, 11, 48, 49, 50, 51, 52],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(240, (i) => `${labelAt(i)},Day,${f(i < 100 - k || i >= WEEK ? 0 : drawn(i))}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},Night,${f(i < 100 ? drawn(i) : 0)}`),
      ),
  },
  'a register that lacks days and counts in so few hours': {
    rungs: steps(9, 15),
    make: (k) => ({
      text: fileOf(
        'Start,Register,kWh',
        rowsOf(240, (i) => `${labelAt(i)},A,${f(i < k ? 0 : drawn(i))}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},B,${f(i < k ? drawn(i) : 0)}`),
      ),
      options: { rows: { '*': 'import' } },
    }),
  },
  'a running total beside a column stated, off by so many ten-thousandths in each row': {
    rungs: steps(4, 8),
    make: (k) => {
      let sum = 0;
      return {
        text: fileOf(
          'Start,Usage (kWh),Counter (kWh)',
          rowsOf(WEEK, (i) => {
            const kwh = Number(f(drawn(i)));
            sum += kwh + k / 10_000;
            return `${labelAt(i)},${f(kwh)},${f(sum, 4)}`;
          }),
        ),
        options: { columns: { import: 'Usage (kWh)' } },
      };
    },
  },
  'a circuit above the mains by so many thousandths, and in so many rows': {
    rungs: [0, 1, 2, 3, 10, 11, 12],
    make: (k) => ({
      text: fileOf(
        'Start,Mains (kWh),Garage (kWh)',
        rowsOf(1000, (i) => {
          const kwh = Number(f(drawn(i)));
          const above = k < 10 ? k / 1000 : i < k - 10 ? 0.5 : 0;
          return `${labelAt(i)},${f(kwh)},${f(k < 10 ? kwh + above : kwh / 2 + above)}`;
        }),
      ),
      options: { columns: { import: 'Mains (kWh)' } },
    }),
  },
  'so many columns that are each called the whole': {
    rungs: steps(0, 4),
    make: (k) => {
      const names = ['Mains', 'Grid', 'Main', 'Mains L2'].slice(0, k);
      return fileOf(
        ['Start', ...names.map((name) => `${name} [kWh]`), 'Kitchen [kWh]', 'Garage [kWh]'].join(','),
        rowsOf(WEEK, (i) =>
          [labelAt(i), ...names.map((_, c) => f(drawn(i) / (1 + c / 10))), f(drawn(i) / 3), f(drawn(i) / 4)].join(','),
        ),
      );
    },
  },
  'a circuit above a column called mains in so many of a hundred rows, by thousandths': {
    rungs: [0, 1, 2, 3, 12, 22, 32],
    make: (k) =>
      fileOf(
        'Start,Mains [kWh],Kitchen [kWh],Garage [kWh]',
        rowsOf(100, (i) => {
          const kwh = 1;
          const share = k < 10 ? (i < k ? 1.2 : 0.5) : i % 20 === 0 ? 1 + (k - 12) / 10_000 : 0.5;
          return `${labelAt(i)},${f(kwh)},${f(kwh * share, 4)},${f(drawn(i) / 9)}`;
        }),
      ),
  },
  'a column for each of so many hours, from another hour on, by the clock and by number': {
    rungs: [
      ...[0, 1, 2].flatMap((from) => [22, 23, 24, 25].map((count) => 100 * from + count)),
      ...[22, 23, 24, 25, 26].map((count) => 1000 + count),
    ],
    make: (k) => {
      const count = k % 100;
      const from = Math.floor(k / 100);
      const names = rowsOf(count, (c) => (k > 1000 ? `H${c + 1}` : `${String((from + c) % 25).padStart(2, '0')}:00`));
      return fileOf(
        ['Date', ...names].join(','),
        rowsOf(6, (d) => [labelAt(24 * d).slice(0, 10), ...names.map((_, c) => f(drawn(24 * d + c)))].join(',')),
      );
    },
  },
  'a column for each hour, the last of them midnight by another name': {
    rungs: steps(0, 3),
    make: (k) => {
      const names = rowsOf(24, (c) => `${String(c + (k < 2 ? 1 : 0)).padStart(2, '0')}:00`);
      if (k % 2 === 1) names[23] = '00:00';
      return fileOf(
        ['Date', ...names].join(','),
        rowsOf(6, (d) => [labelAt(24 * d).slice(0, 10), ...names.map((_, c) => f(drawn(24 * d + c)))].join(',')),
      );
    },
  },
  'a column beside the one that is read, so many times as large, or as large with an error of thousandths': {
    rungs: [0.2, 0.9, 1, 1.1, 3.6, 1000, 2001, 2010, 2020, 2030, 2050, 2100],
    make: (k) => ({
      text: fileOf(
        'Start,Usage (kWh),Reading B (kWh)',
        rowsOf(WEEK, (i) => {
          const times = k > 2000 ? 1 + ((i % 2 === 0 ? 1 : -1) * (k - 2000)) / 1000 : k;
          return `${labelAt(i)},${f(drawn(i))},${i % 40 === 9 ? '' : f(times * drawn(i), 5)}`;
        }),
      ),
      options: { columns: { import: 'Usage (kWh)' } },
    }),
  },
  'so many days of dates in which day and month are exchanged, to the twelfth of a month': {
    rungs: steps(3, 12),
    make: (k) =>
      fileOf(
        'Date,Hour,Usage (kWh)',
        rowsOf(24 * (k + 3), (i) => {
          const day = 13 - k + Math.floor(i / 24);
          const [one, other] = day <= 12 ? [String(day).padStart(2, '0'), '06'] : ['06', String(day)];
          return `${one}/${other}/2026,${(i % 24) + 1},${f(drawn(i))}`;
        }),
      ),
  },
  'intervals numbered on through a spring night, of so many minutes each': {
    rungs: [1, 2, 5, 15, 30, 60],
    make: (k) =>
      fileOf(
        'Date,Interval,Usage (kWh)',
        [7, 8, 9].flatMap((day) =>
          rowsOf((day === 8 ? 1380 : 1440) / k, (i) => `2026-03-0${day},${i + 1},${f(drawn(i, 60 / k), 5)}`),
        ),
      ),
  },
  'dates in each way of writing them, over the turn of a month': {
    rungs: steps(0, DATES.length - 1),
    make: (k) =>
      fileOf(
        'Date,Time,Usage (kWh)',
        rowsOf(24 * 6, (i) => {
          const at = new Date(Date.UTC(2026, 2, 29) + i * 3_600_000);
          return `${DATES[k]!(at.getUTCFullYear(), at.getUTCMonth(), at.getUTCDate())},${i % 24}:00,${f(drawn(i))}`;
        }),
      ),
  },
  'documents by how they begin and how they end': {
    rungs: steps(0, 4 * 5 - 1),
    make: (k) => {
      const rows = rowsOf(48, (i) => `${labelAt(i)},${f(drawn(i))}`);
      const [begins, ends] = [['', '{', '[', '<html>'][Math.floor(k / 5)]!, ['', '}', ']', '</html>', '} '][k % 5]!];
      return `${begins}${fileOf('Start,Usage (kWh)', rows)}${ends}`;
    },
  },
});
