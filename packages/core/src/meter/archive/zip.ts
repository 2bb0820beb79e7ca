import { Inflate } from 'fflate';
import { type Allowance, ArchiveFault, slicesOf, Unpacked } from './unpacked.ts';

/** Members of any kind; portals pack a handful. */
const MOST_MEMBERS = 200;

const LOCAL = 0x04034b50;
const CENTRAL = 0x02014b50;
const END = 0x06054b50;
const END_64 = 0x06064b50;
const END_64_LOCATOR = 0x07064b50;
const DESCRIPTOR = 0x08074b50;
const LOCAL_BYTES = 30;
const CENTRAL_BYTES = 46;
const END_BYTES = 22;
const END_64_BYTES = 56;
const LOCATOR_BYTES = 20;
/** What a field of 32 bits holds where its value stands in the Zip64 extra field instead. */
const IN_EXTRA = 0xffffffff;
const ENCRYPTED = 1;
const DESCRIPTOR_FOLLOWS = 8;
const STORED = 0;
const DEFLATED = 8;

/** What a member's data are held against. */
interface Seal {
  readonly crc: number;
  readonly packedBytes: number;
  readonly bytes: number;
}
const SEAL = ['crc', 'packedBytes', 'bytes'] as const;

/** What a header, in the directory or before the data, says of a member. */
interface Header extends Seal {
  /** One character a byte: compared and looked at for its extension, never printed. */
  readonly name: string;
  readonly flags: number;
  readonly method: number;
}

interface Entry extends Header {
  /** Byte of the archive at which the member's own header begins. */
  readonly at: number;
}

/**
 * What the members of a zip file hold whose name `wanted` takes, in their order in the file. Nothing is taken on trust:
 * the directory must lie where the end of the file says and agree with the header of each member, members and directory
 * must fill the file without a gap, and lengths and CRC-32 must fit (APPNOTE 6.3, sections 4.3 to 4.5, from memory).
 *
 * @throws ArchiveFault
 */
export function unzip(bytes: Uint8Array, allowance: Allowance, wanted: (name: string) => boolean): Uint8Array[] {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const directory = findDirectory(view);
  const entries = readDirectory(bytes, view, directory);
  const places = entries.map((entry, k) => dataOf(bytes, view, entry, entries[k + 1]?.at ?? directory.at));
  const names = new Set<string>();
  const members: Uint8Array[] = [];
  for (const [k, entry] of entries.entries()) {
    if (!wanted(entry.name)) continue;
    if (names.has(entry.name)) throw new ArchiveFault('archive-unreadable', { why: 'same-name' });
    names.add(entry.name);
    members.push(unpackMember(entry, places[k]!, allowance));
  }
  return members;
}

interface Directory {
  readonly at: number;
  readonly endAt: number;
  readonly members: number;
}

function findDirectory(view: DataView): Directory {
  const at = findEnd(view);
  const end = {
    disks: [view.getUint16(at + 4, true), view.getUint16(at + 6, true)],
    onDisk: view.getUint16(at + 8, true),
    members: view.getUint16(at + 10, true),
    bytes: view.getUint32(at + 12, true),
    at: view.getUint32(at + 16, true),
  };
  const large = findEnd64(view, at);
  // A field of the short record that is not full must say what the long one says.
  const agree = (short: number, full: number, long: number) => short === full || short === long;
  if (
    large !== undefined &&
    !(
      agree(end.members, 0xffff, large.members) &&
      agree(end.bytes, IN_EXTRA, large.bytes) &&
      agree(end.at, IN_EXTRA, large.at)
    )
  )
    throw contradiction();
  const found = large ?? { ...end, endAt: at };
  if (found.onDisk !== found.members || found.disks.some((disk) => disk !== 0 && disk !== 0xffff))
    throw new ArchiveFault('archive-unreadable', { why: 'one-of-several-files' });
  if (found.members > MOST_MEMBERS)
    throw new ArchiveFault('archive-too-large', { why: 'members', mostMembers: MOST_MEMBERS });
  if (found.at + found.bytes !== found.endAt) throw contradiction();
  return found;
}

/** Where the record begins that ends the file; a comment may follow it. */
function findEnd(view: DataView): number {
  const last = view.byteLength - END_BYTES;
  let odd: number | undefined;
  for (let at = last; at >= Math.max(0, last - 0xffff); at--) {
    if (view.getUint32(at, true) !== END) continue;
    const rest = last - at - view.getUint16(at + 20, true);
    if (rest === 0) return at;
    odd ??= rest;
  }
  if (odd !== undefined && odd > 0) throw new ArchiveFault('archive-damaged', { why: 'bytes-after-end', bytes: odd });
  throw new ArchiveFault('archive-damaged', { why: 'no-list-of-members' });
}

/** The record of Zip64, which archives have that are large or were written in one go. */
function findEnd64(view: DataView, endAt: number) {
  const locatorAt = endAt - LOCATOR_BYTES;
  if (locatorAt < END_64_BYTES || view.getUint32(locatorAt, true) !== END_64_LOCATOR) return undefined;
  const at = uint64(view, locatorAt + 8);
  if (at > locatorAt - END_64_BYTES || view.getUint32(at, true) !== END_64) throw contradiction();
  if (at + 12 + uint64(view, at + 4) !== locatorAt) throw contradiction();
  return {
    disks: [view.getUint32(at + 16, true), view.getUint32(at + 20, true), view.getUint32(locatorAt + 4, true)],
    onDisk: uint64(view, at + 24),
    members: uint64(view, at + 32),
    bytes: uint64(view, at + 40),
    at: uint64(view, at + 48),
    endAt: at,
  };
}

/** The members by their place in the file, the first at its beginning. */
function readDirectory(bytes: Uint8Array, view: DataView, { at: from, endAt, members }: Directory): Entry[] {
  const entries: Entry[] = [];
  let at = from;
  for (let k = 0; k < members; k++) {
    if (at + CENTRAL_BYTES > endAt || view.getUint32(at, true) !== CENTRAL) throw contradiction();
    const nameAt = at + CENTRAL_BYTES;
    const extraAt = nameAt + view.getUint16(at + 28, true);
    const extraEnd = extraAt + view.getUint16(at + 30, true);
    const next = extraEnd + view.getUint16(at + 32, true);
    if (next > endAt) throw contradiction();
    const packedBytes = view.getUint32(at + 20, true);
    const length = view.getUint32(at + 24, true);
    const place = view.getUint32(at + 42, true);
    // The extra field holds them in this order: bytes, packed bytes, place.
    const inExtra = extra64(view, extraAt, extraEnd);
    entries.push({
      name: latin1(bytes.subarray(nameAt, extraAt)),
      flags: view.getUint16(at + 8, true),
      method: view.getUint16(at + 10, true),
      crc: view.getUint32(at + 16, true),
      bytes: length === IN_EXTRA ? inExtra() : length,
      packedBytes: packedBytes === IN_EXTRA ? inExtra() : packedBytes,
      at: place === IN_EXTRA ? inExtra() : place,
    });
    at = next;
  }
  if (at !== endAt) throw contradiction();
  entries.sort((a, b) => a.at - b.at);
  if ((entries[0]?.at ?? from) !== 0) throw contradiction();
  return entries;
}

/** The packed bytes of a member, once its own header agrees with the directory, and it ends where the next one begins. */
function dataOf(bytes: Uint8Array, view: DataView, entry: Entry, nextAt: number): Uint8Array {
  const { at } = entry;
  if (at + LOCAL_BYTES > nextAt || view.getUint32(at, true) !== LOCAL) throw contradiction();
  const nameAt = at + LOCAL_BYTES;
  const extraAt = nameAt + view.getUint16(at + 26, true);
  const dataAt = extraAt + view.getUint16(at + 28, true);
  const dataEnd = dataAt + entry.packedBytes;
  if (dataEnd > nextAt) throw contradiction();
  const packedBytes = view.getUint32(at + 18, true);
  const length = view.getUint32(at + 22, true);
  const inExtra = extra64(view, extraAt, dataAt);
  const own: Header = {
    name: latin1(bytes.subarray(nameAt, extraAt)),
    flags: view.getUint16(at + 6, true),
    method: view.getUint16(at + 8, true),
    crc: view.getUint32(at + 14, true),
    bytes: length === IN_EXTRA ? inExtra() : length,
    packedBytes: packedBytes === IN_EXTRA ? inExtra() : packedBytes,
  };
  if (own.name !== entry.name || own.method !== entry.method || (own.flags & ENCRYPTED) !== (entry.flags & ENCRYPTED))
    throw contradiction();
  // A writer that can't go back leaves lengths and checksum, or some of them, to a descriptor behind the data.
  const later = (own.flags & DESCRIPTOR_FOLLOWS) !== 0;
  const seal = dataEnd === nextAt ? own : later ? descriptorOf(view, dataEnd, nextAt) : undefined;
  if (seal === undefined || !SEAL.every((field) => seal[field] === entry[field])) throw contradiction();
  if (!SEAL.every((field) => own[field] === entry[field] || (later && own[field] === 0))) throw contradiction();
  return bytes.subarray(dataAt, dataEnd);
}

/** What stands between a member's data and the next member, read as its descriptor: signed or not, of 32 bits or 64. */
function descriptorOf(view: DataView, from: number, to: number): Seal | undefined {
  const length = to - from;
  const signed = length === 16 || length === 24;
  const at = signed ? from + 4 : from;
  if (signed && view.getUint32(from, true) !== DESCRIPTOR) return undefined;
  if (to - at === 12)
    return {
      crc: view.getUint32(at, true),
      packedBytes: view.getUint32(at + 4, true),
      bytes: view.getUint32(at + 8, true),
    };
  if (to - at === 20)
    return { crc: view.getUint32(at, true), packedBytes: uint64(view, at + 4), bytes: uint64(view, at + 12) };
  return undefined;
}

function unpackMember(entry: Entry, packed: Uint8Array, allowance: Allowance): Uint8Array {
  if ((entry.flags & ENCRYPTED) !== 0) throw new ArchiveFault('archive-locked', { why: 'password' });
  if (entry.method !== STORED && entry.method !== DEFLATED)
    throw new ArchiveFault('archive-unreadable', { why: 'method', method: entry.method });
  const out = new Unpacked(allowance);
  if (entry.method === STORED) for (const slice of slicesOf(packed)) out.add(slice);
  else inflate(packed, out);
  if (!out.fits(entry.crc, entry.bytes)) throw new ArchiveFault('archive-damaged', { why: 'wrong-checksum' });
  return out.whole();
}

function inflate(packed: Uint8Array, out: Unpacked): void {
  const stream = new Inflate((chunk) => out.add(chunk));
  try {
    for (const slice of slicesOf(packed)) stream.push(slice);
    stream.push(new Uint8Array(0), true);
  } catch (error) {
    if (error instanceof ArchiveFault) throw error;
    throw new ArchiveFault('archive-damaged', { why: 'not-unpacked' });
  }
}

/** Hands out, one after the other, the values that stand in the Zip64 extra field for those that 32 bits can't hold. */
function extra64(view: DataView, from: number, to: number): () => number {
  let at = from;
  while (at + 4 <= to && view.getUint16(at, true) !== 1) at += 4 + view.getUint16(at + 2, true);
  const end = at + 4 <= to ? Math.min(to, at + 4 + view.getUint16(at + 2, true)) : 0;
  let next = at + 4;
  return () => {
    if (next + 8 > end) throw contradiction();
    next += 8;
    return uint64(view, next - 8);
  };
}

/** A whole number of 64 bits; beyond 2⁵³ it is rounded, and larger than any file that is read. */
function uint64(view: DataView, at: number): number {
  return view.getUint32(at, true) + view.getUint32(at + 4, true) * 2 ** 32;
}

function latin1(bytes: Uint8Array): string {
  return new TextDecoder('latin1').decode(bytes);
}

function contradiction(): ArchiveFault {
  return new ArchiveFault('archive-damaged', { why: 'contradiction' });
}
