// Kept answers: see tests/support/kept.ts. Flows in whole kWh, so that blocks, peaks, minimums and credits are met exactly.
import { billTariff, compileTariff, evaluateTerms, marginalPrices, parseTariff } from '@duskbank/core/tariff';
import { expect, test } from 'vitest';
import { type CrossedTariff, crossedTariffs } from '../../support/crossed-tariffs.ts';
import { inOne, keptOf } from '../../support/kept.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

interface Flows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
}

/** Of an interval by its number and the hour that it lies in, kWh bought and sold in an hour. */
const COURSES: Readonly<Record<string, (i: number, hour: number) => readonly [number, number]>> = {
  nothing: () => [0, 0],
  'a kWh an hour': () => [1, 0],
  'a kWh an hour, sold': () => [0, 1],
  'as much sold as bought': (_i, hour) => (hour % 2 === 0 ? [1, 0] : [0, 1]),
  'one hour of ten kW': (_i, hour) => [hour === 30 ? 10 : 0, 0],
  'the same peak twice, in other windows': (_i, hour) => [hour % 24 === 18 || hour % 24 === 3 ? 5 : 1, 0],
  'much, then nothing': (_i, hour) => (hour < 240 ? [4, 0] : [0, 0]),
  'sold first, bought later': (_i, hour) => (hour < 240 ? [0, 3] : [3, 0]),
};

const flowsOf = ({ axis }: CrossedTariff, course: (typeof COURSES)[string]): Flows => {
  const all = Array.from({ length: axis.intervals }, (_, i) => course(i, Math.floor(i * axis.stepHours)));
  const of = (which: 0 | 1) => Float64Array.from(all, (both) => both[which] * axis.stepHours);
  return { importKwh: of(0), exportKwh: of(1) };
};

/** What a tariff comes to by each course, in one line a course. */
async function answers(crossed: CrossedTariff): Promise<string> {
  const { document, axis, options } = crossed;
  const compiled = compileTariff(parseTariff(document), axis, options);
  const told: string[] = [];
  for (const [name, course] of Object.entries(COURSES)) {
    const flows = flowsOf(crossed, course);
    const kept = await keptOf(() => ({
      bill: billTariff(compiled, flows),
      terms: evaluateTerms(axis, compiled.terms, flows),
      marginal: marginalPrices(compiled, flows),
    }));
    told.push(inOne(name, [kept]));
  }
  return told.join('\n');
}

const FIXTURES = tariffFixtures().map(
  ({ name, tariff, axis, options }): CrossedTariff => ({
    name,
    document: tariff.document as CrossedTariff['document'],
    axis,
    options,
  }),
);

test.each([...FIXTURES, ...crossedTariffs(3, 40)].map((crossed) => [crossed.name, crossed] as const))(
  'whole kWh on prices of %s',
  async (_name, crossed) => {
    expect(await answers(crossed)).toMatchSnapshot();
  },
);
