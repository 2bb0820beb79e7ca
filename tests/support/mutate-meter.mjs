// Interval files, broken on purpose: seeded mutations of the fixtures. Used by the short run in the tests and by
// tests/nightly/meter.nightly.ts.
import { readdirSync, readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { fileURLToPath } from 'node:url';
import { isDeepStrictEqual } from 'node:util';

const require = createRequire(new URL('../../packages/core/package.json', import.meta.url));
const { gzipSync, zipSync } = require('fflate');
const folder = fileURLToPath(new URL('../../fixtures/meter/', import.meta.url));

/** When archives were packed: a seed gives the same bytes whenever it is used. By the clock of the machine, as archives have it. */
export const PACKED = new Date(2026, 0, 1);

/** mulberry32 */
export function randomOf(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** The fixtures, each with the options that it is read with. */
export function loadCorpus() {
  const index = JSON.parse(readFileSync(`${folder}index.json`, 'utf8'));
  const options = new Map(index.map((entry) => [entry.file, entry.options]));
  return readdirSync(`${folder}files`)
    .sort()
    .map((file) => ({
      file,
      bytes: new Uint8Array(readFileSync(`${folder}files/${file}`)),
      options: options.get(file),
    }));
}

const text = (bytes) => Buffer.from(bytes).toString('latin1');
const bytesOf = (string) => new Uint8Array(Buffer.from(string, 'latin1'));
const HOSTILE = [
  '',
  'NaN',
  'Infinity',
  '-Infinity',
  '1e308',
  '-1',
  '9'.repeat(400),
  '0x7f',
  '1/0',
  '=cmd()',
  '"',
  '""',
  '\u0000',
  '2026-13-45 99:99',
  '9999-12-31 23:59',
  '1970-01-01 00:00',
  '-0',
  '1,5',
  '１２',
  '24:00',
  'null',
  '<',
  '&amp;',
  '%s',
  '../../x',
];

/** Line-wise and byte-wise damage. Each takes a file and a random source and gives another file. */
const MUTATIONS = {
  flipBytes(bytes, random) {
    const copy = Uint8Array.from(bytes);
    const times = 1 + Math.floor(random() * 40);
    for (let k = 0; k < times; k++) copy[Math.floor(random() * copy.length)] ^= 1 << Math.floor(random() * 8);
    return copy;
  },
  cut(bytes, random) {
    const from = Math.floor(random() * bytes.length);
    const to = from + Math.floor(random() * (bytes.length - from));
    return random() < 0.5 ? bytes.slice(0, from) : Uint8Array.from([...bytes.slice(0, from), ...bytes.slice(to)]);
  },
  shuffleLines: (bytes, random) =>
    byLines(bytes, (lines) =>
      lines
        .map((line) => [random(), line])
        .sort((a, b) => a[0] - b[0])
        .map((pair) => pair[1]),
    ),
  dropLines: (bytes, random) => byLines(bytes, (lines) => lines.filter(() => random() > 0.2)),
  duplicateLines: (bytes, random) =>
    byLines(bytes, (lines) => lines.flatMap((line) => (random() < 0.3 ? [line, line] : [line]))),
  reverseLines: (bytes) => byLines(bytes, (lines) => lines.reverse()),
  cutLines: (bytes, random) =>
    byLines(bytes, (lines) =>
      lines.map((line) => (random() < 0.1 ? line.slice(0, Math.floor(random() * line.length)) : line)),
    ),
  hostileCells(bytes, random) {
    return byLines(bytes, (lines) =>
      lines.map((line) => {
        if (random() > 0.05) return line;
        const cells = line.split(/([,;<>\t])/);
        cells[Math.floor(random() * cells.length)] = HOSTILE[Math.floor(random() * HOSTILE.length)];
        return cells.join('');
      }),
    );
  },
  swapDelimiter(bytes, random) {
    const from = [',', ';', '\t', '.'][Math.floor(random() * 4)];
    const to = [',', ';', '\t', '|', ' ', '"', '\n', '\r'][Math.floor(random() * 8)];
    return bytesOf(text(bytes).split(from).join(to));
  },
  quotes: (bytes, random) => byLines(bytes, (lines) => lines.map((line) => (random() < 0.02 ? `"${line}` : line))),
  splice(bytes, random, corpus) {
    const other = corpus[Math.floor(random() * corpus.length)].bytes;
    return Uint8Array.from([
      ...bytes.slice(0, Math.floor(random() * bytes.length)),
      ...other.slice(Math.floor(random() * other.length)),
    ]);
  },
  invalidUtf8: (bytes, random) => {
    const copy = Uint8Array.from(bytes);
    for (let k = 0; k < 20; k++)
      copy[Math.floor(random() * copy.length)] = [0xff, 0xc0, 0xfe, 0x80, 0xf8, 0xed][Math.floor(random() * 6)];
    return copy;
  },
  yearJump: (bytes, random) =>
    bytesOf(
      text(bytes).replace(/20(2\d)/g, (all) =>
        random() < 0.01 ? ['1970', '2199', '0001', '9999'][Math.floor(random() * 4)] : all,
      ),
    ),
  carriageReturns: (bytes, random) =>
    bytesOf(text(bytes).replaceAll('\n', () => ['\n', '\r\n', '\r', '\n\n'][Math.floor(random() * 4)])),
  zipped: (bytes) => zipSync({ 'a.csv': bytes }, { level: 1, mtime: PACKED }),
  gzipped: (bytes, random) => {
    const packed = gzipSync(bytes, { level: 1, mtime: PACKED });
    if (random() < 0.5) packed[Math.floor(random() * packed.length)] ^= 0x55;
    return packed;
  },
};

function byLines(bytes, change) {
  return bytesOf(change(text(bytes).split('\n')).join('\n'));
}

/** A file made of nothing but malice; few, for each takes a while. */
const MONSTERS = {
  'ten million columns': () => bytesOf(`start,kWh\n2026-01-01 00:00${',1'.repeat(10_000_000)}\n`),
  'ten million delimiters': () => bytesOf(`${','.repeat(10_000_000)}\n`),
  'a line of ten million characters in quotes': () => bytesOf(`start,kWh\n"${'x'.repeat(10_000_000)}",1\n`),
  'a hundred thousand quotes': () =>
    bytesOf(`start,kWh\n${'"'.repeat(100_001)}\n${'2026-01-01 00:00,"1"\n'.repeat(2000)}`),
  'a million empty lines': () => bytesOf(`start,kWh\n${'\n'.repeat(1_000_000)}`),
  'a million lines without delimiters': () =>
    bytesOf(`start,kWh\n2026-01-01 00:00,1\n2026-01-01 00:15,1\n${'x\n'.repeat(1_000_000)}`),
  'billion laughs': () =>
    bytesOf(
      `<?xml version="1.0"?><!DOCTYPE lolz [<!ENTITY a "lol">${Array.from({ length: 9 }, (_, k) => `<!ENTITY ${'bcdefghij'[k]} "${`&${'abcdefghi'[k]};`.repeat(10)}">`).join('')}]><feed>&j;</feed>`,
    ),
  'an outside entity': () =>
    bytesOf(
      '<?xml version="1.0"?><!DOCTYPE f [<!ENTITY x SYSTEM "file:///etc/passwd">]><feed><entry>&x;</entry></feed>',
    ),
  'XML nested a hundred thousand deep': () =>
    bytesOf(`<feed>${'<entry>'.repeat(100_000)}${'</entry>'.repeat(100_000)}</feed>`),
  'an XML element of ten million characters': () =>
    bytesOf(`<feed><entry><title>${'x'.repeat(10_000_000)}</title></entry></feed>`),
  'an XML tag of a hundred thousand attributes': () =>
    bytesOf(`<feed ${Array.from({ length: 100_000 }, (_, k) => `a${k}="1"`).join(' ')}/>`),
  'a gzip bomb': () => gzipSync(new Uint8Array(120_000_000), { level: 9 }),
  'a zip bomb': () => zipSync({ 'a.csv': new Uint8Array(120_000_000) }, { level: 9 }),
  'a zip of a thousand files': () =>
    zipSync(Object.fromEntries(Array.from({ length: 1000 }, (_, k) => [`${k}.csv`, bytesOf('start,kWh\n')])), {
      level: 0,
    }),
  'a zip in a zip in a zip': () =>
    zipSync({ 'a.zip': zipSync({ 'b.csv': gzipSync(gzipSync(bytesOf('start,kWh\n'))) }) }),
  'dates a century apart': () =>
    bytesOf('start,kWh\n1970-01-01 00:00,1\n1970-01-01 00:01,1\n1970-01-01 00:02,1\n2199-12-31 00:00,1\n'),
  'NEM12 of one endless day': () =>
    bytesOf(`100,NEM12,1,a,b\n200,1,E1,1,E1,N1,1,kWh,5,\n300,20260101${',1'.repeat(90_000)}\n`),
};

/** The monsters, one after the other. */
export function* monsters() {
  for (const [name, make] of Object.entries(MONSTERS))
    yield { name, bytes: make(), options: { zone: 'America/Denver' } };
}

/** The `n`-th mutated file: the same for the same seed and number. */
export function mutated(corpus, seed, n) {
  const random = randomOf(seed + n * 7919);
  const origin = corpus[Math.floor(random() * corpus.length)];
  const names = Object.keys(MUTATIONS);
  let bytes = origin.bytes.length > 60_000 ? origin.bytes.slice(0, 60_000) : origin.bytes;
  const applied = [];
  const times = 1 + Math.floor(random() * 3);
  for (let k = 0; k < times && bytes.length > 0; k++) {
    const name = names[Math.floor(random() * names.length)];
    bytes = MUTATIONS[name](bytes, random, corpus);
    applied.push(name);
  }
  // Now and then the options are wrong for the file, too.
  const options =
    random() < 0.8
      ? origin.options
      : { zone: 'Europe/London', unit: 'kW', intervalEnd: true, usagePoint: 1, columns: { start: 1, import: 2 } };
  return { name: `${origin.file} ${applied.join('+')} #${n}`, bytes, options };
}

/** What is wrong with a result: undefined where nothing is. */
export function wrongWith(result) {
  const { series, findings } = result;
  const told = JSON.stringify(findings) + JSON.stringify(result.layout);
  if (/Invented|Example Street|9988776655/.test(told)) return 'personal data in a finding';
  const unlike = findings.find(({ data }) => !isDeepStrictEqual(JSON.parse(JSON.stringify(data)), data));
  if (unlike !== undefined) return `the data of ${unlike.code} are no plain JSON`;
  if (series === undefined)
    return findings.some((finding) => finding.severity === 'error') ? undefined : 'no series and no error finding';
  let gaps = 0;
  for (const channel of ['importKwh', 'exportKwh', 'loadKwh', 'solarKwh']) {
    const values = series[channel];
    if (values === undefined) continue;
    if (values.length !== series.axis.intervals) return `${channel} is not as long as the axis`;
    for (const value of values) {
      if (Number.isNaN(value)) gaps++;
      else if (!(value >= 0) || value === Number.POSITIVE_INFINITY) return `${channel} holds ${value}`;
    }
  }
  if (gaps > 0 && !findings.some((finding) => finding.code === 'gap')) return 'gaps without a finding';
  return undefined;
}
