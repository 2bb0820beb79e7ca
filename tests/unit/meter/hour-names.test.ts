// Hours that are named by their bounds or their number, beside a date or behind it.
import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';

const two = (n: number) => String(n).padStart(2, '0');
const kwhAt = (i: number) => (1 + ((i * 29) % 97)) / 40;
const START = Date.parse('2025-01-07T23:00Z');
const read = (text: string) => parseIntervalData(text, { zone: 'Europe/Stockholm' });

/** A file of ten days, of which each hour is told by `cell`, made of its date and number. */
function file(header: string, cell: (date: string, hour: number) => string): string {
  const rows = Array.from({ length: 240 }, (_, i) => {
    const date = `2025-01-${two(8 + Math.floor(i / 24))}`;
    return `${cell(date, i % 24)};${kwhAt(i).toFixed(3).replace('.', ',')}`;
  });
  return `${header};kWh\n${rows.join('\n')}\n`;
}

test.each([
  ['00-01', (h: number) => `${two(h)}-${two(h + 1)}`],
  ['00-01, to 23-00', (h: number) => `${two(h)}-${two((h + 1) % 24)}`],
  ['00 - 01', (h: number) => `${two(h)} - ${two((h + 1) % 24)}`],
  ['0-1', (h: number) => `${h}-${h + 1}`],
  ['00h-01h', (h: number) => `${two(h)}h-${two(h + 1)}h`],
  ['00–01', (h: number) => `${two(h)}–${two(h + 1)}`],
  ['0h', (h: number) => `${h}h`],
  ['0 h', (h: number) => `${h} h`],
  ['00h', (h: number) => `${two(h)}h`],
  ['00.00-01.00', (h: number) => `${two(h)}.00-${two((h + 1) % 24)}.00`],
  ['00:00-01:00', (h: number) => `${two(h)}:00-${two(h + 1)}:00`],
] as const)('%s beside a date, whatever its column is called', (_, hour) => {
  for (const name of ['Timme', 'Tid', 'Xyz']) {
    const { series, findings } = read(file(`Datum;${name}`, (date, h) => `${date};${hour(h)}`));
    expect(findings.map(({ code }) => code)).toEqual(['coarse-steps']);
    expect(series!.axis).toMatchObject({ startEpochMs: START, intervals: 240, stepMinutes: 60 });
    expect([...series!.importKwh!]).toEqual(Array.from({ length: 240 }, (_, i) => kwhAt(i)));
  }
});

test.each([
  ['00.00-01.00', (h: number) => `${two(h)}.00-${two((h + 1) % 24)}.00`],
  ['00-01', (h: number) => `${two(h)}-${two(h + 1)}`],
  ['00 - 01', (h: number) => `${two(h)} - ${two((h + 1) % 24)}`],
  ['0h', (h: number) => `${h}h`],
] as const)('%s behind a date in one cell', (_, hour) => {
  const dated = (date: string, h: number) => `${date.split('-').reverse().join('.')} ${hour(h)}`;
  const { series, findings } = read(file('Aika', dated));
  expect(findings.map(({ code }) => code)).toEqual(['coarse-steps']);
  expect(series!.axis).toMatchObject({ startEpochMs: START, intervals: 240, stepMinutes: 60 });
  expect([...series!.importKwh!]).toEqual(Array.from({ length: 240 }, (_, i) => kwhAt(i)));
});

test('1h to 24h are ends; lengths and other ranges are no hours of a day', () => {
  const { series, layout } = read(file('Fecha;Hora', (date, h) => `${date};${h + 1}h`));
  expect(series!.axis).toMatchObject({ startEpochMs: START, intervals: 240 });
  expect(layout.evidence).toContain('labels are interval ends: 24:00 occurs');
  for (const cell of ['1h', '00-06', '12-01'])
    expect(read(file('Datum;Xyz', (date) => `${date};${cell}`)).series).toBeUndefined();
  // A column of lengths beside whole stamps says nothing of their time.
  const { series: stamped } = read(file('Tid;Xyz', (date, h) => `${date} ${two(h)}:00;1h`));
  expect(stamped!.axis).toMatchObject({ startEpochMs: START, intervals: 240 });
});

// `-01:00` behind a time may be an offset: of a whole day of labels it is the end of the hour where it goes along with it.
test.each(['00:00-01:00', '00:00-24:00 at the end'])('%s behind a date in one cell is the hour between them', (how) => {
  const last = (h: number) => (h === 23 && how.includes('24') ? '24:00' : `${two((h + 1) % 24)}:00`);
  for (const sep of [' ', 'T']) {
    const text = file('Tid', (date, h) => `${date}${sep}${two(h)}:00-${last(h)}`);
    const { series, findings, layout } = read(text);
    expect(findings.map(({ code }) => code)).toEqual(['coarse-steps']);
    expect(series!.axis).toMatchObject({ startEpochMs: START, intervals: 240, stepMinutes: 60 });
    expect([...series!.importKwh!]).toEqual(Array.from({ length: 240 }, (_, i) => kwhAt(i)));
    expect(layout.evidence).toContain('labels are interval starts: their cells print both ends');
  }
});

test('quarter hours so are too, and an offset stays an offset, by one hour of the day alone', () => {
  const clock = (i: number) => `${two(Math.floor(i / 4) % 24)}:${two((i % 4) * 15)}`;
  const rows = Array.from({ length: 960 }, (_, i) => {
    const date = `2025-01-${two(8 + Math.floor(i / 96))}`;
    return `${date} ${clock(i)}-${clock(i + 1)};${kwhAt(i).toFixed(3).replace('.', ',')}`;
  });
  const quarters = read(`Tid;kWh\n${rows.join('\n')}\n`);
  expect(quarters.series!.axis).toMatchObject({ startEpochMs: START, intervals: 960, stepMinutes: 15 });
  for (const [offset, zone] of [
    ['-01:00', 'Atlantic/Cape_Verde'],
    ['-05:00', 'America/Bogota'],
  ] as const) {
    const text = file('Time', (date, h) => `${date} ${two(h)}:00${offset}`);
    const { series, layout } = parseIntervalData(text, { zone });
    expect(series!.axis).toMatchObject({ startEpochMs: Date.parse(`2025-01-08T00:00:00${offset}`), intervals: 240 });
    expect(layout.evidence).toContain('labels state their offset from UTC');
  }
});
