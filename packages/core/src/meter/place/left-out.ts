import { HOUR_MS } from '../durations.ts';
import type { FindingList } from '../findings.ts';
import { kwhPer } from '../kwh.ts';
import type { ParseOptions, Unit } from '../options.ts';
import type { Evidence, Group, LeftOut, Readings, Role } from '../readings.ts';
import type { IntervalSeries } from '../series.ts';

/** Below this share of what would be read with it, nothing is missing that a bill would show. */
const TOLD_SHARE = 0.005;
/** Above this share no savings rest on what is read, as where a bill says something else. */
const WITHHELD_SHARE = 0.05;
/** Nearer than this an energy is the sum of others. */
const SAME_SHARE = 0.005;

/**
 * Tells of the energy that the user's words leave out, once units are known. What is read may hold it too: then it is
 * evidence. Savings are withheld where a register of what the home buys or sells is left
 * out, or all that it sells, and nothing that is read holds it.
 *
 * @param billed whether what is read is what was billed: then nothing of what was bought is missing
 */
export function tellLeftOut(
  { left = [], beside = [] }: Readings,
  groups: readonly Group[],
  { importKwh, exportKwh, loadKwh, solarKwh }: IntervalSeries,
  { unit: stated, adjust }: ParseOptions,
  billed: boolean,
  findings: FindingList,
  evidence: Evidence,
): void {
  const kwhOf = (sum: number, column: number, unit: Unit | undefined) => {
    const group = groups.find(({ streams }) => streams.some((stream) => stream.column === column)) ?? groups[0]!;
    const read = group.streams.find((stream) => stream.column === column) ?? group.streams[0]!;
    // A unit that is stated counts in place of what names say. What a counter adds is energy, whatever the interval.
    const own = stated === undefined ? (unit ?? read.unit!) : read.unit!;
    return sum * kwhPer(own, read.cumulative ? HOUR_MS : group.stepMs);
  };
  const scale = (role: Role) => adjust?.scale?.[role === 'net' ? 'import' : role] ?? 1;
  const readKwh = { import: importKwh ?? loadKwh, load: loadKwh ?? importKwh, export: exportKwh, solar: solarKwh };
  const readOf = (role: Role) => {
    let read = 0;
    for (const value of readKwh[role === 'net' ? 'import' : role] ?? []) read += value || 0;
    return read;
  };
  const shareOf = (kwh: number, role: Role) => kwh / (kwh + readOf(role));
  /** Of what is sold nothing is read, and it isn't made of what the home uses either: so much of all that it trades isn't known. */
  const lacksSold = (role: Role, kwh: number) =>
    role === 'export' &&
    exportKwh === undefined &&
    importKwh !== undefined &&
    loadKwh === undefined &&
    shareOf(kwh, 'import') > WITHHELD_SHARE;
  const inKwh = ({ sum, column, unit }: LeftOut) => kwhOf(sum, column, unit);
  for (const each of left.filter(({ isHeld, sum }) => isHeld && sum > 0))
    evidence.push(`what is read holds ${each.what} too`);
  for (const role of ['import', 'export', 'solar'] as const) {
    const missing = left.filter((each) => !each.isHeld && sideOf(each.role) === role && each.sum > 0);
    if (missing.length === 0) continue;
    const leftKwh = withoutTotals(missing.map(inKwh), readOf(role)).reduce((kwh, each) => kwh + each, 0);
    const share = shareOf(leftKwh, role);
    if (!(leftKwh > 0) || share <= TOLD_SHARE) continue;
    const registersKwh = missing.reduce((kwh, each) => kwh + (each.isRegister ? inKwh(each) : 0), 0);
    findings.add(
      'energy-left-out',
      'warning',
      {
        left: missing.map((each) => ({ stream: each.what, energyKwh: inKwh(each) * scale(role) })),
        role,
        share,
        alone: missing.reduce((readings, { alone }) => readings + alone, 0),
        // What was billed says nothing of what was sold.
        withheld:
          !(billed && role !== 'export') && (shareOf(registersKwh, role) > WITHHELD_SHARE || lacksSold(role, leftKwh)),
      },
      {
        lines: missing.map(({ line }) => line),
        count: missing.reduce((rows, { count }) => rows + count, 0),
        key: role,
      },
    );
  }
  for (const each of beside) {
    const { role, read, columnNumbers, areRegisters } = each;
    const columns = each.columns.map(({ name, column, sum, unit, isTotal }) => ({
      column: name,
      energyKwh: kwhOf(sum, column, unit),
      isTotal,
    }));
    const leftKwh = columns.reduce((kwh, { energyKwh, isTotal }) => kwh + (isTotal ? 0 : energyKwh), 0);
    const share = shareOf(leftKwh, role);
    // What was billed says nothing of what was sold.
    const isLacking = (areRegisters && share > WITHHELD_SHARE) || lacksSold(role, leftKwh);
    const withheld = isLacking && !(billed && role !== 'export');
    const told = columns.slice(0, 12).map(({ column, energyKwh }) => ({ column, energyKwh: energyKwh * scale(role) }));
    findings.add(
      'columns-beside',
      'warning',
      { columns: told, read, role, columnNumbers, share, withheld },
      { key: role },
    );
  }
}

/** Energies without those that hold all the others and what is read: a total is no more energy. */
function withoutTotals(kwh: readonly number[], readKwh: number): number[] {
  const all = kwh.reduce((sum, each) => sum + each, readKwh);
  return kwh.filter((each) => kwh.length === 1 || Math.abs(each / (all - each) - 1) > SAME_SHARE);
}

/** Where a text doesn't say it, it may be of what the home takes. */
function sideOf(role: Role | undefined): 'import' | 'export' | 'solar' {
  return role === 'export' || role === 'solar' ? role : 'import';
}
