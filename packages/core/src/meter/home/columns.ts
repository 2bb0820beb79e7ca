import type { ChannelField } from '../series.ts';

/** The channels that a home's meters have, kWh an interval, without gaps. */
export type Columns = { readonly [K in ChannelField]?: Float64Array };

/** What the channels of a home come to together, kWh an interval: `load − solar = import − export` in each. */
export interface HomeFlows {
  /** Bought, as metered or as the other channels leave it. One interval may have both. */
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  readonly loadKwh: Float64Array;
  /** Gross at AC. */
  readonly solarKwh: Float64Array;
}

/** What rounding three readings to whole Wh may come to, and a little more. */
const ROUNDING_KWH = 0.003;

/** Less of the load than this, used behind the meter by day, is within what two meters differ by. */
const LEAST_SUN_SHARE = 0.02;

/**
 * Whether a load column beside import and export tells what solar gave, where that isn't metered: load that the grid didn't
 * carry, by day. It does where the home sells; where it sells nothing, only if load is above import by day for more than two
 * times what the two differ by in the dark, where there is no sun to explain it. Else the difference is one of the columns,
 * not the sun, and the meter counts alone.
 */
export function tellsSolar({ importKwh, exportKwh, loadKwh, solarKwh }: Columns, dark: Uint8Array): boolean {
  if (solarKwh !== undefined || importKwh === undefined || exportKwh === undefined || loadKwh === undefined)
    return false;
  let soldKwh = 0;
  let darkKwh = 0;
  let darkGapKwh = 0;
  let dayKwh = 0;
  let dayAboveKwh = 0;
  for (let i = 0; i < dark.length; i++) {
    const net = importKwh[i]! - exportKwh[i]!;
    const said = loadKwh[i]!;
    if (dark[i] === 1) {
      darkKwh += Math.max(0, net);
      darkGapKwh += Math.abs(said - net);
      continue;
    }
    soldKwh += Math.max(0, -net);
    dayKwh += said;
    dayAboveKwh += Math.max(0, said - Math.max(0, net));
  }
  if (soldKwh > LEAST_SUN_SHARE * dayKwh) return true;
  const darkShare = darkKwh > 0 ? darkGapKwh / darkKwh : 0;
  return dayAboveKwh > (2 * darkShare + LEAST_SUN_SHARE) * dayKwh;
}

/** The flows that channels come to, and export beyond what solar gave, kWh. */
export function settleColumns(columns: Columns, dark: Uint8Array): { flows: HomeFlows; beyondKwh: number } {
  const n = dark.length;
  const reckonsSolar = tellsSolar(columns, dark);
  const { importKwh, exportKwh, loadKwh, solarKwh } = columns;
  const flows = {
    importKwh: new Float64Array(n),
    exportKwh: new Float64Array(n),
    loadKwh: new Float64Array(n),
    solarKwh: new Float64Array(n),
  };
  let beyondKwh = 0;
  for (let i = 0; i < n; i++) {
    const said = loadKwh === undefined ? 0 : loadKwh[i]!;
    let solar = solarKwh === undefined ? 0 : solarKwh[i]!;
    if (importKwh === undefined && exportKwh === undefined) {
      const net = said - solar;
      flows.importKwh[i] = net > 0 ? net : 0;
      flows.exportKwh[i] = net < 0 ? -net : 0;
      flows.loadKwh[i] = said;
      flows.solarKwh[i] = solar;
      continue;
    }
    let bought = importKwh === undefined ? 0 : importKwh[i]!;
    let sold = exportKwh === undefined ? 0 : exportKwh[i]!;
    // No more is sold than the sun gives, and no more bought than the home uses; a few Wh beside the other are rounding.
    if (importKwh === undefined) {
      bought = clamp(said - solar + sold, said);
      if (sold > 0 && bought <= ROUNDING_KWH) bought = 0;
    } else if (exportKwh === undefined && loadKwh !== undefined) {
      sold = clamp(bought - said + solar, solar);
      if (bought > 0 && sold <= ROUNDING_KWH) sold = 0;
    }
    const net = bought - sold;
    if (solarKwh === undefined && exportKwh !== undefined) {
      // Solar is what load takes beyond the grid's part: by day, and never less than what is sold.
      solar = reckonsSolar && dark[i] === 0 && said > net ? said - net : 0;
      if (solar < -net) solar = -net;
    }
    const load = net + solar;
    // Where more left the home than the array gave, the service's own reading stands.
    if (load < 0) beyondKwh -= load;
    flows.importKwh[i] = bought;
    flows.exportKwh[i] = sold;
    flows.loadKwh[i] = load > 0 ? load : 0;
    flows.solarKwh[i] = load > 0 ? solar : Math.max(0, -net);
  }
  return { flows, beyondKwh };
}

function clamp(value: number, most: number): number {
  return value < 0 ? 0 : value > most ? most : value;
}
