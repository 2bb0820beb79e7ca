// Layouts that were refused or misread, and files that are no meter data.
import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

const BERLIN = 'Europe/Berlin';
const read = (lines: readonly string[], options: ParseOptions = {}) =>
  parseIntervalData(`${lines.join('\n')}\n`, { zone: BERLIN, ...options });
const codes = (lines: readonly string[], options?: ParseOptions) =>
  read(lines, options).findings.map(({ code }) => code);
const sum = (values: Float64Array | undefined) => values?.reduce((all, kwh) => all + (Number.isNaN(kwh) ? 0 : kwh), 0);
const two = (number: number) => String(number).padStart(2, '0');
/** Two days of hours, from 0.1 to 0.57 kWh, up and down. */
const hours = Array.from({ length: 48 }, (_, i) => ({
  day: 3 + Math.floor(i / 24),
  hour: i % 24,
  kwh: 0.1 + ((i * 29) % 48) / 100,
}));
const TOTAL = hours.reduce((all, { kwh }) => all + kwh, 0);
const table = (header: string, row: (each: (typeof hours)[number]) => string) => [header, ...hours.map(row)];

describe('columns', () => {
  test('a second column without a unit takes no energy’s place, and that it is not read is told', () => {
    for (const second of ['Load', 'House', 'Value', 'Power', 'Total']) {
      const lines = table(
        `Start,Consumption (kWh),${second}`,
        ({ day, hour, kwh }) => `2025-06-0${day} ${two(hour)}:00,${kwh.toFixed(3)},${(1.3 * kwh).toFixed(3)}`,
      );
      const { series, findings } = read(lines);
      expect(sum(series?.importKwh), second).toBeCloseTo(TOTAL, 9);
      expect(series?.loadKwh, second).toBeUndefined();
      expect(findings.find(({ code }) => code === 'columns-ignored')?.message, second).toContain(second);
    }
  });
});

describe('labels', () => {
  test('start and end in one cell', () => {
    const lines = table(
      'Zeitraum;Bezug (kWh)',
      ({ day, hour, kwh }) =>
        `0${day}.06.2025 ${two(hour)}:00 - 0${day}.06.2025 ${two(hour)}:59;${kwh.toFixed(3).replace('.', ',')}`,
    );
    const { series } = read(lines);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
    expect(series?.axis.startEpochMs).toBe(Date.UTC(2025, 5, 2, 22));
  });

  test('both times in a cell beside the date: a hyphen between them is no offset', () => {
    const lines = table(
      'Date,Time,Import (kWh)',
      ({ day, hour, kwh }) => `2025-06-0${day},${two(hour)}:00-${two((hour + 1) % 24)}:00,${kwh.toFixed(3)}`,
    );
    const { series } = read(lines);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
    expect(series?.axis.startEpochMs).toBe(Date.UTC(2025, 5, 2, 22));
  });

  test('hour numbers that count on through both clock changes', () => {
    // 2025-03-30 has 23 hours in Berlin, 2025-10-26 has 25.
    for (const [date, next, length] of [
      ['2025-03-30', '2025-03-31', 23],
      ['2025-10-26', '2025-10-27', 25],
    ] as const) {
      const rows = [date, next].flatMap((day) =>
        Array.from({ length: day === date ? length : 24 }, (_, k) => `${day};${k + 1};${(0.2 + k / 100).toFixed(2)}`),
      );
      const { series, findings } = read(['Fecha;Hora;Consumo (kWh)', ...rows]);
      expect(series?.axis.intervals, date).toBe(length + 24);
      expect(
        findings.filter(({ severity }) => severity === 'error'),
        date,
      ).toEqual([]);
      expect(series?.importKwh?.[length - 1], date).toBeCloseTo(0.2 + (length - 1) / 100, 12);
    }
  });

  test('dates as a spreadsheet counts them', () => {
    // 45811 is 2025-06-03.
    const lines = table(
      'Timestamp;Usage kWh',
      ({ day, hour, kwh }) => `${(45_808 + day + hour / 24).toFixed(7)};${kwh}`,
    );
    const { series } = read(lines);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
    expect(series?.axis.startEpochMs).toBe(Date.UTC(2025, 5, 2, 22));
  });

  test('a meter’s number is no instant, even beside seconds since 1970', () => {
    const lines = hours.map(({ kwh }, i) => `1712345678,${1_748_900_000 + 3600 * i - (1_748_900_000 % 3600)},${kwh}`);
    const { series } = read(['Meter,Time,Import kWh', ...lines]);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
  });
});

describe('values', () => {
  test('a unit behind each value is read, another one in the column is not', () => {
    const lines = table(
      'Datum;Uhrzeit;Verbrauch',
      ({ day, hour, kwh }) => `0${day}.06.2025;${two(hour)}:00;${kwh.toFixed(3).replace('.', ',')} kWh`,
    );
    expect(sum(read(lines).series?.importKwh)).toBeCloseTo(TOTAL, 9);
    const mixed = [...lines.slice(0, -1), lines.at(-1)!.replace(/[\d,]+ kWh/, '290 Wh')];
    expect(codes(mixed)).toContain('not-a-number');
  });

  test('energy from the grid is a value, not the time that something starts from', () => {
    const lines = table(
      'Date,Time,Energy from grid,Energy to grid,Unit',
      ({ day, hour, kwh }) => `2025-06-0${day},${two(hour)}:00,${kwh},0.05,kWh`,
    );
    const { series } = read(lines);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
    expect(sum(series?.exportKwh)).toBeCloseTo(48 * 0.05, 9);
  });

  test('self-consumption is neither bought nor the load', () => {
    const lines = table(
      'Datum;Uhrzeit;Eigenverbrauch (kWh);Netzbezug (kWh)',
      ({ day, hour, kwh }) => `0${day}.06.2025;${two(hour)}:00;0,9;${kwh.toFixed(3).replace('.', ',')}`,
    );
    expect(sum(read(lines).series?.importKwh)).toBeCloseTo(TOTAL, 9);
  });
});

describe('files that are no meter data', () => {
  const named = (header: string, cells: string) => {
    const { series, findings } = read(table(header, ({ day, hour }) => `2025-06-0${day} ${two(hour)}:00,${cells}`));
    expect(series).toBeUndefined();
    return findings.find(({ code }) => code === 'not-meter-data')?.data.holds;
  };
  test('are named for what they hold, whatever unit stands in their names', () => {
    expect(named('time,GHI (W/m2),Temperature', '310,18.5')).toBe('weather');
    expect(named('time,Globalstrahlung W/m²,wind', '310,3.5')).toBe('weather');
    expect(named('time,Price (EUR/MWh)', '84.2')).toBe('prices');
    expect(named('time,Strompreis ct/kWh', '28.2')).toBe('prices');
    expect(named('time,Gas m3', '0.2')).toBe('gas-or-water');
  });
});

describe('how data were metered', () => {
  const axis = makeAxis({ startEpochMs: Date.UTC(2025, 5, 2, 22), stepMinutes: 15, intervals: 20 * 96, zone: BERLIN });
  const text = (kwh: (i: number) => number) => [
    'start,import kWh',
    ...Array.from(
      { length: axis.intervals },
      (_, i) => `${new Date(axis.startEpochMs + i * 900_000).toISOString()},${kwh(i).toFixed(3)}`,
    ),
  ];

  test('hourly data written four times an hour are told, with what they make', () => {
    const hourly = read(text((i) => 0.05 + ((Math.floor(i / 4) * 37) % 100) / 400));
    const found = hourly.findings.find(({ code }) => code === 'hourly-in-quarters');
    expect(found?.severity).toBe('warning');
    expect(found?.message).toContain('written 4 times an hour');
    // 0.05 kWh and the mean of 0 … 99 four-hundredths, 96 times a day: each hour counts once, four times over.
    const mean =
      Array.from({ length: 480 }, (_, h) => 0.05 + ((h * 37) % 100) / 400).reduce((sum, kwh) => sum + kwh) / 480;
    expect(found?.data?.kwhADay).toBeCloseTo(mean * 96, 1);
    // Three quarters of an hour at the end are no hour.
    const cut = read(text((i) => 0.05 + ((Math.floor(i / 4) * 37) % 100) / 400).slice(0, -1));
    const whole = Array.from({ length: 479 }, (_, h) => Number((0.05 + ((h * 37) % 100) / 400).toFixed(3)));
    expect(cut.findings.find(({ code }) => code === 'hourly-in-quarters')?.data?.kwhADay).toBeCloseTo(
      (whole.reduce((sum, kwh) => sum + kwh) * 4 * 24) / (480 - 0.25),
      6,
    );
    // Hours of nothing tell nothing: the other eight of the day do.
    const night = text((i) => (i % 96 < 64 ? 0 : 0.05 + ((Math.floor(i / 4) * 37) % 100) / 400));
    expect(codes(night)).toContain('hourly-in-quarters');
    expect(codes(text((i) => 0.05 + ((i * 37) % 100) / 400))).not.toContain('hourly-in-quarters');
  });

  test('what they hold stays open until a bill or a scale settles it; power is of its own step', () => {
    const rows = text((i) => 0.05 + ((Math.floor(i / 4) * 37) % 100) / 400);
    const settled = (lines: readonly string[], options: object = {}) =>
      parseIntervalData(lines.join('\n'), { zone: BERLIN, ...options }).findings.find(
        ({ code }) => code === 'hourly-in-quarters',
      )?.data?.settled;
    const { importKwh } = parseIntervalData(rows.join('\n'), { zone: BERLIN }).series!;
    const kwh = importKwh!.reduce((sum, value) => sum + value, 0);
    expect(settled(rows)).toBe(false);
    expect(settled(rows, { billedKwh: kwh })).toBe(true);
    expect(settled(rows, { billedKwh: kwh / 4 })).toBe(false);
    expect(settled(rows, { billedKwh: kwh / 4, adjust: { scale: { import: 0.25 } } })).toBe(true);
    expect(settled(rows, { adjust: { scale: { import: 1 } } })).toBe(true);
    expect(settled(['start,import kW', ...rows.slice(1)])).toBe(true);
  });

  test.each([
    [1.02, undefined],
    [0.98, undefined],
    [1.04, false],
    [0.96, false],
    [1.95, true],
    [0.5, true],
  ])('a bill of %f times what is metered: told, and whether savings are withheld: %s', (times, withheld) => {
    const rows = text((i) => 0.05 + ((i * 37) % 100) / 400).join('\n');
    const kwh = parseIntervalData(rows, { zone: BERLIN }).series!.importKwh!.reduce((sum, value) => sum + value, 0);
    const { findings } = parseIntervalData(rows, { zone: BERLIN, unit: 'kWh', billedKwh: kwh * times });
    const found = findings.find(({ code }) => code === 'billed-differs');
    expect(found?.data?.withheld).toBe(withheld);
    if (withheld !== undefined) expect(found!.data).toMatchObject({ billedKwh: kwh * times });
  });

  test('a steady small base load by night is no meter that hangs; a high value held for hours is', () => {
    const quiet = Float64Array.from({ length: axis.intervals }, (_, i) =>
      i % 96 < 40 ? 0.012 : 0.05 + ((i * 37) % 101) / 400,
    );
    const stuck = ({ code }: { code: string }) => code === 'stuck-value';
    expect(checkMetering({ axis, importKwh: quiet }).some(stuck)).toBe(false);
    const hung = Float64Array.from(quiet);
    hung.fill(0.271, 96 * 5 + 40, 96 * 5 + 90);
    expect(checkMetering({ axis, importKwh: hung }).some(stuck)).toBe(true);
  });

  test.each([
    { stepMinutes: 60, least: 8 },
    { stepMinutes: 30, least: 12 },
    { stepMinutes: 15, least: 24 },
    { stepMinutes: 5, least: 72 },
  ])('as many hours as it says, and not one reading less: $stepMinutes minutes', ({ stepMinutes, least }) => {
    const days = makeAxis({
      startEpochMs: axis.startEpochMs,
      stepMinutes,
      intervals: (28 * 1440) / stepMinutes,
      zone: BERLIN,
    });
    const found = (held: number) => {
      const kwh = Float64Array.from({ length: days.intervals }, (_, i) => 0.05 + ((i * 37) % 499) / 1000);
      kwh.fill(0.4715, 300, 300 + held);
      return checkMetering({ axis: days, importKwh: kwh }).find(({ code }) => code === 'stuck-value');
    };
    expect(found(least - 1)).toBeUndefined();
    const fault = found(least)!;
    expect(fault.data).toMatchObject({ intervals: least, leastHours: (least * stepMinutes) / 60 });
    expect(fault.message).toContain(`for ${(least * stepMinutes) / 60} hours or more`);
  });
});

describe('dates printed once a day', () => {
  const lines = (row: (each: (typeof hours)[number], date: string) => string) =>
    table('Datum;Uhrzeit;Verbrauch kWh', (each) => row(each, each.hour === 0 ? `2025-06-0${each.day}` : ''));

  test('a blank one is the date above, and that is told', () => {
    const { series, findings, layout } = read(
      lines(({ hour, kwh }, date) => `${date};${two(hour)}:00;${kwh.toFixed(3).replace('.', ',')}`),
    );
    expect(findings.map(({ code }) => code)).not.toContain('row-without-time');
    expect(series?.axis.intervals).toBe(48);
    expect(sum(series?.importKwh)).toBeCloseTo(TOTAL, 9);
    expect(series?.importKwh?.[25]).toBeCloseTo(hours[25]!.kwh, 9);
    expect(layout.evidence.join()).toContain('a blank one is the date above');
  });

  test('is not the date above where the clock has gone back by more than an hour: nobody knows the day', () => {
    // The date of the second of three days is missing altogether.
    const rows = lines(({ hour, kwh }, date) => `${date};${two(hour)}:00;${kwh.toFixed(3)}`);
    const third = rows.slice(1, 25).map((row) => row.replace('2025-06-03', '2025-06-05'));
    const { series, findings } = read([...rows.map((row) => row.replace('2025-06-04', '')), ...third]);
    expect(findings.find(({ code }) => code === 'row-without-time')).toMatchObject({ count: 24 });
    expect(series?.axis.intervals).toBe(72);
    for (let i = 24; i < 48; i++) expect(series?.importKwh?.[i], `hour ${i}`).toBeNaN();
  });
});

test('a comma before an exponent is a decimal comma: 5,00E-02', () => {
  const small = (kwh: number) => kwh.toExponential(3).replace('.', ',').replace('e-', 'E-0').replace('e+', 'E+0');
  const lines = table('Zeit;Verbrauch kWh', ({ day, hour, kwh }) => `0${day}.06.2025 ${two(hour)}:00;${small(kwh)}`);
  expect(lines[1]).toBe('03.06.2025 00:00;1,000E-01');
  expect(sum(read(lines).series?.importKwh)).toBeCloseTo(TOTAL, 9);
});

describe('monthly figures are named as such', () => {
  const months = ['Januar', 'Februar', 'März', 'April', 'Mai', 'Juni', 'Juli', 'August'];
  test.each([
    ['a month in words', 'Monat;Verbrauch kWh', (m: number) => `${months[m]} 2024;${262 + m},9`],
    ['in another language', 'Month,Usage (kWh)', (m: number) => `${['March', 'April', 'May'][m % 3]} 2024, 262.${m}`],
    [
      'short, with two digits of the year',
      'Mois;Consommation kWh',
      (m: number) => `${['févr.', 'mars', 'avr.'][m % 3]} 24;${262 + m}`,
    ],
    ['the year beside it', 'Monat;Jahr;kWh', (m: number) => `${months[m]};2024;${262 + m},9`],
    ['as a number', 'Month,Usage (kWh)', (m: number) => `2024-0${m + 1},${262 + m}.9`],
  ])('%s', (_, header, row) => {
    const { findings } = read([header, ...months.map((_name, m) => row(m))]);
    const error = findings.filter(({ severity }) => severity === 'error');
    expect(error.map(({ code }) => code)).toEqual(['no-interval-data']);
    expect(error[0]!.message).toContain('monthly figures');
  });

  test('but not names that only begin like a month', () => {
    expect(codes(['Gerät;kWh', 'Herd;12', 'Marder;14', 'Ofen;9'])).toEqual(['no-time-column']);
  });
});
