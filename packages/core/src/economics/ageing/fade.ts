import { check, number, type Rule } from '../../input/door.ts';

/**
 * Published models of how lithium iron phosphate cells fade, as share of their first capacity that is lost. They disagree by a factor of
 * 3.6 (ten years at 25 °C, half full: 13.4 % and 3.7 %), and homes that were metered lose 2 to 3 points a year (Figgener and others,
 * Nature Energy 2024): so no single one says how a battery ages. Together they tell how wide the range is.
 *
 * @see docs/concepts/economics.md
 */
export interface FadeModel {
  readonly name: string;
  /** What it was published in. */
  readonly source: string;
  /** Share lost to age alone after so many years at one temperature and one state of charge. */
  readonly calendarFade: (years: number, at: Storage) => number;
  /** Share lost to so many full cycles alone, each as deep and as fast as the others. */
  readonly cycleFade: (fullCycles: number, use: Cycling) => number;
}

/** How a battery stands. */
export interface Storage {
  readonly temperatureC: number;
  /** State of charge, share of capacity, 0 to 1. */
  readonly soc: number;
}

/** How a battery is cycled. */
export interface Cycling {
  readonly temperatureC: number;
  /** Depth of each cycle, share of capacity, above 0 to 1. */
  readonly depth: number;
  /** Power as a share of what empties it in an hour: 0.5 empties it in two. */
  readonly cRate: number;
}

const DAYS_A_YEAR = 365;
const SECONDS_A_YEAR = DAYS_A_YEAR * 24 * 3600;
const GAS = 8.3144598;
const share: Rule = number({ least: 0, most: 1 });
const temperature: Rule = number({ least: -40, most: 80 });
const years: Rule = number({ least: 0, most: 100 });
const cycles: Rule = number({ least: 0, most: 100_000 });

function checkStorage(given: number, { temperatureC, soc }: Storage): void {
  check({ years: given, temperatureC, soc }, { years, temperatureC: temperature, soc: share });
}

function checkCycling(fullCycles: number, { temperatureC, depth, cRate }: Cycling): void {
  check(
    { fullCycles, temperatureC, depth, cRate },
    {
      fullCycles: cycles,
      temperatureC: temperature,
      depth: number({ above: 0, most: 1 }),
      cRate: number({ above: 0, most: 4 }),
    },
  );
}

/**
 * Naumann and others: cells of 3 Ah, kept for 885 days at 0 to 60 °C; cycled at 40 °C, so that temperature plays no part in its
 * cycles. Both grow by the square root.
 *
 * @see Journal of Energy Storage 17 (2018) 153; Journal of Power Sources 451 (2020) 227666
 */
export const naumann: FadeModel = {
  name: 'Naumann',
  source: 'Naumann and others, Journal of Energy Storage 17 (2018) 153; Journal of Power Sources 451 (2020) 227666',
  calendarFade(given, at) {
    checkStorage(given, at);
    const kelvin = at.temperatureC + 273.15;
    const heat = Math.exp((-17126 / GAS) * (1 / kelvin - 1 / 298.15));
    const charge = 2.8575 * (at.soc - 0.5) ** 3 + 0.60225;
    return 1.2571e-5 * heat * charge * Math.sqrt(given * SECONDS_A_YEAR);
  },
  cycleFade(fullCycles, use) {
    checkCycling(fullCycles, use);
    const speed = 0.063 * use.cRate + 0.0971;
    const deep = 4.0253 * (use.depth - 0.6) ** 3 + 1.0923;
    return (speed * deep * Math.sqrt(fullCycles)) / 100;
  },
};

/**
 * Gasper and others: large cells of more than 250 Ah, valid from 10 to 45 °C, depths of 0.8 to 1 and charging up to 0.65 C; used beyond, it
 * extrapolates. Its authors call how temperature bears on its cycles an artefact: take its cycles at 25 °C.
 *
 * @see Journal of Energy Storage 73 (2023) 109042; potential of the anode after Safari and Delacourt (2011)
 */
export const gasper: FadeModel = {
  name: 'Gasper',
  source: 'Gasper and others, Journal of Energy Storage 73 (2023) 109042',
  calendarFade(given, at) {
    checkStorage(given, at);
    const kelvin = at.temperatureC + 273.15;
    const rate = 8.37e4 * Math.exp(-5210 / kelvin) * Math.exp((-3560 * anodePotential(at.soc)) / kelvin);
    return rate * (given * DAYS_A_YEAR) ** 0.526;
  },
  cycleFade(fullCycles, use) {
    checkCycling(fullCycles, use);
    const kelvin = use.temperatureC + 273.15;
    const stress = 4.38e-8 + 1.55e-8 * use.depth + 1.68e-7 * use.cRate;
    return stress * (Math.exp(2190 / kelvin) + Math.exp(-1.55e5 / kelvin)) * fullCycles ** 0.828;
  },
};

/** Potential of a graphite anode against lithium, V, by the battery's state of charge (Safari and Delacourt 2011). */
function anodePotential(soc: number): number {
  const x = 0.0085 + soc * (0.78 - 0.0085);
  return (
    0.6379 +
    0.5416 * Math.exp(-305.5309 * x) +
    0.044 * Math.tanh(-(x - 0.1958) / 0.1088) -
    0.1978 * Math.tanh((x - 1.0571) / 0.0854) -
    0.6875 * Math.tanh((x + 0.0117) / 0.0529) -
    0.0175 * Math.tanh((x - 0.5692) / 0.0875)
  );
}

/** What a battery loses of its capacity, share lost a year, as metered in homes: the middle, and both ends. */
export const FIELD_FADE_PER_YEAR = {
  low: 0.02,
  middle: 0.025,
  high: 0.03,
  source: 'Figgener and others, Nature Energy 2024, doi 10.1038/s41560-024-01620-9: 21 home systems, up to 8 years',
} as const;
