import { describe, expect, test } from 'vitest';
import { makeSunHome } from '../support/sun-homes.ts';
import { duskbank, folderWith } from './support.ts';

// What a home with a roof buys, without what it sells: no sum of it is right before that is known.
const { axis, importKwh } = makeSunHome(3, {}).series;
const two = (n: number) => String(n).padStart(2, '0');
const { minuteOfDay, day, days } = axis.calendar;
const lines = Array.from(importKwh, (kwh, i) => {
  const { month, dayOfMonth, year } = days[day[i]!]!;
  return `${year}-${two(month)}-${two(dayOfMonth)} ${two(Math.floor(minuteOfDay[i]! / 60))}:${two(minuteOfDay[i]! % 60)},${kwh}`;
});
const tariff = JSON.stringify({
  format: 'duskbank.tariff/1',
  name: 'Two prices',
  currency: 'EUR',
  windows: [
    { name: 'dear', days: 'all', from: '17:00', to: '21:00', pricePerKwh: 0.45 },
    { name: 'cheap', otherwise: true, pricePerKwh: 0.25 },
  ],
});
const site = JSON.stringify({
  format: 'duskbank.site/1',
  name: 'Home',
  zone: axis.zone,
  meter: { files: ['usage.csv'] },
  tariff: 'tariff.json',
  plant: { battery: { units: 1, usableKwh: 8, chargeKw: 4, dischargeKw: 4, roundTripEfficiency: 0.9 } },
  backup: { load: { watts: 300 } },
});
const folder = folderWith({
  'usage.csv': ['Start,Usage kWh', ...lines, ''].join('\n'),
  'tariff.json': tariff,
  'site.json': site,
});
const DOUBT = /is\s+nothing\s+in\s+\d+\s+%\s+of\s+the\s+readings/;

test.each([
  ['bill', /EUR \d/],
  ['settings', /reserve for an outage/],
  ['outage', /Plan on/],
  ['compare', /strategy +a year|bill EUR/],
])('%s tells of sun that no file holds before its first figure', (command, first) => {
  const { stdout, status } = duskbank([command, 'site.json'], folder);
  expect(status).toBe(0);
  const [doubt, figure] = [stdout.search(DOUBT), stdout.search(first)];
  expect(doubt).toBeGreaterThan(-1);
  expect(figure).toBeGreaterThan(doubt);
  expect(stdout.slice(doubt + 1).search(DOUBT)).toBe(-1);
});

test('no two bills stand where their difference is withheld', () => {
  const settings = duskbank(['settings', 'site.json'], folder).stdout;
  expect(settings).toMatch(/these settings.* withheld +withheld/);
  expect(settings).not.toContain('they save the same');
  const compare = duskbank(['compare', 'site.json'], folder).stdout;
  expect(compare).toMatch(/^none +[\d,.]+$/m);
  for (const name of ['hold', 'window', 'peak-shave', 'settings'])
    expect(compare).toMatch(new RegExp(`^${name} +withheld +withheld`, 'm'));
  const csv = duskbank(['compare', 'site.json', '--csv'], folder).stdout.split('\n');
  const bill = csv[0]!.split(',').indexOf('bill');
  expect(csv.find((line) => line.startsWith('none,'))!.split(',')[bill]).not.toBe('');
  expect(csv.find((line) => line.startsWith('window,'))!.split(',')[bill]).toBe('');
});

describe.each([
  [14, true],
  [13, false],
])('%d days on which nothing is bought at all', (days, isOpen) => {
  const perDay = lines.length / axis.calendar.days.length;
  const zero = lines.map((line, i) => `${line.split(',')[0]},${i < days * perDay ? 0 : 0.4},0`);
  const home = folderWith({
    'usage.csv': ['Start,Bought kWh,Sold kWh', ...zero, ''].join('\n'),
    'tariff.json': tariff,
    'other.json': tariff.replace('Two prices', 'The same again'),
    'site.json': site,
  });

  test.each([
    ['bill', /EUR \d/],
    ['settings', /reserve for an outage/],
    ['outage', /Plan on/],
    ['compare', /EUR \d|bill EUR/],
    ['compare --tariff other.json', /EUR \d|battery\s/],
  ])(`%s tells them ${isOpen ? 'before' : 'after'} its first figure`, (command, first) => {
    const [name, ...options] = command.split(' ');
    const { stdout, status } = duskbank([name!, 'site.json', ...options], home);
    expect(status).toBe(0);
    const [doubt, figure] = [stdout.search(/exactly\s+zero/), stdout.search(first)];
    expect(doubt).toBeGreaterThan(-1);
    expect(figure).toBeGreaterThan(-1);
    expect(doubt < figure).toBe(isOpen);
  });
});
