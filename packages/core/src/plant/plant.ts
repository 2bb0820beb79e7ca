/**
 * A battery with its inverter and service, resolved to the numbers that one step needs. Stored quantities
 * are usable energy on the battery's side; powers and their limits are AC.
 */
export interface Plant {
  /** Usable energy, kWh, at least 0: a battery of nothing is a home without one. */
  readonly capacityKwh: number;
  /** Energy that normal dispatch may not touch, kWh: one number, or one an interval. Released in an outage. */
  readonly floorKwh: number | Float64Array;
  /**
   * The floor of an interval was reckoned from what came before it, so that a causal strategy may know no later one:
   * it sees the present floor in their place.
   */
  readonly floorFromPast?: boolean;
  /**
   * Where part of the floor is known from a notice on: the floor as it was known, the first entry from interval 0 on, the
   * last one `floorKwh` itself. A causal strategy sees no more. Left out: all of it is known from the start.
   */
  readonly floorAsKnown?: readonly KnownFloor[];
  /** Below this the equipment stops, even in an outage, kWh. At most the floor. */
  readonly shutdownKwh: number;
  /** Stored energy before the first interval, kWh. */
  readonly startKwh: number;
  /** The least of unit, inverter, breaker × 80 % and cord × 80 %, kW AC. */
  readonly chargeLimitKw: number;
  /** 1 in the intervals whose cells are too cold to charge, from the grid or from the sun; left out: none. */
  readonly coldSteps?: Uint8Array;
  /** The least of unit, inverter and breaker × 80 %, kW AC. */
  readonly dischargeLimitKw: number;
  /** One way, in (0, 1]. */
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  /** Share of the energy above the floor that is lost each hour. */
  readonly decayPerHour: number;
  /** What the equipment itself draws at AC, always, W. */
  readonly standbyW: number;
  /** What it draws on top of that while it charges or discharges, and all through an outage, W. @defaultValue 0 */
  readonly conversionW?: number;
  readonly gridCharging: boolean;
  readonly batteryExport: boolean;
  /** `ac`: solar has an inverter of its own. `dc`: solar and discharge share `inverterKw`. */
  readonly coupling: 'ac' | 'dc';
  /** Continuous inverter rating, kW AC. */
  readonly inverterKw: number;
  /** DC coupling only: stored share of surplus solar, counted at its AC worth. */
  readonly solarChargeEfficiency: number;
  /** The load that discharge may offset: all of it, a share, or a series in kWh an interval. */
  readonly reach: number | Float64Array;
}

/** The floor as it is known at the start of interval `from`, until the next entry's, kWh at the end of each interval. */
export interface KnownFloor {
  readonly from: number;
  readonly floorKwh: Float64Array;
}

/** Continuous output to loads with the grid gone, kW AC: battery and inverter both carry all of it. */
export function islandOutputKw(plant: Plant): number {
  return Math.min(plant.dischargeLimitKw, plant.inverterKw);
}

/** The home's connection to the grid. Absent plant or not, these hold. */
export interface Service {
  /** kW; Infinity where nothing binds. What can't be imported is unserved. */
  readonly importLimitKw: number;
  /** kW; Infinity where nothing binds. What can't be exported is curtailed. */
  readonly exportLimitKw: number;
}
