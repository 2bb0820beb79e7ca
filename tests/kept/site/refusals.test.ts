// Kept answers: see tests/support/kept.ts.
import { SITES } from '../../support/bad-input/sites.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(SITES);
