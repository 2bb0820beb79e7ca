import { type CodeOf, type DataOf, type Fact, fact } from '../words/fact.ts';
import { SITING_PARTS, SITING_WORDS, type SitingParts } from '../words/siting.ts';

type SitingCode = CodeOf<typeof SITING_WORDS>;

/** One thing to settle before equipment goes up, with what is usual and where it is written: together they are the message. */
export interface SitingItem extends Fact<SitingCode>, SitingParts {}

/** What {@link sitingChecklist} needs. */
export interface SitingOptions {
  /** Stored energy of one unit with its modules, and of all, kWh nameplate. */
  readonly unitKwh: number;
  readonly totalKwh: number;
  /** Whose rules are cited. */
  readonly rules: 'us' | 'local';
}

/** Stored energy per place in one- and two-family dwellings of the United States, kWh: NFPA 855 (2023) 15.5, IRC R328.5. */
const PLACE_KWH = { closet: 40, elsewhere: 80 };
const UNIT_KWH = 20;

/**
 * Where equipment may stand, as questions. Editions and local amendments differ: the local code and the maker's manual
 * decide, and this list only says what to ask.
 */
export function sitingChecklist({ unitKwh, totalKwh, rules }: SitingOptions): SitingItem[] {
  return [
    item('working-space', { rules }),
    item('unit-energy', { unitKwh, mostKwh: UNIT_KWH, rules }),
    item('place-energy', { totalKwh, closetKwh: PLACE_KWH.closet, elsewhereKwh: PLACE_KWH.elsewhere, rules }),
    item('separation', { rules }),
    item('forbidden-rooms', { rules }),
    item('vehicle', { rules }),
    item('detection', { rules }),
    item('temperature', {}),
    item('height-and-water', { rules }),
  ];
}

function item<Code extends SitingCode>(code: Code, data: DataOf<typeof SITING_WORDS, Code> & Fact['data']): SitingItem {
  return { ...fact(SITING_WORDS, code, 'question', data), data, ...SITING_PARTS[code](data as never) };
}
