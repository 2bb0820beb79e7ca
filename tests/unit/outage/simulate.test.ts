import { resolveCircuits, type SimulateOptions, simulateOutage } from '@duskbank/core/outage';
import { describe, expect, test } from 'vitest';
import { axisOf, plantOf, series } from './island-home.ts';

const run = (over: Partial<SimulateOptions> & { intervals?: number; stepMinutes?: number }) => {
  const { intervals = 24, stepMinutes = 60, ...rest } = over;
  const axis = axisOf(intervals, stepMinutes);
  return simulateOutage({
    axis,
    plant: plantOf(),
    loadKwh: series(intervals, axis.stepHours),
    solarKwh: series(intervals, 0),
    start: 0,
    startSocKwh: 4,
    hours: intervals * axis.stepHours,
    ...rest,
  });
};

describe('one outage, played through', () => {
  test('without sun, shedding or trips it ends where the closed form says', () => {
    const outage = run({ startSocKwh: 4.5 });
    expect(outage).toMatchObject({ darkBy: 'empty', restarts: 0, solarTrips: 0 });
    expect(outage.darkAfterHours).toBeCloseTo(4.5, 12);
    expect(outage.unservedKwh).toBeCloseTo(19.5, 9);
    expect(outage.servedKwh).toBeCloseTo(4.5, 9);
  });

  test('trip at full: solar is gone for the reconnect delay while the battery carries the load', () => {
    // One hour, full, 1 kW load, 3 kW sun. The trip costs 5 minutes · 1 kW = 1/12 kWh, which 2 kW of surplus restore in
    // 2.5 minutes: a trip every 7.5 minutes, at 0, 7.5 … 52.5, so eight in the hour and 40 minutes without sun.
    const outage = run({
      intervals: 1,
      startSocKwh: 10,
      loadKwh: series(1, 1),
      solarKwh: series(1, 3),
      atFull: 'trip',
      hours: 1,
    });
    expect(outage.solarTrips).toBe(8);
    expect(outage.solarOffHours * 60).toBeCloseTo(40, 6);
    expect(outage.unservedKwh).toBe(0);
    expect(outage.darkBy).toBeNull();
    // The last cycle ends at 60 minutes: full again.
    expect(outage.socKwh[0]).toBeCloseTo(10, 6);
    const tapering = run({ intervals: 1, startSocKwh: 10, loadKwh: series(1, 1), solarKwh: series(1, 3), hours: 1 });
    expect(tapering).toMatchObject({ solarTrips: 0, solarOffHours: 0 });
  });

  test('a trip can end an outage that tapering carries: a load too large for the battery alone is an overload anyway', () => {
    const outage = run({ intervals: 1, startSocKwh: 10, loadKwh: series(1, 5.5), solarKwh: series(1, 8), hours: 1 });
    expect(outage).toMatchObject({ darkBy: 'overload', darkAfterHours: 0 });
    expect(outage.unservedKwh).toBeCloseTo(5.5, 12);
  });

  test('empty at 03:00 without restart energy stays dark, with it the sun brings it back', () => {
    const sun = series(24, (i) => (i >= 8 && i < 16 ? 3 : 0));
    const dark = run({ startSocKwh: 3, solarKwh: sun });
    expect(dark.darkAfterHours).toBeCloseTo(3, 12);
    expect(dark.unservedKwh).toBeCloseTo(21, 9);
    expect(dark.restarts).toBe(0);

    // From 08:00 3 kW store half a kWh in ten minutes with loads off; then 2 kW of surplus for 7 h 50 min fill to 10 kWh.
    const woken = run({ startSocKwh: 3, solarKwh: sun, restartKwh: 0.5 });
    expect(woken.darkAfterHours).toBeCloseTo(3, 12);
    expect(woken.restarts).toBe(1);
    // Dark from 03:00 to 08:10; 10 kWh carry 16:00 to 24:00.
    expect(woken.unservedKwh).toBeCloseTo(5 + 1 / 6, 6);
    expect(woken.socKwh[15]).toBeCloseTo(10, 9);
  });

  test('cells too cold to charge let the sun serve load, and store nothing', () => {
    const solarKwh = series(4, (i) => (i < 2 ? 3 : 0));
    const at = (cold: number) =>
      run({ intervals: 4, startSocKwh: 1, solarKwh, coldSteps: new Uint8Array(4).fill(cold), hours: 4 }).darkAfterHours;
    expect(at(0)).toBe(4);
    expect(at(1)).toBeCloseTo(3, 12);
  });

  test('standby is drawn while it runs, and not once it has stopped', () => {
    const outage = run({ plant: plantOf({ standbyW: 1000 }), startSocKwh: 4 });
    expect(outage.darkAfterHours).toBeCloseTo(2, 12);
    expect(outage.servedKwh).toBeCloseTo(2, 12);
    expect(outage.unservedKwh).toBeCloseTo(22, 9);
  });

  test('circuits are let go from the lowest priority, each at its own level', () => {
    const circuits = resolveCircuits([
      { name: 'Pool pump', watts: 1000, leg: 'L1', priority: 9, shedBelow: 0.8 },
      { name: 'Freezer', watts: 500, leg: 'L1', priority: 1, neverShed: true },
      { name: 'Lights', watts: 500, leg: 'L2', priority: 3, shedBelow: 0.3 },
    ]);
    // 10 kWh: 2 kW down to 8 kWh (1 h), 1 kW down to 3 kWh (5 h), 0.5 kW down to nothing (6 h): dark after 12 h.
    const outage = run({ circuits, startSocKwh: 10, hours: 24 });
    expect(outage.darkAfterHours).toBeCloseTo(12, 9);
    const loss = Object.fromEntries(outage.circuits.map((circuit) => [circuit.name, circuit.firstLossHours]));
    expect(loss['Pool pump']).toBeCloseTo(1, 9);
    expect(loss.Lights).toBeCloseTo(6, 9);
    expect(loss.Freezer).toBeCloseTo(12, 9);
    expect(outage.firstLossHours).toBeCloseTo(1, 9);
    expect(outage.circuits.map((circuit) => circuit.name)).toEqual(['Freezer', 'Lights', 'Pool pump']);
  });

  test('more than the output lets the lowest priority go, and the rest stays on', () => {
    const circuits = resolveCircuits([
      { name: 'Heater', watts: 4000, leg: 'L1', priority: 1 },
      { name: 'Kettle', watts: 2000, leg: 'L2', priority: 2 },
    ]);
    const outage = run({ circuits, startSocKwh: 10, hours: 2 });
    expect(outage.darkBy).toBeNull();
    expect(outage.circuits.map((circuit) => circuit.unservedKwh)).toEqual([0, 4]);
  });

  test.each([5, 15, 30, 60])(
    'what is let go for the output is counted in kW whatever the step: %i minutes',
    (stepMinutes) => {
      // 6 kW on an output of 5: the 1 kW goes first, and with it gone the other two stay.
      const circuits = resolveCircuits([
        { name: 'Heater', watts: 3000, leg: 'L1', priority: 1 },
        { name: 'Kettle', watts: 2000, leg: 'L2', priority: 2 },
        { name: 'Lamp', watts: 1000, leg: 'L1', priority: 3 },
      ]);
      const outage = run({ circuits, intervals: 60 / stepMinutes, stepMinutes, startSocKwh: 10 });
      expect(outage.circuits.map((circuit) => circuit.unservedKwh)).toEqual([0, 0, expect.closeTo(1, 9)]);
      expect(outage.socKwh.at(-1)).toBeCloseTo(5, 9);
      // The whole load in one block of 6 kW is too much for it.
      const block = run({
        loadKwh: series(60 / stepMinutes, stepMinutes / 10),
        intervals: 60 / stepMinutes,
        stepMinutes,
      });
      expect(block).toMatchObject({ darkBy: 'overload', darkAfterHours: 0 });
    },
  );

  test('nothing is lost or made: stored before + sun used = served + standby + stored after + losses', () => {
    const plant = plantOf({ chargeEfficiency: 0.9, dischargeEfficiency: 0.9, standbyW: 100 });
    // 3 h of 1 kW surplus (less standby) then nothing: 4 + 3·0.9·0.9 − (21·1.1)/0.9 …, dark when it runs out.
    const outage = run({ plant, startSocKwh: 4, solarKwh: series(24, (i) => (i < 3 ? 2 : 0)) });
    expect(outage.socKwh[2]).toBeCloseTo(4 + 3 * 0.9 * 0.9, 9);
    expect(outage.darkAfterHours).toBeCloseTo(3 + ((4 + 2.43) * 0.9) / 1.1, 9);
  });
});
