import { check } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { ownCopy } from '../input/own-copy.ts';
import {
  type BackupWay,
  type CarryPlan,
  checkPanel,
  circuitsLoadKwh,
  EXISTING_DWELLING,
  type IslandOutput,
  type LoadCalculation,
  type MeasuredLoad,
  measuredLoad,
  medicalHazards,
  NEW_DWELLING,
  type Overload,
  optionalDwellingLoad,
  panelCapacityVa,
  planCarry,
  questionCircuits,
  type ResolvedCircuit,
  resolveCircuits,
  resolveOutput,
  sharedNeutralHazards,
  unitsForWay,
} from '../outage/index.ts';
import {
  cautionsFor,
  checkBusbar,
  feederLegVa,
  hasLegs,
  namesLegs,
  neutralPartner,
  outdrawnMeter,
  rulesOf,
  sitingChecklist,
  strictestFirst,
} from '../outage/inside.ts';
import { islandDrawKwh } from '../plant/inside.ts';
import type { Study } from '../site/index.ts';
import { aStudy, plantOf } from '../site/inside.ts';
import { quoteName } from '../words/quote.ts';
import type { CircuitsReport } from './circuits-schema.ts';
import { circuitPart, studyParts } from './report-parts.ts';

const DEFAULT_GOAL_HOURS = 8;

const LEGS_NAMED =
  'two legs of half the volts each, since circuits name L1 or L2: where a home has one voltage, such as 230 V, give every circuit leg "240"; three phases aren’t reckoned';

const ONE_PHASE =
  'one phase for all circuits: three phases aren’t reckoned one by one. In a three-phase home a unit of one phase runs only the circuits on its own, a unit of three gives each phase a third of its output, and a three-phase motor starts with √3 × the volts between phases × its locked-rotor amps ("startKva")';

const VOLTS_ASSUMED = '240 V, since "backup.panel.volts" doesn’t say: at 230 V amperes are 4 % higher';

/**
 * What the equipment carries in an outage: circuits against its output, pooled and per leg, starts on top; panel and
 * conductors; and the two ways to back the home up.
 *
 * @throws InputError where the site lists no circuits
 */
export function circuits(study: Study): CircuitsReport {
  check({ study }, { study: aStudy });
  const { home, site, island } = study;
  const { axis, plant } = home;
  const { backup } = site;
  if (backup?.circuits === undefined)
    throw new InputError([
      {
        code: 'missing',
        where: { path: ['backup', 'circuits'] },
        received: 'nothing',
        expected: 'a list of circuits',
        hint: 'start from `duskbank circuits --appliances`: [{ "name": "Refrigerator", "appliance": "refrigerator", "leg": "L1", "priority": 1 }, …]',
      },
    ]);
  const listed = resolveCircuits(backup.circuits);
  const rules = rulesOf(axis.zone);
  const splitPhase = hasLegs(axis.zone, listed, backup.output);
  const stated = resolveOutput(plant, backup.output, splitPhase);
  const assumed = [
    ...stated.assumed,
    ...(rules === 'us' ? [] : splitPhase ? (namesLegs(listed) ? [LEGS_NAMED] : []) : [ONE_PHASE]),
    ...(rules === 'us' || backup.panel?.volts !== undefined ? [] : [VOLTS_ASSUMED]),
  ];
  const output = { ...stated, assumed };
  const plan = planCarry(listed, output);
  // With the grid up panel and conductors feed all of the list, however little of it the battery carries.
  const gridUpVa = feederLegVa(listed);
  const { panel } = backup;
  const method = panel?.method ?? (panel?.existing ? EXISTING_DWELLING : NEW_DWELLING);
  const calculated = panel?.dwelling === undefined ? null : optionalDwellingLoad(panel.dwelling, method, panel.volts);
  const placed =
    calculated === null || panel?.method !== undefined || rules === 'us'
      ? calculated
      : { ...calculated, method: `the optional method of the US code, ${calculated.method}; your local code counts` };
  const hasSolar = home.solarKwh.some((kwh) => kwh > 0);
  const measured = measuredLoad(axis, home.loadKwh, {
    hasSolar,
    newVa: panel?.newLoadVa,
    rules,
    volts: panel?.volts,
    meteredStepMinutes: study.meteredStepMinutes,
  });
  const batteryKw = plant.coupling === 'dc' ? plant.inverterKw : Math.min(plant.dischargeLimitKw, plant.inverterKw);
  const goalHours = backup.goalHours ?? DEFAULT_GOAL_HOURS;
  const { battery } = plantOf(site);
  return ownCopy({
    format: 'duskbank.circuits/1',
    ...studyParts(study),
    basis:
      'nameplates and published tables against the equipment’s ratings; all that can run at a time is taken to run. Mean draw says how long energy lasts, never what fits',
    medical: island.medical,
    cautions: cautionsFor({ medical: island.medical, panels: true }),
    findings: [
      ...medicalHazards(plan, backup.transfer?.kind),
      ...sharedNeutralHazards(listed, output),
      ...questionCircuits(backup.circuits),
      ...outdrawnMeter(
        axis,
        backup.load === undefined ? plan.together : listed,
        { loadKwh: home.loadKwh, loadKnown: study.loadKnown },
        backup.load === undefined,
      ),
    ],
    splitPhase,
    output,
    circuits: plan.verdicts.map(({ circuit, verdict, overloads }) => ({
      ...circuitPart(circuit),
      verdict,
      reasons: reasonsOf(circuit, overloads, { listed, output, plan }),
      sharesNeutral: neutralPartner(listed, circuit)?.name ?? null,
      medical: circuit.medical,
      neverShed: circuit.neverShed,
      unattended: circuit.unattended,
      assumed: circuit.assumed,
    })),
    totals: { togetherVa: plan.totalVa, legVa: plan.legVa, hardestStartVa: plan.startVa },
    panel: panel === undefined ? [] : checkPanel(panel, gridUpVa),
    busbar:
      panel === undefined
        ? null
        : checkBusbar(
            panel,
            batteryKw,
            plant.coupling === 'dc' ? 0 : highestKw(home.solarKwh, axis.stepHours),
            output.arrangement === 'one-leg',
          ),
    main: panel === undefined ? null : panelCapacityVa(panel.mainAmps, panel.volts),
    calculated: placed,
    measured,
    // With a medical circuit no number of units is a plan for so many hours.
    ways: held(waysOf(study, listed, placed, measured, goalHours), listed, output, calculated !== null).map((way) =>
      island.medical ? { ...way, units: null, modulesPerUnit: null } : way,
    ),
    chosenWay: panel?.way ?? 'sub-panel',
    goalHours,
    mostUnits: battery.maxUnits ?? battery.units,
    wiringRules: rules,
    siting: sitingChecklist({
      unitKwh: plant.capacityKwh / battery.units,
      totalKwh: plant.capacityKwh,
      rules,
    }),
  });
}

function waysOf(
  study: Study,
  listed: readonly ResolvedCircuit[],
  calculated: LoadCalculation | null,
  measured: MeasuredLoad,
  goalHours: number,
): [BackupWay, BackupWay] {
  const { home, site } = study;
  const { axis, plant } = home;
  const { battery } = plantOf(site);
  const modules = battery.modules;
  const ratings = {
    units: battery.units,
    maxUnits: battery.maxUnits ?? battery.units,
    continuousVa: (Math.min(plant.dischargeLimitKw, plant.inverterKw) * 1000) / battery.units,
    usableKwh: battery.usableKwh,
    moduleKwh: modules?.usableKwh ?? 0,
    maxModulesPerUnit: modules?.maxPerUnit ?? 0,
    dischargeEfficiency: plant.dischargeEfficiency,
  };
  const standbyKw = islandDrawKwh(home.onAxis) / axis.stepHours;
  const subPanelKwh = circuitsLoadKwh(axis, listed);
  const listedVa = listed.reduce((sum, circuit) => sum + circuit.runningVa, 0);
  const wholeVa = calculated?.totalVa ?? measured.totalVa;
  return [
    unitsForWay(
      'sub-panel',
      `all ${listed.length} listed circuits running at once, without their starts`,
      listedVa,
      hungriestMeanKw(subPanelKwh, axis.stepHours, goalHours) + standbyKw,
      goalHours,
      ratings,
    ),
    unitsForWay(
      'whole-panel',
      calculated === null
        ? `metered maximum × 125 %${rulesOf(axis.zone) === 'us' ? '' : ', as reckoned in the United States'}`
        : `calculated load (${quoteName(calculated.method)})`,
      wholeVa,
      hungriestMeanKw(home.loadKwh, axis.stepHours, goalHours) + standbyKw,
      goalHours,
      ratings,
    ),
  ];
}

/**
 * Ways as the output's legs and voltage have them: a sum of VA says nothing of one leg, nor of what needs 240 V. What the
 * whole panel has on each leg isn't known here. Where it is known by the meter alone, it may hold no more than a part of it.
 */
function held(
  [part, whole]: readonly [BackupWay, BackupWay],
  listed: readonly ResolvedCircuit[],
  output: IslandOutput,
  isCalculated: boolean,
): Way[] {
  const gives240 = output.arrangement === 'pooled';
  const sumOn = (leg: ResolvedCircuit['leg']) =>
    listed.reduce((sum, circuit) => sum + (circuit.leg === leg ? circuit.runningVa : 0), 0);
  const both = sumOn('240');
  const beyond = (leg: 'L1' | 'L2') =>
    output.arrangement === 'one-leg' ? 0 : Math.max(0, sumOn(leg) + (gives240 ? both / 2 : 0) - output.legVa);
  const toManageVa = Math.max(part.toManageVa, beyond('L1') + beyond('L2') + (gives240 ? 0 : both));
  const partFits = part.fits && toManageVa <= 1e-9;
  const parts: Way = { ...part, fits: partFits, toManageVa, ...(partFits || part.toManageVa > 0 ? {} : NO_UNITS) };
  if (gives240) return [parts, whole.fits && !partFits && !isCalculated ? { ...whole, fits: null } : whole];
  const fits = whole.fits && both === 0 ? null : false;
  const basis = `${whole.basis}; what each leg has of it, and what needs 240 V, which this arrangement doesn’t give, isn’t known`;
  return [parts, { ...whole, basis, fits, toManageVa: Math.max(whole.toManageVa, both), ...NO_UNITS }];
}

/** More units of the same arrangement change nothing for one leg, or for 240 V. */
const NO_UNITS = { units: null, modulesPerUnit: null };

type Way = CircuitsReport['ways'][number];

/** What keeps a circuit out, the strictest limit first, and whether it would run with the others on the other leg. */
function reasonsOf(
  circuit: ResolvedCircuit,
  overloads: readonly Overload[],
  {
    listed,
    output,
    plan,
  }: { readonly listed: readonly ResolvedCircuit[]; readonly output: IslandOutput; readonly plan: CarryPlan },
): string[] {
  const reasons = strictestFirst(overloads).map(describeOverload);
  if (reasons.length === 0 || circuit.leg === '240' || neutralPartner(listed, circuit) !== undefined) return reasons;
  // What both legs together don't carry, the other leg doesn't either.
  if (overloads.some(({ leg }) => leg === 'both')) return reasons;
  const leg = circuit.leg === 'L1' ? 'L2' : 'L1';
  const moved = listed.map((each) => (each === circuit ? { ...each, leg } : each) as ResolvedCircuit);
  const namesIn = (circuits: readonly ResolvedCircuit[]) => new Set(circuits.map(({ name }) => name));
  const then = namesIn(planCarry(moved, output).together);
  const helps = then.has(circuit.name) && plan.together.every(({ name }) => then.has(name));
  return helps ? [`${reasons[0]}; on ${leg} it would fit`, ...reasons.slice(1)] : reasons;
}

/** The highest interval, kW. */
function highestKw(kwh: Float64Array, stepHours: number): number {
  return kwh.reduce((most, each) => Math.max(most, each), 0) / stepHours;
}

/** Mean draw over the hungriest stretch of so many hours, kW. */
function hungriestMeanKw(loadKwh: Float64Array, stepHours: number, hours: number): number {
  const steps = Math.min(loadKwh.length, Math.max(1, Math.round(hours / stepHours)));
  let sum = 0;
  for (let i = 0; i < steps; i++) sum += loadKwh[i]!;
  let most = sum;
  for (let i = steps; i < loadKwh.length; i++) {
    sum += loadKwh[i]! - loadKwh[i - steps]!;
    if (sum > most) most = sum;
  }
  return most / (steps * stepHours);
}

/** `on L1: 7.0 kVA of 6.0 kVA`, by what is exceeded. */
function describeOverload(overload: Overload): string {
  const where = overload.leg === 'both' ? '' : ` on ${overload.leg}`;
  const figures = `${against(overload.neededVa, overload.availableVa)} kVA`;
  switch (overload.kind) {
    case 'continuous':
      return `running: ${figures}`;
    case 'leg':
      return `running${where}: ${figures}`;
    case 'start':
    case 'leg-start':
      return `start of ${quoteName(overload.circuit!)}${where}: ${figures}`;
    case 'start-length':
      return `start of ${quoteName(overload.circuit!)}${where} outlasts the surge: ${figures}`;
    case 'start-unknown':
      return `start of ${quoteName(overload.circuit!)} unknown: read LRA on its nameplate`;
    case 'no-240-volt':
      return 'needs 240 V, which this arrangement doesn’t give';
  }
}

/** `7.0 of 6.0`, with as many digits as tell the two apart: 1.8 of 1.8 would look like enough. */
function against(neededVa: number, availableVa: number): string {
  for (let digits = 1; digits < 3; digits++) {
    const [needed, available] = [(neededVa / 1000).toFixed(digits), (availableVa / 1000).toFixed(digits)];
    if (needed !== available) return `${needed} of ${available}`;
  }
  return `${(neededVa / 1000).toFixed(3)} of ${(availableVa / 1000).toFixed(3)}`;
}
