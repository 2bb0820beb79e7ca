// Reading interval files, against the general-purpose parser alone on the same text. Interleaved in one run.

import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseIntervalData, writeIntervalCsv } from '../../packages/core/dist/meter/index.js';

const require = createRequire(new URL('../../packages/core/package.json', import.meta.url));
const Papa = require('papaparse');
const { SaxesParser } = require('saxes');

const zone = 'America/Denver';
const random = mulberry32(11);

/** Local labels of a zone, its clock changes left to the data: the second pass of the repeated hour is unmarked. */
function csvYear(stepMinutes, label) {
  const start = Date.UTC(2026, 0, 1, 7);
  const n = (365 * 1440) / stepMinutes;
  const rows = ['Start,Import (kWh),Export (kWh)'];
  for (let i = 0; i < n; i++) {
    const epochMs = start + i * stepMinutes * 60_000;
    const offset = epochMs >= Date.UTC(2026, 2, 8, 9) && epochMs < Date.UTC(2026, 10, 1, 8) ? -6 : -7;
    rows.push(`${label(epochMs, offset)},${(random() * 0.9).toFixed(3)},${(random() * 0.4).toFixed(3)}`);
  }
  return `${rows.join('\n')}\n`;
}
const local = (epochMs, offset) => new Date(epochMs + offset * 3_600_000).toISOString().slice(0, 16).replace('T', ' ');
const american = (epochMs, offset) => {
  const t = new Date(epochMs + offset * 3_600_000);
  const h = t.getUTCHours();
  return `${t.getUTCMonth() + 1}/${t.getUTCDate()}/${t.getUTCFullYear()} ${h % 12 || 12}:${String(t.getUTCMinutes()).padStart(2, '0')} ${h < 12 ? 'AM' : 'PM'}`;
};
const iso = (epochMs, offset) => `${new Date(epochMs + offset * 3_600_000).toISOString().slice(0, 19)}-0${-offset}:00`;

function espiYear() {
  const start = Date.UTC(2026, 0, 1, 7) / 1000;
  const blocks = [];
  for (let d = 0; d < 365; d++) {
    const readings = [];
    for (let k = 0; k < 96; k++)
      readings.push(
        `<IntervalReading>\n<timePeriod>\n<duration>900</duration>\n<start>${start + (d * 96 + k) * 900}</start>\n</timePeriod>\n<value>${Math.round(random() * 900)}</value>\n</IntervalReading>`,
      );
    blocks.push(
      `<entry><link rel="up" href="U/1/UsagePoint/1/MeterReading/1/IntervalBlock"/><content><IntervalBlock xmlns="http://naesb.org/espi"><interval><duration>86400</duration><start>${start + d * 86_400}</start></interval>\n${readings.join('\n')}\n</IntervalBlock></content></entry>`,
    );
  }
  return `<?xml version="1.0"?>\n<feed xmlns="http://www.w3.org/2005/Atom"><entry><link rel="self" href="ReadingType/1"/><content><ReadingType xmlns="http://naesb.org/espi"><flowDirection>1</flowDirection><intervalLength>900</intervalLength><powerOfTenMultiplier>0</powerOfTenMultiplier><uom>72</uom></ReadingType></content></entry>\n${blocks.join('\n')}\n</feed>\n`;
}

if (process.argv[2] !== undefined) {
  minuteYear(process.argv[2]);
  process.exit(0);
}

const quarter = csvYear(15, local);
const own = writeIntervalCsv(parseIntervalData(quarter, { zone }).series);
const xml = espiYear();
const papa = (text) => () => Papa.parse(text).data.length;
const saxes = (text) => () => {
  const parser = new SaxesParser({ xmlns: false });
  let count = 0;
  parser.on('text', () => count++);
  parser.on('opentag', () => count++);
  parser.on('closetag', () => count++);
  parser.write(text).close();
  return count;
};
const read = (text) => () => parseIntervalData(text, { zone }).series;

console.log(`Node ${process.version}, 35,040 rows of 15 minutes, two columns; times are medians of interleaved rounds`);
compare('CSV, local time', quarter, papa(quarter), 'papaparse alone', 2);
compare('CSV, 12-hour clock', csvYear(15, american), papa(csvYear(15, american)), 'papaparse alone', 2);
compare('CSV, ISO with offset', csvYear(15, iso), papa(csvYear(15, iso)), 'papaparse alone', 2);
compare('our own interval CSV', own, papa(own), 'papaparse alone', 2);
compare('ESPI XML', xml, saxes(xml), 'saxes alone', 2);

// A one-minute year in one pass, from a file, in a process of its own: time, and the most memory that it ever took.
const folder = mkdtempSync(join(tmpdir(), 'duskbank-bench-'));
const file = join(folder, 'minute.csv');
writeFileSync(file, csvYear(1, local));
const child = spawnSync(process.execPath, [fileURLToPath(import.meta.url), file], { encoding: 'utf8' });
rmSync(folder, { recursive: true });
process.stdout.write(child.stdout);
process.exitCode = child.status;

function minuteYear(path) {
  const bytes = readFileSync(path);
  const begun = performance.now();
  const result = parseIntervalData(bytes, { zone });
  const took = performance.now() - begun;
  console.log(
    `one-minute year, 525,600 rows (${(bytes.length / 1e6).toFixed(0)} MB) summed to ${result.series.axis.stepMinutes} minutes: ${took.toFixed(0)} ms, most memory of the process ${(process.resourceUsage().maxRSS / 1e3).toFixed(0)} MB (limit 300); checksum ${checksum(result.series)}`,
  );
}

function compare(name, text, peer, peerName, limit) {
  const ours = read(text);
  for (let k = 0; k < 5; k++) {
    ours();
    peer();
  }
  const a = [];
  const b = [];
  for (let k = 0; k < 21; k++) {
    a.push(timed(ours));
    b.push(timed(peer));
  }
  const [mine, other] = [middle(a), middle(b)];
  console.log(
    `${name.padEnd(22)} ${mine.toFixed(1).padStart(6)} ms  ${peerName} ${other.toFixed(1).padStart(6)} ms  ratio ${(mine / other).toFixed(2)} (limit ${limit})  checksum ${checksum(ours())}`,
  );
}

function timed(run) {
  const begun = performance.now();
  run();
  return performance.now() - begun;
}

function middle(values) {
  return values.sort((x, y) => x - y)[values.length >> 1];
}

function checksum(series) {
  const hash = createHash('sha256');
  for (const values of [series.importKwh, series.exportKwh])
    if (values !== undefined) hash.update(new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
  return hash.digest('hex').slice(0, 8);
}

function mulberry32(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
