import { existsSync, readFileSync } from 'node:fs';

/** Open data that lies beside the project where it is at hand; none of it is part of the project. */
const FOLDER = new URL('../../../shared/data/', import.meta.url);

/** Whether the open data are there: tests on them skip, by name, where they aren't. */
export const openDataPresent = existsSync(FOLDER);

/** Bytes of one of the open data files. */
export function openData(path: string): Uint8Array {
  return readFileSync(new URL(path, FOLDER));
}
