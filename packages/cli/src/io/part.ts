import { createHash, randomBytes } from 'node:crypto';
import { lstatSync, readdirSync, rmSync } from 'node:fs';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { inputAt } from './read.ts';

/**
 * Unfinished files of ours: the machine and the process that writes are in the name, so that a later run can tell those
 * that nobody writes any more. Nobody else names files like this.
 */
const PART = /^\.duskbank-([0-9a-f]{8})-(\d+)-[0-9a-f]{12}\.part$/;

/** A process of another machine can't be asked whether it lives; no run writes for a day. */
const ABANDONED_MS = 24 * 3_600_000;

/** The name of a new unfinished file in a folder. */
export function newPart(folder: string): string {
  return join(folder, `.duskbank-${machine()}-${process.pid}-${randomBytes(6).toString('hex')}.part`);
}

/** Removes what runs that were killed have left in a folder. */
export function sweepParts(folder: string): void {
  for (const name of entriesOf(folder)) {
    const [, maker, pid] = PART.exec(name) ?? [];
    if (maker === undefined) continue;
    const path = join(folder, name);
    const stat = lstatSync(path, { throwIfNoEntry: false });
    if (stat === undefined) continue;
    const abandoned = maker === machine() ? !isAlive(Number(pid)) : Date.now() - stat.mtimeMs > ABANDONED_MS;
    // Somebody may be saving what is left of a run: what is read is never removed.
    if (abandoned && inputAt(path) === undefined) removeQuietly(path);
  }
}

/** Tells the machine whose processes can be asked from those of others that share a folder with it. */
function machine(): string {
  return createHash('sha256').update(hostname()).digest('hex').slice(0, 8);
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code !== 'ESRCH';
  }
}

function entriesOf(folder: string): string[] {
  try {
    return readdirSync(folder);
  } catch {
    // A folder that may be written to but not listed keeps its leftovers.
    return [];
  }
}

/** Removes a file where that is possible: a leftover is no reason to fail. */
export function removeQuietly(path: string): void {
  try {
    rmSync(path, { force: true });
  } catch {}
}
