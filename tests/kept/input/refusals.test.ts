// Kept answers: see tests/support/kept.ts.
import { DOCUMENTS } from '../../support/bad-input/documents.ts';
import { keepRefusals } from '../../support/kept-refusals.ts';

keepRefusals(DOCUMENTS);
