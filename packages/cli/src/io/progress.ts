import { status } from './output.ts';

/** Shows what is going on, on stderr, only on a terminal and only once work has taken a while. */
export function makeProgress(): { step(what: string): void; done(): void } {
  if (!process.stderr.isTTY) return { step() {}, done() {} };
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
