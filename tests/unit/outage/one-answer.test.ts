import { planCarry, resolveCircuits, resolveOutput, simulateOutage } from '@duskbank/core/outage';
import { parseSite } from '@duskbank/core/site';
import { circuits as circuitsOf, compare, outage } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { plainPlant } from '../../support/homes.ts';
import { outageStudy } from '../../support/outage-study.ts';

const REFRIGERATOR = { name: 'Refrigerator', watts: 160, startKva: 1.1, leg: 'L1', dutyShare: 0.45, priority: 1 };
const PAIR = [
  { name: 'Left counter', watts: 900, leg: 'L1', dutyShare: 0.1, priority: 3, sharedNeutralWith: 'Right counter' },
  { name: 'Right counter', watts: 800, leg: 'L2', dutyShare: 0.1, priority: 5, shedBelow: 0.4 },
];
const PUMP = {
  name: 'Sump pump',
  appliance: 'sump-pump',
  watts: 780,
  startKva: 2.3,
  leg: 'L2',
  dutyShare: 0.05,
  priority: 1,
};

describe('one outage, one answer', () => {
  const report = outage(outageStudy({ circuits: [REFRIGERATOR, PUMP, ...PAIR] }), { floors: [0, 0.5, 1] });
  const row = report.strategies.find((each) => each.strategy === report.headline)!;

  test('the last line of what may stay on is the worst evening, and the outage played through begins there', () => {
    const last = report.keepOn.at(-1)!;
    expect(last.worstEveningHours).toBe(row.worstEvening!.hours);
    expect(last.evenings).toEqual(row.hours!.weekdayEvenings);
    expect(report.played!.start).toEqual(row.worstEvening);
    // Circuits let go on the way make it longer, never shorter.
    expect(report.played!.darkAfterHours).toBeGreaterThanOrEqual(row.worstEvening!.hours - 1e-6);
  });

  test('starts of the first days don’t count as the worst: a full battery that starts at its floor', () => {
    const hold = report.strategies.find((each) => each.strategy === 'hold')!;
    // 28 days: a tenth, in whole days, is two.
    for (const start of [hold.planningHours, hold.worstEvening!, ...hold.worstStarts])
      expect(start.interval).toBeGreaterThanOrEqual(2 * 48);
    expect(hold.hours!.worst.interval).toBeGreaterThanOrEqual(2 * 48);
    // Full from then on: the first interval, which finds the floor, lasts a fraction of it.
    expect(hold.planningHours.reserveKwh).toBeCloseTo(hold.reserve.allHours.medianKwh, 6);
  });

  test('no cheapest floor is named that lasts minutes', () => {
    const saving = outage(
      outageStudy({
        load: { watts: 3000 },
        reliability: { saifi: 0.1, caidiMinutes: 60, valueOfLostLoadPerKwh: 0.01 },
      }),
      { floors: [0, 0.1, 0.3, 0.5, 1], headline: 'self-consumption' },
    );
    const headline = (share: number) =>
      saving.frontier
        .find((point) => point.floorShare === share)!
        .strategies.find((each) => each.strategy === saving.headline)!;
    // With next to nothing at stake the lowest floor costs least, and is over in minutes.
    expect(headline(saving.frontier[0]!.floorShare).evenings!.p10).toBeLessThan(1);
    expect(headline(saving.bestFloor!.floorShare).worstMonthHours).toBeGreaterThanOrEqual(1);
  });

  test('the worst week lies in the data, whole, and is no longer than all starts in 9 of 10', () => {
    const week = report.worstWeek!;
    expect(new Date(week.from).getUTCDay()).toBe(1);
    expect(Date.parse(week.to) - Date.parse(week.from)).toBe(6 * 86_400_000);
    // All starts hold the first days too, before the battery has settled: a hundredth for those.
    expect(week.p10).toBeLessThanOrEqual(1.01 * row.hours!.allHours.p10);
  });

  test('the inverse question: what to keep back for so many hours, or what more it takes, or not at all', () => {
    const wished = (goalHours: number, watts: number, floors?: number[]) =>
      outage(outageStudy({ circuits: [{ ...REFRIGERATOR, watts, startKva: watts / 1000, dutyShare: 1 }], goalHours }), {
        floors,
      });
    const percent = wished(4, 1000).wish!.reservePercent!;
    // What the search by whole percents found is a point of a frontier that is asked for it, and the percent below it isn't enough.
    const [below, share] = [(percent - 1) / 100, percent / 100];
    const reach = wished(4, 1000, [below, share, 1]);
    const hoursAt = (floorShare: number) =>
      reach.frontier
        .find((each) => each.floorShare === floorShare)!
        .strategies.find((each) => each.strategy === reach.headline)!.stormHours!;
    expect(percent % 10).not.toBe(0);
    expect(hoursAt(share)).toBeGreaterThanOrEqual(4);
    expect(reach.wish).toMatchObject({ reservePercent: percent, reached: hoursAt(share) });
    expect(hoursAt(below)).toBeLessThan(4);
    // 7.6 kWh less the shutdown level carry 1,020 W for some 6.7 h: for 12 h the four units that fit are asked of.
    const more = wished(12, 1000).wish!;
    expect([more.reservePercent, more.units !== null]).toEqual([100, true]);
    expect(more.reached!).toBeGreaterThanOrEqual(12);
    // 12 kWh to give take 12.6 stored: three units hold 11.4, two with a module each 15.2.
    expect([more.units, more.modulesPerUnit]).toEqual([2, 1]);
    // What each unit draws while it converts grows with the units: 1 kW more for two takes 25.3 kWh stored.
    const steady = { ...REFRIGERATOR, watts: 1000, startKva: 1, dutyShare: 1 };
    const drawing = outageStudy({ circuits: [steady], goalHours: 12 }, { battery: { conversionW: 500 } });
    expect(outage(drawing).wish).toMatchObject({ units: 2, modulesPerUnit: 3 });
    // Without modules: three units last 10.8 h, four 14.4 h.
    const plain = outageStudy({ circuits: [steady], goalHours: 14 }, { battery: { modules: undefined } });
    expect(outage(plain).wish).toMatchObject({ units: 4, modulesPerUnit: 0 });
    const never = wished(300, 1000).wish!;
    expect([never.reservePercent, never.units]).toEqual([null, null]);
  });

  test('how often the grid fails names its country, and is left out where none is known', () => {
    expect(report.reliability!.source).toContain('US average');
    const abroad = outage(outageStudy({ circuits: [REFRIGERATOR] }, { zone: 'Europe/Vienna' }), { floors: [0, 1] });
    expect(abroad.reliability).toBeNull();
    expect(abroad.provenance.assumptions.find(({ field }) => field === 'backup.reliability')!.value).toBeNull();
    for (const point of abroad.frontier)
      for (const each of point.strategies) expect(each.unservedKwhPerYear).toBeNull();
  });
});

describe('a storm', () => {
  test('a sump pump that runs half of the time shortens the evenings, and is told', () => {
    const { storm, strategies, headline } = outage(outageStudy({ circuits: [REFRIGERATOR, PUMP] }), { floors: [1] });
    // 50 % of the time, common practice: 780 W × 0.5 beside 39 W on other days.
    expect(storm!.duty!.circuits).toEqual([{ circuit: 'Sump pump', share: 0.5, watts: 390 }]);
    const usual = strategies.find((each) => each.strategy === headline)!.hours!.weekdayEvenings;
    // 72 + 39 W against 72 + 390 W, and 20 W of standby.
    expect(storm!.duty!.evenings!.median / usual.median).toBeLessThan(0.5);
    const stated = outage(outageStudy({ circuits: [REFRIGERATOR, { ...PUMP, stormDutyShare: 0.2 }] }), { floors: [1] });
    expect(stated.storm!.duty!.circuits[0]!.watts).toBeCloseTo(156, 9);
    expect(outage(outageStudy({ circuits: [REFRIGERATOR] }), { floors: [1] }).storm!.duty).toBeNull();
    expect(() => outageStudy({ circuits: [{ ...PUMP, stormDutyShare: 0.01 }] })).toThrow(/at least dutyShare/);
  });

  test('filling for it takes as long as the charging limit makes it, and full lasts longest', () => {
    const study = outageStudy({ circuits: [REFRIGERATOR], load: { watts: 500 } });
    const { storm, frontier } = outage(study, { floors: [1] });
    // From 1.52 to 7.6 kWh at 6 kW × √0.9 at least, a little more while the home draws.
    expect(storm!.fillHours!).toBeGreaterThan(1);
    expect(storm!.planningHours).toBeLessThan(storm!.hours!);
    expect(compare(study, { strategies: [] }).storm).toEqual(storm);
    expect(frontier.at(-1)!.strategies.find((each) => each.strategy === 'hold')!.stormHours!).toBeLessThanOrEqual(
      storm!.hours! + 1e-9,
    );
  });
});

describe('circuits that work harder in a storm', () => {
  const season = { stormMonths: [1], goalHours: 6 };
  const worked = (backup: object) =>
    outage(outageStudy({ circuits: [REFRIGERATOR, PUMP], ...backup }), { floors: [1] });
  /** The same draw on every day, for which no storm is stated: the pump runs half of the time. */
  const always = outageStudy({ circuits: [REFRIGERATOR, { ...PUMP, dutyShare: 0.5 }], ...season });
  const report = worked(season);
  const hardest = outage(always, { floors: [1], headline: report.headline });

  test('are counted so in all that is said of a storm: the same as if they always worked so', () => {
    for (const what of ['hours', 'planningHours', 'fillHours'] as const)
      expect(report.storm![what]).toBeCloseTo(hardest.storm![what]!, 9);
    expect(report.storm!.hours!).toBeLessThan(
      worked({ ...season, circuits: [REFRIGERATOR, { ...PUMP, stormDutyShare: 0.05 }] }).storm!.hours! / 2,
    );
    const study = outageStudy({ circuits: [REFRIGERATOR, PUMP], ...season });
    const { duty, ...ready } = compare(study, { strategies: [] }).storm!;
    expect(duty).toEqual({ circuits: [{ circuit: 'Sump pump', share: 0.5, watts: 390 }] });
    const { duty: told, ...same } = outage(study, { floors: [1], headline: 'hold' }).storm!;
    expect(same.planningHours).toBe(ready.planningHours);
    expect(told!.circuits).toEqual(duty!.circuits);
  });

  test('and in a wish for storm months, in every row of the frontier that it rests on; not in outages of other days', () => {
    for (const what of ['now', 'reached', 'reservePercent'] as const)
      expect(report.wish![what]).toBe(hardest.wish![what]);
    expect(report.wish!.hardAtWork).toEqual(['Sump pump']);
    const rows = (of: typeof report) => of.frontier.map(({ strategies }) => strategies.map((row) => row.stormHours));
    expect(rows(report)).toEqual(rows(hardest));
    const other = worked({ goalHours: 6 });
    expect(other.wish!.hardAtWork).toEqual([]);
    expect(other.wish!.now).toBeGreaterThan(report.wish!.now);
    const [ofStorm, ofOther] = [report, other].map(({ strategies }) => strategies.map((row) => row.hours));
    expect(ofStorm).toEqual(ofOther);
  });

  test('the page says which load each line is of', () => {
    const flat = (text: string) => text.replaceAll(/\s+/g, ' ');
    const page = flat(outageText(report, true));
    expect(page).toContain('It then carries the backed-up load, with "Sump pump" hard at work *, for');
    expect(page).toContain('in 9 of 10 outages in Jan, with "Sump pump" hard at work *');
    expect(page).toMatch(/The 6\.0 h asked for are met on [^.]*, with "Sump pump" as on other days\./);
    expect(flat(outageText(worked({ goalHours: 6 })))).toContain(
      'of all starts of the data, with "Sump pump" as on other days',
    );
    const study = outageStudy({ circuits: [REFRIGERATOR, PUMP], ...season });
    expect(flat(compareText(compare(study)))).toContain('with "Sump pump" hard at work (50 % of the time), for');
  });

  test('what is bought for a wish is counted with them at work', () => {
    const grown = (circuit: object) =>
      outage(outageStudy({ circuits: [REFRIGERATOR, circuit], stormMonths: [1], goalHours: 30 }), {
        floors: [1],
        headline: 'hold',
      }).wish!;
    expect(grown(PUMP).units).not.toBeNull();
    expect(grown(PUMP).units).toBe(grown({ ...PUMP, dutyShare: 0.5 }).units);
    expect(grown(PUMP).reached).toBe(grown({ ...PUMP, dutyShare: 0.5 }).reached);
  });
});

describe('two circuits that share a neutral', () => {
  test('are one row, and taken or left together', () => {
    const { keepOn } = outage(outageStudy({ circuits: [REFRIGERATOR, ...PAIR] }), { floors: [1] });
    expect(keepOn.map((kept) => [kept.circuit, kept.sharesNeutral])).toEqual([
      ['Refrigerator', null],
      ['Left counter', 'Right counter'],
    ]);
    expect(keepOn[1]!.ownW).toBeCloseTo(170, 9);
    // The right counter alone would fit no more, so the left one isn’t kept either.
    const listed = resolveCircuits([
      { ...REFRIGERATOR, leg: 'L1' as const },
      { ...PAIR[0]!, leg: 'L1' as const },
      { ...PAIR[1]!, watts: 3200, leg: 'L2' as const },
    ]);
    const plan = planCarry(listed, resolveOutput(plainPlant({ dischargeLimitKw: 6, inverterKw: 6 })));
    expect(plan.verdicts.map(({ circuit, verdict }) => [circuit.name, verdict])).toEqual([
      ['Refrigerator', 'together'],
      ['Left counter', 'never'],
      ['Right counter', 'never'],
    ]);
  });

  test('are let go at the same moment in an outage played through', () => {
    const { home, island } = outageStudy({ circuits: [REFRIGERATOR, ...PAIR] });
    const { axis, plant } = home;
    const played = simulateOutage({
      axis,
      plant,
      loadKwh: island.loadKwh,
      solarKwh: new Float64Array(axis.intervals),
      circuits: island.circuits,
      start: 100,
      startSocKwh: plant.capacityKwh,
      hours: 48,
    });
    const lost = Object.fromEntries(played.circuits.map((each) => [each.name, each.firstLossHours]));
    expect(lost['Left counter']).toBeCloseTo(lost['Right counter']!, 9);
    expect(lost['Left counter']!).toBeLessThan(lost.Refrigerator!);
  });
});

describe('with a medical circuit', () => {
  const study = outageStudy({
    circuits: [REFRIGERATOR, PUMP, { name: 'Concentrator', watts: 300, leg: 'L1', priority: 9, medical: true }],
  });

  test('no duration above the worst case and no share stands in any result', () => {
    const report = outage(study);
    const row = report.strategies.find((each) => each.strategy === report.headline)!;
    const worst = row.planningHours.hours;
    expect([report.played, report.wish, report.worstWeek]).toEqual([null, null, null]);
    for (const each of report.strategies) {
      expect([each.worstEvening, each.worstMonth]).toEqual([null, null]);
      for (const start of [each.planningHours, ...each.worstStarts])
        expect(start.hours).toBeLessThanOrEqual(worst + 1e-9);
    }
    for (const kept of report.keepOn) expect(kept.planningHours).toBeNull();
    for (const point of report.frontier)
      for (const each of point.strategies) {
        expect(each.stormHours).toBeNull();
        expect(each.planningHours).toBeLessThanOrEqual(worst + 1e-9);
      }
    expect(report.reliability!.longerThan).toEqual([]);
    expect(report.storm!.hours).toBeNull();
    expect(report.storm!.planningHours).toBeLessThanOrEqual(worst + 1e-9);
    expect(report.storm!.duty!.planningHours).toBeLessThan(worst);
    const compared = compare(study);
    expect(compared.storm).toBeNull();
    for (const each of compared.strategies) expect(each.backupHours).toBeNull();
    for (const way of circuitsOf(study).ways) expect([way.units, way.modulesPerUnit]).toEqual([null, null]);
  });
});

describe('what the file says twice', () => {
  test('a backed-up share above the reach is a contradiction', () => {
    const site = (share: number) => ({
      format: 'duskbank.site/1',
      name: 'Tern Cottage',
      zone: 'America/Denver',
      meter: { files: ['home.csv'] },
      tariff: 'tariff.json',
      plant: {
        battery: { units: 1, usableKwh: 5, chargeKw: 3, dischargeKw: 3, roundTripEfficiency: 0.9 },
        reach: { share: 0.4 },
      },
      backup: { load: { share } },
    });
    expect(() => parseSite(site(0.4))).not.toThrow();
    expect(() => parseSite(site(0.6))).toThrow(/at most plant.reach.share, 0.4/);
  });
});

describe('circuits', () => {
  const study = (backup: object) => circuitsOf(outageStudy(backup));

  test('the strictest limit is named first, and never as "1.8 of 1.8"', () => {
    // 12 kVA, 6 a leg: 6.02 on one leg is past by a hair; starting with 19 kVA is past by far.
    const [row] = study({ circuits: [{ name: 'Saw', watts: 6020, startKva: 19, leg: 'L1', priority: 1 }] }).circuits;
    expect(row!.reasons[0]).toBe('start of "Saw" on L1: 19.0 of 6.0 kVA');
    expect(row!.reasons).toContain('running on L1: 6.02 of 6.00 kVA');
  });

  test('panel: all at once against the rating, what is on for hours and the largest motor at 125 %', () => {
    const circuits = [
      { name: 'Lights', watts: 2400, leg: 'L1', priority: 1 },
      { name: 'Pump', watts: 1200, startKva: 3, leg: 'L1', dutyShare: 0.1, priority: 2 },
      { name: 'Counter', watts: 1200, leg: 'L1', dutyShare: 0.1, priority: 3 },
    ];
    // (2,400 · 1.25 + 1,200 · 1.25 + 1,200) ÷ 120 = 47.5 A.
    const fits = (subPanelAmps: number) => study({ circuits, panel: { mainAmps: 125, subPanelAmps } }).panel[1]!;
    expect(fits(48)).toMatchObject({ neededAmps: 47.5, permittedAmps: 48, fits: true });
    expect(fits(47).fits).toBe(false);
  });

  test('the busbar is asked for, or answered by the 120 % rule, solar first', () => {
    const busbar = (panel: object) =>
      circuitsOf(outageStudy({ circuits: [REFRIGERATOR], panel: { mainAmps: 125, ...panel } }, { solarKw: 0 })).busbar!;
    // 125 % of 12 kW at 240 V; 1.2 · 125 − 125 A.
    expect(busbar({})).toMatchObject({ sourcesAmps: 62.5, withSolar: false, busbarAmps: null, fits: null });
    expect(busbar({}).leavesAmps).toBeCloseTo(25, 9);
    expect(busbar({ busbarAmps: 125 }).fits).toBe(false);
    expect(busbar({ busbarAmps: 200 })).toMatchObject({ fits: true, leavesAmps: 115 });
    const sunny = circuitsOf(outageStudy({ circuits: [REFRIGERATOR], panel: { mainAmps: 125 } })).busbar!;
    expect(sunny.withSolar).toBe(true);
    expect(sunny.sourcesAmps).toBeGreaterThan(62.5);
    expect(study({ circuits: [REFRIGERATOR] }).busbar).toBeNull();
  });

  test('what stands at the voltage of one leg loads that leg alone: twice the current', () => {
    const busbarOf = (arrangement: string) =>
      circuitsOf(
        outageStudy(
          { circuits: [REFRIGERATOR], output: { arrangement }, panel: { mainAmps: 125, busbarAmps: 200 } },
          { solarKw: 0 },
        ),
      ).busbar!;
    expect(busbarOf('unit-per-leg')).toMatchObject({ sourcesAmps: 62.5, fits: true });
    // 125 % of 12 kW at 120 V; 1.2 · 200 − 125 A are left.
    expect(busbarOf('one-leg')).toMatchObject({ sourcesAmps: 125, leavesAmps: 115, fits: false });
  });
});
