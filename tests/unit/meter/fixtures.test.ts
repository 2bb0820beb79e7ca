// Every fixture of fixtures/meter, read with the options of its index entry: the series must be the expected
// one, the findings exactly the listed codes, the totals those of the table.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { CHANNELS, channelField, checkMetering, type ParseOptions, parseIntervalData } from '@duskbank/core/meter';
import { describe, expect, test } from 'vitest';

interface Fixture {
  file: string;
  about: string;
  options: ParseOptions;
  findings: string[];
  faults: string[];
  totals?: Record<string, number>;
  gaps?: number;
}

const folder = fileURLToPath(new URL('../../../fixtures/meter/', import.meta.url));
const index = JSON.parse(readFileSync(`${folder}index.json`, 'utf8')) as Fixture[];

test('there are at least 45 fixtures, and one or more for each of the twenty ways in which meter files go wrong', () => {
  expect(index.length).toBeGreaterThanOrEqual(45);
  expect([...new Set(index.map(({ file }) => Number(file.slice(0, 2))))]).toEqual(
    Array.from({ length: 20 }, (_, i) => i + 1),
  );
});

describe('fixtures', () => {
  test.each(index)('$file: $about', ({ file, options, findings, faults, totals, gaps }) => {
    const result = parseIntervalData(readFileSync(`${folder}files/${file}`), options);
    const said = JSON.stringify(result.findings) + JSON.stringify(result.layout);
    expect(said).not.toMatch(/Invented|Example|9988776655|00123|NMI0000000|METER0/);
    expect([...new Set(result.findings.map((finding) => finding.code))].sort()).toEqual([...findings].sort());
    if (totals === undefined) {
      expect(result.series).toBeUndefined();
      return;
    }
    const { series } = result;
    expect(series).toBeDefined();
    // The invented homes stand near 39.7° north, 105° west; those elsewhere are read without a place.
    const place = options.zone === 'America/Denver' ? { latitudeDeg: 39.7, longitudeDeg: -105 } : {};
    expect(checkMetering(series!, place).map((fault) => fault.code)).toEqual(faults);
    const expected = parseIntervalData(readFileSync(`${folder}expected/${file}.csv`, 'utf8')).series!;
    expect({ ...series!.axis, calendar: 0 }).toEqual({ ...expected.axis, calendar: 0 });
    let missing = 0;
    for (let i = 0; i < expected.axis.intervals; i++) {
      let gap = false;
      for (const channel of CHANNELS) {
        const want = expected[channelField(channel)]?.[i];
        const got = series![channelField(channel)]?.[i];
        if (want === undefined) expect(got).toBeUndefined();
        else if (Number.isNaN(want)) {
          expect(got).toBeNaN();
          gap = true;
        }
        // 1e-9 kWh: a product of two numbers that decimals can't hold exactly.
        else expect(Math.abs(got! - want), `${channel} of interval ${i}: ${got} for ${want}`).toBeLessThan(1e-9);
      }
      if (gap) missing++;
    }
    expect(missing).toBe(gaps);
    for (const [channel, total] of Object.entries(totals)) {
      const sum = series![channelField(channel as 'import')]!.reduce((a, b) => a + (b || 0), 0);
      expect(sum).toBeCloseTo(total, 6);
    }
  });
});
