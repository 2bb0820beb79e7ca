/** Shows what is going on, on stderr, only on a terminal and only once work has taken a while. */
export function makeProgress(): { step(what: string): void; done(): void } {
  if (!process.stderr.isTTY) return { step() {}, done() {} };
  const begun = Date.now();
  let shown = false;
  return {
    step(what) {
      if (Date.now() - begun < 300) return;
      shown = true;
      process.stderr.write(`\r\u001b[K${what} …`);
    },
    done() {
      if (shown) process.stderr.write('\r\u001b[K');
    },
  };
}
