import { expect, test } from 'vitest';
import { serviceLimit } from '../../../packages/core/src/site/trust.ts';

const panel = { mainAmps: 100, volts: 240 };

test('what a service can carry is its breaker’s, or a larger limit that is stated', () => {
  expect(serviceLimit({ service: { importLimitKw: 30, exportLimitKw: 10 }, backup: { panel } } as never)).toEqual({
    drawKw: 30,
    feedKw: 24,
    basis: { draw: '"service.importLimitKw" says so', feed: 'a main breaker of 100 A at 240 V' },
  });
  // 100 kW are taken to be more than a home has; who states more has more.
  expect(serviceLimit({ service: { exportLimitKw: 150 } } as never)).toMatchObject({
    drawKw: 100,
    feedKw: 150,
    basis: { draw: 'more than the service of a home carries', feed: '"service.exportLimitKw" says so' },
  });
  expect(serviceLimit({})).toMatchObject({ drawKw: 100, feedKw: 100 });
});
