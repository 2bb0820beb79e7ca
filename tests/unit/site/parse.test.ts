import { readFileSync } from 'node:fs';
import { InputError } from '@duskbank/core/input';
import { parseSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';

const SITE = {
  format: 'duskbank.site/1',
  name: 'A home',
  zone: 'Australia/Lord_Howe',
  meter: { files: ['home.csv'] },
  tariff: 'tariff.json',
  plant: { battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.9 } },
};

function issuesOf(document: unknown) {
  try {
    parseSite(document, 'site.json');
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  return [];
}

test('what a site leaves out gets its default: whole home, grid charging, no export, AC, no floor', () => {
  expect(parseSite(SITE).plant).toMatchObject({
    reach: 'whole-home',
    gridCharging: true,
    batteryExport: false,
    coupling: 'ac',
    floor: {},
    shutdown: {},
    battery: { standbyW: 0, decayPerMonth: 0 },
  });
});

test('the demo site is one', () => {
  const demo = JSON.parse(readFileSync(new URL('../../../fixtures/demo/site.json', import.meta.url), 'utf8'));
  expect(parseSite(demo).name).toBe(demo.name);
});

test('the document is never changed', () => {
  const before = structuredClone(SITE);
  parseSite(SITE);
  expect(SITE).toEqual(before);
});

test.each([
  ['duskbank.site/2', 'unknown-version'],
  ['duskbank.site/11', 'unknown-version'],
  ['duskbank.tariff/1', 'wrong-format'],
  ['site', 'wrong-format'],
])('format %s is refused alone: other faults would mislead', (format, code) => {
  expect(issuesOf({ ...SITE, format, zone: 'nowhere' })).toMatchObject([{ code, where: { file: 'site.json' } }]);
});

test.each([null, 3, 'text', [], undefined])('%j is no site', (document) => {
  expect(issuesOf(document).length).toBeGreaterThan(0);
});

test('one error holds every fault of form', () => {
  const codes = issuesOf({ ...SITE, zone: 'nowhere', name: '', tarif: 1, tariff: undefined }).map(({ code }) => code);
  // What "tarif" means is told, so that the tariff isn't told as missing too.
  expect(codes.sort()).toEqual(['out-of-range', 'unknown-key', 'unknown-zone']);
});
