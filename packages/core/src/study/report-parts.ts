import type * as z from 'zod';
import { type Axis, formatDate } from '../axis/index.ts';
import { CAP_HOURS, type ResolvedCircuit } from '../outage/index.ts';
import { hoursAtFullOutput, hoursToFill, powerLimits } from '../plant/index.ts';
import { perYear, type Study, spanDays } from '../site/index.ts';
import { coversYear, plantOf } from '../site/inside.ts';
import type { CompiledTariff } from '../tariff/index.ts';
import { VERSION } from '../version.ts';
import { type Provenance, provenanceOf, studyOrigin, tariffOver } from './provenance.ts';
import type { axisSchema, plantPartSchema } from './report-parts-schema.ts';
import { standingFloor } from './sheet-reserve.ts';

/** The span of a report. */
export type AxisPart = Readonly<z.output<typeof axisSchema>>;
/** The battery of a report. */
export type PlantPart = Readonly<z.output<typeof plantPartSchema>>;

/** What every report of a home on its axis begins with, after its format. */
export function studyParts(study: Study): {
  version: string;
  site: string;
  axis: AxisPart;
  plant: PlantPart;
  provenance: Provenance;
} {
  const { provenance, ...home } = homeParts(study);
  return { ...home, plant: plantPart(study), provenance };
}

/** The same of a home that may have no battery. */
export function homeParts(study: Study): { version: string; site: string; axis: AxisPart; provenance: Provenance } {
  return {
    version: VERSION,
    site: study.site.name,
    axis: axisPart(study.home.axis, study.meteredStepMinutes),
    provenance: provenanceOf(studyOrigin(study), tariffOver(study.tariff, study.home.axis)),
  };
}

/** The money of a report. */
export function moneyParts({ currency, currencyDecimals }: Pick<CompiledTariff, 'currency' | 'currencyDecimals'>): {
  currency: string;
  currencyDecimals: number;
} {
  return { currency, currencyDecimals };
}

/** The span of a report, with its dates on the home's clock. */
export function axisPart(axis: Axis, meteredStepMinutes = axis.stepMinutes): AxisPart {
  const { days } = axis.calendar;
  return {
    start: new Date(axis.startEpochMs).toISOString(),
    end: new Date(axis.endEpochMs).toISOString(),
    zone: axis.zone,
    stepMinutes: axis.stepMinutes,
    ...(meteredStepMinutes === axis.stepMinutes ? {} : { meteredStepMinutes }),
    intervals: axis.intervals,
    firstDay: formatDate(days[0]!),
    lastDay: formatDate(days[days.length - 1]!),
    localDays: days.length,
    spanDays: spanDays(axis),
    perYear: perYear(axis),
    isYear: coversYear(axis),
  };
}

/** Hours of backup are counted up to here: never beyond the data, which wrap. */
export function capHoursOf(axis: Axis): number {
  return Math.min(CAP_HOURS, axis.intervals * axis.stepHours);
}

/** How many of the listed circuits are carried; null where the load isn't theirs. */
export function carriedOf({ island }: Study): { circuits: number; listed: number } | null {
  const { circuits, circuitsListed } = island;
  return circuitsListed === 0 ? null : { circuits: circuits.length, listed: circuitsListed };
}

/** What a circuit is stated or taken to be: powers in VA, its mean in W in its hours and months. */
export function circuitPart(circuit: ResolvedCircuit) {
  return {
    name: circuit.name,
    leg: circuit.leg,
    priority: circuit.priority,
    runningVa: circuit.runningVa,
    startVa: circuit.startKnown ? circuit.startVa : null,
    meanW: circuit.runningW * circuit.dutyShare,
  };
}

/** The battery of a report, all units together. */
export function plantPart(study: Study): PlantPart {
  const {
    home: { plant },
    site,
  } = study;
  const stated = plantOf(site);
  const { units, modules } = stated.battery;
  const limits = powerLimits(stated);
  return {
    units,
    modulesPerUnit: modules?.perUnit ?? 0,
    capacityKwh: plant.capacityKwh,
    ...standingFloor(study),
    dischargeKw: plant.dischargeLimitKw,
    dischargeSetBy: limits.discharge.setBy,
    chargeKw: plant.chargeLimitKw,
    chargeSetBy: limits.charge.setBy,
    hoursAtFullOutput: hoursAtFullOutput(plant),
    hoursToFill: hoursToFill(plant),
  };
}
