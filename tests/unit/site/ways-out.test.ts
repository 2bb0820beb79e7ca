// Ways out of a site file that work: a refusal is provoked, its hint is applied as printed, and the home is then taken.
import { readFile } from 'node:fs/promises';
import { InputError, type InputIssue } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';

const folder = new URL('../../../fixtures/demo/', import.meta.url);
type Entry = Readonly<Record<string, unknown>>;

/** The demo home with parts of its site file replaced, and with other files beside its own. */
async function study(change: (site: Entry) => Entry, files: Readonly<Record<string, string>> = {}) {
  const site = change(JSON.parse(await readFile(new URL('site.json', folder), 'utf8')) as Entry);
  const all: Readonly<Record<string, string>> = { ...files, 'site.json': JSON.stringify(site) };
  const loaded = await loadSite('site.json', async (path) =>
    all[path] === undefined ? readFile(new URL(path, folder)) : new TextEncoder().encode(all[path]),
  );
  return loaded.studyOf(loaded.tariffs[0]!);
}

async function refused(...about: Parameters<typeof study>): Promise<InputIssue> {
  const error = await study(...about).catch((thrown: unknown) => thrown);
  expect(error).toBeInstanceOf(InputError);
  return (error as InputError).issues[0]!;
}

/** What a hint says to write: `"reach": "whole-home"` as a field. */
const printed = (hint: string | undefined): Entry =>
  JSON.parse(`{${/"[a-zA-Z]+": (?:"[^"]*"|\{[^}]*\})/.exec(hint ?? '')?.[0]}}`);

test('export from a sub-panel: the reach of the whole home', async () => {
  const site = (more: Entry) => (demo: Entry) => ({
    ...demo,
    plant: { ...(demo.plant as Entry), batteryExport: true, reach: { share: 0.4 }, ...more },
  });
  const issue = await refused(site({}));
  expect(issue).toMatchObject({ code: 'contradiction', where: { path: ['plant', 'batteryExport'] } });
  expect(printed(issue.hint)).toEqual({ reach: 'whole-home' });
  expect((await study(site(printed(issue.hint)))).site.plant).toMatchObject({
    batteryExport: true,
    reach: 'whole-home',
  });
});

test('planned solar as a multiple of none: a file with the production of the array', async () => {
  const rows = (await readFile(new URL('home.csv', folder), 'utf8')).trim().split('\n');
  const [head, ...data] = rows.filter((row) => !row.startsWith('#'));
  const names = head!.split(',');
  const cells = data.map((row) => row.split(','));
  const column = (name: RegExp) => names.findIndex((each) => name.test(each));
  const solar = column(/solar/i);
  const keep = names.map((_, c) => c).filter((c) => c !== solar);
  const without = [names, ...cells].map((row) => keep.map((c) => row[c]).join(',')).join('\n');
  const array = ['start,solar kWh', ...cells.map((row) => `${row[0]},0.25`)].join('\n');
  const files = { 'home.csv': `${without}\n`, 'array.csv': `${array}\n` };
  const site = (more: Entry) => (demo: Entry) => ({ ...demo, ...more });
  const issue = await refused(site({ plannedSolar: { scaleOfExisting: 1.5 } }), files);
  expect(issue).toMatchObject({ code: 'missing-channel', where: { path: ['plannedSolar', 'scaleOfExisting'] } });
  expect(printed(issue.hint)).toEqual({ plannedSolar: { file: 'array.csv' } });
  const { plannedSolar, home } = await study(site(printed(issue.hint)), files);
  expect(plannedSolar!.solarKwh.every((kwh) => Math.abs(kwh - 0.25) < 1e-9)).toBe(true);
  expect(plannedSolar!.solarKwh.length).toBe(home.axis.intervals);
});
