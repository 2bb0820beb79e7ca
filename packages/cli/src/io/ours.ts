import { closeSync, openSync, readSync } from 'node:fs';

/** What an interval's flows are called in the library, in the order of the table's columns. */
export const FLOWS = [
  'importKwh',
  'exportKwh',
  'chargeKwh',
  'dischargeKwh',
  'curtailedKwh',
  'unservedKwh',
  'socKwh',
] as const;

/**
 * First line of the table that `compare --intervals` writes, and the mark by which it is known as ours. A comment above
 * it would be plainer, but programs that read CSV would stumble over it.
 */
export const FLOW_TABLE_HEADER = `strategy,start,load kWh,solar kWh,standby kWh,${FLOWS.map((name) => name.replace('Kwh', ' kWh')).join(',')},import price,export price\n`;

/** How an interval CSV of ours begins. */
const INTERVAL_FILE = /^# format: duskbank\.interval\/\d+\n/;

/** What we print with --json, by the names of its formats. Site files, tariffs and typed-in sheets bear our mark, too, and are somebody's work. */
export const RESULTS = [
  'backup-needs',
  'bill',
  'check',
  'circuits',
  'compare',
  'explain',
  'inspect',
  'outage',
  'refusal',
  'settings',
  'tariff-choice',
  'tariff-description',
];

/** How a printed result begins: with the version that made it, which nobody writes by hand. */
const RESULT = new RegExp(`^\\{\\n  "format": "duskbank\\.(?:${RESULTS.join('|')})/\\d+",\\n  "version": "`);

/** Whether a file is one that Duskbank wrote, which a run can make again: by how it begins. */
export function isOurs(path: string): boolean {
  const head = headOf(path, FLOW_TABLE_HEADER.length);
  return head === FLOW_TABLE_HEADER || INTERVAL_FILE.test(head) || RESULT.test(head);
}

/** The first bytes of a file as text; none where it can't be read. */
function headOf(path: string, bytes: number): string {
  let descriptor: number;
  try {
    descriptor = openSync(path, 'r');
  } catch {
    return '';
  }
  try {
    const head = Buffer.alloc(bytes);
    return head.toString('utf8', 0, readSync(descriptor, head, 0, bytes, 0));
  } finally {
    closeSync(descriptor);
  }
}
