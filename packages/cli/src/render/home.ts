import type { AxisPart, CompareReport, PlantPart } from '@duskbank/core/study';
import { fixed, hours, hoursAtMost } from './numbers.ts';

/** `2025-01-01 to 2025-12-31, 365 days in steps of 15 minutes, America/Denver` */
export function spanText(axis: AxisPart): string {
  const { firstDay, lastDay, localDays, stepMinutes, meteredStepMinutes: metered, zone } = axis;
  const steps = metered === undefined ? `${stepMinutes} minutes` : `${metered} minutes, reckoned in ${stepMinutes}`;
  return `${firstDay} to ${lastDay}, ${localDays} days in steps of ${steps}, ${zone}`;
}

/** The battery in words: energy, power and what sets it, times at full power. */
export function plantText(plant: PlantPart): string {
  return (
    `${equipmentText(plant, 'added module')}, ${fixed(plant.capacityKwh, 1)} kWh usable, ` +
    `gives ${fixed(plant.dischargeKw, 2)} kW (set by the ${plant.dischargeSetBy}) for ${hours(plant.hoursAtFullOutput)} after losses, ` +
    `takes ${fixed(plant.chargeKw, 2)} kW (${plant.chargeSetBy}), ${hoursAtMost(plant.hoursToFill)} to fill once it has shut down. Held back for outages: ${fixed(plant.floorKwh, 1)} kWh${plant.floorRises ? ', and more at dates' : ''}.`
  );
}

/** `2 units with 1 module each` */
export function equipmentText(
  { units, modulesPerUnit }: { readonly units: number; readonly modulesPerUnit: number },
  module = 'module',
): string {
  const modules = modulesPerUnit > 0 ? ` with ${modulesPerUnit} ${module}${plural(modulesPerUnit)} each` : '';
  return `${units} unit${plural(units)}${modules}`;
}

/** ` of 3 of 11 circuits`, where fewer are carried than the site lists; else nothing. */
export function carriedText(carried: CompareReport['carried'], before = ' '): string {
  if (carried === null || carried.circuits === carried.listed) return '';
  return `${before}${carried.circuits} of ${carried.listed} circuits`;
}

function plural(count: number): string {
  return count === 1 ? '' : 's';
}
