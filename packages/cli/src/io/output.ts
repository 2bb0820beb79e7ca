/** Prints data on stdout. */
export function print(text: string): void {
  process.stdout.write(text.endsWith('\n') ? text : `${text}\n`);
}

/** Prints an object as JSON on stdout, typed arrays as lists. */
export function printJson(value: unknown): void {
  print(JSON.stringify(value, (_key, item) => (ArrayBuffer.isView(item) ? Array.from(item as Float64Array) : item), 2));
}

/** Prints a note on stderr: not data. */
export function note(text: string): void {
  process.stderr.write(`${text}\n`);
}
