import { checkDocument } from '@duskbank/core/input';
import {
  APPLIANCES,
  backupSchema,
  byPriority,
  type Circuit,
  circuitsLoadKwh,
  medicalHazards,
  overloadsOf,
  planCarry,
  questionCircuits,
  resolveCircuits,
  resolveOutput,
  sharedNeutralHazards,
} from '@duskbank/core/outage';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { outdrawnMeter } from '../../../packages/core/src/outage/circuits.ts';
import { unmade } from '../../support/facts.ts';
import { axisOf, plantOf } from './island-home.ts';

const lamp: Circuit = { name: 'Lights', watts: 200, leg: 'L1', priority: 1 };
const pairOf = (over: object = {}) =>
  resolveOutput(plantOf({ dischargeLimitKw: 12, inverterKw: 12 }), { surgeKva: 18, surgeSeconds: 3, ...over });

/** Kinds of overload that some circuits meet on a pair of 6 kW units with 18 kVA surge. */
const kinds = (circuits: Circuit[], over: object = {}) =>
  [...new Set(overloadsOf(resolveCircuits(circuits), pairOf(over)).map((overload) => overload.kind))].sort();

describe('what may run together', () => {
  test('two units of 6 kW carry 12 kW continuous and surge to 18 kW together (common practice, no source)', () => {
    const output = pairOf();
    expect(output).toMatchObject({ continuousVa: 12_000, legVa: 6000, surgeVa: 18_000, legSurgeVa: 9000 });
    const heater = (watts: number): Circuit => ({ name: 'Heater', watts, leg: '240', priority: 1 });
    expect(kinds([heater(12_000)])).toEqual([]);
    expect(kinds([heater(12_001)])).toEqual(['continuous', 'leg']);
    const motor = (startKva: number): Circuit => ({ name: 'Motor', watts: 4000, startKva, leg: '240', priority: 1 });
    expect(kinds([motor(18)])).toEqual([]);
    expect(kinds([motor(18.1)])).toEqual(['leg-start', 'start']);
  });

  test('80 A locked-rotor at 240 V (19.2 kVA) fails an 18 kVA surge and passes with a soft starter at 40 %', () => {
    const unit: Circuit = { name: 'Air conditioner', watts: 4000, lockedRotorAmps: 80, leg: '240', priority: 1 };
    const [overload] = overloadsOf(resolveCircuits([unit]), pairOf()).filter((found) => found.kind === 'start');
    expect(overload).toMatchObject({ circuit: 'Air conditioner', neededVa: 19_200, availableVa: 18_000 });
    // 0.4 · 19,200 = 7,680 VA
    expect(kinds([{ ...unit, softStarter: { share: 0.4 } }])).toEqual([]);
  });

  test('7 kW on one leg fails a pair rated 6 kW a leg; spread over both it passes', () => {
    const heaters = (second: 'L1' | 'L2'): Circuit[] => [
      { name: 'Heater 1', watts: 3500, leg: 'L1', priority: 1 },
      { name: 'Heater 2', watts: 3500, leg: second, priority: 2 },
    ];
    expect(kinds(heaters('L1'))).toEqual(['leg']);
    expect(kinds(heaters('L2'))).toEqual([]);
  });

  test('a start comes on top of all the others running, pooled and on its leg', () => {
    const others: Circuit[] = [{ name: 'Range', watts: 8000, leg: '240', priority: 1 }];
    const pump: Circuit = { name: 'Pump', watts: 1000, startKva: 5, leg: 'L1', priority: 2 };
    // Both legs 8 + 5 = 13 of 18 kVA; leg 1: 4 + 5 = 9 of 9 kVA.
    expect(kinds([...others, pump])).toEqual([]);
    expect(kinds([...others, { ...pump, startKva: 5.1 }])).toEqual(['leg-start']);
  });

  test('a start longer than the surge must fit in the continuous output', () => {
    const pump: Circuit = { name: 'Pump', watts: 1000, startKva: 7, startSeconds: 5, leg: 'L1', priority: 1 };
    expect(kinds([pump])).toEqual(['start-length']);
    expect(kinds([{ ...pump, startSeconds: 3 }])).toEqual([]);
    expect(kinds([pump], { surgeSeconds: 10 })).toEqual([]);
    // A stated length against a surge of unknown length: the lower answer.
    expect(kinds([{ ...pump, startSeconds: 1 }], { surgeSeconds: undefined })).toEqual(['start-length']);
  });

  test('without a stated surge there is none', () => {
    const output = resolveOutput(plantOf({ dischargeLimitKw: 12, inverterKw: 12 }));
    expect(output.surgeVa).toBe(12_000);
    expect(output.assumed.join()).toContain('no surge');
  });

  test('two 120 V units that each hold one leg are not a pool, and give no 240 V', () => {
    const over = { arrangement: 'unit-per-leg' as const };
    expect(kinds([{ name: 'Pump', watts: 500, leg: '240', priority: 1 }], over)).toEqual(['no-240-volt']);
    expect(kinds([{ name: 'Heater', watts: 6500, leg: 'L1', priority: 1 }], over)).toEqual(['leg']);
    // Even a leg rating of the whole pool doesn't make them one: it is what a leg's own unit gives.
    expect(pairOf(over).legVa).toBe(6000);
  });

  test('a large motor without a nameplate figure is not carried, and a small one is estimated', () => {
    expect(kinds([{ name: 'Cooling', appliance: 'central-air-conditioner', leg: '240', priority: 1 }])).toEqual([
      'start-unknown',
    ]);
    const [fridge] = resolveCircuits([{ name: 'Fridge', appliance: 'refrigerator', leg: 'L1', priority: 1 }]);
    expect(fridge).toMatchObject({ runningVa: 800, startVa: 1500, startKnown: true, unattended: true });
    expect(fridge!.assumed).toEqual([
      '250 W while it runs, 800 VA to plan for, the high end of published tables',
      '1,500 VA to start, estimated: read the nameplate',
      '70 W on average over day and night, the high end of published tables; an old one takes 115 to 151 W, so state dutyShare',
    ]);
    // Without a table's figure three times what it runs at: Tacoma Power, "Estimating generator size".
    const [motor] = resolveCircuits([{ name: 'Saw', watts: 500, motor: true, leg: 'L1', priority: 1 }]);
    expect(motor).toMatchObject({ startVa: 1500, startKnown: true });
    // A pump's motor is all of what it draws: 3 · 780 VA, above the tables' 1,400.
    const [pump] = resolveCircuits([{ name: 'Pump', appliance: 'sump-pump', watts: 780, leg: 'L1', priority: 1 }]);
    expect(pump!.startVa).toBe(2340);
  });

  test('hours that never meet don’t add up', () => {
    const day: Circuit = { name: 'Day', watts: 5000, leg: 'L1', hours: { from: '08:00', to: '20:00' }, priority: 1 };
    const night: Circuit = {
      name: 'Night',
      watts: 5000,
      leg: 'L1',
      hours: { from: '20:00', to: '08:00' },
      priority: 2,
    };
    expect(kinds([day, night])).toEqual([]);
    expect(kinds([day, { ...night, hours: { from: '19:00', to: '08:00' } }])).toEqual(['leg']);
    const winter = [1, 2, 12];
    expect(
      kinds([
        { ...day, months: [6, 7] },
        { ...day, name: 'Winter', months: winter },
      ]),
    ).toEqual([]);
  });

  test('circuits are taken by priority: together, alone, never', () => {
    const plan = planCarry(
      resolveCircuits([
        { name: 'Range', watts: 9000, leg: '240', priority: 5 },
        { name: 'Medical', watts: 300, leg: 'L1', priority: 9, medical: true },
        { name: 'Heater', watts: 5000, leg: 'L1', priority: 1 },
        { name: 'Sauna', watts: 13_000, leg: '240', priority: 2 },
        { name: 'Lights', watts: 400, leg: 'L2', priority: 3 },
      ]),
      pairOf(),
    );
    expect(plan.verdicts.map(({ circuit, verdict }) => [circuit.name, verdict])).toEqual([
      ['Medical', 'together'],
      ['Heater', 'together'],
      ['Sauna', 'never'],
      ['Lights', 'together'],
      ['Range', 'alone'],
    ]);
    expect(plan).toMatchObject({ totalVa: 5700, legVa: { L1: 5300, L2: 400 }, startVa: 5700 });
    expect(byPriority(plan.together).map((circuit) => circuit.name)).toEqual(['Medical', 'Heater', 'Lights']);
  });

  test('a shared neutral fed from one leg is a hazard by name', () => {
    const share = (leg: 'L1' | 'L2', arrangement: 'pooled' | 'one-leg' | 'unit-per-leg') => {
      const circuits = resolveCircuits([
        { name: 'Kitchen left', watts: 1500, leg: 'L1', sharedNeutralWith: 'Kitchen right', priority: 1 },
        { name: 'Kitchen right', watts: 1500, leg, sharedNeutralWith: 'Kitchen left', priority: 1 },
      ]);
      return sharedNeutralHazards(circuits, pairOf({ arrangement }));
    };
    for (const hazards of [share('L1', 'pooled'), share('L2', 'one-leg'), share('L2', 'unit-per-leg')])
      expect(unmade(hazards)).toEqual([]);
    expect(share('L2', 'pooled')).toEqual([]);
    const [hazard, ...more] = share('L1', 'pooled');
    expect(more).toEqual([]);
    expect(hazard).toMatchObject({
      code: 'shared-neutral-one-leg',
      severity: 'hazard',
      circuits: ['Kitchen left', 'Kitchen right'],
    });
    expect(hazard!.message).toContain('25 A');
    expect(share('L2', 'one-leg')).toHaveLength(1);
    expect(share('L2', 'unit-per-leg')).toHaveLength(1);
  });

  test('a medical circuit that isn’t carried, or waits for a hand, is a danger by name', () => {
    const hazards = (watts: number, transfer?: 'automatic' | 'manual') =>
      medicalHazards(
        planCarry(resolveCircuits([{ name: 'Lift', watts, leg: 'L1', priority: 1, medical: true }, lamp]), pairOf()),
        transfer,
      ).map((hazard) => [hazard.code, ...hazard.circuits]);
    expect(hazards(500, 'automatic')).toEqual([]);
    expect(hazards(500, 'manual')).toEqual([['medical-by-hand', 'Lift']]);
    expect(hazards(500)).toEqual([['medical-by-hand', 'Lift']]);
    expect(hazards(7000, 'automatic')).toEqual([['medical-not-carried', 'Lift']]);
  });

  test('circuits draw running watts × duty share in their hours and months', () => {
    const axis = axisOf(48, 30);
    const load = circuitsLoadKwh(
      axis,
      resolveCircuits([
        { ...lamp, watts: 1000, dutyShare: 0.5, hours: { from: '23:15', to: '01:00' } },
        { ...lamp, name: 'July', months: [7] },
      ]),
    );
    // Half an hour at 500 W is 0.25 kWh; 23:00–23:30 has a quarter of an hour of it.
    expect([load[0], load[1], load[2], load[46], load[47]]).toEqual([0.25, 0.25, 0, 0.125, 0.25]);
    expect(load.reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(1.75 * 0.5, 12);
  });
});

describe('what a listed appliance draws while it runs, while it starts, and on average', () => {
  const bare = (appliance: string, over: Partial<Circuit> = {}) =>
    resolveCircuits([
      { name: 'One', appliance: appliance as Circuit['appliance'], leg: 'L1', priority: 1, ...over },
    ])[0]!;
  const meanW = (circuit: ReturnType<typeof bare>) => circuit.runningW * circuit.dutyShare;

  test('a bare refrigerator takes 1.7 kWh a day, not 19.2 as at 800 W round the clock', () => {
    const axis = axisOf(24);
    const day = (circuit: ReturnType<typeof bare>) =>
      circuitsLoadKwh(axis, [circuit]).reduce((sum, kwh) => sum + kwh, 0);
    expect(day(bare('refrigerator'))).toBeCloseTo(0.07 * 24, 9);
    expect(meanW(bare('refrigerator'))).toBeCloseTo(70, 9);
  });

  test('a 4 kW unit carries a bare refrigerator and a freezer, one a leg, without a surge', () => {
    // 2 kVA a leg; starts of 1.5 and 2.0 kVA in the tables.
    const output = resolveOutput(plantOf({ dischargeLimitKw: 4, inverterKw: 4 }));
    const plan = planCarry([bare('refrigerator'), { ...bare('freezer'), name: 'Two', leg: 'L2' }], output);
    expect(plan.verdicts.map(({ verdict }) => verdict)).toEqual(['together', 'together']);
  });

  test('the file’s own figures stand before the list’s', () => {
    // Share of the time × watts, either of them its own.
    expect(meanW(bare('refrigerator', { dutyShare: 0.4 }))).toBeCloseTo(0.4 * 250, 9);
    expect(meanW(bare('refrigerator', { watts: 160, dutyShare: 0.45 }))).toBeCloseTo(72, 9);
    // Watts alone: no more than they are, and else the list's mean.
    expect(meanW(bare('refrigerator', { watts: 60 }))).toBe(60);
    expect(meanW(bare('refrigerator', { watts: 90 }))).toBeCloseTo(70, 9);
    expect(bare('refrigerator', { watts: 90 })).toMatchObject({ runningVa: 90, startVa: 1500 });
    expect(meanW(bare('refrigerator', { watts: 250 }))).toBeCloseTo(70, 9);
    // Twice of what the list knows while it runs takes twice the mean, and it is said.
    const plate = bare('refrigerator', { watts: 500 });
    expect(meanW(plate)).toBeCloseTo(140, 9);
    expect(plate.assumed.join()).toContain('140 W on average over day and night');
    expect(plate.assumed.join()).toContain('in proportion to what it draws above theirs');
    expect(meanW(bare('refrigerator', { watts: 800 }))).toBeCloseTo(3.2 * 70, 9);
    // A VA alone is held against what sizing tables plan for.
    expect(meanW(bare('refrigerator', { va: 800 }))).toBeCloseTo(70, 9);
    expect(meanW(bare('refrigerator', { va: 1600 }))).toBeCloseTo(140, 9);
    // 800 W copied from a sizing table are no motor of 800 W, which would start with 2.4 kVA.
    expect(bare('refrigerator', { watts: 800 }).startVa).toBe(1500);
    // Twice of what the tables plan for starts with three times what it runs at.
    expect(bare('refrigerator', { watts: 1600 }).startVa).toBe(4800);
    // Its hours hold the day's energy: 62 W · 24 h in 6 h, and never more than it draws.
    const evening = bare('television', { hours: { from: '18:00', to: '24:00' } });
    expect(meanW(evening)).toBeCloseTo(4 * 62, 9);
    expect(evening.assumed.join()).toContain('248 W on average in its hours');
    expect(meanW(bare('portable-heater', { hours: { from: '22:00', to: '06:00' } }))).toBe(1500);
    // Without an appliance nothing says that it rests.
    expect(resolveCircuits([lamp])[0]!.dutyShare).toBe(1);
  });

  test('every entry: ranges in order, no mean above what it draws, a start no lower than it runs, sources of both', () => {
    for (const { key, runningW, plannedVa, meanW: mean, startingW, sources, meanSources } of APPLIANCES) {
      for (const range of [runningW, mean, ...[plannedVa ?? [], startingW ?? []].filter((r) => r.length > 0)])
        expect(range[0]!, key).toBeLessThanOrEqual(range[1]!);
      expect(mean[1], key).toBeLessThanOrEqual(runningW[1]);
      if (startingW !== undefined) expect(startingW[1], key).toBeGreaterThanOrEqual((plannedVa ?? runningW)[1]);
      if (plannedVa !== undefined) expect(plannedVa[1], key).toBeGreaterThan(runningW[1]);
      expect(sources.length * meanSources.length, key).toBeGreaterThan(0);
      const circuit = bare(key);
      expect(meanW(circuit), key).toBeCloseTo(mean[1], 9);
      expect(circuit.runningVa, key).toBe((plannedVa ?? runningW)[1]);
    }
  });

  // Natural Resources Canada, "Residential Appliance Details" (oee.nrcan.gc.ca): PJ of the stock, households in
  // thousands, appliances a household.
  test.each([
    ['refrigerator', 26.3, 14_569, 1.27, 'low'],
    ['freezer', 9.2, 14_569, 0.54, 'low'],
    ['dishwasher', 2.2, 14_569, 0.6, 'low'],
    ['clothes-washer', 4.4, 11_652, 0.81, 'high'],
    ['clothes-dryer', 35.1, 14_569, 0.84, 'low'],
  ] as const)('%s: the mean of the stock in Canada, %d PJ', (key, petajoules, households, each, end) => {
    const watts = (petajoules * 1e15) / (households * 1000 * each) / (365 * 86_400);
    // Within half a watt: the list is in whole watts.
    expect(Math.abs(APPLIANCES.find((one) => one.key === key)!.meanW[end === 'low' ? 0 : 1] - watts)).toBeLessThan(0.5);
  });

  // kWh a month over 730 h, as the utilities print them; see the sources in appliances.ts.
  test.each([
    ['furnace-fan', 'high', 325],
    ['water-heater', 'high', 4 * 125],
    ['room-air-conditioner', 'low', 200],
    ['central-air-conditioner', 'low', 900],
    ['clothes-dryer', 'high', 90],
    ['dishwasher', 'high', 70],
    ['dehumidifier', 'low', 120],
    ['television', 'low', 40],
    ['coffee-maker', 'high', 15],
    ['hair-dryer', 'low', 3],
  ] as const)('%s: the %s mean is what a utility prints, %d kWh a month', (key, end, kwh) => {
    const mean = APPLIANCES.find((one) => one.key === key)!.meanW[end === 'low' ? 0 : 1];
    expect(Math.abs(mean - (kwh * 1000) / 730)).toBeLessThan(0.5);
  });

  test('the mean of 209 metered refrigerators, 1,009 kWh a year (LBNL), and a third of 250 W lie in the range', () => {
    const { meanW, oldMeanW } = APPLIANCES.find((one) => one.key === 'refrigerator')!;
    // 110 kWh a month, a side-by-side of 1990–93 (MGE), over 730 h.
    expect(Math.abs(oldMeanW![1] - 110_000 / 730)).toBeLessThan(0.5);
    const range = [meanW[0], oldMeanW![1]] as const;
    for (const watts of [1_009_000 / 8760, 250 / 3]) {
      expect(watts).toBeGreaterThan(range[0]);
      expect(watts).toBeLessThan(range[1]);
    }
  });

  test('what fits never asks for the mean, how long it lasts never for the start', () => {
    const axis = axisOf(48, 30);
    const any = fc.record(
      {
        appliance: fc.constantFrom(...APPLIANCES.map((one) => one.key)),
        watts: fc.integer({ min: 20, max: 6000 }),
        leg: fc.constantFrom('L1', 'L2', '240'),
      },
      { requiredKeys: ['appliance', 'leg'] },
    );
    fc.assert(
      fc.property(
        fc.array(any, { minLength: 1, maxLength: 6 }),
        fc.double({ min: 0.01, max: 1, noNaN: true }),
        (list, share) => {
          const circuits = list.map((one, k) => ({ ...one, name: `C${k}`, priority: k + 1 }) as Circuit);
          const fits = (over: object) =>
            planCarry(resolveCircuits(circuits.map((one) => ({ ...one, ...over }))), pairOf()).verdicts.map(
              ({ circuit, verdict, overloads }) => [circuit.name, verdict, overloads],
            );
          expect(fits({ dutyShare: share })).toEqual(fits({}));
          const drawn = (over: object) =>
            circuitsLoadKwh(axis, resolveCircuits(circuits.map((one) => ({ ...one, ...over }))));
          expect(drawn({ startKva: 50 })).toEqual(drawn({}));
          // Nothing draws more on average than while it runs.
          const least = (circuit: Circuit) => resolveCircuits([circuit])[0]!;
          for (const circuit of circuits)
            expect(meanW(least(circuit))).toBeLessThanOrEqual(least(circuit).runningVa + 1e-9);
        },
      ),
      { numRuns: 200, seed: 9 },
    );
  });
});

describe('a list that outdraws the metered home', () => {
  const axis = axisOf(48, 30);
  // 300 W by night, 900 W from 5 h on: 775 W on average.
  const loadKwh = Float64Array.from({ length: 48 }, (_, i) => (i < 10 ? 0.15 : 0.45));
  const told = (circuits: Circuit[], loadKnown = true, restOnIt = true) => {
    const findings = outdrawnMeter(axis, resolveCircuits(circuits), { loadKwh, loadKnown }, restOnIt);
    expect(unmade(findings)).toEqual([]);
    return findings;
  };
  const steady = (watts: number): Circuit => ({ ...lamp, watts });

  test('is told with both figures, over all of the data and by night', () => {
    const [finding, ...more] = told([steady(800)]);
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ code: 'circuits-above-meter', severity: 'question', circuits: ['Lights'] });
    expect(finding!.message).toContain('800 W over all of the data, the whole metered home 775 W');
    expect(finding!.message).toContain('800 W from 0 to 5 h, the whole metered home 300 W');
    expect(finding!.message).toContain('Hours of backup rest on these, the higher draw');
    const [byNight] = told([steady(400)]);
    expect(byNight!.message).toContain('400 W from 0 to 5 h, the whole metered home 300 W');
    expect(byNight!.message).not.toContain('over all');
    expect(told([steady(800)], true, false)[0]!.message).toContain('rest on backup.load');
  });

  test('below the meter nothing is said; what is known of an unmetered load is its night', () => {
    expect(told([steady(300)])).toEqual([]);
    expect(told([steady(290), { ...steady(480), name: 'Day', hours: { from: '05:00', to: '24:00' } }])).toEqual([]);
    expect(told([{ ...steady(2000), hours: { from: '05:00', to: '24:00' } }], false)).toEqual([]);
    expect(told([steady(2000)], false)[0]!.message).not.toContain('over all');
  });
});

describe('circuits that contradict themselves', () => {
  const faults = (...circuits: object[]) => {
    const checked = checkDocument(backupSchema, { circuits });
    return checked.ok ? [] : checked.issues.map((issue) => `${issue.code} ${issue.where.path?.slice(1).join('.')}`);
  };

  test.each([
    ['starting below running', { ...lamp, startKva: 0.1 }, 'start-below-running 0.startKva'],
    [
      'locked-rotor below running',
      { ...lamp, watts: 2000, lockedRotorAmps: 10 },
      'start-below-running 0.lockedRotorAmps',
    ],
    ['unknown leg', { ...lamp, leg: 'L3' }, 'not-allowed 0.leg'],
    ['240 V on one leg', { ...lamp, volts: 240 }, 'contradiction 0.volts'],
    ['120 V on both legs', { ...lamp, leg: '240', volts: 120 }, 'contradiction 0.volts'],
    ['zero priority', { ...lamp, priority: 0 }, 'out-of-range 0.priority'],
    ['VA below watts', { ...lamp, va: 100 }, 'contradiction 0.va'],
    ['nothing known', { name: 'Lights', leg: 'L1', priority: 1 }, 'missing 0'],
    ['two starting figures', { ...lamp, startKva: 1, lockedRotorAmps: 20 }, 'given-twice 0.startKva'],
    ['a soft starter on nothing', { ...lamp, softStarter: { share: 0.4 } }, 'missing 0.softStarter'],
    ['never shed, yet shed', { ...lamp, neverShed: true, shedBelow: 0.2 }, 'contradiction 0.shedBelow'],
    ['medical, yet shed', { ...lamp, medical: true, shedBelow: 0.2 }, 'contradiction 0.shedBelow'],
    ['hours of no length', { ...lamp, hours: { from: '06:00', to: '06:00' } }, 'out-of-range 0.hours.to'],
    ['a neutral shared with nobody', { ...lamp, sharedNeutralWith: 'Lihgts 2' }, 'unknown-circuit 0.sharedNeutralWith'],
    [
      'a neutral shared at 240 V',
      { ...lamp, leg: '240', sharedNeutralWith: 'Lights' },
      'contradiction 0.sharedNeutralWith',
    ],
    ['an unknown appliance', { ...lamp, appliance: 'fridge' }, 'not-allowed 0.appliance'],
  ])('%s is refused', (_, circuit, fault) => {
    expect(faults(circuit)).toContain(fault);
  });

  test('a fault names the circuit', () => {
    const checked = checkDocument(backupSchema, { circuits: [lamp, { ...lamp, name: 'Well pump', leg: 'L3' }] });
    if (checked.ok) throw new Error('expected a fault');
    expect(checked.issues[0]!.where.name).toBe('Well pump');
  });

  test('two of one name are refused, and sound ones pass', () => {
    expect(faults(lamp, lamp)).toEqual(['duplicate-name 1.name']);
    expect(faults(lamp, { ...lamp, name: 'Lights 2', sharedNeutralWith: 'Lights', leg: 'L2' })).toEqual([]);
  });

  test('a 50 kW hair dryer is questioned by name, twice over', () => {
    const findings = questionCircuits([{ name: 'Hair dryer', watts: 50_000, leg: 'L1', priority: 3 }]);
    expect(findings.map((finding) => finding.code)).toEqual(['implausible-draw', 'unusual-for-appliance']);
    expect(unmade(findings)).toEqual([]);
    expect(findings[0]!.message).toMatch(/^"Hair dryer": 50,000 VA is more than a usual 120 V, 30 A circuit carries/);
  });

  test('plain circuits raise no question', () => {
    expect(
      questionCircuits([
        lamp,
        { name: 'Refrigerator', appliance: 'refrigerator', leg: 'L1', priority: 1 },
        // Named as an appliance that the list has, and drawing what such a thing draws.
        { name: 'Hair dryer', watts: 1500, leg: 'L1', priority: 3 },
        { name: 'Range', watts: 8000, leg: '240', breakerAmps: 50, priority: 1 },
        { name: 'Cooling', watts: 4000, lockedRotorAmps: 80, leg: '240', priority: 1 },
      ]),
    ).toEqual([]);
  });
});
