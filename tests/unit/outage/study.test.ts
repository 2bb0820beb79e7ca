import { hold, searchedSettings, windowFill } from '@duskbank/core/dispatch';
import { backupHours, summarizeBackup } from '@duskbank/core/outage';
import { circuits, compare, explain, headlineStrategy, outage, type Study } from '@duskbank/core/study';
import { compileTariff, parseTariff } from '@duskbank/core/tariff';
import { makeCase, withTariff } from '@duskbank/core/trial';
import { describe, expect, test } from 'vitest';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { outageStudy } from '../../support/outage-study.ts';

const CIRCUITS = [
  { name: 'Refrigerator', watts: 160, startKva: 1.1, leg: 'L1', dutyShare: 0.5, priority: 1, unattended: true },
  { name: 'Lights', watts: 300, leg: 'L2', priority: 2 },
  { name: 'Heater', watts: 1500, leg: 'L1', priority: 5, shedBelow: 0.5 },
  { name: 'Cooling', watts: 4000, lockedRotorAmps: 80, leg: '240', priority: 9 },
];

describe('the outage study', () => {
  const report = outage(outageStudy({ circuits: CIRCUITS }), { floors: [0, 0.5, 1] });
  const headline = report.strategies.find((row) => row.strategy === report.headline)!;

  test('says how long, for every strategy with a battery, evenings and all hours', () => {
    expect(report.strategies.map((row) => row.strategy)).not.toContain('none');
    for (const row of report.strategies) {
      expect(row.hours!.weekdayEvenings.p10).toBeLessThanOrEqual(row.hours!.weekdayEvenings.median);
      expect(row.hours!.worst.hours).toBeLessThanOrEqual(row.hours!.allHours.p10);
      expect(row.planningHours.hours).toBeLessThanOrEqual(row.hours!.worst.hours);
      expect(row.worstStarts[0]!.hours).toBe(row.hours!.worst.hours);
    }
    const hold = report.strategies.find((row) => row.strategy === 'hold')!;
    expect(hold.reserve.endOfPeak!.minKwh).toBeGreaterThan(headline.reserve.endOfPeak!.minKwh);
    expect(headline.worstEvening!.local).toMatch(/^2026-01-\d\d (17|18|19|20):[03]0$/);
  });

  test('says how many of the listed circuits its hours are of', () => {
    expect(report.carried).toEqual({ circuits: 3, listed: 4 });
    expect(compare(outageStudy({ circuits: CIRCUITS }), { strategies: [] }).carried).toEqual(report.carried);
    const watts = outageStudy({ circuits: CIRCUITS, load: { watts: 300 } });
    expect(compare(watts, { strategies: [] }).carried).toBeNull();
  });

  test('says what may stay on: each circuit with all before it, shorter the more there are', () => {
    // The cooling's start is 19.2 kVA: more than any surge stated, so it isn't on the island.
    expect(report.keepOn.map((kept) => kept.circuit)).toEqual(['Refrigerator', 'Lights', 'Heater']);
    expect(report.keepOn.map((kept) => kept.totalW)).toEqual([80, 380, 1880]);
    for (let k = 1; k < report.keepOn.length; k++)
      expect(report.keepOn[k]!.evenings!.median).toBeLessThan(report.keepOn[k - 1]!.evenings!.median);
    // Nothing says how the home changes over, so it counts as by hand.
    expect(report.transfer.kind).toBe('unknown');
    expect(report.keepOn.map((kept) => kept.needsSomebodyHome)).toEqual([true, false, false]);
  });

  test('plays the worst evening through: the heater goes at half, the rest at the end', () => {
    const played = report.played!;
    expect(played.circuits.map((circuit) => circuit.name)).toEqual(['Refrigerator', 'Lights', 'Heater']);
    expect(played.circuits[2]!.firstLossHours).toBeLessThanOrEqual(played.circuits[1]!.firstLossHours);
    expect(played.start).toEqual(headline.worstEvening);
    expect(played.darkAfterHours).toBeGreaterThanOrEqual(headline.worstEvening!.hours - 1e-6);
  });

  test('more floor lasts longer and saves less; the price of an hour is one over the other', () => {
    const rows = report.frontier.map((point) => point.strategies.find((row) => row.strategy === report.headline)!);
    expect(report.frontier.map((point) => point.floorShare)).toEqual([0.05, 0.2, 0.5, 1]);
    for (let j = 1; j < rows.length; j++) {
      expect(rows[j]!.evenings!.p10).toBeGreaterThanOrEqual(rows[j - 1]!.evenings!.p10);
      // An outage in the first interval finds its own floor, so that the worst start rises with it.
      expect(rows[j]!.planningHours).toBeGreaterThan(rows[j - 1]!.planningHours);
      expect(rows[j]!.savingsPerYear!).toBeLessThanOrEqual(rows[j - 1]!.savingsPerYear! + 1e-9);
      expect(rows[j]!.unservedKwhPerYear!).toBeLessThanOrEqual(rows[j - 1]!.unservedKwhPerYear! + 1e-9);
    }
    // The bound: nothing saves more with a floor, and a higher floor never raises it. 1e-6 money: another order of sums.
    for (const [j, point] of report.frontier.entries()) {
      for (const row of point.strategies)
        expect(row.savingsPerYear!, row.strategy).toBeLessThanOrEqual(point.boundSavingsPerYear! + 1e-6);
      if (j > 0)
        expect(point.boundSavingsPerYear!).toBeLessThanOrEqual(report.frontier[j - 1]!.boundSavingsPerYear! + 1e-6);
    }
    const next = report.nextHour!;
    expect(next.fromFloorShare).toBeCloseTo(0.2, 9);
    expect(next.pricePerHour).toBeCloseTo(next.costPerYear / next.hoursGained, 9);
  });

  test('at the site’s own floor the frontier repeats what compare says', () => {
    const study = outageStudy({ circuits: CIRCUITS });
    const row = compare(study).strategies.find((each) => each.strategy === report.headline)!;
    const point = report.frontier.find((each) => Math.abs(each.floorShare - 0.2) < 1e-9)!;
    const same = point.strategies.find((each) => each.strategy === report.headline)!;
    expect(same.savingsPerYear).toBeCloseTo(row.savingsPerYear!, 9);
    expect(same.evenings).toEqual(row.backupHours!.weekdayEvenings);
    expect(headline.hours!.allHours).toEqual({ p10: row.backupHours!.p10, median: row.backupHours!.median });
  });

  test('expected unserved energy falls with the battery, and the US average says that it is one', () => {
    const { reliability } = report;
    expect(reliability!.unservedKwhPerYear!).toBeLessThan(reliability!.unservedWithoutBatteryKwhPerYear);
    expect(reliability!.source).toContain('not this utility’s');
    expect(report.bestFloor).toBeNull();
  });

  test('a value of lost load gives the floor that costs least, with its range', () => {
    const at = (valueOfLostLoadPerKwh: number) =>
      outage(outageStudy({ circuits: CIRCUITS, reliability: { saifi: 2, caidiMinutes: 300, valueOfLostLoadPerKwh } }), {
        floors: [0, 0.5, 1],
      }).bestFloor!;
    expect(at(0.01).floorShare).toBeCloseTo(0.05, 9);
    const dear = at(1e4);
    expect(dear.floorShare).toBe(1);
    for (const value of [1, 100, 1000]) {
      const best = at(value);
      expect(best.lowShare).toBeLessThanOrEqual(best.floorShare);
      expect(best.floorShare).toBeLessThanOrEqual(best.highShare);
    }
  });

  test('by hand and away: no fridge, freezer, pump, furnace; automatic: they run', () => {
    const note = (transfer: object) => outage(outageStudy({ circuits: CIRCUITS, transfer }), { floors: [0] });
    const manual = note({ kind: 'manual', away: { from: '08:00', to: '17:00' } });
    expect(manual.transfer.note).toContain(
      'from 08:00 to 17:00 on weekdays, with nobody home (45 of a week’s 168 h), 0 h for fridge',
    );
    expect(manual.keepOn[0]!.needsSomebodyHome).toBe(true);
    const automatic = note({ kind: 'automatic', seconds: 5 });
    expect(automatic.keepOn[0]!.needsSomebodyHome).toBe(false);
    expect(automatic.transfer.note).toContain('5 s');
  });

  test('planned outages say whether their notice was long enough', () => {
    const planned = outage(
      outageStudy({
        load: { watts: 500 },
        reserve: {
          planned: [
            { from: '2026-01-20T08:00', to: '2026-01-20T12:00', noticeHours: 24 },
            { from: '2026-01-22T08:00', to: '2026-01-22T12:00', noticeHours: 0.5 },
          ],
        },
      }),
      { floors: [0] },
    ).planned;
    expect(planned.map((each) => each.verdict)).toEqual(['in-time', 'too-late']);
    for (const { lengthHours, lastsHours, carriesAll } of planned) expect(carriesAll).toBe(lastsHours >= lengthHours);
  });

  test('says how often the wished hours are met, and when it is short', () => {
    const told = outage(outageStudy({ load: { watts: 300 }, goalHours: 6, reserve: { keepHours: 6 } }), {
      floors: [0],
    });
    // 300 W for six hours with standby are 2 kWh, which the floor keeps from the second day on.
    expect(told.keepHours!.allShare).toBeGreaterThan(0.99);
    expect(told.goal!.eveningsShare).toBeGreaterThan(0.99);
    expect(told.byMonthHour).toHaveLength(12);
    expect(told.byMonthHour![0]).toHaveLength(24);
    expect(told.byMonthHour![6]!.every((cell) => cell === null)).toBe(true);
    expect(report.goal).toBeNull();
    const short = outage(outageStudy({ load: { watts: 300 }, goalHours: 24 }), { floors: [0] });
    expect(short.goal!.allShare).toBeLessThan(0.1);
  });

  test('event nights of the tariff stand apart in the reserve', () => {
    const study = outageStudy({ load: { watts: 300 } });
    const tariff = parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Peak Alert',
      currency: 'USD',
      windows: [
        { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.08 },
        { name: 'day', otherwise: true, pricePerKwh: 0.17 },
      ],
      events: [{ name: 'Cold snap', dates: ['2026-01-14'], from: '16:00', to: '20:00', adderPerKwh: 0.75 }],
    });
    const told = outage(
      { ...study, home: withTariff(study.home, compileTariff(tariff, study.home.axis)) },
      { floors: [0] },
    );
    const hold = told.strategies.find((row) => row.strategy === 'hold')!;
    expect(hold.reserve.eventNights!.minKwh).toBe(hold.reserve.eventNights!.medianKwh);
    expect(report.strategies[0]!.reserve.eventNights).toBeUndefined();
  });

  test('solar outside the island counts nothing', () => {
    const hours = (backup: object, solarKw: number) =>
      outage(outageStudy({ load: { watts: 400 }, ...backup }, { solarKw }), { floors: [0] }).strategies.find(
        (row) => row.strategy === 'hold',
      )!.hours!.allHours.median;
    expect(hours({}, 3)).toBeCloseTo(hours({}, 12), 6);
    expect(hours({ solarOnIsland: true }, 12)).toBeGreaterThan(hours({}, 12));
  });

  test('where savings are withheld the answers are about the strategy that leaves least, and no price is given', () => {
    const told = outage(
      { ...outageStudy({ load: { watts: 300 } }), savingsWithheld: 'a battery is in the data' },
      { floors: [0, 1] },
    );
    const kept = (name: string) => told.strategies.find((row) => row.strategy === name)!.reserve.allHours.medianKwh;
    for (const row of told.strategies)
      if (row.causal) expect(kept(told.headline)).toBeLessThanOrEqual(kept(row.strategy));
    expect(told.headline).not.toBe('hold');
    expect([told.hourPrices, told.nextHour, told.bestFloor]).toEqual([[], null, null]);
  });

  test('without a backup section all the load that the battery reaches is carried', () => {
    const told = outage(outageStudy({}), { floors: [0] });
    expect(told.basis).toContain('the whole metered load, no solar while the grid is down');
    expect(told.keepOn).toEqual([]);
    expect(told.played).toBeNull();
  });

  test('data without a weekday evening still answer', () => {
    // Saturday 2026-01-10 only: the axis begins five days in.
    const study = outageStudy({ load: { watts: 300 } }, { days: 1, zone: 'Asia/Kolkata' });
    const { axis } = study.home;
    const weekend = { ...axis, calendar: { ...axis.calendar, weekday: axis.calendar.weekday.map(() => 6) } };
    const home = makeCase(
      { ...study.home, axis: weekend, tariff: { ...study.home.tariff, axis: weekend } },
      study.island,
    );
    const told = outage({ ...study, home }, { floors: [0] });
    expect(told.strategies[0]!.worstEvening).toBeNull();
    expect(told.strategies[0]!.hours!.allHours.median).toBeGreaterThan(0);
  });

  test('an unknown headline strategy is refused by name', () => {
    expect(() => outage(outageStudy({ load: { watts: 400 } }), { headline: 'windoww' })).toThrow('"windoww"');
  });

  test('load behind unmetered solar is not known: a share is refused, a constant draw is not', () => {
    const unknown = (backup: object) => ({ ...outageStudy(backup), loadKnown: false });
    expect(() => outage(unknown({ load: { share: 0.5 } }))).toThrow('metered solar');
    expect(outage(unknown({ load: { watts: 400 } }), { floors: [0] }).strategies.length).toBeGreaterThan(2);
  });
});

describe('a home with medical loads', () => {
  const study = outageStudy({
    circuits: [...CIRCUITS, { name: 'Breathing machine', watts: 120, leg: 'L2', priority: 4, medical: true }],
    reliability: { saifi: 2, caidiMinutes: 300, valueOfLostLoadPerKwh: 10 },
  });
  const report = outage(study, { floors: [0, 1] });

  test('gets the caution first, and no figure of chance anywhere in the report', () => {
    expect(report.medical).toBe(true);
    expect(report.cautions[0]!.code).toBe('medical');
    for (const row of report.strategies)
      expect([row.hours, row.survival, row.slices, row.unserved]).toEqual([null, null, null, null]);
    for (const kept of report.keepOn) expect([kept.evenings, kept.worstEveningHours]).toEqual([null, null]);
    for (const point of report.frontier)
      for (const row of point.strategies)
        expect([row.evenings, row.allHours, row.unservedKwhPerYear]).toEqual([null, null, null]);
    expect([report.reliability!.unservedKwhPerYear, report.bestFloor]).toEqual([null, null]);
  });

  test('shows the worst start, without sun, with 80 % of capacity, and keeps that circuit first', () => {
    const row = report.strategies.find((each) => each.strategy === 'hold')!;
    const { axis, plant } = study.home;
    const full = new Float64Array(axis.intervals).fill(plant.capacityKwh);
    const worst = summarizeBackup(
      axis,
      backupHours({
        axis,
        plant,
        socKwh: full,
        loadKwh: study.island.loadKwh,
        solarKwh: new Float64Array(axis.intervals),
        energyShare: 0.8,
      }),
    ).worst.hours;
    expect(row.planningHours.hours).toBeLessThanOrEqual(worst);
    expect(row.planningHours.hours).toBeGreaterThan(0);
    expect(report.keepOn[0]!.circuit).toBe('Breathing machine');
    // Nothing says that the home changes over by itself.
    expect(report.keepOn[0]!.needsSomebodyHome).toBe(true);
    expect(circuits(study).findings[0]!.code).toBe('medical-by-hand');
  });

  test('every headline rests on a full battery: the sheet, of a stated box or of the plainest', () => {
    const withController = (controller?: object): Study => ({
      ...study,
      site: {
        ...study.site,
        plant: { ...study.site.plant, controller },
        economics: { price: 5000, covers: 'battery and installation' },
      } as Study['site'],
    });
    const plain = withController();
    const compared = compare(plain);
    const saved = (name: string) => compared.strategies.find((row) => row.strategy === name)!.savings!;
    // What would have been the headline saves; what keeps the battery full costs.
    expect(saved('window')).toBeGreaterThan(0);
    expect(saved('hold')).toBeLessThan(0);
    // The sheet keeps all, as "hold" does; to the cents of its standing floor.
    expect(compared.headline).toMatchObject({ strategy: 'settings', savings: expect.closeTo(saved('hold'), 1) });
    expect([
      compared.payback!.years,
      compared.warnings.map((warning) => warning.code).includes('tariff-ended'),
    ]).toEqual([null, false]);
    expect([report.headline, headlineStrategy(plain).name]).toEqual(['settings', 'settings']);
    const boxed = withController({ windowsPerDay: 2, seasons: 1, weekends: false, clockMinutes: 30 });
    const row = compare(boxed);
    expect(row.headline!.strategy).toBe('settings');
    expect(row.headline!.savings).toBeLessThan(0);
    // With the sheet there is a payback, and it is never.
    expect(row.payback).toMatchObject({ strategy: 'settings', years: null });
    expect([outage(boxed, { floors: [] }).headline, headlineStrategy(boxed).name]).toEqual(['settings', 'settings']);
    // A search that was told less keeps all the same.
    const told = searchedSettings(boxed.site.plant!.controller!, { reserve: { reservePercent: 20, dated: [] } });
    expect(compare(boxed, { strategies: [told] }).headline!.savings).toBe(row.headline!.savings);
  });

  test('no reserve below a full battery has a row or a price, and no other strategy answers', () => {
    expect(report.frontier.map((point) => point.floorShare)).toEqual([1]);
    expect([report.hourPrices, report.nextHour]).toEqual([[], null]);
    // Nor what the best in hindsight would earn by spending of it.
    expect(report.frontier[0]!.boundSavingsPerYear!).toBeLessThanOrEqual(0);
    expect(() => outage(study, { headline: 'window' })).toThrow('keep the battery full');
    expect(() => outage(study, { headline: 'windoww' })).toThrow('did you mean "window"');
    expect(() => outage(study, { strategies: [windowFill] })).toThrow('no strategy that keeps the battery full');
    expect(outage({ ...study, savingsWithheld: 'a battery in the data' }, { floors: [] }).headline).toBe('settings');
  });

  test('compare withholds its hours of backup too, and says why first', () => {
    const compared = compare(study);
    expect(compared.warnings[0]!.code).toBe('medical-load');
    for (const row of compared.strategies) expect(row.backupHours).toBeNull();
  });
});

describe('the circuits study', () => {
  test('rows, reasons, panel and the two ways', () => {
    const report = circuits(
      outageStudy({
        circuits: CIRCUITS,
        output: { surgeKva: 18, surgeSeconds: 3 },
        panel: {
          mainAmps: 100,
          subPanelAmps: 60,
          dwelling: {
            floorAreaSqFt: 1500,
            appliancesVa: { range: 12_000, 'water heater': 2500, dishwasher: 1200, dryer: 5000 },
            spaceHeatVa: 9000,
            separateControls: 5,
          },
        },
      }),
    );
    expect(report.circuits.map((row) => [row.name, row.verdict, row.reasons])).toEqual([
      ['Refrigerator', 'together', []],
      ['Lights', 'together', []],
      ['Heater', 'together', []],
      // 19.2 kVA against 18, half of it on each leg against 9.
      [
        'Cooling',
        'never',
        [
          'start of "Cooling": 19.2 of 18.0 kVA',
          'start of "Cooling" on L1: 9.6 of 9.0 kVA',
          'start of "Cooling" on L2: 9.6 of 9.0 kVA',
        ],
      ],
    ]);
    expect(report.totals.togetherVa).toBe(1960);
    expect(report.main).toEqual({ balancedVa: 24_000, continuousVa: 19_200 });
    expect(report.calculated!.totalVa).toBe(21_480);
    expect(report.ways.map((way) => [way.way, way.fits])).toEqual([
      // The cooling doesn't start with two units. Three would start it; eight hours of it ask for a fourth.
      ['sub-panel', false],
      ['whole-panel', false],
    ]);
    expect(report.ways[0]!.units).toBe(4);
    // 21.48 kVA of 12: 9.48 to be shed or managed, four units of 6 kW to carry it all.
    expect(report.ways[1]!.toManageVa).toBeCloseTo(9480, 9);
    expect(report.ways[1]!.units).toBe(4);
    expect(report.siting.map((item) => item.code)).toContain('working-space');
    expect(report.siting[0]!.usual).toContain('36 in');
  });

  test('a list is held against the meter as far as it is carried: hours of backup rest on no more', () => {
    // The home draws some 0.4 kW; a furnace of 15 kW that the battery can't carry makes no hour shorter.
    const furnace = { name: 'Furnace', watts: 15_000, leg: '240', priority: 9, motor: false };
    const lights = { name: 'Lights', watts: 100, leg: 'L2', priority: 1 };
    const asked = (list: object[], weak: boolean) =>
      circuits(
        outageStudy({ circuits: list }, { plant: weak ? {} : { dischargeLimitKw: 40, inverterKw: 40 } }),
      ).findings.filter((finding) => finding.code === 'circuits-above-meter');
    expect(asked([lights, furnace], true)).toEqual([]);
    expect(asked([lights, furnace], false)[0]!.message).toContain('2 circuits of the list draw more');
  });

  test('the panel is held against all listed circuits, which it feeds with the grid up, whatever the battery carries', () => {
    // L1: 2 × 1,800 VA and half of 4,800: 6,000 VA, 50 A at 120 V; on all day, so that they count 125 %.
    const list = [
      { name: 'Kettle', watts: 1800, leg: 'L1', priority: 1 },
      { name: 'Iron', watts: 1800, leg: 'L1', priority: 2 },
      { name: 'Range', watts: 4800, leg: '240', priority: 3 },
    ];
    const panel = { mainAmps: 100, subPanelAmps: 60, conductorAmps: 65 };
    const of = (dischargeLimitKw: number) =>
      circuits(outageStudy({ circuits: list, panel }, { plant: { dischargeLimitKw, inverterKw: dischargeLimitKw } }));
    const weak = of(4);
    expect(weak.circuits.map((row) => row.verdict)).toEqual(['together', 'alone', 'never']);
    expect(weak.panel).toEqual([
      // Within it, but the rest of the home flows through it as well.
      { what: 'main breaker, 100 A', neededAmps: 62.5, permittedAmps: 100, fits: null },
      { what: 'sub-panel breaker, 60 A', neededAmps: 62.5, permittedAmps: 60, fits: false },
      { what: 'conductors to the sub-panel, 65 A', neededAmps: 62.5, permittedAmps: 65, fits: true },
    ]);
    expect(of(40).panel).toEqual(weak.panel);
    // The circuits alone can be too much for a main breaker.
    const small = circuits(outageStudy({ circuits: list, panel: { mainAmps: 60 } }));
    expect(small.panel[0]!.fits).toBe(false);
  });

  test('an existing dwelling takes 8 kVA in full, and new load comes on top of the metered maximum', () => {
    const panel = { mainAmps: 100, existing: true, newLoadVa: 3000, dwelling: { floorAreaSqFt: 1500 } };
    const told = circuits(outageStudy({ circuits: CIRCUITS, panel }));
    // 4,500 + 4,500 VA: 8,000 + 0.4 · 1,000
    expect(told.calculated).toMatchObject({ totalVa: 8400 });
    expect(told.calculated!.method).toContain('220.83');
    expect(told.measured.totalVa).toBeCloseTo(told.measured.maximumKw * 1250 + 3000, 6);
    expect(told.measured.doubts).toHaveLength(3);
  });

  test('a soft starter at 40 % brings the cooling in', () => {
    const soft = CIRCUITS.map((circuit) =>
      circuit.name === 'Cooling' ? { ...circuit, softStarter: { share: 0.4 } } : circuit,
    );
    const report = circuits(outageStudy({ circuits: soft, output: { surgeKva: 18, surgeSeconds: 3 } }));
    expect(report.circuits.at(-1)).toMatchObject({ name: 'Cooling', verdict: 'together', startVa: 7680 });
  });

  test('a site without circuits is told how to list them', () => {
    expect(() => circuits(outageStudy({ load: { watts: 400 } }))).toThrow('duskbank circuits --appliances');
  });
});

describe('what is as plain as a danger', () => {
  test('a planned outage that is longer than a full battery lasts is not passed', () => {
    // 200 W all day on 7.6 kWh: 80 % of it, less what the equipment draws, are 24 to 29 hours.
    const circuits = [{ name: 'Lights', watts: 200, leg: 'L1', priority: 1 }];
    const planned = [
      { from: '2026-01-12T07:00', to: '2026-01-12T19:00', noticeHours: 48 },
      { from: '2026-01-14T07:00', to: '2026-01-15T19:00', noticeHours: 48 },
    ];
    const report = outage(outageStudy({ circuits, reserve: { planned } }));
    expect(report.planned.map((each) => [each.verdict, each.lengthHours, each.carriesAll])).toEqual([
      ['in-time', 12, true],
      ['in-time', 36, false],
    ]);
    const [{ lastsHours }] = report.planned as [(typeof report.planned)[number]];
    expect(lastsHours).toBeCloseTo(report.storm!.planningHours, 9);
    expect(lastsHours).toBeGreaterThan(20);
    expect(lastsHours).toBeLessThan(30);
    const page = outageText(report).replaceAll(/\s+/g, ' ');
    expect(page).toContain('long; full at its start, the battery lasts');
    expect(page).toContain('does NOT carry all of it');
  });

  test('units that are no pool are not said to carry a whole panel, nor a part that is too much for one leg', () => {
    const onL1 = { name: 'Heater', watts: 5500, leg: 'L1', priority: 1 };
    const waysOf = (arrangement: string, list: object[]) =>
      circuits(
        outageStudy(
          { circuits: list, output: { arrangement }, panel: { mainAmps: 100 } },
          { plant: { dischargeLimitKw: 8, inverterKw: 8 } },
        ),
      ).ways;
    // A home of some kW, and 5.5 kVA on one leg of 4: 8 kVA in all would do.
    const [part, whole] = waysOf('unit-per-leg', [onL1]);
    expect([part!.fits, part!.toManageVa]).toEqual([false, 1500]);
    expect(whole!.loadVa).toBeLessThan(8000);
    expect([whole!.fits, whole!.units]).toEqual([null, null]);
    // What needs 240 V gets none of it.
    const range = { name: 'Range', watts: 3000, leg: '240', priority: 1 };
    expect(waysOf('unit-per-leg', [range]).map(({ fits }) => fits)).toEqual([false, false]);
    expect(waysOf('pooled', [range]).map(({ fits }) => fits)).toEqual([true, true]);
    // A pool that is too small for a part of it isn't known to carry all, by the meter's maximum alone.
    const list = [1, 2, 3].map((k) => ({ name: `Heater ${k}`, watts: 3500, leg: k === 1 ? 'L1' : 'L2', priority: k }));
    expect(waysOf('pooled', list).map(({ fits }) => fits)).toEqual([false, null]);
  });

  test('a circuit that one leg has no room for is told that the other one has', () => {
    const list = [
      { name: 'Pump', watts: 3000, leg: 'L1', priority: 1 },
      { name: 'Freezer', watts: 1500, leg: 'L1', priority: 2 },
      { name: 'Lights', watts: 300, leg: 'L2', priority: 3 },
    ];
    const rowOf = (watts: number) =>
      circuits(
        outageStudy(
          { circuits: list.with(0, { ...list[0]!, watts }) },
          { plant: { dischargeLimitKw: 8, inverterKw: 8 } },
        ),
      ).circuits.find(({ name }) => name === 'Freezer')!;
    expect(rowOf(3000).verdict).toBe('alone');
    expect(rowOf(3000).reasons[0]).toMatch(/^running on L1: .*; on L2 it would fit$/);
    expect(rowOf(2000)).toMatchObject({ verdict: 'together', reasons: [] });
  });

  test('what is kept for a medical circuit is not what it would have been best to give', () => {
    const study = outageStudy({
      circuits: [{ name: 'Breathing machine', watts: 60, leg: 'L1', priority: 1, medical: true }],
    });
    for (let index = 400; index < 448; index++) {
      const report = explain(study, hold, index);
      expect(report.stored.floorKwh).toBe(report.stored.capacityKwh);
      expect(report.bestInHindsight.dischargeKwh).toBeCloseTo(0, 6);
    }
  });
});
