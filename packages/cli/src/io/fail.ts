import { describeIssue, InputError, type InputIssue, reportIssue } from '@duskbank/core/input';
import { type Refusal, VERSION } from '@duskbank/core/study';
import { note, printJson, shown } from './output.ts';

/** Exit codes: done; our failure; the user's input or misuse. */
export const EXIT = { done: 0, ourFailure: 1, input: 2 } as const;

/** Faults that are printed; a file with more of them is another file than was meant. */
const MOST_SHOWN = 40;

/** A fault of the user's input or call, found by the command line itself. */
export function inputFault(issue: InputIssue): InputError {
  return new InputError([issue]);
}

/** The site file of this run, and its fields: a study's faults name a field of it, and can't know the file. */
const site: { file?: string; fields: readonly string[] } = { fields: [] };

/** From here on faults of these fields that name no file are told as of this one. */
export function nameFile(file: string, fields: readonly string[]): void {
  site.file = file;
  site.fields = fields;
}

/** What core calls an argument, and what the command line calls it. */
const FLAG_OF: Readonly<Record<string, string>> = { strategy: '--strategy', unit: '--unit' };

/** The place as the user of a command knows it: with the site's file, or as the option that an argument came from. */
function placed(issue: InputIssue): InputIssue {
  const { file, path } = issue.where;
  if (file !== undefined) return issue;
  const field = String(path?.[0]);
  if (site.file !== undefined && site.fields.includes(field))
    return { ...issue, where: { ...issue.where, file: site.file } };
  const flag = path?.length === 1 ? FLAG_OF[field] : undefined;
  return flag === undefined ? issue : { ...issue, where: { column: flag } };
}

/**
 * Prints what went wrong on stderr and returns the exit code. A broken pipe is no fault.
 * @param asJson whether a refused input is printed as an object on stdout too
 */
export function reportFailure(error: unknown, asJson = false): number {
  if (isBrokenPipe(error)) return EXIT.done;
  if (error instanceof InputError) {
    const issues = error.issues.map(placed);
    const count = issues.length;
    for (const issue of issues.slice(0, MOST_SHOWN)) note(`error: ${describeIssue(shownIssue(issue))}`);
    if (asJson) printRefusal(issues);
    if (count > MOST_SHOWN) note(`… and ${count - MOST_SHOWN} more`);
    if (count > 1) note(`${count} faults found`);
    return EXIT.input;
  }
  note(`internal error: this is a fault of Duskbank, not of your input\n${traceOf(error)}`);
  return EXIT.ourFailure;
}

/**
 * Returns the exit code of a call that can't be read; its words already stand on stderr.
 * @param asJson whether they are printed as an object on stdout too, as those of an input are
 */
export function reportMisuse(words: string, asJson: boolean): number {
  const [, said = '', hint] = /^(?:error: )?([^\n]*)(?:\n\((.*)\))?/.exec(words) ?? [];
  if (asJson)
    printRefusal([
      {
        code: 'misuse',
        where: {},
        received: `a call that can’t be read: ${said}`,
        expected: 'one in the form that the command’s --help prints',
        ...(hint === undefined ? {} : { hint }),
      },
    ]);
  return EXIT.input;
}

function printRefusal(issues: readonly InputIssue[]): void {
  const faults = issues.map(reportIssue);
  printJson({ format: 'duskbank.refusal/1', version: VERSION, faults } satisfies Refusal);
}

/** An issue whose texts are as they may be printed. */
function shownIssue(issue: InputIssue): InputIssue {
  const { received, expected, hint } = issue;
  return {
    ...issue,
    received: shown(received),
    expected: shown(expected),
    ...(hint === undefined ? {} : { hint: shown(hint) }),
  };
}

/** What an error of our own says and where it arose: its message on one line, whatever is in it. */
function traceOf(error: unknown): string {
  if (!(error instanceof Error)) return shown(String(error));
  const { stack = '' } = error;
  const at = stack.search(/\n {4}at /);
  return `${error.name}: ${shown(error.message)}${at < 0 ? '' : stack.slice(at)}`;
}

/** Whether an error says that the reader of our output went away. */
export function isBrokenPipe(error: unknown): boolean {
  return (error as NodeJS.ErrnoException | undefined)?.code === 'EPIPE';
}
