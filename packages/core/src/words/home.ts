import { count, figure, figureBound, listed, MONTHS, moneyText, percent } from './figures.ts';
import { quoteName } from './quote.ts';

/** A limit of the service, or of a tariff, that metered readings passed. */
type Passed = { readonly limitKw: number; readonly highestKw: number; readonly intervals: number };

/** Channels that contradict each other. */
type Contradiction = {
  /** The channels that the home has. */
  readonly channels: readonly ('import' | 'export' | 'load' | 'solar')[];
  readonly missedKwh: number;
  /** Of the load that was checked. */
  readonly share: number;
  /** Only the dark could be checked: by day the load column is what solar is reckoned from. */
  readonly darkOnly: boolean;
};

/** What left the home without sun, and what says that there was none. */
type DarkExported = { readonly darkKwh: number; readonly by: 'solar' | 'place' | 'clock' };

/** What makes power without sun, as the site file has it. */
type NightGenerator = 'wind' | 'water' | 'engine';
const GENERATOR_NAMES: Readonly<Record<NightGenerator, string>> = { wind: 'wind', water: 'water', engine: 'an engine' };

/** What would explain most of a contradiction: `column` is the load's, the solar's, or the meter's import and export. */
export type ContradictionCause =
  | {
      readonly code:
        | 'load-zero'
        | 'solar-in-load'
        | 'load-from-grid-alone'
        | 'solar-taken-off'
        | 'grid-exchanged'
        | 'solar-not-given';
    }
  | { readonly code: 'scale'; readonly column: 'load' | 'solar' | 'meter'; readonly times: number }
  | {
      readonly code: 'clock';
      readonly column: 'load' | 'solar' | 'meter';
      readonly minutes: number;
      readonly runs: 'late' | 'early';
    };

/** What bears on how far the numbers of a home can be trusted: its channels, its past, its plan. */
export const HOME_WORDS = {
  /** Import is not metered: it follows from the other three channels. */
  'import-reckoned': () => 'import is not metered: it is reckoned as load − solar + export',

  /** Export is not metered: it follows from the other three channels. */
  'export-reckoned': () => 'export is not metered: it is reckoned as import + solar − load',

  /** Solar is not metered: it follows from a load column beside import and export, by day. */
  'solar-reckoned': ({ solarReckonedKwh }: { solarReckonedKwh: number }) =>
    `solar is not metered: ${figure(solarReckonedKwh)} kWh of it are reckoned as load − import + export, by day`,

  /** More was exported than the solar metered: its transformer, its leg or its clock is wrong. */
  'export-above-solar': ({ beyondKwh }: { beyondKwh: number }) =>
    `${figure(beyondKwh)} kWh were exported beyond the metered solar: check the solar transformer, its leg and its clock`,

  /** A figure of one battery unit that no battery of a home has (`size`), or that would empty it in minutes (`power`): it is asked about. */
  'battery-unusual': ({
    field,
    value,
    unit,
    why,
    usual,
    inThousandths,
    usableKwh,
  }: {
    field: string;
    value: number;
    unit: 'kWh' | 'kW';
    why: 'size' | 'power';
    usual: string;
    /** Read in Wh or W it would be usual. */
    inThousandths: boolean;
    usableKwh: number;
  }) =>
    (why === 'size'
      ? `"${field}" is ${figure(value)} ${unit} of one unit, where units of homes have ${usual} ${unit} (common practice, no source). `
      : `"${field}" is ${figure(value)} kW of a unit of ${figure(usableKwh)} kWh: all of it in ${figure((60 * usableKwh) / value)} min, where ` +
        'batteries of homes take half an hour or more (common practice, no source). ') +
    'Look at the data sheet: ' +
    (why === 'size'
      ? inThousandths
        ? `is it in ${unit.slice(1)}? Then write ${figure(value / 1000)}`
        : 'a digit may be too many, or a decimal mark missing, or it is of all units together'
      : `${figure(value / 10)} or its "usableKwh" may be meant`) +
    '. If it is right, nothing is to be done',

  /** The load column contradicts the meter: the meter counts, and savings are withheld where it is too much. */
  balance: (data: Contradiction & { worstMonth: string; withheld: boolean; cause: ContradictionCause | null }) => {
    const metered = data.channels.filter((channel) => channel === 'import' || channel === 'export');
    return (
      (data.withheld ? withheld(contradicting(data)) : contradicting(data)) +
      ` (most in ${data.worstMonth}); the metered ${listed(metered)} ${metered.length > 1 ? 'count' : 'counts'}, not the load column` +
      (data.cause === null ? '' : `. Likely: ${likely(data.cause)}`)
    );
  },

  /** Solar is not metered: what the home uses behind the meter isn't known; hours of backup need a list of circuits, or watts. */
  'load-unknown': () =>
    'solar is not metered, so what the home uses behind the meter is not known: bills hold, hours of backup are told of listed circuits or stated watts alone',

  /** The meter files' own cost column has blanks: bills in which a cost is missing aren't set beside ours. */
  'cost-missing': ({ periods }: { periods: readonly string[] }) =>
    `the cost column of the meter files has blanks, so that ${periods.length === 1 ? 'a bill is' : `${periods.length} bills are`} left out of what is compared: ${periods.join(', ')}`,

  /** Solar is not metered, and what the battery saves depends on how much of it the home used: the lower end is taken. */
  'solar-hidden': ({
    why,
    hiddenKwh,
    savings,
    otherSavings,
    used,
    currency,
    currencyDecimals,
  }: {
    why: 'shared-inverter' | 'part-of-load' | 'both';
    hiddenKwh: number;
    savings: number;
    otherSavings: number;
    used: 'least' | 'most';
    currency: string;
    currencyDecimals: number;
  }) => {
    const acts = {
      'shared-inverter': 'shares its inverter with the sun',
      'part-of-load': 'reaches only part of the load',
      both: 'shares its inverter with the sun and reaches only part of the load',
    }[why];
    const money = (value: number) => moneyText(value, currencyDecimals);
    const [none, all] = used === 'least' ? [savings, otherSavings] : [otherSavings, savings];
    return (
      `solar is not metered, and the battery ${acts}: over the data the better of two plain rules saves ${currency} ${money(none)} if the home used none of its solar itself, ` +
      `and ${money(all)} if it used ${figure(hiddenKwh)} kWh, as on the clearest days; every figure here is of the lower`
    );
  },

  /** Energy went both ways within one interval and is netted, with what that does to the bill. */
  'netted-within-interval': ({
    bothWaysKwh,
    currency,
    currencyDecimals,
    nettedTotal,
    readTotal,
  }: {
    bothWaysKwh: number;
    currency: string;
    currencyDecimals: number;
    nettedTotal: number;
    readTotal: number;
  }) => {
    const money = (value: number) => `${currency} ${moneyText(value, currencyDecimals)}`;
    const difference = readTotal - nettedTotal;
    const bills =
      Math.abs(difference) < 0.5 * 10 ** -currencyDecimals
        ? `To this tariff’s bill, ${money(nettedTotal)}, it makes no difference`
        : `That makes the baseline ${money(nettedTotal)}; billed on both readings, the same past costs ${money(readTotal)}, ${money(Math.abs(difference))} ${difference > 0 ? 'more' : 'less'}`;
    return `${figure(bothWaysKwh)} kWh went both ways within one interval, and are netted: nobody knows what a battery would have done within one. ${bills}`;
  },

  /** A limit of the service, or of the home's own tariff, is below what was metered: one of the two is wrong. */
  'limit-below-metered': ({
    tariff,
    way,
    limitKw,
    highestKw,
    intervals,
    aboveKwh,
  }: Passed & { tariff: string | null; way: 'import' | 'export'; aboveKwh: number }) => {
    const who = tariff === null ? 'the limit that the site states for the service' : quoteName(tariff);
    const allows =
      way === 'import' ? `lets at most ${kw(limitKw)} be drawn` : `lets at most ${kw(limitKw)} be fed to the grid`;
    return (
      `${who} ${allows}, but up to ${kw(highestKw)} were metered (${count(intervals, 'interval')} above the limit, ` +
      `by ${figure(aboveKwh)} kWh): one of the two is wrong. The limit counts as ${kw(highestKw)}, so that nothing is saved by it`
    );
  },

  /** A tariff that the home isn't on lets less be exported than was metered: energy would be lost without a battery. */
  'export-limited': ({
    tariff,
    limitKw,
    highestKw,
    intervals,
    aboveKwh,
  }: Passed & { tariff: string; aboveKwh: number }) =>
    `${quoteName(tariff)} lets at most ${kw(limitKw)} be fed to the grid, and up to ${kw(highestKw)} were metered: on it, without a battery, ` +
    `${figure(aboveKwh)} kWh would be lost, in ${count(intervals, 'interval')}`,

  /** With the battery idle the home would draw more than the service's limit: what is above is counted as drawn. */
  'limit-below-need': ({ limitKw, highestKw, intervals }: Passed) =>
    `the service lets at most ${figureBound(limitKw, 'up')} kW be drawn, but with solar behind the battery’s inverter the home needs up to ${figureBound(highestKw, 'up')} kW (${count(intervals, 'interval')}): it is counted as drawn`,

  /** The data cover less than 330 days: a year scaled from them leaves out a season. */
  'short-span': ({ days }: { days: number }) =>
    `the data cover ${figure(days)} ${days === 1 ? 'day' : 'days'}: a year scaled from them leaves out a season`,

  /** All gaps that were filled from like days, short and long, and what that added to the file's own readings. */
  'gaps-filled': ({ intervals, importKwh, exportKwh }: { intervals: number; importKwh: number; exportKwh: number }) =>
    `${count(intervals, 'interval')} without a reading ${intervals === 1 ? 'was' : 'were'} filled from like days${filledWords(importKwh, exportKwh)}`,

  /** Some intervals hold an estimate, of all and of those in on-peak windows. */
  'estimated-intervals': ({ share, peakShare }: { share: number; peakShare: number }) =>
    `${percent(share)} of intervals are estimated, ${peakShare === 0 ? 'none of them in an on-peak window' : `${percent(peakShare)} of those in on-peak windows`}`,

  /** Export in the dark: the data seem to hold a battery already, and savings are withheld. */
  'battery-in-data': (data: DarkExported) => withheld(exportedInTheDark(data)),

  /** Export in the dark, of what the site says makes power without sun: no battery is suspected. */
  'night-generation': ({ darkKwh, generator }: { darkKwh: number; generator: NightGenerator }) =>
    `${figure(darkKwh)} kWh were exported without sun, and are taken as made by ${GENERATOR_NAMES[generator]}, as the site states: it is in the data with and without the battery. ` +
    'An outage is reckoned without it',

  /** More intervals are estimated than savings may rest on: they are withheld. */
  'too-many-estimates': (data: { mostShare: number }) => withheld(tooManyEstimated(data)),

  /** A planned outage that the battery can't be promised to be full for, and why. */
  'planned-outage': (
    data: { from: string } & (
      | { verdict: 'too-late'; noticeHours: number; fillHours: number }
      | { verdict: 'no-grid-charging' | 'too-cold' | 'after-another' | 'cold-since-another' }
    ),
  ) => {
    const outage = `planned outage of ${data.from}`;
    switch (data.verdict) {
      case 'too-late':
        return `${outage}: ${data.noticeHours} h of notice are too short, filling takes ${figure(data.fillHours)} h`;
      case 'no-grid-charging':
        return `${outage}: without grid charging only sun can fill the battery, which nobody can promise`;
      case 'too-cold':
        return `${outage}: the cells are too cold to charge before it, so the battery will not be full`;
      case 'after-another':
        return `${outage}: another planned outage before it leaves too little time to charge the battery again`;
      case 'cold-since-another':
        return `${outage}: the cells are too cold to charge between the planned outage before it and this one, so what that one takes doesn’t come back`;
    }
  },

  /** Planned outages that the data don't reach: no run keeps the battery full for them, so no figure holds what that costs. */
  'planned-outages-beyond': ({ outages, from, to }: { outages: number; from: string; to: string }) =>
    `planned outages: ${outages === 1 ? `the one of ${from} lies` : `${outages} of the list, ${from} to ${to}, lie`} beyond the data: what keeping the battery full for ${outages === 1 ? 'it' : 'them'} costs is not in the savings`,

  /** Planned outages that touch or overlap are taken for the one that they are. */
  'planned-outages-joined': ({ from, to, outages }: { from: string; to: string; outages: number }) =>
    `planned outages: ${outages} of the list touch or overlap, and are one from ${from} to ${to}`,

  /** In these months of the data the cells are too cold to charge: the battery takes nothing, on any day and under any strategy. */
  'too-cold-to-charge': ({ limitC, months, days }: { limitC: number; months: readonly number[]; days: number }) =>
    `no charging in ${listed(months.map((month) => MONTHS[month - 1]!))}: where the battery stands it gets as cold as the ${limitC} °C below which its cells take nothing. ` +
    `That counts on ${days === 1 ? 'their one day' : `all ${figure(days)} of their days`} in the data, in savings as in outages. What an outage takes in them isn’t filled again until they are over; a place that stays above it avoids this`,

  /** Hours of a tariff begin or end within the steps of the data: these are split, so that no step has two prices. */
  'steps-split': ({
    tariffs,
    meteredMinutes,
    stepMinutes,
  }: {
    tariffs: readonly string[];
    meteredMinutes: number;
    stepMinutes: number;
  }) =>
    `the hours of ${listed(tariffs.map((name) => quoteName(name)))} begin or end within the data’s steps of ${meteredMinutes} minutes: each is reckoned as ${meteredMinutes / stepMinutes} of ${stepMinutes}, its energy spread evenly over them (an assumption)`,

  /** Planned solar comes in longer steps than the home's data: clouds within them are not seen. */
  'planned-solar-spread': ({ stepMinutes, homeStepMinutes }: { stepMinutes: number; homeStepMinutes: number }) =>
    `planned solar comes in steps of ${stepMinutes} minutes and is spread evenly over those of ${homeStepMinutes}: clouds within them are not seen`,
} as const;

/** What filling gaps added, where anything of it shows. */
function filledWords(importKwh: number, exportKwh: number): string {
  const parts = [
    ...(importKwh >= 0.05 ? [`${importKwh.toFixed(1)} kWh bought`] : []),
    ...(exportKwh >= 0.05 ? [`${exportKwh.toFixed(1)} kWh sold`] : []),
  ];
  return parts.length === 0
    ? ', and come to nothing that counts'
    : `: ${parts.join(' and ')} that the files themselves, and "inspect", don’t count`;
}

function likely(cause: ContradictionCause): string {
  switch (cause.code) {
    case 'load-zero':
      return 'the load column is 0 throughout: leave it out';
    case 'solar-in-load':
      return 'solar is counted inside the load column ("adjust": { "solarInLoad": true } takes it off), or the solar column holds half of the sun’s energy ("adjust": { "scale": { "solar": 2 } })';
    case 'load-from-grid-alone':
      return 'the load column holds only what came from the grid, not the solar that the home used itself';
    case 'solar-taken-off':
      return 'solar was taken off where it should have been added: its transformer is reversed';
    case 'grid-exchanged':
      return 'import and export are exchanged ("adjust": { "flipGrid": true })';
    case 'solar-not-given':
      return 'the home has solar that is not among the columns: add those of export and solar';
    case 'scale': {
      const [columns, they] =
        cause.column === 'meter'
          ? ['the meter’s import and export are', 'they']
          : [`the ${cause.column} column is`, 'it'];
      return `${columns} on another scale: ${Number(cause.times.toPrecision(3))} times ${they} would fit`;
    }
    case 'clock': {
      const whose = cause.column === 'meter' ? 'the meter’s import and export' : `the ${cause.column} column`;
      return `the clock of ${whose} is ${cause.minutes} minutes ${cause.runs}`;
    }
  }
}

/** Why savings are withheld where channels contradict each other. */
export function contradicting({ channels, missedKwh, share, darkOnly }: Contradiction): string {
  const where = darkOnly ? ' in the dark, where no sun explains it' : '';
  return `${listed(channels)} contradict each other by ${figure(missedKwh)} kWh${where}, ${percent(share)} of the load${darkOnly ? ' there' : ''}`;
}

/** Why savings are withheld where energy was exported in the dark. */
export function exportedInTheDark({ darkKwh, by }: DarkExported): string {
  const when = {
    solar: 'while solar gave nothing',
    place: 'at night, when the sun is down where the home stands',
    clock: 'at night, when there is no sun',
  }[by];
  return (
    `${figure(darkKwh)} kWh were exported ${when}: the data seem to contain a battery already${by === 'solar' ? ', or a transformer is reversed' : ''}. ` +
    'What another battery adds can’t be told from them: take days from before the first was there ("span" under "meter"). ' +
    'Where wind, water or an engine made this power, state so: "meter": { "nightGeneration": "wind" } (or "water", "engine")'
  );
}

/** Why savings are withheld where too much is estimated. */
export function tooManyEstimated({ mostShare }: { mostShare: number }): string {
  return `more than ${percent(mostShare)} of the intervals, or of those in on-peak windows, are estimated`;
}

/** What a file of planned solar is told with. */
export function ofPlannedSolar(sentence: string): string {
  return `planned solar: ${sentence}`;
}

function withheld(why: string): string {
  return `savings are withheld: ${why}`;
}

function kw(value: number): string {
  return `${figureBound(value, 'up')} kW`;
}
