import { type Plant, resolvePlant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { plantOf } from '../site/inside.ts';

/** Equipment as the site may hold it: so many units, and so many modules on each. */
export interface PlantSize {
  readonly units: number;
  readonly modulesPerUnit: number;
  readonly plant: Plant;
}

/**
 * Plants of so many units and modules or more that a site may hold, from less energy to more; of as much the fewer units.
 * Two units that each hold a leg are joined by two at a time.
 */
export function plantSizes({ site }: Study, least: { readonly units: number; readonly modulesPerUnit: number }) {
  const stated = plantOf(site);
  const { battery } = stated;
  const { units: there, maxUnits = there, modules } = battery;
  const inPairs = site.backup?.output?.arrangement === 'unit-per-leg';
  const sizes: PlantSize[] = [];
  for (let units = least.units; units <= maxUnits; units++) {
    if (inPairs && units % 2 === 1 && units !== there) continue;
    for (let m = least.modulesPerUnit; m <= (modules?.maxPerUnit ?? modules?.perUnit ?? 0); m++) {
      const sized = { ...battery, units, ...(modules === undefined ? {} : { modules: { ...modules, perUnit: m } }) };
      sizes.push({ units, modulesPerUnit: m, plant: resolvePlant({ ...stated, battery: sized }) });
    }
  }
  return sizes.sort((a, b) => a.plant.capacityKwh - b.plant.capacityKwh || a.units - b.units);
}
