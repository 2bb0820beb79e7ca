import { both, flag, list, number, optional, record, series, spanning, text, unlessMadeHere } from '../input/door.ts';
import { aFact } from '../input/facts.ts';
import { anIsland } from '../outage/inside.ts';
import { aService, energies, storesSomething } from '../plant/inside.ts';
import { aTariff, compileOptions } from '../tariff/inside.ts';
import type { Case } from '../trial/index.ts';
import { aCase } from '../trial/inside.ts';
import { anOrigin } from './origin.ts';
import { aSite } from './parse.ts';
import type { Study } from './study.ts';
import { aTariffSource } from './study-input.ts';

const share = number({ least: 0, most: 1 });

const studyFields = record<Study>({
  site: aSite,
  home: both(aCase, (value, path, looking) => storesSomething((value as Case).plant, [...path, 'plant'], looking)),
  siteService: aService,
  meteredSolarKwh: energies,
  plannedSolar: optional(record({ solarKwh: series({ least: 0 }), basis: text })),
  tariff: aTariff,
  tariffOptions: compileOptions,
  successors: list(aTariffSource),
  island: anIsland,
  origin: optional(anOrigin),
  warnings: list(aFact),
  loadKnown: flag,
  savingsWithheld: optional(text),
  estimatedShare: share,
  estimatedPeakShare: share,
});

const anyStudy = unlessMadeHere('study', studyFields);

/** A study that `makeStudy` made, or a copy of one with something changed. */
export const aStudy = spanning<Study>(anyStudy, ({ home }) => home.axis.intervals);
