import {
  both,
  bytes,
  flag,
  list,
  number,
  numberOrSeries,
  oneOf,
  optional,
  type Rule,
  record,
  report,
  series,
} from '../input/door.ts';
import { highest, type Quantity } from './on-axis.ts';
import type { KnownFloor, Plant } from './plant.ts';

/** Energy or power that is there: finite, at least 0. */
export const amount = number({ least: 0 });
/** A limit that may be none. */
export const limit = number({ least: 0, infinite: true });
/** A share in (0, 1]. */
export const efficiency = number({ above: 0, most: 1 });
/** kWh an interval, at least 0. */
export const energies = series({ least: 0 });

const plantFields = record<Plant>({
  capacityKwh: amount,
  floorKwh: numberOrSeries({ least: 0 }),
  floorFromPast: optional(flag),
  floorAsKnown: optional(list(record<KnownFloor>({ from: amount, floorKwh: energies }))),
  shutdownKwh: amount,
  startKwh: amount,
  chargeLimitKw: limit,
  coldSteps: optional(bytes({ least: 0, most: 1 })),
  dischargeLimitKw: limit,
  chargeEfficiency: efficiency,
  dischargeEfficiency: efficiency,
  decayPerHour: number({ least: 0, below: 1 }),
  standbyW: amount,
  conversionW: optional(amount),
  gridCharging: flag,
  batteryExport: flag,
  coupling: oneOf(['ac', 'dc']),
  inverterKw: limit,
  solarChargeEfficiency: efficiency,
  reach: (value, path, looking) =>
    (typeof value === 'number' ? number({ least: 0, most: 1 }) : energies)(value, path, looking),
});

/** Levels of a plant that lie within its capacity, to rounding. */
const levelsFit: Rule = (value, path, looking) => {
  const plant = value as Plant;
  const most = plant.capacityKwh * (1 + 1e-9);
  for (const field of ['shutdownKwh', 'startKwh', 'floorKwh'] as const) {
    const level = plant[field];
    const reached = highest(level);
    if (reached > most)
      report(
        looking,
        [...path, field],
        'above-capacity',
        reached,
        `at most the usable energy, ${plant.capacityKwh} kWh`,
      );
  }
  const { floorKwh, floorAsKnown } = plant;
  // A new floor beside what was known of the former one.
  if (typeof floorKwh !== 'number' && floorAsKnown && floorAsKnown.at(-1)?.floorKwh !== floorKwh)
    report(looking, [...path, 'floorAsKnown'], 'contradiction', 'another floor', 'floorKwh itself as the last one');
};

/** A plant that stores something: its levels are told as shares of that. */
export const storesSomething: Rule = (value, path, looking) => {
  const { capacityKwh } = value as { readonly capacityKwh: Quantity };
  if (typeof capacityKwh === 'number') number({ above: 0 })(capacityKwh, [...path, 'capacityKwh'], looking);
};

/** A plant: its numbers in their ranges, its levels within its capacity, its series as long as the axis. */
export const aPlant = both(plantFields, levelsFit);
