import type { Home, StrategyRun } from '@duskbank/core/dispatch';
import type { Outcome } from '@duskbank/core/trial';
import { expect } from 'vitest';

/** Tolerance of every law, kWh: rounding of a few additions of numbers under 1,000. */
const EPSILON_KWH = 1e-9;

/**
 * Checks the laws of one step on a finished run, from the home's own series: nothing here is read from what the loop
 * prepared. Written apart from the loop, and slower.
 */
export function expectPhysics(home: Home, run: StrategyRun | Outcome<'flows'>): void {
  const { axis, plant, service, loadKwh, solarKwh } = home;
  const { flows } = run;
  const absent = 'withoutPlant' in run ? run.withoutPlant : run.strategy.role === 'baseline';
  const h = axis.stepHours;
  const idleDraw = absent ? 0 : (plant.standbyW / 1000) * h;
  const conversion = absent ? 0 : ((plant.conversionW ?? 0) / 1000) * h;
  const decayShare = 1 - (1 - plant.decayPerHour) ** h;
  let soc = absent ? 0 : plant.startKwh;

  for (let i = 0; i < axis.intervals; i++) {
    const atMost = (value: number, limit: number, law: string) => {
      if (!(value <= limit + EPSILON_KWH)) expect.fail(`interval ${i}: ${law}: ${value} kWh, limit ${limit} kWh`);
    };
    const load = loadKwh[i]!;
    const solar = solarKwh[i]!;
    const bought = flows.importKwh[i]!;
    const sold = flows.exportKwh[i]!;
    const charge = flows.chargeKwh[i]!;
    const discharge = flows.dischargeKwh[i]!;
    const curtailed = flows.curtailedKwh[i]!;
    const unserved = flows.unservedKwh[i]!;
    const end = flows.socKwh[i]!;
    const standby = charge > 0 || discharge > 0 ? idleDraw + conversion : idleDraw;
    for (const flow of [bought, sold, charge, discharge, curtailed, unserved, end]) atMost(-flow, 0, 'a negative flow');
    const balance = bought - sold - (load + standby - (solar - curtailed) + charge - discharge - unserved);
    atMost(Math.abs(balance), 0, 'the energy balance is off');
    atMost(Math.min(bought, sold), 0, 'importing and exporting at once');
    atMost(bought, service.importLimitKw * h, 'import above the service limit');
    atMost(sold, service.exportLimitKw * h, 'export above the service limit');
    atMost(unserved, load, 'unserved above load');
    atMost(curtailed, solar, 'curtailed above solar');
    if (absent) continue;

    const floor = typeof plant.floorKwh === 'number' ? plant.floorKwh : plant.floorKwh[i]!;
    const decay = soc > floor ? (soc - floor) * decayShare : 0;
    // Solar is stored before grid energy; past a shared inverter it is what load and standby leave of the array.
    let solarCharge = 0;
    if (plant.coupling === 'dc') {
      const inverter = plant.inverterKw * h;
      solarCharge = Math.min(charge, solar - Math.min(solar, inverter, load + standby));
      atMost(solar - curtailed - solarCharge + discharge, inverter, 'flow through the shared inverter');
    }
    const expected =
      soc -
      decay +
      (charge - solarCharge) * plant.chargeEfficiency +
      solarCharge * plant.solarChargeEfficiency -
      discharge / plant.dischargeEfficiency;
    atMost(Math.abs(end - expected), 0, 'the storage law is off');
    atMost(end, plant.capacityKwh, 'energy above capacity');
    if (run.shortfallIntervals === 0) atMost(floor, end, 'energy under the floor');
    if (end < floor - EPSILON_KWH) atMost(discharge, 0, 'discharge under the floor');
    atMost(floor - end, run.shortfallKwh, 'a lack larger than was warned of');
    atMost(charge, plant.coldSteps?.[i] === 1 ? 0 : plant.chargeLimitKw * h, 'charge above its limit');
    atMost(discharge, plant.dischargeLimitKw * h, 'discharge above its limit');
    atMost(Math.min(charge, discharge), 0, 'charging and discharging at once');
    // Converting moves more than it draws, but for what is bought back under the floor.
    if (discharge > 0) atMost(conversion, discharge, 'discharge that doesn’t carry its own draw');
    if (charge > 0 && soc >= floor) atMost(conversion, charge, 'charge that is less than its own draw');
    const reached = typeof plant.reach === 'number' ? load * plant.reach : Math.min(load, plant.reach[i]!);
    if (sold <= EPSILON_KWH) atMost(discharge, reached + standby, 'discharge above the reached load and standby');
    if (!plant.gridCharging) atMost(charge, Math.max(0, solar - curtailed), 'charge from the grid');
    if (!plant.batteryExport) atMost(sold, Math.max(0, solar - load - standby), 'stored energy sold');
    soc = end;
  }
}
