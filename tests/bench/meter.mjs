// Reading interval files, beside the general-purpose parser alone on the same text: first the file of the demo home.
import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { seeded } from '../support/invented.mjs';
import { processPeakMb } from './harness/children.mjs';
import { readDemo } from './harness/demo.mjs';

const require = createRequire(new URL('../../packages/core/package.json', import.meta.url));
const Papa = require('papaparse');
const { SaxesParser } = require('saxes');

const ZONE = 'America/Denver';

export function* groups({ core, corePath }) {
  const demo = readDemo('home.csv');
  const { zone } = JSON.parse(readDemo('site.json'));
  yield group(core, 'demo home: its interval file', 'our own CSV, one column', demo, papaparse, { most: 1.3 }, zone);

  const quarter = csvYear(15, local);
  const csv = (name, text, most = 1.3) => group(core, `~ ${name}`, name, text, papaparse, { most });
  yield csv('CSV, local time', quarter);
  yield csv('CSV, 12-hour clock', csvYear(15, american));
  yield csv('CSV, ISO with offset', csvYear(15, iso));
  yield csv('our own CSV', core.writeIntervalCsv(core.parseIntervalData(quarter, { zone: ZONE }).series));
  yield group(core, '~ ESPI XML', 'ESPI XML', espiYear(), saxes, { most: 2 });

  const minutes = csvYear(1, local);
  // As bytes, as a program hands over a file: a text as long is refused.
  yield group(
    core,
    '~ CSV, a year of minutes',
    'CSV, a year of minutes',
    minutes,
    papaparse,
    { most: 1.2 },
    ZONE,
    true,
  );
  yield memory(corePath, minutes);
}

/** A year of minutes in one pass, from a file, in a process of its own. */
function memory(corePath, text) {
  const script = (path) =>
    `import('${pathToFileURL(corePath).href}').then((core) => core.parseIntervalData(require('node:fs').readFileSync('${path}'), { zone: '${ZONE}' }))`;
  return {
    title: '~ a year of minutes read in a process of its own, the most memory it ever took',
    lines: [
      { name: 'node -e 0', fixed: true, unit: 'MB', take: () => processPeakMb(['-e', '0']) },
      {
        name: 'CSV, minutes, memory',
        made: true,
        unit: 'MB',
        beside: 'node -e 0',
        aim: { mostMb: 120 },
        take() {
          const folder = mkdtempSync(join(tmpdir(), 'duskbank-bench-'));
          try {
            const file = join(folder, 'minute.csv');
            writeFileSync(file, text);
            return processPeakMb(['-e', script(file)]);
          } finally {
            rmSync(folder, { recursive: true });
          }
        },
      },
    ],
  };
}

function papaparse(text) {
  return Papa.parse(text).data.length;
}

function saxes(text) {
  const parser = new SaxesParser({ xmlns: false });
  let count = 0;
  parser.on('text', () => count++);
  parser.on('opentag', () => count++);
  parser.on('closetag', () => count++);
  parser.write(text).close();
  return count;
}

function group(core, title, name, text, peer, aim, zone = ZONE, bytes = false) {
  const made = title.startsWith('~');
  const source = bytes ? new TextEncoder().encode(text) : text;
  return {
    title,
    lines: [
      { name: peer.name, fixed: true, made, run: () => peer(text), sum: () => peer(text) },
      {
        name,
        made,
        beside: peer.name,
        aim,
        limit: { letters: text.length },
        run: () => core.parseIntervalData(source, { zone }),
        sum: () => digest(core.parseIntervalData(source, { zone }).series),
      },
    ],
  };
}

/** A number of all that was read, to the bit. */
function digest({ importKwh, exportKwh }) {
  const hash = createHash('sha256');
  for (const values of [importKwh, exportKwh])
    if (values !== undefined) hash.update(new Uint8Array(values.buffer, values.byteOffset, values.byteLength));
  return hash.digest().readUIntBE(0, 6);
}

/** Local labels of a zone, its clock changes left to the data: the second pass of the repeated hour is unmarked. */
function csvYear(stepMinutes, label) {
  const random = seeded(11);
  const start = Date.UTC(2026, 0, 1, 7);
  const n = (365 * 1440) / stepMinutes;
  const rows = ['Start,Import (kWh),Export (kWh)'];
  for (let i = 0; i < n; i++) {
    const epochMs = start + i * stepMinutes * 60_000;
    const offset = epochMs >= Date.UTC(2026, 2, 8, 9) && epochMs < Date.UTC(2026, 10, 1, 8) ? -6 : -7;
    // kWh of a home, however long a step is: more is refused.
    const kwh = (most) => ((random() * most * stepMinutes) / 15).toFixed(stepMinutes < 15 ? 4 : 3);
    rows.push(`${label(epochMs, offset)},${kwh(0.9)},${kwh(0.4)}`);
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
  const random = seeded(11);
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
