import { type PlantPerStep, type Quantity, quantityAt } from './on-axis.ts';

/** What {@link islanded} may be told. */
export interface IslandMargins {
  /**
   * Share of the stored energy that is really there, in (0, 1]: what age leaves. The shutdown level doesn't shrink with it.
   * @defaultValue 1
   */
  readonly energyShare?: number;
  /** How much too high the gauge may read, kWh: taken off what is stored at the start. @defaultValue 0 */
  readonly gaugeErrorKwh?: number;
  /** How far under full solar may leave the battery where it trips instead of tapering, kWh. @defaultValue 0 */
  readonly fullMarginKwh?: number;
  /** 1 where the cells are too cold to charge. */
  readonly coldSteps?: Uint8Array;
}

/**
 * A plant while the grid is gone. It is the same plant in the same loop, with nothing imported and nothing exported, its
 * floor released down to the shutdown level, and none of its energy sold. Energy is counted above the shutdown level.
 */
export interface IslandedPlant {
  readonly stepHours: number;
  /** Usable energy above the shutdown level, kWh. */
  readonly capacityKwh: number;
  /** Share of that energy that is lost in a step. */
  readonly decayShare: number;
  /** Most that sun stores in a step, kWh AC; 0 where it is too cold. */
  readonly chargeLimitKwh: Quantity;
  /**
   * Most that loads may draw in a step, kWh; above it the equipment stops, whatever the sun gives at that moment: a
   * cloud must not be what trips it. The equipment's own draw comes on top.
   */
  readonly loadLimitKwh: number;
  /** What the equipment itself draws in a step, kWh AC: {@link islandDrawKwh}. */
  readonly standbyKwh: number;
  /** All of the sun is stored from the array's side, so one share says what arrives. */
  readonly solarChargeEfficiency: number;
  readonly dischargeEfficiency: number;
  readonly shutdownKwh: number;
  readonly energyShare: number;
  readonly gaugeErrorKwh: number;
}

/** Less above the shutdown level than this, and the equipment is off already: a hair under 0, for a run's rounding. */
const OFF_KWH = -1e-9;
/** A load that meets the limit exactly is carried: this forgives the rounding of watts into energy. */
const LIMIT_ROUNDING_KWH = 1e-9;

/** The plant as it is while the grid is gone. */
export function islanded(plant: PlantPerStep, margins: IslandMargins = {}): IslandedPlant {
  const { energyShare = 1, gaugeErrorKwh = 0, fullMarginKwh = 0, coldSteps } = margins;
  const { shutdownKwh } = plant;
  const capacityKwh = Math.max(0, leastOf(plant.capacityKwh) * energyShare - shutdownKwh - fullMarginKwh);
  return {
    stepHours: plant.stepHours,
    capacityKwh,
    decayShare: plant.decayShare,
    chargeLimitKwh:
      coldSteps === undefined
        ? plant.chargeLimitKwh
        : Float64Array.from(coldSteps, (cold, i) => (cold === 1 ? 0 : quantityAt(plant.chargeLimitKwh, i))),
    loadLimitKwh: plant.islandOutputKwh + LIMIT_ROUNDING_KWH,
    standbyKwh: islandDrawKwh(plant),
    solarChargeEfficiency: plant.conversion.solarChargeEfficiency,
    dischargeEfficiency: plant.conversion.dischargeEfficiency,
    shutdownKwh,
    energyShare,
    gaugeErrorKwh,
  };
}

/**
 * What the equipment itself draws in a step of an outage, kWh AC. Nobody else holds the island's voltage, so that the
 * inverter runs all the time, whether energy passes it or not.
 */
export function islandDrawKwh(plant: Pick<PlantPerStep, 'standbyKwh' | 'conversionKwh'>): number {
  return plant.standbyKwh + plant.conversionKwh;
}

/** What adding up load and draw in binary leaves where the sun is just their sum, kWh: no lack, and no surplus. */
export const RESIDUE_KWH = 1e-12;

/** Energy above the shutdown level where the gauge reads `socKwh`, kWh; −Infinity where the equipment is off already. */
export function startingKwh(island: IslandedPlant, socKwh: number): number {
  if (socKwh - island.shutdownKwh < OFF_KWH) return Number.NEGATIVE_INFINITY;
  const thereKwh = socKwh * island.energyShare - island.gaugeErrorKwh;
  return Math.min(island.capacityKwh, Math.max(0, thereKwh - island.shutdownKwh));
}

/** Where usable energy changes over time the least of it is counted on: an outage runs on past its own start. */
function leastOf(quantity: Quantity): number {
  if (typeof quantity === 'number') return quantity;
  return quantity.reduce((least, kwh) => Math.min(least, kwh), Number.POSITIVE_INFINITY);
}
