import { quoteCell } from '../../input/quote.ts';
import { DAY_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions } from '../options.ts';
import type { Evidence, Kind, Readings, Role, Stream } from '../readings.ts';
import { directionOf, readHeader } from '../table/header.ts';
import { isBlank, readNumber } from '../table/numbers.ts';
import { ESTIMATED_WORDS, saysEstimated } from '../table/quality.ts';
import { KindReader, noteLeft } from '../table/row-kinds.ts';
import { looksDated, looksLikeHeader, type Shape } from '../table/shape.ts';
import { StampReader } from '../table/stamps.ts';
import { eachRow, type Table } from '../table/table.ts';
import { type Block, NO_OFFSET, openBlock, widen } from './block.ts';
import { maxColumn, type Plan, planColumns, sectionPlan } from './columns.ts';
import { addStreams } from './streams.ts';
import type { TimePlan } from './time-columns.ts';

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

/** What may be quoted of a row's date and time. */
function quoteTime(cells: readonly string[], time: TimePlan): string | undefined {
  const date = cells[time.stamp] ?? '';
  return (
    (time.time < 0 ? undefined : quoteCell(`${date} ${cells[time.time] ?? ''}`, 'time')) ?? quoteCell(date, 'time')
  );
}
