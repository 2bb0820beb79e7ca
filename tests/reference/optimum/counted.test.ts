import { type DispatchProblem, optimalDispatch } from '@duskbank/core/dispatch';
import type { Highs } from 'highs';
import { beforeAll, describe, expect, it } from 'vitest';
import { checkSchedule } from './check-schedule.ts';
import { UNSERVED } from './difference.ts';
import { loadSolver, type ProgramOptions, solveProgram } from './linear-program.ts';
import { randomProblem, seeded } from './problems.ts';

// Minimum bills that count this and that, beside blocks that rise, classes of power and prices of a kW: against HiGHS, an
// outside solver for mixed-integer programs. Three months of two days each.
let highs: Highs;
beforeAll(async () => {
  highs = await loadSolver();
});

const MONTHS = 3;
const UP_TO_KWH = [6, 14, Number.POSITIVE_INFINITY];
const ADDERS = [0, 0.08, 0.2];
const UP_TO_KW = [1, 2, 3.5, Number.POSITIVE_INFINITY];
const FEES = [1, 2.5, 5, 9];

interface Shape {
  readonly blocks?: boolean;
  readonly power?: boolean;
  readonly classes?: boolean;
  /** What the minimum counts; energy is import and export. */
  readonly counts: readonly ('energy' | 'import' | 'blocks' | 'power' | 'classes')[];
  /** The tax on everything, 1 where there is none. */
  readonly tax?: number;
}

const SHAPES: Readonly<Record<string, Shape>> = {
  'blocks, counted': { blocks: true, counts: ['energy', 'blocks'] },
  'blocks, not counted': { blocks: true, counts: ['energy'] },
  'power, not counted, beside blocks that are': { blocks: true, power: true, counts: ['energy', 'blocks'] },
  'all of it counted but classes': { blocks: true, power: true, counts: ['energy', 'blocks', 'power'], tax: 1.1 },
  'power alone': { power: true, counts: ['power'] },
  'classes, counted': { classes: true, counts: ['energy', 'classes'] },
  'classes, not counted': { classes: true, counts: ['energy'], tax: 1.2 },
  'classes alone': { classes: true, counts: ['classes'] },
  'blocks and classes, counted': { blocks: true, classes: true, counts: ['energy', 'blocks', 'classes'] },
  'blocks, power and classes, power not counted': {
    blocks: true,
    power: true,
    classes: true,
    counts: ['energy', 'blocks', 'classes'],
  },
  'import alone, so that export pays beside it': { counts: ['import'] },
};

/** By how much best found and bound of all homes of a shape may miss the optimum, as a share of its cost; others meet it. */
const MOST: Readonly<Record<string, readonly [number, number]>> = {
  'classes, counted': [1e-3, 0.02],
  'classes, not counted': [1e-3, 0.07],
  'classes alone': [2e-3, 0.02],
  'blocks and classes, counted': [1e-3, 0.02],
  'blocks, power and classes, power not counted': [1e-2, 0.05],
  'import alone, so that export pays beside it': [1e-2, 0.05],
};

function solved(seed: number, { blocks, power, classes, counts, tax = 1 }: Shape) {
  const random = seeded(seed + 97);
  const drawn = randomProblem(seed, counts.includes('import') ? 15 : 72, 'window', true);
  const base: DispatchProblem = {
    ...drawn,
    stepHours: 1,
    netLoadKwh: drawn.netLoadKwh.map((kwh) => kwh / drawn.stepHours),
  };
  const n = base.netLoadKwh.length;
  const month = Int32Array.from({ length: n }, (_, i) => Math.floor((MONTHS * i) / n));
  const amounts = [0.4, 0.8, 1, 1.3];
  const scale = power || classes ? 9 : 6;
  const amount = Float64Array.from(
    { length: MONTHS },
    () => scale * amounts[Math.floor(4 * random())]! * (0.5 + random()),
  );
  const times = (weight: number, numbers: readonly number[]) => Float64Array.from(numbers, (each) => weight * each);
  const perMonth = (number: number) => new Float64Array(MONTHS).fill(number);
  /** The bill's terms, each with its weight. */
  const termsOf = (ofBlocks: number, ofPower: number, ofClasses: number) => {
    const groups = { group: month, groups: MONTHS, period: Int32Array.of(0, 1, 2) };
    const measured = { averagingSteps: 1, phaseSteps: 0, highestDays: 1, scale: 1, minimumKw: perMonth(0) };
    return [
      ...(blocks
        ? [
            {
              ...groups,
              kind: 'tier' as const,
              name: 'Blocks',
              flow: 'import' as const,
              upToKwh: [0, 1, 2].map(() => Float64Array.from(UP_TO_KWH)),
              adderPerKwh: [0, 1, 2].map(() => times(ofBlocks, ADDERS)),
              convex: true,
            },
          ]
        : []),
      ...(power
        ? [
            {
              ...groups,
              ...measured,
              kind: 'demand' as const,
              name: 'Power',
              pricePerKw: perMonth(ofPower),
              convex: true,
            },
          ]
        : []),
      ...(classes
        ? [
            {
              ...groups,
              ...measured,
              kind: 'demand' as const,
              name: 'Class',
              pricePerKw: perMonth(0),
              convex: false,
              steps: {
                upToKw: Float64Array.from(UP_TO_KW),
                amount: Float64Array.from(FEES),
                share: perMonth(ofClasses),
              },
            },
          ]
        : []),
    ];
  };
  const counted = (what: Shape['counts'][number]) => (counts.includes(what) ? 1 : 0);
  const ofImport = Math.max(counted('energy'), counted('import'));
  const problem: DispatchProblem = {
    ...base,
    importPricePerKwh: base.importPricePerKwh.map((price) => tax * price),
    exportPricePerKwh: base.exportPricePerKwh.map((price) => tax * price),
  };
  const terms = [
    ...termsOf(tax, tax, tax),
    {
      kind: 'minimum' as const,
      name: 'Least',
      group: month,
      groups: MONTHS,
      period: Int32Array.of(0, 1, 2),
      convex: counts.includes('energy'),
      amount,
      share: perMonth(tax),
      counted: {
        importPricePerKwh: base.importPricePerKwh.map((price) => ofImport * price),
        exportPricePerKwh: base.exportPricePerKwh.map((price) => counted('energy') * price),
        terms: termsOf(counted('blocks'), counted('power'), counted('classes')),
      },
    },
  ];
  const solution = optimalDispatch({ ...problem, terms });
  const program: ProgramOptions = {
    unservedPerKwh: UNSERVED,
    exclusive: counts.includes('import'),
    ...(blocks
      ? { blocks: { group: month, upToKwh: UP_TO_KWH, adderPerKwh: ADDERS.map((adder) => tax * adder) } }
      : {}),
    ...(power ? { demand: [{ pricePerKw: tax, period: month, averagingSteps: 1, soFarKw: 0 }] } : {}),
    ...(classes ? { classes: { period: month, upToKw: UP_TO_KW, fee: FEES.map((fee) => tax * fee) } } : {}),
    minimum: {
      group: month,
      amount,
      share: tax,
      counts: {
        import: ofImport / tax,
        export: counted('energy') / tax,
        blocks: counted('blocks') / tax,
        demand: counted('power') / tax,
        classes: counted('classes') / tax,
      },
    },
  };
  return { problem, solution, expected: solveProgram(highs, problem, program) };
}

describe('bound ≤ optimum ≤ best found, under a minimum bill', () => {
  it.each(Object.entries(SHAPES))('%s', (name, shape) => {
    let above = 0;
    let below = 0;
    let costs = 0;
    for (let seed = 1; seed <= 4; seed++) {
      const { problem, solution, expected } = solved(seed, shape);
      expect(checkSchedule(problem, solution).faults, `seed ${seed}`).toEqual([]);
      const scale = Math.max(1, Math.abs(expected));
      // 1e-5: the solver's own integrality tolerance
      expect((expected - solution.cost) / scale, `best found, seed ${seed}`).toBeLessThanOrEqual(1e-5);
      expect((solution.cost - solution.gap - expected) / scale, `bound, seed ${seed}`).toBeLessThanOrEqual(1e-5);
      above += solution.cost - expected;
      below += expected - (solution.cost - solution.gap);
      costs += expected;
    }
    const [mostAbove, mostBelow] = MOST[name] ?? [1e-6, 1e-6];
    expect(above / costs, 'best found').toBeLessThanOrEqual(mostAbove);
    expect(below / costs, 'bound').toBeLessThanOrEqual(mostBelow);
  });
});
