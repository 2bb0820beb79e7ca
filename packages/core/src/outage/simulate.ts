import type { Axis } from '../axis/index.ts';
import { anAxis, anInterval } from '../axis/inside.ts';
import { sum } from '../axis/sum.ts';
import { anything, bytes, check, number, oneOf, optional } from '../input/door.ts';
import type { Plant } from '../plant/index.ts';
import {
  amount,
  aPlant,
  efficiency,
  energies,
  islanded,
  plantPerStep,
  quantityAt,
  RESIDUE_KWH,
  startingKwh,
} from '../plant/inside.ts';
import { byPriority, circuitsLoadKwh, neutralPartner } from './circuits.ts';
import { type ResolvedCircuit, someCircuits } from './resolved-circuit.ts';
import { storedIn } from './stored.ts';

/** What {@link simulateOutage} needs. */
export interface SimulateOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  /** Backed-up load, kWh an interval; ignored where `circuits` are given. */
  readonly loadKwh: Float64Array;
  /** Solar on the island, kWh an interval. */
  readonly solarKwh: Float64Array;
  /** Circuits to be shed one by one; without them the load is one block. */
  readonly circuits?: readonly ResolvedCircuit[];
  readonly coldSteps?: Uint8Array;
  /** @defaultValue 1 */
  readonly energyShare?: number;
  /** How much too high the gauge may read, kWh. @defaultValue 0 */
  readonly gaugeErrorKwh?: number;
  /** @defaultValue 'taper' */
  readonly atFull?: 'taper' | 'trip';
  /** @defaultValue 5 */
  readonly reconnectMinutes?: number;
  /** Energy under the shutdown level that wakes the equipment from sun, kWh; none where left out. */
  readonly restartKwh?: number;
  /** Interval in which the outage starts, and stored energy then, kWh. */
  readonly start: number;
  readonly startSocKwh: number;
  /** Length of the outage, h. */
  readonly hours: number;
}

/** What happened to one circuit. */
export interface CircuitService {
  readonly name: string;
  /** Hours until it first went without power that it wanted; the outage's length where it never did. */
  readonly firstLossHours: number;
  readonly servedKwh: number;
  readonly unservedKwh: number;
}

/** One outage, played through. */
export interface SimulatedOutage {
  /** Hours until the island first went dark; the outage's length where it never did. */
  readonly darkAfterHours: number;
  /** Why it went dark. */
  readonly darkBy: 'empty' | 'overload' | null;
  /** Hours until any load first went without. */
  readonly firstLossHours: number;
  readonly servedKwh: number;
  readonly unservedKwh: number;
  /** Times that solar tripped off a full battery, and hours that it stayed off for it. */
  readonly solarTrips: number;
  readonly solarOffHours: number;
  /** Times that sun woke the equipment after it had run empty. */
  readonly restarts: number;
  /** Energy really there at the end of each interval, kWh; one entry an interval of the outage. */
  readonly socKwh: Float64Array;
  readonly circuits: readonly CircuitService[];
}

/** The share of energy below which two that share a neutral are let go; never where one of them must stay. */
function shedShare(one: ResolvedCircuit, other: ResolvedCircuit): number {
  const kept = [one, other].some((circuit) => circuit.neverShed || circuit.medical);
  return kept ? 0 : Math.max(one.shedBelow, other.shedBelow);
}

/** A circuit that was let go comes back once this share of usable energy more than its level is stored. */
const SHED_HYSTERESIS = 0.05;
/** Levels met to this are met, kWh. */
const TINY_KWH = 1e-12;

/**
 * Plays one outage through, event by event inside each interval: the battery runs full or empty, solar trips and comes
 * back, a circuit is let go or taken back. Within an interval load and sun are their means.
 *
 * - Circuits are let go from the lowest priority, two that share a neutral together: while the mean draw is above the discharge limit, and each one below
 *   its own `shedBelow`. A block load above the limit is an overload: dark until the grid is back, since nobody may be
 *   home to reset it.
 * - `trip`: a full battery with more sun than load loses solar for `reconnectMinutes` while the battery carries the load.
 * - Empty: dark. With `restartKwh` under the shutdown level, sun beyond the standby draw starts the equipment with loads
 *   off; they return once the same energy is stored above the level. Without, it stays dark.
 *
 * @throws InputError on series of another length, a start that the axis doesn’t have, energy above the
 * plant's capacity, more than a year of hours
 */
export function simulateOutage(options: SimulateOptions): SimulatedOutage {
  check(options, {
    axis: anAxis,
    plant: aPlant,
    loadKwh: options?.circuits === undefined ? energies : anything,
    solarKwh: energies,
    circuits: optional(someCircuits),
    coldSteps: optional(bytes({ least: 0, most: 1 })),
    energyShare: optional(efficiency),
    gaugeErrorKwh: optional(amount),
    atFull: optional(oneOf(['taper', 'trip'])),
    reconnectMinutes: optional(number({ least: 0.01, most: 1440 })),
    restartKwh: optional(amount),
    start: anInterval,
    startSocKwh: number({ least: -1e-9 }),
    hours: number({ least: 0, most: 8784 }),
  });
  const { axis, plant, solarKwh, coldSteps, energyShare, atFull = 'taper', reconnectMinutes = 5 } = options;
  const { restartKwh = 0, gaugeErrorKwh, start, startSocKwh, hours } = options;
  check({ startSocKwh }, { startSocKwh: storedIn(plant) });
  const n = axis.intervals;
  const h = axis.stepHours;
  const island = islanded(plantPerStep(plant, axis), { energyShare, gaugeErrorKwh, coldSteps });
  const cap = island.capacityKwh;
  const keep = 1 - island.decayShare;
  const wakeKwh = Math.min(restartKwh, cap);
  const limitKw = island.loadLimitKwh / h;
  const standbyKw = island.standbyKwh / h;
  const ordered = options.circuits === undefined ? undefined : byPriority(options.circuits);
  const loads = ordered === undefined ? [options.loadKwh] : ordered.map((circuit) => circuitsLoadKwh(axis, [circuit]));
  const blocks = loads.length;
  /** Which circuit shares a neutral with each; itself where none does: they hang on one handle and go together. */
  const withC = loads.map((_, c) => {
    const partner = ordered === undefined ? undefined : neutralPartner(ordered, ordered[c]!);
    return partner === undefined ? c : ordered!.indexOf(partner);
  });
  const shedLevel = loads.map((_, c) =>
    ordered === undefined ? 0 : shedShare(ordered[c]!, ordered[withC[c]!]!) * cap,
  );
  const shed = new Uint8Array(blocks);
  const served = new Float64Array(blocks);
  const unserved = new Float64Array(blocks);
  const firstLoss = new Float64Array(blocks).fill(hours);
  const steps = Math.ceil(hours / h - 1e-9);
  const socKwh = new Float64Array(steps);

  const startsAt = startingKwh(island, startSocKwh);
  let x = Math.max(0, startsAt);
  let dark = startsAt < 0;
  let darkAfter = dark ? 0 : hours;
  let darkBy: 'empty' | 'overload' | null = dark ? 'empty' : null;
  let waking = false;
  let solarOffFor = 0;
  let solarTrips = 0;
  let solarOffHours = 0;
  let restarts = 0;

  for (let step = 0; step < steps; step++) {
    const i = (start + step) % n;
    const cold = coldSteps?.[i] === 1;
    const sunKw = solarKwh[i]! / h;
    const chargeLimitKw = quantityAt(island.chargeLimitKwh, i) / h;
    if (!dark) x *= keep;
    const length = Math.min(h, hours - step * h);
    let left = length;
    for (let event = 0; left > 1e-12; event++) {
      if (event > 100_000) throw new Error('internal: an outage made no progress within an interval');
      const now = step * h + length - left;
      if (dark && !waking && restartKwh > 0 && darkBy === 'empty' && sunKw > standbyKw && !cold) {
        waking = true;
        restarts++;
        x = 0;
      }
      const loadsOn = !dark;
      // Let go of what the energy level or the output can't have.
      let carriedKw = 0;
      for (let c = 0; c < blocks; c++) {
        if (shed[c] === 1 && x > shedLevel[c]! + SHED_HYSTERESIS * cap) shed[c] = 0;
        if (shedLevel[c]! > 0 && x <= shedLevel[c]! + TINY_KWH) shed[c] = 1;
      }
      const off = new Uint8Array(shed);
      if (loadsOn) {
        for (let c = 0; c < blocks; c++) if (off[c] === 0) carriedKw += loads[c]![i]! / h;
        if (ordered === undefined) {
          if (carriedKw > limitKw) {
            dark = true;
            darkAfter = Math.min(darkAfter, now);
            darkBy = 'overload';
            continue;
          }
        } else
          for (let c = blocks - 1; c >= 0 && carriedKw > limitKw; c--) {
            if (off[c] === 1 || loads[c]![i]! === 0) continue;
            for (const gone of new Set([c, withC[c]!])) {
              if (off[gone] === 1) continue;
              off[gone] = 1;
              carriedKw -= loads[gone]![i]! / h;
            }
          }
      }
      const alive = loadsOn || waking;
      const solarOn = alive && solarOffFor <= 0;
      const net = alive ? carriedKw + standbyKw - (solarOn ? sunKw : 0) : 0;
      let rate = 0;
      if (net > RESIDUE_KWH / h) rate = -net / island.dischargeEfficiency;
      else if (net < -RESIDUE_KWH / h) rate = Math.min(-net, chargeLimitKw) * island.solarChargeEfficiency;
      const full = x >= cap - TINY_KWH;
      if (rate > 0 && full) rate = 0;
      if (net < -RESIDUE_KWH / h && full && atFull === 'trip' && solarOn && loadsOn) {
        solarOffFor = reconnectMinutes / 60;
        solarTrips++;
        continue;
      }
      // The next event.
      let dt = left;
      if (solarOffFor > 0) dt = Math.min(dt, solarOffFor);
      if (rate < 0) dt = Math.min(dt, x / -rate);
      if (rate > 0) dt = Math.min(dt, (cap - x) / rate);
      if (rate > 0 && waking) dt = Math.min(dt, Math.max(0, wakeKwh - x) / rate);
      for (let c = 0; c < blocks; c++) {
        const back = shedLevel[c]! + SHED_HYSTERESIS * cap;
        if (shedLevel[c]! === 0) continue;
        if (rate < 0 && shed[c] === 0) dt = Math.min(dt, (x - shedLevel[c]!) / -rate);
        if (rate > 0 && shed[c] === 1 && x <= back) dt = Math.min(dt, (back - x) / rate + 1e-9);
      }
      for (let c = 0; c < blocks; c++) {
        const kwh = (loads[c]![i]! / h) * dt;
        if (kwh === 0) continue;
        if (loadsOn && off[c] === 0) served[c] = served[c]! + kwh;
        else {
          unserved[c] = unserved[c]! + kwh;
          if (now < firstLoss[c]!) firstLoss[c] = now;
        }
      }
      x = Math.min(cap, Math.max(0, x + rate * dt));
      if (solarOffFor > 0) {
        solarOffFor -= dt;
        solarOffHours += dt;
        if (solarOffFor < 1e-12) solarOffFor = 0;
      }
      left -= dt;
      if (rate < 0 && x <= TINY_KWH && left > 1e-12) {
        // Out of energy before the interval is over; at its very end the next one decides.
        if (loadsOn) {
          darkAfter = Math.min(darkAfter, now + dt);
          darkBy = 'empty';
        }
        dark = true;
        waking = false;
        x = 0;
      } else if (waking && x >= wakeKwh - TINY_KWH) {
        waking = false;
        dark = false;
      }
    }
    socKwh[step] = island.shutdownKwh + x;
  }

  return {
    darkAfterHours: darkAfter,
    darkBy,
    firstLossHours: firstLoss.reduce((least, value) => Math.min(least, value), hours),
    servedKwh: sum(served),
    unservedKwh: sum(unserved),
    solarTrips,
    solarOffHours,
    restarts,
    socKwh,
    circuits: (ordered ?? []).map((circuit, c) => ({
      name: circuit.name,
      firstLossHours: firstLoss[c]!,
      servedKwh: served[c]!,
      unservedKwh: unserved[c]!,
    })),
  };
}
