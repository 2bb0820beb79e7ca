import { check, optional, someBytes, text } from '../input/door.ts';
import { type InputIssue, showValue } from '../input/index.ts';
import { CURES } from './cures.ts';
import { MAX_BYTES } from './options.ts';
import { someFindings } from './rules.ts';
import type { Finding } from './series.ts';

/** Findings that a study must not pass over, though the rest of the file can be read. */
const STOPS = ['not-a-number', 'negative-value', 'truncated', 'unreadable-row'];

/**
 * The findings that forbid trusting a file, as faults of input.
 *
 * @param bytes the file, for the text of the lines that findings name
 * @throws InputError on anything but findings
 */
export function faultsOf(file: string, findings: readonly Finding[], bytes?: Uint8Array): InputIssue[] {
  check({ file, findings, bytes }, { file: text, findings: someFindings, bytes: optional(someBytes) });
  const lines = bytes === undefined || bytes.length > MAX_BYTES ? undefined : lineReader(bytes);
  const faults: InputIssue[] = [];
  for (const finding of findings) {
    const line = finding.lines?.[0];
    const text = line === undefined ? undefined : lines?.(line);
    if (finding.severity !== 'error' && !STOPS.includes(finding.code)) continue;
    // Headings and footers have no readable time either; a row that begins with a date should have had one.
    if (finding.code === 'unreadable-row' && finding.severity !== 'error' && !/^["']?\d{1,4}[-/.]\d/.test(text ?? ''))
      continue;
    const cure = CURES[finding.code];
    const more = (finding.count ?? 1) > 1 && finding.lines !== undefined ? ` (${finding.count} times; here first)` : '';
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
