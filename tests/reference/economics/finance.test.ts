import { annuity, internalRateOfReturn, presentValue } from '@duskbank/core/economics';
import { ipmt, irr, npv, pmt, ppmt } from 'financial';
import { expect, test } from 'vitest';
import { seeded } from '../../support/invented.mjs';

// Held to the general finance library of npm, financial.

test('2,000 flows with one change of sign: the internal rate agrees to 1e-8, where both name one', () => {
  const random = seeded(4242);
  let compared = 0;
  for (let k = 0; k < 2000; k++) {
    const years = 1 + Math.floor(30 * random());
    const paid = 1 + Math.floor(3 * random());
    const flows = [
      ...Array.from({ length: paid }, () => -Math.round(1e6 * random()) / 100 - 1),
      ...Array.from({ length: years }, () => Math.round(3e5 * random()) / 100),
    ];
    const found = internalRateOfReturn(flows);
    if (flows.every((flow) => flow <= 0)) {
      expect(found.kind).toBe('none');
      continue;
    }
    if (found.kind !== 'one') throw new Error(`flow ${k}: ${found.kind}`);
    // Theirs searches from a guess: ours is one, as good as any.
    const theirs = irr(flows, Math.max(-0.9, Math.min(found.rate + 0.01, 10)));
    if (!Number.isFinite(theirs)) continue;
    expect(Math.abs(found.rate - theirs), `flow ${k}`).toBeLessThan(1e-8 * Math.max(1, Math.abs(theirs)));
    compared++;
  }
  expect(compared).toBeGreaterThanOrEqual(1000);
});

test('worth now, and the parts of a loan', () => {
  const random = seeded(99);
  for (let k = 0; k < 500; k++) {
    const flows = Array.from({ length: 2 + Math.floor(25 * random()) }, () => Math.round(2e6 * (random() - 0.5)) / 100);
    const rate = 0.4 * random() - 0.1;
    const worth = npv(rate, flows);
    expect(Math.abs(presentValue(flows, rate) - worth)).toBeLessThan(
      1e-10 * flows.reduce((sum, f) => sum + Math.abs(f), 1) * 20,
    );
    const periods = 1 + Math.floor(300 * random());
    const each = 0.02 * random() + 1e-4;
    const borrowed = Math.round(5e6 * random()) / 100 + 1;
    const payments = annuity(borrowed, each, periods);
    const at = Math.floor(periods * random());
    expect(payments[at]!.interest).toBeCloseTo(-ipmt(each, at + 1, periods, borrowed), 5);
    expect(payments[at]!.repaid).toBeCloseTo(-ppmt(each, at + 1, periods, borrowed), 5);
    expect(payments[0]!.interest + payments[0]!.repaid).toBeCloseTo(-pmt(each, periods, borrowed), 6);
  }
});
