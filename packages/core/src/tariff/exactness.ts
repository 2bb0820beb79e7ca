/** Warnings about prices under which one inverter's schedule isn't a convex problem. */
export function priceWarnings(
  importPricePerKwh: Float64Array,
  exportPricePerKwh: Float64Array,
): { code: string; message: string }[] {
  let above = 0;
  let negative = 0;
  for (let i = 0; i < importPricePerKwh.length; i++) {
    if (exportPricePerKwh[i]! > importPricePerKwh[i]! + 1e-12) above++;
    if (importPricePerKwh[i]! < 0 || exportPricePerKwh[i]! < 0) negative++;
  }
  const warnings: { code: string; message: string }[] = [];
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
