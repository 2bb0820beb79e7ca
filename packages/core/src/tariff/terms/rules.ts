import {
  flag,
  integers,
  list,
  number,
  oneOf,
  optional,
  type Rule,
  record,
  report,
  series,
  text,
} from '../../input/door.ts';
import type { Runs } from '../runs.ts';
import type { RuleContext } from './kind.ts';
import { type BillTerm, kindOf, termKinds } from './registry.ts';
import type { Cells, CountedCharges, Term } from './term.ts';

/** Runs of cells that cover the axis. */
const someCells: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<Cells>({
    runStart: integers({ least: 0, length: null }),
    runCell: integers({ least: 0, length: null }),
    period: integers({ least: 0, length: null }),
    slot: integers({ least: 0, length: null }),
    periodStart: integers({ least: 0, length: null }),
  })(value, path, looking);
  if (looking.issues.length > before) return;
  const { runStart, runCell, period, slot, periodStart } = value as Cells;
  const cover = (edges: Int32Array) =>
    edges.every((edge, k) => (k === 0 ? edge === 0 : edge > edges[k - 1]!)) &&
    edges[edges.length - 1] === looking.intervals;
  const good =
    cover(runStart) &&
    cover(periodStart) &&
    runCell.length === runStart.length - 1 &&
    runCell.every((cell) => cell < period.length) &&
    slot.length === period.length &&
    period.every((p) => p < periodStart.length - 1);
  if (!good) report(looking, path, 'contradiction', 'cells that don’t cover the axis', 'cells that compileTariff made');
};

/** Whether runs cover an array and each holds one group. */
function areRunsOf(group: Int32Array, { starts, groups }: Runs): boolean {
  const runs = groups.length;
  if (starts.length !== runs + 1 || starts[0] !== 0 || starts[runs] !== group.length) return false;
  for (let r = 0; r < runs; r++) {
    if (starts[r + 1]! <= starts[r]!) return false;
    for (let i = starts[r]!; i < starts[r + 1]!; i++) if (group[i] !== groups[r]) return false;
  }
  return true;
}

const aTerm: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  record<Pick<Term, 'kind' | 'name' | 'groups' | 'convex'>>({
    kind: oneOf(termKinds()),
    name: text,
    groups: number({ whole: true, least: 0, most: 10_000_000 }),
    convex: flag,
  })(value, path, looking);
  if (looking.issues.length > before) return;
  const term = value as Term;
  const { kind, groups } = term;
  const indices = integers({ least: -1, most: groups - 1, length: null });
  record<Pick<Term, 'group' | 'period' | 'byCell' | 'runs'>>({
    // A fixed charge reads no interval.
    group: kind === 'fixed' ? indices : integers({ least: -1, most: groups - 1 }),
    period: integers({ least: -1, length: groups }),
    byCell: optional(record({ cells: someCells, group: indices })),
    runs: optional(
      record<Runs>({ starts: integers({ least: 0, length: null }), groups: integers({ least: -1, length: null }) }),
    ),
  })(term, path, looking);
  if (looking.issues.length === before && term.runs !== undefined && !areRunsOf(term.group, term.runs))
    report(looking, [...path, 'runs'], 'contradiction', 'runs of another group', 'the runs of group, or none');
  kindOf(term).rule(contextOf(groups))(term, path, looking);
};

function contextOf(groups: number): RuleContext {
  return {
    groups,
    each: (bounds) => series({ ...bounds, length: groups }),
    perGroup: (rule) => list(rule, { least: groups, most: groups }),
    next(value, path, looking) {
      const before = looking.issues.length;
      integers({ least: -1, most: groups - 1, length: groups })(value, path, looking);
      if (looking.issues.length > before) return;
      const at = (value as Int32Array).findIndex((to, g) => to >= 0 && to <= g);
      if (at >= 0) report(looking, [...path, at], 'out-of-range', at, 'a later group, or -1');
    },
    counted: countedCharges,
  };
}

/** The terms of a bill; a tier that bills what a netting term leaves must name an earlier one. */
export const someTerms: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  list(aTerm)(value, path, looking);
  if (looking.issues.length > before) return;
  const terms = value as readonly BillTerm[];
  for (const [t, term] of terms.entries()) {
    if (term.kind !== 'tier' || term.netting === undefined) continue;
    const source = terms[term.netting.term];
    if (term.netting.term >= t || source?.kind !== 'netting' || source.groups !== term.netting.tierGroup.length)
      report(
        looking,
        [...path, t, 'netting'],
        'contradiction',
        term.netting.term,
        'the index of an earlier netting term',
      );
  }
};

const countedCharges: Rule = (value, path, looking) =>
  record<CountedCharges>({
    importPricePerKwh: series(),
    exportPricePerKwh: series(),
    terms: someTerms,
    byCell: optional(
      record<NonNullable<CountedCharges['byCell']>>({
        cells: someCells,
        importPricePerKwh: series({ length: null }),
        exportPricePerKwh: series({ length: null }),
        series: list(record({ prices: series(), importWeight: number(), exportWeight: number() })),
      }),
    ),
  })(value, path, looking);
