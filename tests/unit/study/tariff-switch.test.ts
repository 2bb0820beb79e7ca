import { makeAxis } from '@duskbank/core/axis';
import { InputError } from '@duskbank/core/input';
import { parseSite } from '@duskbank/core/site';
import { makeStudy, type Study, tariffSwitch } from '@duskbank/core/study';
import { parseTariff, type Tariff } from '@duskbank/core/tariff';
import { withPlant } from '@duskbank/core/trial';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { unmade } from '../../support/facts.ts';

// January to March 2026 in hours (744, 672 and 744 of them), in a zone without clock changes; 1 kWh an hour.
const HOURS = 2160;
const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: HOURS, zone: 'Etc/UTC' });
const loadKwh = new Float64Array(HOURS).fill(1);

/** All hours at one price. */
const flat = (name: string, pricePerKwh: number, more: object = {}): Tariff =>
  parseTariff({
    format: 'duskbank.tariff/1',
    name,
    currency: 'USD',
    windows: [{ name: 'all hours', otherwise: true, pricePerKwh }],
    ...more,
  });
/** Four dear hours each evening. */
const peaky = (name: string, peak: number, rest: number, more: object = {}): Tariff =>
  flat(name, 0, {
    windows: [
      { name: 'evening', from: '17:00', to: '21:00', pricePerKwh: peak, kind: 'peak' },
      { name: 'rest', otherwise: true, pricePerKwh: rest },
    ],
    ...more,
  });

/** The home with a lossless battery that holds an evening's 4 kWh. */
function on(tariff: Tariff, over: { site?: object; successors?: Tariff[] } = {}): Study {
  const site = parseSite({
    format: 'duskbank.site/1',
    name: 'A home',
    zone: 'Etc/UTC',
    meter: { files: ['home.csv'] },
    tariff: 'tariff.json',
    plant: { battery: { units: 1, usableKwh: 4, chargeKw: 4, dischargeKw: 4, roundTripEfficiency: 1 } },
    ...over.site,
  });
  const successors = (over.successors ?? []).map((next) => ({ tariff: next, options: {} }));
  return makeStudy({ site, series: { axis, loadKwh }, tariff, successors });
}

const answer = (...studies: Study[]) => tariffSwitch(studies).tariffSwitch;
const names = (rows: readonly { tariff: string }[]) => rows.map(({ tariff }) => tariff);
const bestOf = (...studies: Study[]) => answer(...studies).steps[1]!.tariff;

describe('while it runs', () => {
  const pair = [on(flat('Today', 0.2)), on(flat('Other', 0.1))];

  test('tells which strategy runs on which tariff, in their order', () => {
    const seen: string[] = [];
    tariffSwitch(pair, { onStrategy: (name, tariff) => seen.push(`${name} on ${tariff}`) });
    const [first, second] = ['Today', 'Other'].map((tariff) => seen.indexOf(`window on ${tariff}`));
    expect(first).toBeGreaterThanOrEqual(0);
    expect(second).toBeGreaterThan(first!);
  });

  test('ends before the next run once it is aborted', () => {
    const stop = new AbortController();
    const seen: string[] = [];
    const onStrategy = (_: string, tariff: string) => {
      seen.push(tariff);
      if (tariff === 'Other') stop.abort(new Error('enough'));
    };
    expect(() => tariffSwitch(pair, { onStrategy, signal: stop.signal })).toThrow('enough');
    expect(seen.filter((tariff) => tariff === 'Other')).toHaveLength(1);
  });
});

describe('which tariffs the home may have, and which is the best', () => {
  const today = on(flat('Today', 0.2));

  test('today’s comes first, the others by what they cost without a battery; the cheapest is the best', () => {
    const asked = [today, on(flat('Dear', 0.3)), on(flat('Cheap', 0.1)), on(flat('Middle', 0.15))];
    const { tariffs, steps } = answer(...asked);
    expect(names(tariffs)).toEqual(['Today', 'Cheap', 'Middle', 'Dear']);
    expect(tariffs.map((row) => row.withoutBattery)).toEqual([432, 216, 324, 648]);
    expect(steps.slice(0, 2)).toMatchObject([
      { tariff: 'Today', total: 432, change: 0 },
      { tariff: 'Cheap', total: 216, change: -216 },
    ]);
  });

  test('what costs the same is no reason to switch', () => {
    const { steps, conclusion } = answer(today, on(flat('Twin', 0.2)));
    expect(steps[1]).toMatchObject({ tariff: 'Today', change: 0 });
    expect(conclusion).toContain('"Today" is the best of these without a battery');
  });

  test('one that is closed by the day of the switch is shown and never chosen', () => {
    const closed = (date: string) => on(flat('Closed', 0.1, { life: { closedFrom: date } }));
    // The plan holds from 1 April 2026, the day after the data.
    expect(answer(today, closed('2026-04-01')).tariffs[1]).toMatchObject({ tariff: 'Closed', open: false });
    expect(bestOf(today, closed('2026-04-01'))).toBe('Today');
    expect(bestOf(today, closed('2026-04-02'))).toBe('Closed');
    const planned = on(flat('Today', 0.2), { site: { startsOn: '2026-06-01' } });
    expect(bestOf(planned, closed('2026-04-02'))).toBe('Today');
    // Who is on a closed one already stays on it.
    const own = on(flat('Today', 0.2, { life: { closedFrom: '2020-01-01' } }));
    expect(answer(own, on(flat('Dear', 0.3))).tariffs[0]).toMatchObject({ open: true });
  });

  test('a cheaper one that is closed or has ended is named beside the best that is open', () => {
    const closed = on(flat('Closed', 0.1, { life: { closedFrom: '2026-04-01' } }));
    const barred = '"Closed", at USD 216.00, would cost less but is not open to you on 2026-04-01';
    expect(answer(today, closed).conclusion).toContain(
      `"Today" is the best of these that is open to you without a battery; ${barred};`,
    );
    const switched = answer(today, closed, on(flat('Middle', 0.15))).conclusion;
    expect(switched).toMatch(/^Switching to "Middle" saves USD 108.00 /);
    expect(switched).toContain(`; ${barred};`);
    // A dearer one that is closed is no news.
    expect(answer(today, on(flat('Closed', 0.3, { life: { closedFrom: '2026-04-01' } }))).conclusion).not.toContain(
      'open',
    );
    const ended = on(flat('Ended', 0.2, { life: { endsOn: '2026-03-31' } }));
    expect(answer(ended, closed).conclusion).toMatch(/^None of these is open to you on 2026-04-01;/);
  });

  test('one that has ended by then is none, today’s neither: the home has to go', () => {
    const ended = (name: string, price: number) => flat(name, price, { life: { endsOn: '2026-03-31' } });
    expect(bestOf(today, on(ended('Ended', 0.1)))).toBe('Today');
    expect(bestOf(today, on(flat('Ends', 0.1, { life: { endsOn: '2026-04-01' } })))).toBe('Ends');
    const { steps, conclusion } = answer(on(ended('Today', 0.2)), on(flat('Dear', 0.3)));
    expect(steps[1]).toMatchObject({ tariff: 'Dear', change: 216 });
    expect(conclusion).toContain('Switching to "Dear" costs USD 216.00 more without any battery');
  });

  test('lock-in: nothing is chosen, or counted, before today’s tariff may be left', () => {
    const economics = { price: 100, covers: 'a battery' };
    const bound = on(flat('Today', 0.2, { life: { earliestSwitch: '2026-09-01' } }), { site: { economics } });
    const cheap = on(peaky('Cheap', 0.3, 0.1), { site: { economics } });
    const report = tariffSwitch([bound, cheap]);
    expect(report.tariffSwitch.switchOn).toBe('2026-09-01');
    expect(report.payback!.from).toBe('2026-09-01');
    expect(report.tariffSwitch.conclusion).toMatch(/^Switching to "Cheap", possible from 2026-09-01, saves/);
    expect(report.tariffSwitch.tariffs[0]!.life).toEqual(['may be left from 2026-09-01']);
    expect(bestOf(bound, on(flat('Closing', 0.1, { life: { closedFrom: '2026-08-31' } })))).toBe('Today');
    expect(bestOf(bound, on(flat('Ending', 0.1, { life: { endsOn: '2026-08-31' } })))).toBe('Today');
    // A date that is past by then binds nobody.
    const free = on(flat('Today', 0.2, { life: { earliestSwitch: '2026-03-01' } }));
    expect(answer(free, cheap).switchOn).toBe('2026-04-01');
    expect(answer(free, cheap).conclusion).toMatch(/^Switching to "Cheap" saves/);
  });

  test('each one’s dates and conditions are told', () => {
    const life = {
      closedFrom: '2027-01-01',
      endsOn: '2030-12-31',
      successor: 'Next',
      lockInMonths: 12,
      billProtectionMonths: 6,
      eligibility: ['Homes with a heat pump.'],
    };
    expect(answer(today, on(flat('Full', 0.3, { life }))).tariffs[1]!.life).toEqual([
      'closed to new customers from 2027-01-01',
      'binds for 12 months',
      'ends on 2030-12-31, "Next" follows',
      'protects bills for 6 months: what they come to above today’s tariff is credited',
      'who may have it: "Homes with a heat pump."',
    ]);
    expect(answer(today, on(flat('Plain', 0.3))).tariffs[1]!.life).toEqual([]);
  });
});

describe('without a battery and with one', () => {
  // "Today" 0.50 in four evening hours and 0.10 else: 4.00 a day, 360 in 90 days; with the battery 2.40 and 216, but
  // for the last night, whose 4 kWh are stored for an evening that the data no longer hold.
  const today = on(peaky('Today', 0.5, 0.1));

  test('a tariff that is better without a battery than today’s with one closes the sentence', () => {
    const { conclusion, steps } = answer(today, on(flat('Cheap', 0.09)));
    expect(steps.map(({ step, total }) => [step, total])).toEqual([
      ['today', 360],
      ['best-tariff', 194.4],
      ['planned-solar', 194.4],
      // At one price nothing is gained. To fill the battery for an outage would cost 4 × 0.09 = 0.36 once, more than the
      // tie of 0.1 % of the bill, 0.19: the sheet fills half of it, 0.18.
      ['battery', 194.58],
    ]);
    expect(conclusion).toMatch(
      /^Switching to "Cheap" saves USD 165\.60 without any battery, more than a battery on "Today" would; a battery on top costs USD 0\.18 more in energy/,
    );
    // 0.12 a kWh are 259.20: cheaper without a battery, dearer than the battery on today's.
    expect(answer(today, on(flat('Milder', 0.12))).conclusion).not.toContain('more than a battery');
  });

  test('one that comes to less only with the battery is named beside the best', () => {
    // 0.15 flat: 324 without, and nothing for a battery to do.
    const { betterWithBattery, steps, conclusion, tariffs } = answer(today, on(flat('Flat', 0.15)));
    expect(steps[1]!.tariff).toBe('Flat');
    expect(betterWithBattery).toMatchObject({ tariff: 'Today', strategy: 'settings' });
    expect(betterWithBattery!.total).toBe(tariffs[0]!.withBattery);
    expect(betterWithBattery!.total).toBeGreaterThanOrEqual(216);
    expect(betterWithBattery!.total).toBeLessThanOrEqual(216.4);
    expect(conclusion).toContain('; with a battery "Today" is the better one: USD 216.');
    expect(steps[3]).toMatchObject({ step: 'battery', tariff: 'Today', strategy: 'settings' });
  });

  test('what no battery removes: fixed charges and taxes on them, or the minimum bill', () => {
    const fixed = [
      { name: 'Service', amount: 10, per: 'month' },
      { name: 'Meter', amount: 0.1, per: 'day' },
    ];
    const taxes = [{ name: 'Tax', percent: 5, on: ['fixed'] }];
    // 13.10, 12.80 and 13.10, each with 5 % rounded on its bill: 0.66, 0.64, 0.66.
    expect(answer(today, on(flat('Fixed', 0.2, { fixed, taxes }))).tariffs[1]!.unavoidable).toBe(40.96);
    const minimumBill = { amount: 25, per: 'bill' };
    expect(answer(today, on(flat('Least', 0.2, { fixed, minimumBill }))).tariffs[1]!.unavoidable).toBe(75);
    expect(answer(today, on(flat('Plain', 0.2))).tariffs[1]!.unavoidable).toBe(0);
    // Under buy-all, sell-all what a home without load and sun would still pay: nothing here.
    const gross = answer(today, on(flat('Gross', 0.2, { export: { kind: 'buy-all', pricePerKwh: 0.1 } }))).tariffs[1]!;
    expect(gross.unavoidable).toBe(0);
  });

  test('delivery and supply from two suppliers make one bill', () => {
    const two = flat('Two', 0, {
      windows: undefined,
      energy: [
        { name: 'Delivery', supplier: 'Wires', pricePerKwh: 0.05 },
        { name: 'Supply', supplier: 'Sparks', pricePerKwh: 0.08 },
      ],
      fixed: [
        { name: 'Delivery service', supplier: 'Wires', amount: 6 },
        { name: 'Supply service', supplier: 'Sparks', amount: 4 },
      ],
      taxes: [{ name: 'Delivery tax', percent: 10, on: ['Wires'] }],
    });
    // 2160 × 0.13 = 280.80, fixed 30; 10 % on 108 + 18 are 12.60. Without energy 30 + 1.80.
    expect(answer(today, on(two)).tariffs[1]).toMatchObject({ withoutBattery: 323.4, unavoidable: 31.8 });
  });
});

describe('month by month, if nothing is done', () => {
  const other = on(flat('Other', 0.5));
  const later = (tariff: Tariff, ...successors: Tariff[]) => {
    const { today, laterBasis } = answer(on(tariff, { successors }), other);
    return { totals: today.map((month) => month.total), later: today.map((month) => month.later), basis: laterBasis };
  };
  const version = (from: string, pricePerKwh: number) => ({
    versions: [{ from, windows: [{ name: 'all hours', otherwise: true, pricePerKwh }] }],
  });

  test('nothing scheduled: no later column', () => {
    expect(later(flat('Today', 0.1))).toEqual({
      totals: [74.4, 67.2, 74.4],
      later: [null, null, null],
      basis: 'nothing changes if nothing is done: no later version and no end of this tariff is scheduled',
    });
  });

  test('a version after the data holds in all months of a year later', () => {
    expect(later(flat('Today', 0.1, version('2026-06-01', 0.2)))).toMatchObject({
      totals: [74.4, 67.2, 74.4],
      later: [148.8, 134.4, 148.8],
      basis: 'the same energy on the same days, on the versions that hold a year later',
    });
  });

  test('a version within the data: part of February now, all of it later', () => {
    // February: 14 days of 24 kWh at 0.10 and 14 at 0.20 are 33.60 + 67.20.
    expect(later(flat('Today', 0.1, version('2026-02-15', 0.2)))).toMatchObject({
      totals: [74.4, 100.8, 148.8],
      later: [148.8, 134.4, 148.8],
    });
  });

  test('an end and its successor: from the first bill after it', () => {
    const life = { endsOn: '2027-02-15', successor: 'Next' };
    expect(later(flat('Today', 0.1, { life }), flat('Next', 0.3))).toMatchObject({
      later: [74.4, 67.2, 223.2],
      basis:
        'the same energy on the same days, on the versions that hold a year later; "Next" from the first bill after 2027-02-15',
    });
  });

  test('an end some years ahead is looked for there', () => {
    const life = { endsOn: '2029-06-30', successor: 'Next' };
    expect(later(flat('Today', 0.1, { life }), flat('Next', 0.3))).toMatchObject({
      later: [223.2, 201.6, 223.2],
      basis: expect.stringContaining('4 years later; "Next" from the first bill after 2029-06-30'),
    });
  });

  test('a successor that bills from the 15th: by days', () => {
    const next = flat('Next', 0.3, {
      billing: { by: 'cycle-day', day: 15 },
      fixed: [{ name: 'Service', amount: 31, per: 'month' }],
    });
    const life = { endsOn: '2027-02-28', successor: 'Next' };
    const { later: months } = later(flat('Today', 0.1, { life }), next);
    // March: 744 × 0.30 = 223.20, half of the bill 15 February to 14 March (14 of 28 days), and all of what the data
    // hold of the next, 17 of its 31 days with 17 of its 31.00.
    expect(months[2]).toBeCloseTo(223.2 + 31 / 2 + 17, 2);
    expect(months.slice(0, 2)).toEqual([74.4, 67.2]);
  });

  test('an end without what follows is said', () => {
    const named = later(flat('Today', 0.1, { life: { endsOn: '2027-02-15', successor: 'Next' } }));
    expect(named.basis).toContain('after 2027-02-15 it is gone, and the file of "Next" is not among the tariffs given');
    const unnamed = later(flat('Today', 0.1, { life: { endsOn: '2027-02-15' } }));
    expect(unnamed.basis).toContain('after 2027-02-15 it is gone, and what follows is not stated');
  });
});

describe('bill protection', () => {
  const today = on(flat('Today', 0.1));

  test('credits what the first months cost above today’s tariff, by days', () => {
    const shielded = (months: number) =>
      answer(today, on(flat('New', 0.2, { life: { billProtectionMonths: months } }))).tariffs[1]!.withProtection;
    // 432 unprotected; two months save 141.60 of it; twelve, more than the data hold, all of 216.
    expect(shielded(1)).toBe(432 - 74.4);
    expect(shielded(2)).toBe(432 - 141.6);
    expect(shielded(12)).toBe(216);
    expect(answer(today, on(flat('New', 0.2))).tariffs[1]!.withProtection).toBeNull();
    // One that is cheaper anyway stays as it is.
    const cheap = on(flat('Cheap', 0.05, { life: { billProtectionMonths: 12 } }));
    expect(answer(today, cheap).tariffs[1]).toMatchObject({ withoutBattery: 108, withProtection: 108 });
  });
});

describe('the steps sum to the cent', () => {
  const shortAxis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 1), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
  const price = fc.double({ min: 0.003, max: 0.9, noNaN: true });

  test('over random prices, currencies of 0, 2 and 3 decimals, and energy stored at the start', () => {
    let moved = 0;
    fc.assert(
      fc.property(
        fc.constantFrom(['JPY', 0] as const, ['USD', 2] as const, ['KWD', 3] as const),
        fc.array(fc.tuple(price, price, price), { minLength: 2, maxLength: 3 }),
        fc.double({ min: 0, max: 1, noNaN: true }),
        fc.double({ min: 0.1, max: 3, noNaN: true }),
        ([currency, decimals], prices, startShare, scaleOfExisting) => {
          const studies = prices.map(([peak, rest, sale], k) =>
            makeStudy({
              site: parseSite({
                format: 'duskbank.site/1',
                name: 'A home',
                zone: 'Etc/UTC',
                meter: { files: ['home.csv'] },
                tariff: 'tariff.json',
                plannedSolar: { scaleOfExisting },
                plant: {
                  battery: { units: 1, usableKwh: 4, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.87 },
                  startShare,
                },
              }),
              series: {
                axis: shortAxis,
                loadKwh: Float64Array.from({ length: 48 }, (_, i) => 0.31 + ((i * 7) % 24) / 23),
                solarKwh: Float64Array.from({ length: 48 }, (_, i) => (i % 24 > 8 && i % 24 < 16 ? 0.77 : 0)),
              },
              tariff: peaky(`T${k}`, peak, rest, {
                currency,
                export: { kind: 'net-billing', pricePerKwh: Math.min(sale, rest, peak) },
              }),
            }),
          );
          const report = tariffSwitch(studies);
          for (const steps of [report.tariffSwitch.steps, report.plannedSolar!.steps]) {
            const units = (value: number) => {
              const whole = Math.round(value * 10 ** decimals);
              // Nothing is left behind the last decimal: what is printed is what is summed.
              expect(Math.abs(value * 10 ** decimals - whole)).toBeLessThan(1e-6);
              return whole;
            };
            let sum = units(steps[0]!.total);
            for (const [k, step] of steps.entries()) {
              sum += units(step.change);
              expect(sum).toBe(units(step.total));
              if (k > 0 && step.change !== 0) moved++;
            }
          }
        },
      ),
      { seed: 20260302, numRuns: 60 },
    );
    expect(moved).toBeGreaterThan(150);
  });
});

describe('what is to be known of another tariff', () => {
  test('is said once where it holds of today’s too, else with the tariff’s name', () => {
    const noDifference = on(flat('Twin', 0.2));
    // Its charge is called as the tariff is: that names no tariff.
    const demand = { demand: [{ name: 'Power', pricePerKw: 1, averagingMinutes: 15 }] };
    const power = on(flat('Power', 0.1, demand));
    const ending = on(flat('Ending', 0.1, { life: { endsOn: '2027-01-01' } }));
    const { warnings } = tariffSwitch([on(flat('Today', 0.2)), noDifference, power, ending]);
    expect(unmade(warnings)).toEqual([]);
    expect(warnings.map(({ code, data }) => [code, data.tariff])).toEqual([
      ['short-span', undefined],
      ['controller-assumed', undefined],
      ['settings-months-unseen', undefined],
      ['demand-averaging', 'Power'],
      // Of its own windows: another sentence than of today's.
      ['settings-months-unseen', 'Power'],
      ['tariff-ends', 'Ending'],
    ]);
    expect(warnings[3]!.message).toMatch(/^on "Power": "Power" averages power over 15 minutes/);
    expect(warnings[5]!.message).toMatch(/^"Ending" ends on 2027-01-01/);
  });
});

describe('studies that are set side by side are of one home over one past', () => {
  const today = on(flat('Today', 0.2));
  const other = flat('Other', 0.1);
  const made = (over: { site?: object; series?: Partial<Parameters<typeof makeStudy>[0]['series']> }) => {
    const { site } = on(other, over.site === undefined ? {} : { site: over.site });
    const series = { axis, loadKwh, ...over.series };
    return makeStudy({
      site: series.axis.zone === site.zone ? site : { ...site, zone: series.axis.zone },
      series,
      tariff: other,
    });
  };
  const faultsOf = (...studies: Study[]) => {
    try {
      tariffSwitch(studies);
    } catch (error) {
      if (error instanceof InputError) return error.issues.map(({ code, where }) => `${code} ${where.path?.join('.')}`);
      throw error;
    }
    return [];
  };
  const shorter = makeAxis({ ...axis, intervals: HOURS - 24 });
  const elsewhere = makeAxis({ ...axis, zone: 'Europe/Berlin' });
  const battery = { units: 2, usableKwh: 4, chargeKw: 4, dischargeKw: 4, roundTripEfficiency: 1 };

  test.each([
    ['a shorter span', 'axis-differs', () => made({ series: { axis: shorter, loadKwh: loadKwh.subarray(24) } })],
    ['another zone', 'axis-differs', () => made({ series: { axis: elsewhere } })],
    ['a doubled load', 'home-differs', () => made({ series: { loadKwh: loadKwh.map((kwh) => 2 * kwh) } })],
    ['solar beside the load', 'home-differs', () => made({ series: { solarKwh: loadKwh.map((kwh) => 0.5 * kwh) } })],
    ['another battery', 'home-differs', () => made({ site: { plant: { battery } } })],
    [
      'part of the load alone',
      'home-differs',
      () => made({ site: { plant: { battery: { ...battery, units: 1 }, reach: { share: 0.4 } } } }),
    ],
    ['another service', 'home-differs', () => made({ site: { service: { importLimitKw: 3 } } })],
    ['another load kept on in an outage', 'home-differs', () => made({ site: { backup: { load: { watts: 300 } } } })],
  ])('%s is refused', (_, code, study) => {
    expect(faultsOf(today, study())).toEqual([`${code} choices.1`]);
  });

  test('a copy of the same home with another plant put into it is refused, one that was cloned is not', () => {
    const changed = on(other);
    const home = withPlant(changed.home, { ...changed.home.plant, capacityKwh: 8 }, changed.island);
    expect(faultsOf(today, { ...changed, home })).toEqual(['home-differs choices.1']);
    expect(faultsOf(today, structuredClone(changed))).toEqual([]);
  });

  test('two tariffs of one name are refused: the rows of one would be taken for those of the other', () => {
    expect(faultsOf(today, on(other), on(flat('Today', 0.1)))).toEqual(['duplicate-name name']);
  });
});
