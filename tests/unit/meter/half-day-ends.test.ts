import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { drawn, fileOf, labelAt, rowsOf } from '../../support/ladders.ts';

// Times such as 1:30 without their AM and PM, of a start and an end.

const clock = (at: string) => `${((Number(at.slice(11, 13)) + 11) % 12) + 1}${at.slice(13)}`;
const date = (at: string) => at.slice(0, 10);

test.each(
  [15, 30, 60].flatMap((stepMinutes) =>
    ['Start,End,kWh', 'Date,Start,End,kWh', 'Start date,Start time,End date,End time,kWh'].map(
      (header) => [stepMinutes, header] as const,
    ),
  ),
)('rows of %d minutes have their halves and lengths again: %s', (stepMinutes, header) => {
  const perHour = 60 / stepMinutes;
  const columns = header.split(',').length - 1;
  const rows = rowsOf(5 * 24 * perHour, (i) => {
    const [start, end] = [labelAt(i, stepMinutes), labelAt(i + 1, stepMinutes)];
    const cells =
      columns === 2
        ? [`${date(start)} ${clock(start)}`, `${date(end)} ${clock(end)}`]
        : columns === 3
          ? [date(start), clock(start), clock(end)]
          : [date(start), clock(start), date(end), clock(end)];
    return [...cells, drawn(i, perHour).toFixed(4)].join(',');
  });
  const { series, findings } = parseIntervalData(fileOf(header, rows), { zone: 'Asia/Kolkata' });
  expect(findings.map(({ code }) => code)).toContain('half-days-restored');
  expect(series!.axis).toMatchObject({ stepMinutes, intervals: rows.length });
  expect(Array.from(series!.importKwh!, (kwh) => Number(kwh.toFixed(4)))).toEqual(
    Array.from(rows, (row) => Number(row.split(',').at(-1))),
  );
});
