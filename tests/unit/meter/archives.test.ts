// gzip and zip files as they come, as other tools write them, and as they come to harm: an archive is read whole and
// unchanged, or it is refused and says why.
import { readFileSync } from 'node:fs';
import { gzipSync } from 'node:zlib';
import { parseIntervalData } from '@duskbank/core/meter';
import fc from 'fast-check';
import { strToU8, Zip, ZipDeflate, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { Allowance, ArchiveFault } from '../../../packages/core/src/meter/archive/unpacked.ts';
import * as tools from '../../support/archives.ts';
import { seeded } from '../../support/homes-plain.ts';

const { CSV } = tools;
const fixture = (name: string) =>
  new Uint8Array(readFileSync(new URL(`../../../fixtures/meter/files/${name}`, import.meta.url)));
const read = (bytes: Uint8Array) => parseIntervalData(bytes, { zone: 'America/Denver' });
const errorsOf = (bytes: Uint8Array) =>
  read(bytes)
    .findings.filter((finding) => finding.severity === 'error')
    .map(({ code, data }) => ({ code, ...data }));
const codesOf = (bytes: Uint8Array) => read(bytes).findings.map((finding) => finding.code);
const joined = (...parts: Uint8Array[]) => Uint8Array.from(parts.flatMap((part) => [...part]));
const PLAIN = read(strToU8(CSV)).series!;

/** The first and the second day as files of their own. */
const [DAY_1, DAY_2] = (() => {
  const lines = CSV.trimEnd().split('\n');
  const part = (from: number, to: number) => strToU8(`${[lines[0], ...lines.slice(from, to)].join('\n')}\n`);
  return [part(1, 25), part(25, 49)];
})();

const GZIP = new Uint8Array(gzipSync(CSV));
/** A gzip file of two members, cut in the middle of a line: one text. */
const GZIP_OF_TWO = joined(new Uint8Array(gzipSync(CSV.slice(0, 300))), new Uint8Array(gzipSync(CSV.slice(300))));
const ZIP_OF_TWO = zipSync(
  { 'a.csv': DAY_1!, 'picture.png': strToU8('no picture'), 'b.csv': DAY_2! },
  { mtime: '2026-01-20T00:00:00Z' },
);

/** A zip as a writer that can't go back makes it: descriptors behind the data. */
function streamedZip(files: Record<string, Uint8Array>): Uint8Array {
  const chunks: Uint8Array[] = [];
  const zip = new Zip((_error, chunk) => chunks.push(chunk));
  for (const [name, content] of Object.entries(files)) {
    const member = new ZipDeflate(name);
    member.mtime = '2026-01-20T00:00:00Z';
    zip.add(member);
    member.push(content, true);
  }
  zip.end();
  return joined(...chunks);
}

describe('archives of other tools are read as the file in them', () => {
  const { infoZipFromPipe, pythonToPipe, pythonToPipe64, pythonZip64, javaJar } = tools;
  test.each(
    Object.entries({
      infoZipFromPipe,
      pythonToPipe,
      pythonToPipe64,
      pythonZip64,
      javaJar,
      gzip: GZIP,
      gzipOfTwo: GZIP_OF_TWO,
      zipOfTwo: ZIP_OF_TWO,
      streamed: streamedZip({ 'a.csv': DAY_1!, 'b.csv': DAY_2! }),
      stored: zipSync({ 'a.csv': strToU8(CSV) }, { level: 0 }),
    }),
  )('%s', (_name, bytes) => {
    expect(read(bytes).series).toEqual(PLAIN);
  });
});

/** Flips a bit; the archive must then be refused, or read as before. Returns whether it was refused. */
function refusesOrAgrees(bytes: Uint8Array, bit: number, plain: unknown): boolean {
  const flipped = bytes.slice();
  flipped[bit >> 3]! ^= 1 << (bit & 7);
  const { series, findings } = read(flipped);
  if (series === undefined) {
    expect(
      findings.some((finding) => finding.severity === 'error'),
      `bit ${bit}`,
    ).toBe(true);
    return true;
  }
  expect(series, `bit ${bit} of byte ${bit >> 3}`).toEqual(plain);
  return false;
}

describe('one flipped bit', () => {
  test.each(['15-inside.csv.gz', '15-inside.zip'])('of 400 drawn bits of %s none changes the data', (name) => {
    const bytes = fixture(name);
    const plain = read(bytes).series;
    const random = seeded(20_260_120);
    let refused = 0;
    for (let k = 0; k < 400; k++) if (refusesOrAgrees(bytes, Math.floor(random() * bytes.length * 8), plain)) refused++;
    // Of all 11,552 and 15,688 bits 57 and 723 are harmless: time stamps, names of systems, attributes.
    expect(refused).toBeGreaterThan(350);
    expect(refused).toBeLessThan(400);
  });

  test.each(
    Object.entries({
      gzip: GZIP,
      gzipOfTwo: GZIP_OF_TWO,
      zipOfTwo: ZIP_OF_TWO,
      descriptor: tools.pythonToPipe,
      descriptor64: tools.pythonToPipe64,
      zip64: tools.infoZipFromPipe,
    }),
  )('of every bit of a small file none changes the data: %s', (_name, bytes) => {
    let refused = 0;
    for (let bit = 0; bit < bytes.length * 8; bit++) if (refusesOrAgrees(bytes, bit, PLAIN)) refused++;
    expect(refused).toBeGreaterThan(bytes.length * 8 * 0.7);
  });
});

describe('an archive that is cut', () => {
  test.each(
    Object.entries({
      gzip: GZIP,
      zipOfTwo: ZIP_OF_TWO,
      streamed: streamedZip({ 'a.csv': DAY_1!, 'b.csv': DAY_2! }),
      zip64: tools.infoZipFromPipe,
    }),
  )('is refused at any length: %s', (_name, bytes) => {
    for (let length = 0; length < bytes.length; length++) {
      const cut = read(bytes.subarray(0, length));
      expect(cut.series, `${length} of ${bytes.length} bytes`).toBeUndefined();
      // Shorter ones are not known as archives.
      if (length >= 4) expect(cut.findings.map((finding) => finding.code)).toEqual(['archive-damaged']);
    }
  });

  test('a zip of two halves of the data, cut where the second begins, is no half of the data', () => {
    const bytes = fixture('15-inside.zip');
    const second = Buffer.from(bytes).indexOf('PK\u0003\u0004', Buffer.from(bytes).indexOf('data/a.csv'));
    expect(errorsOf(bytes.subarray(0, second))).toEqual([{ code: 'archive-damaged', why: 'no-list-of-members' }]);
  });

  test('a gzip of two members is refused wherever it is cut but between the two', () => {
    const first = new Uint8Array(gzipSync(CSV.slice(0, 300))).length;
    for (let length = 4; length < GZIP_OF_TWO.length; length++)
      if (length !== first) expect(read(GZIP_OF_TWO.subarray(0, length)).series, `${length} bytes`).toBeUndefined();
  });
});

describe('what doesn’t belong to an archive is told', () => {
  test.each([1, 3, 4, 40, 20_000])('%i bytes behind the end', (count) => {
    for (const tail of [new Uint8Array(count), new Uint8Array(count).fill(65)])
      for (const bytes of [GZIP, GZIP_OF_TWO, ZIP_OF_TWO]) {
        const [error] = errorsOf(joined(bytes, tail));
        expect(error!.code).toBe('archive-damaged');
        // Further than its longest comment no end of a zip is looked for.
        if (count < 20_000 || bytes !== ZIP_OF_TWO)
          expect(error).toMatchObject({ why: 'bytes-after-end', bytes: count });
      }
  });

  test('a comment at the end of a zip is no harm', () => {
    const commented = joined(ZIP_OF_TWO, strToU8('a comment'));
    commented[ZIP_OF_TWO.length - 2] = 9;
    expect(read(commented).series).toEqual(PLAIN);
  });
});

/** A member as its headers tell it; what is stated wins over what is true. */
interface Member {
  name: string;
  data: Uint8Array;
  /** Another place than its own that the directory gives. */
  listedAt?: number;
  unlisted?: boolean;
}

/** A zip of stored members, made by hand, so that its parts can contradict each other. */
function zipOf(members: readonly Member[], stated: { count?: number; gap?: number; junk?: number } = {}): Uint8Array {
  const local: Uint8Array[] = [];
  const central: Uint8Array[] = [];
  let at = 0;
  for (const { name, data, listedAt, unlisted } of members) {
    const header = new Uint8Array(30 + name.length);
    const view = new DataView(header.buffer);
    // Length and checksum as zipSync makes them.
    const made = new DataView(zipSync({ [name]: data }, { level: 0 }).buffer);
    view.setUint32(0, 0x04034b50, true);
    view.setUint32(14, made.getUint32(14, true), true);
    view.setUint32(18, data.length, true);
    view.setUint32(22, data.length, true);
    view.setUint16(26, name.length, true);
    header.set(strToU8(name), 30);
    local.push(header, data, new Uint8Array(stated.gap ?? 0));
    const entry = new Uint8Array(46 + name.length);
    const listed = new DataView(entry.buffer);
    listed.setUint32(0, 0x02014b50, true);
    entry.set(header.subarray(6, 28), 8);
    listed.setUint16(28, name.length, true);
    listed.setUint32(42, listedAt ?? at, true);
    entry.set(strToU8(name), 46);
    if (unlisted !== true) central.push(entry);
    at += header.length + data.length + (stated.gap ?? 0);
  }
  central.push(new Uint8Array(stated.junk ?? 0));
  const count = stated.count ?? members.filter(({ unlisted }) => unlisted !== true).length;
  const end = new Uint8Array(22);
  const view = new DataView(end.buffer);
  view.setUint32(0, 0x06054b50, true);
  view.setUint16(8, count, true);
  view.setUint16(10, count, true);
  view.setUint32(12, joined(...central).length, true);
  view.setUint32(16, at, true);
  return joined(...local, ...central, end);
}

/** The archive with one byte raised, counted from its end where `at` is negative. */
function raised(bytes: Uint8Array, at: number): Uint8Array {
  const copy = bytes.slice();
  copy[at < 0 ? bytes.length + at : at]! += 1;
  return copy;
}

describe('a zip whose parts contradict each other is refused', () => {
  const a: Member = { name: 'a.csv', data: DAY_1! };
  const b: Member = { name: 'b.csv', data: DAY_2! };
  test('the maker of these makes good ones', () => {
    expect(read(zipOf([a, b])).series).toEqual(PLAIN);
  });
  test.each(
    Object.entries({
      'a member that the list leaves out, first': zipOf([{ ...a, unlisted: true }, b]),
      'a member that the list leaves out, last': zipOf([a, { ...b, unlisted: true }]),
      'bytes between members': zipOf([a, b], { gap: 3 }),
      'fewer members than stated': zipOf([a, b], { count: 3 }),
      'more members than stated': zipOf([a, b], { count: 1 }),
      'two entries for one member': zipOf([a, { ...b, listedAt: 0 }]),
      'an entry that leads nowhere': zipOf([a, { ...b, listedAt: 7 }]),
      'bytes of no member in the list': zipOf([a, b], { junk: 5 }),
      // Bytes of a member's own header: method 8, checksum 14, packed bytes 18, bytes 22, name 30.
      'another method': raised(ZIP_OF_TWO, 8),
      'another checksum': raised(ZIP_OF_TWO, 14),
      'another length packed': raised(ZIP_OF_TWO, 18),
      'another length': raised(ZIP_OF_TWO, 22),
      'another name': raised(ZIP_OF_TWO, 30),
      'a checksum beside a descriptor with another': raised(tools.pythonToPipe, 14),
      // 22 bytes end the file, 20 before them lead to the 56 of Zip64.
      'a number of members that Zip64 contradicts': raised(raised(tools.infoZipFromPipe, -12), -14),
      'a record of Zip64 of another length': raised(tools.infoZipFromPipe, -98 + 4),
    }),
  )('%s', (_name, bytes) => {
    expect(errorsOf(bytes)).toEqual([{ code: 'archive-damaged', why: 'contradiction' }]);
  });
});

describe('members of every kind', () => {
  test('two files of one home are joined, folders, pictures and shadow files passed over', () => {
    const bytes = zipSync({
      'data/': new Uint8Array(0),
      '__MACOSX/data/._a.csv': strToU8('\0\u0005\u0016\u0007'),
      '__MACOSX/data/b.csv': strToU8('no table'),
      'data/._b.csv': strToU8('\0\u0005\u0016\u0007'),
      'data/a.csv': DAY_1!,
      'data/b.csv': DAY_2!,
      'notes.pdf': strToU8('%PDF'),
    });
    const { series, findings, layout } = read(bytes);
    expect(series).toEqual(PLAIN);
    expect(findings.filter((finding) => finding.code.startsWith('archive'))).toEqual([]);
    expect(layout.evidence[0]).toBe('inside zip, 2 members joined');
  });

  test('a bill is held against all members together', () => {
    const bytes = zipSync({ 'a.csv': DAY_1!, 'b.csv': DAY_2! });
    const kwh = PLAIN.importKwh!.reduce((sum, value) => sum + value, 0);
    const billed = (billedKwh: number) =>
      parseIntervalData(bytes, { zone: 'America/Denver', billedKwh }).findings.filter(
        ({ code }) => code === 'billed-differs',
      );
    expect(billed(kwh)).toEqual([]);
    expect(billed(2 * kwh)).toMatchObject([{ data: { billedKwh: 2 * kwh } }]);
  });

  test('paths with backslashes are paths', () => {
    const bytes = zipSync({ 'data\\a.csv': strToU8(CSV), '__MACOSX\\data\\._a.csv': strToU8('\0\u0005') });
    expect(read(bytes).series).toEqual(PLAIN);
    expect(codesOf(bytes)).not.toContain('archive-members-left');
  });

  test('two members of one name can’t be told apart', () => {
    const twice = zipOf([
      { name: 'a.csv', data: DAY_1! },
      { name: 'a.csv', data: DAY_2! },
    ]);
    expect(errorsOf(twice)).toEqual([{ code: 'archive-unreadable', why: 'same-name' }]);
  });

  test('a member that is an archive again is left, and said so', () => {
    for (const name of ['b.csv.gz', 'b.zip']) {
      const inner = name.endsWith('gz') ? gzipSync(DAY_2!) : zipSync({ 'b.csv': DAY_2! });
      const bytes = zipSync({ 'a.csv': DAY_1!, [name]: new Uint8Array(inner) });
      expect(read(bytes).series!.axis.intervals).toBe(24);
      expect(codesOf(bytes)).toContain('archive-members-left');
      expect(errorsOf(zipSync({ [name]: new Uint8Array(inner) }))).toEqual([
        { code: 'archive-empty', why: 'only-archives' },
      ]);
    }
  });

  test('a locked one asks for the password’s owner, an odd packing is named', () => {
    expect(errorsOf(tools.infoZipLocked)).toEqual([{ code: 'archive-locked', why: 'password' }]);
    expect(errorsOf(tools.infoZipBzip2)).toEqual([{ code: 'archive-unreadable', why: 'method', method: 12 }]);
  });

  test('an empty zip, and one without a file of ours', () => {
    for (const bytes of [zipSync({}), zipSync({ 'a.png': strToU8('no picture') })])
      expect(codesOf(bytes)).toEqual(['archive-empty']);
  });

  test('names are never told: portals put account numbers into them', () => {
    const named = zipSync({ 'account-9988776655.csv': strToU8('nothing\n') });
    const harmed = named.slice();
    harmed[40]! ^= 1;
    for (const bytes of [named, harmed, named.subarray(0, 60)])
      expect(JSON.stringify(read(bytes))).not.toContain('9988776655');
  });
});

describe('limits', () => {
  test('what expands without end is given up', () => {
    const zeros = new Uint8Array(40_000_000);
    for (const bytes of [new Uint8Array(gzipSync(zeros)), zipSync({ 'a.csv': zeros })])
      expect(codesOf(bytes)).toEqual(['archive-too-large']);
    const overlapping = zipOf(
      Array.from({ length: 150 }, (_, k) => ({ name: `${k}.csv`, data: DAY_1!, ...(k > 0 ? { listedAt: 0 } : {}) })),
    );
    expect(codesOf(overlapping)).toEqual(['archive-damaged']);
  });

  test('what expands as text of meters does is let through, however large it gets', () => {
    // Above the 16 MB that may expand as they like: 250-fold at the most.
    const packedBytes = 400_000;
    expect(() => new Allowance(256e6, packedBytes).use(60 * packedBytes)).not.toThrow();
    expect(() => new Allowance(256e6, packedBytes).use(251 * packedBytes)).toThrow(ArchiveFault);
    expect(() => new Allowance(256e6, 1).use(16e6)).not.toThrow();
  });

  test('more members than anybody packs', () => {
    const nothing = new Uint8Array(gzipSync(''));
    const many = (count: number) => {
      const bytes = new Uint8Array(count * nothing.length + GZIP.length);
      for (let k = 0; k < count; k++) bytes.set(nothing, k * nothing.length);
      bytes.set(GZIP, count * nothing.length);
      return bytes;
    };
    expect(read(many(9_999)).series).toEqual(PLAIN);
    expect(codesOf(many(10_000))).toEqual(['archive-too-large']);
    const files = zipOf(Array.from({ length: 201 }, (_, k) => ({ name: `${k}.csv`, data: DAY_1! })));
    expect(codesOf(files)).toEqual(['archive-too-large']);
  });
});

test('an archive that is broken anywhere, in any way, is never read as other data, and nothing is thrown', () => {
  // Not the gzip of two members: cuts can leave one of them whole.
  const origin = fc.constantFrom(GZIP, ZIP_OF_TWO, tools.pythonToPipe, tools.pythonToPipe64, tools.infoZipFromPipe);
  const harm = fc.array(fc.record({ at: fc.nat(), byte: fc.nat(255), kind: fc.constantFrom('set', 'cut', 'insert') }), {
    minLength: 1,
    maxLength: 4,
  });
  fc.assert(
    fc.property(origin, harm, (bytes, harms) => {
      let broken = [...bytes];
      for (const { at, byte, kind } of harms) {
        const place = at % (broken.length + 1);
        if (kind === 'set') broken[place] = byte;
        else if (kind === 'insert') broken.splice(place, 0, byte);
        else broken = broken.toSpliced(place, byte);
      }
      const { series, findings } = read(Uint8Array.from(broken));
      if (series === undefined) expect(findings.some((finding) => finding.severity === 'error')).toBe(true);
      else expect(series).toEqual(PLAIN);
    }),
    { seed: 20_260_120, numRuns: 2000 },
  );
});
