import { money, printsZero } from './numbers.ts';

/**
 * What a battery costs that saves nothing. What was bought once, to fill it, is none of a year's cost: it is told apart, and
 * where the loss is no more than that, nothing is said to be a year's.
 *
 * @param boughtOnce what of the loss was bought once
 * @param words such as "a year"
 * @param more such as "more than no battery"
 */
export function lossText(
  loss: number,
  boughtOnce: number,
  { currency, currencyDecimals: decimals }: { readonly currency: string; readonly currencyDecimals: number },
  words: string,
  more = 'more',
): string {
  const cash = (amount: number) => money(amount, currency, decimals);
  const lasting = loss - boughtOnce;
  if (boughtOnce < 0 || printsZero(boughtOnce, decimals)) return `${cash(loss)} ${more} ${words}`;
  if (printsZero(lasting, decimals)) return `${cash(loss)} ${more}, once, to fill it`;
  return lasting > 0
    ? `${cash(loss)} ${more} ${words}, ${cash(boughtOnce)} of it once, to fill it`
    : `${cash(loss)} ${more} ${words}, since filling it once costs ${cash(boughtOnce)}; apart from that it saves ${cash(-lasting)}`;
}
