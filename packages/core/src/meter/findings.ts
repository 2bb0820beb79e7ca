import type { Finding } from './series.ts';

const MAX_LINES = 20;

const RANK = { error: 0, warning: 1, note: 2 } as const;

interface Open {
  severity: Finding['severity'];
  message: string;
  lines: number[];
  count: number;
  energyKwh: number | undefined;
  quoted: Finding['quoted'];
}

/** Gathers findings, one for each code: at most {@link MAX_LINES} of its lines, its count and energy added up. */
export class FindingList {
  readonly #open = new Map<string, Open>();

  /**
   * Adds an occurrence. The gravest severity of a code counts, with its first message; `key` keeps apart what shares a code.
   * A line of 0 stands for "no line". `cell` is what `quoteCell` allows of the faulty cell of the (first) line; the first counts.
   */
  add(
    code: string,
    severity: Finding['severity'],
    message: string,
    more: {
      line?: number;
      lines?: readonly number[];
      count?: number;
      energyKwh?: number;
      key?: string;
      cell?: string | undefined;
    } = {},
  ): void {
    const id = more.key === undefined ? code : `${code}\n${more.key}`;
    let entry = this.#open.get(id);
    if (entry === undefined) {
      entry = { severity, message, lines: [], count: 0, energyKwh: undefined, quoted: undefined };
      this.#open.set(id, entry);
    }
    if (RANK[severity] < RANK[entry.severity]) {
      entry.severity = severity;
      entry.message = message;
    }
    entry.count += more.count ?? 1;
    const { cell, line: at = more.lines?.[0] ?? 0 } = more;
    if (cell !== undefined && at > 0) entry.quoted ??= { cell, line: at };
    if (more.energyKwh !== undefined) entry.energyKwh = (entry.energyKwh ?? 0) + more.energyKwh;
    for (const line of more.lines ?? (more.line === undefined ? [] : [more.line]))
      if (line > 0 && entry.lines.length < MAX_LINES) entry.lines.push(line);
  }

  /** Adds all of another list. */
  take(other: FindingList): void {
    for (const { code, severity, message, ...more } of other.list()) this.add(code, severity, message, more);
  }

  has(code: string): boolean {
    for (const id of this.#open.keys()) if (id.split('\n')[0] === code) return true;
    return false;
  }

  get hasError(): boolean {
    for (const entry of this.#open.values()) if (entry.severity === 'error') return true;
    return false;
  }

  /** Findings by severity, then in the order in which they were met. */
  list(): Finding[] {
    return [...this.#open]
      .map(([id, entry]) => ({
        code: id.split('\n')[0]!,
        severity: entry.severity,
        message: entry.message,
        ...(entry.quoted === undefined ? {} : { quoted: entry.quoted }),
        ...(entry.lines.length > 0 ? { lines: entry.lines } : {}),
        count: entry.count,
        ...(entry.energyKwh === undefined ? {} : { energyKwh: entry.energyKwh }),
      }))
      .sort((a, b) => RANK[a.severity] - RANK[b.severity]);
  }
}
