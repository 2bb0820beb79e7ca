import { FindingList } from '../findings.ts';
import type { ColumnMap, ColumnRef } from '../options.ts';
import type { Role } from '../readings.ts';
import { columnName, findColumn, type Shape } from '../table/shape.ts';

/** Of what is bought what is sold, and the other way round. */
const OTHER_WAY: Partial<Record<Role, 'import' | 'export'>> = { import: 'export', export: 'import' };

/**
 * Refuses a list in which headers name what is bought and what is sold: their sum is neither. Where the other way is stated too,
 * the user tells them apart.
 */
export function refuseBothWays(
  shape: Shape,
  columns: ColumnMap,
  role: Role,
  refs: readonly ColumnRef[],
  findings: FindingList,
): boolean {
  const other = OTHER_WAY[role];
  if (other === undefined || columns[other] !== undefined) return false;
  const listed = refs.flatMap((ref) => {
    const column = findColumn(shape, ref, role, new FindingList());
    const head = shape.header[column];
    return head?.role === undefined || head.weak === true ? [] : [{ column, way: head.role }];
  });
  if (!listed.some(({ way }) => way === role) || !listed.some(({ way }) => way === other)) return false;
  const both = listed.filter(({ way }) => way === role || way === other).map(({ column }) => column);
  findings.add(
    'columns-unclear',
    'error',
    { why: 'both-ways', columns: both.map((column) => columnName(shape, column)), role: role as string },
    { line: shape.headerLine },
  );
  return true;
}
