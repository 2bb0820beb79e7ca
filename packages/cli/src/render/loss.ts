import { money, printsZero } from './numbers.ts';

/**
 * What a battery costs that saves nothing. A filling that was bought once, to start with, is none of a year's cost: it is told
 * apart, and where the loss is no more than that, nothing is said to be a year's.
 *
 * @param startEnergy what the energy cost that it starts with
 * @param words such as "a year"
 */
export function lossText(
  loss: number,
  startEnergy: number,
  { currency, currencyDecimals: decimals }: { readonly currency: string; readonly currencyDecimals: number },
  words: string,
): string {
  const cash = (amount: number) => money(amount, currency, decimals);
  if (printsZero(startEnergy, decimals)) return `${cash(loss)} more ${words}`;
  if (printsZero(loss - startEnergy, decimals)) return `${cash(loss)} more, once, to fill it`;
  return `${cash(loss)} more ${words}, ${cash(startEnergy)} of it once, to fill it`;
}
