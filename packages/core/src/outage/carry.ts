import * as z from 'zod';
import { bySchema } from '../input/by-schema.ts';
import { check, flag, list, number, oneOf, optional, record, text } from '../input/door.ts';
import { fields } from '../input/index.ts';
import type { Plant } from '../plant/index.ts';
import { amount, aPlant, islandOutputKw } from '../plant/inside.ts';
import { byPriority, type CircuitFinding, canRun, circuitFinding, neutralPartner } from './circuits.ts';
import { rulesOf } from './reliability.ts';
import { aCircuit, type ResolvedCircuit, someCircuits } from './resolved-circuit.ts';

/** What the equipment puts out when the grid is down. */
export const outputSchema = fields({
  arrangement: z
    .enum(['pooled', 'unit-per-leg', 'one-leg'])
    .optional()
    .describe(
      '"pooled": every unit feeds both legs (120/240 V). "unit-per-leg": two 120 V units, each holding one leg; not a pool, and no 240 V. "one-leg": one 120 V output feeds both legs; no 240 V. Left out: pooled.',
    ),
  legKw: z
    .number()
    .min(0.001)
    .max(1000)
    .optional()
    .describe('Continuous output that one leg can give, kW; left out: half of all.'),
  surgeKva: z
    .number()
    .min(0.001)
    .max(1000)
    .optional()
    .describe('Short output of all units together, kVA; left out: none beyond the continuous.'),
  surgeSeconds: z.number().min(0.001).max(600).optional().describe('How long it is given, s.'),
});

/** The `output` section, checked. */
export type OutputSection = z.output<typeof outputSchema>;

/** The equipment's output on the island, resolved. Ratings in kW are read as kVA. */
export interface IslandOutput {
  readonly arrangement: 'pooled' | 'unit-per-leg' | 'one-leg';
  readonly continuousVa: number;
  readonly legVa: number;
  readonly surgeVa: number;
  readonly legSurgeVa: number;
  readonly surgeSeconds: number | undefined;
  /** What was taken because the file doesn't say. */
  readonly assumed: readonly string[];
}

/** Whether circuits speak of legs: of one of the two. */
export function namesLegs(circuits: readonly ResolvedCircuit[]): boolean {
  return circuits.some(({ leg }) => leg !== '240');
}

/** Whether a home is taken to have two legs of half the volts: in the United States, and elsewhere where its file speaks of them. */
export function hasLegs(zone: string, circuits: readonly ResolvedCircuit[], output: OutputSection = {}): boolean {
  return rulesOf(zone) === 'us' || namesLegs(circuits) || output.arrangement !== undefined;
}

const anyPower = number({ least: 0, infinite: true });

const anOutput = record<IslandOutput>({
  arrangement: oneOf(['pooled', 'unit-per-leg', 'one-leg']),
  continuousVa: anyPower,
  legVa: anyPower,
  surgeVa: anyPower,
  legSurgeVa: anyPower,
  surgeSeconds: optional(amount),
  assumed: list(text),
});

/**
 * Resolves the output from the plant's limits; a leg carries half, in surge too, unless the file says otherwise.
 * @param hasLegs whether the home has two legs; of a home without them nothing is assumed about legs
 * @throws InputError on a plant out of range, and a section that the site file may not hold
 */
export function resolveOutput(plant: Plant, section: OutputSection = {}, hasLegs = true): IslandOutput {
  check({ plant, section, hasLegs }, { plant: aPlant, section: bySchema(outputSchema), hasLegs: flag });
  const { arrangement = 'pooled', legKw, surgeKva, surgeSeconds } = section;
  const continuousVa = islandOutputKw(plant) * 1000;
  const assumed: string[] = [];
  if (section.arrangement === undefined && hasLegs) assumed.push('every unit feeds both legs (120/240 V)');
  const share = arrangement === 'one-leg' ? 1 : 0.5;
  if (legKw === undefined && arrangement === 'pooled' && hasLegs)
    assumed.push('one leg carries half of the continuous output');
  const legVa = Math.min(legKw === undefined ? continuousVa * share : legKw * 1000, continuousVa);
  if (surgeKva === undefined) assumed.push('no surge output beyond the continuous, since none is stated');
  const surgeVa = Math.max(continuousVa, (surgeKva ?? 0) * 1000);
  const legShare = continuousVa > 0 && Number.isFinite(continuousVa) ? legVa / continuousVa : share;
  return {
    arrangement,
    continuousVa,
    legVa,
    surgeVa,
    legSurgeVa: Math.max(legVa, surgeVa * legShare),
    surgeSeconds,
    assumed,
  };
}

/** One way in which a set of circuits asks for more than there is. */
export interface Overload {
  readonly kind: 'continuous' | 'leg' | 'start' | 'leg-start' | 'start-length' | 'start-unknown' | 'no-240-volt';
  /** The leg, or both. */
  readonly leg: 'L1' | 'L2' | 'both';
  /** The circuit whose start it is, for the starting kinds. */
  readonly circuit?: string;
  readonly neededVa: number;
  readonly availableVa: number;
}

const anOverload = record<Overload>({
  kind: oneOf(['continuous', 'leg', 'start', 'leg-start', 'start-length', 'start-unknown', 'no-240-volt']),
  leg: oneOf(['L1', 'L2', 'both']),
  circuit: optional(text),
  neededVa: anyPower,
  availableVa: anyPower,
});

/**
 * Whether circuits may run at the same time: their running VA against the continuous output, pooled and per leg, and
 * each one's start on top of all the others running. Every moment of the day and month in which their hours overlap
 * counts; that all that can run do run then is the assumption. Without overloads they fit.
 *
 * @throws InputError on what resolveCircuits and resolveOutput don’t give
 */
export function overloadsOf(circuits: readonly ResolvedCircuit[], output: IslandOutput): Overload[] {
  check({ circuits, output }, { circuits: someCircuits, output: anOutput });
  return overloadsAmong(circuits, output);
}

/** {@link overloadsOf} of what was checked. */
function overloadsAmong(circuits: readonly ResolvedCircuit[], output: IslandOutput): Overload[] {
  const worst = new Map<string, Overload>();
  const note = (overload: Overload) => {
    if (overload.neededVa <= overload.availableVa * (1 + 1e-12)) return;
    const key = `${overload.kind} ${overload.leg} ${overload.circuit ?? ''}`;
    const known = worst.get(key);
    if (known === undefined || overload.neededVa > known.neededVa) worst.set(key, overload);
  };
  for (const circuit of circuits) {
    if (circuit.leg === '240' && output.arrangement !== 'pooled')
      note({ kind: 'no-240-volt', leg: 'both', circuit: circuit.name, neededVa: circuit.runningVa, availableVa: 0 });
    if (!circuit.startKnown)
      note({
        kind: 'start-unknown',
        leg: circuit.leg === '240' ? 'both' : circuit.leg,
        circuit: circuit.name,
        neededVa: Number.POSITIVE_INFINITY,
        availableVa: output.surgeVa,
      });
  }
  for (const together of coincidences(circuits)) {
    const total = sumVa(together);
    const leg = { L1: legVa(together, 'L1'), L2: legVa(together, 'L2') };
    note({ kind: 'continuous', leg: 'both', neededVa: total, availableVa: output.continuousVa });
    if (output.arrangement !== 'one-leg')
      for (const side of ['L1', 'L2'] as const)
        note({ kind: 'leg', leg: side, neededVa: leg[side], availableVa: output.legVa });
    for (const circuit of together) {
      if (!circuit.startKnown || circuit.startVa <= circuit.runningVa) continue;
      const extra = circuit.startVa - circuit.runningVa;
      const surges = surgeLastsFor(circuit, output);
      const kind = surges ? 'start' : 'start-length';
      note({
        kind,
        leg: 'both',
        circuit: circuit.name,
        neededVa: total + extra,
        availableVa: surges ? output.surgeVa : output.continuousVa,
      });
      if (output.arrangement !== 'one-leg')
        for (const side of ['L1', 'L2'] as const) {
          const share = circuit.leg === '240' ? 0.5 : circuit.leg === side ? 1 : 0;
          if (share > 0)
            note({
              kind: surges ? 'leg-start' : 'start-length',
              leg: side,
              circuit: circuit.name,
              neededVa: leg[side] + extra * share,
              availableVa: surges ? output.legSurgeVa : output.legVa,
            });
        }
    }
  }
  return [...worst.values()];
}

/** A start of stated length needs a surge of stated length that covers it. */
function surgeLastsFor(circuit: ResolvedCircuit, output: IslandOutput): boolean {
  return circuit.startSeconds === undefined || (output.surgeSeconds ?? 0) >= circuit.startSeconds;
}

/** The sets of circuits that can run at the same time, over a year of clock times. */
function coincidences(circuits: readonly ResolvedCircuit[]): ResolvedCircuit[][] {
  if (
    circuits.every((circuit) => circuit.toMinute - circuit.fromMinute >= 1440 && circuit.months === circuits[0]!.months)
  )
    return circuits.length === 0 ? [] : [[...circuits]];
  const sets: ResolvedCircuit[][] = [];
  const seen = new Set<string>();
  for (let month = 1; month <= 12; month++) {
    const ofMonth = circuits.filter((circuit) => (circuit.months & (1 << month)) !== 0);
    const names = ofMonth.map((circuit) => circuit.name).join('\n');
    if (seen.has(names)) continue;
    seen.add(names);
    // The most run at a minute at which one of them begins.
    for (const minute of new Set(ofMonth.map((circuit) => circuit.fromMinute % 1440)))
      sets.push(ofMonth.filter((circuit) => canRun(circuit, month, minute)));
  }
  return sets;
}

function sumVa(circuits: readonly ResolvedCircuit[]): number {
  return circuits.reduce((sum, circuit) => sum + circuit.runningVa, 0);
}

function legVa(circuits: readonly ResolvedCircuit[], leg: 'L1' | 'L2'): number {
  return circuits.reduce(
    (sum, circuit) =>
      sum + (circuit.leg === '240' ? circuit.runningVa / 2 : circuit.leg === leg ? circuit.runningVa : 0),
    0,
  );
}

/** What a circuit may do on the island. */
export interface CircuitVerdict {
  readonly circuit: ResolvedCircuit;
  /** `together`: with all of higher priority that are `together`. `alone`: only with something else off. `never`: not at all. */
  readonly verdict: 'together' | 'alone' | 'never';
  /** Why not `together`; empty where it is. */
  readonly overloads: readonly Overload[];
}

/** What the equipment carries. */
export interface CarryPlan {
  /** By priority. */
  readonly verdicts: readonly CircuitVerdict[];
  readonly together: readonly ResolvedCircuit[];
  /** The most that the `together` set draws at any time, VA: both legs, each leg, and with the hardest start on top. */
  readonly totalVa: number;
  readonly legVa: { readonly L1: number; readonly L2: number };
  readonly startVa: number;
}

const aCarryPlan = record<CarryPlan>({
  verdicts: list(
    record<CircuitVerdict>({
      circuit: aCircuit,
      verdict: oneOf(['together', 'alone', 'never']),
      overloads: list(anOverload),
    }),
  ),
  together: someCircuits,
  totalVa: amount,
  legVa: record({ L1: amount, L2: amount }),
  startVa: amount,
});

/**
 * Takes circuits in order of priority, as long as they fit with those taken before. Two that share a neutral hang on one
 * handle, so that they are taken or left together, at the place of the one that is kept longer.
 * @throws InputError on what resolveCircuits and resolveOutput don’t give
 */
export function planCarry(circuits: readonly ResolvedCircuit[], output: IslandOutput): CarryPlan {
  check({ circuits, output }, { circuits: someCircuits, output: anOutput });
  const together: ResolvedCircuit[] = [];
  const verdicts: CircuitVerdict[] = [];
  for (const circuit of byPriority(circuits)) {
    if (verdicts.some((decided) => decided.circuit === circuit)) continue;
    const partner = neutralPartner(circuits, circuit);
    const free = partner !== undefined && !verdicts.some((decided) => decided.circuit === partner);
    const both = free ? [circuit, partner] : [circuit];
    const decide = (verdict: CircuitVerdict['verdict'], overloads: readonly Overload[]) => {
      for (const each of both) verdicts.push({ circuit: each, verdict, overloads });
    };
    const alone = overloadsAmong(both, output);
    const overloads = alone.length > 0 ? alone : overloadsAmong([...together, ...both], output);
    if (alone.length > 0) decide('never', alone);
    else if (overloads.length > 0) decide('alone', overloads);
    else {
      together.push(...both);
      decide('together', []);
    }
  }
  return { verdicts, together, ...mostAtOnce(together) };
}

/** The most that circuits draw at any time while all that can run do: both legs, each leg, and with the hardest start on top, VA. */
export function mostAtOnce(circuits: readonly ResolvedCircuit[]): Pick<CarryPlan, 'totalVa' | 'legVa' | 'startVa'> {
  let totalVa = 0;
  let startVa = 0;
  const most = { L1: 0, L2: 0 };
  for (const set of coincidences(circuits)) {
    const total = sumVa(set);
    totalVa = Math.max(totalVa, total);
    for (const circuit of set) startVa = Math.max(startVa, total + circuit.startVa - circuit.runningVa);
    for (const side of ['L1', 'L2'] as const) most[side] = Math.max(most[side], legVa(set, side));
  }
  return { totalVa, legVa: most, startVa };
}

/** A circuit that, once on, isn't off again for three hours: NEC article 100, "continuous load". */
function isContinuous(circuit: ResolvedCircuit): boolean {
  return circuit.dutyShare >= 0.99 && circuit.toMinute - circuit.fromMinute >= 180;
}

/**
 * What a feeder is sized for, the heavier leg, VA: all that can run at one time, the continuous ones and the largest motor
 * at 125 % (NEC 215.2, 430.24). No demand factor of article 220 is taken off, so that a load calculation may come to less.
 */
export function feederLegVa(circuits: readonly ResolvedCircuit[]): number {
  let most = 0;
  for (const set of coincidences(circuits))
    for (const side of ['L1', 'L2'] as const) {
      let largestMotor = 0;
      let sum = 0;
      for (const circuit of set) {
        const va = legVa([circuit], side);
        sum += va * (isContinuous(circuit) ? 1.25 : 1);
        if (circuit.startVa > circuit.runningVa && !isContinuous(circuit)) largestMotor = Math.max(largestMotor, va);
      }
      most = Math.max(most, sum + 0.25 * largestMotor);
    }
  return most;
}

/** The overload that is furthest beyond its limit first: the strictest limit. */
export function strictestFirst(overloads: readonly Overload[]): Overload[] {
  const beyond = ({ neededVa, availableVa }: Overload) =>
    availableVa > 0 ? neededVa / availableVa : Number.POSITIVE_INFINITY;
  return overloads.toSorted((a, b) => (beyond(b) === beyond(a) ? 0 : beyond(b) - beyond(a)));
}

/**
 * Medical circuits that the battery doesn't carry, or that wait for somebody to switch over: each a danger by name.
 * @throws InputError on what planCarry doesn’t give
 */
export function medicalHazards(plan: CarryPlan, transfer: 'automatic' | 'manual' | undefined): CircuitFinding[] {
  check({ plan, transfer }, { plan: aCarryPlan, transfer: optional(oneOf(['automatic', 'manual'])) });
  const findings: CircuitFinding[] = [];
  for (const { circuit, verdict } of plan.verdicts) {
    if (!circuit.medical) continue;
    const { name } = circuit;
    if (verdict !== 'together')
      findings.push(circuitFinding('medical-not-carried', 'hazard', [name], { circuit: name }));
    else if (transfer !== 'automatic')
      findings.push(
        circuitFinding('medical-by-hand', 'hazard', [name], { circuit: name, transfer: transfer ?? 'unknown' }),
      );
  }
  return findings;
}

/**
 * Neutrals shared by two 120 V circuits. On two legs in opposite phase the neutral carries their difference; fed from
 * one leg (or from a single 120 V output, or two that aren't in opposite phase) it carries their sum, can overheat, and
 * no breaker sees it: a named hazard.
 *
 * @throws InputError on what resolveCircuits and resolveOutput don’t give
 */
export function sharedNeutralHazards(circuits: readonly ResolvedCircuit[], output: IslandOutput): CircuitFinding[] {
  check({ circuits, output }, { circuits: someCircuits, output: anOutput });
  const findings: CircuitFinding[] = [];
  const done = new Set<string>();
  for (const circuit of circuits) {
    if (circuit.sharedNeutralWith === undefined) continue;
    const other = circuits.find((candidate) => candidate.name === circuit.sharedNeutralWith);
    if (other === undefined) continue;
    const key = [circuit.name, other.name].sort().join('\n');
    if (done.has(key)) continue;
    done.add(key);
    const pair = [circuit.name, other.name] as const;
    const shared = { circuits: pair, amps: (circuit.runningVa + other.runningVa) / 120 };
    if (circuit.leg === other.leg)
      findings.push(
        circuitFinding('shared-neutral-one-leg', 'hazard', pair, { ...shared, why: 'same-leg', leg: circuit.leg }),
      );
    else if (output.arrangement !== 'pooled') {
      const why = output.arrangement === 'one-leg' ? 'one-output' : 'two-units';
      findings.push(circuitFinding('shared-neutral-one-leg', 'hazard', pair, { ...shared, why }));
    }
  }
  return findings;
}
