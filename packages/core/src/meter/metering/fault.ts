import type { Fact } from '../../words/fact.ts';
import { METERING_WORDS, type MeteringWords, PANEL_CAUTION } from '../../words/metering.ts';
import type { Adjustment } from '../adjust.ts';

/** What is known about the home beside its data. */
export interface MeteringContext {
  /** Where the home stands; needed to compare the solar day with the sun. North and east positive. */
  readonly latitudeDeg?: number;
  readonly longitudeDeg?: number;
  /** Energy that the utility billed as bought over the span of the data, kWh. Needed to find a leg that is missing. */
  readonly billedKwh?: number;
  /** The user says which readings are bought and which are sold: where they look exchanged that is told with it. */
  readonly rolesStated?: boolean;
  /** The user says of what the home draws that it is all there is: nothing is sold that isn't given. */
  readonly drawnIsAll?: boolean;
  /** The user says that the home has no panels. */
  readonly noPanels?: boolean;
  /** What is bought is read from a net that never falls below zero: that nothing is sold isn't known. */
  readonly netOneWay?: boolean;
}

type Code = keyof MeteringWords;
type Data<C extends Code> = Parameters<MeteringWords[C]['evidence']>[0];

/** How sure a fault is, and what to do about it. */
interface Judgement {
  readonly confidence: 'sure' | 'likely' | 'possible';
  /** The correction that the evidence speaks for, and the flag that states it. */
  readonly fix?: { readonly flag: string; readonly adjustment: Adjustment };
  /** Intervals concerned. */
  readonly count: number;
}

interface FaultOf<C extends Code> extends Fact<C, Data<C>>, Judgement {
  readonly severity: 'warning';
  /** What in the data shows it. */
  readonly evidence: string;
  /** What it most often means, and what to look at, in an installer's words. */
  readonly meaning: string;
  /** Looking at it means opening a panel, which the meaning warns of. */
  readonly opensPanel: boolean;
}

/** A sign that the meter or monitor measures wrongly. */
export type MeteringFault = { [C in Code]: FaultOf<C> }[Code];

/** What is looked at for these stands in a panel. */
const IN_PANEL: ReadonlySet<Code> = new Set<Code>([
  'grid-reversed',
  'leg-missing',
  'leg-reversed',
  'solar-grid-swapped',
  'solar-half',
  'solar-in-load',
]);

/** A fault and its sentences. */
export function meteringFault<C extends Code>(code: C, data: Data<C>, judgement: Judgement): MeteringFault {
  const words: { evidence: (data: never) => string; meaning: (data: never) => string } = METERING_WORDS[code];
  const opensPanel = IN_PANEL.has(code);
  const evidence = words.evidence(data as never);
  const meaning = words.meaning(data as never) + (opensPanel ? ` ${PANEL_CAUTION}` : '');
  const { confidence, fix, count } = judgement;
  const fault: FaultOf<C> = {
    code,
    severity: 'warning',
    where: {},
    data,
    message: `${evidence}. ${meaning}`,
    confidence,
    evidence,
    meaning,
    opensPanel,
    ...(fix === undefined ? {} : { fix }),
    count,
  };
  return fault as MeteringFault;
}
