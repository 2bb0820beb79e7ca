import { seeded } from '../homes-plain.ts';

/** Choices made from a seed: the same on every machine. */
export interface Dice {
  /** A number in [from, to). */
  between(from: number, to: number): number;
  /** A whole number in [from, to], both included. */
  whole(from: number, to: number): number;
  /** True once in so many: `chance(0.25)` in a quarter of all throws. */
  chance(share: number): boolean;
  pick<T>(list: readonly T[]): T;
  /** A number of so many decimals in [from, to]: what a file would state. */
  decimal(from: number, to: number, decimals: number): number;
}

/**
 * Dice of a seed. Each `purpose` has throws of its own, so that a new throw for tariffs doesn't move the homes.
 */
export function diceOf(seed: number, purpose: string): Dice {
  let mixed = Math.imul(seed + 1, 0x9e3779b1);
  for (let i = 0; i < purpose.length; i++) mixed = Math.imul(mixed ^ purpose.charCodeAt(i), 0x01000193);
  const next = seeded(mixed >>> 0);
  for (let i = 0; i < 4; i++) next();
  const whole = (from: number, to: number) => from + Math.floor(next() * (to - from + 1));
  return {
    between: (from, to) => from + next() * (to - from),
    whole,
    chance: (share) => next() < share,
    pick: (list) => list[whole(0, list.length - 1)]!,
    decimal(from, to, decimals) {
      const unit = 10 ** decimals;
      return whole(Math.ceil(from * unit), Math.floor(to * unit)) / unit;
    },
  };
}
