import { type IntervalSeries, joinSeries, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';

// A register of the home's import whose name says that the meter counts on others as well is not the whole (docs/reference/interval-files.md).

const ZONE = 'Europe/Berlin';
const two = (n: number) => String(n).padStart(2, '0');
/** March 2026 up to the change of the clock. The home draws 0.3 kWh an hour from 8 to 20 h, else 0.2. */
const isHt = (day: number, hour: number) => hour >= 8 && hour < 20 && ((day - 1) % 7) + 1 < 7;
const drawnKwh = (hour: number) => (hour >= 8 && hour < 20 ? 0.3 : 0.2);
type Counts = (day: number, hour: number) => number;
const whole: Counts = (_, hour) => drawnKwh(hour);
const ht: Counts = (day, hour) => (isHt(day, hour) ? drawnKwh(hour) : 0);
const nt: Counts = (day, hour) => (isHt(day, hour) ? 0 : drawnKwh(hour));

const table = (from: number, to: number, names: readonly string[], counts: readonly Counts[]) => {
  const lines = [`Zeitpunkt;${names.join(';')}`];
  for (let day = from; day <= to; day++)
    for (let hour = 0; hour < 24; hour++)
      lines.push(
        [
          `${two(day)}.03.2026 ${two(hour)}:00`,
          ...counts.map((each) => String(each(day, hour)).replace('.', ',')),
        ].join(';'),
      );
  return [...lines, ''].join('\n');
};
const rows = (from: number, to: number, name: string, counts: Counts) => {
  const lines = ['Zeitpunkt;Tarif;Bezug kWh'];
  for (let day = from; day <= to; day++)
    for (let hour = 0; hour < 24; hour++)
      lines.push(`${two(day)}.03.2026 ${two(hour)}:00;${name};${String(counts(day, hour)).replace('.', ',')}`);
  return [...lines, ''].join('\n');
};
const nem12 = (suffix: string, configuration: string) => {
  const values = Array.from({ length: 48 }, (_, k) => (k < 8 ? '0.8' : '0')).join(',');
  const days = Array.from({ length: 14 }, (_, d) => `300,202603${two(d + 1)},${values},A,,,,`);
  return [
    '100,NEM12,202604010000,MDP,RET',
    `200,6000000001,${configuration},${suffix},${suffix},N1,M1,kWh,30,`,
    ...days,
    '900',
    '',
  ].join('\n');
};
const sumOf = (from: number, to: number, counts: Counts) => {
  let sum = 0;
  for (let day = from; day <= to; day++) for (let hour = 0; hour < 24; hour++) sum += counts(day, hour);
  return sum;
};

const parsed = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone: ZONE, ...options });
const read = (text: string, options: ParseOptions = {}): IntervalSeries => parsed(text, options).series!;
const alone = ({ findings }: Pick<ReturnType<typeof parsed>, 'findings'>) =>
  findings.filter(({ code }) => code === 'part-alone');
const known = ({ axis, importKwh }: IntervalSeries, from: number, to: number) => {
  const own = importKwh!.filter((_, i) => {
    const { dayOfMonth } = axis.calendar.days[axis.calendar.day[i]!]!;
    return dayOfMonth >= from && dayOfMonth <= to;
  });
  return { kwh: own.reduce((sum, kwh) => sum + (kwh || 0), 0), gaps: own.filter(Number.isNaN).length };
};

const files = (contents: Readonly<Record<string, string>>, meter: Readonly<Record<string, unknown>>[]) => {
  const all: Record<string, string> = {
    ...contents,
    'tariff.json': JSON.stringify({
      format: 'duskbank.tariff/1',
      name: 'Flat',
      utility: 'Invented Power',
      currency: 'EUR',
      windows: [{ name: 'always', otherwise: true, pricePerKwh: 0.3 }],
    }),
    'site.json': JSON.stringify({
      format: 'duskbank.site/1',
      name: 'Home',
      zone: ZONE,
      meter: { files: meter },
      tariff: 'tariff.json',
    }),
  };
  return loadSite('site.json', (path) => Promise.resolve(new TextEncoder().encode(all[path])));
};

describe('a register alone in a file', () => {
  test.each([
    ['HT', table(1, 28, ['Bezug HT (kWh)'], [ht]), 'column 2 "Bezug HT (kWh)"', sumOf(1, 28, ht)],
    ['NT', table(1, 28, ['Bezug NT (kWh)'], [nt]), 'column 2 "Bezug NT (kWh)"', sumOf(1, 28, nt)],
    ['night', table(1, 28, ['Nacht (kWh)'], [nt]), 'column 2 "Nacht (kWh)"', sumOf(1, 28, nt)],
    ['a second rate', table(1, 28, ['Bezug T2 (kWh)'], [whole]), 'column 2', sumOf(1, 28, whole)],
    ['rows', rows(1, 28, 'HT', ht), 'rows of "HT"', sumOf(1, 28, ht)],
    ['an OBIS code', rows(1, 28, '1-1:1.8.2', nt).replace('Tarif', 'OBIS'), 'rows of "1-1:1.8.2"', sumOf(1, 28, nt)],
    ['a circuit', table(1, 28, ['Controlled load (kWh)'], [nt]), 'column 2 "Controlled load (kWh)"', sumOf(1, 28, nt)],
  ])('is told with its energy: %s', (_, text, name, kwh) => {
    const data = parsed(text);
    expect(alone(data)).toMatchObject([
      { severity: 'warning', data: { parts: [name], role: 'import', energyKwh: expect.closeTo(kwh, 6) } },
    ]);
    expect(data.series!.parts).toMatchObject([{ alone: true }]);
  });

  test.each([
    ['HT', ht],
    ['NT', nt],
    ['Peak', ht],
    ['Off peak', nt],
    ['Tier 2', nt],
  ] as const)('is told where the name of its column has no unit, which is stated: %s', (name, counts) => {
    const data = parsed(table(1, 28, [name], [counts]), { unit: 'kWh' });
    expect(alone(data)).toMatchObject([
      { data: { role: 'import', energyKwh: expect.closeTo(sumOf(1, 28, counts), 6) } },
    ]);
    const stated = parsed(table(1, 28, [name], [counts]), { unit: 'kWh', channel: 'import' });
    expect(alone(stated)).toEqual([]);
    expect(known(stated.series!, 1, 28).kwh).toBeCloseTo(sumOf(1, 28, counts), 6);
  });

  test.each(['Rate 2', 'rate2', 'Second rate', 'E2', 'Register 2', 'Import register 2'])(
    'is told where all rows are of one that has a place alone: %s',
    (name) => {
      const text = rows(1, 28, name, nt).replace('Bezug kWh', 'kWh');
      for (const head of ['Register', 'Channel', 'Type']) {
        const data = parsed(text.replace('Tarif', head));
        expect(alone(data)).toMatchObject([{ data: { energyKwh: expect.closeTo(sumOf(1, 28, nt), 6) } }]);
        expect(alone(parsed(text.replace('Tarif', head), { rows: { [name]: 'import' } }))).toEqual([]);
        expect(alone(parsed(text.replace('Tarif', head), { channel: 'import' }))).toEqual([]);
      }
    },
  );

  test('is told in a column of no known name too, but for two letters that may say anything', () => {
    const text = rows(1, 28, 'Rate 2', whole).replace('Bezug kWh', 'kWh');
    for (const head of ['Tarif', 'Rate', 'Plan'])
      expect(alone(parsed(text.replace('Tarif', head)))).toMatchObject([{ data: { parts: ['rows of "Rate 2"'] } }]);
    expect(alone(parsed(text.replaceAll('Rate 2', 'E2').replace('Tarif', 'Plan')))).toEqual([]);
  });

  test.each([
    ['a first rate that counts at all hours', 'Rate 1', whole],
    ['a first register', 'Register 1', whole],
    ['a first stream', 'E1', whole],
    ['a number alone', '1', whole],
  ])('is not told of rows by their place: %s', (_, name, counts) => {
    const data = parsed(rows(1, 28, name, counts).replace('Tarif', 'Register'));
    expect(alone(data)).toEqual([]);
    expect(known(data.series!, 1, 28)).toEqual({ kwh: expect.closeTo(sumOf(1, 28, counts), 6), gaps: 0 });
  });

  test('is not told of the register of what is bought beside one of what is sold', () => {
    const sold = rows(1, 28, 'Register 1 export', (_, hour) => (hour === 12 ? 0.4 : 0));
    const bought = rows(1, 28, 'Register 2 import', whole);
    const both = [...bought.trimEnd().split('\n'), ...sold.split('\n').slice(1)].join('\n');
    const data = parsed(both.replace('Tarif', 'Register').replace('Bezug kWh', 'kWh'));
    expect(alone(data)).toEqual([]);
    expect(data.series).toMatchObject({ importKwh: expect.anything(), exportKwh: expect.anything() });
  });

  test('E2 of NEM12 without E1, unless the configuration says that there is no other and it counts at all hours', () => {
    const zone = 'Australia/Brisbane';
    const always = (suffix: string) => nem12(suffix, suffix).replaceAll(',0,', ',0.1,').replaceAll(',0,', ',0.1,');
    expect(alone(parsed(nem12('E2', ''), { zone }))).toMatchObject([{ data: { parts: ['register E2'] } }]);
    expect(alone(parsed(always('E2').replaceAll(',E2,E2,E2,', ',,E2,E2,'), { zone }))).toHaveLength(1);
    expect(alone(parsed(always('E2'), { zone }))).toEqual([]);
    expect(alone(parsed(always('E1'), { zone }))).toEqual([]);
    expect(alone(parsed(nem12('E1', 'E1'), { zone }))).toMatchObject([{ data: { silent: { from: '04:00' } } }]);
  });

  test.each([
    ['a name of the whole', 'Bezug (kWh)', whole],
    ['a total', 'Total (kWh)', whole],
    ['general usage', 'General usage (kWh)', whole],
    ['a first rate that counts at all hours', 'Bezug T1 (kWh)', whole],
    ['a day that counts at all hours', 'Day (kWh)', whole],
    ['HT on which all is counted, as there is one price', 'Bezug HT (kWh)', whole],
    [
      'a home that the sun carries at noon',
      'Bezug T1 (kWh)',
      // Clouds, and what is cooked, move the hours from day to day.
      ((day, hour) => (hour >= 9 + (day % 3) && hour < 17 - (day % 4) && day % 5 > 0 ? 0 : 0.2)) as Counts,
    ],
  ])('is the whole, and nothing is told: %s', (_, name, counts) => {
    const data = parsed(table(1, 28, [name], [counts]));
    expect(alone(data)).toEqual([]);
    expect(known(data.series!, 1, 28)).toEqual({ kwh: expect.closeTo(sumOf(1, 28, counts), 6), gaps: 0 });
  });

  test.each([
    ['channel', { channel: 'import' }],
    ['columns and channel', { columns: { import: 2 }, channel: 'import' }],
    ['a bill', { billedKwh: sumOf(1, 28, nt) }],
  ] as const)('is all where the user says so: %s', (_, stated) => {
    const data = parsed(table(1, 28, ['Bezug NT (kWh)'], [nt]), stated);
    expect(alone(data)).toEqual([]);
    expect(known(data.series!, 1, 28).kwh).toBeCloseTo(sumOf(1, 28, nt), 6);
  });

  test.each(['Bezug HT (kWh)', 'Day', 'HT', 'Rate 1 kWh', 'Tier 2', 'Usage Day kWh'])(
    'is not all because its column is named: %s',
    (name) => {
      const options = { unit: 'kWh', columns: { import: 2, start: 1 } } as const;
      const data = parsed(table(1, 28, [name], [ht]), options);
      expect(alone(data)).toMatchObject([{ data: { energyKwh: expect.closeTo(sumOf(1, 28, ht), 6) } }]);
      const stated = parsed(table(1, 28, [name], [ht]), { ...options, channel: 'import' });
      expect(alone(stated)).toEqual([]);
      expect(known(stated.series!, 1, 28).kwh).toBeCloseTo(sumOf(1, 28, ht), 6);
      const all = parsed(table(1, 28, [name], [whole]), options);
      expect(alone(all)).toHaveLength(name === 'Tier 2' ? 1 : 0);
    },
  );

  test('that is named in its file and beside others is told with them', () => {
    const text = table(1, 28, ['HT (kWh)', 'NT (kWh)'], [ht, nt]);
    const data = parsed(text, { columns: { import: 2 } });
    expect(alone(data)).toEqual([]);
    expect(data.findings).toContainEqual(expect.objectContaining({ code: 'columns-beside' }));
    expect(alone(parsed(text, { columns: { import: [2, 3] } }))).toEqual([]);
  });

  test('keeps the name of its column beside a file in which several are stated', async () => {
    const texts = {
      'a.csv': table(1, 14, ['Day', 'Night'], [ht, nt]),
      'b.csv': table(15, 27, ['Day'], [ht]),
      'c.csv': table(15, 27, ['Night'], [nt]),
    };
    const a = { path: 'a.csv', unit: 'kWh', columns: { import: [2, 3], start: 1 } };
    const one = (path: string) => ({ path, unit: 'kWh', columns: { import: 2, start: 1 } });
    const refused = await files(texts, [a, one('b.csv')]).catch((error) => error);
    expect(refused.issues).toMatchObject([{ code: 'gap' }]);
    const loaded = await files(texts, [a, one('b.csv'), one('c.csv')]);
    expect(loaded.case.loadKwh.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(sumOf(1, 27, whole), 6);
  });

  test('is all where its rows are stated', () => {
    expect(alone(parsed(rows(1, 28, 'NT', nt), { rows: { NT: 'import' } }))).toEqual([]);
    expect(alone(parsed(rows(1, 28, 'NT', nt), { channel: 'import' }))).toEqual([]);
  });

  test('stops a study, and the way out that is printed works', async () => {
    const text = table(1, 28, ['Bezug NT (kWh)'], [nt]);
    const refused = await files({ 'nt.csv': text }, [{ path: 'nt.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([
      { code: 'part-alone', where: { file: 'nt.csv' }, hint: expect.stringContaining('{ path: …, channel: import }') },
    ]);
    const loaded = await files({ 'nt.csv': text }, [{ path: 'nt.csv', channel: 'import' }]);
    expect(loaded.case.loadKwh.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(sumOf(1, 28, nt), 6);
    const both = await files({ 'nt.csv': text, 'ht.csv': table(1, 28, ['Bezug HT (kWh)'], [ht]) }, [
      { path: 'nt.csv' },
      { path: 'ht.csv' },
    ]);
    expect(both.case.loadKwh.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(sumOf(1, 28, whole), 6);
  });

  test('in each of several files is so in all of them', async () => {
    const texts = { 'a.csv': table(1, 14, ['Bezug NT (kWh)'], [nt]), 'b.csv': table(15, 27, ['Bezug NT (kWh)'], [nt]) };
    const refused = await files(texts, [{ path: 'a.csv' }, { path: 'b.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([
      { code: 'part-alone', where: { file: 'a.csv' } },
      { code: 'part-alone', where: { file: 'b.csv' } },
    ]);
  });

  test('and another of the same side under another name lack their counterpart together', () => {
    const joined = joinSeries([read(table(1, 14, ['Bezug HT (kWh)'], [ht])), read(table(15, 28, ['Tag (kWh)'], [ht]))]);
    expect(joined.series!.parts!.some((part) => part.alone === true)).toBe(true);
  });
});

describe('a register alone beside a file of the whole', () => {
  const total = table(1, 14, ['Bezug (kWh)'], [whole]);
  test.each([
    ['in columns', table(15, 28, ['Bezug NT (kWh)'], [nt]), 'column 2 "Bezug NT (kWh)"'],
    ['in rows', rows(15, 28, 'NT', nt), 'rows of "NT"'],
  ])('is not all that was drawn on its days, which are gaps that are told: %s', (_, text, name) => {
    for (const both of [
      [read(total), read(text)],
      [read(text), read(total)],
    ]) {
      const joined = joinSeries(both);
      expect(known(joined.series!, 1, 14)).toEqual({ kwh: expect.closeTo(sumOf(1, 14, whole), 6), gaps: 0 });
      expect(known(joined.series!, 15, 28)).toEqual({ kwh: 0, gaps: 14 * 24 });
      expect(alone(joined)).toMatchObject([
        {
          data: {
            parts: [name],
            energyKwh: expect.closeTo(sumOf(15, 28, nt), 6),
            days: 14,
            runs: [{ from: '2026-03-15', to: '2026-03-28' }],
          },
        },
      ]);
    }
  });

  test('has its name without a unit too', () => {
    const bare = (from: number, to: number, name: string, counts: Counts) =>
      read(table(from, to, [name], [counts]), { unit: 'kWh' });
    const both = read(table(1, 14, ['Bezug HT (kWh)', 'Bezug NT (kWh)'], [ht, nt]));
    const afterBoth = joinSeries([both, bare(15, 28, 'HT', ht)]);
    expect(known(afterBoth.series!, 1, 14).kwh).toBeCloseTo(sumOf(1, 14, whole), 6);
    expect(known(afterBoth.series!, 15, 28)).toEqual({ kwh: 0, gaps: 14 * 24 });
    expect(known(joinSeries([read(total), bare(15, 28, 'HT', ht)]).series!, 15, 28)).toEqual({ kwh: 0, gaps: 14 * 24 });
    const inTurn = joinSeries([bare(1, 14, 'HT', ht), bare(15, 28, 'NT', nt)]);
    expect(known(inTurn.series!, 1, 28)).toEqual({ kwh: 0, gaps: 28 * 24 });
    const together = joinSeries([bare(1, 28, 'HT', ht), bare(1, 28, 'NT', nt)]);
    expect(known(together.series!, 1, 28)).toEqual({ kwh: expect.closeTo(sumOf(1, 28, whole), 6), gaps: 0 });
    expect(alone(together)).toEqual([]);
  });

  test('has its name by its place too: beside a file of both, its days are not known', () => {
    const one = rows(1, 14, 'Rate 1', ht);
    const both = [...one.trimEnd().split('\n'), ...rows(1, 14, 'Rate 2', nt).split('\n').slice(1)].join('\n');
    const first = read(both.replace('Tarif', 'Register'), { rows: { 'Rate 1': 'import', 'Rate 2': 'import' } });
    const alone1 = read(rows(15, 28, 'Rate 1', ht).replace('Tarif', 'Register'));
    const joined = joinSeries([first, alone1]).series!;
    expect(known(joined, 1, 14)).toEqual({ kwh: expect.closeTo(sumOf(1, 14, whole), 6), gaps: 0 });
    expect(known(joined, 15, 28)).toEqual({ kwh: 0, gaps: 14 * 24 });
    const alone2 = read(rows(15, 28, 'Rate 2', nt).replace('Tarif', 'Register'));
    expect(known(joinSeries([first, alone1, alone2]).series!, 1, 28)).toEqual({
      kwh: expect.closeTo(sumOf(1, 28, whole), 6),
      gaps: 0,
    });
  });

  test('is told with the gap that refuses the study, and read where it is said to be all', async () => {
    const texts = { 'a.csv': total, 'b.csv': table(15, 28, ['Bezug NT (kWh)'], [nt]) };
    const refused = await files(texts, [{ path: 'a.csv' }, { path: 'b.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([{ code: 'gap', received: expect.stringContaining('Bezug NT') }]);
    const loaded = await files(texts, [{ path: 'a.csv' }, { path: 'b.csv', channel: 'import' }]);
    expect(loaded.case.loadKwh.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(
      sumOf(1, 14, whole) + sumOf(15, 28, nt),
      6,
    );
  });

  test('is known where a third file holds its counterpart', () => {
    const joined = joinSeries([
      read(total),
      read(table(15, 28, ['Bezug NT (kWh)'], [nt])),
      read(table(15, 28, ['Bezug HT (kWh)'], [ht])),
    ]);
    expect(known(joined.series!, 1, 28)).toEqual({ kwh: expect.closeTo(sumOf(1, 28, whole), 6), gaps: 0 });
    expect(alone(joined)).toEqual([]);
  });

  test('is not shown to be all by a day on which it alone counts', () => {
    const joined = joinSeries([read(total), read(table(14, 28, ['Bezug NT (kWh)'], [nt]))]);
    expect(known(joined.series!, 1, 14)).toEqual({ kwh: expect.closeTo(sumOf(1, 14, whole), 6), gaps: 0 });
    expect(known(joined.series!, 15, 28).gaps).toBe(14 * 24);
  });

  test('that agrees with the whole for a week is all of it', () => {
    const flat: Counts = (_, hour) => (hour < 6 ? 0.5 : 0);
    const joined = joinSeries([
      read(table(1, 21, ['Bezug (kWh)'], [flat])),
      read(table(8, 28, ['Bezug NT (kWh)'], [flat])),
    ]);
    expect(known(joined.series!, 1, 28)).toEqual({ kwh: expect.closeTo(28 * 3, 6), gaps: 0 });
    expect(alone(joined)).toEqual([]);
  });
});

describe('hours in which nothing counts, whatever the name', () => {
  const weekend: Counts = (day, hour) => ((day - 1) % 7 < 6 && day % 7 !== 0 ? 0 : drawnKwh(hour));
  const butNoon: Counts = (_, hour) => (hour >= 10 && hour < 15 ? 0 : drawnKwh(hour));

  test.each([
    ['a column of what is used', table(1, 28, ['Usage (kWh)'], [nt]), 'column 2 "Usage (kWh)"', nt],
    ['a column of no known name', table(1, 28, ['Zorro (kWh)'], [nt]), 'column 2', nt],
    ['a weekend', table(1, 28, ['Weekend (kWh)'], [weekend]), 'column 2', weekend],
    ['all but noon', table(1, 28, ['Off-peak (kWh)'], [butNoon]), 'column 2 "Off-peak (kWh)"', butNoon],
    ['rows of a number', rows(1, 28, '2', nt).replace('Tarif', 'Register'), 'rows of "2"', nt],
    [
      'rows of a first register',
      rows(1, 28, 'Register 1', ht).replace('Tarif', 'Register'),
      'rows of "Register 1"',
      ht,
    ],
    ['rows of a first stream', rows(1, 28, 'E1', ht).replace('Tarif', 'Register'), 'rows of "E1"', ht],
    ['register E1', nem12('E1', ''), 'register E1', undefined],
  ])('are told, with the energy, and a statement that it is all is believed: %s', (_, text, name, counts) => {
    const zone = name === 'register E1' ? 'Australia/Brisbane' : ZONE;
    const data = parsed(text, { zone });
    const kwh = counts === undefined ? 14 * 8 * 0.8 : sumOf(1, 28, counts);
    expect(alone(data)).toMatchObject([
      { severity: 'warning', data: { parts: [name], role: 'import', energyKwh: expect.closeTo(kwh, 6) } },
    ]);
    expect(alone(parsed(text, { zone, channel: 'import' }))).toEqual([]);
    expect(alone(parsed(text, { zone, billedKwh: kwh }))).toEqual([]);
  });

  test('are told by the clock, and from when to when they show', () => {
    const data = parsed(table(1, 28, ['Usage (kWh)'], [ht]));
    expect(alone(data)).toMatchObject([
      {
        data: {
          unnamed: true,
          silent: { first: '2026-03-01', last: '2026-03-28', on: 'Sat', from: '00:00', to: '24:00' },
        },
      },
    ]);
    const night = alone(parsed(table(1, 28, ['Usage (kWh)'], [nt])))[0]!;
    expect(night.data.silent).toMatchObject({ on: 'Mon–Fri', from: '08:00', to: '20:00' });
    expect(night.message).toContain('nothing counts in the same hours of every week (Mon–Fri from 08:00 to 20:00)');
  });

  test('are so in a part of the data alone, and on a holiday not', () => {
    const year = (counts: (day: number, hour: number) => number) => {
      const lines = ['Zeitpunkt;Bezug HT (kWh)'];
      for (let day = 0; day < 120; day++)
        for (let hour = 0; hour < 24; hour++) {
          const at = new Date(Date.UTC(2026, 3, 1 + day, hour)).toISOString();
          lines.push(`${at.slice(0, 10)} ${at.slice(11, 16)};${String(counts(day, hour)).replace('.', ',')}`);
        }
      return parsed([...lines, ''].join('\n'));
    };
    expect(alone(year((_, hour) => drawnKwh(hour)))).toEqual([]);
    const early = year((day, hour) => (day < 40 && (hour < 6 || hour >= 22) ? 0 : drawnKwh(hour)));
    expect(alone(early)).toMatchObject([{ data: { silent: { from: '00:00', to: '06:00' } } }]);
    const late = year((day, hour) => (day >= 80 && hour >= 10 && hour < 15 ? 0 : drawnKwh(hour)));
    expect(alone(late)).toMatchObject([{ data: { silent: { first: '2026-06-24', from: '10:00', to: '15:00' } } }]);
    const holidays = year((day, hour) => (hour < 6 && day !== 2 && day !== 5 ? 0 : drawnKwh(hour)));
    expect(alone(holidays)).toHaveLength(1);
  });

  test('are not those in which the home sells, nor those of a meter of whole kWh', () => {
    const sun: Counts = (_, hour) => (hour >= 9 && hour < 16 ? 0.7 : 0);
    const bought: Counts = (_, hour) => (hour >= 9 && hour < 16 ? 0 : drawnKwh(hour));
    expect(alone(parsed(table(1, 28, ['Bezug (kWh)', 'Einspeisung (kWh)'], [bought, sun])))).toEqual([]);
    const atNight: Counts = (day, hour) => (hour < 5 ? 0 : bought(day, hour));
    expect(alone(parsed(table(1, 28, ['Bezug (kWh)', 'Einspeisung (kWh)'], [atNight, sun])))).toHaveLength(1);
    const whole1: Counts = (day, hour) => ((day * 7 + hour * 5) % 4 === 0 ? 1 : 0);
    expect(alone(parsed(table(1, 28, ['Bezug (kWh)'], [whole1])))).toEqual([]);
  });

  test('stop a study, also beside another file, until the file is said to hold all', async () => {
    const texts = { 'a.csv': table(1, 14, ['Bezug (kWh)'], [whole]), 'b.csv': table(15, 28, ['Usage (kWh)'], [nt]) };
    const refused = await files(texts, [{ path: 'a.csv' }, { path: 'b.csv' }]).catch((error) => error);
    expect(refused.issues).toMatchObject([{ code: 'part-alone', where: { file: 'b.csv' } }]);
    const loaded = await files(texts, [{ path: 'a.csv' }, { path: 'b.csv', channel: 'import' }]);
    const kwh = sumOf(1, 14, whole) + sumOf(15, 28, nt);
    expect(loaded.case.loadKwh.reduce((sum, each) => sum + each, 0)).toBeCloseTo(kwh, 6);
  });
});
