import { describeIssue, InputError, type InputIssue } from '@duskbank/core/input';

/** Exit codes: done; our failure; the user's input or misuse. */
export const EXIT = { done: 0, ourFailure: 1, input: 2 } as const;

/** Faults that are printed; a file with more of them is another file than was meant. */
const MOST_SHOWN = 40;

/** A fault of the user's input or call, found by the command line itself. */
export function inputFault(issue: InputIssue): InputError {
  return new InputError([issue]);
}

/** Prints what went wrong on stderr and returns the exit code. A broken pipe is no fault. */
export function reportFailure(error: unknown): number {
  if (isBrokenPipe(error)) return EXIT.done;
  if (error instanceof InputError) {
    const count = error.issues.length;
    for (const issue of error.issues.slice(0, MOST_SHOWN)) process.stderr.write(`error: ${describeIssue(issue)}\n`);
    if (count > MOST_SHOWN) process.stderr.write(`… and ${count - MOST_SHOWN} more\n`);
    if (count > 1) process.stderr.write(`${count} faults found; nothing was written\n`);
    return EXIT.input;
  }
  const message = error instanceof Error ? (error.stack ?? error.message) : String(error);
  process.stderr.write(`internal error: this is a fault of Duskbank, not of your input\n${message}\n`);
  return EXIT.ourFailure;
}

/** Whether an error says that the reader of our output went away. */
export function isBrokenPipe(error: unknown): boolean {
  return (error as NodeJS.ErrnoException | undefined)?.code === 'EPIPE';
}
