import { InputError } from '@duskbank/core/input';
import { panelCapacityVa } from '@duskbank/core/outage';
import { loadSite } from '@duskbank/core/site';
import { circuits } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { circuitsText } from '../../../packages/cli/src/render/circuits.ts';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

/** A home with a panel and a busbar, in a zone. */
async function pageIn(zone: string, volts?: number, circuit: object = { leg: 'L1' }) {
  const backup = {
    circuits: [{ name: 'Lights', watts: 200, priority: 1, ...circuit }],
    panel: { mainAmps: 100, busbarAmps: 125, subPanelAmps: 60, way: 'sub-panel', volts },
  };
  const tariff = { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }] };
  const hours = hoursOf(10, (h) => [0.5, h === 12 ? 1 : 0]);
  const site = smallSite(hours, tariff, {}, {}, { backup, zone });
  const report = circuits((await loadSite(site.path, site.read)).study);
  return { report, text: circuitsText(report).replace(/\s+/g, ' ') };
}

test('rules of one country are cited where the zone tells that the home stands there, elsewhere the local ones count', async () => {
  const us = await pageIn('America/Denver');
  expect(us.report.wiringRules).toBe('us');
  expect(us.text).toContain('NEC 705.12');
  expect(us.text).toContain('NEC 702.4');
  const other = await pageIn('Europe/Dublin');
  expect(other.report.wiringRules).toBe('local');
  expect(other.text).not.toMatch(/NEC 70[25]/);
  expect(other.text).toContain('the local wiring rules count');
  expect(other.text).toContain('(the local wiring rules)');
});

test('siting and the metered maximum cite sections of the United States there alone; elsewhere they say what is usual', async () => {
  const us = await pageIn('America/Denver');
  for (const cited of [
    'NEC 110.26(A)',
    'NFPA 855',
    'IRC R328.8',
    'NEC 404.8(A)',
    'NEC 220.87',
    'at most 20 kWh a unit',
  ])
    expect(us.text).toContain(cited);
  const other = await pageIn('Europe/Dublin');
  expect(other.text).not.toMatch(/NEC|NFPA|IRC|\d in \(|\d ft/);
  expect(other.text).toContain('in the United States about 0.9 m deep, 0.8 m wide');
  expect(other.text).toContain('limits differ by country, 20 kWh a unit in the United States; this one holds 4 kWh');
  expect(other.text).toContain('(the local fire and building code)');
  expect(other.text).toContain('for comparison only: the local code says what counts');
  expect(other.report.siting.map(({ code }) => code)).toEqual(us.report.siting.map(({ code }) => code));
});

test('two legs that print more than both together say that each is rounded up', async () => {
  const half = await pageIn('America/Denver', undefined, { leg: '240', watts: 1050 });
  expect(half.text).toContain('draw at most 1.1 kVA (L1 0.6, L2 0.6, each rounded up)');
  const whole = await pageIn('America/Denver', undefined, { leg: '240', watts: 1000 });
  expect(whole.text).toContain('draw at most 1.0 kVA (L1 0.5, L2 0.5)');
});

test('amperes are reckoned at the volts that the site states, and say at which', async () => {
  const stated = await pageIn('Europe/Dublin', 230);
  const { measured } = stated.report;
  expect([measured.volts, measured.amps]).toEqual([230, measured.totalVa / 230]);
  expect(stated.text).toContain(`${Math.round(measured.totalVa / 230)} A at 230 V`);
  expect(stated.text).toContain('on the heavier leg, at its 115 V');
  expect(stated.text).toContain('(125 % of their output at 230 V');
  const assumed = await pageIn('Europe/Dublin');
  expect([assumed.report.measured.volts, assumed.report.measured.amps]).toEqual([240, measured.totalVa / 240]);
  expect(assumed.text).toContain(' A at 240 V, estimate');
});

test('elsewhere the shares of the panel are told as those of the United States, and nothing is said of legs unless the file does', async () => {
  const single = await pageIn('Europe/Stockholm', 230, { leg: '240', watts: 230 });
  expect(single.report.splitPhase).toBe(false);
  // 230 W on all day count with 125 % (1.25 A): as much as on two legs of 115 V.
  expect(single.text).toContain('fits: sub-panel breaker, 60 A: 1.3 A at 230 V.');
  expect(single.text).toMatch(/Lights 230 V/);
  expect(single.text).not.toMatch(/\bleg\b.*(half|L1)|a leg|heavier leg|balanced|both legs|in some\b/);
  expect(single.text).toContain('as reckoned in the United States; your code counts.');
  expect(single.text).toContain('metered maximum × 125 %, as reckoned in the United States.');
  const named = await pageIn('Europe/Stockholm', 230);
  expect(named.report.splitPhase).toBe(true);
  expect(named.text).toContain('two legs of half the volts each, since circuits name L1 or L2');
  const us = await pageIn('America/Denver', undefined, { leg: '240' });
  expect(us.report.splitPhase).toBe(true);
  expect(us.text).toContain('on the heavier leg, at its 120 V');
  expect(us.text).toContain('Lights 240 V');
  expect(us.text).not.toContain('United States');
});

test('a small motor of the list is one at 230 V too, and a motor that the list doesn’t know is not', async () => {
  const fridge = await pageIn('Europe/Stockholm', 230, { leg: '240', appliance: 'refrigerator', watts: 120 });
  // The list's 1,500 W is more than three times 120.
  expect(fridge.report.circuits[0]).toMatchObject({ verdict: 'together', startVa: 1500 });
  const pump = await pageIn('Europe/Stockholm', 230, { leg: '240', motor: true });
  expect(pump.report.circuits[0]).toMatchObject({ verdict: 'never', startVa: null });
  const well = await pageIn('Europe/Stockholm', 230, { leg: '240', appliance: 'well-pump', watts: 1000 });
  expect(well.report.circuits[0]).toMatchObject({ verdict: 'never', startVa: null });
});

test('a home of one voltage is reckoned on one phase and says so once, where its circuits are', async () => {
  const told = /three phases aren’t reckoned/g;
  const single = await pageIn('Europe/Stockholm', 230, { leg: '240' });
  expect(single.text).toContain('1 of 1 circuits run together on one phase.');
  expect(single.text.match(told)).toHaveLength(1);
  expect(single.text).toContain('a unit of three gives each phase a third of its output');
  expect(single.text).not.toContain('240 V, since');
  expect((await pageIn('Europe/Stockholm', undefined, { leg: '240' })).text).toContain(
    '240 V, since "backup.panel.volts" doesn’t say: at 230 V amperes are 4 % higher',
  );
  expect((await pageIn('Europe/Stockholm', 230)).text.match(told)).toHaveLength(1);
  const us = await pageIn('America/Denver', undefined, { leg: '240' });
  expect(us.text).not.toMatch(/phase|since "backup/);
  expect(us.text).toContain('1 of 1 circuits run together.');
});

test.each([277, 400, 415])(
  '%d V are refused: two phases have them between each other, and no home has one',
  async (volts) => {
    const refused = await pageIn('Europe/Stockholm', volts, { leg: '240' }).catch((error: unknown) => error);
    expect(refused).toBeInstanceOf(InputError);
    const { issues } = refused as InputError;
    expect(issues.map(({ code, where }) => [code, where.path?.join('.')])).toEqual([
      ['three-phase', 'backup.panel.volts'],
    ]);
    // 3 × 25 A at 230 V are √3 × 400 V × 25 A: 17.3 kVA (IEC 60038 has the voltages, the rest is arithmetic).
    expect(issues[0]!.hint).toContain('75 for 3 × 25 A');
  },
);

test('amperes of three phases together permit what three phases carry', () => {
  expect(panelCapacityVa(3 * 25, 230).balancedVa / (Math.sqrt(3) * 400 * 25)).toBeCloseTo(1, 2);
});

test('the hours of a home of one voltage say that its circuits are taken to be on one phase', async () => {
  const hours = hoursOf(10, () => [0.5, 0]);
  const backup = { circuits: [{ name: 'Lights', watts: 200, priority: 1, leg: '240' }] };
  const tariff = { windows: [{ name: 'all', otherwise: true, pricePerKwh: 0.2 }] };
  const basisIn = async (zone: string) => {
    const site = smallSite(hours, tariff, {}, {}, { backup, zone });
    return (await loadSite(site.path, site.read)).study.island.basis;
  };
  expect(await basisIn('Europe/Stockholm')).toContain('1 circuit, from their mean draw and hours, all on one phase');
  expect(await basisIn('America/Denver')).not.toContain('phase');
});
