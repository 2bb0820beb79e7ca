// Kept answers: see tests/support/kept.ts. Tables that climb through limits of signs, of steps that change, and of clocks.
import { drawn, fileOf, hourly, isAmong, keepLadders, labelAt, rowsOf, steps, sunny } from '../../support/ladders.ts';

const WEEK = 168;
const f = (value: number, decimals = 3) => value.toFixed(decimals);
const net = (i: number) => drawn(i) - sunny(i);
const hours = (count: number, row: (i: number) => string) => rowsOf(count, (i) => `${labelAt(i)},${row(i)}`);
/** A day long before a clock change, from which rows of UTC are counted. */
const from = Date.UTC(2026, 9, 30);

keepLadders({
  'a home that uses nothing in so many of a hundred sunny hours': {
    rungs: [0, 40, 48, 50, 51, 52, 60, 100],
    make: (k) => {
      let sunlit = 0;
      const isWithout = (i: number) => sunny(i) > 0 && isAmong(sunlit++, k, 100);
      return fileOf(
        k % 8 === 0 ? 'Start,Consumption (kWh),Generation (kWh)' : 'Start,Usage consumed kWh,Solar kWh',
        hours(220, (i) => `${isWithout(i) ? '0.000' : f(drawn(i))},${f(sunny(i))}`),
      );
    },
  },
  'a home that uses nothing in the sun, of which there are so many hours': {
    rungs: [8, 11, 12, 13, 20],
    make: (k) => {
      let sunlit = 0;
      return fileOf(
        'Start,Consumption (kWh),Generation (kWh)',
        hours(96, (i) => (sunny(i) > 0 && sunlit++ < k ? `0.000,${f(sunny(i))}` : `${f(drawn(i))},0.000`)),
      );
    },
  },
  'export below zero, but for so many of its hours': {
    rungs: [0, 1, 3, 4, 5, 6, 40],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Export (kWh)',
        hours(
          96,
          (i) =>
            `${f(drawn(i))},${i % 24 === 12 || i >= 80 ? f(0.1 * (i < 80 ? -20 : 0)) : i < 80 ? f(isAmong(i, k, 80) ? 0.4 : -0.7) : '0.0'}`,
        ),
      ),
  },
  'solar that draws so many thousandths at night': {
    rungs: [0, 1, 10, 19, 20, 21, 30, 200],
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Solar (kWh)',
        hours(WEEK, (i) => `${f(drawn(i))},${sunny(i) > 0 ? '1.000' : f(-k / 1000 / (13 / 11))}`),
      ),
  },
  'import below zero in so many hours, beside export and alone': {
    rungs: [0, 1, 2, 3, 60, 61],
    make: (k) =>
      fileOf(
        k % 2 === 0 ? 'Start,Import (kWh)' : 'Start,Import (kWh),Export (kWh)',
        hours(WEEK, (i) => `${f(isAmong(i, k, WEEK) ? -0.5 : drawn(i))}${k % 2 === 0 ? '' : `,${f(sunny(i))}`}`),
      ),
  },
  'a net by either sign, and one of nothing': {
    rungs: steps(0, 3),
    make: (k) => ({
      text: hourly('Start,Net (kWh)', 400, (i) => (k === 3 ? 0 : k === 2 ? -drawn(i) : net(i))),
      options: k % 2 === 1 ? { sign: 'export-positive' } : {},
    }),
  },
  'minutes whose clock drifts by so many seconds': {
    rungs: [1, 5, 6, 7, 14, 15, 16, 20, 29],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(400, (i) => {
          const at = new Date(Date.UTC(2026, 0, 5) + i * 60_000 + (i % 5 === 3 ? k * 1000 : 0));
          return `${at.toISOString().slice(0, 19).replace('T', ' ')},${f(drawn(i, 60), 5)}`;
        }),
      ),
  },
  'a step of quarters after so many hours': {
    rungs: [1, 12, 22, 23, 24, 25, 26, 48],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        hours(k, (i) => f(drawn(i))),
        rowsOf(400, (i) => `${labelAt(4 * k + i, 15)},${f(drawn(i, 4))}`),
      ),
  },
  'a step that changes so many times': {
    rungs: [1, 2, 19, 20, 21],
    make: (k) => {
      let minute = 0;
      return fileOf(
        'Start,Usage (kWh)',
        rowsOf(k + 1, String).flatMap((turn) =>
          rowsOf(48, (i) => {
            const label = labelAt(minute, 1);
            minute += Number(turn) % 2 === 0 ? 60 : 30;
            return `${label},${f(drawn(i, Number(turn) % 2 === 0 ? 1 : 2))}`;
          }),
        ),
      );
    },
  },
  'quarters from so many after midnight to midnight': {
    rungs: [0, 1, 2, 4],
    make: (k) =>
      fileOf(
        'Time,Usage (kWh)',
        rowsOf(192 - k + 1, (i) => `${labelAt(i + k, 15)},${f(drawn(i, 4))}`),
      ),
  },
  'hours and quarters from one step after midnight to midnight, one after the other': {
    rungs: [0, 1, 2],
    make: (k) =>
      fileOf(
        'Time,Usage (kWh)',
        rowsOf(96, (i) => `${labelAt(i + 1 - (k === 2 ? 1 : 0), 30)},${f(drawn(i, 2))}`),
        rowsOf(192, (i) => `${labelAt(192 + i + (k === 0 ? 1 : 0), 15)},${f(drawn(i, 4))}`),
      ),
  },
  'two steps of one power, without a unit, the coarser larger by hundredths': {
    rungs: [0, 5, 9, 10, 11, 12, 30],
    make: (k) =>
      fileOf(
        'Start,Channel,Value',
        rowsOf(WEEK * 4, (i) => `${labelAt(i, 15)},Import,${f(drawn(i >> 2))}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},Import,${f((1 + k / 100) * drawn(i))}`),
      ),
  },
  'labels of UTC of which an hour is there twice, a free hour so many hours on': {
    rungs: [-3, -2, -1, 1, 2, 3, 6, 30],
    make: (k) =>
      fileOf(
        'Start,End,Usage (kWh)',
        rowsOf(288, String).flatMap((text) => {
          const i = Number(text);
          const hour = Math.floor(i / 4);
          if (hour === 40 + k) return [];
          const row = (end: number) => `${labelAt(i, 15, from)}Z,${labelAt(i + end, 15, from)}Z,${f(drawn(i, 4))}`;
          return hour === 40
            ? [row(1), row(i % 4 === 3 && k === 1 ? 5 : 1).replace(/,[^,]*$/, `,${f(drawn(i + 7, 4))}`)]
            : [row(1)];
        }),
      ),
  },
  'labels with an offset of so many hours, over the change of a clock': {
    rungs: [-8, -7, -6, 0, 1, 2],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(
          96,
          (i) =>
            `${labelAt(i, 60, from + k * 3_600_000)}${k < 0 ? '-' : '+'}${String(Math.abs(k)).padStart(2, '0')}:00,${f(drawn(i))}`,
        ),
      ),
  },
  'the clock of another place, whose change lies so many hours from ours': {
    rungs: [-8, -3, -2, -1, 0, 1, 2, 3, 8, 200],
    make: (k) => ({
      text: fileOf(
        'Start,Usage (kWh)',
        rowsOf(480, String).flatMap((text) => {
          const i = Number(text);
          const row = `${labelAt(i, 60, Date.UTC(2026, 9, 24))},${f(drawn(i))}`;
          return i === 8 * 24 + 1 + k ? [row, `${row.slice(0, 17)}0.777`] : [row];
        }),
      ),
    }),
  },
  'a spring of another place, whose lost hour lies so many hours from ours': {
    rungs: [-8, -2, -1, 0, 1, 2, 8, 200],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(480, String).flatMap((text) => {
          const i = Number(text);
          return i === 7 * 24 + 2 + k ? [] : [`${labelAt(i, 60, Date.UTC(2026, 2, 1))},${f(drawn(i))}`];
        }),
      ),
  },
  'ends of hours over an autumn night, so many of them twice': {
    rungs: steps(0, 3),
    make: (k) => ({
      text: fileOf(
        'Interval end,Usage (kWh)',
        rowsOf(72, String).flatMap((text) => {
          const i = Number(text);
          const row = `${labelAt(i + 1, 60, Date.UTC(2026, 9, 31))},${f(drawn(i))}`;
          return i >= 24 && i < 24 + k ? [row, `${row.slice(0, 17)}0.${5 + i}`] : [row];
        }),
      ),
    }),
  },
  'an autumn night of nothing, newest first or not, once or twice': {
    rungs: steps(0, 3),
    make: (k) => {
      const rows = rowsOf(72, String).flatMap((text) => {
        const i = Number(text);
        const row = `${labelAt(i, 60, Date.UTC(2026, 9, 31))},${i > 21 && i < 29 ? '0.000' : f(drawn(i))}`;
        return i === 25 && k > 1 ? [row, row.replace('0.000', '0.300')] : [row];
      });
      return fileOf('Start,Usage (kWh)', k % 2 === 0 ? rows : rows.reverse());
    },
  },
  'rows of two registers that take turns by so many hours': {
    rungs: [1, 2, 6, 12, 24, 84],
    make: (k) =>
      fileOf(
        'Start,End,Register,kWh',
        rowsOf(
          WEEK,
          (i) => `${labelAt(i)},${labelAt(i + 1)},${Math.floor(i / k) % 2 === 0 ? 'HT' : 'NT'},${f(drawn(i))}`,
        ),
      ),
  },
  'rows of two registers that take turns, with so many hours of both': {
    rungs: [0, 1, 5, 8, 9, 17, 30],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(WEEK, String).flatMap((text) => {
          const i = Number(text);
          const isFirst = i % 24 < 12;
          const row = (name: string, more: number) => `${labelAt(i)},${name},${f(drawn(i + more))}`;
          const both = isAmong(i, k, WEEK);
          return [...(isFirst || both ? [row('1', 0)] : []), ...(!isFirst || both ? [row('2', 5)] : [])];
        }),
      ),
  },
});
