import { DAY_MS, HOUR_MS } from '../durations.ts';
import { classify } from './cells.ts';
import { readHeader } from './header.ts';
import { isBlank, readNumber } from './numbers.ts';
import { StampReader } from './stamps.ts';

/** Rows of a day, at least: of hours, one may lack some. */
const LEAST_ROWS = 20;
/** The clock goes back by so much in the night that has an hour twice, ms. */
const HOUR_TWICE_MS = HOUR_MS;
/** A row's own number is a total of the day where it is so in this share of the days. */
const MOST_TOTALS = 0.9;

/** A table of blocks, one a day: a line with the date, then rows with a time of day or the number of an hour. */
export interface DayBlocks {
  /** Where rows get their date: behind their last field. */
  readonly date: number;
  /** Fields of the shortest row. */
  readonly least: number;
  /** The column with the time of day, or with the number. */
  readonly time: number;
  readonly isNumber: boolean;
  readonly newestFirst: boolean;
  /** The words beside each date. */
  readonly label: string;
}

/** A line that holds a date, and perhaps words and numbers beside it. */
interface Heading {
  readonly date: string;
  readonly at: number;
  readonly label: string;
  /** Columns with a number. */
  readonly numbers: readonly number[];
}

interface DayBlock {
  readonly heading: Heading;
  readonly headingCells: readonly string[];
  readonly rows: (readonly string[])[];
  readonly positions: number[];
}

/**
 * Whether a table has a block a day. Undefined where a row has a date of its own or none above it, where a day's times don't run
 * one way, and where a number beside a date isn't the sum of the day: what it is then, nobody can know.
 */
export function findDayBlocks(sample: readonly { readonly cells: readonly string[] }[]): DayBlocks | undefined {
  const stamps = new StampReader();
  for (const isNumber of [false, true]) {
    const found = blocksOf(sample, isNumber, stamps);
    if (found === undefined) continue;
    const { blocks, time } = found;
    const full = blocks.slice(0, -1).filter(({ rows }) => rows.length > 0);
    const [first] = full;
    if (first === undefined) return undefined;
    const used = [...full, blocks.at(-1)!];
    const lengths = full.map(({ rows }) => rows.length).sort((a, b) => a - b);
    if (lengths[lengths.length >> 1]! < LEAST_ROWS) return undefined;
    if (new Set(used.map(({ heading }) => heading.label)).size > 1) return undefined;
    if (new Set(used.map(({ heading }) => heading.date)).size < used.length) return undefined;
    const falls = (positions: readonly number[]) => positions.filter((at, k) => k > 0 && at < positions[k - 1]!).length;
    const newestFirst = falls(first.positions) > first.positions.length / 2;
    const step = isNumber ? 0 : HOUR_TWICE_MS;
    if (!used.every(({ positions }) => runsOneWay(positions, newestFirst, step))) return undefined;
    if (isNumber && !full.every(({ positions }) => countsUp(positions, newestFirst))) return undefined;
    // A mark may part thousands or decimals: the sum shows which.
    if (!areTotals(full, false) && !areTotals(full, true)) return undefined;
    const widths = used.flatMap(({ rows }) => rows.map(({ length }) => length));
    return {
      date: Math.max(...widths),
      least: Math.min(...widths),
      time,
      isNumber,
      newestFirst,
      label: first.heading.label,
    };
  }
  return undefined;
}

/** Cuts a sample at its lines with a date. */
function blocksOf(
  sample: readonly { readonly cells: readonly string[] }[],
  isNumber: boolean,
  stamps: StampReader,
): { blocks: DayBlock[]; time: number } | undefined {
  const blocks: DayBlock[] = [];
  let time = -1;
  let followsRow = 0;
  let beforeBlank = 0;
  let last: 'row' | 'heading' | 'other' = 'other';
  for (const { cells } of sample) {
    const heading = headingOf(cells, stamps);
    if (heading !== undefined) {
      if (last === 'row') followsRow++;
      blocks.push({ heading, headingCells: cells, rows: [], positions: [] });
      last = 'heading';
      continue;
    }
    if (last === 'heading' && cells.every((cell) => cell.trim() === '')) beforeBlank++;
    last = 'other';
    const kinds = cells.map((cell) => classify(cell, stamps));
    const at = isNumber ? cells.findIndex(isCount) : kinds.indexOf('time');
    // The number of a meter may look like seconds since 1970.
    if (kinds.some((kind, c) => kind === 'date' || (kind === 'stamp' && !/^\s*\d+\s*$/.test(cells[c]!))))
      return undefined;
    if (at < 0 || !kinds.some((kind, c) => kind === 'number' && c !== at)) continue;
    if (time < 0) time = at;
    const block = blocks.at(-1);
    if (block === undefined || at !== time) return undefined;
    block.rows.push(cells);
    block.positions.push(isNumber ? Number(cells[at]) : timeOf(cells[at]!, stamps));
    last = 'row';
  }
  while (blocks[0]?.rows.length === 0) blocks.shift();
  // The sample may end with a date.
  while (blocks.at(-1)?.rows.length === 0) blocks.pop();
  // A date below the rows that it is of, not above them.
  const isBelow = blocks.length > 1 && followsRow >= blocks.length - 1 && beforeBlank >= blocks.length - 1;
  return blocks.length < 2 || isBelow ? undefined : { blocks, time };
}

function isCount(cell: string): boolean {
  return /^\s*\d{1,3}\s*$/.test(cell) && Number(cell) <= 300;
}

/** 02.05.25 is a date. */
function isTime(text: string, stamps: StampReader): boolean {
  return (text.includes(':') || stamps.read(text) < 0) && stamps.readTime(text);
}

function timeOf(text: string, stamps: StampReader): number {
  return stamps.readTime(text) ? stamps.timeMs : Number.NaN;
}

/** What a line with a date says; undefined of any other line. */
function headingOf(cells: readonly string[], stamps: StampReader): Heading | undefined {
  let heading: { date: string; at: number } | undefined;
  let label = '';
  const numbers: number[] = [];
  for (const [at, cell] of cells.entries()) {
    if (cell.trim() === '') continue;
    const kind = classify(cell, stamps);
    if (kind === 'number') {
      numbers.push(at);
      continue;
    }
    const named = kind === 'text' ? /^\s*(\p{L}[\p{L} .]{0,30}?)\s*[:=]?\s+(\S.*)$/u.exec(cell) : null;
    const own = kind === 'date' || isMidnight(cell, kind, stamps) ? cell : named?.[2];
    if (own !== undefined && (own === cell || classify(own, stamps) === 'date')) {
      if (heading !== undefined) return undefined;
      heading = { date: own.replace(/[ T]0?0[:.]00(?:[:.]00)?(?:[.]0+)?\s*$/, '').trim(), at };
      if (own !== cell) label += named![1]!;
    } else if (kind !== 'text' || /\d/.test(cell) || label !== '') return undefined;
    // A weekday beside the date is part of it.
    else if (stamps.read(`${cell.trim()} 2000-01-01`) < 0) label += cell.trim();
  }
  return heading === undefined ? undefined : { ...heading, label: label.replace(/:$/, '').toLowerCase(), numbers };
}

/** Whether a cell is a date as a spreadsheet prints it, with a time of nothing. */
function isMidnight(cell: string, kind: string, stamps: StampReader): boolean {
  return kind === 'stamp' && /[ T]0?0[:.]00/.test(cell) && stamps.read(cell) >= 0 && stamps.timeMs === 0;
}

/** Whether a day's times rise, or fall, but for the midnight at its end and an hour that is there twice. */
function runsOneWay(positions: readonly number[], newestFirst: boolean, slack: number): boolean {
  const inTime = newestFirst ? [...positions].reverse() : positions;
  return inTime.every((at, k) => {
    if (k === 0) return !Number.isNaN(at);
    const isEnd = k === inTime.length - 1 && at === 0 && slack > 0;
    return isEnd || at > inTime[k - 1]! || (slack > 0 && at >= inTime[k - 1]! - slack);
  });
}

/** Whether a day's numbers begin with 0 or 1 and have no hole but one that a missing row or a clock change leaves. */
function countsUp(positions: readonly number[], newestFirst: boolean): boolean {
  const inTime = newestFirst ? [...positions].reverse() : positions;
  return inTime[0]! <= 1 && inTime.at(-1)! - inTime[0]! <= inTime.length + LEAST_ROWS / 4;
}

/** Whether numbers beside the dates, where there are any, are sums of the days below them. */
function areTotals(blocks: readonly DayBlock[], decimalComma: boolean): boolean {
  const numberIn = (cell: string | undefined) => readNumber(cell ?? '', decimalComma);
  let told = 0;
  let fits = 0;
  for (const { heading, headingCells, rows } of blocks)
    for (const column of heading.numbers) {
      told++;
      const total = numberIn(headingCells[column]);
      let sum = 0;
      for (const cells of rows) sum += isBlank(cells[column] ?? '') ? 0 : numberIn(cells[column]);
      if (Math.abs(sum - total) <= 0.006 * Math.max(1, Math.abs(total))) fits++;
    }
  return told === 0 || fits >= MOST_TOTALS * told;
}

/**
 * Gives rows the date above them, row after row, and takes it from the lines that hold nothing else; a day's total stays, under
 * the name of one. Rows that go back in time by more than the hour that a clock repeats are of a day that nobody can know: they
 * have no date until one is printed. Midnight at a day's end is its 24:00.
 *
 * @param keepsTotals false to blank a day's total as well
 */
export function fillDayBlocks(
  { date, least, time, isNumber, newestFirst, label }: DayBlocks,
  keepsTotals = true,
): (cells: string[]) => void {
  const stamps = new StampReader();
  let above: string | undefined;
  let first = Number.NaN;
  let before = Number.NaN;
  return (cells) => {
    const text = cells[time] ?? '';
    if (isNumber ? isCount(text) : isTime(text, stamps)) {
      let at = isNumber ? Number(text) : stamps.timeMs;
      if (cells.length < least || above === undefined) return;
      const slack = isNumber ? 0 : HOUR_TWICE_MS;
      const isDayEnd = at === 0 && !isNumber && (newestFirst ? Number.isNaN(before) : first > 0 && before > slack);
      if (isDayEnd) {
        at = DAY_MS;
        cells[time] = '24:00';
      }
      if (newestFirst ? at > before + slack : at < before - slack) {
        above = undefined;
        return;
      }
      if (Number.isNaN(before)) first = at;
      before = at;
      while (cells.length < date) cells.push('');
      cells.splice(date, 0, above);
      return;
    }
    const heading = headingOf(cells, stamps);
    if (heading !== undefined && heading.label === label) {
      above = heading.date;
      before = Number.NaN;
      const hasTotal = keepsTotals && heading.numbers.length > 0;
      for (const c of cells.keys()) if (!hasTotal || !heading.numbers.includes(c)) cells[c] = '';
      if (hasTotal) cells[heading.at] = 'Total';
      return;
    }
    if (isHeader(cells, time)) {
      while (cells.length < date) cells.push('');
      cells.splice(date, 0, 'Date');
    }
  };
}

/** Whether a line names columns, that of the time among them. */
function isHeader(cells: readonly string[], time: number): boolean {
  const filled = cells.filter((cell) => cell.trim() !== '');
  if (filled.length < 2 || isBlank(cells[time] ?? '')) return false;
  const heads = filled.map(readHeader);
  return heads.some((head) => (head.time ?? head.role ?? head.skip ?? head.tells) !== undefined);
}
