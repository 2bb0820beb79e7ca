import { check } from '../input/door.ts';
import { InputError } from '../input/index.ts';
import { ownCopy } from '../input/own-copy.ts';
import {
  type CarryPlan,
  checkPanel,
  EXISTING_DWELLING,
  type IslandOutput,
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
import type { Study } from '../site/index.ts';
import { aStudy, plantOf } from '../site/inside.ts';
import { quoteName } from '../words/quote.ts';
import { backupWays } from './backup-ways.ts';
import type { CircuitsReport } from './circuits-schema.ts';
import { circuitPart, studyParts } from './report-parts.ts';
import { hardAtWork } from './storm.ts';

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
    ways: backupWays(study, { listed, output, splitPhase, calculated: placed, measured, goalHours }),
    hardAtWork: hardAtWork(listed),
    stormMonths: backup.stormMonths ?? null,
    mayGrow: (battery.maxUnits ?? battery.units) > battery.units || hasRoom(battery.modules),
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

/** Whether more modules fit on a unit than are there. */
function hasRoom(modules: { readonly perUnit: number; readonly maxPerUnit?: number | undefined } | undefined): boolean {
  return modules !== undefined && (modules.maxPerUnit ?? modules.perUnit) > modules.perUnit;
}

/** The highest interval, kW. */
function highestKw(kwh: Float64Array, stepHours: number): number {
  return kwh.reduce((most, each) => Math.max(most, each), 0) / stepHours;
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
