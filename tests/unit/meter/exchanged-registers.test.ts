import { checkMetering, type IntervalSeries, joinSeries, parseIntervalData } from '@duskbank/core/meter';
import { loadSite } from '@duskbank/core/site';
import { describe, expect, test } from 'vitest';
import { statesRoles } from '../../../packages/core/src/meter/stated-roles.ts';

// Export that counts through the night beside import that counts by day alone: each has the other's name.

const zone = 'Australia/Brisbane';
const two = (n: number) => String(n).padStart(2, '0');
type Kwh = (slot: number) => number;
/** Half hours of a home: drawn all day, but where the sun covers it, and a hot water heater's register from 0 to 4 h. */
const drawn: Kwh = (k) => (k >= 16 && k < 32 ? 0 : k >= 36 && k < 44 ? 0.5 : 0.15);
const sold: Kwh = (k) => (k >= 16 && k < 32 ? 0.6 : 0);
const heater: Kwh = (k) => (k < 8 ? 0.8 : 0);
const block = (suffix: string, from: number, to: number, kwh: Kwh) => [
  `200,6000000001,E1E2B1,${suffix},${suffix},N1,M1,kWh,30,`,
  ...Array.from(
    { length: to - from + 1 },
    (_, d) => `300,202603${two(from + d)},${Array.from({ length: 48 }, (_, k) => kwh(k)).join(',')},A,,,,`,
  ),
];
const file = (from: number, to: number, e1: Kwh, b1: Kwh, e2: Kwh = heater) =>
  [
    '100,NEM12,202604010000,MDP,RET',
    ...block('E1', from, to, e1),
    ...block('E2', from, to, e2),
    ...block('B1', from, to, b1),
    '900',
    '',
  ].join('\n');
const read = (text: string): IntervalSeries => parseIntervalData(text, { zone }).series!;
const faults = (series: IntervalSeries) => checkMetering(series).filter(({ code }) => code === 'registers-exchanged');

describe('registers with each other’s names', () => {
  test('are told with their days, beside one that counts in the dark', () => {
    expect(faults(read(file(1, 28, sold, drawn)))).toMatchObject([
      {
        confidence: 'sure',
        data: { register: 'register E1', days: 28, runs: [{ from: '2026-03-01', to: '2026-03-28' }] },
      },
    ]);
    expect(checkMetering(read(file(1, 28, sold, drawn))).map(({ code }) => code)).not.toContain('leg-reversed');
  });

  test.each([
    ['carries the evening and half the night', (k: number) => (k < 12 ? 0.2 : 0)],
    ['fills at night, and carries the rest', (k: number) => (k < 10 ? 0.9 : 0)],
  ])('are told of a home whose battery %s', (_, bought) => {
    expect(faults(read(file(1, 28, sold, bought)))).toMatchObject([{ data: { register: 'register E1', days: 28 } }]);
    expect(faults(read(file(1, 28, bought, sold)))).toEqual([]);
  });

  test('are told where they are so in one of two files', () => {
    const joined = joinSeries([read(file(1, 14, drawn, sold)), read(file(15, 28, sold, drawn))]);
    expect(faults(joined.series!)).toMatchObject([
      { data: { days: 14, runs: [{ from: '2026-03-15', to: '2026-03-28' }] } },
    ]);
  });

  test.each([
    ['a home that sells by day', drawn, sold],
    [
      'a battery that leaves a little to the grid at night',
      (k: number) => (k >= 32 && k < 40 ? 0.1 : 0),
      (k: number) => sold(k) + (k < 8 || k >= 44 ? 0.01 : 0),
    ],
  ])('are not: %s', (_, e1, b1) => {
    expect(faults(read(file(1, 28, e1, b1)))).toEqual([]);
  });

  test('may be those of a battery that sells all night, and the roof by day: asked once, and taken as stated', () => {
    const bought: Kwh = (k) => (k >= 14 && k < 34 ? 0.1 : 0);
    const atNight: Kwh = (k) => sold(k) + (k < 12 || k >= 40 ? 0.2 : 0);
    const series = read(file(1, 28, bought, atNight));
    expect(faults(series)).toMatchObject([{ data: { by: 'course' } }]);
    const stated = checkMetering(series, { rolesStated: true }).filter(({ code }) => code === 'registers-exchanged');
    expect(stated).toMatchObject([{ data: { by: 'course', stated: true } }]);
  });
});

describe('a home that sells at night', () => {
  // Wind: more by night than the home draws, less by day.
  const bought: Kwh = (k) => (k >= 16 && k < 36 ? 0.2 : 0);
  const blown: Kwh = (k) => (k >= 16 && k < 36 ? 0 : 0.5);
  const nem12 = [
    '100,NEM12,202604010000,MDP,RET',
    ...block('E1', 1, 28, bought),
    ...block('B1', 1, 28, blown),
    '900',
    '',
  ]
    .join('\n')
    .replaceAll('E1E2B1', 'E1B1');
  const label = (i: number) =>
    `2026-03-${two(1 + Math.floor(i / 48))} ${two(Math.floor((i % 48) / 2))}:${i % 2 === 0 ? '00' : '30'}`;
  const each = Array.from({ length: 28 * 48 }, (_, i) => i);
  const columns = [
    'Start,Import kWh,Export kWh',
    ...each.map((i) => `${label(i)},${bought(i % 48)},${blown(i % 48)}`),
    '',
  ];
  const rows = [
    'Start,Type,kWh',
    ...each.flatMap((i) => [`${label(i)},Import,${bought(i % 48)}`, `${label(i)},Export,${blown(i % 48)}`]),
    '',
  ];
  const study = async (text: string, stated: Readonly<Record<string, unknown>>, meter: object = {}) => {
    const all: Record<string, string> = {
      'meter.csv': text,
      'tariff.json': JSON.stringify({
        format: 'duskbank.tariff/1',
        name: 'Flat',
        utility: 'Invented Power',
        currency: 'AUD',
        windows: [{ name: 'always', otherwise: true, pricePerKwh: 0.3 }],
        export: { kind: 'net-billing', pricePerKwh: 0.05 },
      }),
      'site.json': JSON.stringify({
        format: 'duskbank.site/1',
        name: 'Home',
        zone,
        meter: { files: [{ path: 'meter.csv', ...stated }], ...meter },
        tariff: 'tariff.json',
      }),
    };
    const { study: loaded } = await loadSite('site.json', (path) =>
      Promise.resolve(new TextEncoder().encode(all[path])),
    );
    const sum = (kwh: Float64Array) => kwh.reduce((total, one) => total + one, 0);
    return { withheld: loaded.savingsWithheld, boughtKwh: sum(loaded.home.loadKwh), warnings: loaded.warnings };
  };

  test.each([
    ['columns', columns.join('\n'), { columns: { import: 2, export: 3 } }, { columns: { import: 3, export: 2 } }],
    ['rows', rows.join('\n'), { rows: { Import: 'import', Export: 'export' } }, undefined],
    ['NEM12', nem12, { rows: { E1: 'import', B1: 'export' } }, { rows: { e1: 'export', b1: 'import' } }],
  ])('is asked, and believed once it is stated which is which: %s', async (_, text, as, exchanged) => {
    const asked = await study(text, {});
    expect(asked.withheld).toContain('seem exchanged');
    expect(asked.warnings.find(({ code }) => code === 'grid-reversed')?.message).toContain('"rows": { "E1": "import"');
    // It sells without sun all the same: a battery's, until the site says what else it is.
    const sells = await study(text, as);
    expect(sells.withheld).toContain('the data seem to contain a battery already');
    expect(sells.withheld).toContain('"nightGeneration": "wind"');
    // Once is enough.
    expect((await study(text, {}, { nightGeneration: 'wind' })).withheld).toBeUndefined();
    const stated = await study(text, as, { nightGeneration: 'wind' });
    expect(stated.withheld).toBeUndefined();
    expect(stated.warnings.map(({ message }) => message).join()).toContain('taken as made by wind, as the site states');
    expect(stated.boughtKwh).toBeCloseTo(28 * 20 * 0.2, 6);
    expect(stated.warnings.find(({ code }) => code === 'grid-reversed')?.message).toContain('taken as it is stated');
    expect(stated.warnings.map(({ code }) => code)).not.toContain('stated-unused');
    if (exchanged !== undefined) expect((await study(text, exchanged)).boughtKwh).toBeCloseTo(28 * 28 * 0.5, 6);
  });

  test('is asked still where a register is stated that the file lacks', async () => {
    const lacking = await study(nem12, { rows: { E1: 'import', B2: 'export' } });
    expect(lacking.withheld).toContain('seem exchanged');
    expect(lacking.warnings.map(({ code }) => code)).toContain('stated-unused');
  });

  test('is told in a series that was read too', () => {
    const told = checkMetering(read(nem12), { rolesStated: true }).find(({ code }) => code === 'grid-reversed');
    expect(told).toMatchObject({ data: { stated: true } });
  });

  // A home of solar in whose file the two names stand the wrong way round: what follows the sun is called bought.
  const arc = (k: number) => Math.max(0, Math.sin(((k - 12) / 24) * Math.PI)) ** 1.5;
  const sunny = [
    'Start,Import kWh,Export kWh',
    ...each.map((i) => `${label(i)},${(1.2 * arc(i % 48)).toFixed(3)},${(0.3 * (1 - arc(i % 48))).toFixed(3)}`),
    '',
  ].join('\n');

  test('is not believed where what is stated as bought follows the sun', async () => {
    const asIs = await study(sunny, { columns: { import: 2, export: 3 } });
    expect(asIs.withheld).toContain('seem exchanged');
    expect(asIs.warnings.map(({ message }) => message).join()).toContain('exchange the two in what is stated');
    expect((await study(sunny, {}, { nightGeneration: 'wind' })).withheld).toContain('seem exchanged');
    expect((await study(sunny, { columns: { import: 3, export: 2 } })).withheld).toBeUndefined();
  });

  test('is refused where both columns are stated one way: their sum is neither', async () => {
    for (const way of ['import', 'export'])
      await expect(study(sunny, { columns: { [way]: [2, 3] } })).rejects.toThrow('their sum is neither');
    // Exchanged in a part of them only, each is stated for itself.
    await expect(study(sunny, { columns: { import: 3, export: 2 } })).resolves.toBeDefined();
  });

  test('both suffixes stated one way change nothing, and that is told', async () => {
    const both = await study(nem12, { rows: { E1: 'import', B1: 'import' } });
    expect(both.warnings.map(({ code }) => code)).toContain('stated-unused');
    expect(both.withheld).toContain('seem exchanged');
  });

  test('has to be stated of every register that is read', () => {
    const kwh = Float64Array.of(1, 2);
    const series = {
      ...read(nem12),
      parts: ['e1', 'b1', 'b2'].map((register) => ({ channel: 'import' as const, register, name: register, kwh })),
    };
    expect(statesRoles({ rows: { E1: 'export', B1: 'import' } }, series as never, [])).toBe(false);
    expect(statesRoles({ rows: { E1: 'export', B1: 'import', B2: 'import' } }, series as never, [])).toBe(true);
  });

  test('is stated by the sign of a net too', () => {
    const series = read(nem12);
    expect(statesRoles({ sign: 'export-positive' }, series, [])).toBe(true);
    expect(statesRoles({}, series, [])).toBe(false);
    const unused = { code: 'stated-unused', data: { options: ['sign'] } } as never;
    expect(statesRoles({ sign: 'export-positive' }, series, [unused])).toBe(false);
  });
});
