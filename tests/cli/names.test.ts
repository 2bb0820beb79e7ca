import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { copyOf, cutHome, duskbank } from './support.ts';

// Every name that a file gives stands in quotation marks that it can't end, or alone in the cell of a table: outside of them
// it could be read as an answer. Each word of a hostile name begins with "zq", so that not one may stand elsewhere.

/** Fields that hold a name, or name one that another field gave. */
const NAME_FIELDS = new Set(
  'name utility notes note supplier programme programmes zone baselineZone successor eligibility covers source sharedNeutralWith seasons inWindows on'.split(
    ' ',
  ),
);

/** Words of fields above that are ours. */
const OURS = new Set(['all', 'energy', 'fixed', 'demand', 'America/Denver']);

/** A document whose names are hostile, the same name the same way everywhere. */
function hostile(document: unknown, ending: string, names: Map<string, string> = new Map()): unknown {
  const renamed = (text: string) => {
    if (OURS.has(text)) return text;
    if (!names.has(text)) names.set(text, `zq${names.size}${ending}`);
    return names.get(text)!;
  };
  const walk = (value: unknown, isName: boolean): unknown => {
    if (typeof value === 'string') return isName ? renamed(value) : value;
    if (Array.isArray(value)) return value.map((each) => walk(each, isName));
    if (typeof value !== 'object' || value === null) return value;
    return Object.fromEntries(
      Object.entries(value).map(([key, inner]) =>
        key === 'byWindow' || key === 'appliancesVa'
          ? [key, Object.fromEntries(Object.entries(inner as object).map(([name, figure]) => [renamed(name), figure]))]
          : [key, walk(inner, NAME_FIELDS.has(key))],
      ),
    );
  };
  return walk(document, false);
}

const read = (path: string) => JSON.parse(readFileSync(path, 'utf8'));

/** A folder with a home and two tariffs in which every field that may hold a name has one. */
function hostileHome(ending: string): string {
  const folder = copyOf('demo');
  cutHome(folder, 14);
  const site = read(join(folder, 'site.json'));
  const tariff = read(join(folder, 'tariff.json'));
  Object.assign(site, {
    account: { baselineZone: 'valley', programmes: ['low income', 'nobody knows it'] },
    economics: { ...site.economics, cycleLife: 6000 },
  });
  site.backup.panel.method = { name: 'an edition', vaPerSqFt: 3, circuitVa: 1500, firstVa: 10000, restShare: 0.4 };
  Object.assign(tariff, {
    notes: ['a note', 'another note'],
    holidays: [{ name: 'a holiday', date: '07-04' }],
    energy: [
      { name: 'supply', supplier: 'a supplier', pricePerKwh: 0.01, inWindows: ['on-peak'], programme: 'low income' },
      { name: 'windowed', supplier: 'other', byWindow: { 'on-peak': 0.02, night: 0.001, 'off-peak': 0.01 } },
      { name: 'blocky', blocks: [{ upToBaseline: 1, pricePerKwh: 0.01 }, { pricePerKwh: 0.02 }], seasons: 'winter' },
      {
        name: 'own',
        windows: [
          { name: 'own a', from: '00:00', to: '12:00', pricePerKwh: 0 },
          { name: 'own b', otherwise: true, pricePerKwh: 0.01 },
        ],
      },
      { name: 'hourly', table: [{ pricesByHour: Array.from({ length: 24 }, (_, h) => (h < 12 ? 0 : 0.01)) }] },
    ],
    baseline: [{ kwhPerDay: 8, zone: 'valley' }],
    events: [
      { name: 'an event', dates: ['2025-01-10'], from: '17:00', to: '19:00', rebatePerKwh: 0.5, baselineDays: 5 },
    ],
    demand: [
      {
        name: 'power',
        supplier: 'other',
        pricePerKw: 1,
        inWindows: 'on-peak',
        ratchet: { share: 0.5, months: 3, seasons: 'summer' },
      },
    ],
    usageCredits: [{ name: 'a credit', supplier: 'other', amount: 2, leastKwh: 10, belowKwh: 2000 }],
    adjustments: [{ name: 'a rider', percent: 1, on: ['supply'], programme: 'low income' }],
    minimumBill: { name: 'a minimum', amount: 900, on: ['energy', 'Service charge'] },
    versions: [{ from: '2025-01-08', note: 'what changed' }],
  });
  const names = new Map<string, string>();
  const put = (file: string, document: unknown) =>
    writeFileSync(join(folder, file), JSON.stringify(hostile(document, ending, names)));
  put('site.json', site);
  put('bare.json', { ...site, plant: undefined, economics: undefined });
  put('dark.json', {
    ...site,
    backup: {
      circuits: site.backup.circuits.map((circuit: object, c: number) => ({
        ...circuit,
        ...(c === 2 ? { medical: true } : {}),
        ...(c === 3 ? { watts: 9000, startKva: 12 } : {}),
      })),
    },
  });
  put('tariff.json', tariff);
  put('ended.json', {
    ...tariff,
    name: 'another tariff',
    utility: 'another utility',
    fixed: [{ name: 'Service charge', amount: 3, per: 'month' }],
    minimumBill: undefined,
    life: {
      closedFrom: '2026-01-01',
      endsOn: '2026-12-31',
      successor: 'a successor',
      eligibility: ['who may'],
      billProtectionMonths: 12,
    },
  });
  put('cheap.json', {
    ...tariff,
    name: 'a cheap tariff',
    fixed: [{ name: 'Service charge', amount: 3, per: 'month' }],
    minimumBill: undefined,
  });
  writeFileSync(join(folder, 'bills.csv'), 'start,end,amount\n2025-01-01,2025-01-12,900\n');
  // Of bills the names are in their columns: of services, items, notes and headings. Of a sheet they are in keys and times.
  const cell = (name: string) => `"${`zq${name}${ending}`.replaceAll('"', '""')}"`;
  const rows = (columns: string, more: string) =>
    `start,end,amount${columns}\n2025-01-01,2025-01-07,50${more}\n2025-01-08,2025-01-12,900${more}\n`;
  writeFileSync(join(folder, 'noted.csv'), rows(`,${cell('head')},note`, `,${cell('one')},${cell('two')}`));
  writeFileSync(join(folder, 'items.csv'), rows(',service,item', `,${cell('service')},${cell('item')}`));
  writeFileSync(join(folder, 'badbill.csv'), `start,end,amount\n2025-01-01,2025-01-12,${cell('amount')}\n`);
  writeFileSync(join(folder, 'badhead.csv'), `${cell('head')},${cell('tail')}\n2025-01-01,2025-01-12\n`);
  const charge = { from: '23:00', to: '05:00' };
  const sheets = {
    keyed: { reservePercent: 20, [`zqkey${ending}`]: 3, schedules: [{ charge }] },
    timed: { reservePercent: 20, schedules: [{ charge: { from: `zqfrom${ending}`, to: '05:00' } }] },
    kept: { reservePercent: `zq${ending}`, schedules: [{ charge }] },
    formed: { format: `zq${ending}`, schedules: [{ charge }] },
  };
  for (const [name, sheet] of Object.entries(sheets))
    writeFileSync(join(folder, `${name}.json`), JSON.stringify(sheet));
  return folder;
}

/** What stands outside of marks and of cells of tables. A cell that shares its neutral with the one below stands alone on its line. */
function outside(page: string): string {
  const lines = page.split('\n').map((line) => {
    const cells = line.trim().split(/ {2,}/);
    const isName = (cell: string) => /^(\+ |and |Energy, )?zq/.test(cell) && !cell.includes('"');
    if (cells.length > 1) return cells.filter((cell) => !isName(cell)).join('  ');
    return /^(\+ )?zq[^"]*( and|…)$/.test(cells[0]!) ? '' : line;
  });
  return lines.join(' ').replace(/"[^"]*"/g, '""');
}

const ENDINGS = {
  'a mark and a sentence': '". zqSaves zqUSD zq9,999.00 zqa zqyear. "zqy',
  'marks that look alike': "”. zqSaves ″zq9.  ''zqx'' “zqy",
  'brackets and blanks': ').  zqPlan zqon  zq14 zqdays (zqnot\nzqb',
};

const COMMANDS = [
  ['compare', 'site.json'],
  ['compare', 'site.json', '--wear'],
  ['compare', 'site.json', '--tariff', 'ended.json', '--tariff', 'cheap.json'],
  ['compare', 'bare.json', '--tariff', 'ended.json', '--tariff', 'cheap.json'],
  ['settings', 'site.json'],
  ['explain', 'site.json', '--at', '2025-01-10T18:00'],
  ['outage', 'site.json', '--full'],
  ['outage', 'dark.json', '--full'],
  ['circuits', 'site.json'],
  ['circuits', 'dark.json'],
  ['circuits', 'bare.json'],
  ['bill', 'site.json'],
  ['bill', 'site.json', '--tariff', 'ended.json'],
  ['bill', 'site.json', '--actual', 'bills.csv'],
  ['tariff', 'tariff.json'],
  ['tariff', 'tariff.json', '--at', '2025-01-05'],
  ['tariff', 'ended.json', '--at', '2026-06-01'],
  ['tariff', 'ended.json', '--at', '2027-06-01'],
  ['check', 'site.json'],
  ['check', 'tariff.json'],
];

describe.each(Object.entries(ENDINGS))('names with %s', (_, ending) => {
  const folder = hostileHome(ending);

  test.each(COMMANDS.map((args) => [args.join(' '), args] as const))('%s', (_words, args) => {
    const run = duskbank(args, folder);
    expect(run.status, run.stderr).toBe(0);
    expect(run.stdout).toContain('zq');
    expect(outside(`${run.stderr}\n${run.stdout}`).match(/.{0,60}zq.{0,60}/gu) ?? []).toEqual([]);
  });

  // Told or refused: nothing of a bill or sheet file stands outside of marks either.
  test.each([
    ['bill', 'site.json', '--actual', 'noted.csv'],
    ['bill', 'site.json', '--actual', 'items.csv'],
    ['bill', 'site.json', '--actual', 'badbill.csv'],
    ['bill', 'site.json', '--actual', 'badhead.csv'],
    ['settings', 'site.json', '--try', 'keyed.json'],
    ['settings', 'site.json', '--try', 'timed.json'],
    ['settings', 'site.json', '--try', 'kept.json'],
    ['settings', 'site.json', '--try', 'formed.json'],
  ])('%s %s %s %s', (...args) => {
    const run = duskbank(args, folder);
    expect([0, 2], run.stderr).toContain(run.status);
    expect(outside(`${run.stderr}\n${run.stdout}`).match(/.{0,60}zq.{0,60}/gu) ?? []).toEqual([]);
  });
});
