import { type Fact, fact, type Where } from '../words/fact.ts';
import { TARIFF_WORDS } from '../words/tariff.ts';
import type { Tariff } from './tariff.ts';

/** A field of a tariff's file, or all of it; the file without its folders, which say more of a machine than of a tariff. */
export function whereIn({ file }: Pick<Tariff, 'file'>, path?: Where['path']): Where {
  const name = file?.slice(Math.max(file.lastIndexOf('/'), file.lastIndexOf('\\')) + 1);
  return { ...(name === undefined ? {} : { file: name }), ...(path === undefined ? {} : { path }) };
}

/** Warnings about a tariff that ends or changes: numbers made with it hold for that long. */
export function lifeWarnings(tariff: Tariff): Fact[] {
  const { life, name } = tariff;
  const warnings: Fact[] = [];
  if (life.endsOn !== undefined)
    warnings.push(
      fact(
        TARIFF_WORDS,
        'tariff-ends',
        'warning',
        { tariff: name, endsOn: life.endsOn, successor: life.successor ?? null },
        whereIn(tariff, ['life', 'endsOn']),
      ),
    );
  const versions = tariff.document.versions ?? [];
  const last = versions[versions.length - 1];
  if (last !== undefined)
    warnings.push(
      fact(
        TARIFF_WORDS,
        'tariff-changes',
        'warning',
        { tariff: name, from: last.from, note: last.note ?? null },
        whereIn(tariff, ['versions', versions.length - 1]),
      ),
    );
  return warnings;
}

/** Warnings about prices under which one inverter's schedule isn't a convex problem. */
export function priceWarnings(
  tariff: Tariff,
  importPricePerKwh: Float64Array,
  exportPricePerKwh: Float64Array,
): Fact[] {
  let above = 0;
  let negative = 0;
  // Under buy-all, sell-all the sun is sold whatever the battery does: no schedule trades on that price.
  const trades = tariff.versions.every((rates) => rates.export.kind !== 'buy-all');
  for (let i = 0; i < importPricePerKwh.length; i++) {
    if (trades && exportPricePerKwh[i]! > importPricePerKwh[i]! + 1e-12) above++;
    if (importPricePerKwh[i]! < 0 || exportPricePerKwh[i]! < 0) negative++;
  }
  const where = whereIn(tariff);
  const warnings: Fact[] = [];
  if (above > 0) warnings.push(fact(TARIFF_WORDS, 'export-above-import', 'warning', { intervals: above }, where));
  if (negative > 0) warnings.push(fact(TARIFF_WORDS, 'negative-price', 'warning', { intervals: negative }, where));
  return warnings;
}

/** The programmes that charges, credits and percentages of a tariff are for, in any of its versions. */
export function programmesOf(tariff: Tariff): Set<string> {
  return new Set(
    tariff.versions.flatMap((rates) =>
      [...rates.energy, ...rates.fixed, ...rates.adjustments, ...rates.taxes].flatMap((rule) => rule.programme ?? []),
    ),
  );
}

/** Warnings about programmes of the account that the tariff doesn't know: a misspelt one would be billed as none. */
export function programmeWarnings(tariff: Tariff, programmes: readonly string[]): Fact[] {
  const known = programmesOf(tariff);
  const where = { path: ['account', 'programmes'] };
  return programmes
    .filter((programme) => !known.has(programme))
    .map((programme) =>
      fact(TARIFF_WORDS, 'programme-unknown', 'warning', { programme, tariff: tariff.name, known: [...known] }, where),
    );
}
