import type { PercentRule, Rates } from '../tariff.ts';
import { asList, CHARGE_KINDS } from '../vocabulary.ts';
import type { Path } from './faults.ts';
import type { Version } from './version.ts';

/** The names that a percentage or a minimum bill may fall on: lines before it, and their suppliers. */
export interface KnownLines {
  readonly lines: readonly string[];
  readonly suppliers: readonly string[];
}

type OnTop = Pick<Rates, 'adjustments' | 'minimumBill' | 'taxes'>;

/** Adjustments, minimum bill and taxes, in the order of the bill: each may name those before it. */
export function resolvePercents(version: Version, { lines, suppliers }: KnownLines): OnTop {
  const { document, pathOf } = version;
  const known = [...lines];
  const select = (on: string | readonly string[], path: Path): readonly string[] => {
    checkSelector(version, on, path, [...known, ...suppliers]);
    return asList(on);
  };
  const percents = (key: 'adjustments' | 'taxes'): PercentRule[] =>
    (document[key] ?? []).map(({ name, percent, on: named, programme }, p) => {
      const on = select(named, [...pathOf(key), p, 'on']);
      known.push(name);
      return { name, share: shareOf(percent), percent, on, programme };
    });
  const adjustments = percents('adjustments');
  let minimumBill: Rates['minimumBill'];
  if (document.minimumBill !== undefined) {
    const { name, amount, per } = document.minimumBill;
    const on = select(document.minimumBill.on, [...pathOf('minimumBill'), 'on']);
    known.push(name);
    minimumBill = { name, amount, per, on };
  }
  return { adjustments, minimumBill, taxes: percents('taxes') };
}

/** The decimal that a percentage stands for: 2.9 % is 0.029, where dividing in binary makes 0.028999…, and a half too little. */
function shareOf(percent: number): number {
  return Number((percent / 100).toPrecision(15));
}

function checkSelector(
  { faults }: Version,
  on: string | readonly string[],
  path: Path,
  known: readonly string[],
): void {
  const kinds: readonly string[] = ['all', ...CHARGE_KINDS];
  for (const [k, name] of asList(on).entries())
    if (!kinds.includes(name) && !known.includes(name))
      faults.unknownName(
        'unknown-line',
        Array.isArray(on) ? [...path, k] : path,
        name,
        [...kinds, ...new Set(known)],
        'kind of line, supplier or line',
      );
}
