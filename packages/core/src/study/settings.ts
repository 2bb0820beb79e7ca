import { aDate } from '../axis/inside.ts';
import {
  type ClockWindow,
  followSheet,
  none,
  rolling,
  type SettingsSheet,
  type SheetSchedule,
} from '../dispatch/index.ts';
import { limitsPower, reserveKwhOf } from '../dispatch/inside.ts';
import { anything, callable, check, optional, record, text } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import { summarizeBackup } from '../outage/index.ts';
import { cautionsFor, coldMonths } from '../outage/inside.ts';
import { deliverableKwh } from '../plant/inside.ts';
import { perYear, type Study } from '../site/index.ts';
import { aStudy, retellPlanned } from '../site/inside.ts';
import { type Abort, evaluate, type Outcome } from '../trial/index.ts';
import { anAbort } from '../trial/inside.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { againstWords } from './bills.ts';
import { unattendedShare } from './by-hand.ts';
import { begunRun, plannedInRun } from './headline-run.ts';
import { intoDearHours } from './into-dear-hours.ts';
import { isIslandKnown } from './island-known.ts';
import { longerEvenings } from './longer-evenings.ts';
import { keepsAsMuch } from './most-saved.ts';
import { planFrom } from './planned.ts';
import { moneyParts, studyParts } from './report-parts.ts';
import { aboveService, serviceDraw } from './service-draw.ts';
import {
  assumedBox,
  differsFromJudged,
  failedWindows,
  followsPrices,
  IN_SAMPLE_BASIS,
  judgedOn,
  missesFloor,
  settingsWarnings,
  unseenBasis,
} from './settings-basis.ts';
import type { SettingsReport } from './settings-schema.ts';
import { byHandWords, sheetReserve } from './sheet-reserve.ts';
import { fullCharges, sheetYear } from './sheet-year.ts';
import { controllerOf, searchedFor } from './strategies.ts';
import { judgeTriedSheet, readTriedSheet, stormHoursOf, type TriedDocument } from './tried-sheet.ts';

/** What {@link settings} may be told. */
export interface SettingsOptions {
  /** Settings to be judged beside what is found: as a box has them now. */
  readonly tried?: TriedDocument;
  /** Today's date on the home's clock, "2026-11-27": nobody is told to act before it. @defaultValue the start of the plan */
  readonly today?: string;
  /** Called before each thing that takes a while, with what it is. */
  readonly onStep?: (what: string) => void;
  /** Ends the work before the next schedule is tried: its reason is thrown. */
  readonly signal?: Abort | undefined;
}

/**
 * Searches what the stated controller allows: what to enter on the box, what it saves, how far that can be trusted.
 * @throws InputError on a study that is not sound, and on settings to be tried that no box has; the signal's reason once
 * it is aborted
 */
export function settings(study: Study, options: SettingsOptions = {}): SettingsReport {
  check(
    { study, options },
    {
      study: aStudy,
      options: record<SettingsOptions>({
        tried: optional(record<TriedDocument>({ document: anything, file: optional(text) })),
        today: optional(aDate),
        onStep: optional(callable),
        signal: optional(anAbort),
      }),
    },
  );
  const { home, site, island } = study;
  const { tariff, axis, plant } = home;
  const { controller, stated } = controllerOf(study);
  const from = planFrom(study, options.today);
  const standing = sheetReserve(study);
  // Refused before the search, which takes a while.
  const tried = options.tried === undefined ? undefined : readTriedSheet(study, options.tried, standing);
  const { onStep, signal } = options;
  onStep?.('searching what to enter');
  const strategy = searchedFor(study, controller, standing);
  const searched = evaluate(home, strategy, ['bill', 'boughtOnce', 'sheets'], { signal });
  const { all: found, cheapest, lights } = searched.sheets!;
  const apart = judgedOn(searched.sheets!);
  const warnings: Fact[] = [
    ...assumedBox(study),
    ...followsPrices(study),
    ...study.warnings,
    ...settingsWarnings(study, found, standing),
  ];
  const heldInCold = lights?.held?.taken === true;
  // Its dates stand as far ahead as filling takes with the power that is entered.
  const reserveAt = (gridChargeKw: number) =>
    sheetReserve(study, { ...(plant.gridCharging ? { gridChargeKw } : {}), heldInCold });
  const reserve = reserveAt(found.gridChargeKw);
  warnings.push(
    ...failedWindows(searched.sheets!),
    ...intoDearHours(home, found),
    ...longerEvenings(study, searched.sheets!, signal),
  );
  const seen = evaluate(home, followSheet(found), ['bill', 'boughtOnce', 'flows', 'backupHours'], { signal });
  const without = evaluate(home, none, ['bill', 'flows']);
  const base = without.bill.total;
  const service = serviceDraw(study, found, without.flows);
  warnings.push(...aboveService(service, found.gridChargeKw));
  const withheld = study.savingsWithheld !== undefined;
  const judged = ({ bill: { total, startEnergy }, boughtOnce }: Outcome<'bill' | 'boughtOnce'>, basis: string) => {
    const savings = base - total;
    return { total, startEnergy, boughtOnce, savings, savingsPerYear: savings * perYear(axis), basis };
  };
  const shown = ({ total, startEnergy, boughtOnce, savings, savingsPerYear, basis }: ReturnType<typeof judged>) => ({
    bill: { total, startEnergy, boughtOnce },
    savings: withheld ? null : savings,
    savingsPerYear: withheld ? null : savingsPerYear,
    basis,
  });
  const byHand = byHandWords(reserve, from);
  const expected = judged(searched, `${unseenBasis(apart)}${byHand}`);
  const inSample = judged(seen, `${IN_SAMPLE_BASIS}${byHand}`);
  // A yardstick that spends what the medical circuit may need is none.
  if (!withheld && !island.medical) onStep?.('running rolling');
  const cleverer =
    withheld || island.medical ? undefined : evaluate(home, rolling(), ['bill', 'boughtOnce'], { signal });
  // What spends of a floor that the sheet keeps is another home's money.
  const keeps = cleverer !== undefined && keepsAsMuch(cleverer, seen);
  if (cleverer !== undefined && !keeps) warnings.push(missesFloor(cleverer));
  const planned = keeps ? judged(cleverer, '') : undefined;
  if (!withheld && expected.savings < 0 && reserve.setBy !== 'medical')
    warnings.unshift(fact(STUDY_WORDS, 'settings-lose-money', 'warning', { reservePercent: reserve.reservePercent }));
  const lasting = island.medical ? null : summarizeBackup(axis, seen.backupHours!);
  const sheetHours = lasting?.allHours.p10 ?? null;
  // What is given up is between two whole sheets, as somebody has it who enters the one and then the other.
  const weighed = lights !== undefined && isIslandKnown(study) ? judgedCheapest(study, cheapest!, signal) : undefined;
  const parts = studyParts(study);
  const heldKwh = reserveKwhOf(found, plant);
  const stormMonths = reserve.setBy === 'medical' ? [] : (site.backup?.stormMonths ?? []);
  const fullCharge = fullCharges(axis, seen.flows.socKwh, plant.capacityKwh, coldMonths(site.backup?.cold));
  return ownCopy({
    format: 'duskbank.settings/1',
    ...parts,
    basis: `modelled, not metered: past intervals replayed with the battery; savings against ${againstWords(study)}`,
    tariff: tariff.name,
    against: againstWords(study),
    ...moneyParts(tariff),
    withPlannedSolar: study.plannedSolar !== undefined,
    hasSolar: !study.loadKnown || home.solarKwh.some((kwh) => kwh > 0),
    savingsWithheld: study.savingsWithheld ?? null,
    controller,
    controllerStated: stated,
    sheet: {
      reservePercent: reserve.reservePercent,
      gridChargeKw: found.gridChargeKw,
      chargeSetBy:
        limitsPower(found.gridChargeKw, plant.chargeLimitKw) && plant.gridCharging ? 'choice' : parts.plant.chargeSetBy,
      schedules: found.schedules.map(scheduleOf),
      dated: reserve.dated,
    },
    service,
    year: sheetYear(
      study,
      reserve.dated,
      reserve.reservePercent === 100 ? [] : stormMonths,
      fullCharge.warmMonths,
      from,
    ),
    fullCharge,
    unattendedShare: unattendedShare(study),
    lights:
      lights === undefined || weighed === undefined
        ? null
        : {
            hours: sheetHours!,
            cheapestHours: weighed.lasting.allHours.p10,
            eveningHours: lasting!.weekdayEvenings.p10,
            cheapestEveningHours: weighed.lasting.weekdayEvenings.p10,
            givenUpPerYear: Math.max(0, seen.bill.total - weighed.total + lights.wear) * perYear(axis),
            mostPerYear: lights.most * perYear(axis),
            wearCounted: strategy.wishes.wearOfFull !== undefined,
            heldInCold:
              lights.held === undefined || lights.held.hours < (1 + WORTH_SAYING) * lights.held.hoursWithout + 0.05
                ? null
                : {
                    taken: lights.held.taken,
                    costPerYear: lights.held.cost * perYear(axis),
                    // The search takes the tenth start as it is, not between two: of that only the difference is told.
                    hours: heldInCold ? sheetHours! : sheetHours! + lights.held.hours - lights.held.hoursWithout,
                    hoursWithout: heldInCold
                      ? Math.max(0, sheetHours! - lights.held.hours + lights.held.hoursWithout)
                      : sheetHours!,
                  },
          },
    reserve: {
      setBy: reserve.setBy,
      keepHours: reserve.keepHours,
      // A floor that moves because of `backup.reserve` is told by `setBy` and the dated reserves.
      floorVaries: site.backup?.reserve === undefined && typeof plant.floorKwh !== 'number',
      stormMonths,
      heldKwh,
      deliverableKwh: deliverableKwh(plant, heldKwh),
    },
    baseline: { bill: { total: base } },
    apart,
    expected: shown(expected),
    inSample: {
      ...shown(inSample),
      differs: !withheld && differsFromJudged(study, base, expected.savings, inSample.savings, searched.sheets),
    },
    tried:
      tried === undefined
        ? null
        : judgeTriedSheet(
            study,
            { ...tried, sheet: { ...tried.sheet, dated: reserveAt(tried.sheet.gridChargeKw).dated } },
            reserve,
            base,
            lasting,
            stormHoursOf(study, home, found, seen.flows.socKwh),
          ),
    rolling:
      planned === undefined
        ? null
        : {
            bill: { total: planned.total },
            savings: planned.savings,
            savingsPerYear: planned.savingsPerYear,
            lostPerYear: planned.savingsPerYear - expected.savingsPerYear,
          },
    medical: island.medical,
    cautions: cautionsFor({ medical: island.medical, panels: false }),
    // Of outages the sheet's own verdict, with the power that it enters and from what it keeps.
    warnings: retellPlanned(
      warnings,
      plannedInRun(study, begunRun(study, strategy, { ...searched, flows: seen.flows }), from),
    ),
  });
}

/** What the cheapest sheet comes to on all of the data. */
function judgedCheapest({ home }: Study, cheapest: SettingsSheet, signal: Abort | undefined) {
  const { bill, backupHours } = evaluate(home, followSheet(cheapest), ['bill', 'backupHours'], { signal });
  return { total: bill.total, lasting: summarizeBackup(home.axis, backupHours!) };
}

/** Hours that are more by less than this share are no remark. */
const WORTH_SAYING = 0.05;

/** A schedule as it is entered, without what the search keeps in its windows. */
function scheduleOf({ months, days, charge, chargeToPercent, discharge }: SheetSchedule): SheetSchedule {
  const clock = (window: ClockWindow | null) =>
    window === null ? null : { fromMinute: window.fromMinute, toMinute: window.toMinute };
  return { months, days, charge: clock(charge), chargeToPercent, discharge: clock(discharge) };
}
