// Each limit of what readings look like wrong, seen from both sides: just below it nothing is said.
import { makeAxis } from '@duskbank/core/axis';
import { checkMetering, type IntervalSeries } from '@duskbank/core/meter';
import { describe, expect, it, test } from 'vitest';

const DAYS = 60;
/** January and February, hours in UTC; without a place it is surely dark from 23:00 to 02:00. */
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 24 * DAYS, zone: 'Etc/UTC' });
const hours = (kwhOf: (h: number, d: number, i: number) => number) =>
  Float64Array.from({ length: axis.intervals }, (_, i) => kwhOf(i % 24, Math.floor(i / 24), i));
const isDark = (h: number) => h === 23 || h < 2;
/** Never the same twice in a row, by day and night. */
const usual = (h: number, d: number) => 0.5 + (((24 * d + h) * 37) % 101) / 500;
const sun = (h: number, d: number) => (h > 8 && h < 16 ? 2 + ((d * 7 + h * 3) % 5) / 10 : 0);
const codes = (series: Omit<IntervalSeries, 'axis'>, context = {}) =>
  checkMetering({ axis, ...series }, context).map(({ code }) => code);
const faultOf = (code: string, series: Omit<IntervalSeries, 'axis'>, context = {}) =>
  checkMetering({ axis, ...series }, context).find((fault) => fault.code === code);
const usualKwh = hours(usual);
const totalKwh = usualKwh.reduce((sum, kwh) => sum + kwh, 0);

test('a plain home has no fault', () => expect(codes({ importKwh: usualKwh })).toEqual([]));

describe('spikes', () => {
  it('are above 6 kW, however quiet the home', () => {
    const quiet = (kwh: number) => usualKwh.map((value, i) => (i === 500 ? kwh : value / 10));
    expect(codes({ importKwh: quiet(6) })).toEqual([]);
    expect(codes({ importKwh: quiet(6.001) })).toEqual(['spike']);
  });
  it('stand out of what is beside them by twice the limit', () => {
    // Of 200 days: two readings don't move what is usual, and the limit stays 6 kWh.
    const long = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 4800, zone: 'Etc/UTC' });
    const beside = (before: number, after: number) =>
      checkMetering({
        axis: long,
        importKwh: Float64Array.from({ length: 4800 }, (_, i) =>
          i === 500 ? 20 : i === 499 ? before : i === 501 ? after : usual(i % 24, Math.floor(i / 24)),
        ),
      }).map(({ code }) => code);
    expect(beside(3, 3)).toEqual(['spike']);
    expect(beside(3.01, 3)).toEqual([]);
    expect(beside(3, 3.01)).toEqual([]);
  });
});

describe('a day over again', () => {
  const again = (differs: number) =>
    usualKwh.map((value, i) => (i >= 240 && i < 264 ? usualKwh[i - 24]! + (i === 250 ? differs : 0) : value));
  it('is the same in every reading', () => {
    expect(faultOf('day-repeated', { importKwh: again(0) })).toMatchObject({ count: 24 });
    expect(codes({ importKwh: again(0.001) })).toEqual([]);
  });
  it('changes at least four times: flat days repeat honestly', () => {
    // Six hours each of so many levels.
    const flat = (changes: number) =>
      usualKwh.map((value, i) => {
        if (i < 240 || i >= 288) return value;
        return 0.3 + 0.01 * Math.min(changes, Math.floor((i % 24) / 4));
      });
    expect(codes({ importKwh: flat(4) })).toContain('day-repeated');
    expect(codes({ importKwh: flat(3) })).not.toContain('day-repeated');
  });
});

describe('zeros where a home never is', () => {
  const zero = (base: number) => hours((h, d, i) => (i === 720 ? 0 : base + usual(h, d) / 1000));
  it('need a base of more than 20 W at night', () => {
    expect(codes({ importKwh: zero(0.021) })).toEqual(['zero-run']);
    expect(codes({ importKwh: zero(0.018) })).toEqual([]);
  });
  it('are a coarse register’s step where they stand between readings of a step or two', () => {
    // Tenths of a kWh, differences of a register that moves by 0.098 kWh an hour in the dark.
    const tenths = (isZero: (i: number) => boolean) => {
      let kwh = 0;
      return hours((h, d, i) => {
        const before = Math.floor(kwh * 10 + 1e-9) / 10;
        if (!isZero(i)) kwh += isDark(h) ? 0.098 : usual(h, d);
        return Math.floor(kwh * 10 + 1e-9) / 10 - before;
      });
    };
    const step = tenths(() => false);
    expect(step.some((kwh, i) => kwh === 0 && isDark(i % 24))).toBe(true);
    expect(codes({ importKwh: step })).not.toContain('zero-run');
    expect(codes({ importKwh: tenths((i) => i >= 719 && i < 722) })).toContain('zero-run');
  });
  it('by day are import’s own business, and load’s fault', () => {
    const byDay = usualKwh.map((value, i) => (i === 732 ? 0 : value));
    expect(codes({ importKwh: byDay })).toEqual([]);
    expect(codes({ loadKwh: byDay })).toEqual(['zero-run']);
  });
});

describe('solar and grid swapped', () => {
  /** Solar with a share of its energy in the dark, beside a grid that has so many of these. */
  const swapped = (solarShare: number, gridShare: number) => {
    const daily = 7;
    const dark = (daily * solarShare) / (1 - solarShare) / 3;
    return {
      solarKwh: hours((h) => (isDark(h) ? dark : h > 8 && h < 16 ? 1 : 0)),
      importKwh: hours((h, d) => (isDark(h) ? dark * gridShare : h > 8 && h < 16 ? usual(h, d) : 0)),
    };
  };
  it('have a twentieth of the sun at night, and the grid next to nothing', () => {
    expect(codes(swapped(0.052, 0))).toContain('solar-grid-swapped');
    expect(codes(swapped(0.048, 0))).not.toContain('solar-grid-swapped');
    expect(codes(swapped(0.3, 0.09))).toContain('solar-grid-swapped');
    expect(codes(swapped(0.3, 0.11))).not.toContain('solar-grid-swapped');
  });
});

describe('a grid that sells in the dark', () => {
  /** Dark hours of which the share sells 1 kWh, and the others buy so much. */
  const selling = (share: number, boughtKwh: number) => {
    let k = 0;
    const sells = hours((h) =>
      isDark(h) ? Number(Math.floor(++k * share + 1e-9) > Math.floor((k - 1) * share + 1e-9)) : 0,
    );
    return {
      importKwh: hours((h, d, i) => (sells[i] === 1 ? 0 : isDark(h) ? boughtKwh + usual(h, d) / 1e6 : usual(h, d))),
      exportKwh: sells.map((kwh, i) => kwh + (kwh === 1 ? (i % 97) / 1e5 : 0)),
    };
  };
  it('is reversed where it does in more than four of five', () => {
    expect(codes(selling(0.82, 0.01))).toContain('grid-reversed');
    expect(codes(selling(0.78, 0.01))).not.toContain('grid-reversed');
  });
  it('is reversed where it sells more than four times what it buys', () => {
    // 9 of 10 sell 1 kWh; the tenth buys 2.2 or 2.3.
    expect(codes(selling(0.9, 2.2))).toContain('grid-reversed');
    expect(codes(selling(0.9, 2.3))).not.toContain('grid-reversed');
  });
  it('is not reversed where the bill says that it isn’t: within a fifth of what was sold', () => {
    const series = selling(0.9, 0.01);
    const sold = series.exportKwh.reduce((sum, kwh) => sum + kwh, 0);
    expect(codes(series, { billedKwh: sold / 1.19 })).toContain('grid-reversed');
    expect(codes(series, { billedKwh: sold / 1.21 })).toContain('leg-reversed');
  });
  it('has a leg reversed from one in fifty on', () => {
    expect(codes(selling(0.025, 0.5))).toContain('leg-reversed');
    expect(codes(selling(0.015, 0.5))).not.toContain('leg-reversed');
  });
});

describe('a bill above what is metered', () => {
  const billed = (share: number) => checkMetering({ axis, importKwh: usualKwh }, { billedKwh: totalKwh / share });
  it('misses a part from 15 % on', () => {
    expect(billed(0.86)).toEqual([]);
    expect(billed(0.84)).toMatchObject([{ code: 'leg-missing', confidence: 'possible' }]);
  });
  it('misses one of two legs between 35 and 65 %, and there alone is doubled', () => {
    for (const [share, confidence] of [
      [0.66, 'possible'],
      [0.64, 'likely'],
      [0.36, 'likely'],
      [0.34, 'possible'],
    ] as const) {
      const [fault] = billed(share);
      expect([share, fault!.confidence, fault!.fix !== undefined]).toEqual([
        share,
        confidence,
        confidence === 'likely',
      ]);
    }
  });
});

describe('export above solar', () => {
  const solarKwh = hours(sun);
  /** So many sunny hours export so many times the sun. */
  const above = (count: number, times: number) => {
    let left = count;
    return {
      solarKwh,
      exportKwh: solarKwh.map((kwh) => (kwh > 0 && left-- > 0 ? kwh * times : 0)),
      importKwh: usualKwh,
    };
  };
  it('is by more than a tenth, in five hours at least', () => {
    expect(codes(above(5, 1.11))).toContain('solar-half');
    expect(codes(above(4, 1.11))).not.toContain('solar-half');
    expect(codes(above(50, 1.09))).not.toContain('solar-half');
  });
  it('is mended by doubling where next to none is above twice the sun', () => {
    expect(faultOf('solar-half', above(50, 2.09))).toMatchObject({ confidence: 'likely' });
    expect(faultOf('solar-half', above(50, 2.11))).toMatchObject({ confidence: 'possible' });
  });
});

describe('load that follows the sun', () => {
  const solarKwh = hours(sun);
  const following = (slope: number) => ({
    solarKwh,
    loadKwh: hours((h, d) => 3 + slope * sun(h, d) + (h % 24) / 50 + (isDark(h) ? ((d * 13) % 7) / 50 : 0)),
  });
  it.each([
    [0.69, undefined],
    [0.71, 'likely'],
    [0.84, 'likely'],
    [0.86, 'sure'],
    [1.14, 'sure'],
    [1.16, 'likely'],
    [-0.49, undefined],
    [-0.51, 'likely'],
    [-0.84, 'likely'],
    [-0.86, 'sure'],
  ])('by %d a kWh is %s', (slope, confidence) => {
    expect(faultOf('solar-in-load', following(slope))?.confidence).toBe(confidence);
  });

  it('is seen through gaps of either', () => {
    for (const channel of ['solarKwh', 'loadKwh'] as const) {
      const gappy = following(0.9);
      gappy[channel][500] = Number.NaN;
      expect(faultOf('solar-in-load', gappy)?.confidence, channel).toBe('sure');
    }
  });
});

describe('the clock, against the sun of a place on the meridian of its zone', () => {
  const place = { latitudeDeg: 40, longitudeDeg: 0 };
  /** Half-sine days about noon, so many minutes late, in steps of five. */
  const fine = makeAxis({ startEpochMs: Date.UTC(2026, 3, 1), stepMinutes: 5, intervals: 288 * 40, zone: 'Etc/UTC' });
  const late = (minutes: number) => {
    const solarKwh = Float64Array.from({ length: fine.intervals }, (_, i) => {
      const hour = ((i % 288) * 5 + 2.5 - minutes) / 60;
      return hour > 7 && hour < 17 ? 0.4 * Math.sin(((hour - 7) / 10) * Math.PI) : 0;
    });
    return checkMetering(
      { axis: fine, solarKwh, importKwh: new Float64Array(fine.intervals).fill(1).map((v, i) => v + (i % 89) / 500) },
      place,
    )
      .filter(({ code }) => code === 'clock-shifted')
      .map(({ confidence, fix }) => [confidence, fix!.flag]);
  };
  it.each([
    [30, []],
    [42, [['possible', '--shift -30']]],
    [48, [['possible', '--shift -60']]],
    [60, [['likely', '--shift -60']]],
    [-30, []],
    [-60, [['likely', '--shift 60']]],
  ])('%d minutes late', (minutes, expected) => expect(late(minutes)).toEqual(expected));
});
