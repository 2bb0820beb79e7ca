import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { energyOnAxis, type IntervalSeries } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy, tariffSwitch } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';
import { describe, expect, test } from 'vitest';

// A week of hours from Monday 5 January 2026 on, in a zone without clock changes.
const WEEK = 168;
const START = Date.UTC(2026, 0, 5);
const axis = makeAxis({ startEpochMs: START, stepMinutes: 60, intervals: WEEK, zone: 'Etc/UTC' });
const every = (value: number) => new Float64Array(WEEK).fill(value);
/** Sun from 9 to 15 h: six hours a day. */
const sun = (kwh: number) => Float64Array.from({ length: WEEK }, (_, i) => (i % 24 >= 9 && i % 24 < 15 ? kwh : 0));

const flat = (name: string, pricePerKwh: number, pricePerKwhSold: number) =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name,
    currency: 'USD',
    windows: [{ name: 'all hours', otherwise: true, pricePerKwh }],
    export: { kind: 'net-billing', pricePerKwh: pricePerKwhSold },
  });

function study(input: {
  series: Omit<IntervalSeries, 'axis'>;
  plannedSolar?: object;
  file?: IntervalSeries;
  tariff?: ReturnType<typeof flat>;
}) {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    ...(input.plannedSolar === undefined ? {} : { plannedSolar: input.plannedSolar }),
    plant: {
      battery: { units: 1, usableKwh: 6, chargeKw: 6, dischargeKw: 6, chargeEfficiency: 1, dischargeEfficiency: 1 },
    },
    economics: { price: 1000, covers: 'one battery unit' },
  });
  return makeStudy({
    site,
    series: { axis, ...input.series },
    tariff: input.tariff ?? flat('Flat', 0.3, 0.1),
    ...(input.file === undefined ? {} : { plannedSolar: { series: input.file } }),
  });
}

function issuesOf(step: () => unknown) {
  try {
    step();
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  throw new Error('no fault was found');
}

describe('planned solar, with numbers worked by hand', () => {
  // 1 kWh an hour all week: 168 kWh × 0.30 = 50.40 today. 2 kWh of sun in 42 hours: of 84 kWh the home takes 42, sells 42:
  // (168 − 42) × 0.30 − 42 × 0.10 = 37.80 − 4.20 = 33.60. A lossless battery of 6 kWh keeps each day's surplus of 6 kWh
  // and gives it back after dark, within the nine hours left of the day: 42 kWh more at home, none sold:
  // (126 − 42) × 0.30 = 25.20.
  const made = study({
    series: { loadKwh: every(1) },
    plannedSolar: { file: 'array.csv' },
    file: { axis, solarKwh: sun(2) },
  });
  const report = compare(made);
  const row = report.strategies.find(({ strategy }) => strategy === 'self-consumption')!;

  test('the baseline is the home as metered', () => {
    expect(report.baseline.bill.total).toBeCloseTo(50.4, 9);
    expect(report.baseline).toMatchObject({ importKwh: 168, exportKwh: 0, peakImportKw: 1 });
    expect(report.baseline).toEqual(compare(study({ series: { loadKwh: every(1) } })).baseline);
  });

  test('what it gives stands apart from what the battery gives', () => {
    expect(report.plannedSolar).toMatchObject({ solarKwh: 84, importKwh: 126, exportKwh: 42 });
    expect(report.plannedSolar!.bill.total).toBeCloseTo(33.6, 9);
    expect(report.plannedSolar!.savings).toBeCloseTo(16.8, 9);
    expect(row.bill.total).toBeCloseTo(25.2, 9);
    expect(row.batterySavings).toBeCloseTo(8.4, 9);
    expect(row.savings).toBe(report.baseline.bill.total - row.bill.total);
    const none = report.strategies.find(({ strategy }) => strategy === 'none')!;
    expect(none.batterySavings).toBe(0);
    expect(none.savings).toBeCloseTo(16.8, 9);
  });

  test('payback and captured share are of the battery alone', () => {
    expect(report.payback!.savingsPerYear).toBeCloseTo((8.4 / 7) * 365.25, 9);
    expect(report.payback!.basis).toContain('against the home with its planned solar and no battery');
    expect(row.capturedShare).toBeCloseTo(1, 9);
    const none = report.strategies.find(({ strategy }) => strategy === 'none')!;
    expect(none.capturedShare).toBeNull();
  });

  test('today → planned solar → battery', () => {
    expect(report.plannedSolar!.steps.map(({ step, total, change }) => [step, total, change])).toEqual([
      ['today', 50.4, 0],
      ['planned-solar', 33.6, -16.8],
      ['battery', 25.2, -8.4],
    ]);
    expect(report.warnings.map(({ code }) => code)).toContain('planned-solar');
  });

  test('today → best tariff → planned solar → battery; a tariff that is best with all of it is named', () => {
    // "Cheap" is 0.28 a kWh and pays nothing for export: 47.04 today, 126 × 0.28 = 35.28 with solar, 84 × 0.28 with battery.
    const cheap = study({
      series: { loadKwh: every(1) },
      plannedSolar: { file: 'array.csv' },
      file: { axis, solarKwh: sun(2) },
      tariff: flat('Cheap', 0.28, 0),
    });
    const { tariffSwitch: answer, baseline } = tariffSwitch([made, cheap]);
    expect(baseline.bill.total).toBeCloseTo(50.4, 9);
    expect(answer.steps.map(({ step, tariff, total, change }) => [step, tariff, total, change])).toEqual([
      ['today', 'Flat', 50.4, 0],
      ['best-tariff', 'Cheap', 47.04, -3.36],
      ['planned-solar', 'Cheap', 35.28, -11.76],
      ['battery', 'Cheap', 23.52, -11.76],
    ]);
    expect(answer.betterWithBattery).toBeNull();
    // One that pays well for export, and still comes to more in the end.
    const sold = study({
      series: { loadKwh: every(1) },
      plannedSolar: { file: 'array.csv' },
      file: { axis, solarKwh: sun(2) },
      tariff: flat('Sold', 0.31, 0.3),
    });
    const all = tariffSwitch([made, cheap, sold]).tariffSwitch;
    // 126 × 0.31 − 42 × 0.30 = 26.46; with the battery 84 × 0.31 = 26.04: still more than 23.52.
    expect(all.tariffs.find(({ tariff }) => tariff === 'Sold')).toMatchObject({
      withoutBattery: 52.08,
      withPlannedSolar: 26.46,
      withBattery: 26.04,
    });
    expect(all.betterWithBattery).toBeNull();
    expect(all.conclusion).toBe(
      'Switching to "Cheap" saves USD 3.36 without any battery; planned solar saves another USD 11.76; a battery on top saves another USD 11.76 (over the data’s 7 days; modelled, not metered).',
    );
  });
});

test('a tariff that is best only with the solar there is named beside the one that is best today', () => {
  const plan = { series: { loadKwh: every(1) }, plannedSolar: { file: 'array.csv' }, file: { axis, solarKwh: sun(2) } };
  const paid = (name: string, buys: number, sells: number) => study({ ...plan, tariff: flat(name, buys, sells) });
  // 0.285 bought and 0.60 sold: 47.88 today, dearer than "Meagre", and 35.91 − 25.20 = 10.71 with solar.
  const all = tariffSwitch([paid('Today', 0.3, 0.1), paid('Meagre', 0.28, 0), paid('Rich', 0.285, 0.6)]).tariffSwitch;
  expect(all.steps[1]!.tariff).toBe('Meagre');
  expect(all.tariffs.find(({ tariff }) => tariff === 'Rich')).toMatchObject({ withPlannedSolar: 10.71 });
  expect(all.betterWithBattery).toMatchObject({ tariff: 'Rich' });
  expect(all.conclusion).toContain('; with planned solar and a battery "Rich" is the better one: USD ');
});

describe('a multiple of the metered solar', () => {
  // 1 kWh an hour; 0.5 kWh of metered sun: import 0.5 in 42 hours.
  const series = { importKwh: every(1).map((kwh, i) => kwh - sun(0.5)[i]!), exportKwh: every(0), solarKwh: sun(0.5) };

  test('is added interval by interval, and the baseline keeps the existing solar', () => {
    const made = study({ series, plannedSolar: { scaleOfExisting: 1.5 } });
    expect([...made.meteredSolarKwh]).toEqual([...sun(0.5)]);
    expect([...made.home.solarKwh]).toEqual([...sun(1.25)]);
    const report = compare(made);
    // (168 − 21) × 0.30 = 44.10; with 0.75 kWh more 0.25 are sold in 42 hours: 126 × 0.30 − 10.5 × 0.10 = 36.75.
    expect(report.baseline.bill.total).toBeCloseTo(44.1, 9);
    expect(report.plannedSolar!.bill.total).toBeCloseTo(36.75, 9);
    expect(report.plannedSolar!.basis).toBe('1.5 × the metered solar, interval by interval');
  });

  test('without metered solar it is refused, with what to give instead', () => {
    for (const channels of [
      { loadKwh: every(1) },
      { loadKwh: every(1), solarKwh: every(0) },
      { importKwh: every(1), exportKwh: sun(1) },
    ]) {
      const [issue] = issuesOf(() => study({ series: channels, plannedSolar: { scaleOfExisting: 2 } }));
      expect(issue).toMatchObject({ code: 'missing-channel', where: { path: ['plannedSolar', 'scaleOfExisting'] } });
      expect(issue!.hint).toContain('"plannedSolar": { "file"');
    }
  });
});

describe('the planned array’s file', () => {
  const on = (startEpochMs: number, stepMinutes: number, hours: number) =>
    makeAxis({ startEpochMs, stepMinutes, intervals: (hours * 60) / stepMinutes, zone: 'Etc/UTC' });
  const planned = (file: IntervalSeries) => () =>
    study({ series: { loadKwh: every(1) }, plannedSolar: { file: 'array.csv' }, file });

  test('of longer steps is spread evenly, of shorter ones summed, whatever minute they begin at', () => {
    const hours = on(START, 60, 2);
    const halves = on(START, 30, 2);
    expect([...energyOnAxis(Float64Array.of(1, 3), hours, halves)]).toEqual([0.5, 0.5, 1.5, 1.5]);
    expect([...energyOnAxis(Float64Array.of(0.5, 0.5, 1.5, 1.5), halves, hours)]).toEqual([1, 3]);
    // From a quarter past to a quarter past: three quarters of one hour and a quarter of the next.
    const shifted = on(START + 15 * 60_000, 60, 1);
    expect([...energyOnAxis(Float64Array.of(1, 3), hours, shifted)]).toEqual([1.5]);
    expect([...energyOnAxis(Float64Array.of(1, Number.NaN), hours, shifted)]).toEqual([Number.NaN]);
    expect([...energyOnAxis(Float64Array.of(0.1, 0.7), hours, hours)]).toEqual([0.1, 0.7]);
  });

  test('may reach beyond the home’s data, which keep their axis', () => {
    const long = on(START - 86_400_000, 60, WEEK + 48);
    const made = planned({ axis: long, solarKwh: new Float64Array(WEEK + 48).fill(0.25) })();
    expect(made.home.axis).toEqual(axis);
    expect([...made.plannedSolar!.solarKwh]).toEqual([...every(0.25)]);
  });

  test('that lacks a single hour of the home is refused too', () => {
    const solarKwh = every(1);
    solarKwh[30] = Number.NaN;
    expect(issuesOf(planned({ axis, solarKwh }))).toMatchObject([{ code: 'planned-solar-span' }]);
  });

  test('that stops short, or is of another year, is refused with both spans', () => {
    const year = Date.UTC(2025, 0, 5);
    const [issue] = issuesOf(planned({ axis: on(year, 60, WEEK), solarKwh: every(1) }));
    expect(issue).toMatchObject({
      code: 'planned-solar-span',
      received: '2025-01-05 to 2025-01-11, which leaves 168 of 168 intervals of the home without a value',
      expected: 'production in every interval of the home’s data, 2026-01-05 to 2026-01-11',
    });
    const [short] = issuesOf(planned({ axis: on(START, 60, WEEK - 24), solarKwh: every(1).subarray(24) }));
    expect(short!.received).toContain('24 of 168');
  });

  test('without solar in it is refused, and so is a site that names one that was not read', () => {
    const [issue] = issuesOf(planned({ axis, importKwh: every(1) }));
    expect(issue).toMatchObject({ code: 'missing-channel', received: 'the channels import' });
    const [missing] = issuesOf(() => study({ series: { loadKwh: every(1) }, plannedSolar: { file: 'array.csv' } }));
    expect(missing).toMatchObject({ code: 'missing', where: { path: ['plannedSolar', 'file'] } });
  });

  test('the section takes one of the two forms', () => {
    for (const plannedSolar of [
      {},
      { scaleOfExisting: 0 },
      { scaleOfExisting: 1, file: 'a.csv' },
      { files: ['a.csv'] },
    ])
      expect(
        issuesOf(() => study({ series: { loadKwh: every(1) }, plannedSolar })).length,
        JSON.stringify(plannedSolar),
      ).toBeGreaterThan(0);
  });
});

test('tariffs in two currencies are not set side by side', () => {
  const own = study({ series: { loadKwh: every(1) } });
  const other = study({
    series: { loadKwh: every(1) },
    tariff: parseTariff({
      format: 'duskbank.tariff/1',
      name: 'Over the border',
      currency: 'CAD',
      windows: [{ name: 'all hours', otherwise: true, pricePerKwh: 0.1 }],
    }),
  });
  const [issue] = issuesOf(() => tariffSwitch([own, other]));
  expect(issue).toMatchObject({ code: 'currency-differs', received: 'CAD' });
});
