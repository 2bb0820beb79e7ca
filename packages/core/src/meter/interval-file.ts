import { isZone, makeAxis, offsetSpans, STEP_MINUTES } from '../axis/index.ts';
import { startMsOf } from '../axis/inside.ts';
import { quoteCell } from '../input/cell.ts';
import { check } from '../input/door.ts';
import type { FindingList } from './findings.ts';
import { meteredSeries } from './rules.ts';
import { CHANNELS, channelField, type IntervalSeries } from './series.ts';
import { readPlain } from './table/numbers.ts';
import { measureLines } from './table/table.ts';

const FORMAT = 'duskbank.interval/1';
const FIRST_LINE = /^#\s*format:\s*(duskbank\.interval\/\S+)\s*(?:\n|$)/;

/** Whether a text says that it is in the project's own interval format (any version). */
export function isIntervalFile(text: string): boolean {
  return /^#\s*format:\s*duskbank\.interval\//.test(text);
}

/**
 * Writes series as the project's own interval CSV: four comment lines, a header, and one row an interval
 * whose `start` is local time with its offset. A blank is a gap. Read back by `parseIntervalData` it gives
 * the same axis and the same numbers to the last bit.
 *
 * @throws InputError on series of another length than their axis, negative or infinite
 * @see docs/reference/interval-files.md
 */
export function writeIntervalCsv(series: IntervalSeries): string {
  check({ series }, { series: meteredSeries });
  const { axis } = series;
  const present = CHANNELS.filter((channel) => series[channelField(channel)] !== undefined);
  const columns = present.map((channel) => series[channelField(channel)]!);
  const { estimated } = series;
  const lines = [
    `# format: ${FORMAT}`,
    `# zone: ${axis.zone}`,
    `# step_minutes: ${axis.stepMinutes}`,
    '# unit: kWh an interval; a blank is a gap; estimated: 0 metered, 1 by the source, 2 by repair',
    ['start', ...present.map((channel) => `${channel}_kwh`), ...(estimated === undefined ? [] : ['estimated'])].join(
      ',',
    ),
  ];
  const spans = offsetSpans(axis.zone, axis.startEpochMs, axis.endEpochMs);
  let s = 0;
  for (let i = 0; i < axis.intervals; i++) {
    const epochMs = startMsOf(axis, i);
    while (s + 1 < spans.length && epochMs >= spans[s + 1]!.fromEpochMs) s++;
    let row = isoWithOffset(epochMs, spans[s]!.offsetMinutes);
    for (const values of columns) {
      const value = values[i]!;
      row += !Number.isNaN(value) ? `,${value}` : ',';
    }
    if (estimated !== undefined) row += `,${estimated[i]}`;
    lines.push(row);
  }
  lines.push('');
  return lines.join('\n');
}

function isoWithOffset(epochMs: number, offsetMinutes: number): string {
  const local = new Date(epochMs + offsetMinutes * 60_000).toISOString().slice(0, 16);
  const size = Math.abs(offsetMinutes);
  const offset = `${offsetMinutes < 0 ? '-' : '+'}${String(Math.floor(size / 60)).padStart(2, '0')}:${String(size % 60).padStart(2, '0')}`;
  return `${local}${offset}`;
}

/**
 * Reads the project's own format exactly. Undefined without an error finding means: edited by hand so that
 * rows are no longer in order; the reader of tables then takes over, with what the preamble states.
 */
export function readIntervalFile(
  raw: string,
  findings: FindingList,
): { series: IntervalSeries; linesOf: (intervals: readonly number[]) => number[] } | undefined {
  const text = raw.includes('\r') ? raw.replace(/\r\n?/g, '\n') : raw;
  const version = FIRST_LINE.exec(text)?.[1];
  if (version !== FORMAT) {
    const stated = /\/(\d{1,4})$/.exec(version ?? '')?.[1];
    findings.add(
      'format-unknown',
      'error',
      { ...(stated === undefined ? {} : { format: `duskbank.interval/${stated}` }), readFormat: FORMAT },
      { line: 1 },
    );
    return undefined;
  }
  let from = 0;
  let line = 0;
  const next = () => {
    if (from >= text.length) return undefined;
    let to = text.indexOf('\n', from);
    if (to < 0) to = text.length;
    const row = text.slice(from, to);
    from = to + 1;
    line++;
    return row;
  };
  let zone: string | undefined;
  let stepMinutes = Number.NaN;
  let header: string | undefined;
  for (let row = next(); row !== undefined; row = next()) {
    if (!row.startsWith('#')) {
      header = row;
      break;
    }
    const pair = /^#\s*(zone|step_minutes):\s*(\S+)\s*$/.exec(row);
    if (pair?.[1] === 'zone') zone = pair[2];
    else if (pair?.[1] === 'step_minutes') stepMinutes = Number(pair[2]);
  }
  if (zone === undefined || !isZone(zone)) findings.add('unknown-zone', 'error', { why: 'in-the-file' });
  if (!(STEP_MINUTES as readonly number[]).includes(stepMinutes))
    findings.add('step-unsupported', 'error', { why: 'stated', supportedMinutes: STEP_MINUTES });
  const names = (header ?? '').split(',').map((name) => name.trim());
  const fields = names
    .slice(1)
    .map((name) => (name === 'estimated' ? name : CHANNELS.find((channel) => name === `${channel}_kwh`)));
  if (
    names[0] !== 'start' ||
    fields.length === 0 ||
    fields.includes(undefined) ||
    new Set(fields).size !== fields.length
  )
    findings.add('columns-unclear', 'error', { why: 'own-header' }, { line });
  if (findings.hasError) return undefined;

  const capacity = measureLines(text).lines;
  const columns = fields.map(() => new Float64Array(capacity));
  const lines = new Int32Array(capacity);
  const stepMs = stepMinutes * 60_000;
  let startEpochMs = Number.NaN;
  let n = 0;
  for (let row = next(); row !== undefined; row = next()) {
    if (row === '') continue;
    const cells = row.split(',');
    const epochMs = Date.parse(cells[0]!.length === 22 ? cells[0]! : 'no');
    if (n === 0) startEpochMs = epochMs;
    if (epochMs !== startEpochMs + n * stepMs || cells.length !== names.length) {
      findings.add('unreadable-row', 'error', { why: 'out-of-order' }, { line, cell: quoteCell(cells[0]!, 'time') });
      return undefined;
    }
    for (let c = 0; c < fields.length; c++) {
      const cell = cells[c + 1]!;
      const value = readPlain(cell);
      const bad =
        cell !== '' &&
        (Number.isNaN(value) || value < 0 || (fields[c] === 'estimated' && !(value <= 2 && Number.isInteger(value))));
      if (bad) {
        findings.add(
          'not-a-number',
          'error',
          { why: 'own-column', column: names[c + 1]! },
          { line, cell: quoteCell(cell, 'number') },
        );
        return undefined;
      }
      columns[c]![n] = value;
    }
    lines[n] = line;
    n++;
  }
  if (n === 0 || Number.isNaN(startEpochMs)) {
    findings.add('no-readings', 'error', { why: 'no-rows' });
    return undefined;
  }
  const axis = makeAxis({ startEpochMs, stepMinutes, intervals: n, zone: zone! });
  const series: { -readonly [K in keyof IntervalSeries]: IntervalSeries[K] } = { axis };
  for (let c = 0; c < fields.length; c++) {
    const field = fields[c]!;
    if (field === 'estimated') series.estimated = Uint8Array.from(columns[c]!.subarray(0, n), (value) => value || 0);
    else series[channelField(field)] = columns[c]!.slice(0, n);
  }
  return { series, linesOf: (intervals) => intervals.map((i) => lines[i]!) };
}
