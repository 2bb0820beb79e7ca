/** `1,234.50`, with a minus sign proper. */
export function fixed(value: number, decimals: number): string {
  const rounded = value.toFixed(decimals);
  const text = Number(rounded).toLocaleString('en-US', {
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  });
  return Number(rounded) === 0 ? text.replace('-', '') : text.replace('-', '−');
}

/** Money with its currency: `USD 1,234.50`. */
export function money(value: number, currency: string, decimals: number): string {
  return `${currency} ${fixed(value, decimals)}`;
}

/** Hours as people say them: `38 min`, `5.2 h`, `3.4 days`, `14 days or more` at the cap. */
export function hours(value: number, capHours = Number.POSITIVE_INFINITY): string {
  if (value >= capHours) return `${Math.round(capHours / 24)}+ days`;
  if (value < 1) return `${Math.round(value * 60)} min`;
  if (value < 48) return `${value.toFixed(1)} h`;
  return `${(value / 24).toFixed(1)} days`;
}

/** `12 %` */
export function percent(share: number, decimals = 0): string {
  return `${fixed(share * 100, decimals)} %`;
}
