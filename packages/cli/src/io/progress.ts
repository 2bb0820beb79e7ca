import { status } from './output.ts';

/**
 * Shows what is going on, on stderr, only on a terminal that can take a line back and only once work has taken a while.
 * A dumb terminal can't, and who wants no styles (no-color.org) most often reads the output by a program.
 */
export function makeProgress(): { step(what: string): void; done(): void } {
  if (!process.stderr.isTTY || process.env.TERM === 'dumb' || process.env.NO_COLOR) return { step() {}, done() {} };
  const begun = Date.now();
  let isShown = false;
  return {
    step(what) {
      if (Date.now() - begun < 300) return;
      isShown = true;
      status(what);
    },
    done() {
      if (isShown) status();
    },
  };
}
