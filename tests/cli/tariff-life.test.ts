import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { copyOf, duskbank, ROOT, tooWide } from './support.ts';

/** A copy of the planned home, its tariff's life changed. */
function withLife(life: object | undefined): string {
  const folder = copyOf('planned');
  const path = join(folder, 'tariff.json');
  writeFileSync(path, JSON.stringify({ ...JSON.parse(readFileSync(path, 'utf8')), life }, null, 2));
  return folder;
}
const compared = (folder: string, ...args: string[]) => duskbank(['compare', 'site.json', ...args], folder);

describe('payback and the tariff’s life', () => {
  test('follows the successor’s file, and says from when on', () => {
    const run = compared(copyOf('planned'));
    expect(tooWide(run.stdout)).toEqual([]);
    expect(run.stdout.replaceAll(/\s+/g, ' ')).toMatch(
      /Reckoned from 2025-06-26: CAD [\d.]+ a year on "Harbour Three-Rate" as "settings" until 2029-12-31, then [\d.]+ a year on "Harbour Flat" as "settings"\./,
    );
    const { payback } = JSON.parse(compared(copyOf('planned'), '--json').stdout);
    expect(payback.stretches.map((stretch: { until: string }) => stretch.until)).toEqual(['2029-12-31', null]);
    expect(payback).toMatchObject({ from: '2025-06-26', validUntil: null, recovered: null });
  });

  test('claims none where the tariff ends first and nothing is known of what follows', () => {
    const folder = withLife({ endsOn: '2029-12-31' });
    const text = compared(folder).stdout.replaceAll(/\s+/g, ' ');
    expect(text).toContain(
      'Scaled from 56 days of data, which no year need be like: no payback is claimed: "Harbour Three-Rate" ends on 2029-12-31, and what follows is not known.',
    );
    expect(text).not.toContain('come back in');
    const { payback } = JSON.parse(compared(folder, '--json').stdout);
    expect(payback).toMatchObject({ years: null, paidBackOn: null, validUntil: '2029-12-31' });
    expect(payback.recovered).toBeGreaterThan(1000);
    expect(text).toContain(
      `By then CAD ${payback.recovered.toLocaleString('en-US', { maximumFractionDigits: 2, minimumFractionDigits: 2 })} of CAD 5,200.00`,
    );
  });

  test('says so where it is paid back before the end, and where the tariff has ended already', () => {
    const early = withLife({ endsOn: '2099-12-31' });
    expect(compared(early).stdout.replaceAll(/\s+/g, ' ')).toContain(
      'under "settings", before "Harbour Three-Rate" changes or ends on 2099-12-31: simple payback',
    );
    const gone = compared(withLife({ endsOn: '2025-06-25' }));
    expect(gone.stdout).not.toMatch(/payback of|come back/);
    expect(gone.stdout.replaceAll(/\s+/g, ' ')).toContain('! no payback is given: "Harbour Three-Rate" has ended');
  });

  test('a successor among the tariffs given is followed too', () => {
    const folder = withLife({ endsOn: '2029-12-31', successor: 'Harbour Flat' });
    expect(JSON.parse(compared(folder, '--json').stdout).payback.years).toBeNull();
    const report = JSON.parse(compared(folder, '--tariff', 'after.json', '--json').stdout);
    expect(report.tariffSwitch.laterBasis).toContain('5 years later; "Harbour Flat"');
  });

  test.each([
    [
      { endsOn: '2029-12-31', successor: 'Harbour Flat', successorFile: 'gone.json' },
      ['gone.json', 'field "life.successorFile"'],
    ],
    [
      { endsOn: '2029-12-31', successor: 'Harbor Flat', successorFile: 'after.json' },
      ['"Harbor Flat"', '"Harbour Flat", the name in after.json'],
    ],
    [
      { endsOn: '2029-12-31', successor: 'Cove Road 3', successorFile: 'site.json' },
      ['site.json', 'duskbank.tariff/1'],
    ],
  ])('a successor that can’t be had is told: %j', (life, told) => {
    const run = compared(withLife(life));
    expect(run).toMatchObject({ status: 2, stdout: '' });
    for (const words of told) expect(run.stderr).toContain(words);
  });

  test('files that name each other end the chain', () => {
    const folder = withLife({ endsOn: '2029-12-31', successor: 'Harbour Flat', successorFile: 'after.json' });
    const after = JSON.parse(readFileSync(join(folder, 'after.json'), 'utf8'));
    const life = { endsOn: '2031-12-31', successor: 'Harbour Three-Rate', successorFile: 'tariff.json' };
    writeFileSync(join(folder, 'after.json'), JSON.stringify({ ...after, life }));
    const { payback } = JSON.parse(compared(folder, '--json').stdout);
    expect(payback).toMatchObject({ years: null, validUntil: '2031-12-31' });
  });
});

test('a tariff that needs the home’s baseline zone says which there are and where to state it', () => {
  const folder = copyOf('planned');
  const blocks = JSON.parse(readFileSync(join(ROOT, 'fixtures/tariffs/baseline-blocks.json'), 'utf8'));
  writeFileSync(join(folder, 'blocks.json'), JSON.stringify({ ...blocks, currency: 'CAD' }));
  const run = compared(folder, '--tariff', 'blocks.json');
  expect(run).toMatchObject({ status: 2, stdout: '' });
  expect(run.stderr).toContain('field "account.baselineZone"');
  expect(run.stderr).toContain('"account": { "baselineZone": "coast" }; the tariff knows "coast", "valley"');
  const site = JSON.parse(readFileSync(join(folder, 'site.json'), 'utf8'));
  writeFileSync(join(folder, 'site.json'), JSON.stringify({ ...site, account: { baselineZone: 'coast' } }));
  expect(compared(folder, '--tariff', 'blocks.json').status).toBe(0);
});
