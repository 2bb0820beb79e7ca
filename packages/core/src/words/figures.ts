import { type BoundSide, boundDigits } from './bounds.ts';

/** A number as messages show it: three significant digits, whole from 100 on. */
export function shown(value: number): number {
  return value >= 100 ? Math.round(value) : digits(value, 3);
}

/** {@link shown} as text: for messages. */
export function figure(value: number): string {
  return value >= 100 ? shown(value).toLocaleString('en-US') : String(shown(value));
}

/** A share of 0 to 1 in percent, two digits: for messages. */
export function percent(share: number): string {
  return `${Number((share * 100).toPrecision(2))} %`;
}

/** Minutes since midnight as a clock shows them: `16:30`; `24:00` at a day's end. */
export function clockOf(minutes: number): string {
  return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
}

/** A power for messages: `3,836 kW`. */
export function kw(value: number): string {
  return `${digits(value, 4).toLocaleString('en-US')} kW`;
}

/** An energy for messages, kWh: four significant digits, and whole from 1,000 on, as pages print it. */
export function kwhDigits(kwh: number): number {
  return Math.abs(kwh) >= 1000 ? Math.round(kwh) : digits(kwh, 4);
}

/** {@link kw} as a bound: "at most" and "up to" go up. */
export function kwBound(value: number, side: BoundSide): string {
  return `${boundDigits(value, side, 4).toLocaleString('en-US')} kW`;
}

/** {@link figure} as a bound. */
export function figureBound(value: number, side: BoundSide): string {
  return figure(boundDigits(value, side, 3));
}

/** A sum of money as pages print it, without its currency: `1,234.50`. */
export function moneyText(value: number, decimals: number): string {
  return value.toLocaleString('en-US', { minimumFractionDigits: decimals, maximumFractionDigits: decimals });
}

/** A number to so many significant digits: for messages. */
export function digits(value: number, count: number): number {
  return Number(value.toPrecision(count));
}

/** {@link figure} with at most three decimals. */
export function shortFigure(value: number): string {
  return shown(value).toLocaleString('en-US');
}

/** So many of something: `1 interval`, `1,234 intervals`. */
export function count(of: number, what: string): string {
  return `${of.toLocaleString('en-US')} ${what}${of === 1 ? '' : 's'}`;
}

/** Names in a sentence: `a`, `a and b`, `a, b and c`. */
export function listed(names: readonly string[]): string {
  return names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}

/** Months as messages write them, from January. */
export const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'] as const;

/** Stretches of days; of six there may be more. */
export function runsText(runs: readonly { readonly from: string; readonly to: string }[]): string {
  const told = runs.map(({ from, to }) => (from === to ? from : `${from} to ${to}`));
  return `${runs.length < 6 ? '' : 'first '}${told.join(', ')}`;
}
