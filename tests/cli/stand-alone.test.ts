// A report is all that its text is made of: for each command, what is printed as text equals what is made of the
// printed JSON, which keeps to its schema.
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { billCsv, billText } from '../../packages/cli/src/render/bill.ts';
import { checkText } from '../../packages/cli/src/render/check.ts';
import { circuitsText } from '../../packages/cli/src/render/circuits.ts';
import { compareCsv, compareText } from '../../packages/cli/src/render/compare.ts';
import { explainText } from '../../packages/cli/src/render/explain.ts';
import { inspectText } from '../../packages/cli/src/render/inspect.ts';
import { outageText } from '../../packages/cli/src/render/outage.ts';
import { settingsText } from '../../packages/cli/src/render/settings.ts';
import { tariffPage } from '../../packages/cli/src/render/tariff.ts';
import { switchText } from '../../packages/cli/src/render/tariff-switch.ts';
import { type ReportName, schemaFaults } from '../support/reports.ts';
import { duskbank, ROOT } from './support.ts';

const FIXTURES = join(ROOT, 'fixtures');

// What comes from JSON has no type; that it has the report's form is what is tested.
// biome-ignore lint/suspicious/noExplicitAny: see above
type Render = (report: any) => string;

const MOMENTS = {
  'demo/site.json': '2025-07-01T18:00',
  'small/site.yaml': '2025-04-10T18:00',
  'planned/site.json': '2025-06-20T18:00',
};

const RUNS: readonly [call: string, name: ReportName, render: Render, csv?: Render][] = [
  ...Object.entries(MOMENTS).flatMap(([site, at]): [string, ReportName, Render, Render?][] => [
    [`compare ${site}`, 'compare', compareText, compareCsv],
    [`bill ${site}`, 'bill', billText, billCsv],
    [`settings ${site}`, 'settings', settingsText],
    [`outage ${site}`, 'outage', outageText],
    [`explain ${site} --at ${at}`, 'explain', explainText],
    [`check ${site}`, 'check', checkText],
  ]),
  ['compare small/site.yaml --all', 'compare', compareText],
  ['compare demo/site.json --tariff tariffs/flat.json --tariff tariffs/life.json', 'compare', switchText],
  ['compare planned/site.json --tariff planned/after.json', 'compare', switchText],
  ['circuits demo/site.json', 'circuits', circuitsText],
  ['check demo/tariff.json', 'check', checkText],
  ['check demo/home.csv --zone America/Denver', 'check', checkText],
  ['inspect demo/home.csv --zone America/Denver --fill-gaps 3', 'inspect', inspectText],
  ['tariff tariffs/version-change.json --at 2026-02-01', 'tariff-description', tariffPage],
];

test.each(RUNS)('%s prints what is made of its JSON', (call, name, render, csv) => {
  const args = call.split(' ');
  const json = duskbank([...args, '--json'], FIXTURES);
  expect(json.status, json.stderr).toBe(0);
  const report = JSON.parse(json.stdout);
  expect(schemaFaults(name, report)).toEqual([]);
  expect(duskbank(args, FIXTURES).stdout).toBe(`${render(report)}\n`);
  if (csv !== undefined) expect(duskbank([...args, '--csv'], FIXTURES).stdout).toBe(`${csv(report)}\n`);
});
