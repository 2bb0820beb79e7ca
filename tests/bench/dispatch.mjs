// A year of the demo home through each strategy, and a cold `compare`.
import { fileURLToPath } from 'node:url';
import { processMs, processPeakMb } from './harness/children.mjs';
import { demoHome } from './harness/demo.mjs';
import { bareLoop } from './harness/limit.mjs';
import { checksum } from './harness/lines.mjs';
import { madeHome } from './harness/made.mjs';

const demo = fileURLToPath(new URL('../../fixtures/demo/site.json', import.meta.url));
/** Load, sun and six levels in, six flows out; and the flows alone. */
const RUN = { arrays: 2 + 6 + 6 };

export function* groups({ core, cliPath }) {
  const { home } = demoHome(core);
  const { intervals } = home.axis;
  const onAxis = core.homeOnAxis(home);
  const flows = core.makeFlows(intervals);
  const levels = core.makeLevels(intervals);
  const out = new Float64Array(intervals);
  const strategies = [
    ['hold', core.hold],
    ['self-consumption', core.selfConsumption],
    ['window', core.windowFill],
    ['peak-shave', core.peakShave({ targetKw: 2 })],
    ['learned peak-shave', core.peakShave()],
  ];
  const common = { beside: 'bare loop', steps: intervals, limit: RUN };
  const whole = (name, strategy, aim) => ({
    ...common,
    name: `run, ${name}`,
    aim,
    run: () => core.runStrategy(strategy, home, { onAxis, flows, levels }),
    sum() {
      core.runStrategy(strategy, home, { onAxis, flows, levels });
      return checksum(flows.importKwh, flows.exportKwh, flows.socKwh);
    },
  });
  const plant = (name, strategy) => {
    // The levels that the strategy fills over the year, for the loop of physics alone.
    const filled = core.makeLevels(intervals);
    core.runStrategy(strategy, home, { onAxis, levels: filled });
    return {
      ...common,
      name: `loop, ${name}`,
      aim: { most: 4 },
      run: () => core.executeLevels(onAxis, filled, 0, intervals, core.startState(home.plant), flows),
      sum() {
        core.executeLevels(onAxis, filled, 0, intervals, core.startState(home.plant), flows);
        return checksum(flows.socKwh);
      },
    };
  };
  yield {
    title: `demo home, a year of ${intervals} quarter hours: whole runs, and the plant's loop alone`,
    lines: [
      {
        name: 'bare loop',
        fixed: true,
        steps: intervals,
        run: () => bareLoop(onAxis.netKwh, out),
        sum: () => checksum(out),
      },
      ...strategies.map(([name, strategy]) => plant(name, strategy)),
      whole('no battery', core.none),
      ...strategies.map(([name, strategy]) => whole(name, strategy, { most: 8 })),
    ],
  };
  const grown = (name, years, stepMinutes, more) => {
    const made = madeHome(core, home, years, stepMinutes);
    const steps = made.axis.intervals;
    const laid = { onAxis: core.homeOnAxis(made), flows: core.makeFlows(steps), levels: core.makeLevels(steps) };
    const run = () => core.billTotal(made.tariff, core.runStrategy(core.windowFill, made, laid).flows);
    return { name, made: true, steps, perStep: true, run, sum: run, ...more };
  };
  const beside = { beside: '1 year of 15 min', aim: { most: 1.1 } };
  yield {
    title: 'a made-up home, a run of window and its bill: time a step as years and steps grow',
    lines: [
      grown('1 year of 15 min', 1, 15),
      ...[2, 5, 10].map((years) => grown(`${years} years of 15 min`, years, 15, beside)),
      grown('1 year of 60 min', 1, 60, beside),
      grown('1 year of 5 min', 1, 5, beside),
    ],
  };
  const compare = [cliPath, 'compare', demo];
  const empty = ['-e', '0'];
  yield {
    title: 'demo home: compare in a process of its own',
    lines: [
      { name: 'node -e 0', fixed: true, take: () => processMs(empty) },
      { name: 'compare, time', beside: 'node -e 0', aim: { most: 8 }, take: () => processMs(compare) },
    ],
  };
  yield {
    title: 'demo home: compare in a process of its own, the most memory it ever took',
    lines: [
      { name: 'node -e 0', fixed: true, unit: 'MB', take: () => processPeakMb(empty) },
      { name: 'compare, memory', unit: 'MB', beside: 'node -e 0', take: () => processPeakMb(compare) },
    ],
  };
}
