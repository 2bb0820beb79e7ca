// A metering fault as code, data and sentences: a program reads from fields what a person reads from the words.
import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries, PANEL_CAUTION } from '@duskbank/core/meter';
import { expect, test } from 'vitest';

const HOURS = 24 * 60;
/** Load of 1 kWh an hour in the dark, and a little sun in the middle of the day. */
function home(of: (hour: number, i: number) => { importKwh: number; exportKwh: number }): IntervalSeries {
  const axis = makeAxis({
    startEpochMs: Date.UTC(2025, 0, 1, 7),
    stepMinutes: 60,
    intervals: HOURS,
    zone: 'America/Denver',
  });
  const flows = Array.from({ length: HOURS }, (_, i) => of(i % 24, i));
  return {
    axis,
    importKwh: Float64Array.from(flows, (flow) => flow.importKwh),
    exportKwh: Float64Array.from(flows, (flow) => flow.exportKwh),
  };
}

test('a fault whose mending opens a panel says so in a field, with the caution in its words', () => {
  const [fault] = checkMetering(home(() => ({ importKwh: 0, exportKwh: 1 })));
  expect(fault).toMatchObject({
    code: 'grid-reversed',
    severity: 'warning',
    where: {},
    data: { exportShare: 1 },
    opensPanel: true,
  });
  expect(fault!.meaning.endsWith(PANEL_CAUTION)).toBe(true);
  expect(fault!.message).toBe(`${fault!.evidence}. ${fault!.meaning}`);
});

test('a fault of the meter alone opens no panel', () => {
  const values = (i: number) => 1 + (i % 97) / 100;
  const faults = checkMetering(home((_, i) => ({ importKwh: i === 700 ? 40 : values(i), exportKwh: 0 })));
  const spike = faults.find((fault) => fault.code === 'spike');
  expect(spike).toMatchObject({
    data: { channel: 'import', intervals: 1, firstOn: '2025-01-30' },
    count: 1,
    opensPanel: false,
  });
  expect(spike!.message).not.toContain(PANEL_CAUTION);
});
