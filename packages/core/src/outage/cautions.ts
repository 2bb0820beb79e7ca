/** A caution that stands where the numbers are, once an output. */
export interface Caution {
  readonly code: 'medical' | 'wiring' | 'generator' | 'power-returns' | 'estimate';
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
  const cautions: Caution[] = [];
  if (options.medical)
    cautions.push({
      code: 'medical',
      text:
        'Life-supporting equipment needs its own plan: the maker’s battery, the utility’s medical list, a place to go. ' +
        'Never this battery alone. No chance of lasting is given for it.',
    });
  cautions.push({
    code: 'wiring',
    text:
      'Transfer equipment, back-feed and neutral bonding can kill: they are for licensed people under the local code. ' +
      'Nothing here is a wiring instruction.',
  });
  cautions.push({
    code: 'generator',
    text: 'A generator beside the battery: one source at a time, outdoors, away from windows (carbon monoxide).',
  });
  cautions.push({
    code: 'power-returns',
    text: 'Ranges, irons and heaters that were on come back on with the power: switch them off first.',
  });
  if (options.panels)
    cautions.push({
      code: 'estimate',
      text: 'Load figures are estimates to talk about with a licensed electrician, never a permit document.',
    });
  return cautions;
}
