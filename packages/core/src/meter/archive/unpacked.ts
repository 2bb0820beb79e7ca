import type { DataOf } from '../../words/fact.ts';
import type { MeterWords } from '../../words/meter.ts';

/** Input is fed in slices: deflate expands at most 1,032-fold, so that one slice makes 16 MiB at most. */
const SLICE_BYTES = 1 << 14;
/** Text of meters compresses 10- to 60-fold. More than this, beyond {@link FREE_BYTES}, is no meter file. */
const MOST_EXPANSION = 250;
const FREE_BYTES = 16 * 1024 * 1024;

type FaultCode = 'archive-damaged' | 'archive-locked' | 'archive-too-large' | 'archive-unreadable';

/** Why an archive is not read, as the finding that tells it; it ends the unpacking, never the program. */
export class ArchiveFault<Code extends FaultCode = FaultCode> extends Error {
  readonly code: Code;
  readonly data: DataOf<MeterWords, Code>;

  constructor(code: Code, data: DataOf<MeterWords, Code>) {
    super(code);
    this.code = code;
    this.data = data;
  }
}

/** What all members of one archive may unpack to, together. */
export class Allowance {
  private usedBytes = 0;
  private readonly mostBytes: number;
  private readonly packedBytes: number;

  constructor(mostBytes: number, packedBytes: number) {
    this.mostBytes = mostBytes;
    this.packedBytes = packedBytes;
  }

  use(bytes: number): void {
    this.usedBytes += bytes;
    if (this.usedBytes > this.mostBytes)
      throw new ArchiveFault('archive-too-large', { why: 'bytes', mostBytes: this.mostBytes });
    if (this.usedBytes > FREE_BYTES && this.usedBytes > this.packedBytes * MOST_EXPANSION)
      throw new ArchiveFault('archive-too-large', { why: 'expansion', mostExpansion: MOST_EXPANSION });
  }
}

/** Bytes as they come out of an archive, counted against its allowance, with the checksum of those so far. */
export class Unpacked {
  private readonly chunks: Uint8Array[] = [];
  private readonly allowance: Allowance;
  private bytes = 0;
  private checkedFrom = 0;
  private crc = 0;

  constructor(allowance: Allowance) {
    this.allowance = allowance;
  }

  add(chunk: Uint8Array): void {
    if (chunk.length === 0) return;
    this.allowance.use(chunk.length);
    this.chunks.push(chunk);
    this.bytes += chunk.length;
    this.crc = crc32(chunk, this.crc);
  }

  /** Whether what came since the last `restart` has this CRC-32 and this length modulo 2³², as gzip and zip store them. */
  fits(crc: number, bytes: number): boolean {
    return this.crc === crc >>> 0 && (this.bytes - this.checkedFrom) >>> 0 === bytes >>> 0;
  }

  /** What comes from here on has a checksum of its own. */
  restart(): void {
    this.checkedFrom = this.bytes;
    this.crc = 0;
  }

  whole(): Uint8Array {
    const whole = new Uint8Array(this.bytes);
    let at = 0;
    for (const chunk of this.chunks) {
      whole.set(chunk, at);
      at += chunk.length;
    }
    return whole;
  }
}

/** Packed bytes in pieces small enough that none unpacks to more than can be held. */
export function* slicesOf(bytes: Uint8Array): Generator<Uint8Array> {
  for (let at = 0; at < bytes.length; at += SLICE_BYTES) yield bytes.subarray(at, at + SLICE_BYTES);
}

const CRC_OF_BYTE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  return crc;
});

/** CRC-32 of RFC 1952, section 8, of bytes that follow those that `before` is the CRC of (0: none). */
export function crc32(bytes: Uint8Array, before = 0): number {
  let crc = ~before;
  for (let i = 0; i < bytes.length; i++) crc = CRC_OF_BYTE[(crc ^ bytes[i]!) & 255]! ^ (crc >>> 8);
  return ~crc >>> 0;
}
