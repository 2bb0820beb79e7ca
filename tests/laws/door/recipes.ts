import { makeAxis } from '@duskbank/core/axis';
import {
  bestInHindsight,
  type Home,
  makeScratch,
  persistence,
  runStrategy,
  searchSettings,
  selfConsumption,
  windowFill,
} from '@duskbank/core/dispatch';
import type { InputIssue } from '@duskbank/core/input';
import { type IntervalSeries, writeIntervalCsv } from '@duskbank/core/meter';
import {
  backupHours,
  NEW_DWELLING,
  planCarry,
  resolveCircuits,
  resolveOutput,
  US_AVERAGE_2023,
} from '@duskbank/core/outage';
import { islanded, makeFlows, makeLevels, plantOnAxis, plantPerStep, startState } from '@duskbank/core/plant';
import { parseSite } from '@duskbank/core/site';
import { makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import * as z from 'zod';

/** How an exported function is called, and what its result may hold. */
export interface Recipe {
  /** Good arguments, fresh each time. */
  readonly args: () => readonly unknown[];
  /** The documentation promises no finite number: `infinite` says that Infinity means something, `gaps` that NaN does. */
  readonly allows?: 'infinite' | 'gaps';
}

const zone = 'America/Denver';
const startEpochMs = Date.UTC(2026, 2, 7, 7);
/** Three days with a clock change among them. */
const axis = makeAxis({ startEpochMs, stepMinutes: 60, intervals: 72, zone });
const n = axis.intervals;
const kwh = (value: number) => new Float64Array(n).fill(value);
const daily = (values: (hour: number) => number) =>
  Float64Array.from(axis.calendar.minuteOfDay, (minute) => values(minute / 60));

const siteDocument = {
  format: 'duskbank.site/1',
  name: 'Mill Row 2',
  zone,
  meter: { files: ['none.csv'] },
  tariff: 'none.json',
  plant: {
    battery: { units: 1, usableKwh: 8, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.85, standbyW: 20 },
    floor: { share: 0.1 },
    controller: { windowsPerDay: 1 },
  },
  backup: {
    circuits: [
      { name: 'Kitchen', watts: 300, leg: 'L1', priority: 1 },
      { name: 'Pump', watts: 500, lockedRotorAmps: 12, leg: 'L2', priority: 2, sharedNeutralWith: 'Kitchen' },
    ],
    panel: { mainAmps: 200, dwelling: { floorAreaSqFt: 1500 } },
    reserve: { keepHours: 2, planned: [{ from: '2026-03-08T08:00', to: '2026-03-08T12:00', noticeHours: 12 }] },
  },
  economics: { price: 5000, covers: 'one battery unit, installed', cycleLife: 6000 },
};
const site = parseSite(siteDocument);
const backup = site.backup!;
const tariffDocument = {
  format: 'duskbank.tariff/1',
  name: 'Two Prices',
  currency: 'USD',
  windows: [
    { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: 0.45 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
  demand: [{ name: 'peak', pricePerKw: 3 }],
  fixed: [{ name: 'service', amount: 10, per: 'month' }],
  export: { kind: 'net-billing', pricePerKwh: 0.05 },
};
const tariff = parseTariff(tariffDocument);
const loadKwh = daily((hour) => (hour >= 17 && hour < 22 ? 1.5 : 0.4));
const solarKwh = daily((hour) => (hour > 7 && hour < 17 ? 1 : 0));
const series: IntervalSeries = {
  axis,
  importKwh: loadKwh.map((load, i) => Math.max(0, load - solarKwh[i]!)),
  exportKwh: loadKwh.map((load, i) => Math.max(0, solarKwh[i]! - load)),
  solarKwh,
  estimated: new Uint8Array(n),
};
const gappy: IntervalSeries = { ...series, importKwh: series.importKwh!.map((v, i) => (i === 30 ? Number.NaN : v)) };
const study = makeStudy({ site, series, tariff });
const home: Home = study.home;
const { plant, service, tariff: compiled } = home;
const onAxis = plantOnAxis(plant, axis, loadKwh, solarKwh, service);
const flows = runStrategy(selfConsumption, home).flows;
const passed = { importKwh: flows.importKwh, exportKwh: flows.exportKwh };
const circuits = resolveCircuits(backup.circuits!);
const output = resolveOutput(plant, backup.output);
const hours = backupHours({ axis, plant, socKwh: flows.socKwh, loadKwh, solarKwh });
const kind = { name: 'all outages', perYear: 1.3, meanHours: 4, sigma: 1.5 };
const controller = { windowsPerDay: 1, seasons: 1, weekends: false, clockMinutes: 30 };
const sheets = searchSettings(onAxis, compiled, controller);
const reserve = {
  reservePercent: 20,
  dated: [
    { reservePercent: 50, when: { months: [3] } },
    { reservePercent: 100, when: { from: '2026-03-08T08:00', to: '2026-03-08T12:00' } },
  ],
};
const issue: InputIssue = { code: 'wrong', where: { path: ['a', 1] }, received: '1', expected: '2' };
const problem = {
  stepHours: 1,
  netLoadKwh: loadKwh.map((load, i) => load - solarKwh[i]!),
  importPricePerKwh: compiled.importPricePerKwh,
  exportPricePerKwh: compiled.exportPricePerKwh,
  capacityKwh: 8,
  floorKwh: 1,
  initialKwh: 1,
  chargeLimitKw: 3,
  dischargeLimitKw: kwh(3),
  chargeEfficiency: 0.9,
  dischargeEfficiency: 0.9,
  demandCharges: [{ pricePerKw: 2, period: new Int32Array(n), averagingSteps: 1, soFarKw: 0.5 }],
};
const origin = {
  inputs: [{ role: 'meter', path: 'home.csv', bytes: 3, sha256: null }],
  assumptions: [{ file: 'site', field: 'plant.reach', value: 'whole-home' }],
};
const actual = [{ start: '2026-03-07', end: '2026-03-09', total: 30, importKwh: 40 }];
const dwelling = { floorAreaSqFt: 1500, appliancesVa: { Range: 8000 } };
const outageArgs = { axis, plant, loadKwh, solarKwh };
const stretch = {
  from: '2026-01-01',
  until: '2027-12-31',
  tariff: 'A',
  strategy: 'window',
  savingsPerYear: 400,
};
const mine = { ...windowFill, name: 'mine', role: 'rule' };

const of = (...args: readonly unknown[]): Recipe => ({ args: () => args });
const gaps = (...args: readonly unknown[]): Recipe => ({ args: () => args, allows: 'gaps' });
const infinite = (...args: readonly unknown[]): Recipe => ({ args: () => args, allows: 'infinite' });

const MAKE_STUDY = infinite({
  site,
  series,
  tariff,
  findings: [{ code: 'gap', severity: 'warning', where: {}, data: {}, message: 'a gap' }],
  tariffOptions: {},
  offered: false,
  successors: [{ tariff, options: {} }],
});
const files: Record<string, unknown> = {
  'site.json': { ...siteDocument, meter: { files: ['home.csv'] } },
  'none.json': tariffDocument,
};
const read = (path: string) =>
  new TextEncoder().encode(path === 'home.csv' ? writeIntervalCsv(series) : JSON.stringify(files[path] ?? {}));

const readWithCosts = (path: string) =>
  path === 'home.csv'
    ? new TextEncoder().encode('start,usage kWh,cost\n2026-03-01 00:00,0.5,0.08\n2026-03-01 01:00,0.4,0.07\n')
    : read(path);

const readBills = () => new TextEncoder().encode('start,end,total,kWh\n2026-03-01,2026-03-31,100.00,500\n');

const everyPart = ['flows', 'bill', 'lines', 'energy', 'reserve', 'backupHours', 'bound', 'sheets'];

/** A recipe for every exported function of every sub-path: a new export needs one. Methods stand as `object.method`. */
export const RECIPES: Record<string, Record<string, Recipe>> = {
  axis: {
    makeAxis: of({ startEpochMs, stepMinutes: 60, intervals: 72, zone }),
    intervalStartMs: of(axis, 3),
    intervalAt: of(axis, startEpochMs),
    billingPeriods: of(axis, { by: 'read-dates', civilDays: [20_500, 20_530, 20_560] }),
    civilDayOf: of(2026, 3, 31),
    civilDayOfDate: of('2026-03-31'),
    dateOfCivilDay: of(20_500),
    weekdayOfCivilDay: of(20_500),
    formatDate: of({ year: 2026, month: 3, dayOfMonth: 31 }),
    holidayDays: of(
      [
        { name: 'New Year', on: { kind: 'date', month: 1, dayOfMonth: 1 }, observed: 'next-weekday', sinceYear: 2000 },
        { name: 'May', on: { kind: 'nth-weekday', month: 5, weekday: 1, nth: -1 }, observed: 'none' },
        { name: 'Easter', on: { kind: 'easter', offsetDays: 1, church: 'western' }, observed: 'none' },
        { name: 'Own', on: { kind: 'days', civilDays: [20_500] }, observed: 'none' },
      ],
      20_454,
      20_818,
    ),
    westernEaster: of(2026),
    orthodoxEaster: of(2026),
    isZone: of(zone),
    offsetMinutesAt: of(zone, startEpochMs),
    offsetSpans: of(zone, startEpochMs, startEpochMs + 400 * 86_400_000),
    epochAtLocal: of(zone, startEpochMs, 'earlier'),
  },
  input: {
    monthsInWords: of([10, 11, 12, 1]),
    InputError: of([issue]),
    checkDocument: of(z.strictObject({ a: z.number() }), { a: 1 }, 'file.json', ['b']),
    describeIssue: of(issue),
    fields: of({ a: z.number() }),
    formatPath: of(['a', 1]),
    nearestName: of('windw', ['window', 'hold']),
    printedBound: of(2.34, 'up', 1),
    reportIssue: of(issue),
    numberCure: of('1.200,00'),
    quoteName: of('Harrow Lane 9'),
    showKey: of('price'),
    showName: of('site.json'),
    showValue: of({ a: 1 }),
    visible: of('a\tb'),
    visibleJson: of('{"a": 1}'),
    decodeDocument: of(new TextEncoder().encode('{"a": 1}'), 'site.json'),
    tooDeep: of('site.json', 3),
  },
  plant: {
    executeLevels: { args: () => [onAxis, makeLevels(n), 0, n, startState(plant), makeFlows(n)] },
    makeFlows: of(72),
    makeLevels: infinite(72),
    startState: of(plant),
    executeWithoutPlant: { args: () => [axis, loadKwh, solarKwh, service, makeFlows(n)] },
    plantOnAxis: infinite(plant, axis, loadKwh, solarKwh, service, onAxis),
    plantPerStep: infinite(plant, axis, service),
    islanded: infinite(onAxis, {
      energyShare: 0.9,
      gaugeErrorKwh: 0.1,
      fullMarginKwh: 0.1,
      coldSteps: new Uint8Array(n),
    }),
    hoursAtFullOutput: infinite(plant),
    hoursToFill: infinite(plant),
    powerLimits: infinite(site.plant),
    resolvePlant: of(site.plant, loadKwh),
    usableCapacityKwh: of(site.plant),
  },
  dispatch: {
    storedValue: of(problem, 5, 2),
    likeDayQuantile: of(0.5, 3),
    'persistence.forecast': of(axis, loadKwh, 1),
    'sameWeekday.forecast': of(axis, loadKwh, 1),
    'likeDayBlend.forecast': of(axis, loadKwh, 1),
    'clearSkyScaled.forecast': of(axis, solarKwh, 1),
    scoreForecast: of(axis, loadKwh, persistence, 0.5),
    likeDays: of(axis, 2, 2, 3),
    bestInHindsight: of(home, { wearPerKwh: 0.01, onAxis }),
    optimum: of(bestInHindsight(home), 0),
    homeProblem: infinite(onAxis, compiled),
    homeOnAxis: infinite(home, onAxis),
    makeScratch: of(),
    optimalDispatch: of(problem, makeScratch()),
    checkBound: of(problem, 1, problem.importPricePerKwh),
    storedPrices: of(problem, { socKwh: problem.netLoadKwh.map(() => 0) }),
    peakShave: of({ targetKw: 3 }),
    followPrices: of(),
    rolling: of({
      everyHours: 1,
      horizonHours: 48,
      scenarios: 3,
      wearPerKwh: 0.01,
      solarForecast: { error: 0.2, seed: 1 },
    }),
    publishedUntil: of(axis, 5),
    runStrategy: of(mine, home, { flows: makeFlows(n), levels: makeLevels(n) }),
    searchedSettings: of(controller, { reserve, found: sheets }),
    searchSettings: of(onAxis, compiled, controller, reserve),
    followSheet: of({ ...sheets.all, ...reserve }),
  },
  economics: {
    simplePayback: of(
      { price: 5000, covers: 'a battery', rebate: 100 },
      [stretch, { ...stretch, from: '2028-01-01', until: null }],
      'the home',
    ),
    presentValue: of([-100, 60, 60], 0.1),
    capitalRecoveryFactor: of(0.05, 10),
    equivalentAnnual: of([-100, 60, 60], 0.1),
    internalRateOfReturn: of([-100, 60, 60]),
    paybackTime: of([-100, 60, 60], 0.1),
    annuity: of(15000, 0.08 / 12, 60),
    borrowedWithFee: of(15000, 0.25),
    rainflow: of(Float64Array.of(0, 4, 1, 3)),
    wearOf: of({ price: 5000, covers: 'a battery', cycleLife: 6000 }, { capacityKwh: 8, dischargeEfficiency: 0.9 }),
  },
  meter: {
    adjustSeries: gaps(series, { flipGrid: true, scale: { import: 2 }, shiftMinutes: 60, solarInLoad: true }),
    checkMetering: of(series, {
      latitudeDeg: 39.7,
      longitudeDeg: -105,
      billedKwh: 40,
      rolesStated: true,
      drawnIsAll: true,
      noPanels: false,
      netOneWay: false,
    }),
    writeIntervalCsv: of(series),
    joinSeries: gaps([series, { axis, loadKwh }]),
    sumToStep: gaps({ ...gappy, axis }, 60, 0),
    energyOnAxis: gaps(loadKwh, axis, axis),
    readIntervals: gaps(
      new TextEncoder().encode('start,import_kwh\n2026-01-01 00:00,0.2\n2026-01-01 00:15,0.3\n2026-01-01 00:30,0.3\n'),
      { zone, unit: 'kWh' },
    ),
    parseIntervalData: gaps('start,import_kwh\n2026-01-01 00:00,0.2\n2026-01-01 00:15,0.3\n2026-01-01 00:30,0.3\n', {
      zone,
      unit: 'kWh',
      columns: { start: 'start', import: ['import_kwh'] },
      adjust: { flipGrid: false },
      clock: 'local',
      usagePoint: [1],
      meterReading: [1],
      rows: { 'Register 2': 'export' },
      repeats: 'first',
      serviceKw: { drawKw: 48, feedKw: 48 },
    }),
    demandDays: of(series),
    estimatedShare: of(series, new Uint8Array(n)),
    gapIntervals: of(gappy),
    repairGaps: gaps(gappy, { maxGapHours: 3, likeDays: 5 }),
    undoRepairs: gaps(series, [
      { channel: 'import', firstInterval: 3, intervals: 2, energyKwh: 1, spreadKwh: [0, 2], likeDays: 3 },
    ]),
    channelField: of('import'),
    faultsOf: of('home.csv', [
      {
        code: 'truncated',
        severity: 'error',
        where: {},
        data: {},
        message: 'cut',
        lines: [2],
        quoted: { cell: '"0.1.2"', line: 2 },
      },
    ]),
  },
  outage: {
    medicalHazards: of(planCarry(circuits, output), 'manual'),
    overloadsOf: infinite(circuits, output),
    planCarry: infinite(circuits, output),
    resolveOutput: of(plant, { arrangement: 'pooled', legKw: 2, surgeKva: 5 }),
    sharedNeutralHazards: of(circuits, output),
    byPriority: of(circuits),
    circuitsLoadKwh: of(axis, circuits),
    questionCircuits: of(backup.circuits),
    resolveCircuits: of(backup.circuits),
    movingFloor: infinite({
      axis,
      plant,
      reserve: backup.reserve,
      islandLoadKwh: loadKwh,
      energyShare: 0.9,
      gaugeErrorKwh: 0.1,
    }),
    backupHours: of({
      ...outageArgs,
      socKwh: flows.socKwh,
      startKwh: 1,
      capHours: 100,
      energyShare: 0.9,
      gaugeErrorKwh: 0.1,
      fullMarginKwh: 0,
      coldSteps: new Uint8Array(n),
    }),
    islandAdditions: infinite(islanded(plantPerStep(plant, axis)), loadKwh, solarKwh),
    islandOf: of({ ...outageArgs, backup }),
    checkPanel: of(backup.panel, 4000),
    continuousAmps: of(200),
    measuredLoad: of(axis, loadKwh, { newVa: 1000, hasSolar: true }),
    optionalDwellingLoad: of(dwelling, NEW_DWELLING),
    panelCapacityVa: of(200, 240),
    standardDwellingLoad: of(dwelling),
    expectedUnservedKwhPerYear: of([kind], { hours: [0, 1, 4], kwh: [0, 0.5, 3] }),
    lastsLonger: of(kind, 4),
    meanLengthUpTo: of(kind, 4),
    outageKinds: of(US_AVERAGE_2023),
    reliabilityIndices: of([{ customers: 100, minutes: 30 }], 1000, 8760),
    reserveBySituation: of({
      axis,
      plant,
      socKwh: flows.socKwh,
      peakSteps: new Uint8Array(n).fill(1, 5, 9),
      eventSteps: new Uint8Array(n),
      stormMonths: [3],
    }),
    simulateOutage: of({
      ...outageArgs,
      circuits,
      start: 5,
      startSocKwh: 4,
      hours: 30,
      atFull: 'trip',
      reconnectMinutes: 5,
      restartKwh: 0.2,
      coldSteps: new Uint8Array(n),
    }),
    isWeekdayEvening: of(axis, 5),
    reserveKwh: of(plant, flows.socKwh),
    summarizeBackup: of(axis, hours, 48),
    summarizeReserve: of(plant, flows.socKwh),
    rechargeHours: of({ ...outageArgs, service, from: 5, fromKwh: 1, toKwh: 6 }),
    sliceBackup: of(axis, hours),
    survivalCurve: of(hours, [1, 2, 4], () => true),
    unservedAt: of(axis, hours, loadKwh, [1, 2, 4]),
    worstStarts: of(axis, hours, 3, () => true),
  },
  site: {
    parseSite: of(siteDocument, 'site.json'),
    loadSite: gaps('site.json', read, { moreTariffs: ['none.json'] }),
    loadTariffFile: infinite('none.json', read),
    loadActualBills: of('bills.csv', readBills, { within: { firstDay: '2026-03-01', lastDay: '2026-03-31' } }),
    loadMeterCosts: gaps('site.json', readWithCosts),
    recordInput: of('meter', 'home.csv', new Uint8Array([1, 2, 3])),
    // Another error comes back as it is.
    readFault: gaps('site.json', { code: 'ENOENT' }),
    sizeFault: of('site.json', 0, 1000),
    makeStudy: MAKE_STUDY,
    perYear: of(axis),
    spanDays: of(axis),
  },
  study: {
    bill: of({ site, series, tariff, tariffOptions: {}, offered: true, findings: [], origin, actual }),
    billPast: infinite({ site, series, tariff, tariffOptions: {}, offered: true }),
    check: of('home.csv', read, { zone, unit: 'kWh', intervalEnd: false }),
    circuits: infinite(study),
    backupNeeds: of(study),
    tariffChoice: of([study]),
    compare: of(study, { strategies: [selfConsumption, mine] }),
    headlineStrategy: of(study),
    standardStrategies: of(study),
    strategyNamed: of('mine', [mine, windowFill]),
    wearStrategies: of(study, false),
    explain: of(study, mine, 20),
    makeStudy: MAKE_STUDY,
    perYear: of(axis),
    spanDays: of(axis),
    inspect: gaps(['home.csv'], read, { parse: { zone }, adjustment: {}, home: { latitudeDeg: 40 }, maxGapHours: 3 }),
    outage: infinite(study, { strategies: [selfConsumption, mine], headline: 'mine', floors: [0.2, 0.5] }),
    settings: infinite(study, {
      tried: {
        document: { reservePercent: 20, schedules: [{ charge: { from: '00:00', to: '05:00' } }] },
        file: 'box.json',
      },
    }),
    tariffReport: of(tariff, '2026-03-31', origin),
    tariffSwitch: of([study, makeStudy({ site, series, tariff: parseTariff({ ...tariffDocument, name: 'Other' }) })]),
  },
  tariff: {
    parseActualBills: of('start,end,total,kWh\n2026-03-01,2026-03-31,100.00,500\n', 'bills.csv', {
      firstDay: '2026-03-01',
      lastDay: '2026-03-31',
    }),
    billTariff: of(compiled, passed),
    compileTariff: infinite(tariff, axis, {
      account: {},
      series: { 'prices.csv': { startEpochMs, stepMinutes: 60, pricePerKwh: kwh(0.1) } },
    }),
    describeTariff: of(tariff, '2026-03-31'),
    billTotal: of(compiled, passed),
    evaluateTerms: infinite(axis, compiled.terms, passed),
    marginalPrices: of(compiled, passed),
    parseTariff: infinite(tariffDocument, 'tariff.json'),
    parsePriceSeries: of(
      'start,price\n2026-03-01T00:00Z,0.1\n2026-03-01T01:00Z,0.2\n2026-03-01T02:00Z,0.2\n',
      zone,
      'prices.csv',
    ),
    seriesFiles: of({ document: { energy: [{ series: { file: 'prices.csv' } }] } }),
    isDate: of('2026-03-31'),
    reconcileBills: of(tariff, axis, {}, passed, [
      { start: '2026-03-07', end: '2026-03-09', total: 30, importKwh: 40 },
    ]),
  },
  trial: {
    evaluate: infinite(study.home, mine, everyPart, { levels: makeLevels(n), signal: new AbortController().signal }),
    makeCase: infinite(home, study.island),
    withPlant: infinite(study.home, plant),
    withTariff: infinite(study.home, compiled, service),
    withLoad: infinite(study.home, loadKwh, solarKwh, study.island),
  },
};
