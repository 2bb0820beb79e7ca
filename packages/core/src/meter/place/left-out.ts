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

/**
 * Tells of the energy that the user's words leave out, once units are known. What is read may hold it too: then it is
 * evidence. Savings are withheld where a register of what the home buys or sells is left
 * out, and nothing that is read holds it.
 *
 * @param billed whether what is read is what was billed: then nothing of what was bought is missing
 */
export function tellLeftOut(
  { left = [], beside }: Readings,
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
  const shareOf = (kwh: number, role: Role) => {
    let read = 0;
    for (const value of readKwh[role === 'net' ? 'import' : role] ?? []) read += value || 0;
    return kwh / (kwh + read);
  };
  const inKwh = ({ sum, column, unit }: LeftOut) => kwhOf(sum, column, unit);
  for (const each of left.filter(({ isHeld, sum }) => isHeld && sum > 0))
    evidence.push(`what is read holds ${each.what} too`);
  for (const role of ['import', 'export', 'solar'] as const) {
    const missing = left.filter((each) => !each.isHeld && sideOf(each.role) === role && each.sum > 0);
    const leftKwh = missing.reduce((kwh, each) => kwh + inKwh(each), 0);
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
        // What was billed says nothing of what was sold.
        withheld: !(billed && role !== 'export') && shareOf(registersKwh, role) > WITHHELD_SHARE,
      },
      {
        lines: missing.map(({ line }) => line),
        count: missing.reduce((rows, { count }) => rows + count, 0),
        key: role,
      },
    );
  }
  if (beside === undefined) return;
  const { role, read, columnNumbers, areRegisters } = beside;
  const columns = beside.columns.map(({ name, column, sum, unit }) => ({
    column: name,
    energyKwh: kwhOf(sum, column, unit),
  }));
  const share = shareOf(
    columns.reduce((kwh, { energyKwh }) => kwh + energyKwh, 0),
    role,
  );
  const withheld = areRegisters && !billed && share > WITHHELD_SHARE;
  const told = columns.slice(0, 12).map((each) => ({ ...each, energyKwh: each.energyKwh * scale(role) }));
  findings.add('columns-beside', 'warning', { columns: told, read, role, columnNumbers, share, withheld });
}

/** Where a text doesn't say it, it may be of what the home takes. */
function sideOf(role: Role | undefined): 'import' | 'export' | 'solar' {
  return role === 'export' || role === 'solar' ? role : 'import';
}
