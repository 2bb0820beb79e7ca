import { type Rule, report } from '../input/door.ts';
import type { Plant } from '../plant/index.ts';

/** Stored energy that a plant can hold, to rounding: one number, or one an interval. */
export function storedIn({ capacityKwh }: Plant): Rule {
  const most = capacityKwh * (1 + 1e-9);
  const expected = `at most the usable energy, ${capacityKwh} kWh`;
  return (value, path, looking) => {
    const kwh = value as number | Float64Array;
    if (typeof kwh === 'number') {
      if (kwh > most) report(looking, path, 'above-capacity', kwh, expected);
      return;
    }
    for (let i = 0; i < kwh.length; i++)
      if (kwh[i]! > most) {
        report(looking, [...path, i], 'above-capacity', kwh[i], expected);
        return;
      }
  };
}
