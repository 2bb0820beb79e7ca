// Kept answers: see tests/support/kept.ts.
import { TARIFFS } from '../../support/bad-input/tariffs.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(TARIFFS);
