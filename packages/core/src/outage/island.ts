import type { Axis } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { bySchema } from '../input/by-schema.ts';
import { bytes, check, flag, list, number, optional, record, text } from '../input/door.ts';
import type { Plant, PlantPerStep } from '../plant/index.ts';
import { aPlant, energies, islandDrawKwh, plantPerStep, quantityAt } from '../plant/inside.ts';
import { type Backup, backupSchema } from './backup.ts';
import { hasLegs, planCarry, resolveOutput } from './carry.ts';
import { circuitsDrawKwh, circuitsLoadKwh, resolveCircuits } from './circuits.ts';
import { coldMonths } from './cold-floors.ts';
import { aCircuit, type ResolvedCircuit } from './resolved-circuit.ts';

/** What is on the island's side of the transfer equipment when the grid is down. */
export interface Island {
  /**
   * What the backed-up load asks of the battery, kWh an interval: the load itself, or where two units hold a leg each,
   * twice the heavier leg's (all of it on one leg where the legs aren't known).
   */
  readonly loadKwh: Float64Array;
  /** The backed-up load itself, kWh an interval: what goes without in the dark. */
  readonly wantedKwh: Float64Array;
  /** Whether units hold a leg each, so that their energy isn't pooled. */
  readonly splitLegs: boolean;
  /** Solar that runs with the battery, kWh an interval at AC; zeros where it stays outside. */
  readonly solarKwh: Float64Array;
  /** 1 where the cells are too cold to charge; absent where that is never so. */
  readonly coldSteps?: Uint8Array;
  /** Share of the energy above the shutdown level that age leaves. */
  readonly energyShare: number;
  /** How much too high the state-of-charge gauge may read, kWh. */
  readonly gaugeErrorKwh: number;
  /** What the battery gives while tripped solar stays off, kWh; 0 where solar tapers. */
  readonly fullMarginKwh: number;
  /** The circuits that stay on together, by priority; empty where the site lists none. */
  readonly circuits: readonly ResolvedCircuit[];
  /** How many circuits the site lists, of which {@link circuits} are carried, where the load is theirs; else 0. */
  readonly circuitsListed: number;
  /** Whether any circuit of the site is medical: then no chance of lasting may be given. */
  readonly medical: boolean;
  /** How the load was arrived at, in words: stands beside every figure that rests on it. */
  readonly basis: string;
}

/** What the battery carries while the grid is down. */
export const anIsland = record<Island>({
  loadKwh: energies,
  wantedKwh: energies,
  splitLegs: flag,
  solarKwh: energies,
  coldSteps: optional(bytes({ least: 0, most: 1 })),
  energyShare: number({ above: 0, most: 1 }),
  gaugeErrorKwh: number({ least: 0 }),
  fullMarginKwh: number({ least: 0 }),
  circuits: list(aCircuit),
  circuitsListed: number({ least: 0, whole: true }),
  medical: flag,
  basis: text,
});

/** What {@link islandOf} needs. */
export interface IslandOptions {
  readonly axis: Axis;
  readonly plant: Plant;
  /** The site's `backup` section, if it has one. */
  readonly backup?: Backup | undefined;
  /** The home's metered load and gross solar, kWh an interval. */
  readonly loadKwh: Float64Array;
  readonly solarKwh: Float64Array;
}

/**
 * The backed-up load and the solar that helps to carry it. Where the site doesn't say, the lower answer holds: all the
 * load that the battery reaches, and solar on the island only where it shares the battery's inverter. Circuits that the
 * equipment can't carry with the ones before them count as switched off.
 *
 * @throws InputError on series of another length, and a section that the site file may not hold
 */
export function islandOf(options: IslandOptions): Island {
  check(options, {
    axis: anAxis,
    plant: aPlant,
    loadKwh: energies,
    solarKwh: energies,
    backup: optional(bySchema(backupSchema)),
  });
  const { axis, backup = {}, loadKwh, solarKwh } = options;
  const plant = plantPerStep(options.plant, axis);
  const listed = resolveCircuits(backup.circuits ?? []);
  const output = resolveOutput(options.plant, backup.output);
  const circuits = planCarry(listed, output).together;
  const splitLegs = output.arrangement === 'unit-per-leg';
  const load = backedUpLoad(axis, plant, backup, listed.length, circuits, loadKwh);
  const byCircuits = backup.load === undefined && listed.length > 0;
  const drawKwh = !splitLegs
    ? load.loadKwh
    : byCircuits
      ? circuitsDrawKwh(axis, circuits, output.arrangement)
      : load.loadKwh.map((kwh) => 2 * kwh);
  const onIsland = backup.solarOnIsland ?? plant.coupling === 'dc';
  const solarLimitKwh = (backup.solarLimitKw ?? Number.POSITIVE_INFINITY) * axis.stepHours;
  const solar = onIsland ? solarKwh.map((kwh) => Math.min(kwh, solarLimitKwh)) : new Float64Array(axis.intervals);
  const { fadeShare = 0, gaugeShare = 0 } = backup.margin ?? {};
  const isOnePhase = byCircuits && !hasLegs(axis.zone, listed, backup.output);
  const notes = [
    isOnePhase ? `${load.basis}, all on one phase` : load.basis,
    onIsland ? 'its own solar running too' : 'no solar while the grid is down',
  ];
  if (fadeShare > 0) notes.push(`${percent(fadeShare)} of capacity lost to age`);
  if (gaugeShare > 0) notes.push(`a gauge that may read ${percent(gaugeShare)} too high`);
  if (splitLegs)
    notes.push(
      byCircuits
        ? 'each unit for its own leg: the heavier leg ends it'
        : 'each unit for its own leg, all of the load taken to be on one',
    );
  const trips = onIsland && backup.atFull === 'trip';
  if (trips) notes.push('solar that trips off a full battery');
  return {
    loadKwh: drawKwh,
    wantedKwh: load.loadKwh,
    splitLegs,
    solarKwh: solar,
    coldSteps: coldSteps(axis, backup),
    energyShare: 1 - fadeShare,
    gaugeErrorKwh: gaugeShare * quantityAt(plant.capacityKwh, 0),
    fullMarginKwh: trips ? tripMarginKwh(axis, plant, drawKwh, backup.reconnectMinutes ?? RECONNECT_MINUTES) : 0,
    circuits,
    circuitsListed: byCircuits ? listed.length : 0,
    medical: listed.some((circuit) => circuit.medical),
    basis: notes.join(', '),
  };
}

/** Minutes that solar stays off after a trip unless the site says otherwise (UL 1741, IEEE 1547: 300 s). */
const RECONNECT_MINUTES = 5;

/**
 * Solar that trips leaves the battery to carry the load until it reconnects. It then holds at least full less the most
 * that the load can take in that time: tapering under a capacity so much smaller never shows more than tripping does.
 */
function tripMarginKwh(axis: Axis, plant: PlantPerStep, loadKwh: Float64Array, minutes: number): number {
  const mostKwh = loadKwh.reduce((most, kwh) => Math.max(most, kwh), 0) + islandDrawKwh(plant);
  const mostKw = mostKwh / axis.stepHours;
  return (mostKw * minutes) / 60 / plant.conversion.dischargeEfficiency;
}

/** 1 in the intervals of months whose lows reach the cells' limit; undefined where there are none. */
export function coldSteps(axis: Axis, { cold }: Pick<Backup, 'cold'>): Uint8Array | undefined {
  const months = coldMonths(cold);
  if (months.length === 0) return undefined;
  return Uint8Array.from(axis.calendar.month, (month) => (months.includes(month) ? 1 : 0));
}

function backedUpLoad(
  axis: Axis,
  plant: PlantPerStep,
  backup: Backup,
  listed: number,
  circuits: readonly ResolvedCircuit[],
  loadKwh: Float64Array,
): { loadKwh: Float64Array; basis: string } {
  if (backup.load?.watts !== undefined) {
    const { watts } = backup.load;
    return {
      loadKwh: new Float64Array(axis.intervals).fill((watts / 1000) * axis.stepHours),
      basis: `a constant ${watts.toLocaleString('en-US')} W`,
    };
  }
  if (backup.load?.share !== undefined) return shareOf(loadKwh, backup.load.share);
  if (listed > 0) {
    const count = circuits.length === listed ? `${listed}` : `${circuits.length} of ${listed}`;
    return {
      loadKwh: circuitsLoadKwh(axis, circuits),
      basis: `${count} circuit${listed === 1 ? '' : 's'}, from their mean draw and hours`,
    };
  }
  const { reach } = plant;
  if (typeof reach === 'number') return shareOf(loadKwh, reach);
  return { loadKwh: loadKwh.map((kwh, i) => Math.min(kwh, reach[i]!)), basis: 'the load that the battery reaches' };
}

function shareOf(loadKwh: Float64Array, share: number): { loadKwh: Float64Array; basis: string } {
  if (share === 1) return { loadKwh, basis: 'the whole metered load' };
  return { loadKwh: loadKwh.map((kwh) => kwh * share), basis: `${percent(share)} of the metered load` };
}

function percent(share: number): string {
  return `${Number((share * 100).toPrecision(3))} %`;
}
