import { check, flag, list, optional, type Rule, type RulesOf, record, report, series } from '../input/door.ts';
import type { Finding, IntervalSeries } from '../meter/index.ts';
import { meteredSeries, someFindings } from '../meter/inside.ts';
import type { CompileOptions, Tariff } from '../tariff/index.ts';
import { aTariff, compileOptions } from '../tariff/inside.ts';
import type { PlannedSolarInput } from './lay-solar.ts';
import { anOrigin, type Origin } from './origin.ts';
import { aSite } from './parse.ts';
import type { Site } from './schema.ts';

/** A tariff with what else it needs to be laid on an axis. */
export interface TariffSource {
  readonly tariff: Tariff;
  readonly options: CompileOptions;
}

/** What `billPast` needs: a site with the data that it names, read and repaired, under one tariff. */
export interface PastInput {
  readonly site: Site;
  readonly series: IntervalSeries;
  /** What was found in the files. */
  readonly findings?: readonly Finding[];
  readonly tariff: Tariff;
  /** What else the tariff needs: price series by file. The site's account is taken from `site`. */
  readonly tariffOptions?: CompileOptions;
  /**
   * The home is not on this tariff but might be: its export limit is new to the home, and cuts what was sold above it. The
   * limit of the home's own tariff was there all along, so that data above it contradict it. @defaultValue false
   */
  readonly offered?: boolean;
  /** Tariffs that the same home is set beside: data are laid in steps that follow the hours of these too. */
  readonly comparedTariffs?: readonly Tariff[];
  /** The files that all this was read from, for the reports; absent where a program made it. */
  readonly origin?: Origin;
}

/** What `makeStudy` needs: a site with the data that it names, read and repaired. */
export interface StudyInput extends PastInput {
  /** Tariffs that a tariff's `successor` may name: what payback follows once one has ended. */
  readonly successors?: readonly TariffSource[];
  /** Load behind the transfer equipment, kWh an interval, where `plant.reach` names a metered series. */
  readonly reachKwh?: Float64Array;
  /** Production of the planned array, where `site.plannedSolar` names a file or a program has its own. */
  readonly plannedSolar?: PlannedSolarInput;
}

/** A tariff and its options. */
export const aTariffSource: Rule = record<TariffSource>({ tariff: aTariff, options: compileOptions });

const pastRules: RulesOf<PastInput> = {
  site: aSite,
  series: meteredSeries,
  findings: optional(someFindings),
  tariff: aTariff,
  tariffOptions: optional(compileOptions),
  offered: optional(flag),
  comparedTariffs: optional(list(aTariff)),
  origin: optional(anOrigin),
};

/** @throws InputError: everything that is wrong with what a past is laid from, apart from gaps in the data */
export function checkPastInput(input: PastInput): void {
  check(input, pastRules);
  check({ metered: input.series }, { metered: zoneOf(input.site) });
}

/** @throws InputError: everything that is wrong with a study's input, apart from gaps in the data */
export function checkStudyInput(input: StudyInput): void {
  check(input, {
    ...pastRules,
    reachKwh: optional(series({ least: 0 })),
    successors: optional(list(aTariffSource)),
    // On an axis of its own: after everything that is held to the home's.
    plannedSolar: optional(record<PlannedSolarInput>({ series: meteredSeries, findings: optional(someFindings) })),
  });
  const { site, series: metered, reachKwh } = input;
  check({ metered, reach: reachKwh }, { metered: zoneOf(site), reach: reachOf(site) });
}

/** The data's clock must be the site's: the tariff is read by it. */
function zoneOf(site: Site): Rule {
  return (value, _path, looking) => {
    const { zone } = (value as IntervalSeries).axis;
    if (zone !== site.zone)
      report(
        looking,
        ['series', 'axis', 'zone'],
        'zone-differs',
        zone,
        `${site.zone}, the zone of the site`,
        'read the file with the site’s zone: parseIntervalData(bytes, { zone: site.zone })',
      );
  };
}

function reachOf(site: Site): Rule {
  return (value, _path, looking) => {
    const reach = site.plant?.reach;
    if (value === undefined && typeof reach === 'object' && 'file' in reach)
      report(
        looking,
        ['reachKwh'],
        'missing',
        undefined,
        'the load behind the transfer equipment, since plant.reach names a file',
        'read it, lay it on the axis of the data with energyOnAxis, and give it to makeStudy',
      );
  };
}
