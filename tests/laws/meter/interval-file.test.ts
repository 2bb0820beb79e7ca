import { parseIntervalData, writeIntervalCsv } from '@duskbank/core/meter';
import fc from 'fast-check';
import { expect, test } from 'vitest';
import { anySeries } from '../../support/interval-series.ts';

test('our own interval CSV round-trips to the last bit, line ends and byte-order mark aside', () => {
  fc.assert(
    fc.property(anySeries, fc.boolean(), (series, windows) => {
      const text = writeIntervalCsv(series);
      // What a service carries is judged elsewhere.
      const result = parseIntervalData(windows ? `\ufeff${text.replaceAll('\n', '\r\n')}` : text, { serviceKw: 1e12 });
      expect(result.findings.filter(({ code }) => code !== 'coarse-steps')).toEqual([]);
      expect(result.series).toEqual(series);
    }),
    { numRuns: 150, seed: 20_260_101 },
  );
});
