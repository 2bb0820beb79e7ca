// Ways out that work: the cure that a refusal of a site or tariff file names is applied as printed, and that fault is gone.
import { formatPath, InputError, type InputIssue } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';
import { BACKUPS } from '../../support/bad-input/backups.ts';
import { type Case, csv, rowsOf, SITE, TARIFF } from '../../support/bad-input/case.ts';
import { CHARGES } from '../../support/bad-input/charges.ts';
import { PLANS } from '../../support/bad-input/plans.ts';
import { SITES } from '../../support/bad-input/sites.ts';
import { TARIFFS } from '../../support/bad-input/tariffs.ts';
import { readerOf } from '../../support/panel/index.ts';

// Plain JSON of any shape.
// biome-ignore lint/suspicious/noExplicitAny: cures reach into every corner of the files on purpose
type Json = any;
type Documents = { readonly 'site.json': Json; readonly 'tariff.json': Json };

/** What a person who adds a field would write, by its name; where a cure says the value itself, that is taken. */
const VALUES: Readonly<Record<string, Json>> = {
  format: SITE.format,
  longitudeDeg: -105,
  path: 'home.csv',
  volt: 240,
  to: '12:00',
  mainAmps: 200,
  covers: 'the battery, installed',
  pricePerKwh: 0.2,
  upToKwh: 300,
  rest: 0,
  day: 5,
  dates: ['2025-01-01', '2025-02-01'],
  pricePerKw: 9,
  from: '2025-02-01',
  contractKw: 6,
  serviceAmps: 100,
};
/** The same where a field of one name is something else in another place. */
const AT: Readonly<Record<string, Json>> = { 'seasons[0].to': '09-30' };

const at = (document: Json, path: readonly (string | number)[]) =>
  path.reduce((value: Json, key) => value?.[key], document);

/** Applies what a hint says; undefined where it names no field or value to write. */
function cured({ where, received, hint = '' }: InputIssue, documents: Documents): Documents | undefined {
  const made = structuredClone(documents);
  const path = where.path ?? [];
  const document: Json = made[where.file!.endsWith('site.json') ? 'site.json' : 'tariff.json'];
  const parent: Json = at(document, path.slice(0, -1));
  const key = path.at(-1)!;
  const put = (value: Json) => {
    parent[key] = value;
    return made;
  };
  const meant = /did you mean "([^"]+)"/.exec(hint);
  if (meant !== null) {
    if (!received.startsWith('the key')) {
      if (typeof parent[key] === 'string') return put(meant[1]);
      // Of a list with one wrong name, or an object that is told by its kind.
      if (Array.isArray(parent[key]))
        return put(parent[key].map((name: string) => (`"${name}"` === received ? meant[1] : name)));
      return undefined;
    }
    // As shown beside it, where its shape is another.
    const { [key]: old, ...others } = parent;
    for (const name of Object.keys(parent)) delete parent[name];
    Object.assign(parent, others, {
      [meant[1]!]: /prices by how much/.test(hint) ? [{ upToKwh: 300, pricePerKwh: 0.2 }, { pricePerKwh: 0.3 }] : old,
    });
    return made;
  }
  const toSite = /add it to the site file: "account": \{ "(\w+)": … \}/.exec(hint);
  if (toSite !== null) {
    made['site.json'].account = { ...made['site.json'].account, [toSite[1]!]: VALUES[toSite[1]!] };
    return made;
  }
  const added = /add "(\w+)"(?:: ("\w+"))?/.exec(hint);
  if (added !== null) {
    const [, name, value] = added as unknown as [string, string, string | undefined];
    const shape = new RegExp(`add "${name}": (\\[.*\\]|\\{.*\\})`).exec(hint);
    if (shape !== null) {
      // What stands for whatever the home has is a number here; what is missing may stand above the field.
      const owner = name === 'baseline' ? document : (parent ?? at(document, path.slice(0, -2)));
      owner[name] = JSON.parse(shape[1]!.replaceAll('…', '6'));
      return made;
    }
    parent[name] = value === undefined ? (AT[formatPath(path)] ?? VALUES[name]) : JSON.parse(value);
    expect(parent[name], `no value in the test for "${name}"`).toBeDefined();
    return made;
  }
  const written = /write ("\w+"|[\d.]+)(?: for [\d.]+ %|,? without quotes| or [\d.]+, without quotes|$)/.exec(hint);
  if (written !== null) return put(JSON.parse(written[1]!));
  if (hint === 'write the number without quotes') return put(Number(parent[key]));
  const other = /^remove "(\w+)"/.exec(hint);
  if (other !== null) {
    delete parent[other[1]!];
    return made;
  }
  const row = /a row for them$/.test(hint);
  if (row) {
    const [first] = at(document, path);
    const months = Array.from({ length: 12 }, (_, m) => m + 1).filter((month) => !first.months.includes(month));
    at(document, path).push({ ...first, months });
    return made;
  }
  if (/^remove (it|one of the two|one of them)/.test(hint) && parent !== undefined) {
    if (/share" or "kwh/.test(hint + (at(document, path)?.kwh === undefined ? '' : 'share" or "kwh'))) {
      delete at(document, path).kwh;
      return made;
    }
    if (Array.isArray(parent)) return undefined;
    delete parent[key];
    return made;
  }
  return undefined;
}

async function issuesOf(documents: Documents, files: Case['files'] = {}): Promise<readonly InputIssue[]> {
  const texts: Record<string, string> = { 'home.csv': csv(rowsOf()) };
  for (const [name, content] of Object.entries(files)) if (typeof content === 'string') texts[name] = content;
  for (const [name, document] of Object.entries(documents)) texts[name] = JSON.stringify(document, null, 2);
  try {
    const loaded = await loadSite('site.json', readerOf(texts));
    for (const one of loaded.tariffs) loaded.pastOf(one);
    void loaded.study;
  } catch (error) {
    if (error instanceof InputError) return error.issues;
    throw error;
  }
  return [];
}

const CASES = [...SITES, ...PLANS, ...BACKUPS, ...TARIFFS, ...CHARGES].filter(
  ({ site, tariff, prepare }) =>
    prepare === undefined && [site, tariff].every((change) => change === undefined || typeof change === 'function'),
);

test('a cure that names a field or a value mends that very fault', async () => {
  const failed: string[] = [];
  const applied: string[] = [];
  for (const { name, code, site, tariff, files } of CASES) {
    const documents: Documents = { 'site.json': structuredClone(SITE), 'tariff.json': structuredClone(TARIFF) };
    if (typeof site === 'function') site(documents['site.json']);
    if (typeof tariff === 'function') tariff(documents['tariff.json']);
    const before = await issuesOf(documents, files);
    const issue = before.find((one) => new RegExp(code).test(one.code));
    if (issue?.hint === undefined || issue.where.path === undefined) continue;
    const mended = cured(issue, documents);
    if (mended === undefined) continue;
    applied.push(`${name}: ${issue.hint}`);
    const left = await issuesOf(mended, files);
    const isSame = (one: InputIssue) =>
      one.code === issue.code && formatPath(one.where.path ?? []) === formatPath(issue.where.path!);
    const again = left.find(isSame) ?? left.find((one) => !before.some((other) => other.code === one.code));
    if (again !== undefined) failed.push(`${name}: ${issue.hint} → ${again.received}; expected ${again.expected}`);
  }
  expect(failed).toEqual([]);
  expect(applied.length).toBeGreaterThanOrEqual(50);
});
