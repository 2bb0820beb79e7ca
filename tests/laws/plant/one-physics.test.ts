import { type Axis, makeAxis } from '@duskbank/core/axis';
import { bestInHindsight, type Home, homeOnAxis, homeProblem, optimum, runStrategy } from '@duskbank/core/dispatch';
import { backupHours, rechargeHours, simulateOutage } from '@duskbank/core/outage';
import {
  executeLevels,
  executeWithoutPlant,
  type Flows,
  makeFlows,
  makeLevels,
  type Plant,
  type PlantOnAxis,
  plantOnAxis,
  plantPerStep,
  type Service,
  startState,
} from '@duskbank/core/plant';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { releaseSteps, toSteps } from '../../../packages/core/src/dispatch/optimum/problem.ts';
import { quantityRange } from '../../../packages/core/src/dispatch/optimum/quantity-range.ts';
import { makeReachable } from '../../../packages/core/src/dispatch/optimum/reachable.ts';
import { emptySteps, fillLimits, flowsOf } from '../../../packages/core/src/dispatch/rolling/plan-steps.ts';
import { executeFull } from '../../../packages/core/src/plant/execute.ts';
import { executePlain, isPlain } from '../../../packages/core/src/plant/execute-plain.ts';
import { layFlows } from '../../../packages/core/src/plant/on-axis.ts';
import { windowTariff } from '../../support/homes.ts';
import { seeded } from '../../support/homes-plain.ts';

// One physics: whatever else reckons with a step's energy is held to the loop that runs the battery, `executeLevels`, on
// random plants. The number of cases is 10,000 in all; each test says what agrees, and to what.

/** kWh: rounding of sums of some hundred flows of at most some tens of kWh. */
const ROUNDING_KWH = 1e-9;

const AXES = [15, 30, 60].map((stepMinutes) =>
  makeAxis({
    startEpochMs: Date.UTC(2026, 2, 28),
    stepMinutes,
    intervals: (3 * 1440) / stepMinutes,
    zone: 'Europe/London',
  }),
);

/** Random homes over every switch of the plant: coupling, reach, moving floors, limits each way, decay, own draws. */
const homes = fc
  .record({
    seed: fc.nat(),
    axis: fc.constantFrom(...AXES),
    loadKw: fc.double({ min: 0.05, max: 4, noNaN: true }),
    solarKw: fc.constantFrom(0, 2, 6, 15),
    capacityKwh: fc.double({ min: 0.5, max: 30, noNaN: true }),
    floorShare: fc.constantFrom(0, 0.2, 0.5),
    floorKind: fc.constantFrom('flat', 'flat', 'moving'),
    shutdownShare: fc.constantFrom(0, 0.1),
    startShare: fc.constantFrom(0, 0.3, 1),
    chargeLimitKw: fc.double({ min: 0.1, max: 10, noNaN: true }),
    dischargeLimitKw: fc.double({ min: 0.1, max: 10, noNaN: true }),
    chargeEfficiency: fc.constantFrom(1, 0.95, 0.8),
    dischargeEfficiency: fc.constantFrom(1, 0.95, 0.8),
    decayPerHour: fc.constantFrom(0, 0, 0.00005, 0.01),
    standbyW: fc.constantFrom(0, 70),
    conversionW: fc.constantFrom(0, 0, 60, 400),
    gridCharging: fc.boolean(),
    batteryExport: fc.boolean(),
    coupling: fc.constantFrom('ac' as const, 'dc' as const),
    inverterKw: fc.constantFrom(2, 5, 20),
    reach: fc.constantFrom(1, 0.4, 'series' as const),
    importLimitKw: fc.constantFrom(Number.POSITIVE_INFINITY, 10, 2),
    exportLimitKw: fc.constantFrom(Number.POSITIVE_INFINITY, 0, 1.5),
    sale: fc.constantFrom(0, 0.06, 0.3),
  })
  .map((c): Home & { readonly seed: number } => {
    const { axis } = c;
    const n = axis.intervals;
    const random = seeded(c.seed);
    const { minuteOfDay } = axis.calendar;
    const loadKwh = Float64Array.from({ length: n }, () => c.loadKw * axis.stepHours * (0.2 + 2.5 * random() ** 3));
    const solarKwh = Float64Array.from({ length: n }, (_, i) => {
      const height = Math.sin(((minuteOfDay[i]! / 60 - 6) / 12) * Math.PI);
      return Math.max(0, height) * c.solarKw * random() * axis.stepHours;
    });
    const floorKwh = c.floorShare * c.capacityKwh;
    const moving = c.floorKind === 'moving';
    const plant: Plant = {
      capacityKwh: c.capacityKwh,
      floorKwh: moving ? Float64Array.from(minuteOfDay, (m) => floorKwh * (m >= 1020 ? 1 : 0.5)) : floorKwh,
      shutdownKwh: Math.min(c.shutdownShare * c.capacityKwh, floorKwh / 2),
      startKwh: Math.max(c.startShare * c.capacityKwh, floorKwh),
      chargeLimitKw: c.chargeLimitKw,
      dischargeLimitKw: c.dischargeLimitKw,
      chargeEfficiency: c.chargeEfficiency,
      dischargeEfficiency: c.dischargeEfficiency,
      decayPerHour: c.decayPerHour,
      standbyW: c.standbyW,
      conversionW: c.conversionW,
      gridCharging: c.gridCharging,
      batteryExport: c.batteryExport && c.reach === 1,
      coupling: c.coupling,
      inverterKw: c.inverterKw,
      solarChargeEfficiency: Math.min(1, c.chargeEfficiency / 0.96),
      reach: c.reach === 'series' ? loadKwh.map((kwh) => kwh * random()) : c.reach,
    };
    const service = { importLimitKw: c.importLimitKw, exportLimitKw: c.exportLimitKw };
    return { seed: c.seed, axis, loadKwh, solarKwh, plant, service, tariff: windowTariff(axis, { sale: c.sale }) };
  });

/** Runs the loop over `steps` intervals from `first` on, wrapping at the axis' end, and tells of each. */
function eachStep(
  onAxis: PlantOnAxis,
  levels: ReturnType<typeof makeLevels>,
  first: number,
  steps: number,
  socKwh: number,
  visit: (flows: Flows, i: number, step: number) => boolean,
): void {
  const n = onAxis.axis.intervals;
  const state = { socKwh, shortfallIntervals: 0, shortfallKwh: 0 };
  const flows = makeFlows(n);
  for (let step = 0; step < steps; step++) {
    const i = (first + step) % n;
    for (const series of Object.values(flows) as Float64Array[]) series[i] = 0;
    executeLevels(onAxis, levels, i, i + 1, state, flows);
    if (!visit(flows, i, step)) return;
  }
}

/**
 * An outage in the loop's own terms. The service lets nothing in or out; the floor is the shutdown level; nothing is
 * sold, and everything on the island is reached. Output ratings are about what loads draw, so the equipment's own draw
 * comes on top of them. The equipment stops for good where the loop leaves a load unserved, or where loads draw more than
 * the rating, whatever the sun gives; from then on it draws no standby, so that what is unserved is the load alone.
 * The inverter holds the island's voltage, so that what converting draws is drawn all the time: as standby is.
 */
function outagePlant(plant: Plant, capacityKwh: number): Plant {
  const standbyW = plant.standbyW + (plant.conversionW ?? 0);
  const standbyKw = standbyW / 1000;
  return {
    ...plant,
    standbyW,
    conversionW: 0,
    capacityKwh,
    // A run of it says itself what it starts with.
    startKwh: 0,
    floorKwh: plant.shutdownKwh,
    gridCharging: false,
    batteryExport: false,
    reach: 1,
    dischargeLimitKw: Math.min(plant.dischargeLimitKw, plant.inverterKw) + standbyKw,
    inverterKw: plant.inverterKw + standbyKw,
  };
}

interface LoopOutage {
  readonly hours: number;
  /** Load missed until the outage's end, kWh. */
  readonly unservedKwh: number;
  readonly socKwh: number[];
  /** How near the store came to running out exactly at a step's end, kWh: nearer than rounding it may fall either way. */
  readonly nearestKwh: number;
}

function outageByLoop(
  { axis, plant, loadKwh, solarKwh }: Home,
  margins: { energyShare: number; gaugeErrorKwh: number },
  start: number,
  startKwh: number,
  steps: number,
): LoopOutage {
  const { stepHours } = axis;
  const aboveKwh = startKwh - plant.shutdownKwh;
  const capacityKwh = Math.max(plant.shutdownKwh, plant.capacityKwh * margins.energyShare);
  const held = Math.max(0, startKwh * margins.energyShare - plant.shutdownKwh - margins.gaugeErrorKwh);
  const none: Service = { importLimitKw: 0, exportLimitKw: 0 };
  const onAxis = plantOnAxis(outagePlant(plant, capacityKwh), axis, loadKwh, solarKwh, none);
  const limitKwh = Math.min(plant.dischargeLimitKw, plant.inverterKw) * stepHours;
  let lasted = aboveKwh < 0 ? 0 : Number.NaN;
  let unservedKwh = 0;
  let nearestKwh = Number.POSITIVE_INFINITY;
  const socKwh: number[] = [];
  const started = Math.min(capacityKwh, plant.shutdownKwh + held);
  let stored = started;
  eachStep(onAxis, makeLevels(axis.intervals), start, steps, started, (flows, i, step) => {
    const load = loadKwh[i]!;
    if (!Number.isNaN(lasted)) unservedKwh += load;
    else if (load > limitKwh + ROUNDING_KWH) {
      // Tripped off with energy left, which stays where it is.
      lasted = step;
      unservedKwh += load;
      stored -= (stored - plant.shutdownKwh) * onAxis.decayShare;
    } else {
      const net = onAxis.netKwh[i]!;
      const unserved = flows.unservedKwh[i]!;
      stored = flows.socKwh[i]!;
      if (net > 0) nearestKwh = Math.min(nearestKwh, unserved > 0 ? unserved : stored - plant.shutdownKwh);
      if (unserved > 0) {
        const part = flows.dischargeKwh[i]! / net;
        lasted = step + part;
        unservedKwh += (1 - part) * load;
      }
    }
    socKwh.push(stored);
    return true;
  });
  return { hours: (Number.isNaN(lasted) ? steps : lasted) * stepHours, unservedKwh, socKwh, nearestKwh };
}

/** Levels that no sensible strategy would ask for, some of them with a cap. */
function randomLevels(capacityKwh: number, axis: Axis, random: () => number): ReturnType<typeof makeLevels> {
  const levels = makeLevels(axis.intervals);
  const level = () => (random() * 1.4 - 0.2) * capacityKwh;
  for (let i = 0; i < axis.intervals; i++) {
    levels.solarChargeToKwh[i] = level();
    levels.gridChargeToKwh[i] = level();
    levels.serveDownToKwh[i] = level();
    levels.exportDownToKwh[i] = level();
    levels.importCapKw[i] = random() < 0.5 ? Number.POSITIVE_INFINITY : random() * 4;
  }
  return levels;
}

function expectNear(a: Float64Array, b: Float64Array, within: number, what: string): void {
  for (let i = 0; i < a.length; i++)
    if (!(Math.abs(a[i]! - b[i]!) <= within)) expect.fail(`${what}, interval ${i}: ${a[i]} against ${b[i]}`);
}

const margins = fc.record({
  energyShare: fc.constantFrom(1, 0.8),
  gaugeErrorKwh: fc.constantFrom(0, 0.3),
  pick: fc.nat(),
  held: fc.double({ min: 0, max: 1, noNaN: true }),
});

describe('an outage', () => {
  test('lasts as long as the loop carries it: hours of backup, 3,000 cases', () => {
    fc.assert(
      fc.property(homes, margins, (home, { energyShare, gaugeErrorKwh, pick, held }) => {
        const { axis, plant } = home;
        const start = pick % axis.intervals;
        const startKwh = held * plant.capacityKwh;
        const loop = outageByLoop(home, { energyShare, gaugeErrorKwh }, start, startKwh, axis.intervals);
        const socKwh = new Float64Array(axis.intervals).fill(startKwh);
        const hours = backupHours({ ...home, socKwh, startKwh, energyShare, gaugeErrorKwh })[start]!;
        // 1e-6 h: steps composed in blocks add up in another order. A store that meets a step's need to 1e-9 kWh may
        // be called empty or not.
        if (Math.abs(hours - loop.hours) > 1e-6)
          expect(loop.nearestKwh, `${hours} h against ${loop.hours} h`).toBeLessThan(2 * ROUNDING_KWH);
      }),
      { numRuns: 3000, seed: 20261101 },
    );
  });

  test('played through event by event stores and misses what the loop does, 2,000 cases', () => {
    fc.assert(
      fc.property(homes, margins, (home, { energyShare, gaugeErrorKwh, pick, held }) => {
        const { axis, plant } = home;
        const start = pick % axis.intervals;
        const startSocKwh = held * plant.capacityKwh;
        const loop = outageByLoop(home, { energyShare, gaugeErrorKwh }, start, startSocKwh, axis.intervals);
        if (loop.nearestKwh < 2 * ROUNDING_KWH) return;
        const hours = axis.intervals * axis.stepHours;
        const played = simulateOutage({ ...home, energyShare, gaugeErrorKwh, start, startSocKwh, hours });
        // 1e-9 kWh, and h: an interval is played in a few pieces, which add up to it with rounding.
        expect(Math.abs(played.darkAfterHours - loop.hours)).toBeLessThan(1e-9 * Math.max(1, hours));
        expect(Math.abs(played.unservedKwh - loop.unservedKwh)).toBeLessThan(ROUNDING_KWH);
        if (startSocKwh >= plant.shutdownKwh)
          expectNear(played.socKwh, Float64Array.from(loop.socKwh), ROUNDING_KWH, 'stored energy');
      }),
      { numRuns: 2000, seed: 20261102 },
    );
  });

  test('is over, and the store is full again when the loop has filled it, 1,500 cases', () => {
    fc.assert(
      fc.property(homes, fc.nat(), fc.double({ min: 0, max: 1, noNaN: true }), (home, pick, share) => {
        const { axis, plant } = home;
        const from = pick % axis.intervals;
        const fromKwh = plant.shutdownKwh;
        const toKwh = fromKwh + share * (plant.capacityKwh - fromKwh);
        const hours = rechargeHours({ ...home, from, fromKwh, toKwh });
        const levels = makeLevels(axis.intervals);
        levels.gridChargeToKwh.fill(Number.POSITIVE_INFINITY);
        levels.serveDownToKwh.fill(Number.POSITIVE_INFINITY);
        const steps = Math.ceil(336 / axis.stepHours);
        let reached = fromKwh >= toKwh - ROUNDING_KWH ? 0 : -1;
        // What is missing under a full store may be less than converting draws, and then stays missing: hours are those
        // of a store that fills on past it.
        const capacityKwh = (plant.conversionW ?? 0) > 0 ? 1e6 : plant.capacityKwh;
        if (reached < 0)
          eachStep({ ...homeOnAxis(home), capacityKwh }, levels, from, steps, fromKwh, (flows, i, step) => {
            if (flows.socKwh[i]! < toKwh - ROUNDING_KWH) return true;
            reached = step + 1;
            return false;
          });
        // The step in which the loop gets there is the step in which the hours end; 1e-9: of hours over hours.
        if (reached < 0) expect(hours).toBe(336);
        else {
          expect(hours).toBeLessThanOrEqual(reached * axis.stepHours * (1 + 1e-9));
          expect(hours).toBeGreaterThanOrEqual((reached - 1) * axis.stepHours * (1 - 1e-9));
        }
      }),
      { numRuns: 1500, seed: 20261103 },
    );
  });
});

describe('what is planned', () => {
  test('is what the loop then does: the optimum’s schedule, 1,000 cases', () => {
    fc.assert(
      fc.property(homes, (home) => {
        const onAxis = homeOnAxis(home);
        const best = bestInHindsight(home, { onAxis });
        const { flows, shortfallIntervals } = runStrategy(optimum(best), home, { onAxis });
        const { schedule } = best;
        // 1e-8 kWh: a schedule's levels carry the rounding of three days' sums, and each flow is divided by an efficiency.
        const within = 1e-8;
        if (shortfallIntervals > 0) return;
        expectNear(flows.socKwh, schedule.socKwh, within, 'stored energy');
        expectNear(flows.chargeKwh, schedule.chargeKwh, within, 'charge');
        expectNear(flows.dischargeKwh, schedule.dischargeKwh, within, 'discharge');
        expectNear(flows.curtailedKwh, schedule.curtailedKwh, within, 'curtailed');
        expectNear(flows.unservedKwh, schedule.unservedKwh, within, 'unserved');
        expectNear(flows.importKwh, best.flows.importKwh, within, 'import');
        expectNear(flows.exportKwh, best.flows.exportKwh, within, 'export');
      }),
      { numRuns: 1000, seed: 20261104 },
    );
  });

  test('for a peak, or from hour to hour, is about the plant that the loop runs: the same limits and flows, 500 cases', () => {
    fc.assert(
      fc.property(homes, fc.nat(), (home, pick) => {
        const { axis, loadKwh, solarKwh, tariff } = home;
        const from = pick % axis.intervals;
        const end = axis.intervals;
        const perStep = plantPerStep(home.plant, axis, home.service);
        const steps = emptySteps(perStep, tariff, end - from, 0);
        fillLimits(perStep, steps, from, end);
        layFlows(perStep, perStep.reach, loadKwh, solarKwh, from, end, flowsOf(steps));
        const onAxis = homeOnAxis(home);
        const cut = (values: Float64Array | undefined) => values?.subarray(from, end);
        // To the bit: the same arithmetic on the same numbers.
        expect(steps.netLoadKwh).toEqual(cut(onAxis.netKwh));
        expect(steps.clippedKwh).toEqual(cut(onAxis.clippedKwh));
        expect(steps.servedLoadLimitKwh).toEqual(cut(onAxis.servedLimitKwh));
        const planned = toSteps(homeProblem(onAxis, tariff));
        // Limits beyond what the whole store can take may differ: neither binds.
        const most = 1.000001 * (onAxis.capacityKwh as number);
        for (let i = from; i < end; i++) {
          expect(Math.min(most, steps.dischargeLimitKwh[i - from]!)).toBeCloseTo(planned.dischargeLimitKwh[i]!, 12);
          expect(steps.floorKwh[i - from]).toBe(planned.floorKwh[i]);
        }
        for (const field of ['decay', 'acPerCharged', 'acPerSolarCharged', 'storedPerAc', 'gridCharging'] as const)
          expect(steps[field], field).toBe(planned[field]);
        expect(steps.importLimitKwh).toBe(planned.importLimitKwh);
        expect(steps.exportLimitKwh).toBe(planned.exportLimitKwh);
        releaseSteps(planned);
      }),
      { numRuns: 500, seed: 20261105 },
    );
  });

  // The range is asked for by the bound, which is of the home without what converting draws.
  test('takes no less and no more than the loop can: the range of a group’s import and export, 1,000 cases', () => {
    fc.assert(
      fc.property(homes, (drawn) => {
        const home = { ...drawn, plant: { ...drawn.plant, conversionW: 0 } };
        const onAxis = homeOnAxis(home);
        const n = home.axis.intervals;
        const random = seeded(home.seed + 1);
        const flows = makeFlows(n);
        const state = startState(onAxis);
        executeLevels(onAxis, randomLevels(home.plant.capacityKwh, home.axis, random), 0, n, state, flows);
        // A run that couldn't keep its floor lies outside the band that the range is about.
        if (state.shortfallIntervals > 0) return;
        const groups = 4;
        const group = Int32Array.from({ length: n }, (_, i) => Math.floor((i * groups) / n) - (random() < 0.1 ? 9 : 0));
        const steps = toSteps(homeProblem(onAxis, home.tariff));
        makeReachable(steps);
        for (const flow of ['import', 'export'] as const) {
          const { leastKwh, mostKwh } = quantityRange(steps, flow, group, groups);
          const sums = new Float64Array(groups);
          for (let i = 0; i < n; i++)
            if (group[i]! >= 0) sums[group[i]!]! += (flow === 'import' ? flows.importKwh : flows.exportKwh)[i]!;
          for (let g = 0; g < groups; g++) {
            // The range itself is widened for rounding.
            expect(sums[g]!, `${flow} of group ${g}`).toBeGreaterThanOrEqual(leastKwh[g]!);
            expect(sums[g]!, `${flow} of group ${g}`).toBeLessThanOrEqual(mostKwh[g]!);
          }
        }
        releaseSteps(steps);
      }),
      { numRuns: 1000, seed: 20261106 },
    );
  });
});

test('the home without a plant is the loop with a battery that can’t do anything, 500 cases', () => {
  fc.assert(
    fc.property(homes, ({ axis, loadKwh, solarKwh, service, plant }) => {
      const nothing: Plant = {
        ...plant,
        capacityKwh: 0,
        floorKwh: 0,
        shutdownKwh: 0,
        startKwh: 0,
        standbyW: 0,
        chargeLimitKw: 0,
        dischargeLimitKw: 0,
        coupling: 'ac',
      };
      const onAxis = plantOnAxis(nothing, axis, loadKwh, solarKwh, service);
      const run = makeFlows(axis.intervals);
      executeLevels(onAxis, randomLevels(1, axis, seeded(1)), 0, axis.intervals, startState(onAxis), run);
      const without = makeFlows(axis.intervals);
      executeWithoutPlant(axis, loadKwh, solarKwh, service, without);
      // To 1e-12 kWh: what is curtailed or unserved is a difference, taken the other way round.
      for (const flow of Object.keys(run) as (keyof Flows)[]) expectNear(run[flow], without[flow], 1e-12, flow);
    }),
    { numRuns: 500, seed: 20261107 },
  );
});

test('a plain plant runs to the bit as the whole loop runs it, 1,000 cases', () => {
  let sold = 0;
  let unserved = 0;
  let short = 0;
  fc.assert(
    fc.property(homes, fc.constantFrom(0, 0.1), (drawn, startsUnder) => {
      const { axis } = drawn;
      const { capacityKwh, floorKwh } = drawn.plant;
      const plant: Plant = {
        ...drawn.plant,
        coupling: 'ac',
        reach: 1,
        batteryExport: false,
        conversionW: 0,
        floorKwh: typeof floorKwh === 'number' ? floorKwh : 0.3 * capacityKwh,
      };
      const onAxis = homeOnAxis({ ...drawn, plant });
      expect(isPlain(onAxis)).toBe(true);
      const levels = randomLevels(capacityKwh, axis, seeded(drawn.seed));
      const [quick, whole] = [executePlain, executeFull].map((execute) => {
        const flows = makeFlows(axis.intervals);
        const state = startState(onAxis);
        // Some start below the floor: it is restored, and what lacks is counted.
        state.socKwh *= 1 - startsUnder * 9;
        execute(onAxis, levels, 0, axis.intervals, state, flows);
        return { flows, state };
      });
      expect(quick).toEqual(whole);
      if (whole!.flows.exportKwh.some((kwh) => kwh > 0)) sold++;
      if (whole!.flows.unservedKwh.some((kwh) => kwh > 0)) unserved++;
      if (whole!.state.shortfallIntervals > 0) short++;
    }),
    { numRuns: 1000, seed: 20261127 },
  );
  // Each way through the loop was taken by many.
  expect(Math.min(sold, unserved, short)).toBeGreaterThan(100);
});

test('what makes a plant more than plain takes the whole loop', () => {
  fc.assert(
    fc.property(homes, (home) => {
      const { plant } = home;
      const plain =
        plant.coupling === 'ac' &&
        plant.reach === 1 &&
        !plant.batteryExport &&
        (plant.conversionW ?? 0) === 0 &&
        typeof plant.floorKwh === 'number';
      expect(isPlain(homeOnAxis(home))).toBe(plain);
    }),
    { numRuns: 500, seed: 20261128 },
  );
});

describe('a quantity', () => {
  const spread = (onAxis: PlantOnAxis): PlantOnAxis => {
    const everywhere = (quantity: number | Float64Array) =>
      typeof quantity === 'number' ? new Float64Array(onAxis.axis.intervals).fill(quantity) : quantity;
    return {
      ...onAxis,
      capacityKwh: everywhere(onAxis.capacityKwh),
      floorKwh: everywhere(onAxis.floorKwh),
      chargeLimitKwh: everywhere(onAxis.chargeLimitKwh),
      dischargeLimitKwh: everywhere(onAxis.dischargeLimitKwh),
    };
  };

  test('that is the same in every interval gives the run of the number, to the bit, 250 cases', () => {
    fc.assert(
      fc.property(homes, (home) => {
        const onAxis = homeOnAxis(home);
        const levels = randomLevels(home.plant.capacityKwh, home.axis, seeded(home.seed));
        const [one, other] = [onAxis, spread(onAxis)].map((each) => {
          const flows = makeFlows(home.axis.intervals);
          executeLevels(each, levels, 0, home.axis.intervals, startState(each), flows);
          return flows;
        });
        expect(other).toEqual(one);
      }),
      { numRuns: 250, seed: 20261108 },
    );
  });

  test('that changes is kept to in its own interval, and what a smaller store can’t hold is lost, 250 cases', () => {
    fc.assert(
      fc.property(homes, (home) => {
        const { axis } = home;
        const random = seeded(home.seed + 2);
        const base = spread(homeOnAxis(home));
        const vary = (quantity: number | Float64Array, least: number) =>
          (quantity as Float64Array).map((kwh) => kwh * (least + (1 - least) * random()));
        const onAxis = {
          ...base,
          capacityKwh: vary(base.capacityKwh, 0.6),
          floorKwh: vary(base.floorKwh, 0),
          chargeLimitKwh: vary(base.chargeLimitKwh, 0),
          dischargeLimitKwh: vary(base.dischargeLimitKwh, 0),
        };
        const flows = makeFlows(axis.intervals);
        const levels = randomLevels(home.plant.capacityKwh, axis, seeded(home.seed));
        executeLevels(onAxis, levels, 0, axis.intervals, startState(onAxis), flows);
        let soc = onAxis.startKwh;
        const { chargeEfficiency, solarChargeEfficiency, dischargeEfficiency } = onAxis.conversion;
        for (let i = 0; i < axis.intervals; i++) {
          const capacity = onAxis.capacityKwh[i]!;
          const floor = Math.min(onAxis.floorKwh[i]!, capacity);
          soc = Math.min(soc, capacity);
          if (soc > floor) soc -= (soc - floor) * onAxis.decayShare;
          const charge = flows.chargeKwh[i]!;
          const discharge = flows.dischargeKwh[i]!;
          const low =
            soc + charge * Math.min(chargeEfficiency, solarChargeEfficiency) - discharge / dischargeEfficiency;
          const high =
            soc + charge * Math.max(chargeEfficiency, solarChargeEfficiency) - discharge / dischargeEfficiency;
          soc = flows.socKwh[i]!;
          expect(charge).toBeLessThanOrEqual(onAxis.chargeLimitKwh[i]! + ROUNDING_KWH);
          expect(discharge).toBeLessThanOrEqual(onAxis.dischargeLimitKwh[i]! + ROUNDING_KWH);
          expect(soc).toBeLessThanOrEqual(capacity + ROUNDING_KWH);
          expect(soc).toBeGreaterThanOrEqual(low - ROUNDING_KWH);
          expect(soc).toBeLessThanOrEqual(high + ROUNDING_KWH);
        }
      }),
      { numRuns: 250, seed: 20261109 },
    );
  });
});
