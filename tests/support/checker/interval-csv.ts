// The checker reads our own interval CSV by its description in docs/reference/interval-files.md. Labels carry their offset,
// so that the home's clock is what they print, and no zone has to be asked.

/** Intervals with their clock, and the columns that stood beside them. */
export interface ReadIntervals {
  readonly stepMinutes: number;
  readonly count: number;
  /** Start of the first interval. */
  readonly startEpochMs: number;
  /** Days since 1970-01-01 of the date that the clock shows at the start. */
  readonly day: Int32Array;
  readonly minuteOfDay: Int32Array;
  /** `import_kwh` and so on. */
  readonly columns: Readonly<Record<string, Float64Array>>;
}

const MS_A_DAY = 86_400_000;

/** `2026-01-01T00:15-07:00` as an instant and as the clock's own reading. */
export function readStamp(text: string): { epochMs: number; localMs: number } {
  const match = /^(\d{4}-\d\d-\d\dT\d\d:\d\d)(?:Z|([+-])(\d\d):(\d\d))$/.exec(text);
  if (match === null) throw new Error(`no stamp: ${text}`);
  const localMs = Date.parse(`${match[1]}:00Z`);
  const offsetMinutes =
    match[2] === undefined ? 0 : (match[2] === '-' ? -1 : 1) * (Number(match[3]) * 60 + Number(match[4]));
  return { epochMs: localMs - offsetMinutes * 60_000, localMs };
}

/** Reads a file of ours. Throws on anything that it doesn't know: a checker must not mend. */
export function readIntervalCsv(text: string): ReadIntervals {
  const lines = text.split('\n').filter((line) => line !== '' && !line.startsWith('#'));
  const names = lines[0]!.split(',').slice(1).map(plainName);
  const count = lines.length - 1;
  const day = new Int32Array(count);
  const minuteOfDay = new Int32Array(count);
  const columns = Object.fromEntries(names.map((name) => [name, new Float64Array(count)]));
  let startEpochMs = 0;
  let stepMs = 0;
  for (let i = 0; i < count; i++) {
    const cells = lines[i + 1]!.split(',');
    const { epochMs, localMs } = readStamp(cells[0]!);
    if (i === 0) startEpochMs = epochMs;
    if (i === 1) stepMs = epochMs - startEpochMs;
    if (epochMs !== startEpochMs + i * stepMs) throw new Error(`line ${i + 2} is not the next interval: ${cells[0]}`);
    day[i] = Math.floor(localMs / MS_A_DAY);
    minuteOfDay[i] = (localMs - day[i]! * MS_A_DAY) / 60_000;
    names.forEach((name, k) => {
      const cell = cells[k + 1]!;
      if (cell === '') throw new Error(`a gap in line ${i + 2}`);
      columns[name]![i] = Number(cell);
    });
  }
  return { stepMinutes: stepMs / 60_000, count, startEpochMs, day, minuteOfDay, columns };
}

/** The same intervals in steps of so many minutes, the energy of each spread evenly. Clocks change on full hours or halves. */
export function inSteps(read: ReadIntervals, stepMinutes: number): ReadIntervals {
  const parts = read.stepMinutes / stepMinutes;
  if (parts === 1) return read;
  const count = read.count * parts;
  const whole = (i: number) => Math.floor(i / parts);
  const minute = (i: number) => read.minuteOfDay[whole(i)]! + (i % parts) * stepMinutes;
  return {
    ...read,
    stepMinutes,
    count,
    day: Int32Array.from({ length: count }, (_, i) => read.day[whole(i)]! + Math.floor(minute(i) / 1440)),
    minuteOfDay: Int32Array.from({ length: count }, (_, i) => minute(i) % 1440),
    columns: Object.fromEntries(
      Object.entries(read.columns).map(([name, kwh]) => [
        name,
        Float64Array.from({ length: count }, (_, i) => kwh[whole(i)]! / parts),
      ]),
    ),
  };
}

/** The fixtures' headers are in words: `import kWh`. */
function plainName(header: string): string {
  return header.trim().toLowerCase().replace(' ', '_');
}
