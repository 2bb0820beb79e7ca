import { type InputIssue, showValue } from '../input/index.ts';
import { CURES } from './cures.ts';
import { MAX_BYTES } from './options.ts';
import type { Finding } from './series.ts';

/** Findings that are no errors of reading, for the rest of the file is there, and that no result may rest on. */
const STOPPING: readonly string[] = ['not-a-number', 'negative-value', 'truncated', 'unreadable-row'];

/** Whether a study must not be made of data with this finding, until it is answered or mended. */
export function stopsStudy({ code, severity }: Pick<Finding, 'code' | 'severity'>): boolean {
  return severity === 'error' || STOPPING.includes(code);
}

/**
 * The findings that forbid trusting a file, as faults of input.
 *
 * @param bytes the file, for the text of the lines that findings name
 */
export function faultsOf(file: string, findings: readonly Finding[], bytes?: Uint8Array): InputIssue[] {
  const lines = bytes === undefined || bytes.length > MAX_BYTES ? undefined : lineReader(bytes);
  const faults: InputIssue[] = [];
  for (const finding of findings.filter(stopsStudy)) {
    const line = finding.lines?.[0];
    const text = line === undefined ? undefined : lines?.(line);
    const cure = CURES[finding.code];
    const more =
      (finding.count ?? 1) > 1 && finding.lines !== undefined ? ` (${finding.count} in all; here first)` : '';
    faults.push({
      code: finding.code,
      where: { file, ...(line === undefined ? {} : { line }) },
      received: `${text === undefined ? '' : `${showValue(text)}: `}${finding.message}${more}`,
      expected: cure?.expected ?? 'interval data that can be read without guessing',
      hint: cure?.hint ?? `run "duskbank inspect ${file}" to see what was understood of the file`,
    });
  }
  return faults;
}

function lineReader(bytes: Uint8Array): (line: number) => string | undefined {
  let split: string[] | undefined;
  return (line) => {
    split ??= new TextDecoder().decode(bytes).split(/\r\n?|\n/);
    return split[line - 1];
  };
}
