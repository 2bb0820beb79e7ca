// Kept answers: see tests/support/kept.ts.
import { makeAxis } from '@duskbank/core/axis';
import {
  billTariff,
  compileTariff,
  type PriceSeries,
  parsePriceSeries,
  parseTariff,
  reconcileBills,
} from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { keptEach, keptOf } from '../../support/kept.ts';
import { seedsFrom } from '../../support/kept-sites.ts';
import { generateHome, generateTariff } from '../../support/panel/index.ts';

test.each(seedsFrom(1000, 48))('tariff %d of every shape', async (seed) => {
  const home = generateHome(seed, { days: 66, stepMinutes: seed % 4 === 0 ? 30 : 60 });
  const { startEpochMs, stepMinutes, intervals, zone } = home;
  const { document, account, files } = generateTariff(seed, home);
  expect(
    await keptOf(() => {
      const tariff = parseTariff(document, 'tariff.json');
      const series: Record<string, PriceSeries> = Object.fromEntries(
        Object.entries(files).map(([name, text]) => [name, parsePriceSeries(text, zone, name)]),
      );
      const axis = makeAxis({ startEpochMs, stepMinutes, intervals, zone });
      const options = { account, series };
      const compiled = compileTariff(tariff, axis, options);
      const bill = billTariff(compiled, home);
      // Bills as their owner would have them: one right, one a little off, one by a lot, one of other energy.
      const actual = bill.periods.map((period, p) => ({
        start: period.start,
        end: period.end,
        total: Math.round((period.total + [0, 0.02, 0.4, 9][p % 4]!) * 100) / 100,
        ...(p % 2 === 0 ? { importKwh: 300 + 40 * p } : {}),
      }));
      const { axis: _axis, importPricePerKwh, exportPricePerKwh, terms, warnings } = compiled;
      return {
        totals: bill.periods.map(({ total }) => total),
        importPricePerKwh,
        exportPricePerKwh,
        terms,
        warnings,
        bill,
        reconciled: reconcileBills(tariff, axis, options, home, actual),
      };
    }),
  ).toMatchSnapshot();
});

test('price files', async () => {
  const FILES = {
    hours: 'start,price\n2026-03-28T22:00Z,0.1\n2026-03-28T23:00Z,0.2\n2026-03-29T00:00Z,-0.01\n',
    local: 'start,price\n2026-03-29 00:00,0.1\n2026-03-29 01:00,0.2\n2026-03-29 03:00,0.3\n',
    quarters: 'start;price\n2026-01-01T00:00+01:00;10,5\n2026-01-01T00:15+01:00;11,5\n2026-01-01T00:30+01:00;9,25\n',
    gap: 'start,price\n2026-01-01T00:00Z,0.1\n2026-01-01T01:00Z,\n2026-01-01T02:00Z,0.2\n',
    twice: 'start,price\n2026-01-01T00:00Z,0.1\n2026-01-01T01:00Z,0.3\n2026-01-01T01:00Z,0.2\n',
    empty: 'start,price\n',
  };
  const calls = Object.entries(FILES).map(([name, text]): [string, () => unknown] => [
    name,
    () => parsePriceSeries(text, 'Europe/Berlin', 'spot.csv'),
  ]);
  expect(await keptEach(Object.fromEntries(calls))).toMatchSnapshot();
});
