import type { FixedCharge } from '../tariff.ts';
import { seasonMask } from './seasons.ts';
import { risingSteps } from './steps.ts';
import type { Version } from './version.ts';

/** Charges that don't depend on energy. */
export function resolveFixed(version: Version): FixedCharge[] {
  const { faults, document, pathOf } = version;
  return (document.fixed ?? []).map((charge, f): FixedCharge => {
    const path = [...pathOf('fixed'), f];
    if ((charge.amount === undefined) === (charge.byServiceSize === undefined))
      faults.add(
        charge.amount === undefined ? 'missing' : 'not-together',
        [...path, charge.amount === undefined ? 'amount' : 'byServiceSize'],
        charge.byServiceSize,
        'either "amount" or "byServiceSize"',
        charge.amount === undefined ? 'add "amount"' : 'remove one of them',
      );
    return {
      name: charge.name,
      supplier: charge.supplier,
      amount: charge.amount,
      bySize:
        charge.byServiceSize === undefined
          ? undefined
          : risingSteps(charge.byServiceSize, 'upToAmps', [...path, 'byServiceSize'], faults),
      per: charge.per,
      seasonMask: seasonMask(version, charge.seasons, path),
      programme: charge.programme,
    };
  });
}
