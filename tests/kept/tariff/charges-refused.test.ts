// Kept answers: see tests/support/kept.ts.
import { CHARGES } from '../../support/bad-input/charges.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(CHARGES);
