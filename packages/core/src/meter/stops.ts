import { check, text } from '../input/door.ts';
import type { InputIssue } from '../input/issue.ts';
import { showName } from '../words/quote.ts';
import { CURES } from './cures.ts';
import { someFindings } from './rules.ts';
import type { Finding } from './series.ts';

/** Whether a study must not be made of data with this finding, until it is answered or mended. */
export function stopsStudy({ code, severity }: Pick<Finding, 'code' | 'severity'>): boolean {
  return severity === 'error' || CURES[code]?.stops === true;
}

/**
 * The findings that forbid trusting a file, as faults of input.
 * @throws InputError on anything but a file's name and findings
 */
export function faultsOf(file: string, findings: readonly Finding[]): InputIssue[] {
  check({ file, findings }, { file: text, findings: someFindings });
  return findings.filter(stopsStudy).map(({ code, quoted, lines, count = 1, message }) => {
    const first = lines?.[0];
    const line = quoted?.line ?? first;
    const times = lines === undefined ? 1 : count;
    const more = times > 1 ? ` (${times} in all; ${line === first ? 'here first' : 'here is one'})` : '';
    const cure = CURES[code];
    return {
      code,
      where: { file, ...(line === undefined ? {} : { line }) },
      received: `${quoted === undefined ? '' : `${quoted.cell}: `}${message}${more}`,
      expected: cure?.expected ?? 'interval data that can be read without guessing',
      hint: cure?.hint ?? `run "duskbank inspect ${showName(file)}" to see what was understood of the file`,
    };
  });
}
