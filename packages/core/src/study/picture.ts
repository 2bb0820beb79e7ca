import { type Channel, channelField, type IntervalSeries } from '../meter/index.ts';
import type { InspectReport } from './inspect-schema.ts';

/** Columns of a picture at most: with the hours before them they fill 80. */
const MOST_COLUMNS = 73;

/** A channel as a picture: an hour of the day a row, some days a column, its mean power in fifths of the usual top. */
export function pictureOf(series: IntervalSeries, channel: Channel): InspectReport['pictures'][number] {
  const values = series[channelField(channel)]!;
  const { axis } = series;
  const { calendar } = axis;
  const days = calendar.days.length;
  const daysPerColumn = Math.max(1, Math.ceil(days / MOST_COLUMNS));
  const columns = Math.ceil(days / daysPerColumn);
  const sums = new Float64Array(24 * columns);
  const counts = new Float64Array(24 * columns);
  const missing = new Float64Array(24 * columns);
  for (let i = 0; i < axis.intervals; i++) {
    const cell = Math.floor(calendar.minuteOfDay[i]! / 60) * columns + Math.floor(calendar.day[i]! / daysPerColumn);
    if (Number.isNaN(values[i]!)) missing[cell]!++;
    else {
      sums[cell]! += values[i]! / axis.stepHours;
      counts[cell]!++;
    }
  }
  const means = sums.map((sum, cell) => (counts[cell]! === 0 ? Number.NaN : sum / counts[cell]!));
  const sorted = means.filter((mean) => !Number.isNaN(mean)).sort();
  const topKw = sorted[Math.floor(sorted.length * 0.98)] ?? 0;
  const mark = (cell: number) => {
    const mean = means[cell]!;
    if (Number.isNaN(mean) || missing[cell]! > counts[cell]!) return missing[cell]! > 0 ? '.' : ' ';
    return String(topKw === 0 ? 0 : Math.min(4, Math.floor((mean / topKw) * 5)));
  };
  const rows = Array.from({ length: 24 }, (_, hour) =>
    Array.from({ length: columns }, (_, column) => mark(hour * columns + column)).join(''),
  );
  const monthStarts: { column: number; month: number }[] = [];
  for (let column = 0; column < columns; column++) {
    const { month } = calendar.days[column * daysPerColumn]!;
    if (month !== monthStarts.at(-1)?.month) monthStarts.push({ column, month });
  }
  return { channel, daysPerColumn, topKw, rows, monthStarts };
}
