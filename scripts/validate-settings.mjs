// Makes the table of docs/concepts/validation-settings.md: what the settings sheet of this version saves and leaves for an outage,
// beside that of a version before. Run after a build of both: `node scripts/validate-settings.mjs --before PATH/packages/core/dist`
// prints it, `--write` puts it into the document, which takes the open data; `--homes a;b` makes a part.
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';
import { SHEET_TARIFFS, sheetHomes, sheetRow } from '../tests/support/settings-rows.mjs';
import { openHomes } from './open-homes.mjs';

const { values: args } = parseArgs({
  options: { write: { type: 'boolean' }, before: { type: 'string' }, homes: { type: 'string' } },
});
if (args.before === undefined) throw new Error('--before names the built core of a version before');
const document = new URL('../docs/concepts/validation-settings.md', import.meta.url);
const openData = new URL('../../shared/data/', import.meta.url);
const data = existsSync(openData) ? openData : undefined;
if (args.write && (data === undefined || args.homes)) throw new Error('--write takes all homes, the open ones too');

async function coreAt(folder) {
  const core = {};
  for (const part of ['axis', 'dispatch', 'meter', 'outage', 'site', 'tariff', 'trial'])
    Object.assign(core, await import(pathToFileURL(resolve(folder, part, 'index.js')).href));
  return core;
}

const now = await coreAt(new URL('../packages/core/dist', import.meta.url).pathname);
const before = await coreAt(args.before);

async function homes() {
  const fixtures = new URL('../fixtures/demo/', import.meta.url);
  const demo = await now.loadSite('site.json', (path) => readFileSync(new URL(path, fixtures)));
  const { axis, loadKwh, solarKwh } = demo.case;
  const { startEpochMs, stepMinutes, intervals, zone } = axis;
  const all = [{ name: 'demo', startEpochMs, stepMinutes, intervals, zone, loadKwh, solarKwh }, ...sheetHomes()];
  return data === undefined ? all : [...all, ...openHomes(data)];
}

const money = (value) => (Math.round(value) || 0).toString();
const hours = (value) => value.toFixed(1);
const rows = [];
for (const home of await homes()) {
  if (args.homes && !args.homes.split(';').includes(home.name)) continue;
  for (const tariff of Object.keys(SHEET_TARIFFS)) {
    const [was, is] = [before, now].map((core) => sheetRow(core, home, tariff));
    rows.push([
      home.name,
      tariff,
      money(is.bill),
      ...[was, is].flatMap(({ sheet, apart }) => [money(sheet.saved), hours(sheet.hours), money(apart.saved)]),
    ]);
    console.error(rows.at(-1).join(' · '));
  }
}

const head = ['home', 'tariff', 'bill, $', 'saved before', 'h before', 'apart before', 'saved', 'h', 'apart'];
const widths = head.map((title, k) => Math.max(title.length, ...rows.map((row) => row[k].length)));
const line = (cells) => `| ${cells.map((cell, k) => cell.padEnd(widths[k])).join(' | ')} |`;
const table = [line(head), line(widths.map((width) => '-'.repeat(width))), ...rows.map(line)].join('\n');
if (args.write) {
  const text = readFileSync(document, 'utf8');
  const [from, to] = ['<!-- sheets -->', '<!-- /sheets -->'];
  const [start, end] = [text.indexOf(from), text.indexOf(to)];
  if (start < 0 || end < start) throw new Error(`the document lacks the marks ${from} and ${to}`);
  writeFileSync(document, `${text.slice(0, start + from.length)}\n\n${table}\n\n${text.slice(end)}`);
} else console.log(table);
