// Files that could be read in several ways are asked about, and every answer that a question names works.
import { faultsOf, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';

const zone = 'America/Denver';
const read = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone, ...options });
const errors = (text: string, options: ParseOptions = {}) =>
  read(text, options)
    .findings.filter((finding) => finding.severity === 'error')
    .map((finding) => finding.code);
const codes = (text: string, options: ParseOptions = {}) =>
  read(text, options)
    .findings.map((finding) => finding.code)
    .filter((code) => code !== 'coarse-steps');
const sum = (values: Float64Array | undefined) => values?.reduce((total, kwh) => total + (kwh || 0), 0) ?? Number.NaN;
const total = (text: string, channel: 'import' | 'export' | 'load' | 'solar', options: ParseOptions = {}) =>
  sum(read(text, options).series?.[`${channel}Kwh`]);

/** Seven winter days of quarter hours: 672. */
const LABELS = Array.from({ length: 672 }, (_, i) =>
  new Date(Date.UTC(2026, 0, 5) + i * 900_000).toISOString().slice(0, 16).replace('T', ' '),
);
const table = (header: string, rows: readonly string[]) => `${[header, ...rows].join('\n')}\n`;
/** A value a quarter hour that rises and falls: 0.2, 0.25, 0.3, mean 0.25, so that a week has 168 kWh. */
const wave = (i: number) => (0.2 + (i % 3) * 0.05).toFixed(3);
/** Mean 5/7: a week has 480 kWh. */
const other = (i: number) => ((5 / 7) * (0.85 + (i % 4) * 0.1)).toFixed(6);

describe('units in any case and glue', () => {
  test.each([
    ['KWh', 168],
    ['KWH', 168],
    ['kwh', 168],
    ['Consumo_KWh', 168],
    ['Volume_KWh', 168],
    ['ImportKWH', 168],
    ['usagekwh', 168],
    ['kWhImport', 168],
    ['Usage (kW-h)', 168],
    ['Usage KILOWATT_HOURS', 168],
    ['KW', 42],
    ['Demand_KW', 42],
    ['ImportKW', 42],
    ['PowerkW', 42],
    ['Usage kWh/h', 42],
  ])('a column named %s holds %f kWh', (name, kwh) => {
    const text = table(
      `Start,${name}`,
      LABELS.map((label, i) => `${label},${wave(i)}`),
    );
    expect(total(text, 'import')).toBeCloseTo(kwh, 6);
  });

  test('a units column in any case', () => {
    for (const [unit, kwh] of [
      ['KWh', 168],
      ['KWH', 168],
      ['Kw', 42],
    ] as const) {
      const rows = LABELS.map((label, i) => `${label},${wave(i)},${unit}`);
      expect(total(table('Start,Usage,Units', rows), 'import')).toBeCloseTo(kwh, 6);
    }
  });

  test('"kW/h" says neither kW nor kWh: a question', () => {
    const text = table(
      'Start,Usage kW/h',
      LABELS.map((label, i) => `${label},${wave(i)}`),
    );
    expect(errors(text)).toEqual(['unit-unknown']);
    expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(168, 6);
  });

  test('a capital tells the end of a word from a unit', () => {
    const head = (name: string, scale: number) =>
      table(
        `Start,${name}`,
        LABELS.map((label, i) => `${label},${Number(wave(i)) * scale}`),
      );
    expect(total(head('PeakWh', 1000), 'import')).toBeCloseTo(168, 6);
    expect(total(head('USAGE FLOW kWh', 1), 'import')).toBeCloseTo(168, 6);
  });
});

describe('a home’s year', () => {
  const hourly = (header: string, value: (i: number) => number) =>
    table(
      header,
      LABELS.filter((_, i) => i % 4 === 0).map((label, i) => `${label},${value(i)}`),
    );
  const day = (i: number) => 0.6 + (i % 24) / 20;

  test('a thousandth of a home is asked about, whatever names the unit, and the answer stands', () => {
    for (const text of [
      hourly('Start,Usage (Wh)', day),
      table(
        'Start,Usage,Unit',
        LABELS.filter((_, i) => i % 4 === 0).map((label, i) => `${label},${day(i)},Wh`),
      ),
    ]) {
      const asked = read(text);
      expect(asked.series).toBeUndefined();
      expect(asked.findings[0]).toMatchObject({ code: 'unit-implausible', severity: 'error' });
      expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(197.4, 6);
      // The file prints Wh and only kWh make a home of it: to state Wh once more contradicts plainly only where they differ.
      expect(total(text, 'import', { unit: 'Wh' })).toBeCloseTo(0.1974, 9);
      expect(codes(text, { unit: 'Wh' })).toContain('unit-implausible');
    }
  });

  test('sixty one-minute kW added up and called kW are asked about', () => {
    const text = hourly('Start,kW', (i) => 60 * day(i));
    expect(errors(text)).toEqual(['unit-implausible']);
    expect(read(text).findings[0]!.message).toContain('kW-minutes would make');
    expect(total(text, 'import', { unit: 'kW-minutes' })).toBeCloseTo(197.4, 6);
  });

  test('without a unit, both Wh and sums of sixty kW may make a home: a question', () => {
    const text = hourly('Start,usage', (i) => 60 * day(i));
    expect(errors(text)).toEqual(['unit-unknown']);
    expect(total(text, 'import', { unit: 'kW-minutes' })).toBeCloseTo(197.4, 6);
  });

  test.each([
    ['kWh', 'a home of 255 kWh a day', (i: number) => 9.85 * day(i)],
    ['kWh', 'one of 350', (i: number) => 13.5 * day(i)],
    ['kW-minutes', 'more kWh than any home', (i: number) => 25.5 * day(i)],
  ] as const)('without a unit, %s of %s are offered, and kW-minutes never taken', (unit, _, value) => {
    const text = hourly('time,value', value);
    const [fault, ...more] = read(text).findings.filter(({ severity }) => severity === 'error');
    expect([fault!.code, more]).toEqual(['unit-unknown', []]);
    expect((fault!.data!.choices as { unit: string }[]).map((choice) => choice.unit)).toContain(unit);
  });

  test('a stated unit that makes no home’s year is refused where the file prints one that does', () => {
    const text = hourly('Start,Usage (kWh)', day);
    expect(errors(text, { unit: 'Wh' })).toEqual(['unit-implausible']);
    expect(errors(text, { unit: 'MWh' })).toEqual(['unit-implausible']);
    expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(197.4, 6);
  });

  test('a small cabin is believed once its unit is stated, or its bill agrees', () => {
    const text = hourly('Start,Usage (kWh)', () => 0.01);
    expect(errors(text)).toEqual(['unit-implausible']);
    expect(total(text, 'import', { unit: 'kWh' })).toBeCloseTo(1.68, 9);
    expect(total(text, 'import', { billedKwh: 1.7 })).toBeCloseTo(1.68, 9);
  });

  test('export and solar of their own may be small', () => {
    expect(errors(hourly('Start,Export (kWh)', () => 0.001))).toEqual([]);
    expect(errors(hourly('Start,Solar (kWh)', () => 0.01))).toEqual([]);
    expect(errors(hourly('Start,Solar (Wh)', () => 0.5))).toEqual(['unit-implausible']);
  });
});

describe('rows of several kinds', () => {
  const rows = (kinds: readonly [string, string]) =>
    LABELS.flatMap((label, i) => [`${label},${kinds[0]},${wave(i)}`, `${label},${kinds[1]},${other(i)}`]);

  test.each(['Register', 'Channel', 'Type', 'OBIS', 'Direction', 'Reg No', 'Channel ID', 'Flow'])(
    'a %s cell that says nothing is a question; its answer is followed',
    (header) => {
      for (const kinds of [
        ['A', 'B'],
        ['1', '2'],
        ['Kanal X9', 'Kanal Y9'],
      ] as const) {
        const text = table(`Start,${header},kWh`, rows(kinds));
        const asked = read(text);
        expect(asked.series).toBeUndefined();
        expect(asked.findings).toMatchObject([{ code: 'rows-unclear', severity: 'error', lines: [2, 3], count: 2 }]);
        const split = { rows: { [kinds[0].toLowerCase()]: 'import', [kinds[1]]: 'export' } } as const;
        expect(total(text, 'import', split)).toBeCloseTo(168, 6);
        expect(total(text, 'export', split)).toBeCloseTo(480, 3);
        const one = { rows: { [kinds[0]]: 'import', '*': 'ignore' } } as const;
        expect(total(text, 'import', one)).toBeCloseTo(168, 6);
        const added = { rows: { [kinds[0]]: 'import', [kinds[1]]: 'import' } } as const;
        expect(total(text, 'import', added)).toBeCloseTo(648, 3);
      }
    },
  );

  test('what was seen is told without a text that may be a name', () => {
    const { message } = read(table('Start,Channel,kWh', rows(['Smith kitchen', '2']))).findings[0]!;
    expect(message).not.toContain('Smith');
    expect(message).toContain('rows of "2" (480 kWh, from line 3)');
    expect(message).toContain('168 kWh');
  });

  test.each(['77 88 99 00 11', '778-899-0011', '77.88.99.001', '77\u00a088\u00a099\u00a000'])(
    'the number of a meter or an account (%s) is not told, whatever parts its digits',
    (number) => {
      const { findings } = read(table('Start,Register,kWh', rows([number, 'A'])));
      expect(findings[0]).toMatchObject({ code: 'rows-unclear' });
      expect(JSON.stringify(findings)).not.toMatch(/77.?8.?8/);
    },
  );

  test('rows that never share a time may still be import and export', () => {
    const text = table(
      'Start,Channel,kWh',
      LABELS.map((label, i) => `${label},${i % 96 < 40 ? 1 : 2},${wave(i)}`),
    );
    expect(errors(text)).toEqual(['rows-unclear']);
  });

  test('an empty cell beside rows of export is a question', () => {
    const text = table('Start,Direction,kWh', rows(['', 'Received']));
    expect(errors(text)).toEqual(['rows-unclear']);
    expect(total(text, 'import', { rows: { '': 'import' } })).toBeCloseTo(168, 6);
    expect(total(text, 'export', { rows: { '': 'import' } })).toBeCloseTo(480, 3);
  });

  test('OBIS codes and A+ and A− are understood; a total is not added to its rates', () => {
    for (const kinds of [
      ['1-0:1.8.0', '1-0:2.8.0'],
      ['1.29.0', '2.29.0'],
      ['A+', 'A-'],
      ['+A', '-A'],
    ] as const) {
      const text = table('Start,OBIS,kWh', rows(kinds));
      expect(total(text, 'import')).toBeCloseTo(168, 6);
      expect(total(text, 'export')).toBeCloseTo(480, 3);
    }
    const rates = LABELS.flatMap((label, i) => {
      const night = i % 96 < 28;
      return [
        `${label},1-0:1.29.0,${wave(i)}`,
        `${label},1-0:1.29.1,${night ? 0 : wave(i)}`,
        `${label},1-0:1.29.2,${night ? wave(i) : 0}`,
      ];
    });
    const text = table('Start,OBIS,kWh', rates);
    expect(total(text, 'import')).toBeCloseTo(168, 6);
    expect(codes(text)).toEqual(['alternative-left', 'alternative-left']);
    const without = table(
      'Start,OBIS,kWh',
      rates.filter((row) => !row.includes('29.0')),
    );
    expect(total(without, 'import')).toBeCloseTo(168, 6);
    expect(codes(without)).toEqual([]);
  });

  test('reactive energy, told by type or unit, is left out', () => {
    const typed = table('Start,Type,Value', rows(['Import kWh', 'Reactive kVArh']));
    expect(total(typed, 'import')).toBeCloseTo(168, 6);
    expect(codes(typed)).toEqual(['channel-assumed', 'other-quantity']);
    const units = table('Start,Unit,Usage', rows(['kWh', 'kVArh']));
    expect(total(units, 'import')).toBeCloseTo(168, 6);
    expect(codes(units)).toEqual(['other-quantity']);
  });

  test('power beside energy of the same times is left out', () => {
    const text = table('Start,Unit,Usage', rows(['kWh', 'kW']));
    expect(total(text, 'import')).toBeCloseTo(168, 6);
    expect(codes(text)).toEqual(['alternative-left']);
  });

  test('estimated and actual rows are one register', () => {
    const text = table(
      'Start,Type,Usage kWh',
      LABELS.map((label, i) => `${label},${i % 50 === 7 ? 'Estimated' : 'Actual'},${wave(i)}`),
    );
    expect(codes(text)).toEqual(['estimated-by-source']);
    expect(read(text).findings[0]).toMatchObject({ count: 14 });
    expect(total(text, 'import')).toBeCloseTo(168, 6);
  });

  test('a window of which only a few rows tell is of the step of the others', () => {
    const text = table(
      'Start,Type,Usage kWh',
      LABELS.map((label, i) => `${label},${[70, 200, 360].includes(i) ? 'Critical peak' : 'Off-peak'},${wave(i)}`),
    );
    expect(codes(text)).toEqual([]);
    expect(total(text, 'import')).toBeCloseTo(168, 6);
  });

  test('two texts of one meaning for the same times are a question', () => {
    const text = table('Start,Type,kWh', rows(['Usage', 'Consumption']));
    expect(errors(text)).toEqual(['parts-unclear']);
    expect(total(text, 'import', { rows: { Consumption: 'ignore' } })).toBeCloseTo(168, 6);
    expect(total(text, 'import', { repeats: 'first' })).toBeCloseTo(168, 6);
    expect(total(text, 'import', { repeats: 'last' })).toBeCloseTo(480, 3);
    expect(total(text, 'import', { repeats: 'add' })).toBeCloseTo(648, 3);
  });

  test('a copy under another text is read once', () => {
    const text = table(
      'Start,Type,kWh',
      LABELS.flatMap((label, i) => [`${label},Usage,${wave(i)}`, `${label},Consumption,${wave(i)}`]),
    );
    expect(total(text, 'import')).toBeCloseTo(168, 6);
    expect(codes(text)).toEqual(['alternative-left']);
  });

  test('consumption beside generation is load, as it is in columns', () => {
    const text = table('Start,Type,kWh', rows(['Consumption', 'Generation']));
    expect(total(text, 'load')).toBeCloseTo(168, 6);
    expect(total(text, 'solar')).toBeCloseTo(480, 3);
  });

  test('`rows` that no row or column bears out is a fault', () => {
    expect(
      errors(table('Start,Direction,kWh', rows(['Delivered', 'Received'])), { rows: { Recieved: 'export' } }),
    ).toEqual(['unknown-rows']);
    const plain = table(
      'Start,kWh',
      LABELS.map((label, i) => `${label},${wave(i)}`),
    );
    expect(errors(plain, { rows: { A: 'export' } })).toEqual(['unknown-rows']);
  });

  test('two rows for each interval that a column of unknown texts tells apart: what they measure is asked', () => {
    const text = table('Start,Ort,kWh', rows(['Haus', 'Dach']));
    expect(errors(text)).toEqual(['rows-unclear']);
    const told = { columns: { type: 'Ort' }, rows: { Haus: 'import', Dach: 'export' } } as const;
    expect(total(text, 'import', told)).toBeCloseTo(168, 6);
    expect(total(text, 'export', told)).toBeCloseTo(480, 3);
    for (const repeats of ['first', 'last', 'add'] as const)
      expect(errors(text, { repeats })).toEqual(['rows-unclear']);
  });

  test('a column of notes tells nothing apart', () => {
    const text = table(
      'Start,Description,kWh',
      LABELS.map((label, i) => `${label},note ${i * 7919},${wave(i)}`),
    );
    expect(total(text, 'import')).toBeCloseTo(168, 6);
    expect(errors(text, { columns: { type: 'Description', import: 3 } })).toEqual(['rows-unclear']);
    expect(total(text, 'import', { columns: { type: 'Description', import: 3 }, rows: { '*': 'import' } })).toBeCloseTo(
      168,
      6,
    );
  });

  test('registers in columns that only a number names are a question', () => {
    const text = table(
      'Start,Register 1 kWh,Register 2 kWh',
      LABELS.map((label, i) => `${label},${wave(i)},${other(i)}`),
    );
    expect(errors(text)).toEqual(['columns-unclear']);
    expect(total(text, 'export', { columns: { import: 2, export: 3 } })).toBeCloseTo(480, 3);
  });

  test('highest and lowest power are no registers', () => {
    const text = table(
      'Start,High kW,Low kW',
      LABELS.map((label, i) => `${label},${other(i)},${wave(i)}`),
    );
    expect(errors(text)).toEqual(['columns-unclear']);
  });

  test('a row a day: registers and meters are told apart', () => {
    const heads = Array.from(
      { length: 96 },
      (_, k) => `${String(k >> 2).padStart(2, '0')}:${String((k % 4) * 15).padStart(2, '0')}`,
    );
    const days = (kinds: readonly [string, string]) =>
      Array.from({ length: 7 }, (_, d) => {
        const cells = (value: (i: number) => string) => heads.map((_, k) => value(d * 96 + k)).join(',');
        const date = LABELS[d * 96]!.slice(0, 10);
        return [`${date},${kinds[0]},${cells(wave)}`, `${date},${kinds[1]},${cells(other)}`];
      }).flat();
    const text = (header: string, kinds: readonly [string, string]) =>
      table(`Date,${header},${heads.join(',')}`, days(kinds));
    const unit = 'kWh';
    expect(errors(text('Register', ['1', '2']), { unit })).toEqual(['rows-unclear']);
    const rows = { '1': 'import', '2': 'export' } as const;
    expect(total(text('Register', ['1', '2']), 'export', { unit, rows })).toBeCloseTo(480, 3);
    expect(errors(text('Meter Number', ['111', '222']), { unit })).toEqual(['several-usage-points']);
    expect(total(text('Meter Number', ['111', '222']), 'import', { unit, usagePoint: 2 })).toBeCloseTo(480, 3);
  });

  test('two resolutions that are not the same energy are a question', () => {
    const text = table('Start,Type,kWh', [
      ...LABELS.map((label, i) => `${label},Usage,${wave(i)}`),
      ...LABELS.filter((_, i) => i % 4 === 0).map((label) => `${label},Consumption,0.3`),
    ]);
    expect(errors(text)).toEqual(['parts-unclear']);
    const same = text.replaceAll(',Consumption,0.3', ',Consumption,1');
    expect(codes(same)).toEqual(['two-resolutions']);
    expect(total(same, 'import')).toBeCloseTo(168, 6);
  });
});

describe('running totals', () => {
  // A register of whole kWh: 747 of them in a year of quarter hours, 35,040 readings.
  const year = (from: number) => {
    const rows: string[] = [];
    for (let i = 0; i < 35_040; i++) {
      const label = new Date(Date.UTC(2025, 0, 1) + i * 900_000).toISOString();
      rows.push(`${label},${from + Math.floor((i * 747) / 35_039)}`);
    }
    return rows;
  };

  test('that rise in few steps are recognised, oldest or newest first, or shuffled', () => {
    const rows = year(5000);
    const days: string[][] = [];
    for (let d = 0; d < 365; d++) days.push(rows.slice(d * 96, (d + 1) * 96));
    for (const order of [
      rows,
      [...rows].reverse(),
      [...days.filter((_, d) => d % 2 === 0), ...days.filter((_, d) => d % 2 === 1)].flat(),
    ]) {
      const text = table('time,kWh', order);
      expect(total(text, 'import')).toBeCloseTo(747, 6);
      expect(codes(text)).toEqual(['register-differenced']);
    }
  });

  test('are told by the order of time: a table sorted by its values holds none', () => {
    const sorted = LABELS.map((label, i) => [`${label}-07:00`, wave(i)] as const).sort(
      (a, b) => Number(a[1]) - Number(b[1]),
    );
    for (const order of [sorted, [...sorted].reverse()]) {
      const text = table(
        'Start,kWh',
        order.map(([label, kwh]) => `${label},${kwh}`),
      );
      expect(codes(text)).toEqual([]);
      expect(total(text, 'import')).toBeCloseTo(168, 6);
    }
  });

  test('a steady load is none', () => {
    const text = table(
      'Start,kWh',
      LABELS.map((label) => `${label},0.25`),
    );
    expect(codes(text)).toEqual([]);
    expect(total(text, 'import')).toBeCloseTo(168, 6);
  });
});

describe('ESPI readings of one usage point', () => {
  const from = Date.UTC(2026, 0, 5, 7) / 1000;
  /** A meter reading with its type. */
  const meter = (n: number, type: string, value: (i: number) => number, step = 900, count = 672) => {
    const base = 'x/UsagePoint/1';
    const readings = Array.from(
      { length: count },
      (_, i) =>
        `<IntervalReading><timePeriod><duration>${step}</duration><start>${from + i * step}</start></timePeriod><value>${value(i)}</value></IntervalReading>`,
    ).join('');
    return `<entry><link rel="self" href="${base}/MeterReading/${n}"/><link rel="related" href="x/ReadingType/${n}"/><content><MeterReading/></content></entry>
<entry><link rel="self" href="x/ReadingType/${n}"/><content><ReadingType><commodity>1</commodity><flowDirection>1</flowDirection><intervalLength>${step}</intervalLength><powerOfTenMultiplier>0</powerOfTenMultiplier>${type}</ReadingType></content></entry>
<entry><link rel="self" href="${base}/MeterReading/${n}/IntervalBlock/1"/><link rel="up" href="${base}/MeterReading/${n}/IntervalBlock"/><content><IntervalBlock>${readings}</IntervalBlock></content></entry>`;
  };
  const feed = (...meters: string[]) => `<feed>${meters.join('\n')}</feed>`;
  const wh = (i: number) => Math.round(1000 * Number(wave(i)));
  const energy = '<uom>72</uom>';

  test('Wh beside W, a register, a copy and daily sums are alternatives', () => {
    for (const [beside, code] of [
      [meter(2, '<uom>38</uom>', (i) => 4 * wh(i)), 'alternative-left'],
      [meter(2, '<uom>38</uom>', () => 3000), 'alternative-left'],
      [
        meter(2, `${energy}<accumulationBehaviour>3</accumulationBehaviour>`, (i) => 5_000_000 + 250 * i),
        'alternative-left',
      ],
      [meter(2, energy, (i) => 5_000_000 + 250 * i), 'alternative-left'],
      [meter(2, energy, wh), 'alternative-left'],
      [meter(2, energy, () => 24_000, 86_400, 7), 'two-resolutions'],
    ] as const) {
      for (const text of [feed(meter(1, energy, wh), beside), feed(beside, meter(1, energy, wh))]) {
        expect(codes(text)).toContain(code);
        expect(errors(text)).toEqual([]);
        expect(total(text, 'import')).toBeCloseTo(168, 6);
      }
    }
  });

  test('two energies that differ are a question, answered by number', () => {
    const text = feed(
      meter(1, energy, wh),
      meter(2, energy, (i) => Math.round(1000 * Number(other(i)))),
    );
    const asked = read(text);
    expect(asked.series).toBeUndefined();
    expect(asked.findings).toMatchObject([{ code: 'parts-unclear', severity: 'error', count: 2 }]);
    expect(asked.findings[0]!.message).toContain('meter reading 2 (480 kWh, from line');
    expect(total(text, 'import', { meterReading: 1 })).toBeCloseTo(168, 6);
    expect(total(text, 'import', { meterReading: [1, 2] })).toBeCloseTo(648, 1);
    expect(errors(text, { meterReading: 3 })).toEqual(['unknown-meter-reading']);
  });

  test('windows of a tariff are parts, and so are readings that never share a time', () => {
    const night = (i: number) => i % 96 < 28;
    const windows = feed(
      meter(1, `${energy}<tou>1</tou>`, (i) => (night(i) ? 0 : wh(i))),
      meter(2, `${energy}<tou>2</tou>`, (i) => (night(i) ? wh(i) : 0)),
    );
    expect(total(windows, 'import')).toBeCloseTo(168, 6);
    expect(codes(windows)).toEqual([]);
  });

  test('readings of no duration that share their starts with others are no parts of them', () => {
    const twice = feed(
      meter(1, energy, wh).replaceAll(
        /<IntervalReading><timePeriod><duration>900<\/duration>(<start>\d+<\/start>)<\/timePeriod><value>\d+<\/value><\/IntervalReading>/g,
        (whole, start) =>
          `${whole}<IntervalReading><timePeriod><duration>0</duration>${start}</timePeriod><value>900</value></IntervalReading>`,
      ),
    );
    expect(errors(twice)).toEqual(['duplicate-differs']);
    expect(total(twice, 'import', { repeats: 'first' })).toBeCloseTo(168, 6);
  });
});

describe('a reading that no service could carry', () => {
  const text = (cell: string, header = 'Start,Import (kWh)') =>
    table(
      header,
      LABELS.map((label, i) => `${label},${i === 100 ? cell : wave(i)}`),
    );

  test('is an error with its line, above 100 kW or what is stated', () => {
    const asked = read(text('959'));
    expect(asked.series).toBeUndefined();
    expect(asked.findings).toMatchObject([
      { code: 'reading-above-service', severity: 'error', lines: [102], count: 1 },
    ]);
    // 959 kWh in a quarter of an hour are 3,836 kW.
    expect(asked.findings[0]!.message).toContain('3,836 kW');
    expect(errors(text('25'))).toEqual([]);
    expect(errors(text('25.001'))).toEqual(['reading-above-service']);
    // Only the limit that was passed is named as what would have been right.
    const [fault] = faultsOf('home.csv', read(text('10'), { serviceKw: 30 }).findings);
    expect(fault!.received).toContain('the service carries at most 30 kW');
    expect(fault!.expected).toBe('readings that the service can carry');
    expect(errors(text('6'), { serviceKw: 23.9 })).toEqual(['reading-above-service']);
    expect(errors(text('30'), { serviceKw: 120 })).toEqual([]);
    expect(errors(text('959', 'Start,Solar (kWh)'))).toEqual(['reading-above-service']);
  });

  test('a single one is found in the data of a day, where it makes a year of any size', () => {
    const day = text('959')
      .split('\n')
      .slice(0, 97 + 20)
      .join('\n');
    expect(read(`${day}\n`).findings).toMatchObject([{ code: 'reading-above-service', lines: [102] }]);
    const short = text('959').split('\n');
    expect(errors(table(short[0]!, short.slice(90, 120)))).toEqual(['reading-above-service']);
  });

  test('our own format is no exception', () => {
    const own = [
      '# format: duskbank.interval/1',
      `# zone: ${zone}`,
      '# step_minutes: 15',
      'start,import_kwh',
      '2026-01-05T00:00-07:00,0.2',
      '2026-01-05T00:15-07:00,959',
      '',
    ].join('\n');
    expect(parseIntervalData(own).findings).toMatchObject([{ code: 'reading-above-service', lines: [6] }]);
  });

  test('a member of an archive is no exception: it is not left out', () => {
    const rows = text('959').split('\n');
    const half = (from: number, to: number) => strToU8(table(rows[0]!, rows.slice(from, to)));
    const packed = (bill: string) =>
      parseIntervalData(zipSync({ 'a.csv': half(1, 300), 'b.csv': half(300, 673), 'bill.csv': strToU8(bill) }), {
        zone,
      });
    const asked = packed('date,kWh\n2026-01-01,30\n2026-01-02,31\n2026-01-03,29\n');
    expect(asked.series).toBeUndefined();
    expect(asked.findings).toMatchObject([{ code: 'reading-above-service', severity: 'error', lines: [102] }]);
    rows[101] = rows[102]!.replace(LABELS[101]!, LABELS[100]!);
    expect(packed('date,kWh\n2026-01-01,30\n2026-01-02,31\n2026-01-03,29\n').findings).toMatchObject([
      { code: 'archive-members-left' },
    ]);
  });

  test('load may be above it by what solar gave', () => {
    const both = (load: number, solar: number) =>
      table(
        'Start,Load kWh,Solar kWh',
        LABELS.map((label, i) => `${label},${i === 100 ? load : 0.3},${i === 100 ? solar : 0.1}`),
      );
    expect(errors(both(30, 6))).toEqual([]);
    expect(errors(both(32, 6))).toEqual(['reading-above-service']);
  });

  test('a stated correction is applied before', () => {
    expect(errors(text('20'), { adjust: { scale: { import: 2 } } })).toEqual(['reading-above-service']);
    expect(errors(text('40'), { adjust: { scale: { import: 0.5 } } })).toEqual([]);
  });

  test('where many are above it, it is the unit', () => {
    const watts = table(
      'Start,Usage kWh',
      LABELS.map((label, i) => `${label},${1000 * Number(wave(i))}`),
    );
    expect(errors(watts)).toEqual(['unit-implausible']);
  });
});
