import type { EnergyCharge } from '../tariff.ts';
import { resolvePricing } from './pricing.ts';
import { seasonMask } from './seasons.ts';
import type { Version, Windows } from './version.ts';
import { selectWindows } from './windows.ts';

/** Name of the charge that the windows' own prices make. */
export const WINDOW_CHARGE = 'Energy';

/** Charges, riders and credits per kWh. */
export function resolveEnergy(version: Version, windows: Windows): EnergyCharge[] {
  const { faults, document, pathOf } = version;
  const energyPath = pathOf('energy');
  const energy: EnergyCharge[] = (document.energy ?? []).map((charge, c) => {
    const path = [...energyPath, c];
    return {
      name: charge.name,
      supplier: charge.supplier,
      pricing: resolvePricing(version, windows, charge, path),
      seasonMask: seasonMask(version, charge.seasons, path),
      inWindows: selectWindows(version, windows, charge.inWindows, path),
      nonBypassable: charge.nonBypassable === true,
      programme: charge.programme,
    };
  });
  if (windows.priced && energy.some((charge) => charge.name === WINDOW_CHARGE))
    faults.add(
      'duplicate-name',
      [...energyPath, energy.findIndex((c) => c.name === WINDOW_CHARGE), 'name'],
      WINDOW_CHARGE,
      'a name that the windows’ prices don’t bear already',
      'call it something else',
    );
  faults.repeatedNames(
    energy.map((c) => `${c.name}|${c.seasonMask}|${c.programme}`),
    energy.map((c) => c.name),
    energyPath,
  );
  if (!windows.priced && energy.length === 0)
    faults.add(
      'missing',
      document.windows === undefined ? ['energy'] : [...pathOf('windows'), 0, 'pricePerKwh'],
      undefined,
      'a price per kWh',
      document.windows === undefined
        ? 'add "windows" with prices, or "energy"'
        : 'add "pricePerKwh" to each window, or "energy"',
    );
  return energy;
}
