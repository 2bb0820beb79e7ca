import { Gunzip } from 'fflate';
import { type Allowance, ArchiveFault, slicesOf, Unpacked } from './unpacked.ts';

/** Writers in blocks make a member each 64 KiB; members of nothing would take for ever. */
const MOST_MEMBERS = 10_000;

/** A member that holds nothing. Fed after the last one, it shows where that ended. */
const NOTHING = Uint8Array.of(0x1f, 0x8b, 8, 0, 0, 0, 0, 0, 0, 255, 3, 0, 0, 0, 0, 0, 0, 0, 0, 0);

/** CRC-32 and length at the end of a member. */
const TRAILER_BYTES = 8;

/**
 * What a gzip file (RFC 1952) holds, its members one after the other. The checksum and the length of each are checked,
 * and that the file ends with the last one.
 *
 * @throws ArchiveFault
 */
export function gunzip(bytes: Uint8Array, allowance: Allowance): Uint8Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const out = new Unpacked(allowance);
  let members = 0;
  let endedAt = 0;
  const stream = new Gunzip((chunk) => out.add(chunk));
  stream.onmember = (nextAt) => {
    const trailerAt = nextAt - TRAILER_BYTES;
    if (!out.fits(view.getUint32(trailerAt, true), view.getUint32(trailerAt + 4, true)))
      throw new ArchiveFault('archive-damaged', { why: 'wrong-checksum' });
    if (++members > MOST_MEMBERS)
      throw new ArchiveFault('archive-too-large', { why: 'members', mostMembers: MOST_MEMBERS });
    out.restart();
    endedAt = nextAt;
  };
  try {
    for (const slice of slicesOf(bytes)) stream.push(slice);
    stream.push(NOTHING);
  } catch (error) {
    if (error instanceof ArchiveFault) throw error;
    const rest = bytesAfterMember(view, endedAt, out);
    throw new ArchiveFault(
      'archive-damaged',
      rest > 0 ? { why: 'bytes-after-end', bytes: rest } : { why: 'not-unpacked' },
    );
  }
  if (endedAt !== bytes.length) throw new ArchiveFault('archive-damaged', { why: 'cut-off' });
  return out.whole();
}

/** Of a member whose data came whole: bytes that follow its trailer; 0 where there is no such trailer. */
function bytesAfterMember(view: DataView, fromByte: number, out: Unpacked): number {
  if (out.fits(0, 0)) return 0;
  for (let at = fromByte; at + TRAILER_BYTES <= view.byteLength; at++)
    if (out.fits(view.getUint32(at, true), view.getUint32(at + 4, true))) return view.byteLength - at - TRAILER_BYTES;
  return 0;
}
