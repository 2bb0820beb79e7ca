import type { Axis } from '../axis/index.ts';
import type { Levels } from './levels.ts';
import type { Plant, Service } from './plant.ts';

/** Every flow of every interval, kWh at AC, none negative; stored energy at the interval's end. */
export interface Flows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  /** Taken by the battery; solar that is stored past a shared inverter counts at its AC worth. */
  readonly chargeKwh: Float64Array;
  readonly dischargeKwh: Float64Array;
  readonly curtailedKwh: Float64Array;
  /** Load that neither grid nor battery could carry. */
  readonly unservedKwh: Float64Array;
  /** Usable energy stored at the end of the interval. */
  readonly socKwh: Float64Array;
}

/** A home with its plant, made ready for the loop: what the loop reads, an entry an interval. */
export interface PreparedPlant {
  readonly axis: Axis;
  readonly plant: Plant;
  readonly service: Service;
  /** Load + standby − solar that reaches AC, kWh: what the meter would read with the battery idle. */
  readonly netKwh: Float64Array;
  /** DC coupling: solar beyond the shared inverter, which can be stored or lost. Undefined where there is none. */
  readonly clippedKwh: Float64Array | undefined;
  /** DC coupling: what the shared inverter has left for discharge. Undefined with AC coupling. */
  readonly inverterRoomKwh: Float64Array | undefined;
  /** What discharge may offset: reached load + standby. Undefined where all load is reached. */
  readonly servedLimitKwh: Float64Array | undefined;
  /** Undefined where the floor is one number. */
  readonly floorKwh: Float64Array | undefined;
}

/** What a run carries from block to block. */
export interface RunState {
  /** Energy stored now, kWh. */
  socKwh: number;
  /** Intervals that ended under the floor, and the largest lack, kWh. */
  shortfallIntervals: number;
  shortfallKwh: number;
}

/** Zeroed flows for `intervals` steps. */
export function makeFlows(intervals: number): Flows {
  return {
    importKwh: new Float64Array(intervals),
    exportKwh: new Float64Array(intervals),
    chargeKwh: new Float64Array(intervals),
    dischargeKwh: new Float64Array(intervals),
    curtailedKwh: new Float64Array(intervals),
    unservedKwh: new Float64Array(intervals),
    socKwh: new Float64Array(intervals),
  };
}

/** Sets every flow back to 0, for another run in the same arrays. */
export function clearFlows(flows: Flows): Flows {
  for (const series of Object.values(flows) as Float64Array[]) series.fill(0);
  return flows;
}

/** Computes once what every strategy's run over the same home reads. O(n). */
export function preparePlant(
  axis: Axis,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  plant: Plant,
  service: Service,
): PreparedPlant {
  const n = axis.intervals;
  const standbyKwh = (plant.standbyW / 1000) * axis.stepHours;
  const netKwh = new Float64Array(n);
  let clippedKwh: Float64Array | undefined;
  let inverterRoomKwh: Float64Array | undefined;
  if (plant.coupling === 'dc') {
    const inverterKwh = plant.inverterKw * axis.stepHours;
    clippedKwh = new Float64Array(n);
    inverterRoomKwh = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const throughKwh = Math.min(solarKwh[i]!, inverterKwh);
      netKwh[i] = loadKwh[i]! + standbyKwh - throughKwh;
      clippedKwh[i] = solarKwh[i]! - throughKwh;
      inverterRoomKwh[i] = inverterKwh - throughKwh;
    }
  } else {
    for (let i = 0; i < n; i++) netKwh[i] = loadKwh[i]! + standbyKwh - solarKwh[i]!;
  }
  let servedLimitKwh: Float64Array | undefined;
  if (typeof plant.reach !== 'number' || plant.reach < 1) {
    servedLimitKwh = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      const reachedKwh =
        typeof plant.reach === 'number' ? loadKwh[i]! * plant.reach : Math.min(plant.reach[i]!, loadKwh[i]!);
      servedLimitKwh[i] = reachedKwh + standbyKwh;
    }
  }
  return {
    axis,
    plant,
    service,
    netKwh,
    clippedKwh,
    inverterRoomKwh,
    servedLimitKwh,
    floorKwh: typeof plant.floorKwh === 'number' ? undefined : plant.floorKwh,
  };
}

/** The state before the first interval. */
export function startState(plant: Plant): RunState {
  return { socKwh: plant.startKwh, shortfallIntervals: 0, shortfallKwh: 0 };
}

/**
 * Executes levels over intervals `[from, to)`: the one loop of physics that every strategy runs through.
 *
 * In each interval, to rounding,
 *
 *     import − export = load + standby − (solar − curtailed) + charge − discharge − unserved
 *     soc' = soc − decay + charge·ηc − discharge/ηd        (ηs for solar stored past a shared inverter)
 *
 * Order of precedence: solar that would be curtailed is stored; the import limit and the cap are held; the floor is
 * restored as far as charging is allowed; then the four levels. O(to − from), allocates nothing.
 *
 * @param flows zeros from `from` on, as {@link makeFlows} gives them: zeros are left as they are
 * @see docs/concepts/plant.md
 */
export function executeLevels(
  prepared: PreparedPlant,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  const { plant, service, netKwh, clippedKwh, inverterRoomKwh, servedLimitKwh, floorKwh } = prepared;
  const { importKwh, exportKwh, chargeKwh, dischargeKwh, curtailedKwh, unservedKwh, socKwh } = flows;
  const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, exportDownToKwh, importCapKw } = levels;
  const { stepHours } = prepared.axis;
  const capacity = plant.capacityKwh;
  const chargeLimit = plant.chargeLimitKw * stepHours;
  const plantDischargeLimit = plant.dischargeLimitKw * stepHours;
  const gridEfficiency = plant.chargeEfficiency;
  const perGrid = 1 / gridEfficiency;
  const solarEfficiency = plant.coupling === 'dc' ? plant.solarChargeEfficiency : plant.chargeEfficiency;
  const perSolar = 1 / solarEfficiency;
  const dischargeEfficiency = plant.dischargeEfficiency;
  const perDischarge = 1 / dischargeEfficiency;
  const decay = 1 - (1 - plant.decayPerHour) ** stepHours;
  const importLimit = service.importLimitKw * stepHours;
  const exportLimit = service.exportLimitKw * stepHours;
  const { gridCharging, batteryExport } = plant;
  let floor = floorKwh === undefined ? (plant.floorKwh as number) : 0;
  let soc = state.socKwh;

  for (let i = from; i < to; i++) {
    if (floorKwh !== undefined) floor = floorKwh[i]!;
    if (soc > floor) soc -= (soc - floor) * decay;
    const net = netKwh[i]!;
    let charge = 0;
    let discharge = 0;
    // Energy over the meter, positive when bought: the battery's part is added below.
    let metered = net;

    if (clippedKwh !== undefined && clippedKwh[i]! > 0) {
      const clipped = clippedKwh[i]!;
      charge = Math.min(clipped, chargeLimit);
      const room = (capacity - soc) * perSolar;
      if (room <= charge) {
        charge = room;
        soc = capacity;
      } else soc += charge * solarEfficiency;
      curtailedKwh[i] = clipped - charge;
    }
    // Levels are read inside the band; restoring the floor comes before a strategy's wish.
    let gridTo = Number.NEGATIVE_INFINITY;
    if (gridCharging) {
      gridTo = gridChargeToKwh[i]!;
      if (gridTo < floor) gridTo = floor;
      else if (gridTo > capacity) gridTo = capacity;
    }
    if (net >= 0) {
      let cap = importCapKw[i]! * stepHours;
      if (importLimit < cap) cap = importLimit;
      if (soc < gridTo && net <= cap) {
        let bought = Math.min(chargeLimit - charge, cap - net);
        const wanted = (gridTo - soc) * perGrid;
        if (wanted <= bought) {
          bought = wanted;
          soc = gridTo;
        } else soc += bought * gridEfficiency;
        charge += bought;
        metered += bought;
      } else if (soc > serveDownToKwh[i]! || net > cap || batteryExport) {
        // In any other interval the battery idles, and the grid carries all: the cap is at most the import limit.
        let limit = plantDischargeLimit;
        if (inverterRoomKwh !== undefined && inverterRoomKwh[i]! < limit) limit = inverterRoomKwh[i]!;
        let serveLimit = net < limit ? net : limit;
        if (servedLimitKwh !== undefined && servedLimitKwh[i]! < serveLimit) serveLimit = servedLimitKwh[i]!;
        let serveTo = serveDownToKwh[i]!;
        if (serveTo < floor) serveTo = floor;
        if (soc > serveTo) {
          discharge = (soc - serveTo) * dischargeEfficiency;
          if (discharge <= serveLimit) soc = serveTo;
          else {
            discharge = serveLimit;
            soc -= discharge * perDischarge;
          }
        }
        if (net - discharge > cap && soc > floor) {
          // The cap is worth going below the level for, but not below the floor.
          let more = Math.min(net - cap, serveLimit) - discharge;
          if (more > 0) {
            const available = (soc - floor) * dischargeEfficiency;
            if (available <= more) {
              more = available;
              soc = floor;
            } else soc -= more * perDischarge;
            discharge += more;
          }
        }
        metered -= discharge;
        if (batteryExport && metered <= 0) {
          let exportTo = exportDownToKwh[i]!;
          if (exportTo < floor) exportTo = floor;
          if (soc > exportTo) {
            let sold = Math.min(limit - discharge, exportLimit);
            const available = (soc - exportTo) * dischargeEfficiency;
            if (available <= sold) {
              sold = available;
              soc = exportTo;
            } else soc -= sold * perDischarge;
            discharge += sold;
            metered = -sold;
          }
        }
        if (metered > importLimit) {
          unservedKwh[i] = metered - importLimit;
          metered = importLimit;
        }
      }
    } else {
      let solarTo = solarChargeToKwh[i]!;
      if (solarTo < floor) solarTo = floor;
      if (solarTo < gridTo) solarTo = gridTo;
      if (solarTo > capacity) solarTo = capacity;
      if (soc < solarTo) {
        let stored = Math.min(chargeLimit - charge, -net);
        const wanted = (solarTo - soc) * perSolar;
        if (wanted <= stored) {
          stored = wanted;
          soc = solarTo;
        } else soc += stored * solarEfficiency;
        charge += stored;
        metered += stored;
      }
      if (-metered > exportLimit) {
        // What can't be exported is stored as far as it goes, whatever the level says; the rest is lost.
        const over = -metered - exportLimit;
        let stored = Math.min(over, chargeLimit - charge);
        const room = (capacity - soc) * perSolar;
        if (room <= stored) {
          stored = room;
          soc = capacity;
        } else soc += stored * solarEfficiency;
        charge += stored;
        curtailedKwh[i]! += over - stored;
        metered = -exportLimit;
      }
      if (soc < gridTo && metered >= 0) {
        let bought = Math.min(chargeLimit - charge, importLimit, importCapKw[i]! * stepHours);
        const wanted = (gridTo - soc) * perGrid;
        if (wanted <= bought) {
          bought = wanted;
          soc = gridTo;
        } else soc += bought * gridEfficiency;
        charge += bought;
        metered += bought;
      } else if (batteryExport && charge === 0) {
        let exportTo = exportDownToKwh[i]!;
        if (exportTo < floor) exportTo = floor;
        if (soc > exportTo) {
          let limit = plantDischargeLimit;
          if (inverterRoomKwh !== undefined && inverterRoomKwh[i]! < limit) limit = inverterRoomKwh[i]!;
          discharge = Math.min(limit, exportLimit + metered);
          const available = (soc - exportTo) * dischargeEfficiency;
          if (available <= discharge) {
            discharge = available;
            soc = exportTo;
          } else soc -= discharge * perDischarge;
          metered -= discharge;
        }
      }
    }

    if (soc < floor) {
      if (floor - soc < 1e-9) soc = floor;
      else {
        state.shortfallIntervals++;
        if (floor - soc > state.shortfallKwh) state.shortfallKwh = floor - soc;
      }
    }
    if (charge > 0) chargeKwh[i] = charge;
    else if (discharge > 0) dischargeKwh[i] = discharge;
    socKwh[i] = soc;
    if (metered > 0) importKwh[i] = metered;
    else if (metered < 0) exportKwh[i] = -metered;
  }
  state.socKwh = soc;
}

/**
 * The home without the plant: no battery, no standby, no inverter limit, the same service limits. O(n).
 * This is the baseline that savings are measured against.
 */
export function executeWithoutPlant(
  axis: Axis,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  service: Service,
  flows: Flows,
): void {
  const importLimit = service.importLimitKw * axis.stepHours;
  const exportLimit = service.exportLimitKw * axis.stepHours;
  for (let i = 0; i < axis.intervals; i++) {
    const net = loadKwh[i]! - solarKwh[i]!;
    const bought = net > 0 ? Math.min(net, importLimit) : 0;
    const sold = net < 0 ? Math.min(-net, exportLimit) : 0;
    flows.importKwh[i] = bought;
    flows.exportKwh[i] = sold;
    flows.unservedKwh[i] = net > 0 ? net - bought : 0;
    flows.curtailedKwh[i] = net < 0 ? -net - sold : 0;
  }
}
