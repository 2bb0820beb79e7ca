import { checkDocument } from '@duskbank/core/input';
import {
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
import { describe, expect, test } from 'vitest';
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
    expect(fridge).toMatchObject({ runningVa: 800, startVa: 2400, startKnown: true, unattended: true });
    expect(fridge!.assumed).toHaveLength(2);
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
    expect(findings[0]!.message).toMatch(/^Hair dryer: 50,000 VA is more than a usual 120 V, 30 A circuit carries/);
  });

  test('plain circuits raise no question', () => {
    expect(
      questionCircuits([
        lamp,
        { name: 'Refrigerator', appliance: 'refrigerator', leg: 'L1', priority: 1 },
        { name: 'Range', watts: 8000, leg: '240', breakerAmps: 50, priority: 1 },
        { name: 'Cooling', watts: 4000, lockedRotorAmps: 80, leg: '240', priority: 1 },
      ]),
    ).toEqual([]);
  });
});
