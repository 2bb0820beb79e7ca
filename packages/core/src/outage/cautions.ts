import { type CodeOf, type Fact, fact, type Severity } from '../words/fact.ts';
import { CAUTION_WORDS } from '../words/outage.ts';

type CautionCode = CodeOf<typeof CAUTION_WORDS>;

/** A caution that stands where the numbers are, once an output. */
export interface Caution extends Fact<CautionCode> {
  /** The same as `message`. */
  readonly text: string;
}

/** Which cautions an output needs. */
export interface CautionOptions {
  /** Whether any circuit on the island is medical. */
  readonly medical: boolean;
  /** Whether the output speaks of panels, legs or circuits. */
  readonly panels: boolean;
}

/** The cautions of an output, the gravest first. */
export function cautionsFor(options: CautionOptions): Caution[] {
  return [
    ...(options.medical ? [caution('medical', 'hazard')] : []),
    caution('wiring', 'hazard'),
    caution('generator', 'hazard'),
    caution('power-returns', 'hazard'),
    ...(options.panels ? [caution('estimate', 'warning')] : []),
  ];
}

function caution(code: CautionCode, severity: Severity): Caution {
  const made = fact(CAUTION_WORDS, code, severity, {});
  return { ...made, text: made.message };
}
