import { type Axis, dateOfCivilDay } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { sum } from '../axis/sum.ts';
import type { Home } from '../dispatch/index.ts';
import { check, vouchFor } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import type { IntervalSeries } from '../meter/index.ts';
import { darkExport, LONG_GAP_HOURS } from '../meter/inside.ts';
import {
  type Backup,
  type Island,
  islandOf,
  medicalHazards,
  movingFloor,
  planCarry,
  questionCircuits,
  resolveCircuits,
  resolveOutput,
  sharedNeutralHazards,
} from '../outage/index.ts';
import { coldSteps, joinPlanned, outdrawnMeter, reserveInCold, storedAtStart } from '../outage/inside.ts';
import { type Plant, resolvePlant, type Service } from '../plant/index.ts';
import { plantOnAxis, quantityAt, raiseToMetered } from '../plant/inside.ts';
import type { CompiledTariff, CompileOptions, Tariff } from '../tariff/index.ts';
import { type Case, makeCase } from '../trial/index.ts';
import { type Fact, fact, factOf } from '../words/fact.ts';
import { exportedInTheDark, HOME_WORDS, tooManyEstimated } from '../words/home.ts';
import { exportCosts, unusual } from '../words/tariff.ts';
import { NO_BATTERY } from './battery.ts';
import { takeLowerEnd } from './hidden-solar.ts';
import { layPlannedSolar, type PlannedSolar } from './lay-solar.ts';
import { isSunUnseen, openDirection, openEnergy } from './open-energy.ts';
import type { Origin } from './origin.ts';
import { layPast } from './past.ts';
import { plannedFacts, plannedOutages } from './planned-outages.ts';
import { onPriceSteps } from './price-steps.ts';
import type { Site } from './schema.ts';
import { checkStudyInput, type StudyInput, type TariffSource } from './study-input.ts';
import { refuseUntrusted, serviceLimit } from './trust.ts';
import { batteryQuestions } from './unusual-battery.ts';

/** A home on its axis, and what is known of the numbers that it rests on. */
export interface Study {
  readonly site: Site;
  /**
   * The home as planned: with the planned solar, where the site has some. Where the site states no battery, its plant is a
   * battery of nothing.
   */
  readonly home: Case;
  /** The site's own limits, none below what was metered; {@link home} has the tariff's limit of export as well. */
  readonly siteService: Service;
  /** Solar as metered, kWh an interval, with {@link hiddenKwh} where that is reckoned with: what the baseline has. */
  readonly meteredSolarKwh: Float64Array;
  /**
   * Solar taken as used behind the meter that no meter measured, kWh an interval: load and solar hold it besides what was
   * bought and sold. Absent where none is.
   */
  readonly hiddenKwh?: Float64Array;
  readonly plannedSolar: PlannedSolar | undefined;
  /** The tariff of {@link Home.tariff} as its file has it, and what else it needs. */
  readonly tariff: Tariff;
  readonly tariffOptions: CompileOptions;
  /** The tariffs that may follow it by name once it ends. */
  readonly successors: readonly TariffSource[];
  readonly island: Island;
  readonly warnings: readonly Fact[];
  /** The files that it was read from; absent where a program put it together. */
  readonly origin?: Origin;
  /** False where solar was not metered: what the home consumed behind the meter isn't known. */
  readonly loadKnown: boolean;
  /** Step of the data as metered: longer than that of {@link home} where the hours of a tariff begin or end within it. */
  readonly meteredStepMinutes: number;
  /** Why savings can't be given, where they can't. */
  readonly savingsWithheld: string | undefined;
  /** Share of the intervals that hold an estimate, and of those in on-peak windows. */
  readonly estimatedShare: number;
  readonly estimatedPeakShare: number;
}

/** The field of a site that its data come from. */
const IN_METER = { path: ['meter', 'files'] };

/** Above this share of estimated intervals, over all or on-peak, the saving is withheld. */
const MOST_ESTIMATED_SHARE = 0.1;
/** The same where weeks were filled because the site file asks for it: a quarter, and its doubt stands beside the result. */
const MOST_ASKED_SHARE = 0.26;

/**
 * Lays a site's data, tariff and plant on one axis.
 *
 * `load − solar = import − export` in every interval, whichever channels were metered (docs/concepts/bases.md). Without a
 * solar column what the home uses behind the meter isn't known: the surplus then stands for solar and the net import for
 * load, which gives the same bills, but no figure for an outage.
 *
 * @throws InputError where the data can't carry a study: findings that stop one, readings above what the service
 * carries, gaps left, channels missing, series of another length or zone
 */
export function makeStudy(input: StudyInput): Study {
  checkStudyInput(input);
  refuseUntrustedInput(input);
  const { input: laid, split } = onPriceSteps(input);
  const { series, tariff } = laid;
  const { axis } = series;
  const { stepMinutes: meteredStepMinutes } = input.series.axis;
  const warnings: Fact[] = (input.findings ?? []).filter((finding) => finding.severity !== 'note').map(factOf);
  const site = withJoinedOutages(input.site, warnings);
  const past = layPast(laid, split);
  const loadKnown = past.channels.loadKnown && !isSunUnseen(input.findings ?? []);
  const { tariff: compiled } = past;
  const plannedSolar = layPlannedSolar(site, { series, meteredStepMinutes }, input.plannedSolar, warnings);
  const planned = (kwh: Float64Array) =>
    plannedSolar === undefined ? kwh : kwh.map((metered, i) => metered + plannedSolar.solarKwh[i]!);
  const cold = site.plant === undefined ? undefined : coldSteps(axis, site.backup ?? {});
  const resolved = site.plant === undefined ? NO_BATTERY : resolvePlant(site.plant, laid.reachKwh);
  const fixedPlant = cold === undefined ? resolved : { ...resolved, coldSteps: cold };
  if (cold !== undefined) warnings.push(tooCold(axis, site.backup!.cold!, cold));
  const bounded = takeLowerEnd(site, axis, past.channels, fixedPlant, (end) => {
    const flows = { axis, loadKwh: end.loadKwh, solarKwh: planned(end.solarKwh), plant: fixedPlant };
    return makeCase({ ...flows, tariff: compiled, service: raiseToIdle({ ...flows, service: past.service }, []) });
  });
  const { loadKwh, solarKwh: meteredSolarKwh } = bounded?.end ?? past.channels;
  const solarKwh = planned(meteredSolarKwh);
  const tariffOptions = { ...input.tariffOptions, account: site.account };
  warnings.push(...past.warnings);
  if (bounded !== undefined) warnings.push(bounded.told);
  const island = islandOf({
    axis,
    plant: fixedPlant,
    // What is carried in an outage is asked of a battery.
    backup: site.plant === undefined ? undefined : site.backup,
    loadKwh,
    solarKwh,
  });
  const reserved = withReserve(axis, fixedPlant, site, island);
  // A battery that is kept full begins so: else its worst hours would be those of the data's first day.
  const plant =
    island.medical && site.plant?.startShare === undefined ? { ...reserved, startKwh: reserved.capacityKwh } : reserved;
  if (site.plant !== undefined) warnings.push(...batteryQuestions(site.plant));
  warnings.push(...circuitWarnings(axis, site, plant, { loadKwh, loadKnown }));
  const statedImportKw = site.service?.importLimitKw;
  if (statedImportKw !== undefined && statedImportKw * 1000 <= plant.standbyW)
    throw new InputError([
      {
        code: 'out-of-range',
        where: { path: ['service', 'importLimitKw'] },
        received: String(statedImportKw),
        expected: `more than the plant's own standby draw, ${plant.standbyW} W`,
        hint: 'raise the limit, or look whether it was meant in another unit: it is in kW',
      },
    ]);
  const service = raiseToIdle({ axis, loadKwh, solarKwh, plant, service: past.service }, warnings);
  const home = makeCase({ axis, loadKwh, solarKwh, tariff: compiled, plant, service }, island);
  if (site.plant !== undefined)
    warnings.push(...plannedFacts(plannedOutages({ site, home, island }), input.site.backup?.reserve?.planned));
  const { estimatedShare, estimatedPeakShare } = shareEstimated(series, compiled);
  const days = spanDays(axis);
  if (!coversYear(axis)) warnings.push(fact(HOME_WORDS, 'short-span', 'warning', { days }, IN_METER));
  if (estimatedShare > 0) {
    const shares = { share: estimatedShare, peakShare: estimatedPeakShare };
    warnings.push(fact(HOME_WORDS, 'estimated-intervals', 'warning', shares, IN_METER));
  }
  const asked = (site.meter?.repair?.maxGapHours ?? 0) > LONG_GAP_HOURS;
  const mostShare = asked ? MOST_ASKED_SHARE : MOST_ESTIMATED_SHARE;
  let savingsWithheld: string | undefined;
  const sold = darkExport(series, site.location ?? {});
  const generator = site.meter.nightGeneration;
  if (sold !== undefined && generator !== undefined)
    warnings.push(fact(HOME_WORDS, 'night-generation', 'note', { darkKwh: sold.kwh, generator }, IN_METER));
  if (sold !== undefined && generator === undefined) {
    const dark = { darkKwh: sold.kwh, by: sold.by };
    // Where the two may be exchanged, or the clock another one, nobody knows what was sold: that is asked first.
    savingsWithheld = openDirection(input.findings ?? []) ?? exportedInTheDark(dark);
    warnings.push(fact(HOME_WORDS, 'battery-in-data', 'warning', dark, IN_METER));
  } else if (past.channels.doubt !== undefined) savingsWithheld = past.channels.doubt;
  else if (Math.max(estimatedShare, estimatedPeakShare) > mostShare) {
    const most = { mostShare };
    savingsWithheld = tooManyEstimated(most);
    warnings.push(fact(HOME_WORDS, 'too-many-estimates', 'warning', most, IN_METER));
  }
  savingsWithheld ??= openEnergy(input.findings ?? []);
  const unusualPrice = compiled.warnings.find((warning) => warning.code === 'price-unusual');
  if (savingsWithheld === undefined && unusualPrice !== undefined)
    savingsWithheld = unusual(unusualPrice.data as Parameters<typeof unusual>[0]);
  const exportBelow = compiled.warnings.find((warning) => warning.code === 'export-below-zero');
  if (savingsWithheld === undefined && exportBelow !== undefined)
    savingsWithheld = exportCosts(exportBelow.data as Parameters<typeof exportCosts>[0]);
  return vouchFor('study', {
    site,
    home,
    siteService: past.siteService,
    meteredSolarKwh,
    ...(bounded?.end.hiddenKwh === undefined ? {} : { hiddenKwh: bounded.end.hiddenKwh }),
    plannedSolar,
    tariff,
    tariffOptions,
    successors: (input.successors ?? []).map((next) => ({
      tariff: next.tariff,
      options: { ...next.options, account: site.account },
    })),
    island,
    warnings,
    origin: input.origin,
    loadKnown,
    meteredStepMinutes,
    savingsWithheld,
    estimatedShare,
    estimatedPeakShare,
  });
}

/** Refuses data that no result may rest on, in every series that the study reads. */
function refuseUntrustedInput({ site, series, findings, plannedSolar, reachKwh }: StudyInput): void {
  const limit = serviceLimit(site);
  refuseUntrusted(series, findings ?? [], limit, ['meter', 'files']);
  if (plannedSolar !== undefined)
    refuseUntrusted(plannedSolar.series, plannedSolar.findings ?? [], limit, ['plannedSolar', 'file']);
  if (reachKwh !== undefined)
    refuseUntrusted({ axis: series.axis, loadKwh: reachKwh }, [], limit, ['plant', 'reach', 'file']);
}

/** The site with planned outages that touch or overlap as one, which is told. */
function withJoinedOutages(site: Site, warnings: Fact[]): Site {
  const { reserve } = site.backup ?? {};
  if (reserve?.planned === undefined) return site;
  const { planned, joined } = joinPlanned(reserve.planned);
  for (const { from, to, outages } of joined)
    warnings.push(
      fact(
        HOME_WORDS,
        'planned-outages-joined',
        'note',
        { from, to, outages },
        { path: ['backup', 'reserve', 'planned'] },
      ),
    );
  return joined.length === 0 ? site : { ...site, backup: { ...site.backup, reserve: { ...reserve, planned } } };
}

/** The plant with the site's moving floors, which it starts at unless the site states a start. */
function withReserve(axis: Axis, plant: Plant, site: Site, island: Island): Plant {
  const reserve = reserveInCold(site.backup ?? {});
  if (reserve === undefined || site.plant === undefined) return plant;
  const standingKwh = quantityAt(plant.floorKwh, 0);
  const { floorKwh, floorAsKnown } = movingFloor({
    axis,
    plant,
    reserve,
    islandLoadKwh: island.loadKwh,
    energyShare: island.energyShare,
    gaugeErrorKwh: island.gaugeErrorKwh,
  });
  return {
    ...plant,
    floorKwh,
    floorFromPast: reserve.keepHours !== undefined,
    floorAsKnown,
    startKwh:
      site.plant.startShare === undefined
        ? storedAtStart(axis, floorKwh[0]!, standingKwh, plant.capacityKwh, site.backup!)
        : plant.startKwh,
  };
}

/** In which months of the data the battery takes nothing, from the grid or from the sun. */
function tooCold(axis: Axis, { limitC }: NonNullable<Backup['cold']>, cold: Uint8Array): Fact {
  const { month } = axis.calendar;
  const months = [...new Set(month)].filter((each) => cold[month.indexOf(each)] === 1).sort((a, b) => a - b);
  const days = (sum(Float64Array.from(cold)) * axis.stepHours) / 24;
  return fact(HOME_WORDS, 'too-cold-to-charge', 'warning', { limitC, months, days }, { path: ['backup', 'cold'] });
}

/** Dangers and doubts about the circuits, by name. */
function circuitWarnings(
  axis: Axis,
  site: Site,
  plant: Plant,
  meter: Pick<Home, 'loadKwh'> & Pick<Study, 'loadKnown'>,
): Fact[] {
  const circuits = site.backup?.circuits;
  if (circuits === undefined) return [];
  const listed = resolveCircuits(circuits);
  if (site.plant === undefined) return [...questionCircuits(circuits), ...outdrawnMeter(axis, listed, meter, false)];
  const output = resolveOutput(plant, site.backup?.output);
  const plan = planCarry(listed, output);
  const restOnIt = site.backup?.load === undefined;
  return [
    ...medicalHazards(plan, site.backup?.transfer?.kind),
    ...sharedNeutralHazards(listed, output),
    ...questionCircuits(circuits),
    ...outdrawnMeter(axis, restOnIt ? plan.together : listed, meter, restOnIt),
  ];
}

/**
 * Length of an axis in days of 24 hours.
 * @throws InputError on anything but an axis
 */
export function spanDays(axis: Axis): number {
  check({ axis }, { axis: anAxis });
  return (axis.intervals * axis.stepHours) / 24;
}

/** Whether data cover a year, or nearly: below that a season is missing, and no sum is printed as a year's. */
export function coversYear(axis: Axis): boolean {
  return spanDays(axis) >= 330;
}

/**
 * What turns a sum over the axis into one a year. Data from a date to the day before the same date in a later year are
 * so many years, 365 or 366 days long: a sum over one year is what a year comes to, to the cent. Others are scaled to
 * 365.25 days.
 * @throws InputError on anything but an axis
 */
export function perYear(axis: Axis): number {
  const days = spanDays(axis);
  const { civilDay } = axis.calendar.days[0]!;
  const from = dateOfCivilDay(civilDay);
  const until = dateOfCivilDay(civilDay + Math.round(days));
  const years = until.year - from.year;
  // A file that lacks some last minutes is still the year that it was meant to be, and scaled as the days that it has.
  const isWhole = Math.abs(days - Math.round(days)) < 1e-9;
  const sameDate = from.month === until.month && from.dayOfMonth === until.dayOfMonth;
  return isWhole && sameDate && years > 0 ? 1 / years : 365.25 / days;
}

/**
 * A service that lets through what the home draws with the battery idle: standby comes on top of what was metered, and
 * behind a shared inverter less of the sun may reach the house. Nothing that is compared goes unserved for nothing.
 */
function raiseToIdle(home: Omit<Home, 'tariff'>, warnings: Fact[]): Service {
  const { axis, loadKwh, solarKwh, plant, service } = home;
  if (service.importLimitKw === Number.POSITIVE_INFINITY) return service;
  const { netKwh } = plantOnAxis(plant, axis, loadKwh, solarKwh, service);
  const { service: raised, passed } = raiseToMetered(service, netKwh, axis.stepHours);
  const limit = passed.find(({ way }) => way === 'import');
  if (limit !== undefined && limit.highestKw - plant.standbyW / 1000 > 1.001 * limit.limitKw)
    warnings.push(
      fact(
        HOME_WORDS,
        'limit-below-need',
        'warning',
        { limitKw: limit.limitKw, highestKw: limit.highestKw, intervals: limit.intervals },
        { path: ['service', 'importLimitKw'] },
      ),
    );
  return { ...service, importLimitKw: raised.importLimitKw };
}

function shareEstimated(series: IntervalSeries, tariff: CompiledTariff) {
  const { estimated, axis } = series;
  if (estimated === undefined) return { estimatedShare: 0, estimatedPeakShare: 0 };
  const isPeak = tariff.windows.map((window) => window.kind === 'peak');
  let count = 0;
  let peaks = 0;
  let peakCount = 0;
  for (let i = 0; i < axis.intervals; i++) {
    const marked = estimated[i]! > 0 ? 1 : 0;
    count += marked;
    if (isPeak[tariff.window[i]!]) {
      peaks++;
      peakCount += marked;
    }
  }
  return { estimatedShare: count / axis.intervals, estimatedPeakShare: peaks === 0 ? 0 : peakCount / peaks };
}
