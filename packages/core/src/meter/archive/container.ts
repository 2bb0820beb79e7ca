import type { FindingList } from '../findings.ts';
import { gunzip } from './gzip.ts';
import { Allowance, ArchiveFault } from './unpacked.ts';
import { unzip } from './zip.ts';

/** `gzip`, `zip`, or neither, by the first bytes. */
export function containerOf(bytes: Uint8Array): 'gzip' | 'zip' | undefined {
  if (bytes[0] === 0x1f && bytes[1] === 0x8b) return 'gzip';
  if (bytes[0] === 0x50 && bytes[1] === 0x4b && (bytes[2] === 3 || bytes[2] === 5)) return 'zip';
  return undefined;
}

/**
 * What a gzip or zip file holds, checked against its checksums and lengths, unpacked in slices and given up at
 * `mostBytes`. Members that are no meter file by their name are passed over. Names are never printed: portals put
 * account numbers into them.
 *
 * @returns the members' bytes; undefined, with an error finding, where they can't be had or can't be trusted
 */
export function unpack(bytes: Uint8Array, mostBytes: number, findings: FindingList): Uint8Array[] | undefined {
  const allowance = new Allowance(mostBytes, bytes.length);
  let members: Uint8Array[];
  try {
    members = containerOf(bytes) === 'gzip' ? [gunzip(bytes, allowance)] : unzip(bytes, allowance, isDataName);
  } catch (error) {
    if (!(error instanceof ArchiveFault)) throw error;
    findings.add(error.code, 'error', error.data);
    return undefined;
  }
  if (members.length === 0) {
    findings.add('archive-empty', 'error', { why: 'no-data-file' });
    return undefined;
  }
  return members;
}

/**
 * Whether a member may be a meter file, or an archive of some: a text or XML file, or one without an extension; no
 * folder, no hidden file, none of the shadow files that some systems add.
 */
function isDataName(name: string): boolean {
  const parts = name.split(/[\\/]/);
  const base = parts.at(-1)!;
  if (base === '' || base.startsWith('.') || parts[0] === '__MACOSX') return false;
  const dot = base.lastIndexOf('.');
  return dot < 0 || /^(?:csv|txt|tsv|tab|dat|xml|nem|nem12|gz|zip)$/i.test(base.slice(dot + 1));
}
