import { type CodeOf, type DataOf, fact } from '../words/fact.ts';
import { METER_WORDS, type MeterWords } from '../words/meter.ts';
import type { Finding } from './series.ts';

const MAX_LINES = 20;

const RANK = { error: 0, warning: 1, note: 2 } as const;

type Code = CodeOf<MeterWords>;

interface Open {
  readonly code: Code;
  severity: Finding['severity'];
  data: object;
  lines: number[];
  count: number;
  energyKwh: number | undefined;
  quoted: Finding['quoted'];
}

/** What may stand beside an occurrence. */
interface More {
  /** A line of 0 stands for "no line". */
  readonly line?: number;
  readonly lines?: readonly number[];
  readonly count?: number;
  readonly energyKwh?: number;
  /** Keeps apart what shares a code. */
  readonly key?: string;
  /** What `quoteCell` allows of the faulty cell of the (first) line; the first counts. */
  readonly cell?: string | undefined;
}

/** Gathers findings, one for each code: at most {@link MAX_LINES} of its lines, its count and energy added up. */
export class FindingList {
  readonly #open = new Map<string, Open>();

  /** Adds an occurrence. The gravest severity of a code counts, with its first data. */
  add<C extends Code>(code: C, severity: Finding['severity'], data: DataOf<MeterWords, C>, more: More = {}): void {
    const id = more.key === undefined ? code : `${code}\n${more.key}`;
    let entry = this.#open.get(id);
    if (entry === undefined) {
      entry = {
        code,
        severity,
        data,
        lines: [],
        count: 0,
        energyKwh: undefined,
        quoted: undefined,
      };
      this.#open.set(id, entry);
    }
    if (RANK[severity] < RANK[entry.severity]) {
      entry.severity = severity;
      entry.data = data;
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
    for (const [id, entry] of other.#open) {
      const known = this.#open.get(id);
      if (known === undefined) {
        this.#open.set(id, { ...entry, lines: [...entry.lines] });
        continue;
      }
      if (RANK[entry.severity] < RANK[known.severity]) {
        known.severity = entry.severity;
        known.data = entry.data;
      }
      known.count += entry.count;
      known.quoted ??= entry.quoted;
      if (entry.energyKwh !== undefined) known.energyKwh = (known.energyKwh ?? 0) + entry.energyKwh;
      known.lines.push(...entry.lines.slice(0, MAX_LINES - known.lines.length));
    }
  }

  /** Takes a code's findings back: another one says more. */
  drop(code: Code): void {
    for (const [id, entry] of this.#open) if (entry.code === code) this.#open.delete(id);
  }

  has(code: Code): boolean {
    for (const entry of this.#open.values()) if (entry.code === code) return true;
    return false;
  }

  get hasError(): boolean {
    for (const entry of this.#open.values()) if (entry.severity === 'error') return true;
    return false;
  }

  /** Findings by severity, then in the order in which they were met. */
  list(): Finding[] {
    return [...this.#open.values()]
      .map(({ code, severity, data, quoted, lines, count, energyKwh }) => ({
        ...fact(METER_WORDS, code, severity, data as never),
        severity,
        ...(quoted === undefined ? {} : { quoted }),
        ...(lines.length > 0 ? { lines } : {}),
        count,
        ...(energyKwh === undefined ? {} : { energyKwh }),
      }))
      .sort((a, b) => RANK[a.severity] - RANK[b.severity]);
  }
}
