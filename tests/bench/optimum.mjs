// The best in hindsight: the demo home's beside a bare loop, made-up homes' beside an outside simplex solver, and how it grows.
import { demoHome } from './harness/demo.mjs';
import { bareLoop } from './harness/limit.mjs';
import { solverOf } from './harness/linear-program.mjs';
import { checksum } from './harness/lines.mjs';
import { madeProblem } from './harness/made.mjs';

const YEAR = 35_040;
/** A problem's net load, two prices and two limits in, and seven series of the schedule out. */
const SOLVED = { arrays: 5 + 7 };
/** As on the demo home: 2 % of what is stored a month. */
const DECAY = 6.9e-6;

const solvers = new Map();
for (const kind of ['window', 'volatile'])
  for (const demand of [false, true]) {
    const problem = madeProblem(YEAR, 0.25, kind, demand);
    solvers.set(`${kind} ${demand}`, { problem, solve: await solverOf(problem) });
  }

export function* groups({ core }) {
  const solved = (name, problem, more) => {
    // As whoever solves many problems of one length in a row does.
    const scratch = core.makeScratch();
    let solution;
    return {
      name,
      steps: problem.netLoadKwh.length,
      limit: SOLVED,
      ...more,
      run() {
        solution = core.optimalDispatch(problem, scratch);
      },
      sum: () => core.optimalDispatch(problem, scratch).cost,
      note: () =>
        solution.proof === 'exact' ? undefined : `gap ${solution.gap.toExponential(1)} of ${solution.cost.toFixed(2)}`,
    };
  };

  const { home } = demoHome(core);
  const demo = core.homeProblem(core.homeOnAxis(home), home.tariff);
  const { importLimitKw: _, exportLimitKw: __, ...free } = demo;
  const best = core.optimalDispatch(demo);
  const prices = core.storedPrices(demo, best);
  const bare = { name: 'bare loop', fixed: true, steps: demo.netLoadKwh.length };
  const out = new Float64Array(demo.netLoadKwh.length);
  const common = { beside: 'bare loop', steps: demo.netLoadKwh.length };
  yield {
    title: `demo home, a year of ${demo.netLoadKwh.length} quarter hours: the best in hindsight`,
    lines: [
      { ...bare, run: () => bareLoop(demo.netLoadKwh, out), sum: () => checksum(out) },
      solved('as it is', demo, { beside: 'bare loop', aim: { mostNs: 90 } }),
      solved('without decay', { ...demo, selfDischargePerStep: 0 }, { beside: 'bare loop', aim: { mostNs: 35 } }),
      // A limit that binds: half of what its sun sends out at the most.
      solved('export limit that binds', { ...demo, exportLimitKw: 1.6 }, { beside: 'bare loop', aim: { mostNs: 90 } }),
      solved('without limits', free, { beside: 'bare loop', aim: { mostNs: 90 } }),
      {
        ...common,
        name: 'prices of its schedule',
        run: () => core.storedPrices(demo, best),
        sum: () => checksum(core.storedPrices(demo, best)),
      },
      {
        ...common,
        name: 'check of its bound',
        run: () => core.checkBound(demo, best.cost, prices),
        sum: () => core.checkBound(demo, best.cost, prices).bound,
      },
    ],
  };

  for (const [kind, words, least] of [
    ['window', 'three prices a day', 1000],
    ['volatile', 'hourly prices', 250],
  ])
    for (const demand of [false, true]) {
      const { problem, solve } = solvers.get(`${kind} ${demand}`);
      let cost;
      yield {
        title: `a made-up home, ${words}${demand ? ' and a monthly demand charge' : ''}: beside an outside solver`,
        leastRounds: 3,
        lines: [
          {
            name: 'simplex',
            made: true,
            fixed: true,
            take() {
              const found = solve();
              cost = found.cost;
              return found.ms;
            },
            sum: () => cost,
          },
          solved('ours', problem, {
            made: true,
            beside: 'simplex',
            aim: { least: demand ? 100 : least },
            within: demand ? 1e-6 : 1e-9,
          }),
        ],
      };
    }

  for (const [kind, words, mostNs] of [
    ['window', 'three prices a day', 35],
    ['volatile', 'hourly prices', 110],
  ])
    for (const decay of [0, DECAY]) {
      const of = (name, steps, hours, more) =>
        solved(
          name,
          { ...madeProblem(steps, hours, kind), selfDischargePerStep: decay * (hours / 0.25) },
          { made: true, ...more },
        );
      const grown = { beside: '1 year of 15 min', perStep: true, aim: { most: 1.1 } };
      yield {
        title: `a made-up home, ${words}${decay > 0 ? ', decay' : ''}: time a step as years and steps grow`,
        lines: [
          of('1 year of 15 min', YEAR, 0.25, { aim: { mostNs: decay > 0 ? Math.max(mostNs, 90) : mostNs } }),
          ...[2, 5, 10].map((years) => of(`${years} years of 15 min`, years * YEAR, 0.25, grown)),
          of('1 year of 60 min', YEAR / 4, 1, grown),
          of('1 year of 5 min', YEAR * 3, 1 / 12, grown),
        ],
      };
    }
}
