import type { Block, Pricing, Rates, Tariff } from './tariff.ts';

/** A tariff with every price per kWh multiplied: as it were if its file had them in another unit. */
export function withPricesTimes(tariff: Tariff, factor: number): Tariff {
  return { ...tariff, versions: tariff.versions.map((rates) => ratesTimes(rates, factor)) };
}

function ratesTimes(rates: Rates, factor: number): Rates {
  // To twelve digits: 0.1134 × 100 ÷ 100 is to be the price that the utility prints.
  const times = (price: number) => Number((price * factor).toPrecision(12));
  const ofBlocks = (blocks: readonly Block[]) =>
    blocks.map((block) => ({ ...block, pricePerKwh: times(block.pricePerKwh) }));
  const ofWindows = <
    W extends { readonly pricePerKwh: number | undefined; readonly blocks: readonly Block[] | undefined },
  >(
    windows: readonly W[],
  ) =>
    windows.map((window) => ({
      ...window,
      pricePerKwh: window.pricePerKwh === undefined ? undefined : times(window.pricePerKwh),
      blocks: window.blocks === undefined ? undefined : ofBlocks(window.blocks),
    }));
  const of = (pricing: Pricing): Pricing => {
    switch (pricing.form) {
      case 'flat':
        return { ...pricing, pricePerKwh: times(pricing.pricePerKwh) };
      case 'by-window':
        return { ...pricing, pricePerKwh: pricing.pricePerKwh.map(times) };
      case 'windows':
        return { ...pricing, windows: ofWindows(pricing.windows) };
      case 'table':
        return { ...pricing, rows: pricing.rows.map((row) => ({ ...row, pricesByHour: row.pricesByHour.map(times) })) };
      case 'blocks':
        return { ...pricing, blocks: ofBlocks(pricing.blocks) };
      case 'series':
        return { ...pricing, multiplier: times(pricing.multiplier), adderPerKwh: times(pricing.adderPerKwh) };
    }
  };
  const { export: sold } = rates;
  return {
    ...rates,
    windows: ofWindows(rates.windows),
    energy: rates.energy.map((charge) => ({ ...charge, pricing: of(charge.pricing) })),
    events: rates.events.map((event) => ({
      ...event,
      effect: { ...event.effect, pricePerKwh: times(event.effect.pricePerKwh) },
    })),
    export:
      'pricing' in sold
        ? { ...sold, pricing: of(sold.pricing) }
        : sold.kind === 'net-metering'
          ? { ...sold, surplusPerKwh: times(sold.surplusPerKwh) }
          : sold,
  };
}
