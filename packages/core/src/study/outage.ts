import { type Axis, formatDate } from '../axis/index.ts';
import { aDate } from '../axis/inside.ts';
import { hold, none, optimum, type Strategy } from '../dispatch/index.ts';
import { isSearched, roleOf, someStrategies } from '../dispatch/inside.ts';
import { callable, check, list, number, optional, record, text } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { ownCopy } from '../input/own-copy.ts';
import {
  backupHours,
  expectedUnservedKwhPerYear,
  lastsLonger,
  type OutageKind,
  outageKinds,
  type Reliability,
  type ResolvedCircuit,
  reserveBySituation,
  simulateOutage,
  sliceBackup,
  summarizeBackup,
  survivalCurve,
  unservedAt,
  worstStarts,
} from '../outage/index.ts';
import {
  cautionsFor,
  circuitsDrawKwh,
  endMsOf,
  isEvening,
  leastSettled,
  neutralPartner,
  percentilesOf,
  publishedReliability,
  settledFrom,
  startMsOf,
  unservedCurve,
  worstMonth,
} from '../outage/inside.ts';
import type { Plant } from '../plant/index.ts';
import { deliverableKwh, islandOutputKw } from '../plant/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy, isSunUnseen, retellPlanned } from '../site/inside.ts';
import { type Abort, evaluate, type Outcome } from '../trial/index.ts';
import { anAbort, startingFull } from '../trial/inside.ts';
import { clockOf } from '../words/figures.ts';
import { quoteName } from '../words/quote.ts';
import { awayHours, unattendedShare, unattendedStarts } from './by-hand.ts';
import { compare } from './compare.ts';
import type { CompareReport } from './compare-schema.ts';
import { bestRunnable } from './headline.ts';
import { begunRun, type HeadlineRun, plannedInRun } from './headline-run.ts';
import { nextHourOf, priceOf, type Way } from './hour-price.ts';
import { isIslandKnown } from './island-known.ts';
import { isLikeBest, keepsAsMuch, mostSaved } from './most-saved.ts';
import type {
  DatedStart,
  FrontierPoint,
  GoalMet,
  HourPrice,
  KeptOn,
  OutageReport,
  PlayedOutage,
  StrategyOutage,
} from './outage-schema.ts';
import { planFrom } from './planned.ts';
import { capHoursOf, carriedOf, moneyParts, studyParts } from './report-parts.ts';
import { sheetReserve } from './sheet-reserve.ts';
import { standingAt } from './standing.ts';
import {
  inStorms,
  leastInStorms,
  PLANNING_SHARE,
  planningHoursOf,
  refillHours,
  seasonLoad,
  stormLoad,
  stormReady,
} from './storm.ts';
import { runnableOf, standardStrategies, strategyNamed } from './strategies.ts';
import { keepingPlan, replayedOn, seasonHours, TENTHS, waysOf } from './ways.ts';
import { wishOf } from './wish.ts';

/** What {@link outage} may be told. */
export interface OutageOptions {
  /** @defaultValue the standard ones with a battery */
  readonly strategies?: readonly Strategy[];
  /**
   * Name of the strategy that the answers are about; with a medical circuit "settings" or "hold".
   * @defaultValue the one that the headline of `compare` is of
   */
  readonly headline?: string;
  /** Standing floors of the frontier, as shares of usable energy, beside the sheet's own; with a medical circuit 1 alone. @defaultValue 0 to 1 by tenths */
  readonly floors?: readonly number[];
  /** Today's date on the home's clock, "2026-11-27": planned outages before it are over, and not told. @defaultValue none is */
  readonly today?: string | undefined;
  readonly onStep?: (what: string) => void;
  /** Looked at before each run: `outage` throws its reason once it is aborted. */
  readonly signal?: Abort | undefined;
}

/**
 * What each strategy leaves for an outage, what may be kept on for how long, and what more reserve costs.
 *
 * @throws InputError where the load behind the meter isn't known, the headline isn't one of the strategies, or spends what a medical circuit may need
 */
export function outage(study: Study, options: OutageOptions = {}): OutageReport {
  check(
    { study, options },
    {
      study: aStudy,
      options: record<OutageOptions>({
        strategies: optional(someStrategies),
        headline: optional(text),
        floors: optional(list(number({ least: 0, most: 1 }))),
        today: optional(aDate),
        onStep: optional(callable),
        signal: optional(anAbort),
      }),
    },
  );
  const { home, island, site } = study;
  const { axis, plant } = home;
  refuseUnknownLoad(study);
  const strategies = (options.strategies ?? standardStrategies(study)).filter(
    (strategy) => roleOf(strategy) !== 'baseline',
  );
  const { medical } = island;
  const runs: Compared['runs'][number][] = [];
  const comparison = compare(study, {
    strategies,
    onStrategy: (name) => options.onStep?.(`running ${name}`),
    onRun: (run) => runs.push(run),
    today: options.today,
    signal: options.signal,
  });
  const peakSteps = markSteps(study, 'peak');
  const rows = strategies.map((strategy, s) => describe(study, strategy, runs[s]!, peakSteps));
  const headlineStrategy = headlineAsked(study, options.headline, strategies, () => {
    const best = bestRunnable(comparison.strategies, study)?.strategy;
    return best ?? emptiest(rows) ?? '';
  });
  const headlineRun = runs[strategies.indexOf(headlineStrategy)]!;
  const headlineSoc = headlineRun.flows.socKwh;
  const headline = begunRun(study, headlineStrategy, headlineRun);

  const headlineHours = backupHours({ axis, plant, socKwh: headlineSoc, ...island });
  const reliability = site.backup?.reliability ?? publishedReliability(site.zone);
  const kinds = reliability === undefined ? null : outageKinds(reliability);
  const frontier = frontierOf(
    study,
    { strategies, runs, bound: comparison.bound!, missing: missingFloor(comparison) },
    kinds,
    options,
  );
  const ways = waysOf(
    study,
    frontier.points.map((point) => wayOf(point, headlineStrategy.name)),
    frontier.own,
    headlineStrategy,
    headlineRun.sheets,
    options.signal,
  );
  const planned = plannedOf(study, headline, planFrom(study, options.today));
  return ownCopy({
    format: 'duskbank.outage/1',
    ...studyParts(study),
    tariff: home.tariff.name,
    ...moneyParts(home.tariff),
    basis: `modelled, not metered: carrying ${island.basis}; all that is held back is used; an outage may start in any interval of the data`,
    medical,
    solarOnIsland: island.solarKwh.some((kwh) => kwh > 0),
    cautions: cautionsFor({ medical, panels: false }),
    capHours: capHoursOf(axis),
    headline: headlineStrategy.name,
    carried: carriedOf(study),
    strategies: rows,
    keepOn: keepOnOf(study, headlineSoc),
    played: medical ? null : playedOf(study, headlineSoc, rows[strategies.indexOf(headlineStrategy)]!),
    transfer: transferOf(study),
    planned,
    goal: goalOf(study, site.backup?.goalHours, headlineHours),
    keepHours: goalOf(
      study,
      site.backup?.reserve?.keepHours,
      backupHours({ axis, plant, socKwh: headlineSoc, ...island, solarKwh: new Float64Array(axis.intervals) }),
    ),
    byMonthHour: medical ? null : monthHours(axis, headlineHours),
    recharge: rechargeOf(study),
    frontier: frontier.points,
    hourPrices: pricesOf(axis, frontier, headlineStrategy.name),
    nextHour: nextHourOf(axis, ways),
    reliability:
      reliability === undefined || kinds === null
        ? null
        : {
            source: reliability.source ?? 'the site file',
            kinds,
            longerThan: medical ? [] : [1, 4, 8, 24].map((hours) => ({ hours, share: shareLonger(kinds, hours) })),
            unservedKwhPerYear: medical
              ? null
              : expectedUnservedKwhPerYear(kinds, unservedCurve(axis, headlineHours, island.wantedKwh)),
            unservedWithoutBatteryKwhPerYear: expectedUnservedKwhPerYear(
              kinds,
              unservedCurve(axis, new Float64Array(axis.intervals), island.wantedKwh),
            ),
          },
    bestFloor: bestFloorOf(frontier.points, headlineStrategy.name, reliability),
    wish: wishOf(study, ways),
    storm: stormOf(study, headline),
    worstWeek: medical ? null : worstWeekOf(axis, headlineHours),
    warnings: retellPlanned(comparison.warnings, planned),
  });
}

/**
 * What the answers are about. With a medical circuit only what keeps the battery full may be it.
 *
 * @throws InputError `not-allowed` where it isn't one of the strategies, or spends what a medical circuit may need
 */
function headlineAsked(
  study: Study,
  named: string | undefined,
  strategies: readonly Strategy[],
  best: () => string,
): Strategy {
  if (!study.island.medical) return strategyNamed(named ?? best(), strategies);
  const [keepsAll] = runnableOf(study, strategies);
  const asked = named === undefined ? keepsAll : strategyNamed(named, strategies);
  if (asked !== undefined && (isSearched(asked) || asked === hold)) return asked;
  throw new InputError([
    {
      code: 'not-allowed',
      where: { path: ['strategy'] },
      received: asked === undefined ? 'no strategy that keeps the battery full' : quoteName(asked.name),
      expected: `"hold", or "settings" where the site states a controller: they keep the battery full`,
      hint: 'a circuit is life-supporting or medical, and what any other strategy leaves is nothing to plan with',
    },
  ]);
}

/** Where savings are withheld: the causal strategy that leaves least, so that the answer is the lower one. */
function emptiest(rows: readonly StrategyOutage[]): string | undefined {
  const causal = rows.filter((row) => row.causal);
  const kept = (row: StrategyOutage) => row.reserve.allHours.medianKwh;
  return causal.toSorted((a, b) => kept(a) - kept(b))[0]?.strategy;
}

function refuseUnknownLoad(study: Study): void {
  if (isIslandKnown(study)) return;
  const byLook = isSunUnseen(study.warnings);
  throw new InputError([
    {
      code: 'load-unknown',
      where: { path: ['backup', 'load'] },
      received: `${byLook ? 'next to nothing bought by day, as under solar panels that no file tells of' : 'solar that is not metered'}, and a backed-up load taken from the meter`,
      expected: 'metered solar, a constant load ("load": { "watts": 600 }), or a list of circuits',
      hint: `what the home uses behind the meter is not known, so no share of it can be carried${byLook ? '; where the home has no panels, state "solarPanels": "none" under "meter"' : ''}`,
    },
  ]);
}

/** Stored energy at the start of each interval. */
function atStart(plant: Plant, socKwh: Float64Array): Float64Array {
  const start = new Float64Array(socKwh.length);
  start[0] = plant.startKwh;
  start.set(socKwh.subarray(0, socKwh.length - 1), 1);
  return start;
}

function describe(
  study: Study,
  strategy: Strategy,
  ran: Compared['runs'][number],
  peakSteps: Uint8Array,
): StrategyOutage {
  const { home, island, site } = study;
  const { socKwh } = ran.flows;
  const { axis, plant } = startingFull(home, strategy, ran.sheets?.all);
  const { medical } = island;
  const noSun = new Float64Array(axis.intervals);
  const held = atStart(plant, socKwh);
  const date = (start: { interval: number; hours: number }): DatedStart => ({
    interval: start.interval,
    ...localTime(axis, start.interval),
    hours: start.hours,
    reserveKwh: deliverableKwh(plant, held[start.interval]!),
  });
  const hours = backupHours({ axis, plant, socKwh, ...island });
  const planning = planningHoursOf(study, plant, socKwh, island.loadKwh);
  const told = medical ? planning : hours;
  const [worstPlanned] = worstStarts(axis, planning, 1);
  const drawnKw = island.loadKwh[worstPlanned!.interval]! / axis.stepHours;
  const givenKw = islandOutputKw(plant);
  const evening = (i: number) => isEvening(axis, i);
  const [worstEvening] = worstStarts(axis, told, 1, evening);
  return {
    strategy: strategy.name,
    causal: strategy.knowledge === 'causal',
    planningHours: date(worstPlanned!),
    planningOverload: worstPlanned!.hours === 0 && drawnKw > givenKw + 1e-9 ? { drawnKw, givenKw } : null,
    worstEvening: medical || worstEvening === undefined ? null : date(worstEvening),
    worstMonth: medical ? null : worstMonth(axis, hours),
    hours: medical ? null : summarizeBackup(axis, hours),
    survival: medical
      ? null
      : {
          // Where the data hold no weekday evening all starts stand for them, as in the summary above.
          weekdayEvenings: survivalCurve(hours, undefined, hours.some((_, i) => evening(i)) ? evening : undefined),
          allHours: survivalCurve(hours),
        },
    slices: medical ? null : sliceBackup(axis, hours),
    // With a medical circuit nothing above the worst case is told.
    worstStarts: worstStarts(axis, told, medical ? 1 : 5).map(date),
    unserved: medical
      ? null
      : {
          withSun: unservedAt(axis, hours, island.wantedKwh),
          withoutSun: unservedAt(
            axis,
            backupHours({ axis, plant, socKwh, ...island, solarKwh: noSun }),
            island.wantedKwh,
          ),
        },
    reserve: reserveBySituation({
      axis,
      plant,
      socKwh,
      peakSteps,
      ...(hasEvents(study) ? { eventSteps: markSteps(study, 'event') } : {}),
      ...(site.backup?.stormMonths === undefined ? {} : { stormMonths: site.backup.stormMonths }),
    }),
  };
}

function keepOnOf(study: Study, socKwh: Float64Array): KeptOn[] {
  const { home, island, site } = study;
  const { axis, plant } = home;
  const byHand = site.backup?.transfer?.kind !== 'automatic';
  const kept: ResolvedCircuit[] = [];
  const evening = (i: number) => isEvening(axis, i);
  const rows: KeptOn[] = [];
  for (const circuit of island.circuits) {
    if (kept.includes(circuit)) continue;
    // Two that share a neutral hang on one handle: one row.
    const partner = neutralPartner(island.circuits, circuit);
    const added = partner === undefined || kept.includes(partner) ? [circuit] : [circuit, partner];
    kept.push(...added);
    const loadKwh = circuitsDrawKwh(axis, kept, site.backup?.output?.arrangement ?? 'pooled');
    const hours = backupHours({ axis, plant, socKwh, ...island, loadKwh });
    const evenings = hours.filter((_, i) => evening(i)).sort();
    const [worst] = worstStarts(axis, hours, 1, evening);
    const meanW = (of: readonly ResolvedCircuit[]) => of.reduce((sum, each) => sum + each.runningW * each.dutyShare, 0);
    rows.push({
      circuit: circuit.name,
      sharesNeutral: added.length > 1 ? added[1]!.name : null,
      ownW: meanW(added),
      totalW: meanW(kept),
      worstEveningHours: island.medical || worst === undefined ? null : worst.hours,
      evenings: island.medical || evenings.length === 0 ? null : percentilesOf(evenings),
      // Fewer circuits last longer than what may be counted on: with a medical one that isn't told.
      planningHours: island.medical ? null : leastSettled(axis, planningHoursOf(study, plant, socKwh, loadKwh)),
      needsSomebodyHome: byHand && added.some((each) => each.unattended || each.medical),
    });
  }
  return rows;
}

/** The circuits' draw in a storm, where some of them work harder then, and how long that lasts. */
function stormOf(study: Study, run: HeadlineRun): OutageReport['storm'] {
  const { home, island } = study;
  const { axis, plant } = home;
  const { socKwh } = run;
  const ready = stormReady(study, run);
  if (ready === null) return null;
  const { loadKwh, harder } = stormLoad(study);
  if (harder.length === 0) return { ...ready, duty: null };
  const hours = backupHours({ axis, plant, socKwh, ...island, loadKwh });
  const season = inStorms(study) ?? (() => true);
  const inSeason = hours.filter((_, i) => season(i));
  const evenings = hours.filter((_, i) => season(i) && isEvening(axis, i));
  const counted = Float64Array.from(evenings.length > 0 ? evenings : inSeason).sort();
  const duty = {
    circuits: [...harder],
    evenings: island.medical ? null : percentilesOf(counted),
    planningHours: leastInStorms(study, planningHoursOf(study, plant, socKwh, loadKwh)),
  };
  return { ...ready, duty };
}

/** The week, Monday to Sunday, whose starts are the shortest in nine of ten. */
function worstWeekOf(axis: Axis, hours: Float64Array): OutageReport['worstWeek'] {
  const { day, days } = axis.calendar;
  const first = days[0]!.weekday - 1;
  const weeks: number[][] = [];
  for (let i = 0; i < hours.length; i++) {
    const week = Math.floor((day[i]! + first) / 7);
    weeks[week] ??= [];
    weeks[week].push(i);
  }
  // A week cut by an end of the data is no whole week; where none is whole, the longest counts.
  const most = weeks.reduce((longest, week) => Math.max(longest, week.length), 0);
  const whole = weeks.filter((week) => week.length >= 0.99 * most);
  const settled = whole.filter((week) => week[0]! >= settledFrom(axis));
  let worst: OutageReport['worstWeek'] = null;
  for (const week of settled.length > 0 ? settled : whole) {
    const { p10, median } = percentilesOf(Float64Array.from(week, (i) => hours[i]!).sort());
    if (worst !== null && (p10 > worst.p10 || (p10 === worst.p10 && median >= worst.median))) continue;
    worst = { from: formatDate(days[day[week[0]!]!]!), to: formatDate(days[day[week.at(-1)!]!]!), p10, median };
  }
  return worst;
}

/** Length of the outage that is played through, h. */
const PLAYED_HOURS = 48;

function playedOf(study: Study, socKwh: Float64Array, row: StrategyOutage): PlayedOutage | null {
  const { home, island, site } = study;
  const { axis, plant } = home;
  // Units that hold a leg each go dark one by one, which is not played through.
  if (island.circuits.length === 0 || island.splitLegs) return null;
  const start = row.worstEvening ?? row.planningHours;
  const lengthHours = Math.min(PLAYED_HOURS, axis.intervals * axis.stepHours);
  const { backup } = site;
  const played = simulateOutage({
    axis,
    plant,
    loadKwh: island.loadKwh,
    solarKwh: island.medical ? new Float64Array(axis.intervals) : island.solarKwh,
    circuits: island.circuits,
    coldSteps: island.coldSteps,
    energyShare: island.medical ? Math.min(island.energyShare, PLANNING_SHARE) : island.energyShare,
    gaugeErrorKwh: island.gaugeErrorKwh,
    atFull: backup?.atFull,
    reconnectMinutes: backup?.reconnectMinutes,
    restartKwh: backup?.restartKwh,
    start: start.interval,
    startSocKwh: atStart(plant, socKwh)[start.interval]!,
    hours: lengthHours,
  });
  const { darkAfterHours, darkBy, solarTrips, restarts, circuits } = played;
  return { start, lengthHours, darkAfterHours, darkBy, solarTrips, restarts, circuits };
}

function transferOf(study: Study): OutageReport['transfer'] {
  const transfer = study.site.backup?.transfer;
  if (transfer === undefined)
    return {
      kind: 'unknown',
      unattendedShare: null,
      note: 'how the home changes over isn’t stated, so it counts as by hand: with nobody home, 0 h for fridge, freezer, pump and furnace',
    };
  const pause =
    transfer.seconds === undefined
      ? 'how long it takes isn’t stated'
      : `the lights are out for ${transfer.seconds} s first; a computer needs its own supply for that`;
  if (transfer.kind === 'automatic')
    return { kind: 'automatic', unattendedShare: null, note: `changes over by itself: ${pause}` };
  const away = transfer.away;
  const when =
    away === undefined
      ? 'with nobody home'
      : `from ${away.from} to ${away.to}${away.days === 'all' ? '' : ' on weekdays'}, with nobody home (${awayHours(away)} of a week’s 168 h)`;
  return {
    kind: 'manual',
    unattendedShare: unattendedShare(study),
    note: `changed over by hand: ${when}, 0 h for fridge, freezer, pump and furnace`,
  };
}

/** Refilling from empty, were power to come back at noon or midnight of any day. */
function rechargeOf(study: Study): OutageReport['recharge'] {
  const sorted = Float64Array.from(refillHours(study, study.home.plant.shutdownKwh)).sort();
  return { medianHours: percentilesOf(sorted).median, longestHours: sorted[sorted.length - 1]! };
}

function goalOf(study: Study, wished: number | undefined, hours: Float64Array): GoalMet | null {
  if (wished === undefined) return null;
  if (study.island.medical) return { hours: wished, eveningsShare: null, allShare: null };
  const { axis } = study.home;
  const at = [wished];
  const evening = (i: number) => isEvening(axis, i);
  const alone = unattendedStarts(study);
  const served = alone === undefined ? hours : hours.map((h, i) => (alone[i] === 1 ? 0 : h));
  return {
    hours: wished,
    eveningsShare: hours.some((_, i) => evening(i)) ? survivalCurve(served, at, evening).probability[0]! : null,
    allShare: survivalCurve(served, at).probability[0]!,
  };
}

/** The tenth percentile of hours by month and hour of the start. */
function monthHours(axis: Axis, hours: Float64Array): (number | null)[][] {
  const { month, minuteOfDay } = axis.calendar;
  const cells: number[][] = Array.from({ length: 12 * 24 }, () => []);
  for (let i = 0; i < hours.length; i++)
    cells[(month[i]! - 1) * 24 + Math.floor(minuteOfDay[i]! / 60)]!.push(hours[i]!);
  const p10 = cells.map((cell) => (cell.length === 0 ? null : percentilesOf(Float64Array.from(cell).sort()).p10));
  return Array.from({ length: 12 }, (_, m) => p10.slice(m * 24, m * 24 + 24));
}

/** Outages known beforehand: whether the battery is full by then, and whether a full one carries all of it. */
function plannedOf(study: Study, run: HeadlineRun, today: string | undefined): OutageReport['planned'] {
  const planned = plannedInRun(study, run, today);
  if (planned.length === 0) return [];
  const { axis, plant } = study.home;
  const socKwh = new Float64Array(axis.intervals).fill(plant.capacityKwh);
  const full = { ...plant, startKwh: plant.capacityKwh };
  const lastsHours = leastSettled(axis, planningHoursOf(study, full, socKwh, study.island.loadKwh));
  return planned.map((each) => {
    const lengthHours = (endMsOf(axis, each) - startMsOf(axis, each)) / 3_600_000;
    return {
      ...each,
      fillHours: Number.isFinite(each.fillHours) ? each.fillHours : null,
      lengthHours,
      lastsHours,
      carriesAll: lastsHours >= lengthHours - 1e-9,
    };
  });
}

/** What a point of the frontier asks of a run. */
const RUN_PARTS = ['flows', 'bill', 'boughtOnce', 'energy'] as const;

/** The frontier, and which of its points is the home as it is. */
interface Frontier {
  readonly points: readonly FrontierPoint[];
  readonly own: number;
}

/** What the comparison of the home as it is has run: a point of the frontier that is that home reads it off. */
interface Compared {
  readonly strategies: readonly Strategy[];
  /** Of each strategy. */
  readonly runs: readonly Outcome<'flows' | 'bill' | 'boughtOnce' | 'energy' | 'sheets'>[];
  readonly bound: { readonly savings: number | null };
  /** Strategies that keep less of the floor than the best does. */
  readonly missing: ReadonlySet<string>;
}

function missingFloor({ warnings }: CompareReport): ReadonlySet<string> {
  const missed = warnings.filter(({ code, data }) => code === 'floor-shortfall' && data.asBest === false);
  return new Set(missed.map(({ data }) => String(data.strategy)));
}

/**
 * The home at other standing reserves. What the site keeps at dates, some months or planned outages, is kept at every
 * point. At the standing reserve of the sheet it is the home itself, as in `compare`.
 */
function frontierOf(
  study: Study,
  compared: Compared,
  kinds: readonly OutageKind[] | null,
  options: OutageOptions,
): Frontier {
  const { home, island } = study;
  const { axis, plant } = home;
  const { signal } = options;
  const reserve = sheetReserve(study);
  const own = reserve.reservePercent / 100;
  // With a medical circuit all is kept: no lower floor is weighed against money.
  const wanted = island.medical ? [] : (options.floors ?? TENTHS);
  const shutdownShare = plant.shutdownKwh / plant.capacityKwh;
  const others = wanted.map((share) => Math.max(share, shutdownShare)).filter((share) => Math.abs(share - own) > 1e-9);
  const shares = [...new Set([...others, own])].sort((a, b) => a - b);
  const plain = evaluate(home, none, ['bill']).bill;
  const scale = perYear(axis);
  const withheld = study.savingsWithheld !== undefined;
  // A floor by hour, or one that follows the load, is no number that stands: such a home is no point of its own frontier.
  const { byHour, keepHours } = study.site.backup?.reserve ?? {};
  // Nor is one that is kept full above the floor of its plant.
  const stands = byHour === undefined && keepHours === undefined && !island.medical;
  const season = seasonLoad(study);
  const points = shares.map((floorShare): FrontierPoint => {
    options.onStep?.(`floor ${Math.round(floorShare * 100)} %`);
    const { at, plan, filling } = standingAt(study, reserve, floorShare);
    const isOwn = floorShare === own;
    const best = isOwn && stands ? undefined : evaluate(at, optimum(), [...RUN_PARTS, 'bound'], { signal });
    const beside: number[] = [];
    // With all kept nothing is left to decide: it is what `hold` does, and costs the same.
    const holding = floorShare === 1 && !isOwn ? evaluate(home, hold, ['bill', 'boughtOnce']) : undefined;
    const rows = compared.strategies.map((strategy, s) => {
      const run = isOwn && (stands || isSearched(strategy)) ? home : at;
      const outcome =
        run === home
          ? compared.runs[s]!
          : best !== undefined && roleOf(strategy) === 'bound'
            ? best
            : evaluate(at, keepingPlan(strategy, plan, compared.runs[s]!.sheets), RUN_PARTS, { signal });
      const { flows, bill, boughtOnce } = outcome;
      const filled = run === home ? 0 : filling;
      const once = holding?.boughtOnce ?? boughtOnce + filled;
      const cost = holding?.bill.total ?? bill.total + filled;
      if (best !== undefined && (holding !== undefined || isLikeBest(outcome, best))) beside.push(plain.total - cost);
      const { sheets } = compared.runs[s]!;
      // A sheet that is entered is one for all weeks: what another reserve costs is between the two, on the same weeks.
      const entered =
        sheets === null || holding !== undefined
          ? { cost, once }
          : replayedOn(run, { ...sheets.all, reservePercent: plan.reservePercent }, filled, signal);
      // An outage in the first interval finds what this run started with.
      const { plant: begun } = startingFull(run, strategy, compared.runs[s]!.sheets?.all);
      const hours = backupHours({ axis, plant: begun, socKwh: flows.socKwh, ...island });
      const planning = planningHoursOf(study, begun, flows.socKwh, island.loadKwh);
      const summary = island.medical ? null : summarizeBackup(axis, hours);
      return {
        strategy: strategy.name,
        savingsPerYear: withheld ? null : (plain.total - cost) * scale,
        boughtOncePerYear: withheld ? null : once * scale,
        replayed: withheld
          ? null
          : {
              savingsPerYear: (plain.total - entered.cost) * scale,
              boughtOncePerYear: entered.once * scale,
            },
        keepsFloor: best === undefined ? !compared.missing.has(strategy.name) : keepsAsMuch(outcome, best),
        planningHours: leastSettled(axis, planning),
        stormHours: island.medical ? null : seasonHours(study, season, { plant: begun, socKwh: flows.socKwh }, hours),
        evenings: summary?.weekdayEvenings ?? null,
        worstMonthHours: island.medical ? null : worstMonth(axis, hours).p10,
        allHours: summary?.allHours ?? null,
        unservedKwhPerYear:
          island.medical || kinds === null
            ? null
            : expectedUnservedKwhPerYear(kinds, unservedCurve(axis, hours, island.wantedKwh)),
      };
    });
    const most = best === undefined ? (compared.bound.savings ?? 0) : mostSaved(plain, best, []) - filling;
    return {
      floorShare,
      floorKwh: floorShare * plant.capacityKwh,
      strategies: rows,
      boundSavingsPerYear: withheld ? null : Math.max(most, ...beside) * scale,
    };
  });
  return { points, own: shares.indexOf(own) };
}

/** The headline's way at a point of the frontier. */
function wayOf({ floorShare, strategies }: FrontierPoint, headline: string): Way {
  const { replayed, evenings, stormHours } = strategies.find((row) => row.strategy === headline)!;
  const money = replayed ?? { savingsPerYear: null, boughtOncePerYear: null };
  return { floorShare, targetPercent: null, row: { ...money, evenings, stormHours } };
}

/** Every step of the frontier. */
function pricesOf(axis: Axis, { points }: Frontier, headline: string): HourPrice[] {
  const ways = points.map((point) => wayOf(point, headline));
  return ways.slice(1).flatMap((way, j) => priceOf(axis, ways[j]!, way) ?? []);
}

/** A floor that lasts less than this on nine of ten evenings of any month isn't named as the cheapest, h. */
const LEAST_HOURS = 1;

function bestFloorOf(
  frontier: readonly FrontierPoint[],
  headline: string,
  reliability: Reliability | undefined,
): OutageReport['bestFloor'] {
  const value = reliability?.valueOfLostLoadPerKwh;
  if (value === undefined) return null;
  const best = (factor: number): number | undefined => {
    let least = Number.POSITIVE_INFINITY;
    let share: number | undefined;
    for (const point of frontier) {
      const row = point.strategies.find((each) => each.strategy === headline)!;
      if (row.replayed === null || row.unservedKwhPerYear === null) return undefined;
      // What is over in minutes is no backup that anybody would choose.
      if (row.worstMonthHours! < LEAST_HOURS) continue;
      const cost = factor * value * row.unservedKwhPerYear - row.replayed.savingsPerYear;
      if (cost < least - 1e-9) {
        least = cost;
        share = point.floorShare;
      }
    }
    return share;
  };
  const floorShare = best(1);
  if (floorShare === undefined) return null;
  return { floorShare, lowShare: best(0.5)!, highShare: best(2)!, valuePerKwh: value };
}

function shareLonger(kinds: readonly OutageKind[], hours: number): number {
  const all = kinds.reduce((sum, kind) => sum + kind.perYear, 0);
  return all > 0 ? kinds.reduce((sum, kind) => sum + kind.perYear * lastsLonger(kind, hours), 0) / all : 0;
}

function hasEvents({ home }: Study): boolean {
  return home.tariff.plan?.tariff.versions.some((rates) => rates.events.length > 0) === true;
}

function markSteps(study: Study, what: 'peak' | 'event'): Uint8Array {
  const { axis, tariff } = study.home;
  const wanted = tariff.windows.map((window) => (what === 'peak' ? window.kind === 'peak' : window.event === true));
  return Uint8Array.from({ length: axis.intervals }, (_, i) => (wanted[tariff.window[i]!] ? 1 : 0));
}

const WEEKDAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'] as const;

function localTime(axis: Axis, i: number): { local: string; weekday: DatedStart['weekday'] } {
  const { days, day, minuteOfDay } = axis.calendar;
  const date = days[day[i]!]!;
  return { local: `${formatDate(date)} ${clockOf(minuteOfDay[i]!)}`, weekday: WEEKDAYS[date.weekday - 1]! };
}
