import type { InputIssue } from '../input/issue.ts';
import { showName } from '../input/quote.ts';
import { CURES } from './cures.ts';
import { MAX_BYTES } from './options.ts';
import type { Finding } from './series.ts';

/** Findings that a study must not pass over, though the rest of the file can be read. */
const STOPS = ['not-a-number', 'negative-value', 'truncated', 'unreadable-row'];

/**
 * The findings that forbid trusting a file, as faults of input.
 *
 * @param bytes the file, to tell headings from rows whose date can't be read; nothing of it is quoted
 */
export function faultsOf(file: string, findings: readonly Finding[], bytes?: Uint8Array): InputIssue[] {
  const lines = bytes === undefined || bytes.length > MAX_BYTES ? undefined : lineReader(bytes);
  const faults: InputIssue[] = [];
  for (const finding of findings) {
    const { quoted } = finding;
    const first = finding.lines?.[0];
    const line = quoted?.line ?? first;
    if (finding.severity !== 'error' && !STOPS.includes(finding.code)) continue;
    // Headings and footers have no readable time either; a row that begins with a date should have had one.
    if (
      finding.code === 'unreadable-row' &&
      finding.severity !== 'error' &&
      quoted === undefined &&
      !/^["']?\d{1,4}[-/.]\d/.test((line === undefined ? undefined : lines?.(line)) ?? '')
    )
      continue;
    const cure = CURES[finding.code];
    const times = finding.lines === undefined ? 1 : (finding.count ?? 1);
    const more = times > 1 ? ` (${times} times; ${line === first ? 'here first' : 'here for one'})` : '';
    faults.push({
      code: finding.code,
      where: { file, ...(line === undefined ? {} : { line }) },
      received: `${quoted === undefined ? '' : `${quoted.cell}: `}${finding.message}${more}`,
      expected: cure?.expected ?? 'interval data that can be read without guessing',
      hint: cure?.hint ?? `run "duskbank inspect ${showName(file)}" to see what was understood of the file`,
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
