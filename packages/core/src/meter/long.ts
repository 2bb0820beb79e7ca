import { quoteCell } from '../input/quote.ts';
import type { FindingList } from './findings.ts';
import type { ColumnMap, ColumnRef, ParseOptions, Unit } from './options.ts';
import type { Evidence, Kind, LabelEnd, Labels, Readings, Role, Stream } from './readings.ts';
import { directionOf, type HeaderCell, readHeader, unitOf } from './table/header.ts';
import { isBlank, readNumber } from './table/numbers.ts';
import { KindReader, noteLeft, typeColumns } from './table/row-kinds.ts';
import { type SettledDates, StampReader } from './table/stamps.ts';
import { columnName, eachRow, findColumn, looksDated, looksLikeHeader, type Shape, type Table } from './table/table.ts';

const DAY_MS = 86_400_000;

/** Where the time of a row stands. */
interface TimePlan {
  /** Column with date and time, or with the date alone. */
  stamp: number;
  /** Column with the time of day, −1 where `stamp` has it. */
  time: number;
  /** Column with the hour or interval number, −1 for none; `time` is −1 then. */
  index: number;
  /** Length of what `index` counts, ms, and the number that the first has. */
  indexMs: number;
  indexBase: number;
  /** Column with the interval's end (date and time, or time of day), −1 for none. */
  end: number;
  endTime: number;
  labelEnd: LabelEnd;
}

interface ValuePlan {
  column: number;
  role: Role;
  weak: boolean;
  unit: Unit | undefined;
  cumulative: boolean;
  part: string | undefined;
  /** Another resolution of the same figure: its rows are those in which it isn't blank. */
  own?: boolean;
  source: string;
}

interface Plan {
  time: TimePlan;
  values: ValuePlan[];
  /** Columns that tell rows apart: type, register, channel, direction. */
  types: number[];
  unit: number;
  meter: number;
  quality: number[];
  cost: number;
}

/** Stands in `offset` for a label that prints none. */
const NO_OFFSET = 32_767;

/** Readings under one header, of one type and meter: one set of labels, a value column each. */
interface Block {
  plan: Plan;
  role: Role | undefined;
  unit: Unit | undefined;
  kind: Kind;
  /** Which meter of the file, from 1. */
  point: number;
  count: number;
  capacity: number;
  dateId: Int32Array;
  timeMs: Int32Array;
  /** Minutes from UTC. */
  offset: Int16Array;
  line: Int32Array;
  mark: Uint8Array;
  estimated: Uint8Array;
  /** Empty where no column prints an end. */
  endDateId: Int32Array;
  endMs: Float64Array;
  values: Float64Array[];
  anyMark: boolean;
  anyEstimated: boolean;
}

/** Reads a table with one interval a row. Undefined, with an error finding, where no column can be made out. */
export function readLong(
  table: Table,
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
): Readings | undefined {
  const evidence: Evidence = [
    `fields are parted by ${table.delimiter === '\t' ? 'tabs' : `"${table.delimiter}"`}`,
    shape.headerLine > 0 ? `the header is line ${shape.headerLine}` : 'there is no header',
  ];
  if (shape.decimalComma) evidence.push('decimals are written with a comma');
  const plan = planColumns(shape, options, findings, evidence);
  if (plan === undefined) return undefined;

  const stamps = new StampReader();
  const blocks: Block[] = [];
  const byKey = new Map<string, Block | null>();
  const meters: string[] = [];
  let current: Plan | undefined = plan;
  let banner: Role | 'gas' | undefined;
  /** Rows under the same header and banner belong together, wherever in the file they stand. */
  let section = shape.names.join('\n');
  let unreadable = 0;
  let rowsRead = 0;
  const { decimalComma } = shape;
  const firstLine = shape.rows[0]!.line;
  const width = shape.width;
  let block: Block | null = null;
  const costs = { cost: 0, value: 0, rows: 0 };

  const kinds = new KindReader(options.rows);
  let hasTypes = plan.types.length > 0 || plan.unit >= 0;
  const kindIds = new Map<Kind, number>();

  const blockFor = (cells: readonly string[]): Block | null => {
    const active = current!;
    const kind = kinds.read(
      active.types.map((c) => cells[c] ?? ''),
      active.unit < 0 ? '' : (cells[active.unit] ?? ''),
    );
    if (kinds.tooMany) return null;
    const meterText = active.meter < 0 ? '' : (cells[active.meter] ?? '').trim();
    if (!kindIds.has(kind)) kindIds.set(kind, kindIds.size);
    const key = `${section}|${banner ?? ''}|${kindIds.get(kind)}|${meterText}`;
    let found = byKey.get(key);
    if (found === undefined) {
      if (banner === 'gas' || kind.leave !== undefined) {
        noteLeft(banner === 'gas' ? 'other-commodity' : kind.leave!, kind, findings, evidence);
        found = null;
      } else {
        if (!meters.includes(meterText)) meters.push(meterText);
        // One kind of rows may take the whole file; where there are several, each grows as it comes.
        found = openBlock(
          active,
          kind.role ?? banner,
          kind,
          blocks.length === 0 && active.types.length === 0 ? table.lines : 1024,
        );
        found.point = meters.indexOf(meterText) + 1;
        blocks.push(found);
      }
      byKey.set(key, found);
    }
    return found;
  };

  eachRow(table.text, table.delimiter, table.quoted, (cells, line) => {
    if (line < firstLine) {
      // A banner above the header ("Energy delivered") says what the first block measures.
      const told = lineWithoutTime(cells);
      if (typeof told === 'object') banner = told.role;
      return undefined;
    }
    // A file of a hundred thousand lines that say nothing is refused in any case: the rest is only counted.
    if (unreadable > 100_000 && unreadable > 10 * rowsRead) {
      unreadable++;
      return undefined;
    }
    const active = current!;
    const { time } = active;
    const hasEnd = time.end >= 0 || time.endTime >= 0;
    const stampText = cells[time.stamp];
    let dateId = -1;
    if (stampText !== undefined && stampText !== '')
      dateId = time.time < 0 && time.index < 0 ? stamps.read(stampText) : stamps.readDate(stampText);
    let ms = stamps.timeMs;
    let offset = stamps.offsetMinutes;
    let mark = stamps.mark;
    if (dateId >= 0) {
      if (time.time >= 0) {
        if (stamps.readTime(cells[time.time] ?? '')) {
          ms = stamps.timeMs;
          offset = stamps.offsetMinutes;
          mark = stamps.mark;
        } else dateId = -1;
      } else if (time.index >= 0) {
        const index = readNumber((cells[time.index] ?? '').replace(/^\D+/, ''), false);
        ms = (index - time.indexBase) * time.indexMs;
        if (!(ms >= 0 && ms <= DAY_MS * 1.05)) dateId = -1;
        offset = Number.NaN;
        mark = 0;
      } else if (!stamps.hasTime) {
        // A date alone in a column of instants is its midnight (spreadsheets print it so).
        ms = 0;
        offset = Number.NaN;
        mark = 0;
      }
    }
    if (dateId < 0) {
      const told = lineWithoutTime(cells);
      if (told === 'blank') return undefined;
      if (told === 'header') {
        const next = sectionPlan(cells, shape, options);
        if (next !== undefined) {
          section = cells.join('\n');
          current = next;
          hasTypes ||= next.types.length > 0 || next.unit >= 0;
          block = null;
        }
        return undefined;
      }
      if (told === 'total') {
        findings.add('totals-row', 'note', 'a totals row was left out', { line });
        return undefined;
      }
      if (typeof told === 'object') {
        banner = told.role;
        block = null;
        return undefined;
      }
      const cell = quoteTime(cells, time);
      if (line >= table.lines && cells.length < width)
        findings.add('truncated', 'warning', 'the last line is cut off: left out', { line, cell });
      else {
        unreadable++;
        // Headings and footers have no time either; what begins with a date should have had one.
        if (looksDated(cells[0]) || looksDated(stampText))
          findings.add('unreadable-row', 'warning', 'rows whose date or time can’t be read were left out', {
            line,
            cell,
          });
        else
          findings.add('row-without-time', 'warning', 'rows without a date and a time were left out', { line, cell });
      }
      return undefined;
    }
    if (line >= table.lines && cells.length < Math.min(width, maxColumn(active) + 1)) {
      findings.add('truncated', 'warning', 'the last line is cut off: left out', {
        line,
        cell: quoteTime(cells, time),
      });
      return undefined;
    }
    if (block === null || active.types.length > 0 || active.meter >= 0 || active.unit >= 0) block = blockFor(cells);
    if (block === null) return undefined;
    rowsRead++;
    const k = block.count++;
    if (k === block.capacity) widen(block);
    block.dateId[k] = dateId;
    block.timeMs[k] = ms;
    block.offset[k] = Number.isNaN(offset) ? NO_OFFSET : offset;
    block.line[k] = line;
    if (mark !== 0) {
      block.mark[k] = mark;
      block.anyMark = true;
    }
    if (hasEnd) {
      let endId = dateId;
      let endMs = Number.NaN;
      if (time.end >= 0) {
        endId = stamps.read(cells[time.end] ?? '');
        if (endId >= 0)
          endMs =
            stamps.timeMs -
            (Number.isNaN(stamps.offsetMinutes) || Number.isNaN(offset) ? 0 : (stamps.offsetMinutes - offset) * 60_000);
      } else if (stamps.readTime(cells[time.endTime] ?? '')) endMs = stamps.timeMs;
      block.endDateId[k] = endId;
      block.endMs[k] = endMs;
    }
    const { values } = active;
    for (let v = 0; v < values.length; v++) {
      const cell = cells[values[v]!.column];
      let value = Number.NaN;
      if (cell !== undefined && cell !== '') {
        value = readNumber(cell, decimalComma);
        if (Number.isNaN(value) && !isBlank(cell))
          findings.add(
            'not-a-number',
            'warning',
            `${values[v]!.source} holds text where a number is expected: taken as no value`,
            { line, key: String(v), cell: quoteCell(cell, 'number') },
          );
      }
      block.values[v]![k] = value;
    }
    let estimated = 0;
    for (const column of active.quality) if (saysEstimated(cells[column])) estimated = 1;
    for (const column of active.types) if (ESTIMATED_WORDS.test(cells[column] ?? '')) estimated = 1;
    for (let c = width; c < cells.length; c++) if (saysEstimated(cells[c])) estimated = 1;
    if (estimated === 1) {
      block.estimated[k] = 1;
      block.anyEstimated = true;
    }
    if (active.cost >= 0) {
      const cost = readNumber(cells[active.cost] ?? '', decimalComma);
      const value = block.values[0]![k]!;
      if (cost > 0 && value > 0) {
        costs.cost += cost;
        costs.value += value;
        costs.rows++;
      }
    }
    return undefined;
  });

  if (!kinds.finish(hasTypes, findings)) return undefined;
  if (rowsRead === 0) {
    findings.add('no-readings', 'error', 'no row could be read as an interval');
    return undefined;
  }
  if (unreadable > rowsRead / 2)
    findings.add('mostly-unreadable', 'error', `${unreadable} rows could not be read, only ${rowsRead} could`);

  // Dates: one order for every column of dates.
  const year = options.year ?? (stamps.hasLeapDay ? 2024 : 2023);
  function* sequence() {
    for (const { dateId, count } of blocks) yield* dateId.subarray(0, count);
  }
  const settled = stamps.settle(options.dateOrder, year, sequence());
  if (settled.unclear) {
    findings.add(
      'date-order-unclear',
      'error',
      'nothing in the dates tells day and month apart: state `dateOrder` (day-first or month-first)',
    );
    return undefined;
  }
  if (settled.evidence !== '') evidence.push(settled.evidence);
  if (stamps.lacksYear && options.year === undefined)
    findings.add('year-missing', 'warning', `the dates have no year: ${year} was taken; state \`year\` to choose it`);

  const streams: Stream[] = [];
  for (const b of blocks) addStreams(b, settled, streams, findings, evidence);
  if (costs.rows > 0) evidence.push(`cost divided by value is ${(costs.cost / costs.value).toPrecision(3)}`);
  return {
    layout: 'one interval a row',
    evidence,
    streams,
    ...(costs.rows > 20 ? { costPerValue: costs.cost / costs.value } : {}),
    ...(stamps.lacksYear && options.year === undefined ? { typicalYear: true } : {}),
  };
}

/** What may be quoted of a row's date and time. */
function quoteTime(cells: readonly string[], time: TimePlan): string | undefined {
  const date = cells[time.stamp] ?? '';
  return (
    (time.time < 0 ? undefined : quoteCell(`${date} ${cells[time.time] ?? ''}`, 'time')) ?? quoteCell(date, 'time')
  );
}

function openBlock(plan: Plan, role: Role | undefined, kind: Kind, capacity: number): Block {
  const ends = plan.time.end >= 0 || plan.time.endTime >= 0 ? capacity : 0;
  return {
    plan,
    role,
    unit: kind.unit,
    kind,
    point: 1,
    count: 0,
    capacity,
    dateId: new Int32Array(capacity),
    timeMs: new Int32Array(capacity),
    offset: new Int16Array(capacity),
    line: new Int32Array(capacity),
    mark: new Uint8Array(capacity),
    estimated: new Uint8Array(capacity),
    endDateId: new Int32Array(ends),
    endMs: new Float64Array(ends),
    values: plan.values.map(() => new Float64Array(capacity)),
    anyMark: false,
    anyEstimated: false,
  };
}

/** Doubles a block's room. */
function widen(block: Block): void {
  const wider = <T extends Int32Array | Int16Array | Uint8Array | Float64Array>(from: T): T => {
    const to = new (from.constructor as new (length: number) => T)(from.length * 2);
    to.set(from);
    return to;
  };
  block.capacity *= 2;
  for (const field of ['dateId', 'timeMs', 'line', 'endDateId'] as const) block[field] = wider(block[field]);
  block.offset = wider(block.offset);
  block.mark = wider(block.mark);
  block.estimated = wider(block.estimated);
  block.endMs = wider(block.endMs);
  block.values = block.values.map(wider);
}

function maxColumn(plan: Plan): number {
  let most = plan.time.stamp;
  for (const value of plan.values) most = Math.max(most, value.column);
  return most;
}

/** Turns a block's rows into streams: labels become instants or local clock readings. */
function addStreams(
  block: Block,
  dates: SettledDates,
  streams: Stream[],
  findings: FindingList,
  evidence: Evidence,
): void {
  const n = block.count;
  if (n === 0) return;
  const { civilDays } = dates;
  const labelMs = new Float64Array(n);
  const line = new Int32Array(n);
  const withEnd = block.endMs.length > 0;
  const durationMs = withEnd ? new Float64Array(n) : undefined;
  let withOffset = 0;
  for (let i = 0; i < n; i++) if (block.offset[i] !== NO_OFFSET) withOffset++;
  const utc = withOffset > n / 2;
  let count = 0;
  let inclusive = 0;
  const keep = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const offset = block.offset[i]!;
    const day = civilDays[block.dateId[i]!]!;
    if (Number.isNaN(day)) {
      findings.add('unreadable-row', 'warning', 'rows whose date or time can’t be read were left out', {
        line: block.line[i]!,
        cell: quoteCell(dates.textOf(block.dateId[i]!), 'time'),
      });
      continue;
    }
    if ((offset === NO_OFFSET) === utc) {
      findings.add(
        'mixed-offsets',
        'warning',
        'some rows state an offset from UTC and others do not: the fewer were left out',
        {
          line: block.line[i]!,
        },
      );
      continue;
    }
    const label = day * DAY_MS + block.timeMs[i]!;
    labelMs[count] = utc ? label - offset * 60_000 : label;
    line[count] = block.line[i]!;
    if (durationMs !== undefined) {
      const endDay = civilDays[block.endDateId[i]!] ?? Number.NaN;
      let duration = endDay * DAY_MS + block.endMs[i]! - label;
      // An end of 00:00 on the start's own date is that day's end.
      if (duration < 0 && block.plan.time.end < 0 && duration + DAY_MS <= 3_600_000) duration += DAY_MS;
      if ((duration / 60_000) % 5 === 4 && duration > 0) {
        duration += 60_000;
        inclusive++;
      } else if (duration > 0 && (duration / 1000) % 60 === 59) {
        duration += 1000;
        inclusive++;
      }
      durationMs[count] = duration;
    }
    keep[count] = i;
    count++;
  }
  if (inclusive > n / 2) evidence.push('ends are inclusive (00:59 for 01:00)');
  if (count === 0) return;
  const labels: Labels = { clock: utc ? 'utc' : 'local', labelEnd: block.plan.time.labelEnd, count, labelMs, line };
  if (durationMs !== undefined) labels.durationMs = durationMs;
  if (block.anyMark && !utc) {
    labels.mark = new Uint8Array(count);
    for (let i = 0; i < count; i++) labels.mark[i] = block.mark[keep[i]!]!;
  }
  if (utc) evidence.push('labels state their offset from UTC');
  let estimated: Uint8Array | undefined;
  if (block.anyEstimated) {
    estimated = new Uint8Array(count);
    for (let i = 0; i < count; i++) estimated[i] = block.estimated[keep[i]!]!;
  }
  block.plan.values.forEach((plan, v) => {
    let values = block.values[v]!.subarray(0, count);
    if (count < n) values = Float64Array.from(keep.subarray(0, count), (i) => block.values[v]![i]!);
    if (plan.own === true) {
      const filled: number[] = [];
      for (let i = 0; i < count; i++) if (!Number.isNaN(values[i]!)) filled.push(i);
      if (filled.length === 0) return;
      streams.push({
        role: plan.role,
        unit: plan.unit,
        labels: {
          clock: labels.clock,
          labelEnd: labels.labelEnd,
          count: filled.length,
          labelMs: Float64Array.from(filled, (i) => labelMs[i]!),
          line: Int32Array.from(filled, (i) => line[i]!),
        },
        values: Float64Array.from(filled, (i) => values[i]!),
        cumulative: plan.cumulative,
        source: plan.source,
        point: block.point,
        ...kindFields(block, plan),
      });
      return;
    }
    streams.push({
      role: block.role !== undefined && (plan.weak || block.plan.values.length === 1) ? block.role : plan.role,
      unit: plan.unit ?? block.unit,
      labels,
      values,
      cumulative: plan.cumulative,
      source: plan.source,
      point: block.point,
      ...kindFields(block, plan),
      ...(estimated === undefined ? {} : { estimated }),
    });
  });
}

/** What is known of a stream's place among the others of its channel. */
function kindFields({ kind, plan: { types, unit }, role }: Block, plan: ValuePlan) {
  const parts = [plan.part, kind.part].filter((part) => part !== undefined);
  return {
    ...(types.length > 0 || unit >= 0 ? { kind } : {}),
    ...(plan.weak && role === undefined && !kind.understood ? { unclear: true } : {}),
    ...(parts.length === 0 ? {} : { part: parts.join(', ') }),
    ...(kind.total === true ? { total: true } : {}),
  };
}

const ESTIMATED_CODE = /^(?:e|est|s|f|e\d\d|s\d\d|f\d\d)$/i;
const ESTIMATED_WORDS = /estimat|substitut|interpolat|edited/i;

/** Whether a quality cell or a note says that the value is no plain measurement. */
export function saysEstimated(cell: string | undefined): boolean {
  if (cell === undefined || cell === '') return false;
  const text = cell.trim();
  return ESTIMATED_CODE.test(text) || (ESTIMATED_WORDS.test(text) && !/\b(?:not|non|un)[- ]?estimat/i.test(text));
}

/** What a row without a time is: nothing, a header, a totals row, a banner that names a direction, or unreadable. */
function lineWithoutTime(
  cells: readonly string[],
): 'blank' | 'header' | 'total' | 'unreadable' | { role: Role | 'gas' } {
  let filled = 0;
  let text = '';
  for (const cell of cells)
    if (cell.trim() !== '') {
      filled++;
      if (filled === 1) text = cell;
    }
  if (filled === 0) return 'blank';
  if (/\b(?:total|sum|subtotal|average|max|min)/i.test(text)) return 'total';
  if (filled >= 2 && looksLikeHeader(cells) && cells.some((cell) => readHeader(cell).time !== undefined))
    return 'header';
  if (filled <= 2) {
    const role = directionOf(cells.join(' '));
    if (role !== undefined) return { role };
  }
  return 'unreadable';
}

/** The plan under a header further down: the same rules, its findings dropped (the first header's stand). */
function sectionPlan(cells: readonly string[], shape: Shape, options: ParseOptions): Plan | undefined {
  const header = cells.map(readHeader);
  const same = cells.length === shape.names.length && cells.every((cell, c) => cell.trim() === shape.names[c]!.trim());
  const next: Shape = same ? shape : { ...shape, names: cells, header };
  const silent = { add() {}, has: () => false, hasError: false, list: () => [] } as unknown as FindingList;
  return planColumns(next, options, silent, []);
}

/** Decides which column is what, by the user's word, then by names, then by what the cells hold. */
export function planColumns(
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): Plan | undefined {
  const time = planTime(shape, options, findings, evidence);
  if (time === undefined) return undefined;
  const taken = new Set([time.stamp, time.time, time.index, time.end, time.endTime]);
  const tells = (what: HeaderCell['tells']) =>
    shape.header.findIndex((cell, c) => cell.tells === what && !taken.has(c) && c < shape.width);
  const plan: Plan = {
    time,
    values: [],
    types: typeColumns(shape, taken, 'every row', options, findings),
    unit: tells('unit'),
    meter: tells('meter'),
    // Notes may stand in a field that the header doesn't name and only some rows have.
    quality: shape.classes.flatMap((kind, c) =>
      shape.header[c]?.tells === 'quality' || (kind === 'text' && c >= shape.names.length && shape.names.length > 0)
        ? [c]
        : [],
    ),
    cost: shape.header.findIndex((cell) => cell.skip === 'cost' && !cell.words.includes('rate')),
  };
  const values =
    options.columns !== undefined && Object.keys(options.columns).some((key) => isValueRole(key))
      ? statedValues(shape, options.columns, findings)
      : foundValues(shape, options, taken, plan, findings);
  if (values === undefined) return undefined;
  plan.values = values;
  if (values.some((value) => value.own === true)) plan.unit = -1;
  for (const value of values)
    evidence.push(
      `${value.source} is ${value.role}${value.cumulative ? ', a running total' : ''}${value.unit === undefined ? '' : `, in ${value.unit}`}`,
    );
  return plan;
}

function isValueRole(key: string): key is Role {
  return key === 'import' || key === 'export' || key === 'load' || key === 'solar' || key === 'net';
}

function statedValues(shape: Shape, columns: ColumnMap, findings: FindingList): ValuePlan[] | undefined {
  const values: ValuePlan[] = [];
  let bad = false;
  for (const role of ['import', 'export', 'load', 'solar', 'net'] as const) {
    const stated = columns[role];
    if (stated === undefined) continue;
    const refs = Array.isArray(stated) ? (stated as readonly ColumnRef[]) : [stated as ColumnRef];
    for (const ref of refs) {
      const column = findColumn(shape, ref, role, findings);
      if (column < 0) bad = true;
      else {
        const head = shape.header[column];
        values.push({
          column,
          role,
          weak: false,
          unit: head?.unit,
          cumulative: head?.cumulative ?? false,
          part: refs.length > 1 ? String(ref) : undefined,
          source: columnName(shape, column),
        });
      }
    }
  }
  return bad ? undefined : values;
}

function foundValues(
  shape: Shape,
  options: ParseOptions,
  taken: ReadonlySet<number>,
  plan: Plan,
  findings: FindingList,
): ValuePlan[] | undefined {
  const named: ValuePlan[] = [];
  const nameless: number[] = [];
  const others: number[] = [];
  for (let c = 0; c < shape.width; c++) {
    if (taken.has(c) || plan.types.includes(c) || c === plan.unit || c === plan.meter || plan.quality.includes(c))
      continue;
    const kind = shape.classes[c];
    const head = shape.header[c];
    if (head?.skip === 'battery' && kind === 'number')
      findings.add(
        'battery-in-data',
        'warning',
        `${columnName(shape, c)} is of a battery: the data may already contain one`,
        { key: String(c) },
      );
    if (kind !== 'number' && !(kind === 'blank' && head?.role !== undefined)) continue;
    if (head === undefined || (head.words.length === 0 && shape.names.length === 0)) nameless.push(c);
    else if (head.skip !== undefined || head.tells !== undefined || head.time !== undefined) continue;
    else if (head.role !== undefined)
      named.push({
        column: c,
        role: head.role,
        weak: head.weak === true,
        unit: head.unit,
        cumulative: head.cumulative === true,
        part: head.part,
        source: columnName(shape, c),
      });
    else others.push(c);
  }
  if (named.length === 0) {
    const candidates = nameless.length > 0 ? nameless : others;
    if (candidates.length === 1) {
      const column = candidates[0]!;
      const role = options.channel ?? 'import';
      if (options.channel === undefined)
        findings.add(
          'channel-assumed',
          'warning',
          `${columnName(shape, column)} is the only one with numbers and doesn't say what it measures: taken as import; state \`channel\` or \`columns\``,
        );
      return [
        {
          column,
          role,
          weak: true,
          unit: undefined,
          cumulative: false,
          part: undefined,
          source: columnName(shape, column),
        },
      ];
    }
    findings.add(
      'columns-unclear',
      'error',
      candidates.length === 0
        ? 'no column holds an energy or a power'
        : `columns ${candidates
            .map((c) => c + 1)
            .slice(0, 20)
            .join(', ')} hold numbers and none says what it measures: state \`columns\``,
    );
    return undefined;
  }
  return chooseValues(named, shape, options, findings);
}

/** Among columns that claim the same role: parts of a whole are added, else the clearest one is read. */
function chooseValues(
  named: ValuePlan[],
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
): ValuePlan[] | undefined {
  const has = (role: Role) => named.some((value) => value.role === role && !value.weak);
  // Beside gross solar, with neither import nor export named, "consumption" is what the home used.
  if (has('solar') && !has('import') && !has('export') && !has('load') && !has('net'))
    for (const value of named)
      if (value.weak && /\bconsum|\bgc\b|\bcl\b/.test(shape.header[value.column]!.words.join(' '))) {
        value.role = 'load';
        value.weak = false;
      }
  if (options.channel !== undefined && named.length === 1 && named[0]!.weak) named[0]!.role = options.channel;
  const chosen: ValuePlan[] = [];
  for (const role of ['import', 'export', 'load', 'solar', 'net'] as const) {
    let group = named.filter((value) => value.role === role);
    if (group.length === 0) continue;
    // A power is no register: "Peak kW" is the highest, and "High" and "Low" are what it lay between.
    for (const value of group) if (value.unit !== undefined && !/h$/.test(value.unit)) value.part = undefined;
    const strong = group.filter((value) => !value.weak);
    if (strong.length > 0) {
      // Words such as "power" beside a named direction are other figures of the same row.
      group = strong;
    } else if (role === 'import' && (has('load') || has('net')) && group.every((value) => value.part === undefined))
      continue;
    const energies = group.filter((value) => value.unit === undefined || /h$/.test(value.unit));
    if (energies.length > 0 && energies.length < group.length && group.every((value) => value.part === undefined))
      group = energies;
    const deltas = group.filter((value) => !value.cumulative);
    if (deltas.length > 0) group = deltas;
    if (group.length > 1 && areAlternatives(group, shape)) {
      for (const value of group) {
        value.own = true;
        value.unit ??= unitBeside(shape, value.column);
      }
      chosen.push(...group);
      continue;
    }
    if (group.length > 1) {
      const parts = group.filter((value) => value.part !== undefined);
      const whole = group.filter((value) => value.part === undefined);
      const name = (value: ValuePlan) => shape.header[value.column]!.words.join(' ');
      if (whole.length === 1 && parts.length > 0 && /\btotal\b/.test(name(whole[0]!))) group = whole;
      else if (whole.length === 1 && parts.length > 0 && parts.every((value) => /^c/.test(value.part!))) {
        // "Usage" and "controlled load": the latter is a circuit with a register of its own, added below.
        whole[0]!.part = 'general';
      } else if (parts.length < group.length) {
        const withUnit = group.filter(
          (value) =>
            value.unit !== undefined && /\b(?:total|usage|consumption|import|export|net|facility)\b/.test(name(value)),
        );
        const facility = group.filter((value) => /\b(?:total|facility|whole)\b/.test(name(value)));
        if (facility.length === 1) group = facility;
        else if (withUnit.length === 1) group = withUnit;
        else {
          findings.add(
            'columns-unclear',
            'error',
            `${group
              .map((value) => value.source)
              .slice(0, 12)
              .join(', ')} all look like ${role}: state \`columns\``,
            { key: role },
          );
          return undefined;
        }
      }
    }
    if (group.length > 1)
      findings.add(
        'registers-added',
        'note',
        `${group.map((value) => value.source).join(', ')} are registers of ${role}: added`,
        { key: role },
      );
    chosen.push(...group);
  }
  const ignored = named.filter((value) => !chosen.includes(value));
  if (ignored.length > 0)
    findings.add(
      'columns-ignored',
      'note',
      `not read: ${ignored
        .map((value) => value.source)
        .slice(0, 12)
        .join(', ')}${ignored.length > 12 ? ` and ${ignored.length - 12} more` : ''}`,
    );
  if (chosen.length === 0) {
    findings.add('columns-unclear', 'error', 'no column holds an energy or a power');
    return undefined;
  }
  return chosen;
}

/** Columns of the same name that aren't filled by the same rows: two resolutions side by side. */
function areAlternatives(group: readonly ValuePlan[], shape: Shape): boolean {
  const name = shape.header[group[0]!.column]!.words.join(' ');
  if (group.some((value) => shape.header[value.column]!.words.join(' ') !== name)) return false;
  const filled = group.map((value) => shape.rows.filter((row) => !isBlank(row.cells[value.column] ?? '')).length);
  return Math.min(...filled) < Math.max(...filled) * 0.75;
}

/** The unit that the next units column to the right prints. */
function unitBeside(shape: Shape, column: number): Unit | undefined {
  const at = shape.header.findIndex((cell, c) => c > column && cell.tells === 'unit');
  if (at < 0) return undefined;
  for (const row of shape.rows) {
    const unit = unitOf(row.cells[at] ?? '');
    if (unit !== undefined) return unit;
  }
  return undefined;
}

function planTime(
  shape: Shape,
  options: ParseOptions,
  findings: FindingList,
  evidence: Evidence,
): TimePlan | undefined {
  const { classes, header } = shape;
  const stated = options.columns;
  const plan: TimePlan = {
    stamp: -1,
    time: -1,
    index: -1,
    indexMs: 0,
    indexBase: 0,
    end: -1,
    endTime: -1,
    labelEnd: { at: 'start', why: 'assumed' },
  };
  const statedTime =
    stated !== undefined && (stated.start !== undefined || stated.end !== undefined || stated.date !== undefined);
  if (statedTime) {
    const column = (field: 'start' | 'end' | 'date' | 'time' | 'endTime') =>
      stated[field] === undefined ? -1 : findColumn(shape, stated[field], field, findings);
    plan.stamp = column('date') >= 0 ? column('date') : column('start');
    plan.time = column('time');
    plan.end = column('end');
    plan.endTime = column('endTime');
    if (plan.stamp < 0) {
      plan.stamp = plan.end;
      plan.end = -1;
      plan.labelEnd = { at: 'end', why: 'stated' };
    } else plan.labelEnd = { at: 'start', why: 'stated' };
    if (plan.stamp < 0) return undefined;
  } else {
    const stampColumns = columnsOf(classes, 'stamp');
    const dateColumns = columnsOf(classes, 'date');
    const timeColumns = columnsOf(classes, 'time');
    const isEnd = (c: number) => header[c]?.time === 'end';
    // Two stamps: start and end. A stamp and a date: the stamp. Dates and times apart: joined.
    const starts = stampColumns.filter((c) => !isEnd(c));
    const ends = stampColumns.filter(isEnd);
    if (stampColumns.length > 0) {
      if (starts.length > 0) {
        plan.stamp = starts.find((c) => header[c]?.time === 'start') ?? starts[0]!;
        plan.end = ends[0] ?? -1;
        if (plan.end >= 0 || header[plan.stamp]?.time === 'start') plan.labelEnd = { at: 'start', why: 'column-name' };
      } else {
        plan.stamp = ends[0]!;
        plan.labelEnd = { at: 'end', why: 'column-name' };
      }
    } else if (dateColumns.length > 0) {
      plan.stamp = dateColumns.find((c) => !isEnd(c)) ?? dateColumns[0]!;
      if (timeColumns.length > 0) {
        const startTimes = timeColumns.filter((c) => !isEnd(c));
        plan.time = startTimes.find((c) => header[c]?.time === 'start') ?? startTimes[0] ?? timeColumns[0]!;
        const endTime = timeColumns.find(
          (c) => c !== plan.time && (isEnd(c) || header[c] === undefined || header[c]?.time === 'plain'),
        );
        if (endTime !== undefined) plan.endTime = endTime;
        if (endTime !== undefined || header[plan.time]?.time === 'start')
          plan.labelEnd = { at: 'start', why: 'column-names' };
        else if (startTimes.length === 0) plan.labelEnd = { at: 'end', why: 'column-name' };
      } else if (!planIndex(shape, plan)) {
        findings.add(
          'no-interval-data',
          'error',
          'rows have a date and no time of day: these are daily or monthly figures, no interval data',
        );
        return undefined;
      } else plan.labelEnd = { at: 'start', why: 'layout' };
    } else {
      findings.add('no-time-column', 'error', 'no column holds dates');
      return undefined;
    }
  }
  if (statedTime && plan.time < 0 && classes[plan.stamp] === 'date' && !planIndex(shape, plan)) {
    findings.add(
      'no-interval-data',
      'error',
      'rows have a date and no time of day: these are daily or monthly figures, no interval data',
    );
    return undefined;
  }
  if (options.intervalEnd !== undefined && plan.index < 0) {
    plan.labelEnd = { at: options.intervalEnd ? 'end' : 'start', why: 'stated' };
  } else if (plan.labelEnd.why === 'assumed') {
    // 24:00 is never a start.
    const stamps = new StampReader();
    const shows24 = shape.rows.some((row) => {
      const text = row.cells[plan.time >= 0 ? plan.time : plan.stamp] ?? '';
      return (plan.time >= 0 ? stamps.readTime(text) : stamps.read(text) >= 0) && stamps.timeMs === DAY_MS;
    });
    if (shows24) plan.labelEnd = { at: 'end', why: 'shows-24' };
  }
  evidence.push(
    plan.labelEnd.why === 'layout' ? `column ${plan.index + 1} counts the intervals of the day` : plan.labelEnd,
  );
  return plan;
}

/** An hour or interval number beside the date: 0–23, 1–24, 1–48, 1–96, `HE01`. */
function planIndex(shape: Shape, plan: TimePlan): boolean {
  for (let c = 0; c < shape.width; c++) {
    if (c === plan.stamp || (shape.header[c]?.time === undefined && shape.names.length > 0)) continue;
    if (shape.header[c]?.role !== undefined) continue;
    let least = Number.POSITIVE_INFINITY;
    let most = Number.NEGATIVE_INFINITY;
    let whole = true;
    for (const row of shape.rows) {
      const text = (row.cells[c] ?? '').trim();
      if (!/^(?:[A-Za-z]{1,8}[ _]?)?\d{1,4}$/.test(text)) {
        whole = false;
        break;
      }
      const n = Number(text.replace(/^\D+/, ''));
      least = Math.min(least, n);
      most = Math.max(most, n);
    }
    if (!whole || shape.rows.length < 2 || least > 1) continue;
    const hundreds = most >= 100 && most % 100 === 0;
    const perDay = [24, 48, 96, 144, 288].find((n) => most - least + 1 <= n + n / 24 && most > n / 2 - 1);
    if (perDay === undefined && !hundreds) continue;
    plan.index = c;
    plan.indexBase = least;
    plan.indexMs = hundreds ? DAY_MS / 2400 : DAY_MS / perDay!;
    return true;
  }
  return false;
}

function columnsOf(classes: readonly string[], kind: string): number[] {
  const found: number[] = [];
  for (let c = 0; c < classes.length; c++) if (classes[c] === kind) found.push(c);
  return found;
}
