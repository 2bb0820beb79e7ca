import { printedBound } from '@duskbank/core/input';

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

/** Whether a sum prints as nothing: a difference of it is told as the same. */
export function printsZero(value: number, decimals: number): boolean {
  return Number(value.toFixed(decimals)) === 0;
}

/** {@link fixed} of a figure that is printed as a bound: "at most" goes `up`, "at least" and "or more" go `down`. */
export function fixedBound(value: number, side: 'up' | 'down', decimals: number): string {
  return fixed(printedBound(value, side, decimals), decimals);
}

/** {@link money} as a bound. */
export function moneyBound(value: number, side: 'up' | 'down', currency: string, decimals: number): string {
  return `${currency} ${fixedBound(value, side, decimals)}`;
}

/** A share of many in percent: `100 %` only where it is all of them, `0 %` only where it is none. */
export function sharePercent(share: number): string {
  const whole = fixed(share * 100, 0);
  if ((whole === '100' && share < 1) || (whole === '0' && share > 0))
    return share > 0.5
      ? share < 0.9995
        ? `${fixed(share * 100, 1)} %`
        : 'over 99.9 %'
      : share < 0.0005
        ? 'under 0.1 %'
        : `${fixed(share * 100, 1)} %`;
  return `${whole} %`;
}

/** Hours at the cap: `14+ days`, or `36+ h` where the data are short. */
export function countedTo(capHours: number): string {
  return capHours < 48 ? `${Math.round(capHours)}+ h` : `${Math.round(capHours / 24)}+ days`;
}

/**
 * Hours as people say them: `38 min`, `5.2 h`, `3.4 days`, `14+ days` at the cap. Hours of backup are a promise wherever they
 * stand, so that they are rounded down.
 */
export function hours(value: number, capHours = Number.POSITIVE_INFINITY): string {
  return value >= capHours ? countedTo(capHours) : hoursBound(value, 'down');
}

/** Hours that something takes at most, as filling does: rounded up. */
export function hoursAtMost(value: number): string {
  return hoursBound(value, 'up');
}

function hoursBound(value: number, side: 'up' | 'down'): string {
  if (!Number.isFinite(value)) return 'no end';
  const minutes = printedBound(value * 60, side, 0);
  if (minutes < 60) return `${minutes} min`;
  const whole = printedBound(value, side, 1);
  return whole < 48 ? `${whole.toFixed(1)} h` : `${printedBound(value / 24, side, 1).toFixed(1)} days`;
}

/** Whether hours would print as 0 min: the lights are out at once. */
export function isDark(hours: number): boolean {
  return hours < 1 / 60;
}

/** `12 %` */
export function percent(share: number, decimals = 0): string {
  return `${fixed(share * 100, decimals)} %`;
}
