import * as z from 'zod';
import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { bySchema } from '../input/by-schema.ts';
import { check, type Rule } from '../input/door.ts';
import { fields, nearestName, showValue } from '../input/index.ts';
import { type CodeOf, type DataOf, type Fact, fact } from '../words/fact.ts';
import { shortFigure, shown } from '../words/figures.ts';
import { CIRCUIT_WORDS, type CircuitWords } from '../words/outage.ts';
import { quoteName } from '../words/quote.ts';
import { APPLIANCES, type Appliance, applianceOf } from './appliances.ts';
import { minuteOf } from './minute-of.ts';
import { type ResolvedCircuit, someCircuits } from './resolved-circuit.ts';

const clock = z.string().regex(/^([01]\d|2[0-3]):[0-5]\d$|^24:00$/, 'a local time such as "06:30"');

/** One circuit on the island. */
export const circuitSchema = fields({
  name: z.string().min(1).max(60).describe('What it feeds, in words; no two alike.'),
  appliance: z
    .enum(APPLIANCES.map((appliance) => appliance.key) as [string, ...string[]])
    .optional()
    .describe(
      'Entry of the starter list, whose high end stands in for figures that are left out: draw while it runs, start, mean draw. The nameplate is better.',
    ),
  watts: z.number().min(0.001).max(100_000).optional().describe('Draw while it runs, W.'),
  va: z
    .number()
    .min(0.001)
    .max(100_000)
    .optional()
    .describe('Running apparent power, VA, where the nameplate gives it; at least the watts.'),
  motor: z
    .boolean()
    .optional()
    .describe('Whether it starts a motor or compressor; taken as true where a starting figure is given.'),
  startKva: z.number().min(0.001).max(200).optional().describe('Apparent power while it starts, kVA.'),
  lockedRotorAmps: z
    .number()
    .min(0.001)
    .max(1000)
    .optional()
    .describe('"LRA" on the nameplate, A, in place of startKva; of a three-phase motor give startKva.'),
  startSeconds: z.number().min(0.001).max(60).optional().describe('How long the start takes, s.'),
  softStarter: fields({
    share: z
      .number()
      .min(0.001)
      .max(1)
      .describe('Starting current that remains with it, as a share of the nameplate’s: 0.4 for 40 %.'),
  })
    .optional()
    .describe('A soft starter on the motor.'),
  leg: z.enum(['L1', 'L2', '240']).describe('The leg that feeds it: "L1" or "L2" at 120 V, or "240" for both.'),
  volts: z
    .literal([120, 240])
    .optional()
    .describe('120 or 240; follows from the leg, and is checked against it where given.'),
  breakerAmps: z.number().min(0.001).max(400).optional().describe('Its breaker, A.'),
  sharedNeutralWith: z.string().min(1).optional().describe('Name of the circuit that shares its neutral wire.'),
  hours: fields({
    from: clock.describe('When they begin, such as "06:00".'),
    to: clock.describe('When they end, such as "22:00"; before `from` for a stretch over midnight.'),
  })
    .optional()
    .describe('Hours of the day in which it can run, local clock; left out: all day.'),
  months: z
    .array(z.int().min(1).max(12))
    .min(1)
    .max(12)
    .optional()
    .describe('Months in which it can run, 1 to 12; left out: all year.'),
  dutyShare: z
    .number()
    .min(0.001)
    .max(1)
    .optional()
    .describe(
      'Share of those hours in which it does run, so that watts × dutyShare is its mean draw; left out: the starter list’s mean, without an appliance all of them.',
    ),
  stormDutyShare: z
    .number()
    .min(0.001)
    .max(1)
    .optional()
    .describe(
      'The same in a storm, such as 0.5 for a sump pump that runs half of the time; left out: the starter list’s, without one as on other days.',
    ),
  priority: z.int().min(1).max(99).describe('1 is let go last, higher numbers sooner.'),
  neverShed: z.boolean().optional().describe('Kept until the battery is empty, whatever its priority.'),
  shedBelow: z
    .number()
    .min(0.001)
    .lt(1)
    .optional()
    .describe('Let go once less than this share of usable energy is left.'),
  unattended: z
    .boolean()
    .optional()
    .describe('Must work with nobody at home: sump pump, freezer, furnace; left out: as the starter list says.'),
  medical: z.boolean().optional().describe('Life-supporting or medical equipment: needs a plan of its own.'),
});

/** A circuit as the site file gives it. */
export type Circuit = z.output<typeof circuitSchema>;

type Report = (path: (string | number)[], code: string, received: string, expected: string, hint?: string) => void;

/** The `circuits` list: every circuit by itself, and those that name each other. */
export const circuitsSchema = z
  .array(circuitSchema)
  .min(1)
  .max(200)
  .superRefine((circuits, context) => {
    const names = circuits.map((circuit) => circuit.name);
    for (const [k, circuit] of circuits.entries()) {
      const report: Report = (path, code, received, expected, hint) =>
        context.addIssue({ code: 'custom', path: [k, ...path], params: { code, received, hint }, message: expected });
      checkCircuit(circuit, report);
      if (names.indexOf(circuit.name) < k)
        report(['name'], 'duplicate-name', quoteName(circuit.name), 'a name that no other circuit has');
      const other = circuit.sharedNeutralWith;
      if (other !== undefined && (other === circuit.name || !names.includes(other))) {
        const near = nearestName(
          other,
          names.filter((name) => name !== circuit.name),
        );
        report(
          ['sharedNeutralWith'],
          'unknown-circuit',
          showValue(other),
          'the name of another circuit in this list',
          near === undefined ? undefined : `did you mean "${near}"?`,
        );
      }
    }
  });

function checkCircuit(circuit: Circuit, report: Report): void {
  const { watts, va, startKva, lockedRotorAmps, leg, volts } = circuit;
  if (watts === undefined && va === undefined && circuit.appliance === undefined)
    report([], 'missing', 'neither', '"watts" or "va" from the nameplate, or an "appliance" of the starter list');
  if (watts !== undefined && va !== undefined && va < watts)
    report(['va'], 'contradiction', `${va} VA`, `at least the running draw, ${watts} W`);
  if (volts === 240 && leg !== '240')
    report(
      ['volts'],
      'contradiction',
      `240 V on leg ${leg} alone`,
      '"leg": "240", since 240 V stands between the two legs',
    );
  if (volts === 120 && leg === '240')
    report(['volts'], 'contradiction', '120 V on both legs', '"leg": "L1" or "L2", the one that feeds it');
  if (startKva !== undefined && lockedRotorAmps !== undefined)
    report(
      ['startKva'],
      'given-twice',
      'startKva and lockedRotorAmps',
      'one of the two',
      'keep the nameplate’s figure',
    );
  const running = va ?? watts;
  const start = statedStartVa(circuit);
  // What no start is has been told by its own bounds.
  if (running !== undefined && start !== undefined && Number.isFinite(start) && start < running)
    report(
      [startKva === undefined ? 'lockedRotorAmps' : 'startKva'],
      'start-below-running',
      `${shortFigure(start)} VA to start`,
      `at least the running draw, ${shortFigure(running)} VA`,
      'locked-rotor amps are several times the running amps; startKva is in kVA',
    );
  if (circuit.softStarter !== undefined && start === undefined)
    report(
      ['softStarter'],
      'missing',
      'no starting figure',
      'lockedRotorAmps or startKva of the motor without its soft starter',
      'read "LRA" on the nameplate',
    );
  const { dutyShare, stormDutyShare } = circuit;
  if (dutyShare !== undefined && stormDutyShare !== undefined && stormDutyShare < dutyShare)
    report(
      ['stormDutyShare'],
      'contradiction',
      `${stormDutyShare}`,
      `at least dutyShare, ${dutyShare}`,
      'a circuit that rests in a storm is left as it is: hours of backup are then the lower answer',
    );
  if ((circuit.neverShed || circuit.medical) && circuit.shedBelow !== undefined)
    report(
      ['shedBelow'],
      'contradiction',
      `${circuit.shedBelow} beside ${circuit.medical ? 'medical' : 'neverShed'}`,
      'one of the two',
    );
  if (circuit.hours !== undefined && circuit.hours.from === circuit.hours.to)
    report(
      ['hours', 'to'],
      'out-of-range',
      circuit.hours.to,
      'another time than `from`',
      'leave `hours` out for all day',
    );
  if (leg === '240' && circuit.sharedNeutralWith !== undefined)
    report(
      ['sharedNeutralWith'],
      'contradiction',
      'a 240 V circuit',
      'two 120 V circuits, one on each leg',
      'only 120 V circuits share a neutral that way',
    );
}

function statedStartVa(circuit: Circuit): number | undefined {
  if (circuit.startKva !== undefined) return circuit.startKva * 1000;
  if (circuit.lockedRotorAmps !== undefined) return circuit.lockedRotorAmps * (circuit.leg === '240' ? 240 : 120);
  return undefined;
}

/** Starting power of a small motor without a figure: three times what it runs at (Tacoma Power, generator sizing). */
const SMALL_MOTOR_START = 3;
/** From here up, VA, only the nameplate says what a motor draws while it starts. */
const LARGE_MOTOR_VA = 2000;

/**
 * Fills in what the file leaves out: always the figure that gives the lower answer, and says so.
 * @throws InputError on circuits that the site file may not hold
 */
export function resolveCircuits(circuits: readonly Circuit[]): ResolvedCircuit[] {
  check({ circuits }, { circuits: statedCircuits });
  return resolveAll(circuits);
}

/** Circuits as the site file gives them; none where it lists none. */
const statedCircuits: Rule = (value, path, looking) => {
  if (!Array.isArray(value) || value.length > 0) bySchema(circuitsSchema)(value, path, looking);
};

/** {@link resolveCircuits} of circuits that were checked. */
function resolveAll(circuits: readonly Circuit[]): ResolvedCircuit[] {
  return circuits.map((circuit) => {
    const assumed: string[] = [];
    const listed = circuit.appliance === undefined ? undefined : applianceOf(circuit.appliance);
    const given = circuit.watts ?? circuit.va;
    const runningW = given ?? listed!.runningW[1];
    const runningVa = circuit.va ?? circuit.watts ?? listedVa(listed!);
    if (given === undefined)
      assumed.push(
        `${shortFigure(runningW)} W while it runs${runningVa > runningW ? `, ${shortFigure(runningVa)} VA to plan for` : ''}, the high end of published tables`,
      );
    const stated = statedStartVa(circuit);
    const isMotor = circuit.motor ?? (stated !== undefined || listed?.startingW !== undefined);
    let startVa = runningVa;
    let startKnown = true;
    if (stated !== undefined) startVa = stated * (circuit.softStarter?.share ?? 1);
    else if (isMotor) {
      // Where every circuit is on both legs, as at 230 V, that tells of no large motor: what the tables list as a small one is small.
      const isSmall = listed?.startingW !== undefined && !listed.nameplate;
      const large = listed?.nameplate === true || (circuit.leg === '240' && !isSmall) || runningVa >= LARGE_MOTOR_VA;
      startVa = Math.max(listed?.startingW?.[1] ?? 0, SMALL_MOTOR_START * motorVa(runningVa, listed));
      startKnown = !large;
      assumed.push(
        large
          ? 'starting draw unknown: read the locked-rotor amps (LRA) on its nameplate'
          : `${shortFigure(startVa)} VA to start, estimated: read the nameplate`,
      );
    }
    const from = circuit.hours === undefined ? 0 : minuteOf(circuit.hours.from);
    const until = circuit.hours === undefined ? 1440 : minuteOf(circuit.hours.to);
    const to = until > from ? until : until + 1440;
    const above = listed === undefined ? 1 : aboveList(listed, circuit.watts, runningVa);
    const dutyShare = circuit.dutyShare ?? (listed === undefined ? 1 : listedDuty(listed, runningW, above, to - from));
    if (circuit.dutyShare === undefined && listed !== undefined)
      assumed.push(
        `${shortFigure(runningW * dutyShare)} W on average ${to - from < 1440 ? 'in its hours' : 'over day and night'}, the high end of published tables${above > 1 ? ', in proportion to what it draws above theirs' : ''}${listed.oldMeanW === undefined ? '' : `; an old one takes ${listed.oldMeanW[0]} to ${listed.oldMeanW[1]} W, so state dutyShare`}`,
      );
    return {
      name: circuit.name,
      leg: circuit.leg,
      runningW,
      runningVa,
      startVa: Math.max(startVa, runningVa),
      startKnown,
      startSeconds: circuit.startSeconds,
      fromMinute: from,
      toMinute: to,
      months:
        circuit.months === undefined ? ALL_MONTHS : circuit.months.reduce((bits, month) => bits | (1 << month), 0),
      dutyShare,
      stormDutyShare: Math.max(dutyShare, circuit.stormDutyShare ?? listed?.stormDutyShare ?? 0),
      priority: circuit.priority,
      neverShed: circuit.neverShed ?? false,
      shedBelow: circuit.shedBelow ?? 0,
      unattended: circuit.unattended ?? listed?.unattended ?? false,
      medical: circuit.medical ?? false,
      sharedNeutralWith: circuit.sharedNeutralWith,
      breakerAmps: circuit.breakerAmps,
      assumed,
    };
  });
}

/** The most that the list plans for while it runs, VA. */
function listedVa(listed: Appliance): number {
  return (listed.plannedVa ?? listed.runningW)[1];
}

/** What its motor runs at, VA: without the heater that a listed appliance's planned draw holds. */
function motorVa(runningVa: number, listed: Appliance | undefined): number {
  return listed === undefined || runningVa > listedVa(listed) ? runningVa : Math.min(runningVa, listed.runningW[1]);
}

/**
 * How far a circuit draws above what the list knows, at least 1: stated watts against its running watts, a stated VA alone
 * against what the tables plan for.
 */
function aboveList(listed: Appliance, watts: number | undefined, runningVa: number): number {
  return Math.max(1, watts === undefined ? runningVa / listedVa(listed) : watts / listed.runningW[1]);
}

/**
 * Share of its hours in which a listed appliance runs, so that a day takes what the high end of the list's mean takes;
 * one that draws more than the list knows takes more in proportion.
 */
function listedDuty(listed: Appliance, runningW: number, above: number, hoursMinutes: number): number {
  const dayMeanW = listed.meanW[1] * above;
  return Math.min(1, (dayMeanW * 1440) / hoursMinutes / runningW);
}

/**
 * Kept first to kept last: medical, never shed, then by priority; the file's order settles the rest.
 * @throws InputError on what resolveCircuits doesn’t give
 */
export function byPriority(circuits: readonly ResolvedCircuit[]): ResolvedCircuit[] {
  check({ circuits }, { circuits: someCircuits });
  const rank = (circuit: ResolvedCircuit) => (circuit.medical ? 0 : circuit.neverShed ? 1 : 2);
  return [...circuits].sort((a, b) => rank(a) - rank(b) || a.priority - b.priority);
}

/** The circuit of the list that shares its neutral, whichever of the two says so. */
export function neutralPartner(
  circuits: readonly ResolvedCircuit[],
  circuit: ResolvedCircuit,
): ResolvedCircuit | undefined {
  return circuits.find(
    (other) =>
      other !== circuit && (circuit.sharedNeutralWith === other.name || other.sharedNeutralWith === circuit.name),
  );
}

/** Whether a circuit can run at a minute of the local day, in a month. */
export function canRun(circuit: ResolvedCircuit, month: number, minute: number): boolean {
  if ((circuit.months & (1 << month)) === 0) return false;
  return (
    (minute >= circuit.fromMinute && minute < circuit.toMinute) ||
    (minute + 1440 >= circuit.fromMinute && minute + 1440 < circuit.toMinute)
  );
}

/**
 * Mean energy that circuits draw, kWh an interval: running watts × duty share, in their hours and months. Never what
 * fits at one time: that is {@link ResolvedCircuit.runningVa}.
 * @throws InputError on what resolveCircuits doesn’t give
 */
export function circuitsLoadKwh(axis: Axis, circuits: readonly ResolvedCircuit[]): Float64Array {
  check({ axis, circuits }, { axis: anAxis, circuits: someCircuits });
  const { minuteOfDay, month } = axis.calendar;
  const load = new Float64Array(axis.intervals);
  for (const circuit of circuits) {
    const kwh = (circuit.runningW / 1000) * circuit.dutyShare * axis.stepHours;
    for (let i = 0; i < load.length; i++) {
      const share = shareOfStep(circuit, month[i]!, minuteOfDay[i]!, axis.stepMinutes);
      if (share > 0) load[i] = load[i]! + kwh * share;
    }
  }
  return load;
}

/**
 * What the circuits ask of the battery, kWh an interval. Of two units that each hold one leg the one with the heavier
 * leg empties first, and the other's energy is no help to it: twice the heavier leg is then asked of all of it.
 */
export function circuitsDrawKwh(
  axis: Axis,
  circuits: readonly ResolvedCircuit[],
  arrangement: 'pooled' | 'unit-per-leg' | 'one-leg',
): Float64Array {
  if (arrangement !== 'unit-per-leg') return circuitsLoadKwh(axis, circuits);
  const one = circuitsLoadKwh(
    axis,
    circuits.filter((circuit) => circuit.leg === 'L1'),
  );
  const two = circuitsLoadKwh(
    axis,
    circuits.filter((circuit) => circuit.leg === 'L2'),
  );
  return one.map((kwh, i) => 2 * Math.max(kwh, two[i]!));
}

/** The share of a step in which the circuit can run. */
function shareOfStep(circuit: ResolvedCircuit, month: number, minute: number, stepMinutes: number): number {
  if ((circuit.months & (1 << month)) === 0) return 0;
  let minutes = 0;
  for (const start of [minute, minute + 1440]) {
    const from = Math.max(start, circuit.fromMinute);
    const to = Math.min(start + stepMinutes, circuit.toMinute);
    if (to > from) minutes += to - from;
  }
  return Math.min(1, minutes / stepMinutes);
}

/** Something about a circuit that is not refused but looks wrong, or is dangerous. */
export interface CircuitFinding extends Fact {
  readonly severity: 'hazard' | 'question';
  /** The circuits concerned, by name. */
  readonly circuits: readonly string[];
}

/** A finding about circuits, by name. */
export function circuitFinding<Code extends CodeOf<CircuitWords>>(
  code: Code,
  severity: CircuitFinding['severity'],
  circuits: readonly string[],
  data: DataOf<CircuitWords, Code> & Fact['data'],
): CircuitFinding {
  const where = { path: ['backup', 'circuits'], ...(circuits.length === 1 ? { name: circuits[0]! } : {}) };
  return { ...fact(CIRCUIT_WORDS, code, severity, data, where), severity, data, circuits };
}

/**
 * Questions that the figures raise by themselves: slips of the decimal point, units, list entries that don't fit.
 * @throws InputError on circuits that the site file may not hold
 */
export function questionCircuits(circuits: readonly Circuit[]): CircuitFinding[] {
  check({ circuits }, { circuits: statedCircuits });
  const findings: CircuitFinding[] = [];
  for (const circuit of circuits) {
    const { name } = circuit;
    const [running] = resolveAll([circuit]);
    const volts = circuit.leg === '240' ? 240 : 120;
    const usualAmps = circuit.leg === '240' ? 60 : 30;
    const amps = circuit.breakerAmps ?? usualAmps;
    const { runningVa } = running!;
    if (runningVa > volts * amps) {
      const data = { circuit: name, runningVa, volts, amps, breakerStated: circuit.breakerAmps !== undefined };
      findings.push(circuitFinding('implausible-draw', 'question', [name], data));
    }
    const listed = circuit.appliance === undefined ? likelyAppliance(circuit.name) : applianceOf(circuit.appliance);
    const given = circuit.watts ?? circuit.va;
    if (listed !== undefined && given !== undefined && (given > 3 * listedVa(listed) || given < listed.runningW[0] / 5))
      findings.push(
        circuitFinding('unusual-for-appliance', 'question', [name], {
          circuit: name,
          watts: given,
          appliance: listed.key,
          applianceName: listed.name,
          usualW: [listed.runningW[0], listedVa(listed)],
        }),
      );
    if (circuit.lockedRotorAmps !== undefined && given !== undefined) {
      const runningAmps = (circuit.va ?? given) / volts;
      if (circuit.lockedRotorAmps > 12 * runningAmps)
        findings.push(
          circuitFinding('unusual-start', 'question', [name], {
            circuit: name,
            lockedRotorAmps: circuit.lockedRotorAmps,
            runningAmps,
          }),
        );
    }
  }
  return findings;
}

/** First hours of the day, in which a home draws little but what always runs: 0:00 to 5:00. */
const NIGHT_MINUTES = 300;

/**
 * Whether the circuits draw more on average than the whole metered home: over all of the data (where the load is
 * known), or by night, when little but such circuits is on. Then the list is too high somewhere.
 *
 * @param circuits those that hours of backup are reckoned from; else all of the list
 * @param restOnIt whether hours of backup are reckoned from them
 */
export function outdrawnMeter(
  axis: Axis,
  circuits: readonly ResolvedCircuit[],
  meter: { readonly loadKwh: Float64Array; readonly loadKnown: boolean },
  restOnIt: boolean,
): CircuitFinding[] {
  const { minuteOfDay } = axis.calendar;
  const { loadKwh } = meter;
  const listKwh = circuitsLoadKwh(axis, circuits);
  const sums = { all: { list: 0, home: 0, steps: 0 }, night: { list: 0, home: 0, steps: 0 } };
  for (let i = 0; i < loadKwh.length; i++)
    for (const sum of minuteOfDay[i]! < NIGHT_MINUTES ? [sums.all, sums.night] : [sums.all]) {
      sum.list += listKwh[i]!;
      sum.home += loadKwh[i]!;
      sum.steps++;
    }
  const means = (['all', 'night'] as const).flatMap((when) => {
    const { list, home, steps } = sums[when];
    const watts = (kwh: number) => (1000 * kwh) / (steps * axis.stepHours);
    const [circuitsW, homeW] = [watts(list), watts(home)];
    const looksTheSame = shown(circuitsW) === shown(homeW);
    return list <= home || looksTheSame || (when === 'all' && !meter.loadKnown) ? [] : [{ when, circuitsW, homeW }];
  });
  if (means.length === 0) return [];
  const names = circuits.map((circuit) => circuit.name);
  const data = { circuits: names, means, hoursRestOnList: restOnIt };
  return [circuitFinding('circuits-above-meter', 'question', names, data)];
}

function likelyAppliance(name: string) {
  const words = name.toLowerCase();
  return APPLIANCES.find((appliance) => words.includes(appliance.key.replaceAll('-', ' ')));
}

const ALL_MONTHS = 0b1_1111_1111_1110;
