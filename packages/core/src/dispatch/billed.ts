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
  const { importKwh, exportKwh, curtailedKwh } = flows;
  const soldKwh = solarKwh.map((kwh, i) => Math.max(0, kwh - curtailedKwh[i]!));
  return {
    importKwh: importKwh.map((kwh, i) => Math.max(0, kwh - exportKwh[i]! + soldKwh[i]!)),
    exportKwh: soldKwh,
  };
}
