import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync, zipSync } from 'fflate';
import { beforeAll, describe, expect, test } from 'vitest';
import { run as bill } from '../../packages/cli/src/commands/bill.ts';
import { run as check } from '../../packages/cli/src/commands/check.ts';
import { run as compare } from '../../packages/cli/src/commands/compare.ts';
import { run as inspect } from '../../packages/cli/src/commands/inspect.ts';
import { run as tariff } from '../../packages/cli/src/commands/tariff.ts';
import { reportFailure } from '../../packages/cli/src/io/fail.ts';
import { duskbank, folderWith } from './support.ts';

/**
 * What stands around the readings in the files that utilities hand out is a person's: names, streets, telephones, numbers of
 * accounts and meters. Messages are pasted into forums and tickets, so none of it may be printed.
 */
const OWNER = 'Odalys Quillfeather';
const STREET = '14 Mossbank Lane';
const ACCOUNT = '7788990011';
const METER = 'QZ61020099';
const PHONE = '555-010-4477';
const MAIL = 'odalys@example.org';
const LINE = `${OWNER}, ${STREET}, ${ACCOUNT}`;
const PRIVATE = /odalys|quillfeather|mossbank|7788|9900|qz61|555-010|4477|example\.org/i;

/** Two days of quarter hours; `row` may change a row, `i` counts from 0. */
function rows(row: (label: string, i: number) => string = (label) => `${label},0.200`, days = 2): string[] {
  return Array.from({ length: days * 96 }, (_, i) =>
    row(new Date(Date.UTC(2025, 0, 13) + i * 900_000).toISOString().slice(0, 16).replace('T', ' '), i),
  );
}
const text = (...lines: readonly (string | readonly string[])[]) => `${lines.flat().join('\n')}\n`;
const at = (n: number, cell: string) => (label: string, i: number) => `${label},${i === n ? cell : '0.200'}`;

const espi = (more: string, reading = '') => `<?xml version="1.0"?>
<feed xmlns="http://www.w3.org/2005/Atom"><id>${METER}</id><title>${LINE}</title>
<entry><link rel="self" href="/User/${ACCOUNT}/UsagePoint/${METER}"/><title>${STREET}</title>
<content><UsagePoint><ServiceCategory><kind>0</kind></ServiceCategory></UsagePoint></content></entry>
<entry><link rel="self" href="/User/${ACCOUNT}/UsagePoint/${METER}/MeterReading/1"/><title>Usage of ${OWNER}</title>
<content><MeterReading/></content></entry>
<entry><title>${OWNER}</title><content><ReadingType><uom>72</uom><flowDirection>1</flowDirection></ReadingType></content></entry>
<entry><content><Customer><name>${OWNER}</name><streetDetail>${STREET}</streetDetail><accountId>${ACCOUNT}</accountId>
<phone>${PHONE}</phone></Customer></content></entry>${more}
<entry><link rel="up" href="/User/${ACCOUNT}/UsagePoint/${METER}/MeterReading/1/IntervalBlock"/><content><IntervalBlock>
<interval><start>1736751600</start><duration>86400</duration></interval>${reading}
${Array.from({ length: 96 }, (_, i) => `<IntervalReading><timePeriod><start>${1736751600 + i * 900}</start><duration>900</duration></timePeriod><value>200</value></IntervalReading>`).join('\n')}
</IntervalBlock></content></entry></feed>`;

const nemDay = (date: string, cells: (k: number) => string = () => '0.2', quality = 'A') =>
  `300,${date},${Array.from({ length: 48 }, (_, k) => cells(k)).join(',')},${quality},,,20250120000000,`;
const nem = (...days: string[]) =>
  text(
    `100,NEM12,202501200000,${OWNER},${STREET}`,
    `200,${METER},E1B1,1,E1,N1,${ACCOUNT},kWh,30,`,
    days,
    `500,O,${ACCOUNT},20250115000000,${OWNER}`,
    '900',
  );

const wideHead = `Account,Date,${Array.from({ length: 24 }, (_, h) => `${h}:00`).join(',')},${OWNER}`;
const wideDay = (date: string, cell = '0.5') =>
  `${ACCOUNT},${date},${[cell, ...Array(23).fill('0.5')].join(',')},${STREET}`;

/** Files of every reader, each with such lines somewhere: sound ones, faulty ones, ones that are no meter files at all. */
const METER_FILES: Readonly<Record<string, string | Uint8Array>> = {
  'no table.csv': text(LINE, `${OWNER},${ACCOUNT}`),
  'one line.csv': LINE,
  'preamble.csv': text(LINE, `Account,${ACCOUNT}`, `2025-01-13,${STREET}`, '', 'start,load kWh', rows()),
  'header.csv': text(
    `start,${OWNER} load kWh,${ACCOUNT}`,
    rows((label) => `${label},0.2,7`),
  ),
  'header unclear.csv': text(
    `start,${OWNER},${METER}`,
    rows((label) => `${label},0.2,0.3`),
  ),
  'header alone.csv': text(`start,load kWh ${METER}`),
  'two of a kind.csv': text(
    `start,usage kWh ${OWNER},usage kWh ${METER}`,
    rows((label) => `${label},0.2,0.3`),
  ),
  'ignored column.csv': text(
    `start,load kWh,usage ${OWNER}`,
    rows((label) => `${label},0.2,0.3`),
  ),
  'cell name.csv': text('start,load kWh', rows(at(50, OWNER))),
  'cell street.csv': text('start,load kWh', rows(at(50, STREET))),
  'cell account.csv': text('start,load kWh', rows(at(50, '77-8899-0011'))),
  'cell phone.csv': text('start,load kWh', rows(at(50, PHONE))),
  'cell mail.csv': text('start,load kWh', rows(at(50, MAIL))),
  'cell shifted.csv': text('start,load kWh,note', rows(at(50, `${OWNER},0.2`))),
  'negative.csv': text(
    `start,load kWh,${OWNER}`,
    rows((label, i) => `${label},${i === 9 ? '-0.2' : '0.2'},${STREET}`),
  ),
  'date street.csv': text(
    'start,load kWh',
    rows((label, i) => (i === 50 ? `${STREET},0.2` : `${label},0.2`)),
  ),
  'date account.csv': text(
    'start,load kWh',
    rows((label, i) => (i === 50 ? `77-8899-0011,0.2` : `${label},0.2`)),
  ),
  'date and name.csv': text(
    'start,load kWh',
    rows((label, i) => `${label}${i === 50 ? ` ${OWNER}` : ''},0.2`),
  ),
  'no such date.csv': text(
    'start,load kWh,note',
    rows((label, i) => `${i === 50 ? '2025-02-30 12:30' : label},0.2,${LINE}`),
  ),
  'time name.csv': text(
    'date,time,load kWh',
    rows((label, i) => `${label.slice(0, 10)},${i === 50 ? OWNER : label.slice(11)},0.2`),
  ),
  'notes.csv': text(
    'start,load kWh,notes',
    rows((label) => `${label},0.2,"read by ${OWNER}, ${STREET}"`),
  ),
  'quality.csv': text(
    'start,load kWh,quality',
    rows((label) => `${label},0.2,estimated for ${OWNER}`),
  ),
  'totals.csv': text('start,load kWh', rows(), `Total of ${OWNER},38.4`, `${ACCOUNT},${STREET}`),
  'footer.csv': text('start,load kWh', rows(), LINE, `${OWNER} 2025-01-13,${METER}`, `2025-01-13 ${LINE}`),
  'truncated.csv': text(
    'start,load kWh,note',
    rows((label) => `${label},0.2,${OWNER}`),
  ).slice(0, -40),
  'cut in the note.csv': `${text(
    'start,note,load kWh',
    rows((label) => `${label},${OWNER},0.2`),
  )}2025-01-15 00:00,${OWNER}`,
  'banner.csv': text(`Energy delivered to ${OWNER}`, 'start,kWh', rows(), `Energy received from ${STREET}`),
  'meters.csv': text(
    'start,meter number,kWh',
    rows((label, i) => `${label},${i % 2 === 0 ? METER : ACCOUNT},0.2`),
  ),
  'types.csv': text(
    'start,type,kWh',
    rows((label, i) => `${label},${i % 2 === 0 ? OWNER : STREET},0.2`),
  ),
  'units.csv': text(
    'start,unit,usage',
    rows((label) => `${label},${METER},0.2`),
  ),
  'mixed steps.csv': text(
    'start,load kWh,note',
    rows((label) => `${label},0.2,${LINE}`),
    [
      ...Array.from(
        { length: 96 },
        (_, i) => `${new Date(Date.UTC(2025, 0, 15) + i * 1_800_000).toISOString().slice(0, 16)},0.4,${LINE}`,
      ),
    ],
  ),
  'years apart.csv': text('start,load kWh', rows(), `2095-01-16 23:45,0.2,${LINE}`),
  'duplicates.csv': text('start,load kWh', rows(), `2025-01-13 12:00,0.9,${LINE}`),
  'daily.csv': text('date,load kWh', `2025-01-13,7,${LINE}`, `2025-01-14,8,${LINE}`, `2025-01-15,9,${LINE}`),
  'tabs.txt': text(
    LINE,
    'start\tload kWh',
    rows((label, i) => `${label}\t${i === 7 ? OWNER : '0.2'}`),
  ),
  'semicolons.csv': text(
    LINE,
    'start;load kWh',
    rows((label, i) => `${label};${i === 7 ? STREET : '0,2'}`),
  ),
  'quotes.csv': text(
    `"${LINE}"`,
    '"start","load kWh"',
    rows((label, i) => `"${label}","${i === 7 ? LINE : '0.2'}"`),
  ),
  'quotes open.csv': text(
    'start,load kWh,note',
    rows((label, i) => `${label},0.2,${i === 7 ? `"${LINE}` : ''}`),
  ),
  'latin.csv': Uint8Array.from([...Buffer.from(text(LINE, 'start,load kWh', rows(at(5, OWNER)))), 0xe9, 10]),
  'utf16.csv': Buffer.from(`\ufeff${text(LINE, 'start,load kWh', rows(at(5, OWNER)))}`, 'utf16le'),
  'long line.csv': text(`start,load kWh`, `2025-01-13 00:00,${LINE.repeat(8000)}`),
  'wide.csv': text(LINE, wideHead, wideDay('2025-01-13'), wideDay('2025-01-14'), wideDay('2025-01-15')),
  'wide cell.csv': text(wideHead, wideDay('2025-01-13', OWNER), wideDay('2025-01-14'), wideDay('2025-01-15')),
  'wide date.csv': text(wideHead, wideDay('2025-01-13'), wideDay('2025-02-30'), wideDay(STREET), wideDay('2025-01-14')),
  'wide total.csv': text(
    wideHead,
    wideDay('2025-01-13'),
    wideDay('2025-01-14'),
    `Total,${LINE}`,
    `${OWNER},x,y,${METER}`,
  ),
  'espi.xml': espi(''),
  'espi tag.xml': espi(`<${METER}></${OWNER.split(' ')[1]}>`),
  'espi entity.xml': espi('&Quillfeather;'),
  'espi prefix.xml': espi('<Odalys:Quillfeather Odalys:a="1" Odalys:a="2"/>'),
  'espi doctype.xml': `<!DOCTYPE feed [<!ENTITY q "${LINE}">]>${espi('')}`,
  'espi cut.xml': espi('').slice(0, 900),
  'espi values.xml': espi(
    '',
    `<IntervalReading><timePeriod><start>${OWNER}</start></timePeriod><value>${STREET}</value></IntervalReading>`,
  ),
  'no espi.xml': `<letter><from>${LINE}</from></letter>`,
  'page.html': `<html><body>${LINE}</body></html>`,
  'nem12.csv': nem(nemDay('20250113'), nemDay('20250114')),
  'nem12 cell.csv': nem(
    nemDay('20250113', (k) => (k === 3 ? OWNER : '0.2')),
    nemDay('20250114'),
  ),
  'nem12 short.csv': nem(`300,20250113,${LINE}`, nemDay(ACCOUNT), nemDay('20250114')),
  'nem12 marks.csv': nem(nemDay('20250113'), `400,${ACCOUNT},9,${OWNER},${STREET}`, nemDay('20250114')),
  'own cell.csv': text(
    '# format: duskbank.interval/1',
    `# ${LINE}`,
    '# zone: UTC',
    '# step_minutes: 15',
    'start,load_kwh',
    `2025-01-13T00:00+00:00,${OWNER}`,
  ),
  'own row.csv': text(
    '# format: duskbank.interval/1',
    '# zone: UTC',
    '# step_minutes: 15',
    'start,load_kwh',
    `${STREET},1`,
  ),
  'own header.csv': text(
    '# format: duskbank.interval/1',
    '# zone: UTC',
    '# step_minutes: 15',
    `start,${OWNER}`,
    '2025-01-13T00:00+00:00,1',
  ),
  'own zone.csv': text(
    '# format: duskbank.interval/1',
    `# zone: ${METER}`,
    `# step_minutes: ${ACCOUNT}`,
    'start,load_kwh',
  ),
  'own version.csv': text(`# format: duskbank.interval/${METER}`, 'start,load_kwh'),
  'packed.csv.gz': gzipSync(Buffer.from(text(LINE, 'start,load kWh', rows(at(5, OWNER))))),
  'packed.zip': zipSync({
    [`${OWNER} ${ACCOUNT}.csv`]: Buffer.from(text(LINE, 'start,load kWh', rows(at(5, STREET)))),
    [`${METER}.csv`]: Buffer.from(text(LINE)),
  }),
  'damaged.zip': zipSync({ [`${OWNER}.csv`]: Buffer.from(text(LINE, rows())) }).slice(0, 200),
};

const SITE = {
  format: 'duskbank.site/1',
  name: 'A home',
  zone: 'America/Denver',
  meter: { files: ['home.csv'] },
  tariff: 'tariff.json',
  plant: { battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.88 } },
};
const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'A tariff',
  currency: 'USD',
  energy: [{ name: 'Energy', pricePerKwh: 0.2 }],
};

/** Site and tariff files that are damaged so that a pasted line lands where the reader trips over it. */
const DOCUMENTS: Readonly<Record<string, string>> = {
  'plain text': text(`Dear ${OWNER},`, LINE),
  'one line': LINE,
  'a line between': text('format: FORMAT', LINE, 'name: A'),
  'a colon too many': text('format: FORMAT', `name: ${OWNER}: ${STREET}: ${ACCOUNT}`),
  'an indent': text('format: FORMAT', `  ${OWNER}: ${STREET}`, `   ${ACCOUNT}: 1`),
  'a quote': text('format: FORMAT', `name: "${LINE}`, 'zone: UTC'),
  'text after a quote': text('format: FORMAT', `name: "A" ${LINE}`),
  'an escape': text('format: FORMAT', `name: "\\q${LINE}"`),
  'a reserved sign': text('format: FORMAT', `name: @${OWNER} ${ACCOUNT}`),
  'an alias of nothing': text('format: FORMAT', `name: *${METER}-7788990011`),
  'an alias of itself': text('format: FORMAT', `name: &${METER}-7788990011 [*${METER}-7788990011]`),
  'a tag': text('format: FORMAT', `name: !${METER} x`, `zone: !<${OWNER}> y`),
  'a directive': text(`%${METER} ${LINE}`, '---', 'format: FORMAT'),
  'a block head': text('format: FORMAT', `name: | ${LINE}`, '  x'),
  'several documents': text('format: FORMAT', '---', LINE, '---', `${OWNER}: 1`),
  brackets: text(`{"format": "FORMAT", "name": [${OWNER}, ${STREET}`),
  'JSON with a letter before it': text(LINE, '{"format": "FORMAT"}'),
  'JSON with a letter in it': text('{"format": "FORMAT",', LINE, '"name": "A"}'),
  'a pasted key': text('format: FORMAT', `${LINE}: 1`),
  'a pasted key twice': text('format: FORMAT', `"${LINE}": 1`, `"${LINE}": 1`),
  'a pasted key below': text('format: FORMAT', 'meter:', `  "${LINE}": { files: ["${LINE}"] }`),
  'keys of lists': text('format: FORMAT', `? [${OWNER}, ${ACCOUNT}]`, ': 1', `? { ${STREET}: ${ACCOUNT} }`, ': 2'),
  'pasted values': text(
    'format: FORMAT',
    `zone: ${LINE}`,
    `currency: ${LINE}`,
    `meter: ${LINE}`,
    `windows: ${LINE}`,
    `energy: [ { name: 1, pricePerKwh: "${LINE}" } ]`,
    `plant: { battery: "${LINE}", floor: { "${LINE}": "${LINE}" } }`,
    `service: [${LINE}]`,
  ),
  'another format': text(`format: "${LINE}"`),
  'another version': text(`format: FORMAT-${ACCOUNT}`),
};

const PRICES: Readonly<Record<string, string>> = {
  'a letter': text(LINE, LINE, LINE),
  'a stamp': text(`start,price,${OWNER}`, '2025-01-01 00:00,0.2,x', `${LINE}`, '2025-01-01 02:00,0.2,x'),
  'a price': text('start,price', '2025-01-01 00:00,0.2', `2025-01-01 01:00,${OWNER}`, '2025-01-01 02:00,0.2'),
  'an account': text('start,price', '2025-01-01 00:00,77-8899-0011', '2025-01-01 01:00,1', '2025-01-01 02:00,0.2'),
  'a step': text(
    'start,price,x',
    `2025-01-01 00:00,1,${LINE}`,
    `2025-01-01 01:00,1,${LINE}`,
    `2025-01-01 09:00,1,${LINE}`,
  ),
};

const BILLS: Readonly<Record<string, string>> = {
  'a letter': text(LINE, `${OWNER},${ACCOUNT}`),
  'a header': text(`start,end,${OWNER},${METER}`, '2025-01-01,2025-01-31,12,3'),
  cells: text('start,end,total,kWh', `${OWNER},${STREET},${PHONE},${MAIL}`, `77-8899-0011,${METER},${OWNER},${STREET}`),
  'an amount': text('start;end;total;kWh', `2025-01-01;2025-01-31;USD 1,234;${OWNER}`, '2025-02-01;2025-02-28;1.2;1'),
  'the end first': text('start,end,total', `2025-03-01,2025-02-01,${LINE}`),
};

/** Runs a command in this process; what it prints on both streams, and its exit code. */
async function printed(step: () => void | Promise<void>): Promise<{ text: string; status: number }> {
  const writes = [process.stdout.write, process.stderr.write] as const;
  const pieces: string[] = [];
  const take = ((piece: string) => pieces.push(piece) > 0) as typeof process.stdout.write;
  const before = process.exitCode;
  process.stdout.write = take;
  process.stderr.write = take;
  let status = 0;
  try {
    await step();
    status = Number(process.exitCode ?? 0);
  } catch (error) {
    status = reportFailure(error);
  } finally {
    [process.stdout.write, process.stderr.write] = writes;
    process.exitCode = before;
  }
  return { text: pieces.join(''), status };
}

async function keepsQuiet(what: string, step: () => void | Promise<void>): Promise<number> {
  const { text: out, status } = await printed(step);
  // Four digits of an account may stand in a hash by chance.
  expect(out.replace(/"sha256": "[0-9a-f]{64}"/g, '"sha256": "…"'), what).not.toMatch(PRIVATE);
  expect(out.length, what).toBeGreaterThan(0);
  // Our own failures print what they fell over.
  expect(status, `${what}\n${out}`).not.toBe(1);
  return status;
}

describe('what is private in a file is printed by nothing', () => {
  let folder = '';
  beforeAll(() => {
    folder = folderWith({ 'tariff.json': JSON.stringify(TARIFF) });
  });

  test.each(Object.keys(METER_FILES))('interval file: %s', async (name) => {
    const file = join(folder, name);
    const site = join(folder, 'site.json');
    writeFileSync(file, METER_FILES[name]!);
    writeFileSync(site, JSON.stringify({ ...SITE, meter: { files: [name] } }));
    for (const json of [false, true]) {
      await keepsQuiet(`check ${json}`, () => check(file, { json, zone: 'America/Denver' }));
      await keepsQuiet(`check without a zone ${json}`, () => check(file, { json }));
      await keepsQuiet(`check of the site ${json}`, () => check(site, { json }));
      await keepsQuiet(`inspect ${json}`, () => inspect([file], { json, zone: 'America/Denver' }));
      await keepsQuiet(`inspect, told ${json}`, () =>
        inspect([file], { json, zone: 'America/Denver', unit: 'kWh', columns: ['start=1', 'load=2'] }),
      );
      await keepsQuiet(`inspect, told of none ${json}`, () =>
        inspect([file], { json, zone: 'America/Denver', columns: ['start=nothing', 'load=none'] }),
      );
      await keepsQuiet(`compare ${json}`, () => compare(site, { json, strategy: ['none'] }));
      await keepsQuiet(`bill ${json}`, () => bill(site, { json }));
    }
  });

  test.each(Object.keys(DOCUMENTS))('site and tariff file: %s', async (name) => {
    for (const [extension, json] of [
      ['yaml', false],
      ['json', true],
    ] as const) {
      const site = join(folder, `bad-site.${extension}`);
      const rates = join(folder, `bad-tariff.${extension}`);
      const good = join(folder, 'site.json');
      writeFileSync(site, DOCUMENTS[name]!.replace('FORMAT', 'duskbank.site/1'));
      writeFileSync(rates, DOCUMENTS[name]!.replace('FORMAT', 'duskbank.tariff/1'));
      writeFileSync(join(folder, 'home.csv'), text('start,load kWh', rows()));
      writeFileSync(good, JSON.stringify({ ...SITE, tariff: `bad-tariff.${extension}` }));
      for (const status of [
        await keepsQuiet('check of the site', () => check(site, { json })),
        await keepsQuiet('check of the tariff', () => check(rates, { json })),
        await keepsQuiet('compare', () => compare(site, { json })),
        await keepsQuiet('compare with the tariff', () => compare(good, { json })),
        await keepsQuiet('bill', () => bill(site, { json })),
        await keepsQuiet('bill with the tariff', () => bill(good, { json })),
        await keepsQuiet('tariff', () => tariff(rates, { json, at: '2025-01-15' })),
      ])
        expect(status).toBe(2);
    }
  });

  test.each(Object.keys(PRICES))('price file: %s', async (name) => {
    writeFileSync(join(folder, 'prices.csv'), PRICES[name]!);
    writeFileSync(join(folder, 'home.csv'), text('start,load kWh', rows()));
    writeFileSync(
      join(folder, 'tariff.json'),
      JSON.stringify({ ...TARIFF, energy: [{ name: 'Market', series: { file: 'prices.csv' } }] }),
    );
    const site = join(folder, 'site.json');
    writeFileSync(site, JSON.stringify(SITE));
    for (const json of [false, true]) {
      expect(await keepsQuiet('compare', () => compare(site, { json }))).toBe(2);
      expect(await keepsQuiet('bill', () => bill(site, { json }))).toBe(2);
      expect(await keepsQuiet('check', () => check(site, { json }))).toBe(2);
    }
    writeFileSync(join(folder, 'tariff.json'), JSON.stringify(TARIFF));
  });

  test.each(Object.keys(BILLS))('file of bills: %s', async (name) => {
    writeFileSync(join(folder, 'bills.csv'), BILLS[name]!);
    writeFileSync(join(folder, 'home.csv'), text('start,load kWh', rows()));
    const site = join(folder, 'site.json');
    writeFileSync(site, JSON.stringify(SITE));
    for (const json of [false, true])
      expect(await keepsQuiet('bill', () => bill(site, { json, actual: join(folder, 'bills.csv') }))).toBe(2);
  });

  test('the program itself, warnings of Node and of the parser on stderr included', () => {
    const home = folderWith({
      'letter.csv': text(LINE, 'start,load kWh', rows(at(50, OWNER))),
      'site.yaml': DOCUMENTS['keys of lists']!.replace('FORMAT', 'duskbank.site/1'),
      'line.yaml': DOCUMENTS['a line between']!,
    });
    for (const args of [
      ['check', 'letter.csv', '--zone', 'UTC'],
      ['check', 'site.yaml'],
      ['compare', 'site.yaml', '--json'],
      ['check', 'line.yaml'],
      ['tariff', 'line.yaml'],
    ]) {
      const run = duskbank(args, home);
      expect(run.status, args.join(' ')).toBe(2);
      expect(run.stdout + run.stderr, args.join(' ')).not.toMatch(PRIVATE);
    }
  });
});

describe('what helps to mend a file is still told', () => {
  const told = async (name: string, content: string) => {
    const file = join(folderWith({ [name]: content }), name);
    return (await printed(() => check(file, { zone: 'America/Denver' }))).text;
  };

  test('a faulty cell is quoted where it reads like a date or a number, with its line', async () => {
    expect(await told('a.csv', text('start,load kWh', rows(at(50, 'ERR'))))).toMatch(
      /a\.csv line 52: received "ERR": column 2 "load kWh" holds text/,
    );
    expect(
      await told(
        'b.csv',
        text(
          'start,load kWh',
          rows((label, i) => `${i === 50 ? '2025-02-30 12:30' : label},0.2`),
        ),
      ),
    ).toMatch(/b\.csv line 52: received "2025-02-30": rows whose date or time can’t be read/);
    expect(
      await told(
        'c.csv',
        text(
          'date,time,load kWh',
          rows((l, i) => `${l.slice(0, 10)},${i === 50 ? '25:75' : l.slice(11)},0.2`),
        ),
      ),
    ).toMatch(/c\.csv line 52: received "2025-01-13 25:75": rows whose date or time/);
  });

  test('of several, the first that may be quoted is, and the line is its own', async () => {
    const two = rows((label, i) => `${label},${i === 50 ? OWNER : i === 60 ? '1.2.3' : '0.2'}`);
    const out = await told('d.csv', text('start,load kWh', two));
    expect(out).toMatch(/d\.csv line 62: received "1\.2\.3": .* \(2 in all; here is one\)/);
    expect(out).not.toMatch(PRIVATE);
  });

  test('one that may not be is told by line and column alone', async () => {
    expect(await told('e.csv', text('start,load kWh', rows(at(50, OWNER))))).toMatch(
      /e\.csv line 52: received column 2 "load kWh" holds text where a number is expected/,
    );
  });

  test('a row that begins with a date still stops a study where the rest of it can’t be read', async () => {
    const file = text(
      'start,load kWh',
      rows((label, i) => `${label}${i === 50 ? ` ${OWNER}` : ''},0.2`),
    );
    const folder = folderWith({
      'home.csv': file,
      'site.json': JSON.stringify(SITE),
      'tariff.json': JSON.stringify(TARIFF),
    });
    const run = await printed(() => compare(join(folder, 'site.json'), {}));
    expect(run.status).toBe(2);
    expect(run.text).toMatch(/home\.csv line 52: received "2025-01-13…": rows whose date or time can’t be read/);
  });
});
