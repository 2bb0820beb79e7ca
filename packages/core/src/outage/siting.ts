/** One thing to settle before equipment goes up, with what is usual and where it is written. */
export interface SitingItem {
  readonly code: string;
  readonly question: string;
  readonly usual: string;
  readonly source: string;
}

/** What {@link sitingChecklist} needs. */
export interface SitingOptions {
  /** Stored energy of one unit with its modules, and of all, kWh nameplate. */
  readonly unitKwh: number;
  readonly totalKwh: number;
}

/** Stored energy per place in one- and two-family dwellings, kWh: NFPA 855 (2023) 15.5, IRC R328.5. */
const PLACE_KWH = { closet: 40, elsewhere: 80 };
const UNIT_KWH = 20;

/**
 * Where equipment may stand, as questions. Editions and local amendments differ: the local code and the maker's manual
 * decide, and this list only says what to ask.
 */
export function sitingChecklist(options: SitingOptions): SitingItem[] {
  const { unitKwh, totalKwh } = options;
  return [
    {
      code: 'working-space',
      question: 'Is there clear space in front of each panel and unit?',
      usual:
        '36 in (914 mm) deep, 30 in (762 mm) wide or the equipment’s width, 6 ft 6 in (2.0 m) high; doors open 90°',
      source: 'NEC 110.26(A), up to 150 V to ground',
    },
    {
      code: 'unit-energy',
      question: 'Does one unit stay within what a dwelling may hold in one?',
      usual: `at most ${UNIT_KWH} kWh a unit; this one holds ${round(unitKwh)} kWh${unitKwh > UNIT_KWH ? ': ABOVE the limit' : ''}`,
      source: 'NFPA 855 chapter 15; IRC R328',
    },
    {
      code: 'place-energy',
      question: 'Does the place stay within its energy limit?',
      usual:
        `${PLACE_KWH.closet} kWh in a utility closet, basement or storage room; ${PLACE_KWH.elsewhere} kWh in a garage, on outside walls, ` +
        `in a separate building; all units here hold ${round(totalKwh)} kWh` +
        (totalKwh > PLACE_KWH.elsewhere
          ? ': ABOVE any one place'
          : totalKwh > PLACE_KWH.closet
            ? ': too much for a closet'
            : ''),
      source: 'NFPA 855 (2023) 15.5; IRC R328.5',
    },
    {
      code: 'separation',
      question: 'Are units apart from each other, and from doors and windows?',
      usual: '3 ft (914 mm) each, unless the listing says less',
      source: 'NFPA 855 chapter 15; IRC R328',
    },
    {
      code: 'forbidden-rooms',
      question: 'Is it out of bedrooms and living space?',
      usual: 'never in sleeping rooms, or closets that open into them',
      source: 'NFPA 855 chapter 15; IRC R328.4',
    },
    {
      code: 'vehicle',
      question: 'Can a car hit it?',
      usual: 'out of the path, or behind a barrier that the local code accepts',
      source: 'IRC R328.8',
    },
    {
      code: 'detection',
      question: 'Is there a smoke or heat alarm where it stands, linked to the others?',
      usual: 'yes, indoors and in attached garages',
      source: 'IRC R328.7; NFPA 855 chapter 15',
    },
    {
      code: 'temperature',
      question: 'Does the place stay within the maker’s temperatures all year?',
      usual: 'lithium iron phosphate cells don’t charge below about 0 °C; sun on a west wall counts',
      source: 'the maker’s manual; common practice',
    },
    {
      code: 'height-and-water',
      question: 'Is it above flood level and at the height that the maker asks for?',
      usual: 'breaker handles at most 6 ft 7 in (2.0 m) above the floor',
      source: 'NEC 404.8(A), 240.24(A); local flood map',
    },
  ];
}

function round(value: number): number {
  return Math.round(value * 10) / 10;
}
