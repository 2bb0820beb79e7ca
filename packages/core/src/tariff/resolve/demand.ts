import { hourRule } from '../hours.ts';
import type { DemandCharge } from '../tariff.ts';
import type { Path } from './faults.ts';
import { seasonMask } from './seasons.ts';
import { risingSteps } from './steps.ts';
import type { Element, Version, Windows } from './version.ts';
import { checkHours, selectWindows } from './windows.ts';

/** Charges on power. */
export function resolveDemand(version: Version, windows: Windows): DemandCharge[] {
  const charges = (version.document.demand ?? []).map((charge, d): DemandCharge => {
    const path = [...version.pathOf('demand'), d];
    checkHours(version, charge, path);
    const inWindows = selectWindows(version, windows, charge.inWindows, path);
    return resolveCharge(version, charge, path, inWindows);
  });
  const names = charges.map((charge) => charge.name);
  version.faults.repeatedNames(names, names, version.pathOf('demand'));
  return charges;
}

function resolveCharge(
  version: Version,
  charge: Element<'demand'>[number],
  path: Path,
  inWindows: readonly boolean[] | undefined,
): DemandCharge {
  const { faults } = version;
  faults.exactlyOne(charge, ['pricePerKw', 'pricePerKwDay', 'steps'], path);
  return {
    name: charge.name,
    supplier: charge.supplier,
    pricePerKw: charge.pricePerKw ?? charge.pricePerKwDay ?? 0,
    per: charge.pricePerKwDay === undefined ? 'month' : 'day',
    steps: charge.steps === undefined ? undefined : risingSteps(charge.steps, 'upToKw', [...path, 'steps'], faults),
    hours: hourRule(charge, seasonMask(version, charge.seasons, path)),
    inWindows,
    averagingMinutes: charge.averagingMinutes,
    highestDays: charge.highestDays,
    minimumKw: charge.minimumKw ?? 0,
    contractShare: charge.contractShare ?? 0,
    ratchet:
      charge.ratchet === undefined
        ? undefined
        : {
            share: charge.ratchet.share,
            months: charge.ratchet.months,
            seasonMask: seasonMask(version, charge.ratchet.seasons, [...path, 'ratchet']),
          },
    unit: charge.unit,
  };
}
