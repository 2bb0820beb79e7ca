import type { FindingList } from '../findings.ts';
import type { Grow } from '../grow.ts';
import { kwhPer } from '../kwh.ts';
import type { Unit } from '../options.ts';

/** Whether a quality method is of a reading that no meter gave: estimated, substituted, or final substituted. */
export function isEstimate(quality: string): boolean {
  return /^[ESF]/.test(quality);
}

/** Where the readings of a channel stand. */
interface Channel {
  readonly unit: Unit;
  readonly stepMs: number;
  readonly value: Grow;
  readonly estimated: Grow;
}

/**
 * What the records 400 below a record 300 say of its readings. They are there where its quality is V (variable) and
 * speak of every interval then: one that none speaks of has no quality, and is no reading.
 */
export class Qualities {
  readonly #channel: Channel;
  /** Of its first reading. */
  readonly #at: number;
  readonly #quality: string;
  readonly #isVariable: boolean;
  readonly #line: number;
  /** 1: a record 400 speaks of the interval. */
  readonly #said: Uint8Array;

  constructor(channel: Channel, at: number, perDay: number, quality: string, line: number) {
    this.#channel = channel;
    this.#at = at;
    this.#quality = quality;
    this.#isVariable = quality === 'V';
    this.#line = line;
    this.#said = new Uint8Array(perDay);
  }

  /** Whether a record 400 says of the whole day what its record 300 says too: it changes nothing. */
  #saysTheSame(cells: readonly string[]): boolean {
    const quality = (cells[3] ?? '').trim().toUpperCase();
    return (
      Number(cells[1]) === 1 && Number(cells[2]) === this.#said.length && quality !== '' && quality === this.#quality
    );
  }

  /** A record 400 below the day. */
  take(cells: readonly string[], line: number, findings: FindingList): void {
    if (!this.#isVariable && !this.#saysTheSame(cells)) {
      const lines = [this.#line, line];
      findings.add('quality-misplaced', 'error', { why: 'not-variable' }, { lines, key: 'not-variable' });
      return;
    }
    const from = Number(cells[1]);
    const to = Number(cells[2]);
    const quality = (cells[3] ?? '').trim().toUpperCase();
    if (!(from >= 1 && to >= from && to <= this.#said.length) || !/^[AEFNS]/.test(quality)) {
      findings.add('unreadable-row', 'warning', { why: 'record-400' }, { line });
      return;
    }
    const { value, estimated } = this.#channel;
    for (let k = from - 1; k < to; k++) {
      this.#said[k] = 1;
      if (quality.startsWith('N')) value.data[this.#at + k] = Number.NaN;
      else if (isEstimate(quality)) estimated.data[this.#at + k] = 1;
    }
  }

  /** No further record 400 speaks of the day. */
  end(findings: FindingList): void {
    if (!this.#isVariable) return;
    const { value, unit, stepMs } = this.#channel;
    let count = 0;
    let energyKwh = 0;
    for (let k = 0; k < this.#said.length; k++) {
      const at = this.#at + k;
      if (this.#said[k] === 1 || Number.isNaN(value.data[at]!)) continue;
      energyKwh += value.data[at]! * kwhPer(unit, stepMs);
      value.data[at] = Number.NaN;
      count++;
    }
    if (count > 0) findings.add('quality-missing', 'warning', {}, { line: this.#line, count, energyKwh });
  }
}
