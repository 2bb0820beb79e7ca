// A sweep of batteries on two tariffs by `evaluate`, beside its runs and bills alone: what a sweep costs over what it can't do
// without. And one design of it, beside a bare loop. The demo home.
import { fileURLToPath, pathToFileURL } from 'node:url';
import { processPeakMb } from './harness/children.mjs';
import { demoHome } from './harness/demo.mjs';
import { bareLoop } from './harness/limit.mjs';
import { checksum } from './harness/lines.mjs';
import { processorMs } from './harness/rounds.mjs';

const BATTERIES = 200;

export function* groups({ core, corePath }) {
  const { homes, plants, flows, levels } = designs(core);
  let swept = 0;
  let least = 0;
  yield {
    title: `demo home: ${BATTERIES} batteries on ${homes.length} tariffs`,
    lines: [
      {
        // The plants laid on the axis beforehand: each run and bill is timed, and nothing around them is.
        name: 'runs, bills',
        take() {
          let ms = 0;
          least = 0;
          for (const of of homes)
            for (const each of plants) {
              const laid = core.withPlant(of, each);
              const begun = processorMs();
              core.runStrategy(core.windowFill, laid, { onAxis: laid.onAxis, flows, levels });
              least += core.billTariff(of.tariff, flows).total;
              core.billTotal(of.tariff, flows);
              ms += processorMs() - begun;
            }
          return ms;
        },
        sum: () => least,
      },
      {
        name: 'sweep',
        beside: 'runs, bills',
        aim: { most: 1.1 },
        within: 1e-9,
        run() {
          swept = sweepOnce(core, { homes, plants, flows, levels });
        },
        sum: () => swept,
      },
    ],
  };

  // The aims are of a year whose bare loop took 0.1 ms: a design ≤ 1 ms is ≤ 10 of them.
  const [home] = homes;
  const out = new Float64Array(home.axis.intervals);
  const net = home.onAxis?.netKwh ?? core.homeOnAxis(home).netKwh;
  const design = (name, parts, most) => {
    let k = 0;
    const once = () =>
      core.evaluate(core.withPlant(home, plants[k++ % plants.length], home.island), core.windowFill, parts, {
        flows,
        levels,
      });
    return {
      name,
      beside: 'bare loop',
      aim: { most },
      steps: home.axis.intervals,
      run: once,
      sum() {
        k = 0;
        const { bill } = once();
        return bill.total + checksum(flows.socKwh);
      },
    };
  };
  yield {
    title: 'demo home: one design after another, under window',
    lines: [
      { name: 'bare loop', fixed: true, steps: net.length, run: () => bareLoop(net, out), sum: () => checksum(out) },
      design('design: bill', ['bill'], 10),
      design('design: bill, hours', ['bill', 'backupHours'], 25),
    ],
  };

  const here = pathToFileURL(fileURLToPath(import.meta.url)).href;
  const script = `Promise.all([import('${here}'), import('${pathToFileURL(corePath).href}')]).then(([own, core]) => own.sweepOnce(core))`;
  yield {
    title: 'demo home: the sweep in a process of its own, the most memory it ever took',
    lines: [
      { name: 'node -e 0', fixed: true, unit: 'MB', take: () => processPeakMb(['-e', '0']) },
      {
        name: 'sweep, memory',
        unit: 'MB',
        beside: 'node -e 0',
        aim: { mostMb: 250 },
        take: () => processPeakMb(['-e', script]),
      },
    ],
  };
}

function designs(core) {
  const { home, tariff } = demoHome(core);
  const { axis, plant } = home;
  const dearer = structuredClone(tariff);
  for (const window of dearer.windows) window.pricePerKwh *= 1.5;
  const other = core.compileTariff(core.parseTariff({ ...dearer, name: 'dearer' }), axis);
  return {
    homes: [home, core.withTariff(home, other)],
    plants: Array.from({ length: BATTERIES }, (_, k) => ({
      ...plant,
      capacityKwh: plant.capacityKwh * (0.5 + k / 100),
      chargeLimitKw: plant.chargeLimitKw * (0.5 + (k % 20) / 10),
    })),
    flows: core.makeFlows(axis.intervals),
    levels: core.makeLevels(axis.intervals),
  };
}

/** The sum of all bills. A process of its own calls it too, for its memory. */
export function sweepOnce(core, { homes, plants, flows, levels } = designs(core)) {
  let sum = 0;
  for (const of of homes)
    for (const each of plants)
      sum += core.evaluate(core.withPlant(of, each), core.windowFill, ['bill'], { flows, levels }).bill.total;
  return sum;
}
