// The battery, run one step at a time: docs/concepts/plant.md, "One step, in order".

import { type Document, listOf, minutesOf, partsOf } from './days.ts';
import type { CheckedAhead } from './floor-ahead.ts';
import type { ReadIntervals } from './interval-csv.ts';

/** The plant of a site file with its limits, kWh and kWh a step. */
export interface CheckedPlant {
  readonly capacity: number;
  /** The reserve floor that stands; `floors` has what holds in each interval. */
  readonly floor: number;
  readonly floors: Float64Array;
  /** The floors as they are known at the start of an interval: a planned outage from its notice on. */
  readonly floorsKnownAt: (interval: number) => Float64Array;
  readonly shutdown: number;
  readonly start: number;
  /** Where `hold` begins: full, where it was filled before the cold. */
  readonly startOfHold: number;
  readonly charge: number;
  /** What of `charge` the cells take in each interval: none where they are too cold. */
  readonly charges: Float64Array;
  readonly discharge: number;
  readonly chargeEfficiency: number;
  readonly dischargeEfficiency: number;
  readonly solarEfficiency: number;
  readonly decay: number;
  readonly standby: number;
  /** Under DC coupling what the shared inverter passes in a step; Infinity else. */
  readonly inverter: number;
  readonly gridCharging: boolean;
  readonly batteryExport: boolean;
}

export interface CheckedHome {
  readonly intervals: ReadIntervals;
  readonly load: Float64Array;
  readonly solar: Float64Array;
  /** Load behind the transfer equipment. */
  readonly reached: Float64Array;
  readonly plant: CheckedPlant;
  readonly importLimit: number;
  readonly exportLimit: number;
  /** What is kept for floors that will rise. */
  readonly ahead?: CheckedAhead;
}

/** Levels of one interval, kWh; ±Infinity are full and floor. */
export interface CheckedLevels {
  solarTo: number;
  gridTo: number;
  serveDownTo: number;
  exportDownTo: number;
  importCap: number;
}

export interface CheckedFlow {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
  readonly chargeKwh: Float64Array;
  readonly dischargeKwh: Float64Array;
  readonly curtailedKwh: Float64Array;
  readonly unservedKwh: Float64Array;
  readonly socKwh: Float64Array;
  /** What is stored before the first interval, kWh. */
  readonly startKwh: number;
}

/** A home from its site document and what its meter files say. */
export function homeOf(site: Document, tariff: Document, intervals: ReadIntervals, reach?: Float64Array): CheckedHome {
  const { columns, count } = intervals;
  const stepHours = intervals.stepMinutes / 60;
  const imported = columns.import_kwh!;
  const exported = columns.export_kwh!;
  const solar = columns.solar_kwh ?? exported.slice();
  const load = Float64Array.from(solar, (kwh, i) => Math.max(0, imported[i]! - exported[i]! + kwh));
  const plantPart = site.plant as Document;
  const share = (plantPart.reach as Document | undefined)?.share as number | undefined;
  const stated = (site.service ?? {}) as Document;
  // A limit that begins after the first day of the data held nothing of them.
  const isToCome = stated.from !== undefined && Date.parse(String(stated.from)) / 86_400_000 > intervals.day[0]!;
  const service = isToCome ? {} : stated;
  const highest = (kwh: Float64Array) => kwh.reduce((most, value) => Math.max(most, value), 0);
  const limit = (kw: unknown, metered: number) =>
    kw === undefined ? Number.POSITIVE_INFINITY : Math.max(Number(kw) * stepHours, metered);
  const plant = plantOf(site, intervals, count);
  // What the home draws with the battery idle is served, even above the limit.
  const idle = load.map((kwh, i) => kwh + plant.standby - Math.min(solar[i]!, plant.inverter));
  return {
    intervals,
    load,
    solar,
    reached: reach ?? (share === undefined ? load : load.map((kwh) => kwh * share)),
    plant,
    importLimit: limit(service.importLimitKw, Math.max(highest(imported), highest(idle))),
    exportLimit: Math.min(
      limit(service.exportLimitKw, highest(exported)),
      limit((tariff.export as Document | undefined)?.limitKw, highest(exported)),
    ),
  };
}

/** Minutes on the local clock from 1970 on at the start of an interval. */
function clockOf({ day, minuteOfDay }: ReadIntervals, i: number): number {
  return day[i]! * 1440 + minuteOfDay[i]!;
}

function plantOf(site: Document, intervals: ReadIntervals, count: number): CheckedPlant {
  const stepHours = intervals.stepMinutes / 60;
  const part = site.plant as Document;
  const battery = part.battery as Document;
  const modules = (battery.modules ?? { perUnit: 0, usableKwh: 0 }) as Document;
  const perUnit = Number(modules.perUnit);
  const units = Number(battery.units);
  const capacity = units * (Number(battery.usableKwh) + perUnit * Number(modules.usableKwh));
  const wire = (wiring: unknown) =>
    wiring === undefined
      ? Number.POSITIVE_INFINITY
      : (0.8 * Number((wiring as Document).ampere) * Number((wiring as Document).volt)) / 1000;
  const inverterKw = Number((part.inverter as Document | undefined)?.continuousKw ?? Number.POSITIVE_INFINITY);
  const chargeKw =
    units *
    Math.min(
      Number(battery.chargeKw) + perUnit * Number(modules.addsChargeKw ?? 0),
      inverterKw,
      wire(part.breaker),
      wire(part.chargingCord),
    );
  const dischargeKw =
    units *
    Math.min(
      Number(battery.dischargeKw) + perUnit * Number(modules.addsDischargeKw ?? 0),
      inverterKw,
      wire(part.breaker),
    );
  const oneWay = battery.roundTripEfficiency === undefined ? undefined : Math.sqrt(Number(battery.roundTripEfficiency));
  const chargeEfficiency = oneWay ?? Number(battery.chargeEfficiency);
  const dischargeEfficiency = oneWay ?? Number(battery.dischargeEfficiency);
  const level = (stated: unknown) => {
    const { share, kwh } = (stated ?? {}) as Document;
    return share === undefined ? Number(kwh ?? 0) : Number(share) * capacity;
  };
  const floor = level(part.floor);
  const floors = new Float64Array(count).fill(floor);
  const reserve = ((site.backup as Document | undefined)?.reserve ?? {}) as Document;
  const cold = (site.backup as Document | undefined)?.cold as Document | undefined;
  const isCold = (month: number) => cold !== undefined && (cold.lowsC as number[])[month - 1]! <= Number(cold.limitC);
  const allCold = Array.from({ length: 12 }, (_, m) => isCold(m + 1)).every(Boolean);
  const before = (month: number) => ((month + 10) % 12) + 1;
  // "A floor of a cold month holds from the first day of that cold on"; "where no month is warm … floors stay as stated".
  const byMonth = (month: number) =>
    listOf(reserve.byMonth as Document[]).reduce((most, rule) => {
      const months = new Set(listOf(rule.months as number[]));
      if (!allCold)
        for (const own of [...months])
          for (let m = own; isCold(m) && isCold(before(m)); m = before(m)) months.add(before(m));
      return months.has(month) ? Math.max(most, Number(rule.share) * capacity) : most;
    }, 0);
  for (let i = 0; i < count; i++) {
    floors[i] = Math.max(floors[i]!, byMonth(partsOf(intervals.day[i]!).month));
    for (const rule of listOf(reserve.byHour as Document[])) {
      const from = minutesOf(rule.from as string);
      const to = minutesOf(rule.to as string);
      const minute = intervals.minuteOfDay[i]!;
      if (from < to ? minute >= from && minute < to : minute >= from || minute < to)
        floors[i] = Math.max(floors[i]!, Number(rule.share) * capacity);
    }
  }
  const charges = Float64Array.from({ length: count }, (_, i) =>
    isCold(partsOf(intervals.day[i]!).month) ? 0 : chargeKw * stepHours,
  );
  const outages = listOf(reserve.planned as Document[]);
  // "Data that begin in a cold month begin at the lowest floor by month since the cold came".
  const start = (stands: Float64Array) => {
    if (part.startShare !== undefined) return Number(part.startShare) * capacity;
    let least = stands[0]!;
    let month = partsOf(intervals.day[0]!).month;
    for (let k = 0; k < 12 && isCold(month); k++, month = before(month))
      least = Math.min(least, Math.max(floor, byMonth(month)));
    return least;
  };
  const unnoticed = floors.slice();
  const raises = outages
    .toSorted((a, b) => (String(a.from) < String(b.from) ? -1 : 1))
    .map((outage) => {
      const at = (local: unknown) =>
        intervals.day.findIndex((_, i) => clockOf(intervals, i) >= Date.parse(`${local}Z`) / 60_000);
      const down = at(outage.from);
      const back = at(outage.to);
      const noticed = Math.max(0, Math.ceil(down - Number(outage.noticeHours) / stepHours));
      // "Rises from notice on as fast as charging can follow"; with sun alone it is full from notice on.
      let level = noticed > 0 ? floors[noticed - 1]! : start(floors);
      const raised = new Map<number, number>();
      for (let i = noticed; i < (back < 0 ? count : back); i++) {
        if (i < down) level += charges[i]! * chargeEfficiency;
        raised.set(i, part.gridCharging === false ? capacity : Math.min(capacity, level));
      }
      for (const [i, kwh] of raised) floors[i] = Math.max(floors[i]!, kwh);
      return { noticed, raised };
    });
  const floorsKnownAt = (interval: number): Float64Array => {
    const known = unnoticed.slice();
    for (const { noticed, raised } of raises)
      if (noticed <= interval) for (const [i, kwh] of raised) known[i] = Math.max(known[i]!, kwh);
    return known;
  };
  const dc = part.coupling === 'dc';
  return {
    capacity,
    floor,
    floors,
    floorsKnownAt: outages.length === 0 ? () => floors : floorsKnownAt,
    shutdown: level(part.shutdown),
    start: start(floors),
    // "`hold` filled up before the cold, so that it begins full"; "a start that the site states stays".
    startOfHold:
      charges[0] === 0 && charges.some((kwh) => kwh > 0) && start(floors) <= floors[0]! + 1e-9
        ? capacity
        : start(floors),
    charge: chargeKw * stepHours,
    charges,
    discharge: dischargeKw * stepHours,
    chargeEfficiency,
    dischargeEfficiency,
    solarEfficiency: dc
      ? Math.min(1, chargeEfficiency / Number((part.inverter as Document).efficiency))
      : chargeEfficiency,
    decay: 1 - (1 - Number(battery.decayPerMonth ?? 0)) ** (stepHours / 730),
    standby: (units * Number(battery.standbyW ?? 0) * stepHours) / 1000,
    inverter: dc ? units * inverterKw * stepHours : Number.POSITIVE_INFINITY,
    gridCharging: part.gridCharging !== false,
    batteryExport: part.batteryExport === true,
  };
}

function emptyFlow(count: number, startKwh: number): CheckedFlow {
  return {
    importKwh: new Float64Array(count),
    exportKwh: new Float64Array(count),
    chargeKwh: new Float64Array(count),
    dischargeKwh: new Float64Array(count),
    curtailedKwh: new Float64Array(count),
    unservedKwh: new Float64Array(count),
    socKwh: new Float64Array(count),
    startKwh,
  };
}

/** The home without its battery: "Without the plant". */
export function runWithoutPlant(home: CheckedHome): CheckedFlow {
  const flow = emptyFlow(home.intervals.count, home.plant.start);
  for (let i = 0; i < home.intervals.count; i++) {
    const net = home.load[i]! - home.solar[i]!;
    if (net >= 0) {
      flow.importKwh[i] = Math.min(net, home.importLimit);
      flow.unservedKwh[i] = net - flow.importKwh[i]!;
    } else {
      flow.exportKwh[i] = Math.min(-net, home.exportLimit);
      flow.curtailedKwh[i] = -net - flow.exportKwh[i]!;
    }
  }
  return flow;
}

/** What the plant asks of the grid in an interval before the battery does anything. */
export function netOf(home: CheckedHome, i: number): { net: number; clipped: number; discharge: number } {
  const { plant } = home;
  const through = Math.min(home.solar[i]!, plant.inverter);
  return {
    net: home.load[i]! + plant.standby - through,
    clipped: home.solar[i]! - through,
    discharge: Math.min(plant.discharge, plant.inverter - through),
  };
}

/** Runs a rule: `levelsAt` is asked before each interval, with what is stored then. */
export function runRule(
  home: CheckedHome,
  levelsAt: (i: number, soc: number, flow: CheckedFlow) => Partial<CheckedLevels>,
): CheckedFlow {
  const { plant, intervals } = home;
  const { capacity, chargeEfficiency, dischargeEfficiency, solarEfficiency } = plant;
  const flow = emptyFlow(intervals.count, plant.start);
  const { ahead } = home;
  let soc = plant.start;
  for (let i = 0; i < intervals.count; i++) {
    const asked = { ...levelsAt(i, soc, flow) };
    if (ahead !== undefined) {
      asked.gridTo = Math.max(asked.gridTo ?? Number.NEGATIVE_INFINITY, ahead.need[i]!);
      asked.serveDownTo = Math.max(asked.serveDownTo ?? Number.NEGATIVE_INFINITY, ahead.keep[i]!);
      asked.exportDownTo = Math.max(asked.exportDownTo ?? Number.POSITIVE_INFINITY, ahead.keep[i]!);
    }
    const { importCap } = asked;
    let next = step(i, soc, asked);
    if (ahead !== undefined && importCap !== undefined && importCap < Number.POSITIVE_INFINITY) {
      // "A cap is not held below that": run once more without it.
      const least = Math.max(plant.floors[i]!, (plant.gridCharging ? ahead.need : ahead.keep)[i]!);
      const held = Math.max(least, ahead.needUnder(i, importCap));
      if (next < (flow.dischargeKwh[i]! > 0 ? held : least) - 1e-9)
        next = step(i, soc, { ...asked, importCap: undefined, gridTo: least, serveDownTo: held });
    }
    soc = next;
  }
  return flow;

  function step(i: number, before: number, asked: Partial<CheckedLevels>): number {
    let soc = before;
    const floor = plant.floors[i]!;
    const level = (value: number | undefined, otherwise: number) =>
      Math.min(capacity, Math.max(floor, value ?? otherwise));
    const solarTo = level(asked.solarTo, capacity);
    const gridTo = plant.gridCharging ? level(asked.gridTo, floor) : Number.NEGATIVE_INFINITY;
    const serveDownTo = level(asked.serveDownTo, floor);
    const exportDownTo = level(asked.exportDownTo, capacity);
    const cap = Math.min(asked.importCap ?? Number.POSITIVE_INFINITY, home.importLimit);
    const { net, clipped, discharge: most } = netOf(home, i);

    // 1. Decay. 2. Clipped solar.
    if (soc > floor) soc -= (soc - floor) * plant.decay;
    let charged = 0;
    let discharged = 0;
    let curtailed = 0;
    let imported = 0;
    let exported = 0;
    flow.unservedKwh[i] = 0;
    if (clipped > 0) {
      charged = Math.max(0, Math.min(clipped, plant.charges[i]!, (capacity - soc) / solarEfficiency));
      soc += charged * solarEfficiency;
      curtailed = clipped - charged;
    }
    if (net >= 0) {
      const reach = home.reached[i]! + plant.standby;
      if (soc < gridTo && net <= cap) {
        const bought = Math.max(0, Math.min((gridTo - soc) / chargeEfficiency, plant.charges[i]! - charged, cap - net));
        soc += bought * chargeEfficiency;
        charged += bought;
        imported = net + bought;
      } else {
        const can = Math.min(net, most, reach);
        discharged = Math.max(0, Math.min(can, (soc - serveDownTo) * dischargeEfficiency));
        if (net - discharged > cap)
          discharged = Math.max(
            discharged,
            Math.min(discharged + (net - discharged - cap), can, (soc - floor) * dischargeEfficiency),
          );
        soc -= discharged / dischargeEfficiency;
        imported = net - discharged;
        if (imported <= 0 && plant.batteryExport) {
          const sold = Math.max(
            0,
            Math.min((soc - exportDownTo) * dischargeEfficiency, most - discharged, home.exportLimit),
          );
          soc -= sold / dischargeEfficiency;
          discharged += sold;
          exported = sold;
        }
      }
      flow.unservedKwh[i] = Math.max(0, imported - home.importLimit);
      imported -= flow.unservedKwh[i]!;
    } else {
      const surplus = -net;
      const room = (to: number) => Math.max(0, (to - soc) / solarEfficiency);
      let stored = Math.min(surplus, plant.charges[i]! - charged, room(Math.max(solarTo, gridTo, floor)));
      soc += stored * solarEfficiency;
      const beyond = surplus - stored - home.exportLimit;
      if (beyond > 0) {
        const more = Math.min(beyond, plant.charges[i]! - charged - stored, room(capacity));
        soc += more * solarEfficiency;
        stored += more;
      }
      charged += stored;
      exported = Math.min(surplus - stored, home.exportLimit);
      curtailed += surplus - stored - exported;
      if (stored === surplus && soc < gridTo) {
        const bought = Math.max(0, Math.min((gridTo - soc) / chargeEfficiency, plant.charges[i]! - charged, cap));
        soc += bought * chargeEfficiency;
        charged += bought;
        imported = bought;
      }
      if (charged === 0 && plant.batteryExport) {
        const sold = Math.max(
          0,
          Math.min((soc - exportDownTo) * dischargeEfficiency, most, home.exportLimit - exported),
        );
        soc -= sold / dischargeEfficiency;
        discharged += sold;
        exported += sold;
      }
    }
    flow.importKwh[i] = imported;
    flow.exportKwh[i] = exported;
    flow.chargeKwh[i] = charged;
    flow.dischargeKwh[i] = discharged;
    flow.curtailedKwh[i] = curtailed;
    flow.socKwh[i] = soc;
    return soc;
  }
}

/** Buys to full, carries no load. */
export const runHold = (home: CheckedHome): CheckedFlow =>
  runRule({ ...home, plant: { ...home.plant, start: home.plant.startOfHold } }, () => ({
    gridTo: Number.POSITIVE_INFINITY,
    serveDownTo: Number.POSITIVE_INFINITY,
  }));

/** Stores surplus, carries load, never buys. */
export const runSelfConsumption = (home: CheckedHome): CheckedFlow => runRule(home, () => ({}));

/** Holds import under a target, kWh a step, in the intervals that count; buys to full, carries no load else. */
export const runPeakShave = (home: CheckedHome, target: number, counts: (i: number) => boolean): CheckedFlow =>
  runRule(home, (i) => ({
    gridTo: Number.POSITIVE_INFINITY,
    serveDownTo: Number.POSITIVE_INFINITY,
    importCap: counts(i) ? target : undefined,
  }));
