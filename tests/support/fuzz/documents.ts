import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describeIssue, InputError } from '@duskbank/core/input';
import { loadSite } from '@duskbank/core/site';
import { bill, compare, compareReportSchema } from '@duskbank/core/study';
import { parse, stringify } from 'yaml';
import { yaml } from '../../../packages/cli/src/io/yaml.ts';
import { notFinite } from '../../laws/door/hostile.ts';
import { randomOf } from '../mutate-meter.mjs';
import { type Fuzzer, type Try, unspeakable } from './fuzzer.ts';

const FIXTURES = join(import.meta.dirname, '../../../fixtures');
const read = (path: string) => readFileSync(join(FIXTURES, path));
const small = read('small/home.csv');
/** A day suffices to be laid on an axis: the file isn't what is damaged here. */
const HOME = Buffer.from(`${small.toString('utf8').split('\n').slice(0, 49).join('\n')}\n`);

/** Fields of fields that a report is looked into. */
const DEEPEST = 30;

type Json = null | boolean | number | string | Json[] | { [key: string]: Json };
type Random = () => number;

const SITES: readonly Json[] = [
  parse(read('small/site.yaml').toString('utf8')),
  JSON.parse(read('demo/site.json').toString('utf8')),
  {
    ...JSON.parse(read('demo/site.json').toString('utf8')),
    dispatch: { peakShaveTargetKw: 2 },
    economics: { installedCost: 9000, cycleLife: 6000 },
    service: { importLimitKw: 9, exportLimitKw: 3 },
  },
];
const TARIFFS: readonly Json[] = [
  parse(read('small/tariff.yaml').toString('utf8')),
  JSON.parse(read('demo/tariff.json').toString('utf8')),
  ...readdirSync(join(FIXTURES, 'tariffs'))
    .filter((name) => /\.(json|yaml)$/.test(name))
    .map((name) => parse(read(`tariffs/${name}`).toString('utf8')) as Json),
];

const pick = <T>(random: Random, list: readonly T[]): T => list[Math.floor(random() * list.length)]!;

/** Values that a field may be given by mistake or in malice. */
const VALUES: readonly (() => Json)[] = [
  () => null,
  () => true,
  () => 0,
  () => -1,
  () => 1e308,
  () => -1e308,
  () => 5e-324,
  () => 1e15,
  () => 0.1,
  () => 366,
  () => '',
  () => 'x',
  () => '0,14',
  () => '25:00',
  () => '2026-02-30',
  () => '2026-13-45',
  () => '1e3',
  () => '0x10',
  () => 'Infinity',
  () => '../home.csv',
  () => '\u0000',
  () => '<script>',
  () => '__proto__',
  () => 'x'.repeat(5000),
  () => [],
  () => [[]],
  () => ({}),
  () => ({ share: 1 }),
  () => ({ kwh: 1 }),
  () => [1, 2, 3],
  () => Array.from({ length: 300 }, () => ({})),
];

/** All places of a document: each a container and a key in it. */
function placesOf(value: Json): [Record<string, Json>, string][] {
  if (typeof value !== 'object' || value === null) return [];
  const holder = value as Record<string, Json>;
  return Object.keys(holder).flatMap((key) => [
    [holder, key] as [Record<string, Json>, string],
    ...placesOf(holder[key]!),
  ]);
}

const CHANGES: readonly ((document: Json, random: Random) => void)[] = [
  (document, random) => {
    const [holder, key] = pick(random, placesOf(document));
    holder[key] = pick(random, VALUES)();
  },
  (document, random) => {
    const [holder, key] = pick(random, placesOf(document));
    if (Array.isArray(holder)) holder.splice(Number(key), 1);
    else delete holder[key];
  },
  (document, random) => {
    const [holder, key] = pick(random, placesOf(document));
    if (typeof holder[key] === 'number') holder[key] = holder[key] * pick(random, [0, -1, 0.001, 1000, 1e9, 1.5]);
    else if (typeof holder[key] === 'string') holder[key] = `${holder[key]}${pick(random, [' ', 'x', '\n', '0'])}`;
  },
  (document, random) => {
    const places = placesOf(document);
    const [from, fromKey] = pick(random, places);
    const [to, toKey] = pick(random, places);
    to[toKey] = structuredClone(from[fromKey]!);
  },
  (document, random) => {
    const [holder, key] = pick(random, placesOf(document));
    if (Array.isArray(holder)) holder.push(structuredClone(holder[Number(key)]!));
    else holder[`${key}s`] = structuredClone(holder[key]!);
  },
];

/** Damage to the text of a document. */
const DAMAGE: readonly ((text: string, random: Random) => string)[] = [
  (text) => text,
  (text) => text,
  (text, random) => text.slice(0, Math.floor(random() * text.length)),
  (text, random) => {
    const at = Math.floor(random() * text.length);
    return `${text.slice(0, at)}${pick(random, ['{', '}', '[', ']', ':', ',', '"', "'", '#', '&a ', '*a', '!!binary ', '\t', '\n', '- ', '? ', '\u202e', '\ufeff', '%', '|'])}${text.slice(at)}`;
  },
  (text, random) => {
    const at = Math.floor(random() * text.length);
    return `${text.slice(0, at)}${text.slice(at + 1 + Math.floor(random() * 8))}`;
  },
  (text, random) => {
    const lines = text.split('\n');
    const at = Math.floor(random() * lines.length);
    lines.splice(at, 0, lines[Math.floor(random() * lines.length)]!);
    return lines.join('\n');
  },
];

function changed(document: Json, random: Random): string {
  const copy = structuredClone(document);
  const times = Math.floor(random() * 3);
  for (let k = 0; k < times; k++) if (placesOf(copy).length > 0) pick(random, CHANGES)(copy, random);
  const text = random() < 0.5 ? JSON.stringify(copy, null, random() < 0.5 ? 2 : 0) : stringify(copy);
  return pick(random, DAMAGE)(text, random);
}

/** What is said to the files of a try: the bill, and the comparison where one is asked for; or what is wrong with them. */
export async function answerTo({ name, files }: Try) {
  const host = async (path: string) => {
    const bytes = files[path];
    if (bytes !== undefined) return bytes;
    throw Object.assign(new Error(`ENOENT: no such file, open '${path}'`), { code: 'ENOENT' });
  };
  try {
    const loaded = await loadSite('site.yaml', host, { yaml });
    const billed = bill(loaded.pastOf(loaded.tariffs[0]!));
    const asked = loaded.site.plant !== undefined && name === 'compared';
    return { billed, report: asked ? compare(loaded.study) : undefined };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { issues: error.issues };
  }
}

/**
 * Site or tariff files, damaged as data and as text. They are refused, or give a bill and now and then a comparison in
 * which all numbers are numbers.
 */
const damaged = (kind: 'sites' | 'tariffs'): Fuzzer => ({
  name: kind,
  make(seed, n): Try {
    const random = randomOf(seed + n * 7919);
    // So that the tariff is found whatever happened to the site, and the other way round.
    const site = structuredClone(pick(random, SITES)) as Record<string, Json>;
    site.tariff = 'tariff.yaml';
    site.zone = 'Australia/Adelaide';
    const tariff = pick(random, TARIFFS);
    return {
      // A comparison takes as long as a hundred bills.
      name: n % 40 === 0 ? 'compared' : 'billed',
      files: {
        'site.yaml': Buffer.from(kind === 'sites' ? changed(site, random) : JSON.stringify(site)),
        'tariff.yaml': Buffer.from(kind === 'tariffs' ? changed(tariff, random) : JSON.stringify(tariff)),
        'home.csv': HOME,
      },
    };
  },
  async wrongWith(input) {
    const { billed, report, issues = [] } = await answerTo(input);
    const given = `${Buffer.from(input.files['site.yaml']!)}${Buffer.from(input.files['tariff.yaml']!)}`;
    for (const issue of issues) {
      const wrong = unspeakable(describeIssue(issue), given);
      if (wrong !== undefined) return `${wrong}: ${describeIssue(issue)}`;
    }
    if (billed === undefined) return undefined;
    const wrong = unspeakable(JSON.stringify(billed)) ?? notFinite(billed, false, 'bill', DEEPEST);
    if (wrong !== undefined || report === undefined) return wrong;
    const faults = compareReportSchema.safeParse(report);
    return notFinite(report, false, 'report', DEEPEST) ?? (faults.success ? undefined : faults.error.message);
  },
});

/** Damaged files of sites beside a sound tariff. */
export const sites = damaged('sites');

/** Damaged files of tariffs beside a sound site. */
export const tariffs = damaged('tariffs');
