// Kept answers: see tests/support/kept.ts.
import { BACKUPS } from '../../support/bad-input/backups.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(BACKUPS);
