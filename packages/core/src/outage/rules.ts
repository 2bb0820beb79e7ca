import { flag, list, number, oneOf, optional, record, text } from '../input/door.ts';
import { amount } from '../plant/inside.ts';
import type { CarryPlan, CircuitVerdict, IslandOutput, Overload } from './carry.ts';
import type { ResolvedCircuit } from './circuits.ts';
import type { OutageKind, UnservedCurve } from './reliability.ts';

const share = number({ least: 0, most: 1 });
const anyPower = number({ least: 0, infinite: true });

/** A circuit with every figure filled in. */
export const aCircuit = record<ResolvedCircuit>({
  name: text,
  leg: oneOf(['L1', 'L2', '240']),
  runningW: amount,
  runningVa: amount,
  startVa: amount,
  startKnown: flag,
  startSeconds: optional(amount),
  fromMinute: number({ least: 0, most: 1440 }),
  toMinute: number({ least: 0, most: 2880 }),
  months: number({ whole: true, least: 0, most: 8190 }),
  dutyShare: share,
  priority: number(),
  neverShed: flag,
  shedBelow: share,
  unattended: flag,
  medical: flag,
  sharedNeutralWith: optional(text),
  breakerAmps: optional(amount),
  assumed: list(text),
});

export const someCircuits = list(aCircuit);

/** What the equipment gives on the island. */
export const anOutput = record<IslandOutput>({
  arrangement: oneOf(['pooled', 'unit-per-leg', 'one-leg']),
  continuousVa: anyPower,
  legVa: anyPower,
  surgeVa: anyPower,
  legSurgeVa: anyPower,
  surgeSeconds: optional(amount),
  assumed: list(text),
});

const anOverload = record<Overload>({
  kind: oneOf(['continuous', 'leg', 'start', 'leg-start', 'start-length', 'start-unknown', 'no-240-volt']),
  leg: oneOf(['L1', 'L2', 'both']),
  circuit: optional(text),
  neededVa: anyPower,
  availableVa: anyPower,
});

/** What the equipment carries. */
export const aCarryPlan = record<CarryPlan>({
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

/** A kind of outage. */
export const aKind = record<OutageKind>({
  name: text,
  perYear: amount,
  meanHours: number({ above: 0 }),
  sigma: number({ above: 0, most: 100 }),
});

/** Mean unserved energy by length of outage. */
export const anUnservedCurve = record<UnservedCurve>({ hours: list(amount), kwh: list(amount) });
