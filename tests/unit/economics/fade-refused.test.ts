import { gasper, naumann } from '@duskbank/core/economics';
import { InputError } from '@duskbank/core/input';
import { describe, expect, it } from 'vitest';

function refused(call: () => number): string[] {
  try {
    return [String(Number.isFinite(call()))];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.issues.map(({ code, where }) => `${where.path?.join('.')}: ${code}`);
  }
}

describe.each([naumann, gasper])('$name', (model) => {
  const storage = { temperatureC: 25, soc: 0.5 };
  it.each([
    ['years below 0', -1, storage, ['years: out-of-range']],
    ['no years', Number.NaN, storage, ['years: not-finite']],
    ['more than full', 10, { ...storage, soc: 1.01 }, ['soc: out-of-range']],
    ['colder than can be', 10, { ...storage, temperatureC: -300 }, ['temperatureC: out-of-range']],
    ['nothing wrong', 0, { ...storage, soc: 1 }, ['true']],
  ])('stored, %s', (_what, years, at, told) => expect(refused(() => model.calendarFade(years, at))).toEqual(told));

  const use = { temperatureC: 25, depth: 0.9, cRate: 0.5 };
  it.each([
    ['cycles below 0', -1, use, ['fullCycles: out-of-range']],
    ['cycles of no depth', 100, { ...use, depth: 0 }, ['depth: out-of-range']],
    ['more than full cycles', 100, { ...use, depth: 1.01 }, ['depth: out-of-range']],
    ['a rate of nothing', 100, { ...use, cRate: 0 }, ['cRate: out-of-range']],
    ['nothing wrong', 0, { ...use, depth: 1 }, ['true']],
  ])('cycled, %s', (_what, cycles, of, told) => expect(refused(() => model.cycleFade(cycles, of))).toEqual(told));
});
