import { quoteCell } from '../../input/cell.ts';
import { DAY_MS, MINUTE_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import { pointMark } from '../point-mark.ts';
import type { Evidence, Kind, Readings, Role, Stream, TotalsRow } from '../readings.ts';
import { FieldCount } from '../table/fields.ts';
import { type Inactive, inactiveOf } from '../table/header.ts';
import { Marks } from '../table/marks.ts';
import { isBlank, readNumber, readWithUnit } from '../table/numbers.ts';
import { ESTIMATED_WORDS, saysEstimated } from '../table/quality.ts';
import { KindReader, noteLeft } from '../table/row-kinds.ts';
import { settleDates } from '../table/settle-dates.ts';
import { looksDated, type Shape } from '../table/shape.ts';
import { StampReader } from '../table/stamps.ts';
import { eachTableRow, type Table } from '../table/table.ts';
import { type Block, NO_OFFSET, openBlock, widen } from './block.ts';
import { maxColumn, type Plan, planColumns, sectionPlan } from './columns.ts';
import { daySums, type RowWithoutTime } from './day-sums.ts';
import { asksDropped, besideOf } from './dropped.ts';
import { restoreHalves } from './half-days.ts';
import { LeftOutRows } from './left-out.ts';
import { lineWithoutTime, quoteTime } from './line-without-time.ts';
import { nameRegister } from './sole-register.ts';
import { addStreams } from './streams.ts';
import { totalsOf } from './totals.ts';
import { isValueRole } from './value-columns.ts';

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
  if (table.dayBlocks !== undefined) evidence.push('each day is a block below a line with its date');
  if (table.datesAbove !== undefined) evidence.push('dates are printed once a day: a blank one is the date above');
  if (shape.decimalComma) evidence.push('decimals are written with a comma');
  const plan = planColumns(shape, options, findings, evidence);
  if (plan === undefined || asksDropped(table, shape, plan, findings)) return undefined;
  const beside = Object.keys(options.columns ?? {}).some(isValueRole) ? besideOf(table, shape, plan) : [];
  const reader = new RowReader(plan, table, shape, options, findings, evidence);
  eachTableRow(table, (cells, line) => reader.read(cells, line));
  const readings = reader.readings();
  if (readings !== undefined) nameRegister(readings, table, shape, plan);
  return readings && beside.length > 0 ? { ...readings, beside } : readings;
}

/** Takes the rows of a table one by one and sorts them into blocks by what they measure. */
class RowReader {
  readonly #table: Table;
  readonly #shape: Shape;
  readonly #options: ParseOptions;
  readonly #findings: FindingList;
  readonly #evidence: Evidence;

  /** Under the header that stands above the row. */
  #plan: Plan;
  /** A line between blocks that says what those below it measure. */
  #banner: Role | 'gas' | undefined;
  /** Rows under the same header and banner belong together, wherever in the file they stand. */
  #section: string;
  /** Where the row before went; null where it was left out or a new section begins. */
  #block: Block | null = null;
  /** Of the row before. */
  #kind: Kind | undefined;
  readonly #left = new LeftOutRows();
  readonly #blocks: Block[] = [];
  readonly #byKey = new Map<string, Block | null>();
  readonly #kinds: KindReader;
  readonly #kindIds = new Map<Kind, number>();
  #hasTypes: boolean;
  readonly #meters: string[] = [];
  /** What rows hold that are left out. */
  #inactive: Inactive | undefined;

  readonly #stamps = new StampReader();
  /** The label of the row: see {@link StampReader}; a `dateId` of −1 where there is none. */
  #dateId = -1;
  #timeMs = 0;
  #offsetMinutes = Number.NaN;
  #mark = 0;

  readonly #fields: FieldCount;
  /** By column; none where the mark is stated. */
  readonly #marks: Map<string, Marks> | undefined;
  #unreadable = 0;
  readonly #totals: TotalsRow[] = [];
  readonly #withoutTime: RowWithoutTime[] = [];
  #rowsRead = 0;
  readonly #costs = { cost: 0, value: 0, rows: 0 };

  constructor(
    plan: Plan,
    table: Table,
    shape: Shape,
    options: ParseOptions,
    findings: FindingList,
    evidence: Evidence,
  ) {
    this.#plan = plan;
    this.#stamps.ranges = plan.time.ranges;
    this.#table = table;
    this.#shape = shape;
    this.#options = options;
    this.#findings = findings;
    this.#evidence = evidence;
    this.#section = shape.names.join('\n');
    this.#fields = new FieldCount(shape);
    this.#marks = options.decimal === undefined ? new Map() : undefined;
    this.#kinds = new KindReader(options.rows);
    this.#hasTypes = plan.types.length > 0 || plan.unit >= 0;
  }

  read(cells: readonly string[], line: number): void {
    if (line < this.#shape.rows[0]!.line) {
      // A banner above the header ("Energy delivered") says what the first block measures.
      const told = lineWithoutTime(cells);
      if (typeof told === 'object') this.#banner = told.role;
      return;
    }
    // A file of a hundred thousand lines that say nothing is refused in any case: the rest is only counted.
    if (this.#unreadable > 100_000 && this.#unreadable > 10 * this.#rowsRead) {
      this.#unreadable++;
      return;
    }
    this.#readLabel(cells);
    if (this.#dateId < 0) {
      this.#readWithoutTime(cells, line);
      return;
    }
    const plan = this.#plan;
    if (line >= this.#table.lines && cells.length < Math.min(this.#shape.width, maxColumn(plan) + 1)) {
      this.#findings.add('truncated', 'warning', {}, { line, cell: quoteTime(cells, plan.time) });
      return;
    }
    if (this.#block === null || plan.types.length > 0 || plan.meter >= 0 || plan.unit >= 0)
      this.#block = this.#blockFor(cells);
    if (this.#block === null) {
      if (this.#banner !== 'gas' && this.#kind?.leave === 'stated')
        this.#left.seeRow(
          this.#kind,
          plan,
          cells,
          this.#dateId * DAY_MS + this.#timeMs,
          line,
          this.#shape.decimalComma,
        );
      return;
    }
    this.#rowsRead++;
    this.#fields.see(cells, line);
    this.#store(this.#block, cells, line);
  }

  #readLabel(cells: readonly string[]): void {
    const { time } = this.#plan;
    const stamps = this.#stamps;
    const text = cells[time.stamp];
    this.#dateId = -1;
    if (text !== undefined && text !== '')
      this.#dateId = time.time < 0 && time.index < 0 ? stamps.read(text) : stamps.readDate(text);
    this.#timeMs = stamps.timeMs;
    this.#offsetMinutes = stamps.offsetMinutes;
    this.#mark = stamps.mark;
    if (this.#dateId < 0) return;
    if (time.time >= 0) {
      if (stamps.readTime(cells[time.time] ?? '')) {
        this.#timeMs = stamps.timeMs;
        this.#offsetMinutes = stamps.offsetMinutes;
        this.#mark = stamps.mark;
      } else this.#dateId = -1;
    } else if (time.index >= 0) {
      const index = readNumber((cells[time.index] ?? '').replace(/^\D+/, ''), false);
      this.#timeMs = (index - time.indexBase) * time.indexMs;
      // The longest day has 25 hours.
      if (!(this.#timeMs >= 0 && this.#timeMs <= DAY_MS * 1.05)) this.#dateId = -1;
      this.#offsetMinutes = Number.NaN;
      this.#mark = 0;
    } else if (!stamps.hasTime) {
      // A date alone in a column of instants is its midnight (spreadsheets print it so).
      this.#timeMs = 0;
      this.#offsetMinutes = Number.NaN;
      this.#mark = 0;
    }
  }

  /** A header, a total, a banner, or a row that can't be read. */
  #readWithoutTime(cells: readonly string[], line: number): void {
    const told = lineWithoutTime(cells, cells[this.#plan.time.time]);
    if (told === 'blank') return;
    if (told === 'header') {
      const next = sectionPlan(cells, this.#shape, this.#options);
      if (next === undefined) return;
      this.#section = cells.join('\n');
      this.#plan = next;
      this.#fields.head(cells);
      this.#hasTypes ||= next.types.length > 0 || next.unit >= 0;
      this.#block = null;
      return;
    }
    if (told === 'total') {
      this.#findings.add('totals-row', 'note', { why: 'named-total' }, { line });
      this.#totals.push(...totalsOf(cells, line, this.#plan.values, this.#shape.decimalComma));
      return;
    }
    if (typeof told === 'object') {
      this.#banner = told.role;
      this.#block = null;
      return;
    }
    const { time } = this.#plan;
    const cell = quoteTime(cells, time);
    if (line >= this.#table.lines && cells.length < this.#shape.width) {
      this.#findings.add('truncated', 'warning', {}, { line, cell });
      return;
    }
    if (time.time >= 0 && (cells[time.time] ?? '').trim() === '' && looksDated(cells[time.stamp])) {
      const dateId = this.#stamps.readDate(cells[time.stamp]!);
      const totals = dateId < 0 ? [] : totalsOf(cells, line, this.#plan.values, this.#shape.decimalComma);
      if (totals.length > 0) {
        this.#withoutTime.push({ line, dateId, cell, totals });
        return;
      }
    }
    this.#unreadable++;
    // Headings and footers have no time either; what begins with a date should have had one.
    if (looksDated(cells[0]) || looksDated(cells[time.stamp]))
      this.#findings.add('unreadable-row', 'warning', { why: 'no-date-or-time' }, { line, cell });
    else this.#findings.add('row-without-time', 'warning', {}, { line, cell });
  }

  /** The block of rows of this kind, meter and section; null where such rows are left out. */
  #blockFor(cells: readonly string[]): Block | null {
    const plan = this.#plan;
    const banner = this.#banner;
    const kind = this.#kinds.read(
      plan.types.map((c) => cells[c] ?? ''),
      plan.unit < 0 ? '' : (cells[plan.unit] ?? ''),
    );
    this.#kind = kind;
    if (this.#kinds.tooMany) return null;
    const meter = plan.meter < 0 ? '' : (cells[plan.meter] ?? '').trim();
    if (!this.#kindIds.has(kind)) this.#kindIds.set(kind, this.#kindIds.size);
    const key = `${this.#section}|${banner ?? ''}|${this.#kindIds.get(kind)}|${meter}`;
    const known = this.#byKey.get(key);
    if (known !== undefined) return known;
    let block: Block | null = null;
    if (kind.leave === 'other-quantity' && kind.stated !== true)
      this.#inactive ??= inactiveOf([...plan.types, plan.unit].map((c) => cells[c] ?? '').join(' '));
    if (banner === 'gas' || kind.leave !== undefined)
      noteLeft(banner === 'gas' ? 'other-commodity' : kind.leave!, kind, this.#findings, this.#evidence);
    else {
      if (!this.#meters.includes(meter)) this.#meters.push(meter);
      // One kind of rows may take the whole file; where there are several, each grows as it comes.
      const capacity = this.#blocks.length === 0 && plan.types.length === 0 ? this.#table.lines : 1024;
      block = openBlock(plan, kind.role ?? banner, kind, capacity);
      block.point = this.#meters.indexOf(meter) + 1;
      this.#blocks.push(block);
    }
    this.#byKey.set(key, block);
    return block;
  }

  #store(block: Block, cells: readonly string[], line: number): void {
    const plan = this.#plan;
    const { decimalComma, width } = this.#shape;
    const k = block.count++;
    if (k === block.capacity) widen(block);
    block.dateId[k] = this.#dateId;
    block.timeMs[k] = this.#timeMs;
    block.offset[k] = Number.isNaN(this.#offsetMinutes) ? NO_OFFSET : this.#offsetMinutes;
    block.line[k] = line;
    if (this.#mark !== 0) {
      block.mark[k] = this.#mark;
      block.anyMark = true;
    }
    if (block.endMs.length > 0) this.#storeEnd(block, k, cells);
    const { values } = plan;
    for (let v = 0; v < values.length; v++) {
      const cell = cells[values[v]!.column];
      let value = Number.NaN;
      if (cell !== undefined && cell !== '') {
        this.#see(cell, values[v]!.source, line);
        value = readNumber(cell, decimalComma);
        const { unit, unitInCells } = values[v]!;
        if (Number.isNaN(value) && unitInCells === true) value = readWithUnit(cell, unit!, decimalComma);
        if (Number.isNaN(value) && !isBlank(cell))
          this.#findings.add(
            'not-a-number',
            'warning',
            { why: 'column', column: values[v]!.source },
            { line, key: String(v), cell: quoteCell(cell, 'number') },
          );
      }
      block.values[v]![k] = value;
    }
    let estimated = 0;
    for (const column of plan.quality) if (saysEstimated(cells[column])) estimated = 1;
    for (const column of plan.types) if (ESTIMATED_WORDS.test(cells[column] ?? '')) estimated = 1;
    for (let c = width; c < cells.length; c++) if (saysEstimated(cells[c])) estimated = 1;
    if (estimated === 1) {
      block.estimated[k] = 1;
      block.anyEstimated = true;
    }
    if (plan.cost >= 0) {
      const cost = readNumber(cells[plan.cost] ?? '', decimalComma);
      const value = block.values[0]![k]!;
      if (cost > 0 && value > 0) {
        this.#costs.cost += cost;
        this.#costs.value += value;
        this.#costs.rows++;
      }
    }
  }

  /** Looks at the marks of a value. */
  #see(cell: string, source: string, line: number): void {
    if (this.#marks === undefined) return;
    let marks = this.#marks.get(source);
    if (marks === undefined) {
      marks = new Marks(this.#shape.decimalComma);
      this.#marks.set(source, marks);
    }
    marks.see(cell, line);
  }

  /** The end that the row prints, on the clock of its start. */
  #storeEnd(block: Block, k: number, cells: readonly string[]): void {
    const { time } = this.#plan;
    const stamps = this.#stamps;
    let endId = this.#dateId;
    let endMs = Number.NaN;
    if (time.bothEnds) {
      endMs = stamps.endMs;
      if (stamps.endDateId >= 0) endId = stamps.endDateId;
    } else if (time.end >= 0) {
      endId = stamps.read(cells[time.end] ?? '');
      const shiftMinutes = stamps.offsetMinutes - this.#offsetMinutes;
      if (endId >= 0) endMs = stamps.timeMs - (Number.isNaN(shiftMinutes) ? 0 : shiftMinutes * MINUTE_MS);
    } else if (stamps.readTime(cells[time.endTime] ?? '')) endMs = stamps.timeMs;
    block.endDateId[k] = endId;
    block.endMs[k] = endMs;
  }

  /** Once all rows are read: their dates settled, a stream for each block and column. */
  readings(): Readings | undefined {
    const findings = this.#findings;
    const evidence = this.#evidence;
    const stamps = this.#stamps;
    if (!this.#kinds.finish(this.#hasTypes, findings)) return undefined;
    if (this.#inactive !== undefined && this.#blocks.every(({ role }) => role === 'export' || role === 'solar')) {
      findings.add('not-active-energy', 'error', { quantity: this.#inactive });
      return undefined;
    }
    if (this.#rowsRead === 0) {
      // Where the user's words leave out all rows, what is wrong with the words is told.
      if (!findings.has('unknown-rows')) findings.add('no-readings', 'error', { why: 'no-interval' });
      return undefined;
    }
    if (this.#unreadable > this.#rowsRead / 2)
      findings.add('mostly-unreadable', 'error', { unreadable: this.#unreadable, read: this.#rowsRead });
    this.#fields.finish(this.#table.delimiter, findings);
    for (const [source, marks] of this.#marks ?? []) marks.finish(source, findings);
    const dates = settleDates(
      stamps,
      this.#blocks.map(({ dateId, count }) => dateId.subarray(0, count)),
      this.#options,
      findings,
      evidence,
    );
    if (dates === undefined) return undefined;
    const sums = daySums(this.#withoutTime, this.#blocks, dates, findings);
    if (!restoreHalves(this.#blocks, dates, findings)) return undefined;
    const typicalYear = stamps.lacksYear && this.#options.year === undefined;
    if (typicalYear) findings.add('year-missing', 'warning', { year: dates.year });
    const streams: Stream[] = [];
    for (const block of this.#blocks) addStreams(block, dates, this.#options.zone, streams, findings, evidence);
    const { cost, value, rows } = this.#costs;
    if (rows > 0) evidence.push(`cost divided by value is ${(cost / value).toPrecision(3)}`);
    return {
      layout: 'one interval a row',
      evidence,
      streams,
      ...(rows > 20 ? { costPerValue: cost / value } : {}),
      ...(typicalYear ? { typicalYear: true } : {}),
      ...([...this.#byKey.values()].includes(null) ? {} : { totals: [...this.#totals, ...(sums ?? [])] }),
      points: this.#meters.map(pointMark),
      left: this.#left.besideBlocks(this.#blocks, this.#meters, this.#plan),
    };
  }
}
