import { quoteCell } from '../../input/cell.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Readings, Stream } from '../readings.ts';
import type { Channel } from '../series.ts';

/** Readings of a net without one below zero that are told: a fortnight of hours. */
const LEAST_WITHOUT_SIGN = 336;

/** A stream's values as channels that are never negative. */
export function splitRole(
  stream: Stream,
  values: Float64Array,
  options: ParseOptions,
  findings: FindingList,
  readings: Readings,
): [Channel, Float64Array][] {
  let negative = 0;
  let positive = 0;
  let negativeKwh = 0;
  for (let i = 0; i < values.length; i++) {
    const value = values[i]!;
    if (value < 0) {
      negative++;
      negativeKwh -= value;
    } else if (value > 0) positive++;
  }
  const { role } = stream;
  const hasExport = readings.streams.some((other) => other.role === 'export');
  const asNet = role === 'net' || (role === 'import' && negative > 0 && !hasExport);
  if (asNet) {
    if (role !== 'net')
      findings.add('signed-net', 'warning', { stream: stream.source }, { count: negative, energyKwh: negativeKwh });
    const sign = options.sign === 'export-positive' ? -1 : 1;
    const bought = new Float64Array(values.length);
    const sold = new Float64Array(values.length);
    for (let i = 0; i < values.length; i++) {
      const value = values[i]! * sign;
      bought[i] = value > 0 ? value : value <= 0 ? 0 : Number.NaN;
      sold[i] = value < 0 ? -value : value >= 0 ? 0 : Number.NaN;
    }
    if (negative === 0 && positive >= LEAST_WITHOUT_SIGN)
      findings.add('net-one-way', 'warning', { stream: stream.source }, { key: stream.source });
    return [
      ['import', bought],
      ['export', sold],
    ];
  }
  if (negative > 0 && (role === 'export' || role === 'solar') && positive <= negative / 20) {
    for (let i = 0; i < values.length; i++) values[i] = Math.abs(values[i]!);
    if (role === 'export') findings.add('export-negative', 'note', { stream: stream.source }, { count: negative });
    else findings.add('solar-negative', 'warning', { stream: stream.source }, { count: negative });
  } else if (negative > 0) {
    // Inverters draw a few watts at night: that is no reversal.
    const small = role === 'solar' && negativeKwh < 0.02 * sumOf(values, negativeKwh);
    for (let i = 0; i < values.length; i++) if (values[i]! < 0) values[i] = small ? 0 : Number.NaN;
    if (small)
      findings.add('solar-standby', 'note', { stream: stream.source }, { count: negative, energyKwh: negativeKwh });
    else
      findings.add(
        'negative-value',
        'warning',
        { stream: stream.source, role },
        {
          count: negative,
          energyKwh: negativeKwh,
          key: stream.source,
          lines: linesBelowZero(stream),
          cell: firstBelowZero(stream),
        },
      );
  }
  return [[role as Channel, values]];
}

function linesBelowZero(stream: Stream): number[] {
  const lines: number[] = [];
  for (let i = 0; i < stream.values.length && lines.length < 20; i++)
    if (stream.values[i]! < 0) lines.push(stream.labels.line[i]!);
  return lines;
}

function firstBelowZero(stream: Stream): string | undefined {
  const value = stream.values.find((each) => each < 0);
  return value === undefined ? undefined : quoteCell(String(value), 'number');
}

function sumOf(values: Float64Array, more: number): number {
  let sum = more;
  for (const value of values) if (value > 0) sum += value;
  return sum;
}

/** A net column beside import and export repeats them: it is compared, not added. */
export function checkNet(
  net: Float64Array,
  channels: ReadonlyMap<Channel, Float64Array>,
  options: ParseOptions,
  findings: FindingList,
): void {
  const bought = channels.get('import');
  const sold = channels.get('export');
  if (bought === undefined || sold === undefined) return;
  const sign = options.sign === 'export-positive' ? -1 : 1;
  let differing = 0;
  let energyKwh = 0;
  for (let i = 0; i < net.length; i++) {
    const off = Math.abs(net[i]! * sign - (bought[i]! - sold[i]!));
    if (off > 0.002 + 0.01 * Math.abs(net[i]!)) {
      differing++;
      energyKwh += off;
    }
  }
  if (differing > net.length / 50) findings.add('net-differs', 'warning', {}, { count: differing, energyKwh });
  else findings.add('net-redundant', 'note', { of: 'import-export' });
}
