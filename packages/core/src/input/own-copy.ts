import { InputError } from './issue.ts';

/** More levels than any report has. What is deeper refers to itself, or was made to hurt. */
const MOST_LEVELS = 40;

/**
 * A copy of plain data that shares nothing with it: a report is its reader's, and what they write into it changes no study
 * and no later report.
 * @throws InputError `too-deep`
 */
export function ownCopy<Data>(data: Data): Data {
  return copyOf(data, 0) as Data;
}

function copyOf(value: unknown, level: number): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (ArrayBuffer.isView(value)) return (value as Float64Array).slice();
  if (level === MOST_LEVELS)
    throw new InputError([
      {
        code: 'too-deep',
        where: {},
        received: `data more than ${MOST_LEVELS} levels deep in what a report tells`,
        expected: 'plain data, as this library makes it',
        hint: 'look for an object that holds itself',
      },
    ]);
  if (Array.isArray(value)) return value.map((inner) => copyOf(inner, level + 1));
  return Object.fromEntries(Object.entries(value).map(([field, inner]) => [field, copyOf(inner, level + 1)]));
}

/** Freezes plain data within, its arrays of numbers left out, which can't be frozen. */
export function frozen<Data>(data: Data): Data {
  if (typeof data !== 'object' || data === null || ArrayBuffer.isView(data) || Object.isFrozen(data)) return data;
  for (const inner of Object.values(data)) frozen(inner);
  return Object.freeze(data);
}
