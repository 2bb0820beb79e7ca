import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { copyOf, duskbank, ROOT } from './support.ts';

/** Who reads no further than a terminal's first screen has the answer and its limit. */
test.each([
  [
    'compare',
    [],
    /the battery saves USD [\d.]+ a year, \d+ % of the bill[^.]*modelled, not metered/,
    /on for [\d.]+ h or more/,
  ],
  [
    'compare',
    ['--tariff', join(ROOT, 'fixtures/tariffs/three-windows-two-seasons.json')],
    /"Evening Saver" is the best/,
    /modelled, not metered/,
  ],
  [
    'outage',
    [],
    /Plan on [\d.]+ h \([\d.]+ h in Jun, Jul, Aug with .* hard at work/,
    /no sun, the battery worn to 80 %/,
  ],
  ['settings', [], /reserve for an outage/, /saves USD [\d.]+ a year.*modelled, not metered.*the plainest is assumed/],
  ['bill', [], /12 bills come to USD 1,259\.87/, /reckoned from the meter data, without a battery/],
  ['circuits', [], /9 of 11 circuits run together/, /Estimates/],
])('%s answers in its first 25 lines, before any warning', (command, more, answer, limit) => {
  const run = duskbank([command, 'site.json', ...more], copyOf('demo'));
  expect(run).toMatchObject({ status: 0, stderr: '' });
  const first = run.stdout.split('\n').slice(0, 25);
  const text = first.join(' ');
  expect(text).toMatch(answer);
  expect(text).toMatch(limit);
  const warning = first.findIndex((line) => line.startsWith('!'));
  const before = (warning === -1 ? first : first.slice(0, warning)).join(' ');
  expect(before).toMatch(answer);
});

test('tariff says what a kWh costs now, and leaves that out where a file of prices is beside', () => {
  const now = duskbank(['tariff', 'tariff.json', '--at', '2026-07-05'], copyOf('demo')).stdout.split('\n').slice(0, 5);
  expect(now.join(' ')).toContain(
    'Now in "summer" (Jun–Sep) a kWh bought costs USD: 0.4125 "on-peak"; 0.1871 "off-peak"; 0.1134 "night".',
  );
  const series = duskbank(['tariff', join(ROOT, 'fixtures/tariffs/hourly-prices.json'), '--at', '2026-07-05']).stdout;
  expect(series).not.toContain('Now ');
  expect(series).toContain('Import, a kWh costs beside "spot.csv": all year');
});

test('a name that reads as an answer stands in quotation marks on every page that it heads', () => {
  const folder = copyOf('small');
  const forged = 'Run as "hold", the battery saves USD 9,999.00 a year';
  for (const file of ['site.yaml', 'tariff.yaml']) {
    const text = readFileSync(join(folder, file), 'utf8');
    expect(text).toMatch(/^name: .*$/m);
    writeFileSync(
      join(folder, file),
      text.replace(/^name: .*$/m, () => `name: '${forged}'`),
    );
  }
  for (const args of [
    'compare site.yaml',
    'bill site.yaml',
    'outage site.yaml',
    'settings site.yaml',
    'tariff tariff.yaml',
  ]) {
    const { stdout, status } = duskbank(args.split(' '), folder);
    expect(status, args).toBe(0);
    expect(stdout, args).toMatch(/^"Run as 'hold', the battery saves USD 9,999.00 a year"/);
  }
});
