import { anAxis } from '../axis/inside.ts';
import {
  both,
  flag,
  number,
  numberOrSeries,
  oneOf,
  optional,
  type Rule,
  type RulesOf,
  record,
  report,
  series,
  seriesUnread,
  unlessMadeHere,
} from '../input/door.ts';
import type { Flows, RunState } from './execute.ts';
import type { Levels } from './levels.ts';
import type { Conversion, FlowSource, PlantOnAxis, PlantPerStep, Quantity } from './on-axis.ts';
import type { Plant, Service } from './plant.ts';

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
  shutdownKwh: amount,
  startKwh: amount,
  chargeLimitKw: limit,
  dischargeLimitKw: limit,
  chargeEfficiency: efficiency,
  dischargeEfficiency: efficiency,
  decayPerHour: number({ least: 0, below: 1 }),
  standbyW: amount,
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
    const highest = typeof level === 'number' ? level : highestOf(level);
    if (highest > most)
      report(
        looking,
        [...path, field],
        'above-capacity',
        highest,
        `at most the usable energy, ${plant.capacityKwh} kWh`,
      );
  }
};

function highestOf(values: Float64Array): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) if (values[i]! > most) most = values[i]!;
  return most;
}

/** A plant that stores something: its levels are told as shares of that. */
export const storesSomething: Rule = (value, path, looking) => {
  const { capacityKwh } = value as { readonly capacityKwh: Quantity };
  if (typeof capacityKwh === 'number') number({ above: 0 })(capacityKwh, [...path, 'capacityKwh'], looking);
};

/** A plant: its numbers in their ranges, its levels within its capacity, its series as long as the axis. */
export const aPlant = both(plantFields, levelsFit);

/** The connection to the grid. */
export const aService = record<Service>({ importLimitKw: limit, exportLimitKw: limit });

/** What passed in a run. */
export const someFlows = record<Flows>({
  importKwh: energies,
  exportKwh: energies,
  chargeKwh: energies,
  dischargeKwh: energies,
  curtailedKwh: energies,
  unservedKwh: energies,
  socKwh: energies,
});

/** Arrays that a run writes, or reads step by step. */
export const flowsOfLength = record<Flows>({
  importKwh: seriesUnread,
  exportKwh: seriesUnread,
  chargeKwh: seriesUnread,
  dischargeKwh: seriesUnread,
  curtailedKwh: seriesUnread,
  unservedKwh: seriesUnread,
  socKwh: seriesUnread,
});

export const levelsOfLength = record<Levels>({
  solarChargeToKwh: seriesUnread,
  gridChargeToKwh: seriesUnread,
  serveDownToKwh: seriesUnread,
  exportDownToKwh: seriesUnread,
  importCapKw: seriesUnread,
});

/** What a run carries from block to block. */
export const aRunState = record<RunState>({
  socKwh: amount,
  shortfallIntervals: number({ whole: true, least: 0 }),
  shortfallKwh: amount,
});

const quantity = numberOrSeries({ least: 0 });
const limitQuantity = numberOrSeries({ least: 0, infinite: true });
const reachQuantity: Rule = (value, path, looking) =>
  (typeof value === 'number' ? number({ least: 0, most: 1 }) : energies)(value, path, looking);

const perStepFields: RulesOf<PlantPerStep> = {
  stepHours: number({ above: 0, most: 8784 }),
  capacityKwh: quantity,
  floorKwh: quantity,
  shutdownKwh: amount,
  startKwh: amount,
  chargeLimitKwh: limitQuantity,
  dischargeLimitKwh: limitQuantity,
  standbyKwh: amount,
  decayShare: number({ least: 0, below: 1 }),
  conversion: record<Conversion>({
    chargeEfficiency: efficiency,
    solarChargeEfficiency: efficiency,
    dischargeEfficiency: efficiency,
  }),
  gridCharging: flag,
  batteryExport: flag,
  coupling: oneOf(['ac', 'dc']),
  inverterKwh: limit,
  islandOutputKwh: limit,
  reach: reachQuantity,
  importLimitKwh: limit,
  exportLimitKwh: limit,
};

/** A plant in energies of one step. */
export const aPlantPerStep = record<PlantPerStep>(perStepFields);

const onAxisFields = record<PlantOnAxis>({
  axis: anAxis,
  ...perStepFields,
  netKwh: series(),
  clippedKwh: optional(energies),
  servedLimitKwh: optional(energies),
  source: record<FlowSource>({
    loadKwh: energies,
    solarKwh: energies,
    reach: reachQuantity,
    standbyKwh: amount,
    inverterKwh: limit,
    dischargeLimitKwh: limitQuantity,
  }),
});

const onAxis = unlessMadeHere('plant on its axis', onAxisFields);

/** A home with its plant on its axis. */
export const aPlantOnAxis: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  onAxis(value, path, looking);
  if (looking.issues.length === before) looking.intervals = (value as PlantOnAxis).axis.intervals;
};
