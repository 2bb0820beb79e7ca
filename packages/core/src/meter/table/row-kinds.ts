import { hasLongNumber } from '../../words/quote.ts';
import type { FindingList } from '../findings.ts';
import type { ParseOptions, RowKind } from '../options.ts';
import { jointPart, namedPart, registerByPlace } from '../part.ts';
import type { Evidence, Kind, Role } from '../readings.ts';
import { directionOf, isPrice, isSafeText, isUseText, unitOf, wordsOf } from './header.ts';
import { readNumber } from './numbers.ts';
import { ESTIMATED_WORDS } from './quality.ts';
import { findColumn, type Shape } from './shape.ts';

/** Kinds of rows that one file may have: more are notes, not kinds. */
const MOST_KINDS = 64;
/** Texts of a column that isn't known by its name or its words. */
const MOST_TOLD = 12;

/** A price window or circuit: its rows are parts of one whole, whatever else the text says. */
const PART =
  /\b(?:solar (?:sponge|soak)|off ?peak|(?:on|mid|part|partial|super|critical) ?peak|peak|shoulder|day|night|weekdays?|weekends?|holidays?|summer|winter|tier ?\d|tou ?\d|(?:high|low) (?:tariff|rate|usage|consumption)|general|controlled(?: load)?)\b|^gc$|^cl ?\d?$|^(?:high|low|super|t[1-4]|p[1-6]|f[123]|f23)$/;
/** Words of a register that say more than that only beside a word of what is measured: "import high", "consumption p1". */
const REGISTER = /\b(?:high|low|super|t[1-4]|p[1-6]|f[123]|f23)\b/;
const TOTAL = /\btotals?\b|\bwhole\b|\ball\b/;
const QUALITY =
  /^(?:actual|measured|metered|validated|final|preliminary|provisional|estimated?|edited|substituted|interpolated|interval|electric(?:ity)?|normal|regular)(?: (?:data|reads?|readings?|values?|intervals?))?$/;
const OTHER_QUANTITY =
  /\bk?varh?\b|\bkvah?\b|\breactive\b|\bapparent\b|\bvolt(?:s|age)?\b|\bamp(?:s|eres?)?\b|\bcurrent\b|\bpower factor\b|\bpf\b|\bfrequency\b|\bhz\b|\btemp(?:erature)?\b|\b(?:max(?:imum)?|min(?:imum)?) /;
/** IEC 62056-61: medium-channel:quantity.processing.rate, medium and channel often left out. */
const OBIS = /^(?:(\d{1,3})-(\d{1,3}):)?(\d{1,3})\.(\d{1,3})\.(\d{1,3})(?:[*&.]\d{1,3})?$/;

/** What one cell says; `plain` where it speaks of quality or of electricity alone. */
interface Cell extends Kind {
  readonly key: string;
  readonly plain?: boolean;
}

/** Reads the cells that tell rows apart, under what the user states of them. */
export class KindReader {
  readonly #stated: ReadonlyMap<string, RowKind>;
  readonly #others: Kind | undefined;
  /** Stated texts that hold a number, without it. */
  readonly #siblings: ReadonlySet<string>;
  readonly #met = new Set<string>();
  /** By all texts, and by those of them that tell something. */
  readonly #byTexts = new Map<string, Kind>();
  readonly #kinds = new Map<string, Kind>();

  constructor(rows: ParseOptions['rows']) {
    this.#stated = new Map(Object.entries(rows ?? {}).map(([text, kind]) => [keyOf(text), kind]));
    this.#siblings = new Set([...this.#stated.keys()].filter((key) => /\d/.test(key)).map(stemOf));
    const others = this.#stated.get('*');
    if (others !== undefined)
      this.#others = {
        shown: 'the others',
        understood: true,
        ...(others === 'ignore' ? { leave: 'stated' } : { role: others }),
      };
  }

  /** The file's rows are of more kinds than any list has: the column holds notes. */
  get tooMany(): boolean {
    return this.#kinds.size > MOST_KINDS;
  }

  /** The same object for the same meaning. */
  read(types: readonly string[], unit: string): Kind {
    const texts = `${types.join('\n')}\n\n${unit}`;
    const known = this.#byTexts.get(texts) ?? (this.tooMany ? this.#kinds.values().next().value : undefined);
    if (known !== undefined) return known;
    const cells = types.map((text) => this.#cell(text));
    if (unit.trim() !== '') cells.push(unitCell(unit));
    const kind = this.#combine(cells, types.length);
    if (this.#byTexts.size < 1000) this.#byTexts.set(texts, kind);
    return kind;
  }

  #combine(cells: readonly Cell[], types: number): Kind {
    const leave = cells.find((cell) => cell.leave !== undefined);
    if (leave !== undefined) return this.#once(`left\n${leave.key}`, leave);
    // All rows that `*` stands for are of one kind: two of them at one time are repeats, never parts to add.
    if (this.#others !== undefined && !cells.some((cell) => cell.stated === true)) return this.#other(cells);
    const first = <K extends keyof Kind>(field: K): Kind[K] | undefined =>
      cells.find((cell) => cell[field] !== undefined)?.[field];
    const told = cells.filter((cell) => cell.blank !== true && cell.plain !== true);
    const blank = types > 0 && cells.slice(0, types).every((cell) => cell.blank === true);
    const role = cells.find((cell) => cell.stated === true)?.role ?? first('role');
    const unit = first('unit');
    const part = jointPart(cells.flatMap((cell) => cell.part ?? []));
    const byPlace = first('byPlace');
    return this.#once(`${blank}\n${told.map((cell) => cell.key).join('\n')}`, {
      shown: told.length === 0 ? 'no text' : told.map((cell) => cell.shown).join(', '),
      understood: role !== undefined || told.every((cell) => cell.understood),
      ...(role === undefined ? {} : { role }),
      ...(unit === undefined ? {} : { unit }),
      ...(part === undefined ? {} : { part }),
      ...(part === undefined && first('total') === true ? { total: true } : {}),
      ...(part === undefined && byPlace !== undefined ? { byPlace } : {}),
      ...(role === undefined && first('gross') === true ? { gross: true } : {}),
      ...(first('stated') === true ? { stated: true } : {}),
      ...(blank ? { blank } : {}),
    });
  }

  /**
   * What `*` stands for; registers and totals that it leaves out, and texts that differ from stated ones in a number alone, are kept
   * apart, so that they can be told by their names.
   */
  #other(cells: readonly Cell[]): Kind {
    const named = cells.find(
      ({ key, part, total }) => part?.kind === 'window' || total === true || this.#siblings.has(stemOf(key)),
    );
    // A column of notes may hold more such names than any list.
    if (this.#others?.leave === undefined || named === undefined || this.#kinds.size >= MOST_KINDS / 2)
      return this.#others!;
    const { key, shown, part, role } = named;
    return this.#once(`left\n*${key}`, {
      ...this.#others,
      shown,
      ...(part === undefined ? {} : { part }),
      ...(role === undefined ? {} : { role }),
    });
  }

  #once(meaning: string, kind: Kind): Kind {
    const known = this.#kinds.get(meaning);
    if (known === undefined) this.#kinds.set(meaning, kind);
    return known ?? kind;
  }

  #cell(text: string): Cell {
    const key = keyOf(text);
    const stated = this.#stated.get(key);
    const shown = shownText(text);
    if (stated === undefined || key === '*') return { key, shown, ...kindOf(text.trim()) };
    this.#met.add(key);
    const own = kindOf(text.trim());
    return stated === 'ignore'
      ? { ...own, key, shown, leave: own.leave ?? 'stated', stated: true, understood: true }
      : { key, shown, role: stated, ...statedPart(own, key), stated: true, understood: true };
  }

  /** False where the column tells nothing apart. Says which stated texts no row has. */
  finish(hasColumn: boolean, findings: FindingList): boolean {
    if (this.tooMany) {
      findings.add('rows-unclear', 'error', { why: 'too-many-texts', mostTexts: MOST_KINDS });
      return false;
    }
    const unmet = [...this.#stated.keys()].filter((key) => key !== '*' && !this.#met.has(key)).length;
    if (unmet > 0 || (this.#stated.size > 0 && !hasColumn))
      findings.add(
        'unknown-rows',
        'error',
        hasColumn ? { why: 'no-such-text', texts: unmet } : { why: 'no-type-column' },
        { count: Math.max(1, unmet) },
      );
    return true;
  }
}

/** Says that rows of a kind are left out, and why. */
export function noteLeft(
  leave: NonNullable<Kind['leave']>,
  kind: Kind,
  findings: FindingList,
  evidence: Evidence,
): void {
  if (leave === 'stated') evidence.push(`rows of ${kind.shown} are left out: stated`);
  else if (leave === 'other-commodity') findings.add('other-commodity', 'note', { left: 'rows' }, { count: 0 });
  else findings.add('other-quantity', 'note', { left: 'rows' });
}

/**
 * The columns that tell rows apart: those stated or named for it, else one of text that names a direction in every row
 * (or in any).
 */
export function typeColumns(
  shape: Shape,
  taken: ReadonlySet<number>,
  where: 'every row' | 'any row',
  options: ParseOptions,
  findings: FindingList,
): number[] {
  const stated = options.columns?.type;
  if (stated !== undefined) {
    const column = findColumn(shape, stated, 'type', findings);
    return column < 0 ? [] : [column];
  }
  const free = shape.classes.flatMap((_, c) => (taken.has(c) ? [] : [c]));
  const cellsOf = (c: number) => shape.rows.map((row) => row.cells[c] ?? '');
  const named = free.filter((c) => shape.header[c]?.tells === 'type' && tellsRowsApart(cellsOf(c)));
  if (named.length > 0) return named;
  const says = (text: string) => directionOf(text) !== undefined;
  const directed = free
    .filter((c) => {
      if (shape.classes[c] !== 'text' || shape.header[c]?.tells !== undefined) return false;
      if (where === 'any row') return cellsOf(c).some(says);
      return shape.header[c]?.skip === undefined && cellsOf(c).every(says);
    })
    .slice(0, 1);
  if (directed.length > 0) return directed;
  const timeColumns = where === 'every row' ? [...taken].filter((c) => c >= 0) : [...taken].slice(0, 1);
  const times = shape.rows.map((row) => timeColumns.map((c) => row.cells[c] ?? '').join('\n'));
  const registers = free
    .filter((c) => namesRegisters(cellsOf(c), times) || (where === 'every row' && tellsTimesApart(c, shape, times)))
    .slice(0, 1);
  if (registers.length > 0 || options.rows === undefined) return registers;
  return free.filter((c) => holdsStated(cellsOf(c), shape.classes[c] === 'text', options.rows!)).slice(0, 1);
}

/** Whether a column holds the texts that `rows` states, and no other than those that it states. */
function holdsStated(cells: readonly string[], isText: boolean, rows: NonNullable<ParseOptions['rows']>): boolean {
  const stated = new Set(Object.keys(rows).map(keyOf));
  const texts = new Set(cells.map(keyOf));
  const named = [...texts].filter((text) => text !== '' && stated.has(text));
  return named.length > 0 && (named.length === texts.size || (isText && stated.has('*')));
}

/**
 * Whether a column names the registers of one meter, whatever its header says: every text of it is a register, a total or a
 * direction, and most times have several, or both directions are among them. Where each time has one register, it says which
 * window counts.
 */
function namesRegisters(cells: readonly string[], times: readonly string[]): boolean {
  const texts = new Set(cells.map(keyOf));
  if (texts.size < 2 || texts.size > MOST_KINDS) return false;
  const kinds = [...texts].map(kindOf);
  if (!kinds.every(({ part, total, role }) => part !== undefined || total === true || role !== undefined)) return false;
  if (!kinds.some(({ part, total }) => part !== undefined || total === true)) return false;
  const isSold = ({ role }: (typeof kinds)[number]) => role === 'export';
  if (kinds.some(isSold) && !kinds.every(isSold)) return true;
  return haveSeveral(textsAt(cells, times));
}

/** The texts of each time. */
function textsAt(cells: readonly string[], times: readonly string[]): string[][] {
  const at = new Map<string, string[]>();
  for (const [r, time] of times.entries()) {
    const own = at.get(time);
    if (own === undefined) at.set(time, [keyOf(cells[r]!)]);
    else own.push(keyOf(cells[r]!));
  }
  return [...at.values()];
}

/** Whether most times have several texts. */
function haveSeveral(texts: readonly (readonly string[])[]): boolean {
  return texts.filter((own) => new Set(own).size > 1).length > texts.length / 2;
}

/**
 * Whether a column without a name that is known here tells rows of one time apart: a few texts, no words of quality, of which most
 * times have several and none has one twice. What they say is a question, but not whether they are repeats.
 */
function tellsTimesApart(c: number, { header, classes, rows }: Shape, times: readonly string[]): boolean {
  const { tells, role, unit, time, skip } = header[c] ?? {};
  if ((tells ?? role ?? unit ?? time) !== undefined || skip === 'cost' || skip === 'battery') return false;
  const cells = rows.map((row) => row.cells[c] ?? '');
  const texts = new Set(cells.map(keyOf));
  const areNames = [...texts].every((text) => /^\d{1,2}$/.test(text) || Number.isNaN(readNumber(text, true)));
  if (texts.size < 2 || texts.size > MOST_TOLD || texts.has('') || !areNames) return false;
  if (classes[c] !== 'text' && classes[c] !== 'number') return false;
  if ([...texts].some((text) => kindOf(text).plain === true || ESTIMATED_WORDS.test(text))) return false;
  const at = textsAt(cells, times);
  return haveSeveral(at) && at.filter((own) => new Set(own).size < own.length).length <= at.length / 100;
}

/** A total that is stated beside its parts isn't one of them. */
function statedPart({ total, part }: Pick<Kind, 'part' | 'total'>, key: string): Pick<Kind, 'part' | 'total'> {
  return total === true ? { total } : { part: { ...(part ?? namedPart(key)), id: key, known: part?.id ?? key } };
}

/** Whether a column that is named for it tells rows apart: a few short texts or codes, no notes and no readings. */
function tellsRowsApart(cells: readonly string[]): boolean {
  const texts = new Set(cells.map(keyOf));
  texts.delete('');
  if (texts.size === 0 || texts.size > MOST_KINDS) return false;
  return [...texts].every((text) => OBIS.test(text) || Number.isNaN(Number(text)) || /^\d{1,3}$/.test(text));
}

export function shownText(text: string): string {
  const trimmed = text.trim();
  return isSafeText(trimmed) || (OBIS.test(trimmed) && !hasLongNumber(trimmed)) ? `"${trimmed}"` : 'a text of its own';
}

function unitCell(text: string): Cell {
  const shown = shownText(text);
  const key = keyOf(text);
  const unit = unitOf(text);
  if (unit !== undefined) return { key, shown, unit, understood: true };
  if (isPrice(text)) return { key, shown, leave: 'other-quantity', understood: true };
  const words = wordsOf(text).join(' ');
  if (directionOf(text) === 'gas' || /^(?:ccf|m3|m³|gal(?:lons?)?|mj|gj|(?:k ?|mm)?btu|kcal)$/.test(words))
    return { key, shown, leave: 'other-commodity', understood: true };
  if (OTHER_QUANTITY.test(words) || /^(?:v|a|c|f|°?[cf]|%)$/.test(words))
    return { key, shown, leave: 'other-quantity', understood: true };
  return { key, shown, understood: false };
}

export function keyOf(text: string): string {
  return text.trim().toLowerCase().replace(/\s+/g, ' ');
}

function stemOf(key: string): string {
  return key.replace(/\d+/g, '#');
}

export function kindOf(text: string): Omit<Cell, 'key' | 'shown'> {
  if (text === '') return { understood: true, blank: true };
  const obis = OBIS.exec(text);
  if (obis !== null) return obisKind(obis);
  if (/^\+ ?A$|^A ?\+$/i.test(text)) return { role: 'import', understood: true };
  if (/^[-−–] ?A$|^A ?[-−–]$/i.test(text)) return { role: 'export', understood: true };
  if (/^[-−–+] ?R$|^R ?[-−–+]$/i.test(text)) return { leave: 'other-quantity', understood: true };
  const words = wordsOf(text).join(' ');
  if (QUALITY.test(words)) return { plain: true, understood: true };
  const direction = directionOf(text);
  if (direction === 'gas') return { leave: 'other-commodity', understood: true };
  if (OTHER_QUANTITY.test(words)) return { leave: 'other-quantity', understood: true };
  const use = isUseText(words);
  const unit = unitOf(text);
  const isMeasured = use || direction === 'import' || direction === 'export' || direction === 'load';
  const part = PART.test(words) || (isMeasured && REGISTER.test(words)) ? words : undefined;
  const byPlace = part === undefined ? registerByPlace(words) : undefined;
  return {
    ...(direction === undefined ? {} : { role: direction }),
    ...(unit === undefined ? {} : { unit }),
    ...(part === undefined ? {} : { part: namedPart(part) }),
    ...(byPlace === undefined ? {} : { byPlace }),
    ...(direction === undefined && /\bconsum|^gc$|^cl ?\d?$/.test(words) ? { gross: true } : {}),
    ...(part === undefined && TOTAL.test(words) ? { total: true } : {}),
    understood: direction !== undefined || use || part !== undefined || unit !== undefined,
  };
}

/**
 * An OBIS code: quantity 1 is active energy from the grid, 2 to the grid, 16 the one less the other, 3 to 14 are
 * reactive, apparent, current, voltage and the like; processing 8 is since the beginning, 9 since the last bill, 29 in
 * the interval; rate 0 is the total of the rates 1, 2, ….
 *
 * @see IEC 62056-61 (in public tables such as promotic.eu's "IEC62056 OBIS"; processing 9 and 29 from memory)
 */
function obisKind([, medium, , quantity, processing, rate]: RegExpExecArray): Omit<Cell, 'key' | 'shown'> {
  if (medium !== undefined && Number(medium) > 1) return { leave: 'other-commodity', understood: true };
  const c = Number(quantity);
  if (c >= 3 && c <= 14) return { leave: 'other-quantity', understood: true };
  const role: Role | undefined = c === 1 ? 'import' : c === 2 ? 'export' : c === 16 ? 'net' : undefined;
  if (role === undefined || ![8, 9, 29].includes(Number(processing))) return { understood: false };
  return {
    role,
    understood: true,
    ...(Number(rate) === 0 ? { total: true } : { part: { id: `rate ${Number(rate)}`, kind: 'window' } }),
  };
}
