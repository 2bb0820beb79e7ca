import { anAxis } from '../axis/inside.ts';
import {
  flag,
  number,
  numberOrSeries,
  oneOf,
  optional,
  type Rule,
  type RulesOf,
  record,
  series,
  seriesUnread,
  spanning,
  unlessMadeHere,
} from '../input/door.ts';
import type { Flows, RunState } from './flows.ts';
import type { Levels } from './levels.ts';
import type { Conversion, FlowSource, PlantOnAxis, PlantPerStep } from './on-axis.ts';
import type { Service } from './plant.ts';
import { amount, efficiency, energies, limit } from './rules.ts';

/** The connection to the grid. */
export const aService = record<Service>({ importLimitKw: limit, exportLimitKw: limit });

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
  gridChargeKw: seriesUnread,
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
  conversionKwh: amount,
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
export const aPlantOnAxis = spanning<PlantOnAxis>(onAxis, ({ axis }) => axis.intervals);
