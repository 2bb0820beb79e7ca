import { quoteCell } from '../input/cell.ts';
import { DAY_MS } from './durations.ts';
import type { FindingList } from './findings.ts';
import { Grow } from './grow.ts';
import { beginOfDay } from './midnight.ts';
import type { ParseOptions, Unit } from './options.ts';
import { knownAs } from './part.ts';
import { pointMark } from './point-mark.ts';
import type { Evidence, Kind, Labels, Readings, Role, Stream, TotalsRow } from './readings.ts';
import { LeftOutRows, type ReadRows } from './rows/left-out.ts';
import { isTotalsRow, sumOfTotals, totalsOf } from './rows/totals.ts';
import type { SettledDates } from './table/dates.ts';
import { FieldCount } from './table/fields.ts';
import { directionOf } from './table/header.ts';
import { Marks } from './table/marks.ts';
import { isBlank, readNumber } from './table/numbers.ts';
import { saysEstimated } from './table/quality.ts';
import { KindReader, noteLeft, typeColumns } from './table/row-kinds.ts';
import { settleDates } from './table/settle-dates.ts';
import { looksDated, type Shape } from './table/shape.ts';
import { StampReader } from './table/stamps.ts';
import { eachRow, type Table } from './table/table.ts';
import { namesUtc, UTC_BY_NAME } from './table/utc-name.ts';

const DAY_MINUTES = 1440;
/** Columns of a day in each step that a row a day is printed in. */
const PER_DAY = [24, 48, 72, 96, 144, 288];

interface WidePlan {
  date: number;
  /** Value columns in the order of the day. */
  columns: number[];
  /** Minutes from local midnight at which each column's interval starts; absent where columns count elapsed intervals. */
  startMinute: number[] | undefined;
  stepMinutes: number;
  evidence: string;
  /** The column of dates is named for UTC: the day is that of UTC. */
  isUtc?: boolean;
}

/** Whether a table has a row a day: a date, and a column for each interval of the day. */
export function isWide(shape: Shape): boolean {
  return planWide(shape) !== undefined;
}

function planWide(shape: Shape): WidePlan | undefined {
  const { classes } = shape;
  const date = classes.findIndex((kind) => kind === 'date' || kind === 'stamp');
  if (date < 0) return undefined;
  let columns: number[] = [];
  for (let c = 0; c < classes.length; c++) {
    if (c === date || (classes[c] !== 'number' && classes[c] !== 'blank')) continue;
    columns.push(c);
  }
  if (columns.length < 23) return undefined;
  const clocks = columns.map((c) => clockOf(shape.names[c]));
  const timed = columns.filter((_, i) => clocks[i] !== undefined);
  if (timed.length >= 23) {
    const minutes = clocks.filter((minute) => minute !== undefined);
    const steps = minutes.slice(1).map((minute, i) => minute - minutes[i]!);
    const step = steps.filter((s) => s > 0).sort((a, b) => a - b)[0] ?? 0;
    if (PER_DAY.includes(DAY_MINUTES / step)) {
      const end = minutes[0] === step && (minutes.at(-1) === DAY_MINUTES || minutes.at(-1) === 0);
      return {
        date,
        columns: timed,
        startMinute: minutes.map((minute) => (end ? (minute === 0 ? DAY_MINUTES : minute) - step : minute)),
        stepMinutes: step,
        evidence: end
          ? 'column names are interval ends: the first is one step after midnight, the last is midnight'
          : 'column names are interval starts',
      };
    }
  }
  // Numbered columns, or none named at all: they count the intervals of the day.
  if (shape.names.length > 0) {
    const numbered = columns.filter((c) => /^\D{0,12}\d{1,3}$/.test((shape.names[c] ?? '').trim()));
    if (numbered.length < 23) return undefined;
    columns = numbered;
  }
  const n = columns.length;
  const whole = PER_DAY.find((perDay) => n >= perDay - perDay / 24 && n <= perDay + perDay / 24);
  if (whole === undefined && !PER_DAY.some((perDay) => n === perDay + 1)) return undefined;
  const perDay = whole ?? PER_DAY.find((each) => n === each + 1)!;
  if (n === perDay + 1 && shape.names.length === 0 && perDay > 24) columns = columns.slice(0, perDay);
  const step = DAY_MINUTES / perDay;
  // More columns than a plain day has: the k-th interval since midnight, however the clock changes.
  const elapsed = columns.length > perDay;
  return {
    date,
    columns,
    startMinute: elapsed ? undefined : columns.map((_, i) => i * step),
    stepMinutes: step,
    evidence: elapsed
      ? `columns count the intervals since midnight, ${columns.length} on the longest day`
      : `columns count the ${perDay} intervals of the day`,
  };
}

/** A column's name as minutes after midnight: `0:30`, `00:30 - 01:00` (its start), `12:30 AM`, `kWh 0:15`, `13.5`, `0130`. */
export function clockOf(name: string | undefined): number | undefined {
  const text = (name ?? '').trim();
  const clock = /(\d{1,2}):(\d{2})(?::\d{2})?\s*([ap])?\.?m?/i.exec(text);
  if (clock !== null) {
    let hour = Number(clock[1]);
    if (clock[3] !== undefined) hour = (hour % 12) + (clock[3].toLowerCase() === 'p' ? 12 : 0);
    const minute = hour * 60 + Number(clock[2]);
    return minute <= DAY_MINUTES ? minute : undefined;
  }
  if (/^\d{1,2}\.\d{1,2}$/.test(text)) {
    const hours = Number(text);
    return hours <= 24 ? Math.round(hours * 60) : undefined;
  }
  if (/^[01]\d[0-5]\d$|^2[0-4][0-5]\d$/.test(text)) return Number(text.slice(0, 2)) * 60 + Number(text.slice(2));
  return undefined;
}

interface Block {
  role: Role | undefined;
  kind: Kind;
  /** Which meter of the file, from 1. */
  point: number;
  dateId: Grow;
  line: Grow;
  /** Values, day after day, as many as there are columns. */
  values: Grow;
  estimated: Grow;
}

/** Reads a table that {@link isWide}. */
export function readWide(
  table: Table,
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
): Readings | undefined {
  const plan = planWide(shape)!;
  plan.isUtc = plan.startMinute !== undefined && namesUtc(shape.names[plan.date] ?? '');
  const evidence: Evidence = [`a row a day with ${plan.columns.length} columns`, plan.evidence];
  if (plan.isUtc) evidence.push(UTC_BY_NAME);
  const stamps = new StampReader();
  const blocks = new Map<string, Block | null>();
  const taken = new Set([plan.date, ...plan.columns]);
  const types = typeColumns(shape, taken, 'any row', options, findings);
  const kinds = new KindReader(options.rows);
  const kindIds = new Map<Kind, number>();
  const meters: string[] = [];
  const left = new LeftOutRows();
  const unitColumn = shape.header.findIndex((cell) => cell.tells === 'unit');
  const meterColumn = shape.header.findIndex((cell) => cell.tells === 'meter');
  const quality = shape.header.flatMap((cell, c) => (cell.tells === 'quality' && !taken.has(c) ? [c] : []));
  const totalColumn = totalColumnOf(shape, taken);
  const totals: TotalsRow[] = [];
  /** The total of each day, where the table prints one. */
  const ofDays: TotalsRow[] = [];
  let banner: Role | 'gas' | undefined;
  let rows = 0;
  const firstLine = shape.rows[0]!.line;
  const fields = new FieldCount(shape);
  const marks = options.decimal === undefined ? new Marks(shape.decimalComma) : undefined;
  eachRow(table.text, table.delimiter, table.quoted, (cells, line) => {
    if (line < firstLine) {
      const told = cells.filter((cell) => cell.trim() !== '').length <= 2 ? directionOf(cells.join(' ')) : undefined;
      if (told !== undefined) banner = told;
      return undefined;
    }
    const dateId = stamps.readDate(cells[plan.date] ?? '');
    if (dateId < 0) {
      const filled = cells.filter((cell) => cell.trim() !== '').length;
      if (filled === 0) return undefined;
      const told = filled <= 2 ? directionOf(cells.join(' ')) : undefined;
      if (told !== undefined) banner = told;
      else if (isTotalsRow(cells.join(' ').slice(0, 200))) {
        findings.add('totals-row', 'note', { why: 'named-total' }, { line });
        const places = plan.columns.map((column) => ({ column }));
        const ofHours = totalsOf(cells, line, places, shape.decimalComma);
        // A number or two of a row that names itself a total are of something else.
        if (ofHours.length > plan.columns.length / 2) totals.push(...sumOfTotals(ofHours, plan.columns[0]! + 1));
      } else if (looksDated(cells[0]) || looksDated(cells[plan.date]))
        findings.add(
          'unreadable-row',
          'warning',
          { why: 'no-date-or-time' },
          { line, cell: quoteCell(cells[plan.date] ?? '', 'time') },
        );
      else if (!cells.some((cell) => clockOf(cell) !== undefined) && filled > 1)
        findings.add('row-without-time', 'warning', {}, { line, cell: quoteCell(cells[plan.date] ?? '', 'time') });
      return undefined;
    }
    if (line >= table.lines && cells.length < shape.width && cells.length <= plan.columns.at(-1)!) {
      findings.add('truncated', 'warning', {}, { line, cell: quoteCell(cells[plan.date] ?? '', 'time') });
      return undefined;
    }
    const kind = kinds.read(
      types.map((c) => cells[c] ?? ''),
      unitColumn < 0 ? '' : (cells[unitColumn] ?? ''),
    );
    if (kinds.tooMany) return undefined;
    if (!kindIds.has(kind)) kindIds.set(kind, kindIds.size);
    const meter = meterColumn < 0 ? '' : (cells[meterColumn] ?? '').trim();
    const key = `${kindIds.get(kind)}|${meter}|${banner ?? ''}`;
    let block = blocks.get(key);
    if (block === undefined) {
      if (banner === 'gas' || kind.leave !== undefined) {
        noteLeft(banner === 'gas' ? 'other-commodity' : kind.leave!, kind, findings, evidence);
        block = null;
      } else {
        if (!meters.includes(meter)) meters.push(meter);
        block = {
          role: kind.role ?? banner,
          kind,
          point: meters.indexOf(meter) + 1,
          dateId: new Grow(),
          line: new Grow(),
          values: new Grow(4096),
          estimated: new Grow(),
        };
      }
      blocks.set(key, block);
    }
    if (block === null) {
      if (banner !== 'gas' && kind.leave === 'stated')
        for (const [k, column] of plan.columns.entries())
          left.see(kind, meter, dateId * DAY_MS + k, readNumber(cells[column] ?? '', shape.decimalComma), line);
      return undefined;
    }
    rows++;
    fields.see(cells, line);
    if (totalColumn >= 0) {
      const unit = shape.header[totalColumn]?.unit;
      const own = totalsOf([cells[totalColumn] ?? ''], line, [{ column: 0 }], shape.decimalComma);
      ofDays.push(...own.map((each) => (unit === undefined ? each : { unit, ...each })));
    }
    block.dateId.push(dateId);
    block.line.push(line);
    let estimated = 0;
    for (const column of quality) if (saysEstimated(cells[column])) estimated = 1;
    block.estimated.push(estimated);
    for (const column of plan.columns) {
      const cell = cells[column] ?? '';
      if (cell !== '') marks?.see(cell, line);
      const value = cell === '' ? Number.NaN : readNumber(cell, shape.decimalComma);
      if (Number.isNaN(value) && !isBlank(cell))
        findings.add('not-a-number', 'warning', { why: 'day-columns' }, { line, cell: quoteCell(cell, 'number') });
      block.values.push(value);
    }
    return undefined;
  });
  if (!kinds.finish(types.length > 0 || unitColumn >= 0, findings)) return undefined;
  if (rows === 0) {
    // Where the user's words leave out all rows, what is wrong with the words is told.
    if (!findings.has('unknown-rows')) findings.add('no-readings', 'error', { why: 'no-day' });
    return undefined;
  }
  fields.finish(table.delimiter, findings);
  marks?.finish('the columns of the day', findings);
  const kept = [...blocks.values()].filter((block) => block !== null);
  const settled = settleDates(
    stamps,
    kept.map(({ dateId }) => dateId.view()),
    options,
    findings,
    evidence,
  );
  if (settled === undefined) return undefined;
  const streams: Stream[] = [];
  for (const block of kept) {
    const stream = streamOf(block, plan, settled, shape, options, findings);
    if (stream === undefined) continue;
    if (types.length > 0 || unitColumn >= 0) {
      stream.kind = block.kind;
      if (block.role === undefined && !block.kind.understood) stream.unclear = true;
    }
    if (block.kind.part !== undefined) {
      stream.part = block.kind.part;
      stream.register = knownAs(block.kind.part);
    }
    if (block.kind.total === true) stream.total = true;
    stream.point = block.point;
    streams.push(stream);
  }
  const read = kept.map(({ kind, role, point, dateId, values }): ReadRows => {
    const perRow = plan.columns.length;
    const at = Float64Array.from({ length: values.length }, (_, i) => {
      return dateId.data[Math.floor(i / perRow)]! * DAY_MS + (i % perRow);
    });
    return { kind, role: role ?? options.channel ?? 'import', point, at, values: values.view() };
  });
  const leftOut = left.finish(meters, read, unitOfNames(shape, plan), plan.columns[0]! + 1);
  const points = meters.map(pointMark);
  // Of several kinds of rows a total may be of any.
  const [only] = streams;
  if (only === undefined || blocks.size > 1) return { layout: 'a row a day', evidence, streams, points, left: leftOut };
  only.column = plan.columns[0]! + 1;
  const isWhole = ofDays.length === rows;
  return {
    layout: 'a row a day',
    evidence,
    streams,
    points,
    totals: [...totals, ...(isWhole ? sumOfTotals(ofDays, only.column) : [])],
  };
}

/** The column that is named the total of each row; -1 where none, or more than one, is. */
function totalColumnOf(shape: Shape, taken: ReadonlySet<number>): number {
  const named = shape.classes.flatMap((kind, c) => {
    const { words = [], skip } = shape.header[c] ?? {};
    return kind === 'number' && !taken.has(c) && skip === undefined && words.includes('total') ? [c] : [];
  });
  return named.length === 1 ? named[0]! : -1;
}

function streamOf(
  block: Block,
  plan: WidePlan,
  dates: SettledDates,
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
): Stream | undefined {
  const perRow = plan.columns.length;
  const n = block.values.length;
  const labelMs = new Float64Array(n);
  const line = new Int32Array(n);
  const values = new Float64Array(n);
  const estimated = new Uint8Array(n);
  const stepMs = plan.stepMinutes * 60_000;
  const { zone } = options;
  const elapsed = plan.startMinute === undefined && zone !== undefined;
  const again = (plan.startMinute ?? []).map((minute, k, all) => all.indexOf(minute) < k);
  let count = 0;
  for (let r = 0; r < block.dateId.length; r++) {
    const day = dates.civilDays[block.dateId.data[r]!]!;
    if (Number.isNaN(day)) {
      findings.add(
        'unreadable-row',
        'warning',
        { why: 'no-date-or-time' },
        { line: block.line.data[r]!, cell: quoteCell(dates.textOf(block.dateId.data[r]!), 'time') },
      );
      continue;
    }
    const midnight = elapsed ? beginOfDay(zone, day) : day * DAY_MS;
    const nextMidnight = elapsed ? beginOfDay(zone, day + 1) : 0;
    for (let k = 0; k < perRow; k++) {
      const value = block.values.data[r * perRow + k]!;
      const at = midnight + (plan.startMinute === undefined ? k * stepMs : plan.startMinute[k]! * 60_000);
      if (Number.isNaN(value)) {
        // Columns that only the longest day fills, and a repeated label on a plain day.
        if ((elapsed && at >= nextMidnight) || again[k] === true) continue;
      } else if (elapsed && at >= nextMidnight && value === 0) continue;
      labelMs[count] = at;
      values[count] = value;
      line[count] = block.line.data[r]!;
      estimated[count] = block.estimated.data[r]!;
      count++;
    }
  }
  if (count === 0) return undefined;
  const labels: Labels = {
    clock: elapsed || plan.isUtc === true ? 'utc' : 'local',
    labelEnd: { at: 'start', why: 'layout' },
    count,
    labelMs,
    line,
    stepMs,
    ...(plan.isUtc === true ? { utcByName: true, offsetMinutes: [0] } : {}),
  };
  const role = block.role ?? options.channel;
  if (role === undefined) findings.add('channel-assumed', 'warning', { why: 'no-word' });
  return {
    role: role ?? 'import',
    unit: block.kind.unit ?? unitOfNames(shape, plan),
    labels,
    values: values.subarray(0, count),
    cumulative: false,
    source: 'the columns of the day',
    ...(estimated.some((mark) => mark === 1) ? { estimated } : {}),
  };
}

/** A unit that every value column's name carries. */
function unitOfNames(shape: Shape, plan: WidePlan): Unit | undefined {
  const units = new Set(plan.columns.map((c) => shape.header[c]?.unit));
  return units.size === 1 ? [...units][0] : undefined;
}
