import { appendFileSync } from 'node:fs';
import { afterAll, beforeAll, expect } from 'vitest';

// Set up before each test file of a copy that holds faults: wakes one of them, or notes which ones a file comes by.
const alive = Number(process.env.ALIVE_FAULT ?? -1);
const notes = process.env.FAULT_NOTES;
const met = new Uint8Array(100_000);
/** Met by a function that a file of core calls while it loads: files share what is loaded, so that one test file alone comes by. */
const loading = new Set<number>();
let isLoading = notes !== undefined;
Error.stackTraceLimit = 100;
Object.assign(globalThis, {
  aliveFault(id: number) {
    if (isLoading && met[id] === 0 && !/[\\/]tests[\\/]/.test(callers())) loading.add(id);
    met[id] = 1;
    return id === alive;
  },
});

/** Where a fault is met from, this file left out. */
function callers(): string {
  return (new Error().stack ?? '').replace(/^.*mutants[\\/]switch.*$/gm, '');
}

if (notes !== undefined) {
  beforeAll(() => {
    isLoading = false;
  });
  afterAll(() => {
    const note = {
      file: expect.getState().testPath,
      met: [...met.keys()].filter((id) => met[id] === 1),
      loading: [...loading],
    };
    appendFileSync(notes, `${JSON.stringify(note)}\n`);
  });
}
