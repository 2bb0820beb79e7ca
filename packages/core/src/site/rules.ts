import { aHome } from '../dispatch/inside.ts';
import { bytes, flag, list, number, optional, type Rule, record, series, text, unlessMadeHere } from '../input/door.ts';
import type { Island } from '../outage/index.ts';
import { aCircuit } from '../outage/inside.ts';
import { energies } from '../plant/inside.ts';
import { aTariff, compileOptions } from '../tariff/inside.ts';
import { aSite } from './parse.ts';
import type { Study, Warning } from './study.ts';
import { aTariffSource } from './study-input.ts';

const share = number({ least: 0, most: 1 });

const anIsland = record<Island>({
  loadKwh: energies,
  wantedKwh: energies,
  splitLegs: flag,
  solarKwh: energies,
  coldSteps: optional(bytes({ least: 0, most: 1 })),
  energyShare: number({ above: 0, most: 1 }),
  gaugeErrorKwh: number({ least: 0 }),
  fullMarginKwh: number({ least: 0 }),
  circuits: list(aCircuit),
  medical: flag,
  basis: text,
});

const studyFields = record<Study>({
  site: aSite,
  home: aHome,
  meteredSolarKwh: energies,
  plannedSolar: optional(record({ solarKwh: series({ least: 0 }), basis: text })),
  tariff: aTariff,
  tariffOptions: compileOptions,
  successors: list(aTariffSource),
  island: anIsland,
  warnings: list(record<Warning>({ code: text, message: text })),
  loadKnown: flag,
  savingsWithheld: optional(text),
  estimatedShare: share,
  estimatedPeakShare: share,
});

const anyStudy = unlessMadeHere('study', studyFields);

/** A study that `makeStudy` made, or a copy of one with something changed. */
export const aStudy: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  anyStudy(value, path, looking);
  if (looking.issues.length === before) looking.intervals = (value as Study).home.axis.intervals;
};
