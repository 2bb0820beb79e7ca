/** Where in the user's input something lies. `line` counts from 1; `path` is the field's address in a document. */
export interface Where {
  /** Several, parted by commas, where meter files say the same. */
  readonly file?: string;
  readonly line?: number;
  /** A column of a table, or a flag of the command line such as `--at`. */
  readonly column?: string | number;
  /** A sheet of a spreadsheet, whose rows are the lines. */
  readonly sheet?: string;
  /** The address of a cell of it: `B7`. */
  readonly cell?: string;
  readonly path?: readonly (string | number)[];
  /** Name of the list entry that the path goes through, where it has one. */
  readonly name?: string;
  /** The document and field that name `file`, where one does. */
  readonly namedIn?: { readonly file: string; readonly path: readonly (string | number)[] };
}

/**
 * How grave a fact is. A `hazard` can hurt someone; with an `error` the data can't be trusted as they are; a `warning`
 * bears on how far results can be trusted; a `question` looks wrong and may be right; a `note` is good to know.
 */
export type Severity = 'hazard' | 'error' | 'warning' | 'question' | 'note';

/**
 * Something found out: as code and data for programs, as a sentence for people. Decisions read the code and the data,
 * never the sentence.
 */
export interface Fact<Code extends string = string, Data extends object = Readonly<Record<string, unknown>>> {
  /** Stable, kebab-case: listed in docs/reference/facts.md. */
  readonly code: Code;
  readonly severity: Severity;
  /** Empty where it lies nowhere in the input. */
  readonly where: Where;
  /** Plain JSON: what the sentence is made of. Units stand in the names. */
  readonly data: Data;
  /** The sentence, made of `data` by the entry of `code` in this folder. */
  readonly message: string;
}

/** The sentences of some facts: each code's data go in, its sentence comes out. */
export type Words = Readonly<Record<string, (data: never) => string>>;

/** The codes of some words. */
export type CodeOf<W extends Words> = keyof W & string;

/** The data that the sentence of a code is made of; a code without any takes an empty object. */
export type DataOf<W extends Words, Code extends CodeOf<W>> =
  Parameters<W[Code]> extends [infer Data extends object] ? Data : Record<string, never>;

/** A fact and its sentence. */
export function fact<W extends Words, Code extends CodeOf<W>>(
  words: W,
  code: Code,
  severity: Severity,
  data: DataOf<W, Code>,
  where: Where = {},
): Fact<Code, DataOf<W, Code>> {
  return { code, severity, where, data, message: words[code]!(data as never) };
}

/** A fact alone, without what else stands beside it. */
export function factOf({ code, severity, where, data, message }: Fact): Fact {
  return { code, severity, where, data, message };
}
