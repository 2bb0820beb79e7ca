import { Gunzip, Unzip, UnzipInflate } from 'fflate';
import type { FindingList } from './findings.ts';

/** Input is fed in slices: the format expands at most 1,032-fold, so one slice makes 16 MiB at most. */
const SLICE = 1 << 14;
/** Text of meters compresses 10- to 60-fold. More than this, beyond {@link FREE_BYTES}, is no meter file. */
const MOST_EXPANSION = 250;
const FREE_BYTES = 16 * 1024 * 1024;
const MOST_MEMBERS = 200;

/** `gzip`, `zip`, or neither, by the first bytes. */
export function containerOf(bytes: Uint8Array): 'gzip' | 'zip' | undefined {
  if (bytes[0] === 0x1f && bytes[1] === 0x8b) return 'gzip';
  if (bytes[0] === 0x50 && bytes[1] === 0x4b && (bytes[2] === 3 || bytes[2] === 5)) return 'zip';
  return undefined;
}

/** A limit met while unpacking; it ends the unpacking, never the program. */
class Refused extends Error {}

/**
 * What a gzip or zip file holds, unpacked in slices and given up at `mostBytes`. Members that are no meter
 * file by their name are passed over. Names are never printed: portals put account numbers into them.
 *
 * @returns the members' bytes; undefined, with an error finding, where they can't be had
 */
export function unpack(bytes: Uint8Array, mostBytes: number, findings: FindingList): Uint8Array[] | undefined {
  const members: Uint8Array[] = [];
  let total = 0;
  const collect = () => {
    const chunks: Uint8Array[] = [];
    let size = 0;
    return {
      add(chunk: Uint8Array) {
        size += chunk.length;
        total += chunk.length;
        if (total > mostBytes) throw new Refused(`it unpacks to more than ${mostBytes} bytes`);
        if (total > FREE_BYTES && total > bytes.length * MOST_EXPANSION)
          throw new Refused(`it expands more than ${MOST_EXPANSION}-fold, as no meter file does`);
        if (chunk.length > 0) chunks.push(chunk);
      },
      end() {
        const whole = new Uint8Array(size);
        let at = 0;
        for (const chunk of chunks) {
          whole.set(chunk, at);
          at += chunk.length;
        }
        members.push(whole);
      },
    };
  };
  try {
    if (containerOf(bytes) === 'gzip') {
      const member = collect();
      const stream = new Gunzip((chunk) => member.add(chunk));
      feed(bytes, (slice, last) => stream.push(slice, last));
      member.end();
    } else {
      let seen = 0;
      let failed: Error | undefined;
      const stream = new Unzip((file) => {
        if (++seen > MOST_MEMBERS) throw new Refused(`it has more than ${MOST_MEMBERS} members`);
        if (!isDataName(file.name)) return;
        const member = collect();
        file.ondata = (error, chunk, last) => {
          if (error !== null) failed = error;
          else {
            member.add(chunk);
            if (last) member.end();
          }
        };
        file.start();
      });
      stream.register(UnzipInflate);
      feed(bytes, (slice, last) => {
        stream.push(slice, last);
        if (failed !== undefined) throw failed;
      });
    }
  } catch (error) {
    findings.add(
      error instanceof Refused ? 'archive-too-large' : 'archive-unreadable',
      'error',
      error instanceof Refused
        ? `the archive was refused: ${error.message}`
        : 'the archive is damaged, locked with a password, or of a kind that is not read',
    );
    return undefined;
  }
  if (members.length === 0) {
    findings.add('archive-empty', 'error', 'the archive holds no .csv, .txt or .xml file');
    return undefined;
  }
  return members;
}

function feed(bytes: Uint8Array, push: (slice: Uint8Array, last: boolean) => void): void {
  for (let at = 0; at < bytes.length; at += SLICE) push(bytes.subarray(at, at + SLICE), at + SLICE >= bytes.length);
}

/** Whether a member may be a meter file: a text or XML file, or one without an extension; no folder, no hidden file. */
function isDataName(name: string): boolean {
  const base = name.slice(name.lastIndexOf('/') + 1);
  if (base === '' || base.startsWith('.') || name.startsWith('__MACOSX/')) return false;
  const dot = base.lastIndexOf('.');
  return dot < 0 || /^(?:csv|txt|tsv|tab|dat|xml|nem|nem12|gz)$/i.test(base.slice(dot + 1));
}
