// Kept answers: see tests/support/kept.ts. Tables that climb through each limit by which readings are put in place.
import { drawn, fileOf, hourly, isAmong, keepLadders, labelAt, rowsOf, steps, sunny } from '../../support/ladders.ts';

const WEEK = 168;
const net = (i: number) => drawn(i) - sunny(i);
const bought = (i: number) => Math.max(0, net(i));
const sold = (i: number) => Math.max(0, -net(i));
const f = (value: number, decimals = 3) => value.toFixed(decimals);
/** Readings of a home that sum to so much a day. */
const daily = (perDay: number, i: number, perHour = 1) => (drawn(i, perHour) * perDay) / 16.08;

keepLadders({
  'a net that isn’t the difference, in so many of a hundred hours': {
    rungs: [0, 1, 3, 4, 5, 6, 7, 10, 50],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh),Generation (kWh),Net (kWh)',
        rowsOf(100, (i) => `${labelAt(i)},${f(drawn(i))},${f(sunny(i))},${f(net(i) + (isAmong(i, k, 100) ? 0.4 : 0))}`),
      ),
  },
  'a net that is off by thousandths of a kWh': {
    rungs: steps(0, 24, 2),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh),Generation (kWh),Net (kWh)',
        rowsOf(WEEK, (i) => `${labelAt(i)},${f(0.3)},${f(i % 2)},${f(0.3 - (i % 2) + k / 1000)}`),
      ),
  },
  'a net that has its like in so few hours': {
    rungs: steps(0, 6),
    make: (k) =>
      fileOf(
        'Start,Import (kWh),Net (kWh)',
        rowsOf(
          48,
          (i) => `${labelAt(i)},${i < k ? f(bought(i + 18)) : ''},${i < k ? f(net(i + 18)) : i % 5 === 0 ? '0.1' : ''}`,
        ),
      ),
  },
  'a net beside export alone, of a known unit or none, and what `repeats` makes of it': {
    rungs: steps(0, 7),
    make: (k) => ({
      text: fileOf(
        k % 2 === 0 ? 'Start,Export (kWh),Net (kWh)' : 'Start,Net,Export',
        rowsOf(WEEK, (i) => {
          const [one, other] = [f(1.3 * sold(i) + 0.1), f(net(i))];
          return `${labelAt(i)},${k % 2 === 0 ? `${one},${other}` : `${other},${one}`}`;
        }),
      ),
      ...(k < 2 ? {} : { options: { repeats: (['first', 'last', 'add'] as const)[(k >> 1) - 1]! } }),
    }),
  },
  'a total of kinds that misses its parts in so many of a thousand hours': {
    rungs: [0, 1, 4, 5, 6, 7, 20],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(1000, (i) => `${labelAt(i)},Day,${f(i % 3 === 0 ? 0 : drawn(i))}`),
        rowsOf(1000, (i) => `${labelAt(i)},Night,${f(i % 3 === 0 ? drawn(i) : 0)}`),
        rowsOf(1000, (i) => `${labelAt(i)},Total,${f(drawn(i) + (isAmong(i, k, 1000) ? 0.3 : 0))}`),
      ),
  },
  'a total of kinds that has parts beside it in so many of a hundred hours': {
    rungs: [50, 88, 89, 90, 91, 92, 100],
    make: (k) => {
      const there = (i: number) => (isAmong(i, k, 100) ? [i] : []);
      const places = rowsOf(200, String).flatMap((i) => there(Number(i)));
      return fileOf(
        'Start,Register,kWh',
        places.map((i) => `${labelAt(i)},Day,${f(i % 3 === 0 ? 0 : drawn(i))}`),
        places.map((i) => `${labelAt(i)},Night,${f(i % 3 === 0 ? drawn(i) : 0)}`),
        rowsOf(200, (i) => `${labelAt(i)},Total,${f(drawn(i))}`),
      );
    },
  },
  'a total of kinds that is off by thousandths of itself': {
    rungs: [0, 5, 9, 10, 11, 15, 40],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(WEEK, (i) => `${labelAt(i)},Day,${f(i % 3 === 0 ? 0 : 10)}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},Night,${f(i % 3 === 0 ? 10 : 0)}`),
        rowsOf(WEEK, (i) => `${labelAt(i)},Total,${f(10 * (1 + k / 1000))}`),
      ),
  },
  'so many minutes between readings': {
    rungs: [1, 2, 3, 4, 5, 6, 7, 10, 12, 15, 20, 25, 30, 40, 45, 55, 59, 60, 61, 90, 120, 1440],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(200, (i) => `${labelAt(i, k)},${f(drawn(i))}`),
      ),
  },
  'so many readings at another distance': {
    rungs: [2, 7, 8, 9, 22, 23, 24, 25, 26, 27, 60, 150],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(200, (i) => `${labelAt(i, 30)},${f(drawn(i))}`),
        rowsOf(k, (i) => `${labelAt(300 + i, 20)},${f(drawn(i))}`),
      ),
  },
  'a clock that drifts by so many seconds': {
    rungs: [1, 5, 20, 29, 30, 31, 60, 89, 90, 91, 300],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(WEEK, (i) => {
          const at = new Date(Date.UTC(2026, 0, 5) + i * 900_000 + (i % 4 === 3 ? k * 1000 : 0));
          return `${at.toISOString().slice(0, 19).replace('T', ' ')},${f(drawn(i, 4))}`;
        }),
      ),
  },
  'readings of which so many of a hundred are there': {
    rungs: [3, 10, 20, 30, 40, 48, 49, 50, 51, 52, 70, 90],
    make: (k) => {
      const places = rowsOf(400, String)
        .map(Number)
        .filter((i) => isAmong(i, k, 100));
      return fileOf(
        'Start,Usage (kWh)',
        places.map((i) => `${labelAt(i)},${f(drawn(i))}`),
      );
    },
  },
  'two steps of one thing, the coarser over so many hours': {
    rungs: [24, 60, 80, 84, 88, 150, 151, 152, 168, 180, 187, 190, 300, 400],
    make: (k) =>
      fileOf(
        'Start,Channel,kWh',
        rowsOf(WEEK * 4, (i) => `${labelAt(i, 15)},Import,${f(drawn(i, 4))}`),
        rowsOf(
          k,
          (i) => `${labelAt(i)},Import hourly,${f([0, 1, 2, 3].reduce((sum, q) => sum + drawn(4 * i + q, 4), 0))}`,
        ),
      ),
  },
  'two steps of one thing, the coarser larger by hundredths, with a unit and without': {
    rungs: [0, 5, 9, 10, 11, 12, 13, 50, 300, 310, 340],
    make: (k) =>
      fileOf(
        `Start,Channel,${k % 2 === 0 ? 'kWh' : 'Value'}`,
        rowsOf(WEEK * 4, (i) => `${labelAt(i, 15)},Import,${f(drawn(i, 4))}`),
        rowsOf(
          WEEK,
          (i) =>
            `${labelAt(i)},Import,${f((1 + k / 100) * [0, 1, 2, 3].reduce((sum, q) => sum + drawn(4 * i + q, 4), 0))}`,
        ),
      ),
  },
  'so much a day, in a unit that nothing says': {
    rungs: [
      0.3, 0.45, 0.55, 0.9, 1.1, 1.9, 2, 2.1, 10, 49, 51, 119, 121, 199, 201, 390, 410, 900, 5000, 49_000, 51_000,
      390_000, 410_000,
    ],
    make: (k) =>
      fileOf(
        'Start,Usage',
        rowsOf(96, (i) => `${labelAt(i)},${f(daily(k, i))}`),
      ),
  },
  'so much a day, in whole numbers of quarter hours': {
    rungs: [20, 60, 190, 210, 300, 500, 1900, 2100, 4900, 5100, 9000, 12_000, 24_000, 40_000, 49_000, 51_000, 130_000],
    make: (k) =>
      fileOf(
        'Start,Usage',
        rowsOf(384, (i) => `${labelAt(i, 15)},${f(daily(k, i, 4), 0)}`),
      ),
  },
  'a highest hour of so many kW, in a unit that nothing says': {
    rungs: [10, 22, 23, 24, 25, 26, 60, 99, 100, 101, 150],
    make: (k) =>
      fileOf(
        'Start,Usage',
        rowsOf(96, (i) => `${labelAt(i)},${f(i % 24 === 18 ? k : 0.5)}`),
      ),
  },
  'what is bought and made, in a unit that nothing says': {
    rungs: [1, 5, 20, 100, 1000, 20_000],
    make: (k) =>
      fileOf(
        'Start,Import,Export,Solar',
        rowsOf(96, (i) => `${labelAt(i)},${f(daily(5, i))},${f(k * 0.4 * sunny(i))},${f(k * sunny(i))}`),
      ),
  },
  'a bill of so many kWh, beside values in a unit that nothing says': {
    rungs: [10, 60, 66, 67, 68, 74, 75, 80, 82, 83, 100, 296, 300, 18_000, 74_000],
    make: (k) => ({
      text: fileOf(
        'Start,Usage',
        rowsOf(384, (i) => `${labelAt(i, 15)},${f(drawn(i, 4))}`),
      ),
      options: { billedKwh: k },
    }),
  },
  'what a value cost, in a unit that nothing says, by a stated price and without': {
    rungs: [0.001, 0.019, 0.021, 0.1, 0.2, 0.28, 0.3, 1.4, 1.6, 6, 20, 28, 31, 200],
    make: (k) => ({
      text: fileOf(
        'Start,Usage,Cost',
        rowsOf(96, (i) => `${labelAt(i)},${f(1000 * drawn(i), 0)},${(k * drawn(i)).toFixed(5)}`),
      ),
      options: k > 0.15 && k < 40 ? { pricePerKwh: 0.2 } : {},
    }),
  },
  'a total of the day that counts on over so many hours': {
    rungs: [30, 34, 35, 36, 37, 38, 48, 49, 72, 96],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(k, (i) => {
          let sum = 0;
          for (let j = i - (i % 24); j <= i; j++) sum += drawn(j);
          return `${labelAt(i)},${f(sum)}`;
        }),
      ),
  },
  'a total of the day that goes wrong on so many of twenty days': {
    rungs: [0, 1, 2, 3, 5],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(480, (i) => {
          let sum = 0;
          for (let j = i - (i % 24); j <= i; j++) sum += drawn(j);
          const falls = i % 24 === 13 && isAmong(Math.floor(i / 24), k, 20);
          return `${labelAt(i)},${f(falls ? 0.1 : sum)}`;
        }),
      ),
  },
  'a total of the day that rises in so many of its hours': {
    rungs: steps(1, 12),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(240, (i) => `${labelAt(i)},${f(0.5 * Math.max(1, Math.min(i % 24, k)) + 0.001 * Math.floor(i / 24))}`),
      ),
  },
  'a day’s sum beside its midnight, on so many days, off by so many thousandths': {
    rungs: [0, 1, 2, 3, 101, 102, 103, 104, 110, 150],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(5, String).flatMap((text) => {
          const d = Number(text);
          const hours = rowsOf(24, (h) => f(drawn(24 * d + h)));
          const sum = hours.reduce((all, each) => all + Number(each), 0);
          const day = hours.map((kwh, h) => `${labelAt(24 * d + h)},${kwh}`);
          return k < 100 && d >= k
            ? day
            : [...day, `${labelAt(24 * d)},${f(sum * (k < 100 ? 1 : 1 + (k - 101) / 1000), 4)}`];
        }),
      ),
  },
  'a register of so many rows': {
    rungs: [10, 23, 24, 25, 26, 40],
    make: (k) => hourly('Start,Usage (kWh)', k, (i) => 100 + 0.7 * i + 0.1 * drawn(i)),
  },
  'a register that steps back so often in a thousand rows': {
    rungs: [0, 1, 2, 3, 10],
    make: (k) => hourly('Start,Usage (kWh)', 1000, (i) => 100 + 0.7 * i + (isAmong(i, k, 1000) ? -2 : 0)),
  },
  'a register that rises in so many of a hundred rows': {
    rungs: [1, 2, 3, 4, 28, 29, 30, 31, 32],
    make: (k) => hourly('Start,Usage (kWh)', 100, (i) => 100 + Math.floor(((i + 1) * k) / 100)),
  },
  'a register of five digits that runs over, by a step so many times the largest': {
    rungs: [0.5, 1, 3, 3.9, 4, 4.1, 6],
    make: (k) => hourly('Start,Meter reading (kWh)', 60, (i) => (99_970 + i + (i > 30 ? k - 1 : 0)) % 100_000, 1),
  },
  'values so many times as large from a day on': {
    rungs: [50, 99, 101, 250, 290, 299, 301, 310, 1000, 3200, 3299, 3301, 3400],
    make: (k) => hourly('Start,Usage (kWh)', 480, (i) => (0.3 + 0.001 * (i % 24)) * (i >= 240 ? k : 1) * 0.01, 6),
  },
  'values a thousand times as large after so many days': {
    rungs: [1, 2, 3, 4, 13, 14, 15, 16],
    make: (k) => hourly('Start,Usage (kWh)', 480, (i) => drawn(i) * (i >= 24 * k ? 1000 : 1) * 0.01, 6),
  },
  'so many hours that stand there twice and differ': {
    rungs: [0, 1, 2, 3, 4, 5, 6, 12],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(1000, (i) => `${labelAt(i)},${f(drawn(i))}`),
        rowsOf(k, (i) => `${labelAt(40 * i + 30)},${f(drawn(i) + 0.5)}`),
      ),
  },
  'so many hours that stand there twice, and what `repeats` says of them': {
    rungs: steps(0, 8),
    make: (k) => ({
      text: fileOf(
        'Start,Usage (kWh)',
        rowsOf(WEEK, (i) => `${labelAt(i)},${f(drawn(i))}`),
        rowsOf(20, (i) => `${labelAt(i + 24)},${f(drawn(i + 24) + (i % 3 === 0 ? 0 : 0.5))}`),
        k >= 6 ? rowsOf(5, (i) => `${labelAt(i + 24)},${f(0.2 + i)}`) : [],
      ),
      options: { repeats: (['first', 'last', 'add'] as const)[k % 3]! },
    }),
  },
  'two columns of import that agree in all but so many of two hundred hours': {
    rungs: [0, 1, 2, 3, 20],
    make: (k) =>
      fileOf(
        'Start,Channel,kWh',
        rowsOf(200, (i) => `${labelAt(i)},Import A,${f(drawn(i))}`),
        rowsOf(200, (i) => `${labelAt(i)},Import B,${f(drawn(i) + (isAmong(i, k, 200) ? 0.2 : 0))}`),
      ),
  },
  'a copy of import that covers so many of a hundred hours': {
    rungs: [10, 88, 89, 90, 91, 92, 100],
    make: (k) =>
      fileOf(
        'Start,Channel,kWh',
        rowsOf(100, (i) => `${labelAt(i)},Import A,${f(drawn(i))}`),
        rowsOf(k, (i) => `${labelAt(i)},Import B,${f(drawn(i))}`),
        rowsOf(100 - k, (i) => `${labelAt(150 + i)},Import B,${f(drawn(i))}`),
      ),
  },
  'power beside energy in so many of a hundred hours': {
    rungs: [10, 88, 90, 91, 100],
    make: (k) =>
      fileOf(
        'Start,Units,Type,Value',
        rowsOf(100, (i) => `${labelAt(i)},kWh,Import,${f(drawn(i))}`),
        rowsOf(100, (i) => `${labelAt(i < k ? i : 150 + i)},kW,Import,${f(1.1 * drawn(i))}`),
      ),
  },
  'registers of two windows that count at once in so many of a hundred hours': {
    rungs: [0, 1, 5, 9, 10, 11, 15, 45, 49, 50, 51, 55, 80],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(100, (i) => `${labelAt(i)},Day,${f(i % 2 === 0 || isAmong(i >> 1, k, 50) ? drawn(i) : 0)}`),
        rowsOf(100, (i) => `${labelAt(i)},Night,${f(i % 2 === 1 || isAmong(i >> 1, k, 50) ? drawn(i + 3) : 0)}`),
      ),
  },
  'registers of two windows with so many hours in common': {
    rungs: [8, 11, 12, 13, 14, 24],
    make: (k) =>
      fileOf(
        'Start,Register,kWh',
        rowsOf(100, (i) => `${labelAt(i)},Day,${f(drawn(i))}`),
        rowsOf(100, (i) => `${labelAt(100 - k + i)},Night,${f(drawn(i + 3))}`),
      ),
  },
  'a column without a sign of so many rows': {
    rungs: [200, 334, 335, 336, 337, 338, 400],
    make: (k) => hourly('Start,Net (kWh)', k, drawn),
  },
  'whole kWh of so many rows': {
    rungs: [230, 238, 239, 240, 241, 242, 300],
    make: (k) => hourly('Start,Usage (kWh)', k, (i) => Math.floor(1.8 * drawn(i)), 0),
  },
  'whole kWh of which so many of a hundred are 0': {
    rungs: [0, 3, 4, 5, 6, 7, 50, 95],
    make: (k) => hourly('Start,Usage (kWh)', 300, (i) => (isAmong(i, k, 100) ? 0 : 3 + (i % 7)), 0),
  },
  'whole kWh, so many tenths each': {
    rungs: [5, 10, 50, 90, 99, 100, 101, 110, 200],
    make: (k) =>
      hourly('Start,Usage (kWh)', 300, (i) => (i % 10 === 0 ? 0 : Math.round((k / 10) * (0.8 + (i % 5) / 10))), 0),
  },
  'an hour in autumn that holds so many times what its neighbours do': {
    rungs: [0, 0.5, 1, 1.5, 1.59, 1.6, 1.61, 2],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(72, (i) => `${labelAt(i, 60, Date.UTC(2026, 9, 31))},${f(i === 25 ? k : i < 4 ? 0.7 : 1)}`),
      ),
  },
  'hours of a spring night, so many of them filled': {
    rungs: steps(0, 6),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(
          144,
          (i) =>
            `${labelAt(i, 30, Date.UTC(2026, 2, 7))},${f(i >= 52 && i < 58 ? (i - 52 < k ? 0.4 : 0) : drawn(i, 2))}`,
        ),
      ),
  },
  'quarters that repeat in an autumn night, so many of them': {
    rungs: steps(0, 8),
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(192, String)
          .map(Number)
          .flatMap((i) => {
            const row = `${labelAt(i, 15, Date.UTC(2026, 9, 31, 12))},${f(drawn(i, 4))}`;
            return i >= 52 && i < 52 + k ? [row, `${row.slice(0, 17)}0.${300 + i}`] : [row];
          }),
      ),
  },
  'hours of which so many of a hundred are alike': {
    rungs: [50, 85, 88, 89, 90, 91, 92, 100],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(400, (i) => `${labelAt(i, 15)},${f(isAmong(i >> 2, k, 100) ? drawn(i >> 2) / 4 : drawn(i, 4))}`),
      ),
  },
  'gross columns whose parts differ in so many hours': {
    rungs: [0, 1, 5, 11, 12, 13, 24, 100],
    make: (k) =>
      fileOf(
        'Start,Consumption (kWh),Generation (kWh),Export (kWh)',
        rowsOf(WEEK, (i) => `${labelAt(i)},${f(drawn(i))},${f(sunny(i))},${f(sold(i) + (i < k ? 0.5 : 0))}`),
      ),
  },
  'readings of so many minutes beside those of a quarter': {
    rungs: [14, 15, 16, 20, 22, 23, 30, 45, 60],
    make: (k) =>
      fileOf(
        'Start,End,kWh',
        rowsOf(
          100,
          (i) =>
            `${labelAt(i, 15)}Z,${new Date(Date.UTC(2026, 0, 5) + i * 900_000 + (i % 20 === 7 ? k : 15) * 60_000).toISOString().slice(0, 16).replace('T', ' ')}Z,${f(drawn(i, 4) * (i % 40 === 7 ? k / 15 : 1))}`,
        ),
      ),
  },
  'a span whose two ends lie so many weeks apart': {
    rungs: [1, 2, 4, 10, 50, 52, 100, 500, 3000],
    make: (k) =>
      fileOf(
        'Start,Usage (kWh)',
        rowsOf(100, (i) => `${labelAt(i)},${f(drawn(i))}`),
        rowsOf(100, (i) => `${labelAt(WEEK * k + i)},${f(drawn(i))}`),
      ),
  },
});
