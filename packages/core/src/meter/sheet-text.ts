/** What a cell holds: a formula its value as last saved, a date or time of day the clock that it shows, as if in UTC. */
export type SheetCell = string | number | boolean | Date | null;

/** A sheet as a delimited text: a line a row, so that line numbers are row numbers. */
export interface Laid {
  readonly text: string;
  /** The mark that its numbers are written with; undefined where nothing settles it. */
  readonly decimal: '.' | ',' | undefined;
  /** The same, cell by cell. */
  readonly cells: readonly (readonly string[])[];
}

/** Day 0 of the two ways in which spreadsheets count days (ECMA-376 part 1, 18.17.4.1). */
const DAY_0 = { from1900: Date.UTC(1899, 11, 30), from1904: Date.UTC(1904, 0, 1) } as const;
/** No meter reading is as old: a date before it is a time of day, or a length of time. */
const FIRST_DATE = Date.UTC(1905, 0, 1);

/** Lays the cells of a sheet out as text. Numbers get the decimal mark that its texts have, or the one stated. */
export function textOfSheet(rows: readonly (readonly SheetCell[])[], stated: '.' | ',' | undefined): Laid {
  const decimal = stated ?? markOf(rows);
  const withTime = columnsWithTime(rows);
  const cells = rows.map((row) => row.map((cell, c) => cellText(cell, withTime[c] === true, decimal)));
  const parts = cells.some((row) => row.some((cell) => /[,"]/.test(cell))) ? '\t' : ',';
  const plain = (cell: string) => (parts === '\t' ? cell.replaceAll('"', '’') : cell);
  return { text: `${cells.map((row) => row.map(plain).join(parts)).join('\n')}\n`, decimal, cells };
}

/** A number with one comma, perhaps with points between its thousands and a currency behind. */
const COMMA_NUMBER = /^\s*[-+−]?(?:\d*|\d{1,3}(?:\.\d{3})+),\d+\s*(?:[€$£]|[A-Z]{3})?\s*$/;

/** The mark before decimals: cells that are numbers have none, and take that of the texts which are numbers. */
function markOf(rows: readonly (readonly SheetCell[])[]): '.' | ',' | undefined {
  let numbers = false;
  let threes = false;
  for (const row of rows)
    for (const cell of row) {
      if (typeof cell === 'number') numbers ||= !Number.isInteger(cell);
      else if (typeof cell === 'string' && COMMA_NUMBER.test(cell)) {
        if (!/,\d{3}\D*$/.test(cell) || /^\s*[-+−]?0*,|\./.test(cell)) return ',';
        threes = true;
      }
    }
  return numbers && !threes ? '.' : undefined;
}

/** Columns in which some date has a time of day: there midnight is written out too. */
function columnsWithTime(rows: readonly (readonly SheetCell[])[]): boolean[] {
  const withTime: boolean[] = [];
  for (const row of rows)
    row.forEach((cell, c) => {
      if (cell instanceof Date && isDated(cell) && secondsOf(cell) % 86_400 !== 0) withTime[c] = true;
    });
  return withTime;
}

function isDated(date: Date): boolean {
  return date.getTime() >= FIRST_DATE;
}

/** A day's fraction is kept to some microseconds only: whole seconds are what was meant. */
function secondsOf(date: Date): number {
  return Math.round(date.getTime() / 1000);
}

function cellText(cell: SheetCell, withTime: boolean, decimal: '.' | ',' | undefined): string {
  if (cell === null) return '';
  if (typeof cell === 'string') return cell.replace(/[\t\r\n]+/g, ' ');
  if (typeof cell === 'boolean') return cell ? 'TRUE' : 'FALSE';
  if (typeof cell === 'number') return numberText(cell).replace('.', decimal ?? '.');
  if (Number.isNaN(cell.getTime())) return '';
  if (!isDated(cell)) return clockText(cell);
  const text = new Date(secondsOf(cell) * 1000).toISOString();
  if (!withTime) return text.slice(0, 10);
  return `${text.slice(0, 10)} ${text.slice(11, text.slice(17, 19) === '00' ? 16 : 19)}`;
}

/** Fifteen digits, as spreadsheets count them: 0.1 + 0.2 is 0.3. */
function numberText(value: number): string {
  const rounded = Number(value.toPrecision(15));
  return Math.abs(rounded) < 1e-6 && rounded !== 0 ? rounded.toFixed(20).replace(/0+$/, '') : String(rounded);
}

/** A time of day, `24:00` at a day's end. */
function clockText(date: Date): string {
  const from = date.getTime() >= DAY_0.from1904 ? DAY_0.from1904 : DAY_0.from1900;
  const seconds = Math.round((date.getTime() - from) / 1000);
  const two = (value: number) => String(value).padStart(2, '0');
  const clock = `${two(Math.floor(seconds / 3600))}:${two(Math.floor(seconds / 60) % 60)}`;
  return seconds % 60 === 0 ? clock : `${clock}:${two(seconds % 60)}`;
}
