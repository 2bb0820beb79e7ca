/** A part of a channel: streams of different parts are added to each other. */
export interface Part {
  /** What tells it from other parts of its channel. */
  readonly id: string;
  /**
   * `window`: a register of a price window, rate or tier, of which a meter counts on one at a time. `circuit`: one with a
   * register of its own, whatever the rest of the home has. `always`: one of several that count all the time, so that the
   * channel is known only where all of them are. `stated`: the user says that it is a part. `other`: any other.
   */
  readonly kind: 'window' | 'circuit' | 'always' | 'stated' | 'other';
  /** What other files of the home call it too, where `id` is what the user calls it. */
  readonly known?: string;
}

const CIRCUIT = /\bcontrolled\b|^cl/;

/**
 * Registers of which a meter counts on one at a time: those of price windows, rates and tiers. A solar sponge (or soak) is a cheap window
 * about noon.
 */
const WINDOW =
  /\b(?:solar (?:sponge|soak)|off ?peak|peak|shoulder|day|night|weekdays?|weekends?|holidays?|summer|winter|high|low|super|t[1-4]|(?:tier|tou|rate|window) ?\d|p[1-6]|f[123]|f23)\b/;
/** Named by a number alone, which a circuit or a phase may have as well. */
const NUMBERED = /^(?:p[1-6]|f[123]|f23)$/;

/** The part that a text of the file names, in lower case: `off peak`, `controlled load`. */
export function namedPart(text: string): Part {
  return { id: text, kind: CIRCUIT.test(text) ? 'circuit' : WINDOW.test(text) ? 'window' : 'other' };
}

/** Whether a part is a register only where its readings show it: one counts at a time. */
export function isNumbered({ id }: Part): boolean {
  return NUMBERED.test(id);
}

/** Words of what is counted, or which way: a register is the same one with them and without. */
const BESIDE =
  /\b(?:import|export|grid|consumption|usage|use|used|energy|electricity|delivered|delivery|received|bought|sold|feed|fed|active|load|from|to|in|out)\b/g;

/** What other files of the home call a part too: `low` for `import low`. */
export function knownAs({ known, id, kind }: Part): string {
  const name = known ?? id;
  if (kind !== 'window') return name;
  const bare = name.replace(BESIDE, ' ').replace(/\s+/g, ' ').trim();
  return bare === '' ? name : bare.replace(/\boffpeak\b/, 'off peak');
}

/** A register by its place among others, without a word of when it counts. */
const BY_PLACE = /^(?:(?:rate|register|reg) ?[1-9]|e[1-9]|(?:first|second|third|fourth) (?:rate|tariff|register))$/;

/** What other files call the register that a text names by its place among others alone: `rate 2`; undefined where it names none. */
export function registerByPlace(text: string): string | undefined {
  const name = knownAs({ id: text, kind: 'window' });
  return BY_PLACE.test(name) ? name : undefined;
}

const DEAR = /^(?:high|peak|day)$/;
const CHEAP = /^(?:low|off peak|night)$/;
const COUNTED = /^([a-z ]+?) ?(\d+)$/;

/**
 * Whether two registers are surely not one under two names: the dear one and the cheap one, or two numbers of one kind. By
 * {@link knownAs}. A portal may rename `high` to `peak`, never to `low`.
 */
export function areDifferentWindows(one: string | undefined, other: string | undefined): boolean {
  if (one === undefined || other === undefined) return false;
  if ((DEAR.test(one) && CHEAP.test(other)) || (CHEAP.test(one) && DEAR.test(other))) return true;
  const [a, b] = [COUNTED.exec(one), COUNTED.exec(other)];
  return a !== null && b !== null && a[1] === b[1] && a[2] !== b[2];
}

const DEAR_SIDE = /\b(?:high|peak|day|shoulder|weekdays?)\b/;
const CHEAP_SIDE = /\b(?:solar (?:sponge|soak)|low|off ?peak|night|super|weekends?|holidays?)\b/;

/** Whether windows are all of the dear hours or all of the cheap ones, so that the others have no register. By {@link knownAs}. */
export function areOneSided(names: readonly string[]): boolean {
  const isCheap = (name: string) => CHEAP_SIDE.test(name);
  return names.every(isCheap) || names.every((name) => DEAR_SIDE.test(name) && !isCheap(name));
}

/** The part that several texts beside each other name together; undefined where none does. */
export function jointPart(parts: readonly Part[]): Part | undefined {
  const [first] = parts;
  if (first === undefined || parts.length === 1) return first;
  const has = (kind: Part['kind']) => parts.some((part) => part.kind === kind);
  return {
    id: parts.map(({ id }) => id).join(', '),
    kind: first.kind === 'circuit' ? 'circuit' : has('stated') ? 'stated' : has('window') ? 'window' : 'other',
    ...(parts.some(({ known }) => known !== undefined) ? { known: parts.map(knownAs).join(', ') } : {}),
  };
}
