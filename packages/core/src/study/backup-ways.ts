import {
  backupHours,
  circuitsLoadKwh,
  type IslandOutput,
  type LoadCalculation,
  type MeasuredLoad,
  planCarry,
  type ResolvedCircuit,
  resolveOutput,
} from '../outage/index.ts';
import { circuitsDrawKwh, mostAtOnce, rulesOf } from '../outage/inside.ts';
import type { Plant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { plantOf } from '../site/inside.ts';
import { quoteName } from '../words/quote.ts';
import type { CircuitsReport } from './circuits-schema.ts';
import { type PlantSize, plantSizes } from './plant-sizes.ts';
import { inStorm, inStorms } from './storm.ts';

type Way = CircuitsReport['ways'][number];
type Needed = Pick<Way, 'units' | 'modulesPerUnit' | 'usual' | 'lacks'>;

/** What {@link backupWays} asks about. */
interface Asked {
  readonly listed: readonly ResolvedCircuit[];
  /** Of the units there are. */
  readonly output: IslandOutput;
  /** Whether the home is taken to have two legs. */
  readonly splitPhase: boolean;
  readonly calculated: LoadCalculation | null;
  readonly measured: MeasuredLoad;
  readonly goalHours: number;
}

/**
 * The two ways to back the home up: chosen circuits on a sub-panel, or the whole panel. What each asks of the output, and the
 * least equipment that the site may hold that carries it for the goal's hours, whenever the grid fails: full, without sun, on other
 * days and in a storm.
 */
export function backupWays(study: Study, asked: Asked): [Way, Way] {
  const { home, loadKnown } = study;
  const { axis } = home;
  const { listed, output, calculated, measured } = asked;
  const { arrangement } = output;
  const gives240 = arrangement === 'pooled';
  const all = mostAtOnce(listed);
  const partFits = carriesAll(listed, output);
  const drawKwh = (circuits: readonly ResolvedCircuit[]) => circuitsDrawKwh(axis, circuits, arrangement);
  const part: Way = {
    way: 'sub-panel',
    basis: `all ${listed.length} listed circuits, as many as may run at one time; whether they fit counts each one’s start on top`,
    loadVa: all.totalVa,
    fits: partFits,
    toManageVa: toManageVa(listed, output),
    ...leastEquipment(study, asked, {
      fits: (of) => carriesAll(listed, of),
      loadKwh: drawKwh(listed),
      stormKwh: drawKwh(inStorm(listed)),
    }),
  };
  const loadVa = calculated?.totalVa ?? measured.totalVa;
  const basis =
    calculated === null
      ? `metered maximum × 125 %${rulesOf(axis.zone) === 'us' ? '' : ', as reckoned in the United States'}`
      : `calculated load (${quoteName(calculated.method)})`;
  const wholeFits = loadVa <= output.continuousVa + 1e-9;
  const whole = { way: 'whole-panel', loadVa, toManageVa: Math.max(0, loadVa - output.continuousVa) } as const;
  if (!gives240) {
    // More units of the same arrangement give no 240 V, and what the whole panel has on each leg isn't known.
    const both = mostAtOnce(listed.filter(({ leg }) => leg === '240')).totalVa;
    return [
      part,
      {
        ...whole,
        basis: `${basis}; what each leg has of it, and what needs 240 V, which this arrangement doesn’t give, isn’t known`,
        fits: wholeFits && both === 0 ? null : false,
        toManageVa: Math.max(whole.toManageVa, both),
        ...noEquipment(both === 0 ? 'unknown' : 'output'),
      },
    ];
  }
  const atWork = circuitsLoadKwh(axis, inStorm(listed));
  const usual = circuitsLoadKwh(axis, listed);
  return [
    part,
    {
      ...whole,
      basis,
      // Where it is known by the meter alone, it may hold no more than a part of the panel.
      fits: wholeFits && !partFits && calculated === null ? null : wholeFits,
      ...(loadKnown
        ? leastEquipment(study, asked, {
            fits: (of) =>
              loadVa <= of.continuousVa + 1e-9 &&
              (calculated === null ? carriesAll(listed, of) : carriesEach(listed, of)),
            loadKwh: home.loadKwh,
            stormKwh: home.loadKwh.map((kwh, i) => kwh + atWork[i]! - usual[i]!),
          })
        : noEquipment('unknown')),
    },
  ];
}

/** What a way asks of equipment. */
interface Demand {
  /** Whether an output runs and starts it. */
  readonly fits: (output: IslandOutput) => boolean;
  /** Its mean draw on other days and in a storm, kWh an interval. */
  readonly loadKwh: Float64Array;
  readonly stormKwh: Float64Array;
}

function noEquipment(lacks: Way['lacks']): Needed {
  return { units: null, modulesPerUnit: null, usual: null, lacks };
}

/** The least that carries it whenever the grid fails, and what would on other days. */
function leastEquipment(study: Study, { listed, splitPhase, goalHours }: Asked, demand: Demand): Needed {
  const { home, island } = study;
  const { axis } = home;
  // With a medical circuit no number of units is a plan for so many hours.
  if (island.medical || listed.some(({ startKnown }) => !startKnown)) return noEquipment('unknown');
  // Nobody knows what comes after the data: hours are counted no further than once around them.
  if (goalHours > axis.intervals * axis.stepHours + 1e-9) return noEquipment('unknown');
  const sizes = plantSizes(study, { units: 1, modulesPerUnit: 0 }).filter(({ units, plant }) =>
    demand.fits(outputOf(study, units, plant, splitPhase)),
  );
  if (sizes.length === 0) return noEquipment('output');
  const anyTime = () => true;
  const isStorm = inStorms(study) ?? anyTime;
  const lasts = (size: PlantSize, loadKwh: Float64Array, counts: (i: number) => boolean) =>
    leastHours(study, size, loadKwh, goalHours, counts) >= goalHours - 1e-9;
  const usual = sizes.find((size) => lasts(size, demand.loadKwh, anyTime));
  const told = usual === undefined ? null : { units: usual.units, modulesPerUnit: usual.modulesPerUnit };
  const found = sizes
    .slice(usual === undefined ? sizes.length : sizes.indexOf(usual))
    .find((size) => (size === usual || lasts(size, demand.loadKwh, anyTime)) && lasts(size, demand.stormKwh, isStorm));
  if (found === undefined) return { ...noEquipment('energy'), usual: told };
  return { units: found.units, modulesPerUnit: found.modulesPerUnit, usual: told, lacks: null };
}

/** Shortest hours of a full battery without sun, of the starts that count, up to the goal; as age and gauge leave it. */
function leastHours(
  { home, island }: Study,
  { plant }: PlantSize,
  loadKwh: Float64Array,
  goalHours: number,
  counts: (i: number) => boolean,
): number {
  const { axis } = home;
  const { capacityKwh, shutdownKwh } = plant;
  const hours = backupHours({
    axis,
    plant: { ...plant, floorKwh: shutdownKwh, startKwh: capacityKwh },
    socKwh: new Float64Array(axis.intervals).fill(capacityKwh),
    loadKwh,
    solarKwh: new Float64Array(axis.intervals),
    capHours: goalHours,
    energyShare: island.energyShare,
    gaugeErrorKwh: (island.gaugeErrorKwh * capacityKwh) / home.plant.capacityKwh,
  });
  return hours.reduce((least, each, i) => (counts(i) && each < least ? each : least), Number.POSITIVE_INFINITY);
}

/** The output of so many units: what the site states of those there are, in proportion. */
function outputOf({ site }: Study, units: number, plant: Plant, splitPhase: boolean): IslandOutput {
  const { output } = site.backup!;
  if (output === undefined) return resolveOutput(plant, output, splitPhase);
  const share = units / plantOf(site).battery.units;
  const { legKw, surgeKva, ...rest } = output;
  return resolveOutput(
    plant,
    {
      ...rest,
      ...(legKw === undefined ? {} : { legKw: legKw * share }),
      ...(surgeKva === undefined ? {} : { surgeKva: surgeKva * share }),
    },
    splitPhase,
  );
}

/** Whether all run together, started one at a time. */
function carriesAll(listed: readonly ResolvedCircuit[], output: IslandOutput): boolean {
  return planCarry(listed, output).verdicts.every(({ verdict }) => verdict === 'together');
}

/** Whether each runs and starts, were others off. */
function carriesEach(listed: readonly ResolvedCircuit[], output: IslandOutput): boolean {
  return planCarry(listed, output).verdicts.every(({ verdict }) => verdict !== 'never');
}

/** What must be off at the same time for the circuits to run, VA: a sum says nothing of one leg, nor of what needs 240 V. */
function toManageVa(listed: readonly ResolvedCircuit[], { arrangement, continuousVa, legVa }: IslandOutput): number {
  const gives240 = arrangement === 'pooled';
  const beyondAll = mostAtOnce(listed).totalVa - continuousVa;
  const onLegs = mostAtOnce(gives240 ? listed : listed.filter(({ leg }) => leg !== '240')).legVa;
  const beyondLeg = (va: number) => (arrangement === 'one-leg' ? 0 : Math.max(0, va - legVa));
  const both = gives240 ? 0 : mostAtOnce(listed.filter(({ leg }) => leg === '240')).totalVa;
  return Math.max(0, beyondAll, beyondLeg(onLegs.L1) + beyondLeg(onLegs.L2) + both);
}
