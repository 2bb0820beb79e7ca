import type { InputError } from '@duskbank/core/input';
import { settings } from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { twoPriceHome } from '../../support/two-price-home.ts';

const study = twoPriceHome({ evening: () => 1, plant: { controller: { windowsPerDay: 2 } } });
const limitKw = study.home.plant.chargeLimitKw;

/** Field and hint of what is refused; none where it is taken. */
function refused(more: object, toPercent = 100) {
  const schedules = [{ charge: { from: '00:00', to: '05:00', toPercent } }];
  try {
    settings(study, { tried: { document: { schedules, ...more } } });
  } catch (error) {
    return (error as InputError).issues.map(({ code, where, hint }) => [code, where.path?.join('.'), hint]);
  }
  return [];
}

describe('settings typed in another unit', () => {
  test.each([
    [0.2, 'write 20 for 20 %, or "0.2 %" with its sign where so little is meant'],
    [0.07, 'write 7 for 7 %, or "0.07 %" with its sign where so little is meant'],
    [1, 'write 100 for 100 %, or "1 %" with its sign where so little is meant'],
  ])('a reserve of %d: %s', (reservePercent, hint) => {
    expect(refused({ reservePercent })).toEqual([['out-of-range', 'reservePercent', hint]]);
  });

  test('a share to charge to', () => {
    const [[code, path, hint]] = refused({}, 0.6) as [[string, string, string]];
    expect([code, path]).toEqual(['out-of-range', 'schedules.0.charge.toPercent']);
    expect(hint).toContain('write 60 for 60 %');
  });

  test('a power in W, and one that is neither', () => {
    expect(refused({ chargeKw: 1000 * limitKw })).toEqual([
      ['out-of-range', 'chargeKw', `is this in W? Then write ${limitKw}`],
    ]);
    expect(refused({ chargeKw: 10 * limitKw + 0.1 })[0]![2]).toContain(`the plant takes ${limitKw} kW: write`);
  });

  test('none, a little, and what the plant takes several times are taken', () => {
    expect(refused({ reservePercent: 0 }, 2)).toEqual([]);
    expect(refused({ reservePercent: 1.5, chargeKw: 2 * limitKw })).toEqual([]);
  });

  test('a percentage with its sign is what it says', () => {
    const schedules = [{ charge: { from: '00:00', to: '05:00', toPercent: '60 %' } }];
    const judged = settings(study, { tried: { document: { schedules, reservePercent: '1 %' } } }).tried!;
    expect(judged.sheet.reservePercent).toBe(1);
    expect(judged.sheet.schedules[0]!.chargeToPercent).toBe(60);
    expect(refused({ reservePercent: '101 %' })[0]!.slice(0, 2)).toEqual(['out-of-range', 'reservePercent']);
    expect(refused({ reservePercent: 'half' })[0]!.slice(0, 2)).toEqual(['wrong-type', 'reservePercent']);
  });
});

describe('a tried window that begins or ends within a step of the home', () => {
  const { stepMinutes } = study.home.axis;
  const within = `03:${String(stepMinutes / 2).padStart(2, '0')}`;

  test('is refused, since nobody knows what was used on either side', () => {
    const tried = (window: object) => {
      try {
        settings(study, { tried: { document: { schedules: [window] } } });
      } catch (error) {
        return (error as InputError).issues.map(({ code, where, received }) => [code, where.path?.join('.'), received]);
      }
      return [];
    };
    const charge = { from: '00:00', to: '05:00', toPercent: 100 };
    expect(tried({ charge: { ...charge, to: within } })).toEqual([
      ['not-allowed', 'schedules.0.charge', `to "${within}"`],
    ]);
    expect(tried({ charge, carry: { from: within, to: '23:00' } })).toEqual([
      ['not-allowed', 'schedules.0.carry', `from "${within}"`],
    ]);
    expect(tried({ charge, carry: { from: '06:00', to: '24:00' } })).toEqual([]);
  });
});
