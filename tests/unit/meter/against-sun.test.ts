import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';
import { type MadeSunHome, makeSunHome, type SunHome } from '../../support/sun-homes.ts';

// What follows the sun is sold, what doesn't is bought: a battery changes the evening, not that (common practice).

const SEEDS = [1, 2, 3, 4, 5, 6];
const HOMES: readonly (readonly [string, SunHome])[] = [
  ['a roof', {}],
  ['a vehicle charged at noon', { vehicle: 'noon' }],
  ['a vehicle charged at night', { vehicle: 'night' }],
  ['a battery', { battery: true }],
  ['a battery and a vehicle charged at noon', { battery: true, vehicle: 'noon' }],
  ['a battery that sells all evening', { battery: true, sells: { downTo: 0 } }],
  ['a battery that sells half in the evening', { battery: true, sells: { downTo: 0.45 } }],
  ['a heat pump', { load: 'heat-pump' }],
  ['a heat pump and a battery', { load: 'heat-pump', battery: true }],
  ['cooling and a battery', { load: 'cooling', battery: true }],
  ['a school', { load: 'school' }],
  ['a home that is off at night', { load: 'off-at-night' }],
];

const EXCHANGED = new Set(['grid-reversed', 'registers-exchanged']);
const asked = ({ series, ...place }: MadeSunHome, context: object) =>
  checkMetering(series, { ...place, ...context }).filter(({ code }) => EXCHANGED.has(code));
const exchanged = (home: MadeSunHome): MadeSunHome => {
  const { axis, importKwh, exportKwh } = home.series;
  return { ...home, series: { axis, importKwh: exportKwh, exportKwh: importKwh } };
};
const NO_PLACE = { latitudeDeg: undefined, longitudeDeg: undefined };
const kwhOf = ({ importKwh }: IntervalSeries) => importKwh!.reduce((sum, kwh) => sum + kwh, 0);

describe('a home of which the one channel follows the sun and the other doesn’t', () => {
  test.each(HOMES)('is asked nothing where it is as it says: %s', (_, has) => {
    for (const seed of SEEDS)
      for (const place of [{}, NO_PLACE]) expect(asked(makeSunHome(seed, has), place), `seed ${seed}`).toEqual([]);
  });

  test.each(HOMES)('is asked where the two are exchanged: %s', (_, has) => {
    let [homes, told] = [0, 0];
    for (const seed of SEEDS) {
      const home = makeSunHome(seed, has);
      // What hardly buys anything tells nothing by that.
      if (kwhOf(home.series) < 30) continue;
      homes++;
      if (asked(exchanged(home), seed % 2 === 0 ? {} : NO_PLACE).length > 0) told++;
    }
    expect(homes).toBeGreaterThan(2);
    expect(told).toBe(homes);
  });

  test('is told the hours that show it', () => {
    const home = makeSunHome(1, { battery: true, sells: { downTo: 0.45 } });
    const [fault] = asked(exchanged(home), {});
    expect(fault).toMatchObject({ code: 'registers-exchanged', data: { register: 'import' } });
  });

  test('is told as stated where the user says which is which', () => {
    const home = exchanged(makeSunHome(4, { battery: true, vehicle: 'noon' }));
    expect(asked(home, {})).toMatchObject([{ data: { by: 'course' } }]);
    expect(asked(home, { rolesStated: true })).toMatchObject([{ data: { by: 'course', stated: true } }]);
  });
});
