import * as z from 'zod';
import { dateField } from '../../input/date-field.ts';
import { fields } from '../../input/index.ts';
import { HOLIDAY_SETS, WEEKDAYS } from '../vocabulary.ts';

export { dateField };

/** One value or a list of them. */
function oneOrMore<Item extends z.ZodType>(item: Item) {
  return z.union([item, z.array(item).min(1)]);
}

const MONTH_LENGTHS = [31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];

const monthDayField = z
  .string()
  .refine(
    (text) => {
      const match = /^(\d\d)-(\d\d)$/.exec(text);
      if (match === null) return false;
      const length = MONTH_LENGTHS[Number(match[1]) - 1];
      return length !== undefined && Number(match[2]) >= 1 && Number(match[2]) <= length;
    },
    { error: 'a day of the year as "MM-DD", such as "06-01"', params: { code: 'not-a-date' } },
  )
  .meta({ pattern: '^\\d{2}-\\d{2}$' });

export const clockField = z
  .string()
  .refine((text) => /^(?:(?:[01]\d|2[0-3]):[0-5]\d|24:00)$/.test(text), {
    error: 'a time of day from "00:00" to "24:00", such as "16:30"',
    params: { code: 'not-a-time' },
  })
  .meta({ pattern: '^([01]\\d|2[0-3]):[0-5]\\d$|^24:00$' });

export const monthsField = oneOrMore(z.int().min(1).max(12));

export const daysField = oneOrMore(z.enum([...WEEKDAYS, 'weekday', 'weekend', 'holiday', 'all']));

export const nameField = z.string().trim().min(1).max(80);

export const namesField = oneOrMore(nameField);

export const seasonSchema = fields({
  name: nameField.describe('What windows and charges call the season, such as "summer".'),
  from: monthDayField.optional().describe('First day, "MM-DD". Give `from` and `to`, or `months`.'),
  to: monthDayField
    .optional()
    .describe('Last day, "MM-DD", itself included; before `from` where the season crosses New Year.'),
  months: monthsField.optional().describe('The whole months that make up the season, 1 … 12.'),
}).describe('A part of the year. The seasons together hold each day of the year once.');

const observedField = z
  .enum(['none', 'nearest-weekday', 'sunday-to-monday', 'next-weekday'])
  .default('none')
  .describe(
    'Where it is kept when it falls on a weekend: "nearest-weekday" (Saturday on Friday, Sunday on Monday), ' +
      '"sunday-to-monday" (Saturday stays), "next-weekday" (the next weekday that is no holiday yet).',
  );

const holidayCommon = {
  name: nameField.describe('The holiday’s name, as the tariff lists it.'),
  since: z.int().min(1900).max(2200).optional().describe('First year that it is kept in.'),
  until: z.int().min(1900).max(2200).optional().describe('Last year that it is kept in.'),
};

export const holidaySchema = z
  .union([
    z.enum(HOLIDAY_SETS),
    fields({ ...holidayCommon, date: monthDayField.describe('Day of the year, "MM-DD".'), observed: observedField }),
    fields({
      ...holidayCommon,
      weekday: z.enum(WEEKDAYS).describe('Day of the week that it falls on.'),
      nth: z
        .int()
        .min(-1)
        .max(5)
        .refine((n) => n !== 0, { error: '1 … 5, or −1 for the last' })
        .describe('Which one of the month: 1 … 5, or −1 for the last.'),
      month: z.int().min(1).max(12).describe('1 … 12.'),
    }),
    fields({
      ...holidayCommon,
      weekday: z.enum(WEEKDAYS).describe('Day of the week that it falls on.'),
      onOrBefore: monthDayField.describe('The last such weekday on or before this day of the year, "MM-DD".'),
    }),
    fields({
      ...holidayCommon,
      weekday: z.enum(WEEKDAYS).describe('Day of the week that it falls on.'),
      onOrAfter: monthDayField.describe('The first such weekday on or after this day of the year, "MM-DD".'),
    }),
    fields({
      ...holidayCommon,
      daysAfterEaster: z
        .int()
        .min(-60)
        .max(80)
        .describe('Days after Easter Sunday: −2 is Good Friday, 1 Easter Monday.'),
      church: z.enum(['western', 'orthodox']).default('western').describe('Whose Easter.'),
    }),
    fields({
      ...holidayCommon,
      dates: z.array(dateField).min(1).describe('The dates themselves, where no rule fits.'),
    }),
  ])
  .describe(
    `A holiday by its rule, or one of the lists ${HOLIDAY_SETS.map((set) => `"${set}"`).join(', ')}. ` +
      'On a holiday the windows with the day kind "holiday" hold.',
  );

/** The hours of a window, without its price. */
export const hoursShape = {
  seasons: namesField.optional().describe('Seasons that it holds in; left out: all.'),
  months: monthsField.optional().describe('Months that it holds in, 1 … 12; left out: all.'),
  days: daysField
    .optional()
    .describe(
      'Days that it holds on: "weekday" (Monday to Friday), "weekend", "holiday", or names of days; left out: all. ' +
        'A holiday counts as nothing but "holiday", and only where the tariff lists holidays.',
    ),
  from: clockField.optional().describe('Clock time that it begins at, "HH:MM".'),
  to: clockField.optional().describe('Clock time that it ends at; at or before `from`: on the next day.'),
  daysOf: z
    .enum(['clock', 'start'])
    .optional()
    .describe(
      'For hours after midnight: "clock" (the default) looks at the day that the clock shows, "start" at the day ' +
        'on which the window began.',
    ),
};
