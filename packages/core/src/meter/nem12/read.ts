import { civilDayOf, isInCalendar } from '../../axis/civil-day.ts';
import { quoteCell } from '../../input/cell.ts';
import { DAY_MS } from '../durations.ts';
import { FindingList } from '../findings.ts';
import { Grow } from '../grow.ts';
import type { ParseOptions } from '../options.ts';
import { pointMark } from '../point-mark.ts';
import type { Evidence, Labels, Readings, Stream } from '../readings.ts';
import { unitOf } from '../table/header.ts';
import { readPlain } from '../table/numbers.ts';
import { eachRow } from '../table/table.ts';
import { type ChannelData, energyOf, leaveDay, settleDays } from './days.ts';
import { isEstimate, Qualities } from './qualities.ts';
import { lacksDirection, otherCount } from './records.ts';
import { Registers, roleOf } from './registers.ts';

/** Market time of the format: Australian Eastern Standard Time all year, whatever the home's own zone. */
const MARKET_OFFSET_MS = 10 * 3_600_000;

/** Whether a text is in the Australian market's NEM12 format: a 100 record, or a 200 record before a 300 record. */
export function isNem12(text: string): boolean {
  const head = text.slice(0, 4000).trimStart();
  return /^"?100"?,\s*"?NEM12\b/i.test(head) || (/^200,/.test(head) && /\n300,\d{8},/.test(head));
}

/**
 * Reads NEM12 (200, 300 and 400 records; 100, 500 and 900 may be absent). A suffix that begins with E is
 * energy taken from the grid, with B energy given to it; reactive channels are left out. A day that is
 * there twice counts as last updated. Registers of a connection point count all the time: where one of them is not read,
 * what was taken or given is not known.
 *
 * @see AEMO, Meter Data File Format Specification NEM12 and NEM13 (an open standard of the market operator)
 */
export function readNem12(
  text: string,
  { repeats, usagePoint }: ParseOptions,
  findings: FindingList,
): Readings | undefined {
  const evidence: Evidence = [
    'records 200 and 300 of NEM12',
    'times are Australian Eastern Standard Time all year, as NEM12 has it',
  ];
  const channels = new Map<string, ChannelData>();
  let channel: ChannelData | undefined;
  const registers = new Registers();
  let configuration = '';
  let isBelow200 = false;
  let perDay = 0;
  /** The day that a record 400 speaks of. */
  let qualities: Qualities | undefined;
  /** Whether a record 400 follows a record 300, be it one that is left out. */
  let isBelow300 = false;
  let point = '';
  /** What is found below the records 200 of each connection point. */
  const ofPoints = new Map<string, FindingList>();
  const toldOf = (name: string) => {
    const known = ofPoints.get(name) ?? new FindingList();
    ofPoints.set(name, known);
    return known;
  };
  const endDay = () => {
    qualities?.end(toldOf(point));
    qualities = undefined;
  };
  eachRow(text.includes('\r') ? text.replace(/\r\n?/g, '\n') : text, ',', false, (cells, line) => {
    const record = (cells[0] ?? '').trim();
    if (record === '200') {
      endDay();
      isBelow300 = false;
      isBelow200 = true;
      point = (cells[1] ?? '').trim();
      configuration = (cells[2] ?? '').trim().toUpperCase();
      channel = openChannel(cells, line, channels, registers, toldOf(point));
    } else if (record === '300') {
      endDay();
      isBelow300 = true;
      if (!isBelow200)
        findings.add('unreadable-row', 'error', { why: 'no-record-200' }, { line, key: 'no-record-200' });
      if (channel === undefined) return undefined;
      const told = toldOf(point);
      const date = /^(\d{4})(\d{2})(\d{2})$/.exec((cells[1] ?? '').trim());
      perDay = Math.round(DAY_MS / channel.stepMs);
      const [year, month, dayOfMonth] = (date ?? []).slice(1).map(Number) as [number, number, number];
      const day =
        date !== null && isInCalendar(year, month, dayOfMonth) ? civilDayOf(year, month, dayOfMonth) : undefined;
      const found = otherCount(cells, perDay);
      if (found !== undefined) {
        const counted = { minutes: channel.stepMs / 60_000, wanted: perDay, found };
        told.add('values-miscounted', 'error', counted, { line, key: `${perDay}|${found}` });
        return undefined;
      }
      if (day === undefined || day <= 0 || day >= 84_000) {
        told.add('unreadable-row', 'warning', { why: 'record-300' }, { line });
        return undefined;
      }
      const quality = (cells[perDay + 2] ?? '').trim().toUpperCase();
      const updated = (cells[perDay + 5] ?? '').trim();
      const known = channel.days.get(day);
      if (known !== undefined) {
        if (updated < known.updated) {
          told.add('superseded', 'note', {}, { line });
          return undefined;
        }
        if (updated > known.updated) {
          told.add('superseded', 'note', {}, { line });
          for (const at of known.at) leaveDay(channel, at);
        }
      }
      const dayAt = channel.value.length;
      if (known?.updated === updated) known.at.push(dayAt);
      else channel.days.set(day, { at: [dayAt], updated, configuration });
      const midnight = day * DAY_MS - MARKET_OFFSET_MS;
      const estimated = isEstimate(quality) ? 1 : 0;
      for (let k = 0; k < perDay; k++) {
        const cell = (cells[k + 2] ?? '').trim();
        let value = readPlain(cell);
        if (quality === 'N') value = Number.NaN;
        else if (cell !== '' && Number.isNaN(value)) {
          told.add('not-a-number', 'warning', { why: 'record-300' }, { line, cell: quoteCell(cell, 'number') });
        }
        channel.label.push(midnight + k * channel.stepMs);
        channel.value.push(value);
        channel.line.push(line);
        channel.estimated.push(estimated);
      }
      qualities = new Qualities(channel, dayAt, perDay, quality, line);
    } else if (record === '400') {
      if (qualities !== undefined) qualities.take(cells, line, toldOf(point));
      else if (!isBelow300) toldOf(point).add('quality-misplaced', 'error', { why: 'no-day' }, { line, key: 'no-day' });
    }
    return undefined;
  });
  endDay();

  const points: string[] = [];
  for (const data of channels.values())
    if (data.days.size > 0 && hasPlace(data) && !points.includes(data.point)) points.push(data.point);
  const numberOf = (point: string) => points.indexOf(point) + 1;
  // What a point lacks that is not read bears on nothing.
  const isRead = (point: string) => usagePoint === undefined || [usagePoint].flat().includes(numberOf(point));
  // But one of which nothing can be read may be the one that is meant.
  for (const [name, told] of ofPoints) if (isRead(name) || numberOf(name) === 0) findings.take(told);
  const streams: Stream[] = [];
  // Once records 400 have said which readings count.
  for (const data of channels.values()) {
    if (isRead(data.point)) settleDays(data, repeats, findings);
    countDays(data, registers);
  }
  if (![...channels.values()].some(({ days }) => days.size > 0)) {
    findings.add('no-readings', 'error', { why: 'no-record' });
    return undefined;
  }
  const absent = registers.settle(findings, isRead, points.length > 1 ? numberOf : undefined);
  for (const data of channels.values()) {
    const key = `${data.point}|${data.suffix}`;
    const stream = streamOf(data, absent.get(key) ?? []);
    // Once, where a register has several lengths of interval.
    absent.delete(key);
    if (stream === undefined) continue;
    stream.point = numberOf(data.point);
    streams.push(stream);
    evidence.push(`a channel is ${data.role}, in ${data.unit}`);
  }
  return {
    layout: 'NEM12',
    evidence,
    streams,
    // Some files print the check digit behind the ten characters of a connection point's number.
    points: points.map((point) => pointMark(point.slice(0, 10).toUpperCase())),
    declared: points.map((point) => registers.declaredAt(point)),
  };
}

function openChannel(
  cells: readonly string[],
  line: number,
  channels: Map<string, ChannelData>,
  registers: Registers,
  findings: FindingList,
): ChannelData | undefined {
  const point = (cells[1] ?? '').trim();
  const suffix = (cells[4] ?? '').trim().toUpperCase();
  const unit = unitOf(cells[7] ?? '');
  const minutes = Number(cells[8]);
  const role = roleOf(suffix);
  registers.declare(point, suffix, line);
  if (lacksDirection(suffix, unit)) {
    findings.add('unreadable-row', 'error', { why: 'no-direction' }, { line, key: 'no-direction' });
    return undefined;
  }
  if (role === undefined || unit === undefined) {
    findings.add('other-quantity', 'note', { left: 'readings' }, { line });
    return undefined;
  }
  if (![1, 5, 10, 15, 20, 30, 60].includes(minutes)) {
    findings.add('unreadable-row', 'warning', { why: 'record-200' }, { line });
    return undefined;
  }
  const key = `${point}|${suffix}|${unit}|${minutes}`;
  let channel = channels.get(key);
  if (channel === undefined) {
    channel = {
      point,
      suffix,
      role,
      unit,
      stepMs: minutes * 60_000,
      label: new Grow(),
      value: new Grow(),
      line: new Grow(),
      estimated: new Grow(),
      days: new Map(),
    };
    channels.set(key, channel);
  }
  return channel;
}

/** Whether a channel has a reading that was not left out. */
function hasPlace({ label }: ChannelData): boolean {
  for (let i = 0; i < label.length; i++) if (!Number.isNaN(label.data[i]!)) return true;
  return false;
}

/** Tells the registers which days of a channel hold a reading. */
function countDays(data: ChannelData, registers: Registers): void {
  const { point, suffix, days } = data;
  for (const [day, { at, configuration }] of days)
    for (const from of at) {
      const kwh = energyOf(data, from);
      if (!Number.isNaN(kwh)) registers.read(point, suffix, day, configuration, kwh);
    }
}

/** @param absent civil days on which the register was not there */
function streamOf(data: ChannelData, absent: readonly number[]): Stream | undefined {
  for (const day of absent)
    for (let atMs = 0; atMs < DAY_MS; atMs += data.stepMs) {
      data.label.push(day * DAY_MS - MARKET_OFFSET_MS + atMs);
      data.value.push(0);
      data.line.push(0);
      data.estimated.push(0);
    }
  const n = data.value.length;
  const labelMs = new Float64Array(n);
  const values = new Float64Array(n);
  const line = new Int32Array(n);
  const estimated = new Uint8Array(n);
  let count = 0;
  for (let i = 0; i < n; i++) {
    if (Number.isNaN(data.label.data[i]!)) continue;
    labelMs[count] = data.label.data[i]!;
    values[count] = data.value.data[i]!;
    line[count] = data.line.data[i]!;
    estimated[count] = data.estimated.data[i]!;
    count++;
  }
  if (count === 0) return undefined;
  const labels: Labels = {
    clock: 'utc',
    labelEnd: { at: 'start', why: 'layout' },
    count,
    labelMs,
    line,
    stepMs: data.stepMs,
  };
  return {
    role: data.role,
    unit: data.unit,
    labels,
    values: values.subarray(0, count),
    cumulative: false,
    source: `a channel of ${data.role}`,
    part: { id: data.suffix, kind: 'always' },
    register: data.suffix.toLowerCase(),
    ...(estimated.some((mark) => mark === 1) ? { estimated } : {}),
  };
}
