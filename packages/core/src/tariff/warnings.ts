import type { Tariff } from './tariff.ts';

/** Something to know before a number that was made with the tariff is relied on. */
export interface TariffWarning {
  readonly code: string;
  readonly message: string;
}

/** Warnings about a tariff that ends or changes: numbers made with it hold for that long. */
export function lifeWarnings(tariff: Tariff): TariffWarning[] {
  const { life, name } = tariff;
  const warnings: TariffWarning[] = [];
  if (life.endsOn !== undefined)
    warnings.push({
      code: 'tariff-ends',
      message:
        `"${name}" ends on ${life.endsOn}${life.successor === undefined ? '' : ` and "${life.successor}" follows`}: ` +
        'savings hold until then, and payback is reckoned over its life',
    });
  const versions = tariff.document.versions ?? [];
  const last = versions[versions.length - 1];
  if (last !== undefined)
    warnings.push({
      code: 'tariff-changes',
      message: `"${name}" has a version from ${last.from}${last.note === undefined ? '' : ` (${last.note})`}: each day is billed on the version that holds on it`,
    });
  return warnings;
}

/** Warnings about prices under which one inverter's schedule isn't a convex problem. */
export function priceWarnings(importPricePerKwh: Float64Array, exportPricePerKwh: Float64Array): TariffWarning[] {
  let above = 0;
  let negative = 0;
  for (let i = 0; i < importPricePerKwh.length; i++) {
    if (exportPricePerKwh[i]! > importPricePerKwh[i]! + 1e-12) above++;
    if (importPricePerKwh[i]! < 0 || exportPricePerKwh[i]! < 0) negative++;
  }
  const warnings: TariffWarning[] = [];
  const effect =
    'There the best schedule may want to charge and discharge at once, which no inverter can: strategies run as always, ' +
    'and the best possible in hindsight is a proven bound with a gap instead of an exact value.';
  if (above > 0)
    warnings.push({
      code: 'export-above-import',
      message: `in ${above} intervals a kWh exported earns more than a kWh imported costs. ${effect}`,
    });
  if (negative > 0)
    warnings.push({ code: 'negative-price', message: `in ${negative} intervals a price is below zero. ${effect}` });
  return warnings;
}
