// Kept answers: see tests/support/kept.ts.
import { PLANS } from '../../support/bad-input/plans.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(PLANS);
