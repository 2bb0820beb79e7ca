// Which equipment carries the listed circuits for the goal's hours: the same answer whatever is there already, and the one that
// `outage` gives.
import { circuits, outage, type Study } from '@duskbank/core/study';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { outageStudy } from '../../support/outage-study.ts';

const PLAIN = { modules: undefined, usableKwh: 6, dischargeKw: 4, chargeKw: 3 };
const STEADY = { name: 'Refrigerator', watts: 400, startKva: 0.4, leg: 'L1', dutyShare: 1, priority: 1 };
const PUMP = {
  name: 'Sump pump',
  watts: 800,
  startKva: 2.4,
  leg: 'L2',
  dutyShare: 0.05,
  stormDutyShare: 0.6,
  priority: 1,
};
const STORMS = { stormMonths: [1], goalHours: 8 };

function part(study: Study) {
  const { units, modulesPerUnit, usual, lacks, fits } = circuits(study).ways[0]!;
  return { units, modulesPerUnit, usual, lacks, fits };
}

describe('units that carry the listed circuits', () => {
  test('a storm counts: 440 W last 8 h on one unit, 880 W take two', () => {
    const of = (battery: object, stormMonths?: number[]) =>
      part(
        outageStudy(
          { circuits: [STEADY, { ...PUMP, startKva: 0.8 }], goalHours: 8, ...(stormMonths ? { stormMonths } : {}) },
          { battery: { ...PLAIN, units: 1, maxUnits: 4, ...battery } },
        ),
      );
    // 6 kWh less 10 % for the way out carry 5.7 kWh: 3.5 kWh of 8 h, and not 7.
    const one = { units: 1, modulesPerUnit: 0 };
    expect(of({}, [1])).toMatchObject({ units: 2, usual: one, lacks: null });
    // Where the site states no storm months, a storm may come in any.
    expect(of({})).toMatchObject({ units: 2, usual: one });
    expect(of({ maxUnits: 1 }, [1])).toMatchObject({ units: null, usual: one, lacks: 'energy' });
    // Units that are there already change nothing.
    for (const units of [1, 2, 3, 4]) expect(of({ units }, [1])).toMatchObject({ units: 2, usual: one });
  });

  test('each leg and each start counts for that number of units, what is stated of those there in proportion', () => {
    const of = (units: number, backup: object) =>
      part(outageStudy({ ...STORMS, goalHours: 1, ...backup }, { battery: { ...PLAIN, units, maxUnits: 4 } }));
    // 2.2 kVA on L2, of the 2 kVA that one unit of 4 gives a leg.
    const kitchen = { name: 'Kitchen', watts: 1400, leg: 'L2', dutyShare: 0.05, priority: 4 };
    const listed = [STEADY, { ...PUMP, startKva: 0.8 }, kitchen];
    for (const units of [1, 2, 4]) expect(of(units, { circuits: listed }).units).toBe(2);
    // 2.4 kVA of a start with 1.4 kVA beside it on L2: two units without a surge, one where each gives 8 kVA to start.
    const starting = [STEADY, PUMP, { ...kitchen, watts: 1000 }];
    for (const units of [1, 2, 4]) {
      expect(of(units, { circuits: starting }).units).toBe(2);
      expect(of(units, { circuits: starting, output: { surgeKva: 8 * units } }).units).toBe(1);
      expect(of(units, { circuits: starting, output: { surgeKva: 4 * units } }).units).toBe(2);
    }
    // Three units would give L2 3 kVA more than they give where a leg has 1.5 kW of each.
    expect(of(2, { circuits: listed, output: { legKw: 2 } }).units).toBe(3);
    expect(of(4, { circuits: [{ ...STEADY, watts: 9000, startKva: 9 }] })).toMatchObject({
      units: null,
      usual: null,
      lacks: 'output',
    });
    expect(of(2, { circuits: [{ ...PUMP, startKva: undefined, motor: true, watts: 3000 }] }).lacks).toBe('unknown');
  });

  test('two units that hold a leg each are joined in pairs, and the heavier leg ends it', () => {
    const study = outageStudy(
      { ...STORMS, circuits: [STEADY, { ...PUMP, startKva: 0.8 }], output: { arrangement: 'unit-per-leg' } },
      { battery: { ...PLAIN, units: 2, maxUnits: 5 } },
    );
    // 480 W on L2 in a storm: two units lend L2 one of theirs, 5.7 kWh for 4 h and a bit more.
    expect(part(study)).toMatchObject({ units: 2, usual: { units: 2 } });
    const long = outageStudy({ ...study.site.backup, goalHours: 20 }, { battery: { ...PLAIN, units: 2, maxUnits: 5 } });
    expect(part(long)).toMatchObject({ units: 4, usual: { units: 4 } });
  });

  test('not known: hours beyond the data, and a whole panel whose load isn’t known', () => {
    const short = outageStudy({ circuits: [STEADY], goalHours: 100 }, { days: 4 });
    expect(part(short)).toMatchObject({ units: null, lacks: 'unknown' });
    const [, whole] = circuits({ ...outageStudy({ circuits: [STEADY] }), loadKnown: false }).ways;
    expect([whole!.units, whole!.lacks]).toEqual([null, 'unknown']);
  });

  test('what it tells carries them by the hours of `outage`, and no less energy does', () => {
    fc.assert(
      fc.property(
        fc.record({
          steadyW: fc.integer({ min: 100, max: 1500 }),
          stormShare: fc.double({ min: 0.05, max: 1, noNaN: true }),
          goalHours: fc.integer({ min: 1, max: 24 }),
          maxUnits: fc.integer({ min: 1, max: 4 }),
          usableKwh: fc.constantFrom(3.8, 6, 10),
          seed: fc.integer({ min: 1, max: 50 }),
        }),
        ({ steadyW, stormShare, goalHours, maxUnits, usableKwh, seed }) => {
          const listed = [
            { ...STEADY, watts: steadyW, startKva: steadyW / 1000 },
            { ...PUMP, startKva: 0.8, stormDutyShare: stormShare },
          ];
          const at = (units: number) =>
            outageStudy(
              { circuits: listed, goalHours, stormMonths: [1] },
              { battery: { ...PLAIN, usableKwh, units, maxUnits }, seed, days: 7 },
            );
          const told = part(at(1));
          for (let units = 1; units <= maxUnits; units++) {
            // The same told in one sentence of `outage`: full, with the pump hard at work.
            const { wish, carried } = outage(at(units), { floors: [0, 1] });
            const all = carried === null || carried.circuits === carried.listed;
            expect(part(at(units))).toEqual({ ...told, fits: all });
            if (wish!.reservePercent === null) expect(told.units === null || !all).toBe(true);
          }
        },
      ),
      { numRuns: 5, seed: 7 },
    );
  });
});

describe('a whole panel on an arrangement that gives no 240 V', () => {
  const DRYER = { name: 'Dryer', watts: 2000, leg: '240', dutyShare: 0.1, priority: 5 };
  test.each(['one-leg', 'unit-per-leg'])(
    '%s: isn’t known without such circuits, and lacks output with one',
    (arrangement) => {
      const whole = (...more: object[]) => {
        const study = outageStudy(
          { ...STORMS, circuits: [STEADY, ...more], output: { arrangement } },
          { battery: { ...PLAIN, units: 2, maxUnits: 4 } },
        );
        return circuits(study).ways[1]!;
      };
      expect(whole()).toMatchObject({ way: 'whole-panel', fits: null, units: null, lacks: 'unknown' });
      const dry = whole(DRYER);
      expect(dry).toMatchObject({ way: 'whole-panel', fits: false, units: null, lacks: 'output' });
      expect(dry.toManageVa).toBeGreaterThanOrEqual(2000);
    },
  );
});
