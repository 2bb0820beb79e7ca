// A report is all that its text is made of: the text of what JSON keeps of it is the same, and it keeps to its schema.
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { type Fact, InputError } from '@duskbank/core/input';
import { loadSite, loadTariffFile, type ReadFile, type Study } from '@duskbank/core/site';
import {
  bill,
  check,
  circuits,
  compare,
  explain,
  inspect,
  outage,
  settings,
  standardStrategies,
  strategyNamed,
  tariffReport,
  tariffSwitch,
  wearStrategies,
} from '@duskbank/core/study';
import { describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { billText } from '../../../packages/cli/src/render/bill.ts';
import { checkText } from '../../../packages/cli/src/render/check.ts';
import { circuitsText } from '../../../packages/cli/src/render/circuits.ts';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { explainText } from '../../../packages/cli/src/render/explain.ts';
import { inspectText } from '../../../packages/cli/src/render/inspect.ts';
import { outageText } from '../../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { tariffPage } from '../../../packages/cli/src/render/tariff.ts';
import { hasWords, unmade } from '../../support/facts.ts';
import { asJson, type ReportName, schemaFaults } from '../../support/reports.ts';

const FIXTURES = fileURLToPath(new URL('../../../fixtures/', import.meta.url));
const read: ReadFile = (path) => readFileSync(join(FIXTURES, path));

function standsAlone<Report>(name: ReportName, report: Report, text: (report: Report) => string): void {
  const kept = asJson(report);
  expect(schemaFaults(name, kept)).toEqual([]);
  expect(text(kept)).toBe(text(report));
  const facts = factsIn(kept).filter((fact) => hasWords(fact) && !Object.hasOwn(fact, 'count'));
  for (const { code } of facts) told.add(code);
  expect(unmade(facts)).toEqual([]);
}

/** Codes of facts that came up. */
const told = new Set<string>();

/** Every fact of a report, wherever it stands. */
function factsIn(part: unknown): Fact[] {
  if (typeof part !== 'object' || part === null) return [];
  const own = 'code' in part && 'data' in part && 'message' in part ? [part as Fact] : [];
  return [...own, ...Object.values(part).flatMap(factsIn)];
}

describe('every fixture of meter files', () => {
  const index = JSON.parse(readFileSync(join(FIXTURES, 'meter/index.json'), 'utf8'));
  // biome-ignore lint/suspicious/noExplicitAny: the index states options in many forms
  test.each(index as any[])('$file', async ({ file, options }) => {
    const path = `meter/files/${file}`;
    for (const maxGapHours of [undefined, 6]) {
      const { report, issues, series } = await inspect([path], read, { parse: options, maxGapHours });
      expect(report.ok).toBe(series !== undefined);
      expect(report.ok).toBe(issues.length === 0);
      standsAlone('inspect', report, inspectText);
    }
    standsAlone('check', (await check(path, read, { zone: options.zone })).report, checkText);
  });
});

describe('every fixture of tariffs', () => {
  test.each(readdirSync(join(FIXTURES, 'tariffs')))('%s', async (file) => {
    const { tariff, origin } = await loadTariffFile(`tariffs/${file}`, read);
    for (const date of ['2024-02-01', '2026-07-01', '2029-01-01'])
      standsAlone('tariff-description', tariffReport(tariff, date, origin), tariffPage);
    standsAlone('check', (await check(`tariffs/${file}`, read)).report, checkText);
  });
});

// Plain JSON stands for a site here.
// biome-ignore lint/suspicious/noExplicitAny: cases reach into every corner of the file on purpose
type Json = any;

const fridge = { name: 'Refrigerator', appliance: 'refrigerator', leg: 'L1', priority: 1 };
const lift = { name: 'Oxygen', watts: 350, leg: 'L2', priority: 2, medical: true };

const SITES: readonly [name: string, change: (site: Json) => void][] = [
  ['as it is', () => {}],
  [
    'circuits by hand',
    (site) => {
      site.backup = { circuits: [fridge], transfer: { kind: 'manual' }, goalHours: 8 };
    },
  ],
  [
    'a medical circuit',
    (site) => {
      site.backup = { circuits: [fridge, lift] };
    },
  ],
  [
    'a controller, reserves by date, a payback',
    (site) => {
      site.plant.controller = { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 15 };
      site.backup = { ...site.backup, reserve: { byMonth: [{ months: [12, 1], share: 0.5 }] }, stormMonths: [1] };
      site.economics = { price: 5000, covers: 'all of it', cycleLife: 6000 };
    },
  ],
  [
    'a floor that keeps hours',
    (site) => {
      site.backup = { ...site.backup, reserve: { keepHours: 4 } };
    },
  ],
];

/** The small home with its site file changed, read under names of its own. */
async function changed(change: (site: Json) => void) {
  const site = parse(readFileSync(join(FIXTURES, 'small/site.yaml'), 'utf8'));
  change(site);
  const tariff = parse(readFileSync(join(FIXTURES, 'small/tariff.yaml'), 'utf8'));
  const files: Record<string, string> = {
    'home/site.json': JSON.stringify({ ...site, tariff: 'rates.json' }),
    'home/rates.json': JSON.stringify(tariff),
    'home/home.csv': readFileSync(join(FIXTURES, 'small/home.csv'), 'utf8'),
  };
  const loaded = await loadSite('home/site.json', (path) => new TextEncoder().encode(files[path]));
  return { loaded, files };
}

function reportsOf(study: Study): void {
  const headline = strategyNamed('self-consumption', standardStrategies(study));
  standsAlone('compare', compare(study), compareText);
  if (study.site.economics?.cycleLife !== undefined)
    standsAlone(
      'compare',
      compare(study, { strategies: [...standardStrategies(study), ...wearStrategies(study, false)] }),
      compareText,
    );
  standsAlone('settings', settings(study), settingsText);
  standsAlone('explain', explain(study, headline, 100), explainText);
  standsAlone('outage', outage(study, { floors: [0, 0.5, 1] }), outageText);
  try {
    standsAlone('circuits', circuits(study), circuitsText);
  } catch (error) {
    // A site without circuits has no such report.
    if (!(error instanceof InputError)) throw error;
  }
}

describe('a home', () => {
  test.each(SITES)('%s', async (_, change) => {
    const { loaded } = await changed(change);
    reportsOf(loaded.study);
    const past = loaded.pastOf(loaded.tariffs[0]!);
    standsAlone('bill', bill(past), billText);
    const { periods } = bill(past);
    const actual = periods.map(({ start, end, total }) => ({ start, end, total: total + 1.5 }));
    standsAlone('bill', bill({ ...past, actual }), billText);
  });
});

test('facts of every kind came up', () => {
  expect([...told]).toEqual(
    expect.arrayContaining([
      'tariff-ends',
      'short-span',
      'medical-load',
      'medical-by-hand',
      'controller-assumed',
      'wiring',
      'place-energy',
    ]),
  );
});

describe('provenance', () => {
  test('names the files as they were written, with the hashes of their bytes, and what they leave out', async () => {
    const { loaded, files } = await changed((site) => {
      delete site.plant.battery.standbyW;
    });
    const { provenance } = compare(loaded.study, { strategies: [] });
    const hash = (path: string) => createHash('sha256').update(files[path]!).digest('hex');
    expect(provenance.inputs).toEqual(
      [
        ['site', 'home/site.json', 'home/site.json'],
        ['meter', 'home.csv', 'home/home.csv'],
        ['tariff', 'rates.json', 'home/rates.json'],
      ].map(([role, path, from]) => ({
        role,
        path,
        bytes: Buffer.byteLength(files[from!]!),
        sha256: hash(from!),
      })),
    );
    expect(provenance.assumptions).toContainEqual({ file: 'site', field: 'plant.battery.standbyW', value: 0 });
    expect(provenance.assumptions.map(({ field }) => field)).not.toContain('plant.battery.usableKwh');
    expect(provenance.tariffs).toEqual([{ name: 'Dusk & Dawn', versions: [{ from: null }] }]);
  });

  test('of a switch has the files and the versions of every tariff, once', async () => {
    const { files } = await changed(() => {});
    const life = readFileSync(join(FIXTURES, 'tariffs/version-change.json'), 'utf8').replace('"USD"', '"AUD"');
    const all: Record<string, string> = { ...files, 'other.json': life };
    const { tariffs, studyOf } = await loadSite('home/site.json', (path) => new TextEncoder().encode(all[path]), {
      moreTariffs: ['other.json'],
    });
    const { provenance } = tariffSwitch(tariffs.map(studyOf));
    expect(provenance.inputs.map(({ role, path }) => `${role} ${path}`)).toEqual([
      'site home/site.json',
      'meter home.csv',
      'tariff rates.json',
      'tariff other.json',
    ]);
    expect(provenance.tariffs.map(({ name }) => name)).toEqual(tariffs.map(({ tariff }) => tariff.name));
  });

  test('one byte more is another file', async () => {
    const hashes = await Promise.all(
      ['', ' '].map(async (more) => {
        const text = `${readFileSync(join(FIXTURES, 'tariffs/flat.json'), 'utf8')}${more}`;
        const { origin } = await loadTariffFile('flat.json', () => new TextEncoder().encode(text));
        return origin.inputs[0]!.sha256;
      }),
    );
    expect(hashes[0]).not.toBe(hashes[1]);
  });

  test('never holds an absolute path', async () => {
    const { origin } = await loadTariffFile(join(FIXTURES, 'tariffs/flat.json'), (path) => readFileSync(path));
    expect(origin.inputs[0]!.path).toBe('flat.json');
  });

  test('tells the versions that hold on the days in question', async () => {
    const { tariff } = await loadTariffFile('tariffs/version-change.json', read);
    const from = (date: string) =>
      tariffReport(tariff, date).provenance.tariffs[0]!.versions.map((version) => version.from);
    const dates = tariff.document.versions!.map((version) => version.from);
    expect(from('2000-01-01')).toEqual([null]);
    expect(from(dates.at(-1)!)).toEqual([dates.at(-1)]);
  });
});
