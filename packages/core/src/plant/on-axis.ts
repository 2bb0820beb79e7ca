import type { Axis } from '../axis/index.ts';
import { vouchFor } from '../input/door.ts';
import { islandOutputKw, type Plant, type Service } from './plant.ts';

/** One number that holds in every interval, or an entry an interval. */
export type Quantity = number | Float64Array;

/** The quantity in interval `i`. */
export function quantityAt(quantity: Quantity, i: number): number {
  return typeof quantity === 'number' ? quantity : quantity[i]!;
}

/** The highest that a quantity comes to. */
export function highest(quantity: Quantity): number {
  if (typeof quantity === 'number') return quantity;
  let most = 0;
  for (let i = 0; i < quantity.length; i++) if (quantity[i]! > most) most = quantity[i]!;
  return most;
}

/** The quantity's entries; undefined where it is one number. */
export function arrayOf(quantity: Quantity): Float64Array | undefined {
  return typeof quantity === 'number' ? undefined : quantity;
}

/** The quantity in intervals `[from, to)`, its first entry that of `from`: a view, no copy. */
export function cutQuantity(quantity: Quantity, from: number, to: number): Quantity {
  return typeof quantity === 'number' ? quantity : quantity.subarray(from, to);
}

/** Copies the quantity of intervals `[from, to)` into `out`, from its first entry on. */
export function copyQuantity(quantity: Quantity, from: number, to: number, out: Float64Array): void {
  if (typeof quantity === 'number') out.fill(quantity, 0, to - from);
  else out.set(quantity.subarray(from, to));
}

/**
 * How AC energy and stored energy turn into each other: one share each way, whatever the power. A curve over the power
 * would stand here as segments, each with its width and share; then the readers of these three are what changes.
 */
export interface Conversion {
  /** Stored kWh of a kWh bought from the grid, in (0, 1]. */
  readonly chargeEfficiency: number;
  /** Stored kWh of a kWh of own solar, counted at its AC worth. Better than from the grid under DC coupling. */
  readonly solarChargeEfficiency: number;
  /** AC kWh delivered of a stored kWh, in (0, 1]. */
  readonly dischargeEfficiency: number;
}

/** A plant and its service in energies of one step: all that does not depend on load and sun. */
export interface PlantPerStep {
  readonly stepHours: number;
  /** Usable energy, kWh. Where it shrinks under what is stored, the rest of that is lost. */
  readonly capacityKwh: Quantity;
  /** Energy that normal dispatch may not touch, kWh. */
  readonly floorKwh: Quantity;
  /** Below this the equipment stops, kWh. */
  readonly shutdownKwh: number;
  /** Stored before the first interval, kWh. */
  readonly startKwh: number;
  /** Most that the battery takes in a step, kWh AC; 0 where its cells are too cold. */
  readonly chargeLimitKwh: Quantity;
  /** Most that it gives in a step, kWh AC. On an axis under DC coupling: within what solar leaves of the inverter. */
  readonly dischargeLimitKwh: Quantity;
  /** What the equipment itself draws in a step, kWh AC. */
  readonly standbyKwh: number;
  /** What it draws on top of that in a step in which it charges or discharges, kWh AC. */
  readonly conversionKwh: number;
  /** Share of the energy above the floor that is lost in a step. */
  readonly decayShare: number;
  readonly conversion: Conversion;
  readonly gridCharging: boolean;
  readonly batteryExport: boolean;
  /** `dc`: solar and discharge share one inverter, {@link inverterKwh}. */
  readonly coupling: 'ac' | 'dc';
  /** What the inverter passes in a step, kWh AC. */
  readonly inverterKwh: number;
  /** Most that loads may draw in a step with the grid gone, kWh. */
  readonly islandOutputKwh: number;
  /** The load that discharge may offset: a share of it, or a series in kWh an interval. */
  readonly reach: Quantity;
  /** Most that the service lets in and out in a step, kWh; Infinity where nothing binds. */
  readonly importLimitKwh: number;
  readonly exportLimitKwh: number;
}

/** What {@link layFlows} fills. Arrays that the plant has no use for are undefined. */
export interface StepFlows {
  /** Load + standby − solar that reaches AC, kWh: what the meter would read with the battery idle. */
  readonly netKwh: Float64Array;
  /** DC coupling: solar beyond the shared inverter, which can be stored or lost. Undefined with AC coupling. */
  readonly clippedKwh: Float64Array | undefined;
  /** An array under DC coupling, where it is filled: what solar leaves of the inverter limits it too. */
  readonly dischargeLimitKwh: Quantity;
  /** What discharge may offset: reached load + standby. Undefined where all load is reached. */
  readonly servedLimitKwh: Float64Array | undefined;
}

/** A home with its plant on its axis: all that a step's physics reads, a number or an entry an interval. */
export interface PlantOnAxis extends PlantPerStep, StepFlows {
  readonly axis: Axis;
  readonly dischargeLimitKwh: Quantity;
  /** What the flows were laid from. */
  readonly source: FlowSource;
}

const OPEN_SERVICE: Service = {
  importLimitKw: Number.POSITIVE_INFINITY,
  exportLimitKw: Number.POSITIVE_INFINITY,
};

/** The plant in energies of the axis' step. Cheap: a few numbers, and an entry an interval where cold stops charging. */
export function plantPerStep(
  plant: Plant,
  { stepHours }: Pick<Axis, 'stepHours'>,
  service: Service = OPEN_SERVICE,
): PlantPerStep {
  const { chargeEfficiency, dischargeEfficiency } = plant;
  return {
    stepHours,
    capacityKwh: plant.capacityKwh,
    floorKwh: plant.floorKwh,
    shutdownKwh: plant.shutdownKwh,
    startKwh: plant.startKwh,
    chargeLimitKwh: chargeLimit(plant, stepHours),
    dischargeLimitKwh: plant.dischargeLimitKw * stepHours,
    standbyKwh: (plant.standbyW / 1000) * stepHours,
    conversionKwh: ((plant.conversionW ?? 0) / 1000) * stepHours,
    decayShare: 1 - (1 - plant.decayPerHour) ** stepHours,
    conversion: {
      chargeEfficiency,
      solarChargeEfficiency: plant.coupling === 'dc' ? plant.solarChargeEfficiency : chargeEfficiency,
      dischargeEfficiency,
    },
    gridCharging: plant.gridCharging,
    batteryExport: plant.batteryExport,
    coupling: plant.coupling,
    inverterKwh: plant.inverterKw * stepHours,
    islandOutputKwh: islandOutputKw(plant) * stepHours,
    // A strategy may be shown a plant whose metered reach is made only once it is looked at.
    get reach() {
      return plant.reach;
    },
    importLimitKwh: service.importLimitKw * stepHours,
    exportLimitKwh: service.exportLimitKw * stepHours,
  };
}

function chargeLimit({ chargeLimitKw, coldSteps }: Plant, stepHours: number): Quantity {
  const limitKwh = chargeLimitKw * stepHours;
  return coldSteps === undefined ? limitKwh : Float64Array.from(coldSteps, (cold) => (cold === 1 ? 0 : limitKwh));
}

/**
 * Lays a plant on a home's axis: the only reader of a plant and its service for all that runs or plans it. O(n).
 *
 * @param service no limits where left out
 * @param former the same home with another plant: what depends on load and sun alone is taken over from it
 */
export function plantOnAxis(
  plant: Plant,
  axis: Axis,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  service?: Service,
  former?: PlantOnAxis,
): PlantOnAxis {
  const perStep = plantPerStep(plant, axis, service);
  const { reach } = perStep;
  const source: FlowSource = {
    loadKwh,
    solarKwh,
    reach,
    standbyKwh: perStep.standbyKwh,
    // Under AC coupling neither limit enters the flows.
    inverterKwh: perStep.coupling === 'dc' ? perStep.inverterKwh : Number.POSITIVE_INFINITY,
    dischargeLimitKwh: perStep.coupling === 'dc' ? perStep.dischargeLimitKwh : 0,
  };
  if (former !== undefined && former.axis === axis && sameSource(former.source, source)) {
    const { netKwh, clippedKwh, servedLimitKwh } = former;
    const dischargeLimitKwh = perStep.coupling === 'dc' ? former.dischargeLimitKwh : perStep.dischargeLimitKwh;
    const kept = { ...perStep, axis, netKwh, clippedKwh, servedLimitKwh, dischargeLimitKwh, source };
    return vouchFor('plant on its axis', kept);
  }
  const n = axis.intervals;
  const flows = makeStepFlows(perStep, n);
  layFlows(perStep, reach, loadKwh, solarKwh, 0, n, flows);
  return vouchFor('plant on its axis', { ...perStep, axis, ...flows, source });
}

/** All that the flows of a {@link PlantOnAxis} depend on. */
export interface FlowSource {
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
  readonly reach: Quantity;
  readonly standbyKwh: number;
  readonly inverterKwh: number;
  readonly dischargeLimitKwh: Quantity;
}

function sameSource(a: FlowSource, b: FlowSource): boolean {
  return (
    a.loadKwh === b.loadKwh &&
    a.solarKwh === b.solarKwh &&
    a.reach === b.reach &&
    a.standbyKwh === b.standbyKwh &&
    a.inverterKwh === b.inverterKwh &&
    a.dischargeLimitKwh === b.dischargeLimitKwh
  );
}

/** Room for the flows of `length` steps. */
export function makeStepFlows(plant: PlantPerStep, length: number): StepFlows {
  const dc = plant.coupling === 'dc';
  return {
    netKwh: new Float64Array(length),
    clippedKwh: dc ? new Float64Array(length) : undefined,
    dischargeLimitKwh: dc ? new Float64Array(length) : plant.dischargeLimitKwh,
    servedLimitKwh: reachesAll(plant) ? undefined : new Float64Array(length),
  };
}

/** Whether discharge may offset all load, and not only the circuits behind the transfer equipment. */
export function reachesAll(plant: Pick<PlantPerStep, 'reach'>): boolean {
  return typeof plant.reach === 'number' && plant.reach >= 1;
}

/**
 * What load and sun leave for the battery in intervals `[from, to)` of two series, into `out` from its first entry on.
 *
 * @param reach as in {@link PlantPerStep}; a strategy that may not know the metered series gives a share
 * @param sunFactor what the sun is multiplied by @defaultValue 1
 * @param at the interval of the axis that the first of them stands for @defaultValue `from`
 */
export function layFlows(
  plant: PlantPerStep,
  reach: Quantity,
  loadKwh: Float64Array,
  solarKwh: Float64Array,
  from: number,
  to: number,
  out: StepFlows,
  sunFactor = 1,
  at = from,
): void {
  // A plus tells the engine that these are numbers, so that it does not look in every step.
  const standbyKwh = +plant.standbyKwh;
  const inverterKwh = +plant.inverterKwh;
  const { netKwh, clippedKwh, dischargeLimitKwh, servedLimitKwh } = out;
  const n = to - from;
  if (clippedKwh !== undefined && typeof dischargeLimitKwh !== 'number') {
    const limits = arrayOf(plant.dischargeLimitKwh);
    let limit = +quantityAt(plant.dischargeLimitKwh, 0);
    for (let k = 0; k < n; k++) {
      const solar = sunFactor * solarKwh[from + k]!;
      const through = solar < inverterKwh ? solar : inverterKwh;
      if (limits !== undefined) limit = limits[at + k]!;
      const room = inverterKwh - through;
      netKwh[k] = loadKwh[from + k]! + standbyKwh - through;
      clippedKwh[k] = solar - through;
      dischargeLimitKwh[k] = room < limit ? room : limit;
    }
  } else for (let k = 0; k < n; k++) netKwh[k] = loadKwh[from + k]! + standbyKwh - sunFactor * solarKwh[from + k]!;
  if (servedLimitKwh === undefined) return;
  if (typeof reach === 'number')
    for (let k = 0; k < n; k++) servedLimitKwh[k] = loadKwh[from + k]! * reach + standbyKwh;
  else for (let k = 0; k < n; k++) servedLimitKwh[k] = Math.min(reach[from + k]!, loadKwh[from + k]!) + standbyKwh;
}
