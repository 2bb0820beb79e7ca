import { percent } from './figures.ts';
import { describeStep } from './steps.ts';
import { type ToldStream, tellStreams } from './streams.ts';

const NO_READINGS = {
  'all-blank': 'every value is blank',
  'none-found': 'no reading was found',
  'none-placed': 'no reading could be placed in time',
  'no-day': 'no row could be read as a day',
  'no-electric-energy': 'the feed holds no electric energy',
  'no-interval': 'no row could be read as an interval',
  'no-interval-reading': 'the XML holds no interval readings of ESPI',
  'no-record': 'the file holds no readable record of active energy',
  'no-rows': 'the file has no rows',
  'nothing-to-join': 'there is nothing to join',
};

/** Load of zero while the sun shines: it may be import, and the solar beside it export. */
interface NoUseInSun {
  readonly why: 'no-use-in-sun';
  /** Columns, or kinds of rows, of use and of generation, fit to print. */
  readonly used: readonly string[];
  readonly made: readonly string[];
  /** Of the intervals with generation, those in which nothing is used. */
  readonly unusedShare: number;
}

function noUseInSun({ used, made, unusedShare }: NoUseInSun, option: 'rows' | 'columns'): string {
  return `${used.join(', ')} hold 0 in ${percent(unusedShare)} of the intervals in which ${made.join(', ')} don’t: they may be import and export, not load and solar: state \`${option}\`, which of the two they are`;
}

/** What is told of a file on its way to rows: archives, texts, tables, feeds. */
export const READING_WORDS = {
  /** Several columns could hold the energy, or none does. State `columns`. */
  'columns-unclear': (data: NoUseInSun) => noUseInSun(data, 'columns'),
  /** The text is not valid UTF-8, and was read in the coding that spreadsheets of old write. */
  'encoding-guessed': () => 'the text is not valid UTF-8: read as Windows-1252',
  /** The file holds daily or monthly figures: steps of an hour or less are needed. */
  'no-interval-data': (
    data: { readonly why: 'no-time-of-day' } | { readonly why: 'far-apart'; readonly stepHours: number },
  ) => {
    if (data.why === 'no-time-of-day')
      return 'rows have a date and no time of day: these are daily or monthly figures, no interval data';
    const apart = data.stepHours >= 24 ? `${Math.round(data.stepHours / 24)} days` : `${data.stepHours} hours`;
    return `readings are ${apart} apart: this is no interval data (steps of 60 minutes or less)`;
  },
  /** There is nothing to read. */
  'no-readings': ({ why }: { readonly why: keyof typeof NO_READINGS }) => NO_READINGS[why],
  /** It isn't understood what rows measure, or which column tells them apart. State `rows`. */
  'rows-unclear': (
    data:
      | NoUseInSun
      | { readonly why: 'not-understood'; readonly streams: readonly ToldStream[] }
      | { readonly why: 'too-many-texts'; readonly mostTexts: number },
  ) => {
    if (data.why === 'no-use-in-sun') return noUseInSun(data, 'rows');
    if (data.why === 'not-understood')
      return `nothing known here says what ${tellStreams(data.streams)} measure: state \`rows\`, what each of them is by its text (import, export, load, solar, net, ignore)`;
    return `the column that should tell rows apart has more than ${data.mostTexts} different texts: name another with \`columns.type\`, or say what all rows are with \`rows\`, such as *=import`;
  },
  /** The step doesn't fit into an hour, or the project's own format states one that it doesn't have. */
  'step-unsupported': (
    data:
      | { readonly why: 'stated'; readonly supportedMinutes: readonly number[] }
      | { readonly why: 'not-in-an-hour'; readonly stepMinutes: number },
  ) =>
    data.why === 'stated'
      ? `the comment "# step_minutes: …" is none of ${data.supportedMinutes.join(', ')}`
      : `an interval of ${describeStep(data.stepMinutes)} does not fit into an hour`,
  /** A row of totals, or sums of days at midnight, were left out. */
  'totals-row': ({ why }: { readonly why: 'named-total' | 'sum-of-day' }) =>
    why === 'named-total'
      ? 'a totals row was left out'
      : 'rows at midnight that hold the sum of their day were left out',
  /** Several units fit the values, or a column names a unit of heat, gas or water. State `unit`. */
  'unit-unknown': (
    data:
      | { readonly why: 'no-energy'; readonly columns: readonly string[] }
      | {
          readonly why: 'not-printed';
          readonly choices: readonly { readonly unit: string; readonly dailyKwh: number }[];
        },
  ) => {
    if (data.why === 'no-energy')
      return `${data.columns.join(', ')} names a unit of heat, gas or water: state \`unit\``;
    const sizes = data.choices.map(({ unit, dailyKwh }) => `${unit} would make ${dailyKwh.toPrecision(3)} kWh a day`);
    return `nothing says in which unit the values are (${sizes.join(', ') || 'no unit gives a home’s daily energy'}): state \`unit\``;
  },
} as const;
