import type { Finding } from './series.ts';

/** Findings that are no errors of reading, for the rest of the file is there, and that no result may rest on. */
const STOPPING: readonly string[] = ['not-a-number', 'negative-value', 'truncated', 'unreadable-row'];

/** Whether a study must not be made of data with this finding, until it is answered or mended. */
export function stopsStudy({ code, severity }: Pick<Finding, 'code' | 'severity'>): boolean {
  return severity === 'error' || STOPPING.includes(code);
}
