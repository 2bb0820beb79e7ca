import { type Flows, ROUNDING_KWH, type RunState } from './flows.ts';
import type { Levels } from './levels.ts';
import type { PlantOnAxis } from './on-axis.ts';

/** Whether a plant has nothing that {@link executePlain} doesn't do. */
export function isPlain(plant: Omit<PlantOnAxis, 'axis' | 'source'>): boolean {
  return (
    !plant.batteryExport &&
    plant.clippedKwh === undefined &&
    plant.servedLimitKwh === undefined &&
    plant.conversionKwh === 0 &&
    typeof plant.capacityKwh === 'number' &&
    typeof plant.floorKwh === 'number' &&
    typeof plant.chargeLimitKwh === 'number' &&
    typeof plant.dischargeLimitKwh === 'number'
  );
}

/**
 * `executeLevels` of a plain plant: AC coupling, all load in reach, no sale from the battery, no draw of converting, and
 * nothing that varies from step to step. It is the same loop with those branches left out, in the same order of the same
 * operations, so that every flow is the same to the last bit; a law in tests/laws/plant holds the two together. O(to − from).
 *
 * It is worth a file because most homes are plain, and searches run this loop thousands of times. What it saves is reading:
 * of six levels a step looks at three, and each of four flows is written once whatever comes of it.
 */
export function executePlain(
  plant: Omit<PlantOnAxis, 'axis' | 'source'>,
  levels: Levels,
  from: number,
  to: number,
  state: RunState,
  flows: Flows,
): void {
  const { netKwh, gridCharging } = plant;
  const { importKwh, exportKwh, chargeKwh, dischargeKwh, curtailedKwh, unservedKwh, socKwh } = flows;
  const { solarChargeToKwh, gridChargeToKwh, serveDownToKwh, importCapKw, gridChargeKw } = levels;
  // A plus tells the engine that these are numbers: without it, it looks in every step again.
  const stepHours = +plant.stepHours;
  const importLimit = +plant.importLimitKwh;
  const exportLimit = +plant.exportLimitKwh;
  const decay = +plant.decayShare;
  const chargeEfficiency = +plant.conversion.chargeEfficiency;
  const perGrid = 1 / chargeEfficiency;
  const solarEfficiency = +plant.conversion.solarChargeEfficiency;
  const perSolar = 1 / solarEfficiency;
  const dischargeEfficiency = +plant.conversion.dischargeEfficiency;
  const perDischarge = 1 / dischargeEfficiency;
  const capacity = +(plant.capacityKwh as number);
  const floor = +(plant.floorKwh as number);
  const chargeLimit = +(plant.chargeLimitKwh as number);
  const dischargeLimit = +(plant.dischargeLimitKwh as number);
  let soc = +state.socKwh;

  for (let i = from; i < to; i++) {
    const net = netKwh[i]!;
    if (soc > floor) soc -= (soc - floor) * decay;
    let charge = 0;
    let discharge = 0;
    let metered = net;
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
        charge = Math.min(chargeLimit, cap - net, gridChargeKw[i]! * stepHours);
        const wanted = (gridTo - soc) * perGrid;
        if (wanted <= charge) {
          charge = wanted;
          soc = gridTo;
        } else soc += charge * chargeEfficiency;
        metered += charge;
      } else {
        let serveTo = serveDownToKwh[i]!;
        if (soc > serveTo || net > cap) {
          const serveLimit = net < dischargeLimit ? net : dischargeLimit;
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
          if (metered > importLimit) {
            unservedKwh[i] = metered - importLimit;
            metered = importLimit;
          }
        }
      }
    } else {
      let solarTo = solarChargeToKwh[i]!;
      if (solarTo < floor) solarTo = floor;
      if (solarTo < gridTo) solarTo = gridTo;
      if (solarTo > capacity) solarTo = capacity;
      if (soc < solarTo) {
        charge = Math.min(chargeLimit, -net);
        const wanted = (solarTo - soc) * perSolar;
        if (wanted <= charge) {
          charge = wanted;
          soc = solarTo;
        } else soc += charge * solarEfficiency;
        metered += charge;
      }
      if (-metered > exportLimit) {
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
        } else soc += bought * chargeEfficiency;
        charge += bought;
        metered += bought;
      }
    }

    if (soc < floor) {
      if (floor - soc < ROUNDING_KWH) soc = floor;
      else {
        state.shortfallIntervals++;
        if (floor - soc > state.shortfallKwh) state.shortfallKwh = floor - soc;
      }
    }
    chargeKwh[i] = charge > 0 ? charge : 0;
    dischargeKwh[i] = charge > 0 ? 0 : discharge;
    socKwh[i] = soc;
    importKwh[i] = metered > 0 ? metered : 0;
    exportKwh[i] = metered < 0 ? -metered : 0;
  }
  state.socKwh = soc;
}
