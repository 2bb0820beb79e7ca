import { STEP_MINUTES } from '../axis/index.ts';
import {
  both,
  flag,
  list,
  number,
  oneOf,
  optional,
  type Rule,
  record,
  report,
  series,
  spanning,
  text,
  unlessMadeHere,
} from '../input/door.ts';
import { aFact } from '../input/facts.ts';
import { sameData } from '../input/same-data.ts';
import { anIsland } from '../outage/inside.ts';
import { aService, energies, storesSomething } from '../plant/inside.ts';
import { aTariff, compileOptions } from '../tariff/inside.ts';
import { aCase } from '../trial/inside.ts';
import { withBattery } from './battery.ts';
import { anOrigin } from './origin.ts';
import { aSite } from './parse.ts';
import type { Study } from './study.ts';
import { aTariffSource } from './study-input.ts';

const share = number({ least: 0, most: 1 });

const studyFields = record<Study>({
  site: aSite,
  home: aCase,
  siteService: aService,
  meteredSolarKwh: energies,
  hiddenKwh: optional(energies),
  plannedSolar: optional(record({ solarKwh: series({ least: 0 }), basis: text })),
  tariff: aTariff,
  tariffOptions: compileOptions,
  successors: list(aTariffSource),
  island: anIsland,
  origin: optional(anOrigin),
  warnings: list(aFact),
  loadKnown: flag,
  meteredStepMinutes: oneOf(STEP_MINUTES),
  savingsWithheld: optional(text),
  estimatedShare: share,
  estimatedPeakShare: share,
});

/** A battery of nothing stands for none: then the site states none either. */
const holdsWhatItsSiteStates: Rule = (value, path, looking) => {
  const { home, site } = value as Study;
  if (site.plant !== undefined) storesSomething(home.plant, [...path, 'home', 'plant'], looking);
};

/** Hours of backup are reckoned from the study's island: a home with another one would get the former home's. */
const ofItsHome: Rule = (value, path, looking) => {
  const { home, island } = value as Study;
  if (!sameData(home.island, island))
    report(
      looking,
      [...path, 'island'],
      'contradiction',
      'another island',
      'the island of `home`',
      'set both: { ...study, home, island }, with an island that islandOf made for this plant and load',
    );
};

const anyStudy = unlessMadeHere('study', both(studyFields, holdsWhatItsSiteStates, ofItsHome));

/** A study that `makeStudy` made, or a copy of one with something changed. */
export const aHome = spanning<Study>(anyStudy, ({ home }) => home.axis.intervals);

/** The same of a home that has a battery, or thinks of one: what nearly every question is about. */
export const aStudy = spanning<Study>(both(anyStudy, withBattery), ({ home }) => home.axis.intervals);
