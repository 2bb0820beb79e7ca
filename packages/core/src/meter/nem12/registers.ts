import { dateOf, toldRuns } from '../day-runs.ts';
import type { FindingList } from '../findings.ts';
import type { Declared, Role } from '../readings.ts';

/** A register of a connection point, of which a record 200 or what is read says that it is there. */
interface Register {
  readonly suffix: string;
  readonly role: Role;
  /** Of its first record 200. */
  readonly line: number;
  /** Energy of each day with a reading, kWh, by civil day. */
  readonly days: Map<number, number>;
}

/** A connection point: its registers, and those that its configuration names on each day. */
interface Point {
  readonly registers: Map<string, Register>;
  /** The configurations of the records 200 that a day was read under. */
  readonly configurations: Map<number, Set<string>>;
}

/** Which of several points is told of. */
interface Named {
  readonly usagePoint?: number;
}

/**
 * Which registers a NEM12 file declares, and on which days each of them is read. The energy of a connection point is
 * known on days of which all its registers are.
 */
export class Registers {
  readonly #points = new Map<string, Point>();

  /** A record 200 declares a register, also where nothing of it can be read. */
  declare(point: string, suffix: string, line: number): void {
    const role = roleOf(suffix);
    if (role === undefined) return;
    const known = this.#points.get(point) ?? { registers: new Map(), configurations: new Map() };
    this.#points.set(point, known);
    if (!known.registers.has(suffix)) known.registers.set(suffix, { suffix, role, line, days: new Map() });
  }

  /** A day of a register was read, under a record 200 with this configuration. */
  read(point: string, suffix: string, day: number, configuration: string, kwh: number): void {
    const { registers, configurations } = this.#points.get(point)!;
    const { days } = registers.get(suffix)!;
    days.set(day, (days.get(day) ?? 0) + kwh);
    const known = configurations.get(day);
    if (known === undefined) configurations.set(day, new Set([configuration]));
    else known.add(configuration);
  }

  /** What the configurations of a point say of registers that aren't read. */
  declaredAt(name: string): Declared {
    const point = this.#points.get(name)!;
    const unread = [...undeclaredIn(point)].map(({ suffix, role }) => ({
      register: suffix.toLowerCase(),
      name: `register ${shown(suffix)}`,
      role,
    }));
    return { unread, allListed: areAllNamed(point) };
  }

  /**
   * Tells of registers that lack all or some of the days of the others.
   *
   * @param isRead whether a point is read
   * @param numberOf the number of a point, from 1 (0: nothing of it is read); absent where there is but one
   * @returns civil days on which a register of a point was not there, by `point|suffix`: it counted nothing
   */
  settle(
    findings: FindingList,
    isRead: (point: string) => boolean,
    numberOf?: (point: string) => number,
  ): Map<string, number[]> {
    const absent = new Map<string, number[]>();
    for (const [name, point] of this.#points) {
      if (!isRead(name)) continue;
      const of = numberOf === undefined ? {} : { usagePoint: numberOf(name) };
      const named = namedIn(point);
      for (const register of point.registers.values()) {
        if (register.days.size === 0) {
          const { suffix, role, line } = register;
          findings.add(
            'register-missing',
            'error',
            { why: 'no-day', register: shown(suffix), role, ...of },
            { line, key: name + suffix },
          );
          continue;
        }
        const missing: number[] = [];
        const unnamed: number[] = [];
        for (const day of daysBeside(point, register.role))
          if (!register.days.has(day)) (named(register.suffix, day) ? missing : unnamed).push(day);
        absent.set(`${name}|${register.suffix}`, unnamed);
        if (register.role === 'export') tellBegin(point, of, findings);
        if (missing.length > 0) tellMissing(name, of, point, register, missing, findings);
      }
    }
    return absent;
  }
}

/** What a register measures by the first letter of its suffix; undefined where that is no active energy. */
export function roleOf(suffix: string): Role | undefined {
  return suffix[0] === 'E' ? 'import' : suffix[0] === 'B' ? 'export' : suffix[0] === 'N' ? 'net' : undefined;
}

/** The suffixes of a configuration, two characters each; undefined where it is no row of such. */
function suffixesOf(configuration: string): string[] | undefined {
  return /^(?:[A-Z][0-9A-Z])+$/.test(configuration) ? configuration.match(/../g)! : undefined;
}

/**
 * Whether a register counted on a day, as configurations say; each register on every day where they don't name what is
 * read on their own days.
 */
function namedIn(point: Point): (suffix: string, day: number) => boolean {
  if (!areAllNamed(point)) return () => true;
  return (suffix, day) =>
    [...point.configurations.get(day)!].some((configuration) => suffixesOf(configuration)!.includes(suffix));
}

/** Whether each configuration names what is read on its days. */
function areAllNamed({ registers, configurations }: Point): boolean {
  return [...registers.values()].every(({ suffix, days }) =>
    [...days.keys()].every((day) =>
      [...configurations.get(day)!].every((configuration) => suffixesOf(configuration)?.includes(suffix) === true),
    ),
  );
}

/** The days on which some register of a role is read, in order. */
function daysOf({ registers }: Point, role: Role): number[] {
  const days = new Set<number>();
  for (const register of registers.values())
    if (register.role === role) for (const day of register.days.keys()) days.add(day);
  return [...days].sort((a, b) => a - b);
}

/**
 * The days of which a register of a role should have readings: those of the others of its role, and where configurations say which
 * registers there are, for what is given those on which something is taken.
 */
function daysBeside(point: Point, role: Role): number[] {
  const own = daysOf(point, role);
  if (role !== 'export' || !areAllNamed(point)) return own;
  return [...new Set([...own, ...daysOf(point, 'import')])].sort((a, b) => a - b);
}

/** Tells that a home began to sell: before, its configurations name no register of export. */
function tellBegin(point: Point, of: Named, findings: FindingList): void {
  const [first] = daysOf(point, 'export');
  if (first === undefined || !areAllNamed(point)) return;
  const before = daysOf(point, 'import').filter((day) => day < first);
  const names = (day: number) =>
    [...point.configurations.get(day)!].some((each) => suffixesOf(each)!.some((suffix) => roleOf(suffix) === 'export'));
  if (before.length === 0 || before.some(names)) return;
  const data = { from: dateOf(first), days: before.length, by: 'configuration' as const, ...of };
  findings.add('export-begins', 'warning', data, { key: String(of.usagePoint) });
}

function tellMissing(
  name: string,
  of: Named,
  { registers }: Point,
  { suffix, role, line }: Register,
  missing: readonly number[],
  findings: FindingList,
): void {
  const isThere = ({ days }: Register) => missing.some((day) => days.has(day));
  const beside = [...registers.values()].filter((other) => other.suffix !== suffix && other.days.size > 0);
  const same = beside.filter((other) => other.role === role);
  const others = same.some(isThere) ? same : beside.filter(isThere);
  let othersKwh = 0;
  for (const { days } of others) for (const day of missing) othersKwh += days.get(day) ?? 0;
  findings.add(
    'register-missing',
    'warning',
    {
      why: 'days',
      register: shown(suffix),
      role,
      ...of,
      days: missing.length,
      runs: toldRuns(missing),
      others: others.map((other) => shown(other.suffix)),
      othersKwh,
    },
    { line, count: missing.length, key: name + suffix },
  );
}

/** What configurations name and no record 200 declares. */
function* undeclaredIn({ registers, configurations }: Point): Iterable<{ suffix: string; role: 'import' | 'export' }> {
  const named = new Set<string>();
  for (const each of configurations.values())
    for (const configuration of each) for (const suffix of suffixesOf(configuration) ?? []) named.add(suffix);
  for (const suffix of named) {
    const role = roleOf(suffix);
    if ((role === 'import' || role === 'export') && !registers.has(suffix)) yield { suffix, role };
  }
}

/** A suffix is printed only as the standard has it: a cell of a damaged row may hold anything. */
export function shown(suffix: string): string {
  return /^[A-Z][0-9A-Z]$/.test(suffix) ? suffix : `${suffix[0]}…`;
}
