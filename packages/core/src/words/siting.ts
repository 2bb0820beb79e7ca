/** A question of siting: what to ask, what is usual, and where that is written. */
export interface SitingParts {
  readonly question: string;
  readonly usual: string;
  readonly source: string;
}

const LOCAL_FIRE = 'the local fire and building code';

/** Whose rules are cited: those of the United States where the home stands there; elsewhere what is usual, and that the local ones count. */
export interface SitingRules {
  readonly rules: 'us' | 'local';
}

/** What to settle before equipment goes up. */
export const SITING_PARTS = {
  /** Clear space in front of panels and units. */
  'working-space': ({ rules }: SitingRules) => ({
    question: 'Is there clear space in front of each panel and unit?',
    usual:
      rules === 'us'
        ? '36 in (914 mm) deep, 30 in (762 mm) wide or the equipment’s width, 6 ft 6 in (2.0 m) high; doors open 90°'
        : 'in the United States about 0.9 m deep, 0.8 m wide or the equipment’s width, 2.0 m high; doors open 90°',
    source: rules === 'us' ? 'NEC 110.26(A), up to 150 V to ground' : 'the local wiring rules',
  }),

  /** Stored energy of one unit, nameplate, against what a dwelling may hold in one. */
  'unit-energy': ({ unitKwh, mostKwh, rules }: SitingRules & { unitKwh: number; mostKwh: number }) => ({
    question: 'Does one unit stay within what a dwelling may hold in one?',
    usual:
      rules === 'us'
        ? `at most ${mostKwh} kWh a unit; this one holds ${tenths(unitKwh)} kWh${unitKwh > mostKwh ? ': ABOVE the limit' : ''}`
        : `limits differ by country, ${mostKwh} kWh a unit in the United States; this one holds ${tenths(unitKwh)} kWh`,
    source: rules === 'us' ? 'NFPA 855 chapter 15; IRC R328' : LOCAL_FIRE,
  }),

  /** Stored energy of all units, nameplate, against what one place may hold: a closet, or a garage and the like. */
  'place-energy': ({
    totalKwh,
    closetKwh,
    elsewhereKwh,
    rules,
  }: SitingRules & {
    totalKwh: number;
    closetKwh: number;
    elsewhereKwh: number;
  }) => {
    const places = `${closetKwh} kWh in a utility closet, basement or storage room; ${elsewhereKwh} kWh in a garage, on outside walls, in a separate building`;
    const all = `all units here hold ${tenths(totalKwh)} kWh`;
    const above =
      totalKwh > elsewhereKwh ? ': ABOVE any one place' : totalKwh > closetKwh ? ': too much for a closet' : '';
    return {
      question: 'Does the place stay within its energy limit?',
      usual:
        rules === 'us'
          ? `${places}; ${all}${above}`
          : `limits differ by country, in the United States ${places}; ${all}`,
      source: rules === 'us' ? 'NFPA 855 (2023) 15.5; IRC R328.5' : LOCAL_FIRE,
    };
  },

  /** Distance between units, and from doors and windows. */
  separation: ({ rules }: SitingRules) => ({
    question: 'Are units apart from each other, and from doors and windows?',
    usual:
      rules === 'us'
        ? '3 ft (914 mm) each, unless the listing says less'
        : 'about 0.9 m each in the United States, more or less elsewhere; the maker’s manual says how far',
    source: rules === 'us' ? 'NFPA 855 chapter 15; IRC R328' : LOCAL_FIRE,
  }),

  /** Rooms where no unit may stand. */
  'forbidden-rooms': ({ rules }: SitingRules) => ({
    question: 'Is it out of bedrooms and living space?',
    usual: 'never in sleeping rooms, or closets that open into them',
    source: rules === 'us' ? 'NFPA 855 chapter 15; IRC R328.4' : LOCAL_FIRE,
  }),

  /** A car that may hit the equipment. */
  vehicle: ({ rules }: SitingRules) => ({
    question: 'Can a car hit it?',
    usual: 'out of the path, or behind a barrier that the local code accepts',
    source: rules === 'us' ? 'IRC R328.8' : LOCAL_FIRE,
  }),

  /** Smoke or heat alarms. */
  detection: ({ rules }: SitingRules) => ({
    question: 'Is there a smoke or heat alarm where it stands, linked to the others?',
    usual: 'yes, indoors and in attached garages',
    source: rules === 'us' ? 'IRC R328.7; NFPA 855 chapter 15' : LOCAL_FIRE,
  }),

  /** Temperatures of the place. */
  temperature: () => ({
    question: 'Does the place stay within the maker’s temperatures all year?',
    usual: 'lithium iron phosphate cells don’t charge below about 0 °C; sun on a west wall counts',
    source: 'the maker’s manual; common practice',
  }),

  /** Height above the floor, and above flood level. */
  'height-and-water': ({ rules }: SitingRules) => ({
    question: 'Is it above flood level and at the height that the maker asks for?',
    usual:
      rules === 'us'
        ? 'breaker handles at most 6 ft 7 in (2.0 m) above the floor'
        : 'in the United States breaker handles at most about 2.0 m above the floor',
    source: rules === 'us' ? 'NEC 404.8(A), 240.24(A); local flood map' : 'the local wiring rules; local flood map',
  }),
} as const;

/** The same in one line. */
export const SITING_WORDS = /* @__PURE__ */ inOneLine(SITING_PARTS);

type SitingWords<Parts extends Readonly<Record<string, (data: never) => SitingParts>>> = {
  readonly [Code in keyof Parts]: (...data: Parameters<Parts[Code]>) => string;
};

function inOneLine<Parts extends Readonly<Record<string, (data: never) => SitingParts>>>(
  all: Parts,
): SitingWords<Parts> {
  const words = Object.entries(all).map(([code, parts]) => [
    code,
    (data: never) => {
      const { question, usual, source } = parts(data);
      return `${question} ${usual} (${source})`;
    },
  ]);
  return Object.fromEntries(words) as SitingWords<Parts>;
}

function tenths(value: number): number {
  return Math.round(value * 10) / 10;
}
