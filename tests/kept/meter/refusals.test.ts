// Kept answers: see tests/support/kept.ts.
import { METERS } from '../../support/bad-input/meters.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(METERS);
