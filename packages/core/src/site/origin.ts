import { anything, check, list, number, oneOf, type Rule, record, someBytes, text } from '../input/door.ts';
import { isAbsolute } from './paths.ts';

/** What a file was read for. */
export const INPUT_ROLES = [
  'site',
  'tariff',
  'successor',
  'prices',
  'meter',
  'reach',
  'planned-solar',
  'bills',
  'document',
] as const;
/** One of {@link INPUT_ROLES}. */
export type InputRole = (typeof INPUT_ROLES)[number];

/** A file that a result rests on. */
export interface InputRecord {
  readonly role: InputRole;
  /** Its path as it was written in the file or the call that names it; of an absolute path the file's own name. */
  readonly path: string;
  readonly bytes: number;
  /** SHA-256 of its bytes, hexadecimal; null where the host can't reckon it: a page that wasn't served securely. */
  readonly sha256: string | null;
}

/** A field that a file leaves out, and what was taken for it. */
export interface Assumption {
  /** The file that leaves it out. */
  readonly file: 'site' | 'tariff';
  /** Address of the field in it, `plant.battery.standbyW`. */
  readonly field: string;
  /** What was taken: a value as the file might hold it, or words. */
  readonly value: unknown;
}

/** Where a study comes from: what stands in every report made of it. */
export interface Origin {
  readonly inputs: readonly InputRecord[];
  readonly assumptions: readonly Assumption[];
}

/** The origin of a study: the site's, and that of the tariff it is laid under. */
export function bothOrigins(site: Origin, tariff: Origin): Origin {
  return {
    inputs: [...site.inputs, ...tariff.inputs],
    assumptions: [...site.assumptions, ...tariff.assumptions],
  };
}

/** What hosts have of the Web Crypto API (W3C): Node, workers, and pages that were served securely. */
interface Hashing {
  readonly crypto?: { readonly subtle?: { digest(algorithm: 'SHA-256', data: Uint8Array): Promise<ArrayBuffer> } };
}

/** Where a study comes from, as a program hands it over. */
export const anOrigin: Rule = record<Origin>({
  inputs: list(
    record<InputRecord>({
      role: oneOf(INPUT_ROLES),
      path: text,
      bytes: number({ least: 0, whole: true }),
      sha256: (value, path, looking) => {
        if (value !== null) text(value, path, looking);
      },
    }),
  ),
  assumptions: list(record<Assumption>({ file: oneOf(['site', 'tariff']), field: text, value: anything })),
});

/**
 * Records a file that was read, under the path by which it was named.
 * @throws InputError on another role than those of {@link INPUT_ROLES}
 */
export async function recordInput(role: InputRole, path: string, content: Uint8Array): Promise<InputRecord> {
  check({ role, path, content }, { role: oneOf(INPUT_ROLES), path: text, content: someBytes });
  return recordOf(role, path, content);
}

/** {@link recordInput} of what was looked at. */
export async function recordOf(role: InputRole, path: string, content: Uint8Array): Promise<InputRecord> {
  return { role, path: withoutFolders(path), bytes: content.length, sha256: await sha256Of(content) };
}

/** An absolute path says more of a machine than of a home. */
function withoutFolders(path: string): string {
  return isAbsolute(path) ? path.slice(Math.max(path.lastIndexOf('/'), path.lastIndexOf('\\')) + 1) : path;
}

async function sha256Of(content: Uint8Array): Promise<string | null> {
  const { subtle } = (globalThis as Hashing).crypto ?? {};
  if (subtle === undefined) return null;
  // Memory that threads share is refused by the API: such bytes are copied.
  const own = content.buffer instanceof ArrayBuffer ? content : new Uint8Array(content);
  const digest = new Uint8Array(await subtle.digest('SHA-256', own));
  return Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/**
 * What a file leaves out and its schema fills in: every field of the checked document that the file doesn't state, with
 * the value taken.
 */
export function fieldsFilledIn(file: Assumption['file'], stated: unknown, checked: unknown): Assumption[] {
  const found: Assumption[] = [];
  const visit = (from: unknown, to: unknown, field: string) => {
    if (typeof to !== 'object' || to === null || typeof from !== 'object' || from === null) return;
    for (const [key, value] of Object.entries(to)) {
      if (value === undefined) continue;
      const inner = Array.isArray(to) ? `${field}[${key}]` : field === '' ? key : `${field}.${key}`;
      const given = (from as Record<string, unknown>)[key];
      if (given === undefined) found.push({ file, field: inner, value });
      else visit(given, value, inner);
    }
  };
  visit(stated, checked, '');
  return found;
}
