// Kept answers: see tests/support/kept.ts. Tables that climb through each limit by which rows and columns are told.
import { drawn, fileOf, hourly, isAmong, keepLadders, labelAt, rowsOf, steps, sunny } from '../../support/ladders.ts';

const WEEK = 168;
const f = (value: number, decimals = 3) => value.toFixed(decimals);
const dateAt = (d: number) => labelAt(24 * d).slice(0, 10);
const pad = (n: number) => String(n).padStart(2, '0');
const days = (count: number, rowsOfDay: (d: number) => readonly string[]) =>
  rowsOf(count, String).flatMap((d) => rowsOfDay(Number(d)));
const hours = (count: number, row: (i: number) => string) => rowsOf(count, (i) => `${labelAt(i)},${row(i)}`);
const asDay = (i: number) => (i % 3 === 0 ? 0 : drawn(i));
const asNight = (i: number) => (i % 3 === 0 ? drawn(i) : 0);

keepLadders({
  'so many texts that tell rows apart': {
    rungs: [1, 2, 11, 12, 13, 31, 32, 33, 63, 64, 65, 66],
    make: (k) => ({
      text: fileOf(
        'Start,Was,kWh',
        days(4, (d) => rowsOf(k, (t) => `${labelAt(d)},Room ${t + 1},${f(drawn(d + t))}`)),
      ),
      options: k % 2 === 0 ? { rows: { 'Room 1': 'import', '*': 'ignore' } } : {},
    }),
  },
  'so many kinds in a column named for them': {
    rungs: [2, 12, 13, 32, 63, 64, 65, 66],
    make: (k) => ({
      text: fileOf(
        'Start,Type,kWh',
        days(30, (d) => rowsOf(k, (t) => `${labelAt(d)},Tier ${t + 1},${f(t === d % k ? drawn(d) : 0)}`)),
      ),
    }),
  },
  'rows of a time that stand twice in so many of two hundred hours, under names of their own': {
    rungs: [0, 1, 2, 3, 4, 20],
    make: (k) => ({
      text: fileOf(
        'Start,Was,kWh',
        days(200, (i) => [
          `${labelAt(i)},Haus,${f(drawn(i))}`,
          `${labelAt(i)},Hof,${f(0.3 * drawn(i))}`,
          ...(isAmong(i, k, 200) ? [`${labelAt(i)},Hof,${f(0.4 * drawn(i))}`] : []),
        ]),
      ),
      options: k % 2 === 1 ? { rows: { haus: 'import', hof: 'ignore' } } : {},
    }),
  },
  'so many hundredths of what is read, in a column that isn’t': {
    rungs: [0.01, 0.05, 0.09, 0.1, 0.11, 0.2, 1, 30, 100],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Energy heat (kWh)',
        hours(WEEK, (i) => `${f(drawn(i), 5)},${((k / 100) * drawn(i + 50)).toFixed(5)}`),
      ),
  },
  'a column that is the sum of two others in so many of a thousand hours': {
    rungs: [900, 975, 979, 980, 981, 985, 1000],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Energy A (kWh),Energy B (kWh)',
        hours(
          1000,
          (i) => `${f(drawn(i) + sunny(i) + (isAmong(i, 1000 - k, 1000) ? 0.4 : 0))},${f(drawn(i))},${f(sunny(i))}`,
        ),
      ),
  },
  'a circuit that is above its whole in so many of a thousand hours': {
    rungs: [0, 1, 2, 3, 20],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Pump energy (kWh)',
        hours(1000, (i) => `${f(drawn(i))},${f(isAmong(i, k, 1000) ? 3 : 0.4 * drawn(i))}`),
      ),
  },
  'a circuit that is stated beside others, above its whole in so many of a thousand hours': {
    rungs: [0, 1, 2, 3, 20],
    make: (k) => ({
      text: fileOf(
        'Start,Mains import (kWh),Usage pump (kWh),Usage car (kWh)',
        hours(1000, (i) => `${f(drawn(i))},${f(isAmong(i, k, 1000) ? 3 : 0.4 * drawn(i))},${f(0.1 * sunny(i))}`),
      ),
      options: { columns: { import: 'Mains import (kWh)' } },
    }),
  },
  'a running total beside what it counts, off in so many of a hundred hours': {
    rungs: [0, 5, 9, 10, 11, 30],
    make: (k) => {
      let total = 500;
      return fileOf(
        'Start,Import (kWh),Energy so far (kWh)',
        hours(100, (i) => {
          total += Number(f(drawn(i))) + (isAmong(i, k, 100) ? 0.4 : 0);
          return `${f(drawn(i))},${f(total)}`;
        }),
      );
    },
  },
  'a running total beside what it counts, over so many hours': {
    rungs: [12, 23, 24, 25, 26, 60],
    make: (k) => {
      let total = 500;
      return fileOf(
        'Start,Import (kWh),Energy so far (kWh)',
        hours(k, (i) => {
          total += Number(f(drawn(i)));
          return `${f(drawn(i))},${f(total)}`;
        }),
      );
    },
  },
  'registers of two windows in columns that count at once in so many of a hundred hours': {
    rungs: [0, 1, 5, 8, 9, 10, 11, 12, 15, 60],
    make: (k) => {
      const text = fileOf(
        'Start,P1 (kWh),P2 (kWh)',
        hours(
          100,
          (i) =>
            `${f(i % 2 === 0 || isAmong(i, k, 100) ? drawn(i) : 0)},${f(i % 2 === 1 || isAmong(i, k, 100) ? drawn(i + 3) : 0)}`,
        ),
      );
      return k % 2 === 0 ? text : { text, options: { columns: { import: 2 } } };
    },
  },
  'one stated of several alike, by what stands beside it': {
    rungs: steps(0, 11),
    make: (k) => ({
      text: fileOf(
        [
          'Start,Import L1 (kWh),Import L2 (kWh),Export (kWh)',
          'Start,Peak,Off-Peak,Total',
          'Start,Import day register read,Import night register read,Export (kWh)',
        ][k % 3]!,
        hours(WEEK, (i) =>
          k % 3 === 2
            ? `${f(500 + i)},${f(900 + (i >> 1))},${f(sunny(i))}`
            : `${f(k < 6 ? asDay(i) : drawn(i))},${f(k < 6 ? asNight(i) : drawn(i + 9))},${f(k % 3 === 1 ? drawn(i) : sunny(i))}`,
        ),
      ),
      options: {
        ...(k < 9 ? { columns: { import: k % 2 === 0 ? 2 : 3 } } : { columns: { import: [2, 3] } }),
        ...(k > 3 ? { unit: 'kWh' } : {}),
        ...(k === 8 ? { billedKwh: 60 } : {}),
      },
    }),
  },
  'registers and the column named as their sum, which misses in so many of two hundred hours': {
    rungs: [0, 3, 4, 5, 6, 40],
    make: (k) =>
      fileOf(
        'Start,Peak,Off-Peak,Total',
        hours(200, (i) => `${f(asDay(i))},${f(asNight(i))},${f(drawn(i) + (isAmong(i, k, 200) ? 0.3 : 0))}`),
      ),
  },
  'a column named as the whole that another exceeds in so many of two hundred hours': {
    rungs: [0, 1, 3, 4, 5, 6, 40],
    make: (k) =>
      fileOf(
        'Start,Mains energy (kWh),Heat pump energy (kWh),Car energy (kWh)',
        hours(200, (i) => `${f(2 * drawn(i) + sunny(i))},${f(isAmong(i, k, 200) ? 9 : drawn(i))},${f(sunny(i))}`),
      ),
  },
  'a column named as the whole that another exceeds by so many thousandths': {
    rungs: [0, 0.5, 1, 1.5, 2],
    make: (k) =>
      fileOf(
        'Start,Mains energy (kWh),Pump energy (kWh)',
        hours(WEEK, (i) => `${f(10, 4)},${f(10 + k / 100 - (i % 2), 4)}`),
      ),
  },
  'rows left out that hold so many hundredths of what is read': {
    rungs: [0.1, 0.4, 0.5, 0.6, 4, 5, 5.2, 5.3, 6, 50, 99, 101],
    make: (k) => ({
      text: fileOf(
        'Start,Register,kWh',
        hours(WEEK, (i) => `Day,${f(asDay(i), 4)}`),
        hours(WEEK, (i) => `Night,${f(((k / 100) * asNight(i) * 112) / 56, 5)}`),
      ),
      options: { rows: { Day: 'import', Night: 'ignore' } },
    }),
  },
  'rows left out that are above what is read in so many of a thousand hours': {
    rungs: [0, 4, 5, 6, 7, 50],
    make: (k) => ({
      text: fileOf(
        'Start,Channel,kWh',
        hours(1000, (i) => `Import,${f(drawn(i))}`),
        hours(1000, (i) => `Usage pump,${f(isAmong(i, k, 1000) ? 3 : 0.4 * drawn(i))}`),
      ),
      options: { rows: { Import: 'import', 'Usage pump': 'ignore' } },
    }),
  },
  'rows of a counter left out, that falls so often in a thousand rows': {
    rungs: [0, 1, 2, 3, 60, 199, 210, 400],
    make: (k) => ({
      text: fileOf(
        'Start,Register,kWh',
        hours(1000, (i) => `1,${f(i % 2 === 0 ? drawn(i) : 0)}`),
        (() => {
          let total = 0;
          return hours(1000, (i) => {
            total = isAmong(i, k, 1000) ? 0.1 : total + (i % 2 === 1 ? drawn(i) : 0);
            return `2,${f(total)}`;
          });
        })(),
      ),
      options: { rows: { '1': 'import', '2': 'ignore' } },
    }),
  },
  'rows of numbered registers, one left out, that count at once in so many of a hundred hours': {
    rungs: [0, 4, 5, 9, 10, 11, 50],
    make: (k) => ({
      text: fileOf(
        'Start,Register,kWh',
        hours(200, (i) => `1,${f(i % 2 === 0 ? drawn(i) : 0)}`),
        hours(200, (i) => `2,${f(i % 2 === 1 || isAmong(i >> 1, k, 100) ? drawn(i) : 0)}`),
      ),
      options: { rows: { '1': 'import', '*': 'ignore' } },
    }),
  },
  'so many rows of a date alone': {
    rungs: [1, 2, 9, 10, 11, 19, 20, 21, 24],
    make: (k) =>
      fileOf(
        'Date,Usage (kWh)',
        days(8, (d) => rowsOf(k, (h) => `${dateAt(d)},${f(drawn(24 * d + h))}`)),
      ),
  },
  'hours by so many numbers a day, from 0 and from 1': {
    rungs: [2, 11, 12, 13, 22, 23, 24, 25, 26, 48, 49, 50, 51, 96, 100, 101, 144, 150, 288],
    make: (k) =>
      fileOf(
        k % 3 === 0 ? 'Date,Stunde,Usage (kWh)' : 'Date,Hour,Usage (kWh)',
        days(4, (d) => rowsOf(k, (h) => `${dateAt(d)},${h + (k % 2)},${f(drawn(24 * d + h))}`)),
      ),
  },
  'hours by numbers that begin at so many': {
    rungs: [-1, 0, 1, 2, 3],
    make: (k) =>
      fileOf(
        'Date,Hour,Usage (kWh)',
        days(4, (d) => rowsOf(24, (h) => `${dateAt(d)},${h + k},${f(drawn(24 * d + h))}`)),
      ),
  },
  'hundreds for hours, in steps of so many minutes': {
    rungs: [10, 15, 20, 30, 60],
    make: (k) =>
      fileOf(
        'Date,Hour,Usage (kWh)',
        days(4, (d) =>
          rowsOf(
            1440 / k,
            (i) => `${dateAt(d)},${pad(Math.floor((i * k) / 60))}${pad((i * k) % 60)},${f(drawn(i, 60 / k))}`,
          ),
        ),
      ),
  },
  'hours by numbers over so many days of an autumn and a spring': {
    rungs: [1, 2, 3, 4],
    make: (k) =>
      fileOf(
        'Date,Hour,Usage (kWh)',
        ...[Date.UTC(2025, 9, 31), Date.UTC(2026, 2, 6)].map((from) =>
          days(k + 1, (d) => {
            const date = new Date(from + d * 86_400_000).toISOString().slice(0, 10);
            const count = date === '2025-11-02' ? 25 : date === '2026-03-08' ? 23 : 24;
            return rowsOf(count, (h) => `${date},${h + 1},${f(drawn(24 * d + h))}`);
          }),
        ),
      ),
  },
  'times without AM and PM on so many dates': {
    rungs: [1, 2, 3, 4, 5],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        days(k, (d) => rowsOf(24, (h) => `${dateAt(d)} ${pad(h % 12 === 0 ? 12 : h % 12)}:00,${f(drawn(24 * d + h))}`)),
      ),
  },
  'times without AM and PM, so many of them gone from the second day': {
    rungs: [0, 1, 2, 3, 5, 6, 7, 8, 12],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        days(4, (d) =>
          rowsOf(24, (h) => `${dateAt(d)} ${pad(h % 12 === 0 ? 12 : h % 12)}:00,${f(drawn(24 * d + h))}`).filter(
            (_, h) => d !== 1 || h < 4 || h >= 4 + k,
          ),
        ),
      ),
  },
  'times without AM and PM that begin so many hours into the first day, with ends': {
    rungs: [0, 1, 6, 11, 12, 13, 20],
    make: (k) =>
      fileOf(
        'Start,End,Usage (kWh)',
        days(4, (d) =>
          rowsOf(24, (h) => {
            const at = (n: number) => `${dateAt(n >= 24 ? d + 1 : d)} ${pad(n % 12 === 0 ? 12 : n % 12)}:00`;
            return `${at(h)},${at(h + 1)},${f(drawn(24 * d + h))}`;
          }).filter((_, h) => d > 0 || h >= k),
        ),
      ),
  },
  'a totals row that is off by so many thousandths': {
    rungs: [0, 1, 4, 5, 6, 48, 50, 52, 53, 200, 999_000, 9_900_000, 9_999_000, 10_001_000, 12_000_000],
    make: (k) => {
      const text = hourly('Start,Usage (kWh)', WEEK, drawn);
      const sum = rowsOf(WEEK, (i) => f(drawn(i))).reduce((all, each) => all + Number(each), 0);
      return `${text}Total,${f(sum * (1 + k / 1000), 2)}\n`;
    },
  },
  'totals rows of each day, so many of them off': {
    rungs: steps(0, 5),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        days(5, (d) => {
          const own = rowsOf(24, (h) => f(drawn(24 * d + h)));
          const sum = own.reduce((all, each) => all + Number(each), 0) + (d < k ? 1.5 : 0);
          return [...own.map((kwh, h) => `${labelAt(24 * d + h)},${kwh}`), `Total,${f(sum)}`];
        }),
      ),
  },
  'a totals row in another unit, of one column or two': {
    rungs: [1, 4, 1000, 60, 0.001, 250],
    make: (k) => {
      const text = fileOf(
        'Start,Import (kWh),Export (kWh)',
        rowsOf(WEEK * 4, (i) => `${labelAt(i, 15)},${f(drawn(i, 4))},${f(sunny(i >> 2) / 4)}`),
      );
      const sum = (of: (i: number) => number) =>
        rowsOf(WEEK * 4, (i) => f(of(i))).reduce((all, each) => all + Number(each), 0);
      return `${text}Total,${f(k * sum((i) => drawn(i, 4)), 2)},${
        k === 60
          ? f(
              sum((i) => sunny(i >> 2) / 4),
              2,
            )
          : ''
      }\n${k === 4 ? `Sum kWh,${f(sum((i) => drawn(i, 4)) - sum((i) => sunny(i >> 2) / 4), 2)},\n` : ''}`;
    },
  },
  'so many rows of months among three others': {
    rungs: steps(0, 7),
    make: (k) =>
      fileOf(
        'Month,Usage (kWh),Note',
        rowsOf(
          k,
          (i) => `${['January 2026', '02/2026', 'Mär. 26', '2026-04', 'mai', '06/2026', 'July 26'][i]},${300 + i},`,
        ),
        ['', ',', 'Average,250,', 'Highest,300,', 'Remarks,none,x'],
      ),
  },
  'days in blocks of so many hours': {
    rungs: [5, 18, 19, 20, 21, 24],
    make: (k) =>
      days(4, (d) => [`${dateAt(d)},`, ...rowsOf(k, (h) => `${pad(h)}:00,${f(drawn(24 * d + h))}`)]).join('\n'),
  },
  'days in blocks of so many numbered hours, some gone': {
    rungs: [18, 19, 20, 23, 24, 25],
    make: (k) =>
      [
        'Hour,Usage (kWh)',
        ...days(4, (d) => [
          `Date: ${dateAt(d)},`,
          ...rowsOf(k, (h) => `${h + 1},${f(drawn(24 * d + h))}`).filter((_, h) => d !== 2 || h < 6 || h > k - 12),
        ]),
      ].join('\n'),
  },
  'days in blocks under totals, so many of ten of them wrong': {
    rungs: [0, 1, 2, 3],
    make: (k) =>
      days(11, (d) => {
        const own = rowsOf(24, (h) => f(drawn(24 * d + h)));
        const sum = own.reduce((all, each) => all + Number(each), 0) + (isAmong(d, k, 10) ? 1 : 0);
        return [`${dateAt(d)},${f(sum)}`, ...own.map((kwh, h) => `${pad(h)}:00,${kwh}`)];
      }).join('\n'),
  },
  'days in blocks under totals that are off by so many thousandths': {
    rungs: [0, 3, 5, 6, 7, 10],
    make: (k) =>
      days(4, (d) => [`${dateAt(d)},${f(24 * (1 + k / 1000))}`, ...rowsOf(24, (h) => `${pad(h)}:00,${f(1)}`)]).join(
        '\n',
      ),
  },
  'days in blocks, newest first, with an hour that goes back': {
    rungs: steps(0, 4),
    make: (k) =>
      days(4, (d) => [
        `${dateAt(4 - d)},`,
        ...rowsOf(24, (h) => `${pad(h === 9 ? (9 + k) % 24 : h)}:00,${f(drawn(h))}`).reverse(),
      ]).join('\n'),
  },
  'a day a row, in so many columns': {
    rungs: [5, 11, 12, 20, 22, 23, 24, 25, 26, 46, 48, 50, 72, 95, 96, 100, 144, 288, 300],
    make: (k) =>
      fileOf(
        ['Date', ...rowsOf(k, (c) => String(c + 1))].join(','),
        days(5, (d) => [[dateAt(d), ...rowsOf(k, (c) => f(drawn(k * d + c)))].join(',')]),
      ),
  },
  'a day a row, in columns by the clock in steps of so many minutes': {
    rungs: [5, 10, 15, 20, 30, 40, 60, 90, 120],
    make: (k) =>
      fileOf(
        [
          'Date',
          'Unit',
          ...rowsOf(
            Math.floor(1440 / k),
            (c) => `${pad(Math.floor((c * k) / 60))}:${pad((c * k) % 60)}${k % 20 === 0 ? ' kWh' : ''}`,
          ),
          'Total',
        ].join(','),
        days(5, (d) => {
          const own = rowsOf(Math.floor(1440 / k), (c) => f(drawn(100 * d + c)));
          return [[dateAt(d), 'kWh', ...own, f(own.reduce((all, each) => all + Number(each), 0))].join(',')];
        }),
      ),
  },
  'a day a row over clock changes, by so many columns': {
    rungs: [24, 25, 26, 48, 50, 96, 100],
    make: (k) =>
      fileOf(
        ['Meter', 'Register', 'Date', ...rowsOf(k, (c) => `Interval ${c + 1}`), 'Quality'].join(','),
        ['2025-11-01', '2025-11-02', '2025-11-03', '2026-03-07', '2026-03-08', '2026-03-09'].flatMap((date, d) =>
          ['Import', 'Export'].map((register, r) =>
            [
              'M1',
              register,
              date,
              ...rowsOf(k, (c) =>
                date === '2026-03-08' && c >= (k * 23) / 25 ? '' : f((1 - r / 2) * drawn(k * d + c)),
              ),
              d === 3 ? 'Estimated' : 'Actual',
            ].join(','),
          ),
        ),
      ),
  },
  'times across and dates down, over so many days': {
    rungs: [1, 2, 3, 4, 5],
    make: (k) =>
      fileOf(
        ['Time', ...rowsOf(k, dateAt)].join(','),
        rowsOf(24, (h) => [`${pad(h)}:00`, ...rowsOf(k, (d) => f(drawn(24 * d + h)))].join(',')),
      ),
  },
  'dates across, so many times down': {
    rungs: [12, 22, 23, 24, 25],
    make: (k) =>
      fileOf(
        ['Time', ...rowsOf(4, dateAt)].join(','),
        rowsOf(k, (h) => [`${pad(h)}:00`, ...rowsOf(4, (d) => f(drawn(24 * d + h)))].join(',')),
      ),
  },
  'so many lines above a table': {
    rungs: [0, 1, 5, 395, 398, 399, 400, 401, 450],
    make: (k) => `${'A note\n'.repeat(k)}${hourly('Start,Usage (kWh)', 48, drawn)}`,
  },
  'a cell of so many letters': {
    rungs: [10, 198, 199, 200, 201, 202, 199_000, 200_100],
    make: (k) => hourly('Start,Usage (kWh)', 48, drawn).replace('2026-01-05 05:00', `2026-01-05 05:00${' '.repeat(k)}`),
  },
  'so many rows with a field too many, or too few': {
    rungs: steps(0, 9),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh),Note',
        rowsOf(WEEK, (i) =>
          i % 30 < k >> 1
            ? k % 2 === 0
              ? `${labelAt(i)},${f(drawn(i))},a,b`
              : `${labelAt(i)},${f(drawn(i))}`
            : `${labelAt(i)},${f(drawn(i))},a`,
        ),
      ),
  },
  'so many of its decimals behind a comma': {
    rungs: [0, 1, 2, 3, 4, 10],
    make: (k) =>
      `Start;Usage (kWh)\n${rowsOf(WEEK, (i) => `${labelAt(i)};${i % 12 < k ? f(drawn(i)).replace('.', ',') : f(drawn(i))}`).join('\n')}\n`,
  },
  'a home whose columns miss each other on so many days': {
    rungs: [0, 1, 2, 5, 10],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Export (kWh),Solar (kWh),Load (kWh)',
        hours(240, (i) => {
          const net = drawn(i) - sunny(i);
          return `${f(Math.max(0, net))},${f(Math.max(0, -net))},${f(sunny(i))},${f(drawn(i) + (i < 24 * k ? 0.4 : 0))}`;
        }),
      ),
  },
});
