import { appendFileSync } from 'node:fs';
import { afterAll, expect } from 'vitest';

// Set up before each test file of a copy that holds faults: wakes one of them, or notes which ones a file comes by.
const alive = Number(process.env.ALIVE_FAULT ?? -1);
const notes = process.env.FAULT_NOTES;
const met = new Uint8Array(100_000);
Object.assign(globalThis, {
  aliveFault(id: number) {
    met[id] = 1;
    return id === alive;
  },
});
if (notes !== undefined) {
  afterAll(() => {
    const note = { file: expect.getState().testPath, met: [...met.keys()].filter((id) => met[id] === 1) };
    appendFileSync(notes, `${JSON.stringify(note)}\n`);
  });
}
