import { check, text } from '../input/door.ts';
import type { InputIssue } from '../input/issue.ts';
import { cureOf } from '../words/cures.ts';
import type { CodeOf, Where } from '../words/fact.ts';
import type { MeterWords } from '../words/meter.ts';
import { someFindings } from './rules.ts';
import type { Finding } from './series.ts';

type Code = CodeOf<MeterWords>;

/** Warnings that stop a study too: the rest of the file is there, but no result may rest on it. */
const STOPS: ReadonlySet<string> = new Set<Code>(['negative-value', 'not-a-number', 'truncated', 'unreadable-row']);

/**
 * Whether a finding is a question that all files of a home together may answer, which stops a study where none of them does: a
 * register alone, whose counterpart another file may hold.
 */
export function asksHome({ code, data }: Pick<Finding, 'code' | 'data'>): boolean {
  return code === 'part-alone' && data.days === undefined;
}

/** The file holds no interval data (a bill, a note): in an archive it may stand beside files that do. */
const NO_DATA: ReadonlySet<string> = new Set<Code>([
  'binary',
  'empty',
  'no-interval-data',
  'no-readings',
  'no-time-column',
  'not-active-energy',
  'not-meter-data',
  'other-document',
]);

/** Whether a finding says that a file holds no interval data at all. */
export function saysNoData({ code }: Pick<Finding, 'code'>): boolean {
  return NO_DATA.has(code);
}

/** Whether a study must not be made of data with this finding, until it is answered or mended. */
export function stopsStudy({ code, severity }: Pick<Finding, 'code' | 'severity'>): boolean {
  return severity === 'error' || STOPS.has(code);
}

/**
 * The findings that forbid trusting a file, as faults of input.
 * @throws InputError on anything but a file's name and findings
 */
export function faultsOf(file: string, findings: readonly Finding[]): InputIssue[] {
  check({ file, findings }, { file: text, findings: someFindings });
  return findings.filter(stopsStudy).map(({ code, quoted, lines, count = 1, data, message, where }) => {
    // A program may hand over findings that it kept without their place.
    const { sheet, cell }: Where = where ?? {};
    const first = lines?.[0];
    const line = quoted?.line ?? first;
    const times = lines === undefined ? 1 : count;
    const more = times > 1 ? ` (${times} in all; ${line === first ? 'here first' : 'here is one'})` : '';
    return {
      code,
      where: {
        file,
        ...(line === undefined ? {} : { line }),
        ...(sheet === undefined ? {} : { sheet }),
        ...(cell === undefined ? {} : { cell }),
      },
      data: { ...data, count },
      received: `${quoted === undefined ? '' : `${quoted.cell}: `}${message}${more}`,
      ...cureOf(code, file, data),
    };
  });
}
