import { clockOf, count, runsText, shortFigure } from './figures.ts';

/** How a user says which readings are bought and which are sold, each way as it is printed. */
/** What a home states that has no panels. */
const NO_PANELS = '"solarPanels": "none" under "meter"';
const WHICH_IS_WHICH =
  'State for the file which is bought and which is sold. Where the two are exchanged, exchange them there; say them as they stand only where the home does sell at night (a battery, wind). Of columns, with their own numbers or names, "columns": { "import": 2, "export": 3 }, of rows "rows": { "Import": "import", "Export": "export" }, of NEM12 by suffix "rows": { "E1": "import", "B1": "export" }.';
/** What is to be done where the user says so. */
const SELLS_AT_NIGHT =
  'A battery or wind may sell at night; where the home has neither, exchange the two in what is stated.';

/** Where they say so of what no home does. */
const AGAINST_THE_SUN =
  'What is stated as bought is nothing at night and follows the sun by day, as what an array makes or sells does and no home draws: exchange the two in what is stated.';

/** What the user says of which readings are bought and which are sold. */
export type Said = {
  /** The user says which readings are bought and which are sold. */
  readonly stated?: true;
  /** They say it, and what they call bought follows the sun. */
  readonly denied?: true;
};

function takenAsStated({ stated }: Said): string {
  return stated === true ? '; taken as it is stated' : '';
}

/** What is to be done, by what the user says. */
function toDo({ stated, denied }: Said, otherwise: string): string {
  if (denied === true) return AGAINST_THE_SUN;
  return stated === true ? SELLS_AT_NIGHT : otherwise;
}

/** Stands beside every word about transformers. */
export const PANEL_CAUTION =
  'Opening a panel is a licensed person’s work, and the supply side stays live with the main switch off.';

/** A share in whole percent: `37 %`. */
function percent(share: number): string {
  return `${Math.round(share * 100)} %`;
}

/** `45 minutes late`. */
function late(minutes: number): string {
  return `${count(Math.abs(Math.round(minutes)), 'minute')} ${minutes > 0 ? 'late' : 'early'}`;
}

/** Some intervals of a channel, and the date of the first. */
type Some = {
  readonly channel: string;
  readonly intervals: number;
  /** `2025-03-31`. */
  readonly firstOn: string;
};

/**
 * What is told of signs that a meter or monitor measures wrongly: what in the data shows it, then what it most often means
 * and what to look at, in an installer's words. Where that lies in the panel, {@link PANEL_CAUTION} is added.
 */
export const METERING_WORDS = {
  /** What follows the sun has its middle far from noon: the labels keep another clock than the home's. */
  'clock-elsewhere': {
    evidence: ({
      channel,
      middleHour,
    }: {
      channel: 'export' | 'solar';
      /** Of its day, on the clock that the labels were read in, hours from midnight. */
      middleHour: number;
      /** On labels of UTC it would be about noon. */
      isUtc: boolean;
    }) =>
      `${channel} follows the sun, but its middle lies at ${clockOf(Math.round(middleHour * 60) % 1440)}, not about noon`,
    meaning: ({ isUtc }: { isUtc: boolean }) =>
      isUtc
        ? 'The labels seem to be in UTC: state "clock": "utc" for the file ("duskbank inspect" takes --clock utc); where they print an offset, the stated zone is another than the home’s. Until then sun seems to be sold at night, and every price is taken at the wrong hour.'
        : 'The labels keep another clock than the home’s, or the stated zone is wrong, or morning and afternoon (AM, PM) were lost: state the "zone" of the labels for the file, or the hours that they are off as "adjust": { "shiftMinutes": … }. Until then every price is taken at the wrong hour.',
  },
  /** The middle of the solar day is off all year: the meter's clock or the stated zone is wrong. */
  'clock-shifted': {
    evidence: ({
      lateMinutes,
      darkMinutes,
    }: {
      /** Of the middle of the solar day against solar noon; early is below zero. */
      lateMinutes: number;
      /** How far solar runs into the dark, where that is more than a quarter of an hour. */
      darkMinutes?: number;
    }) =>
      `the middle of the solar day lies ${late(lateMinutes)} against solar noon${darkMinutes === undefined ? '' : `, and solar runs ${count(Math.round(darkMinutes), 'minute')} into the dark`}`,
    meaning: () =>
      'The clock of the meter, or the stated zone, is off: every price window would be read at the wrong hour.',
  },
  /** The solar day lies an hour off in summer: the meter's clock keeps standard time. */
  'clock-without-dst': {
    evidence: ({ lateMinutes }: { lateMinutes: number }) =>
      `the middle of the solar day lies ${late(lateMinutes)} in summer against winter, where the sun itself hardly moves`,
    meaning: () =>
      'The clock of the meter doesn’t follow daylight saving time. Read labels without an offset as standard time ("clock": "standard"); those with one are taken at their word, so that the offset itself is wrong: ask for another export, in standard time or UTC.',
  },
  /** A day is the one before it once more. */
  'day-repeated': {
    evidence: ({ channel, intervals, firstOn }: Some) =>
      `${channel} repeats the day before, interval by interval, in ${count(intervals, 'interval')}, first on ${firstOn}`,
    meaning: () => 'A day was copied where readings were missing: treat it as estimated.',
  },
  /** Whole days on which a channel is exactly zero: days to come, or readings lost and written as zero. */
  'days-of-zero': {
    evidence: ({
      channel,
      from,
      to,
      days,
      daysInAll,
    }: {
      readonly channel: 'import' | 'load';
      /** The longest run of such days, in local dates. */
      readonly from: string;
      readonly to: string;
      readonly days: number;
      /** Of all runs of three days or more. */
      readonly daysInAll: number;
    }) =>
      `${channel} is exactly zero, night and day, on ${count(days, 'day')} in a row, from ${from} to ${to}${daysInAll === days ? '' : ` (${daysInAll} such days in all)`}`,
    meaning: () =>
      'Most often days to come, or lost readings, were written as zero; they are billed as days without any use. Treat them as missing: cut the data to other days ("span" under "meter" in the site file), or make those readings blank and let like days fill them. If the main switch was off, or a battery that is there already carried the home, nothing is to be done.',
  },
  /** The home exports at night: both of the grid's transformers point the wrong way. */
  'grid-reversed': {
    evidence: ({ exportShare, exportKwh, ...said }: { exportShare: number; exportKwh: number } & Said) =>
      `${percent(exportShare)} of the dark intervals export (${exportKwh.toFixed(0)} kWh), when there is no sun to export${takenAsStated(said)}`,
    meaning: (said: Said) =>
      toDo(
        said,
        `${WHICH_IS_WHICH} In a file of one net column, the column most likely counts export as positive: state \`sign: export-positive\` for the file. Of a monitor, the grid’s transformers point the wrong way: turn both, or swap each one’s leads, so that the arrow follows the maker’s mark.`,
      ),
  },
  /** Much less is metered than was billed: one of two legs isn't seen. */
  'leg-missing': {
    evidence: ({ meteredShare, billedKwh }: { meteredShare: number; billedKwh: number }) =>
      `${percent(meteredShare)} of the billed ${billedKwh.toFixed(0)} kWh is metered`,
    meaning: ({ meteredShare }: { meteredShare: number }) =>
      `One of the two legs seems not to be measured: a transformer is missing, open, or its plug is out${meteredShare < 0.2 ? ', or one is reversed' : ''}.`,
  },
  /** Some dark intervals export: one leg is read less the other. */
  'leg-reversed': {
    evidence: ({
      exportShare,
      meteredShare,
    }: {
      exportShare: number;
      /** Metered share of the billed energy, where that is known. */
      meteredShare?: number;
    }) =>
      `${percent(exportShare)} of the dark intervals export${meteredShare === undefined ? '' : `, and ${percent(meteredShare)} of the billed energy is metered`}`,
    meaning: () =>
      'In this order: a battery that is there already sells at night (no saving can be told from these days: take days from before it, "span" under "meter"); wind, water or an engine makes power ("nightGeneration" under "meter"); or, of a monitor with clamps, one of the two mains transformers is reversed: it reads one leg less the other, loads on both legs vanish, and signs can’t be trusted. Those data can’t be mended: turn the transformer and measure anew.',
  },
  /** Solar has energy at night and the grid none: the two have each other's transformers or names. */
  'solar-grid-swapped': {
    evidence: ({ solarDarkShare, gridDarkShare }: { solarDarkShare: number; gridDarkShare: number }) =>
      `the solar channel has ${percent(solarDarkShare)} of its energy in the dark, the grid channel ${percent(gridDarkShare)}`,
    meaning: () => 'The transformers of solar and grid seem to be swapped, or their names in the monitor are.',
  },
  /** Export counts through the night and a register of import by day alone: the two have each other's names. */
  'registers-exchanged': {
    evidence: ({
      register,
      days,
      runs,
      darkKwh,
      by,
      ...said
    }: {
      /** Of import, fit to print: `register E1`, `column 2 "Bezug kWh"`, `import`. */
      readonly register: string;
      readonly days: number;
      /** The first six stretches of them, both ends included. */
      readonly runs: readonly { readonly from: string; readonly to: string }[];
      readonly darkKwh: number;
      /** What shows it, where it isn't the night alone: over the whole of the data the one keeps to the hours of the sun, the other doesn't. */
      readonly by?: 'course';
    } & Said) =>
      by === 'course'
        ? `${register} keeps to the hours of the sun, and export doesn’t: on ${count(days, 'day')} (${runsText(runs)}) it counts ${darkKwh.toFixed(0)} kWh without any${takenAsStated(said)}`
        : `on ${count(days, 'day')} (${runsText(runs)}) export counts through the night, when there is no sun (${darkKwh.toFixed(0)} kWh in the dark), and ${register} by day alone${takenAsStated(said)}`,
    meaning: (said: Said) =>
      toDo(
        said,
        `What the home draws and what it sells seem to have each other’s names in the files of those days. ${WHICH_IS_WHICH} Or download the file again.`,
      ),
  },
  /** More is exported than the sun gives: one conductor of the solar feed is measured and not doubled. */
  'solar-half': {
    evidence: ({
      sunnyIntervals,
      aboveIntervals,
      doublingMends,
    }: {
      sunnyIntervals: number;
      /** Those of them in which export is above solar. */
      aboveIntervals: number;
      doublingMends: boolean;
    }) =>
      `export is above solar in ${((100 * aboveIntervals) / sunnyIntervals).toFixed(1)} % of the sunny intervals${doublingMends ? '; with solar doubled, in almost none' : ''}`,
    meaning: () =>
      'The solar feed seems to be measured on one of two conductors without being counted twice, or a second array isn’t measured.',
  },
  /** Load moves with solar, cloud by cloud: solar is counted inside it, or taken off it. */
  'solar-in-load': {
    evidence: ({ loadPerSolar }: { loadPerSolar: number }) =>
      `load ${loadPerSolar > 0 ? 'moves with solar' : 'falls as solar rises'}: ${loadPerSolar.toFixed(2)} kWh for each kWh of solar`,
    meaning: ({ loadPerSolar }: { loadPerSolar: number }) =>
      loadPerSolar > 0
        ? 'Solar is counted inside load: the solar feed lands on the load’s side of the transformers, or the monitor adds it.'
        : 'What is called load seems to be what the grid delivers, solar already taken off: read that column as import (columns.import).',
  },
  /** Single intervals far above all others: they would set a demand charge. */
  spike: {
    evidence: ({ channel, intervals, firstOn }: Some) =>
      `${channel} has ${count(intervals, 'interval')} more than four times above all but a thousandth of the others, first on ${firstOn}`,
    meaning: () =>
      'A glitch, or the energy of an outage of the link booked into one interval: it would set a demand charge by itself.',
  },
  /** One value over and over: the meter or its link hung. */
  'stuck-value': {
    evidence: ({ channel, intervals, firstOn, leastHours }: Some & { readonly leastHours: number }) =>
      `${channel} repeats one value for ${shortFigure(leastHours)} hours or more, ${count(intervals, 'interval')} in all, first on ${firstOn}`,
    meaning: () => 'The meter or its link hung, and the last value was handed on: treat those intervals as gaps.',
  },
  /** What the user says is all that the home takes is nothing in the same hours of every week. */
  'silent-hours': {
    evidence: ({
      channel,
      first,
      last,
      on,
      from,
      to,
    }: {
      channel: 'import' | 'load';
      /** The stretch that shows it, local dates, both included. */
      first: string;
      last: string;
      /** The kind of day, and the hours of it. */
      on: string;
      from: string;
      to: string;
    }) =>
      `${channel}, stated as all, is nothing in the same hours of every week from ${first} to ${last} (${on} from ${from} to ${to})`,
    meaning: () =>
      'A battery that is there already may carry the home then: what another one adds can’t be told from these days, so take days from before it ("span" under "meter"). Or another register of the meter counts then: add its file, and leave out what is stated.',
  },
  /** Weeks at a fraction of what the home draws before and after. */
  'quiet-weeks': {
    evidence: ({
      channel,
      from,
      to,
      dailyKwh,
      beforeKwh,
      afterKwh,
    }: {
      readonly channel: 'import' | 'load';
      readonly from: string;
      readonly to: string;
      /** A day of them, a day just before and one just after, kWh: medians. */
      readonly dailyKwh: number;
      readonly beforeKwh: number;
      readonly afterKwh: number;
    }) =>
      `${channel} from ${from} to ${to} is ${dailyKwh.toFixed(1)} kWh a day, between days of ${beforeKwh.toFixed(1)} and ${afterKwh.toFixed(1)} kWh`,
    meaning: () =>
      'Nobody was at home, or a transformer came off its conductor. A year with people at home saves more, and an empty one says little of outages.',
  },
  /** What is drawn is nothing about noon, as of a home with panels, and neither export nor solar is given. */
  'sun-unseen': {
    evidence: ({
      channel,
      share,
      nightShare,
      days,
      middleHour,
      net,
      stated,
    }: {
      channel: 'import' | 'load';
      /** Of the readings within two and a half hours of the middle of the day, those that are nothing, and of those at the other end of the day. */
      share: number;
      nightShare: number;
      readonly days: number;
      /** Where that middle isn't about noon, hours from midnight on the clock that the labels were read in; and whether it would be on labels of UTC. */
      middleHour?: number;
      isUtc?: boolean;
      /** It is read from a net that never falls below zero, and whether solar is given beside it. */
      net?: 'alone' | 'with-solar';
      /** The user says that what is drawn is all. */
      stated?: boolean;
    }) =>
      `${net === undefined ? channel : 'the net'} is nothing in ${percent(share)} of the readings ${middleHour === undefined ? 'from 10 to 15 h' : `about ${clockOf(Math.round(middleHour * 60) % 1440)}, where the middle of that lies and not about noon`}, on ${count(days, 'day')}, and in ${percent(nightShare)} of those ${middleHour === undefined ? 'at night' : 'half a day off'}, as of a home that solar panels carry by day; ${net === undefined ? 'no export and no solar is given' : 'yet it never falls below zero, so that what was sold is cut off'}${stated === true ? ', and what is read is all, as is stated' : ''}`,
    meaning: ({
      channel,
      middleHour,
      isUtc,
      net,
      stated,
    }: {
      channel: 'import' | 'load';
      middleHour?: number;
      isUtc?: boolean;
      net?: 'alone' | 'with-solar';
      stated?: boolean;
    }) => {
      const clock =
        middleHour === undefined
          ? ''
          : isUtc === true
            ? 'Its labels seem to be in UTC, so that every price is taken at the wrong hour: state "clock": "utc" for the file ("duskbank inspect" takes --clock utc). '
            : 'Its labels seem to keep another clock than the home’s, or the stated zone is wrong, so that every price is taken at the wrong hour: state the "zone" of the labels for the file, or "adjust": { "shiftMinutes": … }. ';
      if (stated === true)
        return `${clock}If the home has panels and sells, savings are wrong without its export. If it has panels and sells nothing, a battery would also store sun that is lost now: that is in no figure here; and hours of backup of its metered load are not told, since it uses more than it buys (list its circuits, or state its watts under "backup.load"). If it has none, say so: ${NO_PANELS}.`;
      if (net !== undefined)
        return `${clock}A home with panels saves otherwise with a battery than these readings tell. Download the net with its signs; or, where it is what is bought alone, call it so, "columns": { "import": … } for the file, and add the file of what is sold (export, feed-in) under "files", as { path: …, channel: export }. Where nothing is ever sold, ${net === 'alone' ? 'state "channel": "import" for the file' : 'say that the net is what is bought, "columns": { "import": …, "solar": … }'}: that is all.${net === 'alone' ? ` Where there are no panels, state ${NO_PANELS}.` : ''}`;
      return `${clock}A home with panels saves otherwise with a battery than these readings tell: they are most likely what is bought from the grid${channel === 'load' ? ' (state "channel": "import" for the file), not all that the home uses' : ''}. Add the file or column of what is sold (export, feed-in) under "files", as { path: …, channel: export }. Where nothing is ever sold, state "channel": "import" for the file: that is all. Where there are no panels, state ${NO_PANELS}.`;
    },
  },
  /** Zero where the home never is: an outage, or readings lost. */
  'zero-run': {
    evidence: ({
      channel,
      intervals,
      firstOn,
      baseKw,
    }: Some & {
      /** Power that the home hardly ever falls below in the dark. */
      readonly baseKw: number;
    }) =>
      `${channel} is exactly zero in ${count(intervals, 'interval')}, first on ${firstOn}, though it hardly ever falls below ${baseKw.toFixed(2)} kW in the dark`,
    meaning: () => 'An outage, or lost readings recorded as zero: blank is not zero.',
  },
} as const;

export type MeteringWords = typeof METERING_WORDS;
