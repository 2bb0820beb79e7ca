// Tables made from a number that climbs through a limit of reading, and what is kept of each rung.
import { type IntervalData, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { kept } from './kept.ts';
import { readOf } from './kept-meter.ts';

/** What is read on one rung. */
export interface Rung {
  readonly text: string;
  readonly options?: ParseOptions;
}

/** Tables by the number on their rung. */
export interface Ladder {
  readonly rungs: readonly number[];
  readonly make: (rung: number) => Rung | string;
}

const ZONE = 'America/Denver';

/** Whole numbers from one to another, both included, in steps. */
export const steps = (from: number, to: number, by = 1): readonly number[] =>
  Array.from({ length: Math.floor((to - from) / by + 1e-9) + 1 }, (_, k) => Number((from + k * by).toPrecision(12)));

/** What a home draws in an interval, kWh an hour: uneven, with evenings, never twice the same within a day. */
export const drawn = (i: number, perHour = 1): number =>
  (0.2 + ((i * 37) % 101) / 200 + (Math.floor(i / perHour) % 24 >= 17 ? 0.6 : 0) + ((i * 7919) % 997) / 9970) / perHour;

/** What a roof gives in an hour, kWh. */
export const sunny = (i: number): number =>
  Math.max(0, Math.sin((((i % 24) - 6) / 12) * Math.PI)) * (1 + ((i * 31) % 17) / 20);

/** A label so many steps after 5 January 2026, by the clock on the wall. */
export const labelAt = (i: number, stepMinutes = 60, from = Date.UTC(2026, 0, 5)): string =>
  new Date(from + i * stepMinutes * 60_000).toISOString().slice(0, 16).replace('T', ' ');

/** Rows of a table, each from its place. */
export const rowsOf = (count: number, row: (i: number) => string): string[] =>
  Array.from({ length: count }, (_, i) => row(i));

/** A header and rows as a file. */
export const fileOf = (header: string, ...rows: readonly (readonly string[])[]): string =>
  `${[header, ...rows.flat()].join('\n')}\n`;

/** Hourly rows under a header, one value each. */
export const hourly = (header: string, count: number, value: (i: number) => number, decimals = 3): string =>
  fileOf(
    header,
    rowsOf(count, (i) => `${labelAt(i)},${value(i).toFixed(decimals)}`),
  );

/** Which of `count` places are among `some`, spread evenly. */
export const isAmong = (i: number, some: number, count: number): boolean =>
  Math.floor(((i + 1) * some) / count) > Math.floor((i * some) / count);

/** Keeps each ladder rung by rung: what was found, what each channel holds, and a digest of all facts and values. */
export function keepLadders(ladders: Readonly<Record<string, Ladder>>): void {
  test.each(Object.entries(ladders))('%s', (_name, { rungs, make }) => {
    const told = rungs.map((rung) => {
      const made = make(rung);
      const { text, options } = typeof made === 'string' ? { text: made } : made;
      return `${rung}: ${inALine(text, { zone: ZONE, ...options })}`;
    });
    expect(told.join('\n')).toMatchSnapshot();
  });
}

/** What is read of a file, in a line: what was found, what each channel holds, and a digest of all facts and values. */
export function inALine(text: string, options: ParseOptions): string {
  return dataInALine(parseIntervalData(text, options));
}

/** The same of what was read already. */
export function dataInALine(data: IntervalData): string {
  const read = readOf(data);
  const { series, codes, channels } = read;
  const sums = channels.map((channel) => {
    const values = typeof series === 'string' ? [] : (series[`${channel}Kwh`] ?? []);
    let kwh = 0;
    for (const value of values) kwh += value || 0;
    return `${channel} ${Number(kwh.toPrecision(6))} kWh`;
  });
  const hours = typeof series === 'string' ? '' : `${(series.axis.intervals * series.axis.stepHours).toFixed(2)} h, `;
  const digest = kept({ all: read })
    .replace(/^.*?#/, '#')
    .replace(/ texts /, ' ');
  return `${codes === '' ? 'nothing' : codes} | ${hours}${sums.join(', ') || 'not read'} | ${digest}`;
}
