import { appendFileSync } from 'node:fs';
import { afterAll, beforeAll, expect } from 'vitest';

// Set up before each test file of a copy that holds faults: wakes one of them, or notes which ones a file comes by.
const alive = Number(process.env.ALIVE_FAULT ?? -1);
const notes = process.env.FAULT_NOTES;
const met = new Uint8Array(100_000);
let stage = 1;
Object.assign(globalThis, {
  aliveFault(id: number) {
    met[id]! |= stage;
    return id === alive;
  },
});
beforeAll(() => {
  stage = 2;
});
if (notes !== undefined) {
  afterAll(() => {
    const idsOf = (bit: number) => [...met.keys()].filter((id) => (met[id]! & bit) !== 0);
    const note = { file: expect.getState().testPath, atLoad: idsOf(1), inTests: idsOf(2) };
    appendFileSync(notes, `${JSON.stringify(note)}\n`);
  });
}
