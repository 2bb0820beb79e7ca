import type { Flows } from '../plant/index.ts';
import type { CompiledTariff, ServiceFlows } from '../tariff/index.ts';

/**
 * What the tariff bills of a run: what passes the service, or under buy-all, sell-all what passes the meters of the load and
 * of the solar. The battery stands behind the load's meter, whatever fills it: a kWh that it takes is bought, one that it
 * gives isn't, and what flows back through that meter earns nothing. Solar that isn't thrown away is sold.
 */
export function billedFlows(
  { tariff, solarKwh }: { readonly tariff: Pick<CompiledTariff, 'metering'>; readonly solarKwh: Float64Array },
  flows: Flows,
): ServiceFlows {
  if (tariff.metering !== 'gross') return flows;
  const n = solarKwh.length;
  return meteredApart(solarKwh, flows, 0, n, { importKwh: new Float64Array(n), exportKwh: new Float64Array(n) });
}

/** Fills `[from, to)` with what passes the meters of the load and of the solar, kWh. */
export function meteredApart(
  solarKwh: Float64Array,
  { importKwh, exportKwh, curtailedKwh }: Flows,
  from: number,
  to: number,
  into: ServiceFlows,
): ServiceFlows {
  for (let i = from; i < to; i++) {
    const soldKwh = Math.max(0, solarKwh[i]! - curtailedKwh[i]!);
    into.importKwh[i] = Math.max(0, importKwh[i]! - exportKwh[i]! + soldKwh);
    into.exportKwh[i] = soldKwh;
  }
  return into;
}
