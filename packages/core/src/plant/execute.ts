import type { Axis } from '../axis/index.ts';
import { executePlain, isPlain } from './execute-plain.ts';
import { type Flows, ROUNDING_KWH, type RunState } from './flows.ts';
import type { Levels } from './levels.ts';
import { arrayOf, type PlantOnAxis, quantityAt } from './on-axis.ts';
import type { Service } from './plant.ts';

/**
 * Executes levels over intervals `[from, to)`: the one loop of physics that every strategy runs through.
 *
 * In each interval, to rounding,
 *
 *     import − export = load + standby − (solar − curtailed) + charge − discharge − unserved
 *     standby = the plant's own, and `conversionKwh` more where it charges or discharges
 *     soc' = soc − decay + charge·ηc − discharge/ηd        (ηs for solar stored past a shared inverter)
 *
 * Order of precedence: solar that would be curtailed is stored; the import limit and the cap are held; the floor is
 * restored as far as charging is allowed; then the four levels. A step converts where that moves more than the draw of
 * converting, or buys back the floor. O(to − from), allocates nothing.
 *
 * @param flows zeros from `from` on, as {@link makeFlows} gives them: zeros are left as they are
 * @see docs/concepts/plant.md
 */
export function executeLevels(
  plant: Omit<PlantOnAxis, 'axis' | 'source'>,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  if (isPlain(plant)) executePlain(plant, levels, from, to, state, flows);
  else executeFull(plant, levels, from, to, state, flows);
}

/** {@link executeLevels} of any plant, the plain ones too: what {@link executePlain} is held to. */
export function executeFull(
  plant: Omit<PlantOnAxis, 'axis' | 'source'>,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  const { stepHours, netKwh, clippedKwh, servedLimitKwh, gridCharging, batteryExport } = plant;
  const { importKwh, exportKwh, chargeKwh, dischargeKwh, curtailedKwh, unservedKwh, socKwh } = flows;
  const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, exportDownToKwh, importCapKw, gridChargeKw } = levels;
  // A plus tells the engine that these are numbers: without it, it looks in every step again (a third slower).
  const importLimit = +plant.importLimitKwh;
  const exportLimit = +plant.exportLimitKwh;
  const decay = +plant.decayShare;
  const gridEfficiency = +plant.conversion.chargeEfficiency;
  const perGrid = 1 / gridEfficiency;
  const solarEfficiency = +plant.conversion.solarChargeEfficiency;
  const perSolar = 1 / solarEfficiency;
  const dischargeEfficiency = +plant.conversion.dischargeEfficiency;
  const perDischarge = 1 / dischargeEfficiency;
  // What is one number is read once, before the loop; only a plant with a quantity that varies looks in every step.
  let capacity = +quantityAt(plant.capacityKwh, 0);
  let floor = +quantityAt(plant.floorKwh, 0);
  let chargeLimit = +quantityAt(plant.chargeLimitKwh, 0);
  const steadyDischargeLimit = +quantityAt(plant.dischargeLimitKwh, 0);
  const capacities = arrayOf(plant.capacityKwh);
  const floors = arrayOf(plant.floorKwh);
  const chargeLimits = arrayOf(plant.chargeLimitKwh);
  const dischargeLimits = arrayOf(plant.dischargeLimitKwh);
  // A step that converts is the step of a home that draws this much more; where it isn't worth that, it is taken back.
  const draw = +plant.conversionKwh;
  const draws = draw > 0;
  const leastMoved = draws ? draw + ROUNDING_KWH : 0;
  const varies = draws || (capacities ?? floors ?? chargeLimits) !== undefined;
  let soc = state.socKwh;

  for (let i = from; i < to; i++) {
    let net = netKwh[i]!;
    if (varies) {
      net += draw;
      if (floors !== undefined) floor = floors[i]!;
      if (chargeLimits !== undefined) chargeLimit = chargeLimits[i]!;
      if (capacities !== undefined) {
        capacity = capacities[i]!;
        if (soc > capacity) soc = capacity;
      }
    }
    if (soc > floor) soc -= (soc - floor) * decay;
    const before = soc;
    let charge = 0;
    let discharge = 0;
    // Energy over the meter, positive when bought: the battery's part is added below.
    let metered = net;

    if (clippedKwh !== undefined && clippedKwh[i]! > 0) {
      const clipped = clippedKwh[i]!;
      charge = Math.min(clipped, chargeLimit);
      // Storing what is clipped draws from the service, and is no reason to pass a limit of it.
      if (draws && net > Math.min(importCapKw[i]! * stepHours, importLimit)) charge = 0;
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
        let bought = Math.min(chargeLimit - charge, cap - net, gridChargeKw[i]! * stepHours);
        const wanted = (gridTo - soc) * perGrid;
        if (wanted <= bought) {
          bought = wanted;
          soc = gridTo;
        } else soc += bought * gridEfficiency;
        charge += bought;
        metered += bought;
      } else if (soc > serveDownToKwh[i]! || net > cap || batteryExport) {
        // In any other interval the battery idles, and the grid carries all: the cap is at most the import limit.
        const dischargeLimit = dischargeLimits === undefined ? steadyDischargeLimit : dischargeLimits[i]!;
        let serveLimit = net < dischargeLimit ? net : dischargeLimit;
        if (servedLimitKwh !== undefined) {
          const reached = servedLimitKwh[i]! + draw;
          if (reached < serveLimit) serveLimit = reached;
        }
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
            let sold = Math.min(dischargeLimit - discharge, exportLimit);
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
        let bought = Math.min(
          chargeLimit - charge,
          importLimit,
          importCapKw[i]! * stepHours,
          gridChargeKw[i]! * stepHours,
        );
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
          const dischargeLimit = dischargeLimits === undefined ? steadyDischargeLimit : dischargeLimits[i]!;
          discharge = Math.min(dischargeLimit, exportLimit + metered);
          const available = (soc - exportTo) * dischargeEfficiency;
          if (available <= discharge) {
            discharge = available;
            soc = exportTo;
          } else soc -= discharge * perDischarge;
          metered -= discharge;
        }
      }
    }

    if (charge > leastMoved) chargeKwh[i] = charge;
    else if (discharge > leastMoved) dischargeKwh[i] = discharge;
    else if (draws) {
      if (charge > 0 && before < floor - ROUNDING_KWH) chargeKwh[i] = charge;
      else {
        soc = before;
        metered = idle(plant, i, flows);
      }
    }
    if (soc < floor) {
      if (floor - soc < ROUNDING_KWH) soc = floor;
      else {
        state.shortfallIntervals++;
        if (floor - soc > state.shortfallKwh) state.shortfallKwh = floor - soc;
      }
    }
    socKwh[i] = soc;
    if (metered > 0) importKwh[i] = metered;
    else if (metered < 0) exportKwh[i] = -metered;
  }
  state.socKwh = soc;
}

/**
 * A step in which the battery neither takes nor gives.
 * @returns energy over the meter, positive when bought
 */
function idle(
  { netKwh, clippedKwh, importLimitKwh, exportLimitKwh }: Omit<PlantOnAxis, 'axis' | 'source'>,
  i: number,
  { curtailedKwh, unservedKwh }: Flows,
): number {
  const net = netKwh[i]!;
  const clipped = clippedKwh === undefined ? 0 : clippedKwh[i]!;
  unservedKwh[i] = Math.max(0, net - importLimitKwh);
  curtailedKwh[i] = Math.max(0, -net - exportLimitKwh) + clipped;
  return Math.max(Math.min(net, importLimitKwh), -exportLimitKwh);
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
