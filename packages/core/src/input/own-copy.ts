/**
 * A copy of plain data that shares nothing with it: a report is its reader's, and what they write into it changes no study
 * and no later report.
 */
export function ownCopy<Data>(data: Data): Data {
  return copyOf(data) as Data;
}

function copyOf(value: unknown): unknown {
  if (typeof value !== 'object' || value === null) return value;
  if (ArrayBuffer.isView(value)) return (value as Float64Array).slice();
  if (Array.isArray(value)) return value.map(copyOf);
  return Object.fromEntries(Object.entries(value).map(([field, inner]) => [field, copyOf(inner)]));
}

/** Freezes plain data within, its arrays of numbers left out, which can't be frozen. */
export function frozen<Data>(data: Data): Data {
  if (typeof data !== 'object' || data === null || ArrayBuffer.isView(data) || Object.isFrozen(data)) return data;
  for (const inner of Object.values(data)) frozen(inner);
  return Object.freeze(data);
}
