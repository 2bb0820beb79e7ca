/** Codes of ISO 4217 whose money has other than two decimals. */
const DECIMALS: Record<string, number> = {
  BIF: 0,
  CLP: 0,
  DJF: 0,
  GNF: 0,
  ISK: 0,
  JPY: 0,
  KMF: 0,
  KRW: 0,
  PYG: 0,
  RWF: 0,
  UGX: 0,
  UYI: 0,
  VND: 0,
  VUV: 0,
  XAF: 0,
  XOF: 0,
  XPF: 0,
  BHD: 3,
  IQD: 3,
  JOD: 3,
  KWD: 3,
  LYD: 3,
  OMR: 3,
  TND: 3,
  CLF: 4,
  UYW: 4,
}; // prettier-ignore

const CODES =
  'AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BGN BHD BIF BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CLF ' +
  'CLP CNY COP CRC CUP CVE CZK DJF DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GNF GTQ GYD HKD HNL HTG ' +
  'HUF IDR ILS INR IQD IRR ISK JMD JOD JPY KES KGS KHR KMF KPW KRW KWD KYD KZT LAK LBP LKR LRD LSL LYD MAD MDL MGA ' +
  'MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD OMR PAB PEN PGK PHP PKR PLN PYG QAR RON RSD ' +
  'RUB RWF SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TND TOP TRY TTD TWD TZS UAH UGX ' +
  'USD UYI UYU UYW UZS VED VES VND VUV WST XAF XCD XCG XOF XPF YER ZAR ZMW ZWG';

/** Every code that a tariff may be in. */
export const CURRENCY_CODES: readonly string[] = CODES.split(' ');

/** Decimals that a currency's money is printed with. @see ISO 4217, table A.1, "minor unit" (from memory) */
export function currencyDecimals(code: string): number {
  return DECIMALS[code] ?? 2;
}

/** Money to the currency's last decimal; halves go away from zero, whatever the last bits of a sum make of them. */
export function toCents(value: number, decimals: number): number {
  const cents = Math.round(Number((Math.abs(value) * 10 ** decimals).toPrecision(12))) / 10 ** decimals;
  return value < 0 && cents > 0 ? -cents : cents;
}
