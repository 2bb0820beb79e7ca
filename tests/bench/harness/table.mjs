// The table as text, 80 columns wide.
import { limitMs } from './limit.mjs';

/** Results that differ by less are said to be the same but for rounding. */
const ROUNDING = 1e-12;

export const LEGEND = [
  'Ratios are medians of interleaved rounds, each of a line by the one it is held',
  'against in the same round; ± is their median distance from it. "× bare loop"',
  'takes so many times as long, "/ simplex" is so many times as fast. limit: times',
  'reading and writing once what it must. ~ stands before a home made from a seed.',
];

export function headOf(withBefore) {
  return withBefore
    ? columns(['', 'before', 'after', 'after/before', 'results', ''], [30, 7, 7, 13, 9, 0])
    : columns(['', 'ratio', '', 'aim', 'limit', ''], [30, 11, 0, 11, 7, 0], [12]);
}

/** The lines of text of one row; the first is the row, those after it say what is to say of it. */
export function textOf(row, limits, withBefore) {
  const { line } = row;
  const name = `${line.made ? '~' : ' '} ${line.name}`.padEnd(30);
  const told = [withBefore ? beforeAfter(name, row) : plain(name, row, limits)];
  if (row.note !== undefined) told.push(`    ${row.note}`);
  if (row.off !== undefined && !(row.off <= line.within))
    told.push(`    WRONG: its result differs from that of ${line.beside} by ${row.off.toExponential(0)} of it`);
  if (row.missing !== undefined) told.push(`    the version before has no such line: ${row.missing}`.slice(0, 80));
  if (!row.settled) told.push('    had not settled when its warm-up ended');
  return told;
}

/** Whether what it computes is what it is held against. */
export function isWrong(row) {
  return row.off !== undefined && !(row.off <= row.line.within);
}

function plain(name, row, limits) {
  const { line } = row;
  const least = limitMs(line, limits);
  const limit = least === undefined ? '' : figure(row.value / least);
  return columns(
    [name, share(row.ratio), heldAgainst(line), aimOf(row), limit, absolute(row)],
    [30, 11, 0, 11, 5, 9],
    [14],
  );
}

function beforeAfter(name, row) {
  const ratio = (held) => (held === undefined ? '' : figure(held.median));
  const change = row.change === undefined ? '' : share(row.change);
  return columns(
    [name, ratio(row.before), ratio(row.ratio), change, sameness(row.same), heldAgainst(row.line)],
    [30, 7, 7, 13, 9, 0],
  );
}

function sameness(off) {
  if (off === undefined) return '';
  if (off === 0) return 'same';
  return off <= ROUNDING ? off.toExponential(0) : `OFF ${off.toExponential(0)}`;
}

function heldAgainst({ beside, aim }) {
  if (beside === undefined) return '';
  return ` ${aim?.least === undefined ? '×' : '/'} ${beside}`;
}

function aimOf(row) {
  const { aim } = row.line;
  if (aim === undefined) return '';
  const [text, met] =
    aim.mostNs !== undefined
      ? [`≤ ${aim.mostNs} ns`, nsAStep(row) <= aim.mostNs]
      : aim.mostMb !== undefined
        ? [`≤ ${aim.mostMb} MB`, row.value <= aim.mostMb]
        : aim.least !== undefined
          ? [`≥ ${aim.least}`, row.ratio.median >= aim.least]
          : [`≤ ${aim.most}`, row.ratio.median <= aim.most];
  return met ? text : `${text} no`;
}

const nsAStep = (row) => (row.value * 1e6) / row.line.steps;

function absolute(row) {
  if (row.line.unit === 'MB') return `${row.value.toFixed(0)} MB`;
  if (row.line.steps !== undefined && (row.line.aim?.mostNs !== undefined || row.line.perStep))
    return `${figure(nsAStep(row))} ns`;
  return `${figure(row.value)} ms`;
}

/** A ratio and its spread in percent of it. */
function share({ median, spread } = {}) {
  if (median === undefined) return '';
  return `${figure(median)} ±${`${Math.round((100 * spread) / median)} %`.padStart(4)}`;
}

/** Three digits that count. */
export function figure(value) {
  if (!Number.isFinite(value)) return String(value);
  if (value >= 100) return value.toFixed(0);
  return value.toFixed(value >= 10 ? 1 : value >= 0.1 ? 2 : 3);
}

/** Cells in columns: the first to the left, others to the right, one of width 0 as it is (or to the left in the width given). */
function columns(cells, widths, free = []) {
  let text = '';
  let k = 0;
  for (const [c, cell] of cells.entries()) {
    const width = widths[c];
    if (c === 0) text += cell.padEnd(width);
    else if (width === 0) text += cell.padEnd(free[k++] ?? 0);
    else text += cell.padStart(width);
  }
  return text.trimEnd();
}
