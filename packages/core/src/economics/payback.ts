import * as z from 'zod';
import { fields } from '../input/index.ts';

/** The site's `economics` section: what the household pays, and for what. */
export const economicsSchema = fields({
  price: z
    .number()
    .gt(0)
    .describe('What the household pays before any rebate, in the tariff’s currency, taxes included.'),
  covers: z
    .string()
    .min(1)
    .max(200)
    .describe('What the price covers, in words, such as "two battery units, transfer panel, installation".'),
  rebate: z
    .number()
    .min(0)
    .optional()
    .describe('Rebates and grants that are sure, in the tariff’s currency; taken off the price.'),
  cycleLife: z
    .number()
    .gt(0)
    .max(100_000)
    .optional()
    .describe('Full cycles that the battery is warranted or tested for: what a cycle wears off, for `compare --wear`.'),
}).superRefine((economics, context) => {
  if (economics.rebate !== undefined && economics.rebate > economics.price)
    context.addIssue({
      code: 'custom',
      path: ['rebate'],
      params: { code: 'out-of-range' },
      message: `at most the price, ${economics.price}`,
    });
});

/** The `economics` section, checked. */
export type Economics = z.output<typeof economicsSchema>;

/** A simple payback with what it is of and what it stands against. */
export interface SimplePayback {
  /** Price less rebate. */
  readonly cost: number;
  /** Savings a year that pay it back. */
  readonly savingsPerYear: number;
  /** `cost / savingsPerYear`; null where the savings aren't positive: it never pays back. */
  readonly years: number | null;
  /** "simple payback of …, against …": the words that belong to the number. */
  readonly basis: string;
}

/**
 * Years until savings add up to what was paid, nothing else counted: no interest, no price change, no fading battery.
 *
 * @param savingsPerYear money a year, against `against`
 * @param against what the savings are measured against, in words
 * @see NIST Handbook 135, "simple payback"
 * @example simplePayback({ price: 10000, covers: 'one battery unit' }, 2600, 'the home as metered').years // 3.846…
 */
export function simplePayback(economics: Economics, savingsPerYear: number, against: string): SimplePayback {
  const { price, covers, rebate = 0 } = economics;
  const cost = price - rebate;
  const years = savingsPerYear > 0 ? cost / savingsPerYear : null;
  const lessRebate = rebate > 0 ? `, rebate of ${rebate} taken off` : '';
  return {
    cost,
    savingsPerYear,
    years,
    basis: `simple payback of ${covers}${lessRebate}, against ${against}; no interest, price change or fade counted`,
  };
}

/** What a kWh delivered wears off the battery, money per AC kWh: its cost over all that its cycle life delivers. */
export function wearCostPerKwh(
  cost: number,
  cycleLife: number,
  capacityKwh: number,
  dischargeEfficiency: number,
): number {
  return cost / (cycleLife * capacityKwh * dischargeEfficiency);
}
