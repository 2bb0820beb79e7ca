import * as z from 'zod';
import { dateField } from '../input/date-field.ts';
import { fields } from '../input/index.ts';
import { ROW_KINDS, UNITS } from './options.ts';
import { LONGEST_GAP_HOURS } from './repair.ts';

const columnRef = z
  .union([z.string().min(1), z.int().min(1)])
  .describe('A column: the name in its header, or its number from 1.');
const valueColumn = z
  .union([columnRef, z.array(columnRef).min(1)])
  .describe('A column, or several that are added up (day and night registers).');

const spanSchema = fields({
  from: dateField.optional().describe('First date. Default: the first that there is.'),
  to: dateField.optional().describe('Last date, included. Default: the last that there is.'),
}).refine(({ from, to }) => from === undefined || to === undefined || from <= to, {
  error: 'a "from" that is not after "to"',
  path: ['from'],
});

const columnsSchema = fields({
  start: columnRef.optional().describe('Date and time at which an interval starts.'),
  end: columnRef.optional().describe('Date and time at which an interval ends.'),
  date: columnRef.optional().describe('Date, where the time stands in a column of its own.'),
  time: columnRef.optional().describe('Time of day at which an interval starts.'),
  endTime: columnRef.optional().describe('Time of day at which an interval ends.'),
  type: columnRef
    .optional()
    .describe('Text that says what a row measures: a type, register, channel or direction (see `rows`).'),
  import: valueColumn.optional().describe('Energy bought from the grid.'),
  export: valueColumn.optional().describe('Energy sold to the grid.'),
  load: valueColumn.optional().describe('Energy that the home consumed, whatever its source.'),
  solar: valueColumn.optional().describe('Gross solar energy, on the AC side.'),
  net: valueColumn.optional().describe('One signed column: import less export (see `sign`).'),
}).describe('Which columns hold what. Left out: recognised by names and contents.');

const adjustSchema = fields({
  flipGrid: z
    .boolean()
    .optional()
    .describe('Import becomes export and the other way: the grid’s transformers are reversed.'),
  swapSolarAndGrid: z.boolean().optional().describe('Solar and grid have each other’s transformers.'),
  scale: fields({
    import: z.number().positive().optional().describe('Factor for import.'),
    export: z.number().positive().optional().describe('Factor for export.'),
    load: z.number().positive().optional().describe('Factor for load.'),
    solar: z.number().positive().optional().describe('Factor for solar.'),
  })
    .optional()
    .describe('Factor for a channel: 2 where one of two legs, or one conductor of a solar feed, is measured.'),
  shiftMinutes: z.int().min(-1440).max(1440).optional().describe('Added to every time: −60 for a clock an hour late.'),
  solarInLoad: z.boolean().optional().describe('Solar was counted inside load: taken off it.'),
}).describe('Corrections of a metering fault; `duskbank inspect` names the one that the data speak for.');

/** How one interval file is to be read. Every field but `path` mirrors an option of `parseIntervalData`. */
export const meterFileSchema = fields({
  path: z.string().min(1).describe('The interval file, relative to the site file.'),
  zone: z
    .string()
    .optional()
    .describe(
      'IANA time zone of the labels, where it is another than the site’s. Windows and days stay on the site’s clock.',
    ),
  unit: z
    .enum(UNITS)
    .optional()
    .describe('Unit of every value. Default: from the file’s own evidence; else a question.'),
  columns: columnsSchema.optional(),
  channel: z
    .enum(['import', 'export', 'load', 'solar', 'net'])
    .optional()
    .describe(
      'What the values of a nameless value column are (default: import, with a finding); of a file of one register, that it is all of that.',
    ),
  rows: z
    .record(z.string(), z.enum(ROW_KINDS))
    .optional()
    .describe(
      'What rows are, by the text of their type, register, channel or direction cell; `*` for all that are not named. Several of one channel are added. Default: understood from the text; else a question.',
    ),
  repeats: z
    .enum(['first', 'last', 'add'])
    .optional()
    .describe(
      'Two readings of one interval that differ: which one counts, or that they are parts to add. Default: a gap; many are a question.',
    ),
  sign: z
    .enum(['import-positive', 'export-positive'])
    .optional()
    .describe('What a positive value in a signed column means. Default: import-positive.'),
  intervalEnd: z
    .boolean()
    .optional()
    .describe('Whether labels name the end of their interval. Default: from evidence.'),
  dateOrder: z
    .enum(['day-first', 'month-first', 'year-first'])
    .optional()
    .describe('Order of the numbers in dates such as 03/04/2026. Default: settled from the whole column.'),
  clock: z
    .enum(['local', 'standard', 'utc'])
    .optional()
    .describe(
      'Clock of labels without an offset: local changes with the zone, standard never does. Default: from evidence.',
    ),
  decimal: z.enum(['.', ',']).optional().describe('The mark before decimals. Default: from the values.'),
  year: z.int().min(1970).max(2200).optional().describe('Year of dates that print none.'),
  sheet: z
    .string()
    .min(1)
    .optional()
    .describe(
      'Which sheet of a spreadsheet is read. Default: the one that holds readings, or several that are stretches or channels of one home.',
    ),
  usagePoint: z
    .union([z.int().min(1), z.array(z.int().min(1)).min(1)])
    .optional()
    .describe('Which usage point or meter of the file, from 1; several are added.'),
  meterReading: z
    .union([z.int().min(1), z.array(z.int().min(1)).min(1)])
    .optional()
    .describe(
      'Which meter readings of an ESPI file are read, from 1 in file order; several of one channel are added. Default: all, unless they may be alternatives.',
    ),
  pricePerKwh: z.number().positive().optional().describe('What a kWh cost: tells units apart where rows print a cost.'),
  billedKwh: z.number().positive().optional().describe('Energy billed over the span of the file: tells units apart.'),
  adjust: adjustSchema.optional(),
  span: spanSchema
    .optional()
    .describe('Local dates that this file is cut to, such as those before another file begins.'),
}).describe('One interval file and what is stated about it.');

const gapRepairSchema = fields({
  maxGapHours: z
    .number()
    .min(0)
    .max(LONGEST_GAP_HOURS)
    .optional()
    .describe(
      'Longest gap that is filled, hours, up to 2208 (92 days). Longer ones stay gaps, and so does what makes more than a quarter of the data. Default 6; 0 fills none.',
    ),
  likeDays: z
    .int()
    .min(1)
    .max(60)
    .optional()
    .describe('How many like days before and after a gap may lend their values, at most. Default 10.'),
}).describe(
  'Filling of gaps from like days (weekdays, or weekend days, nearest to the gap): by their median, above two weeks by each of them in turn.',
);

/** The meter section of a site file. */
export const meterSourceSchema = fields({
  files: z
    .array(z.union([z.string().min(1), meterFileSchema]))
    .min(1)
    // Ten years of months: reading takes time, and a list longer than that is a slip.
    .max(120)
    .superRefine((files, context) => {
      const seen = new Map<string, number>();
      for (const [k, file] of files.entries()) {
        const entry = JSON.stringify(typeof file === 'string' ? { path: file } : file);
        const first = seen.get(entry);
        if (first !== undefined)
          context.addIssue({
            code: 'custom',
            path: [k],
            params: {
              code: 'duplicate-file',
              received: 'the same file again',
              hint: `it stands at files[${first}], too`,
            },
            message: 'each file once',
          });
        else seen.set(entry, k);
      }
    })
    .describe('Interval files of the home, joined: a path, or a path with what is stated about the file.'),
  span: spanSchema.optional().describe('Local dates that the data are cut to, such as the months without a gap.'),
  nightGeneration: z
    .enum(['wind', 'water', 'engine'])
    .optional()
    .describe(
      'What makes power at the home without sun: wind, water, or an engine (a generator, combined heat and power). Without it, what is exported at night is taken for a battery’s that is in the data already, and savings are withheld. A battery is none of these.',
    ),
  solarPanels: z
    .enum(['none'])
    .optional()
    .describe(
      'States that the home has no solar panels, where what it draws is next to nothing by day: without it, panels are taken to carry it then, and hours of backup of the metered load are not told. Changes nothing where solar is metered.',
    ),
  repair: gapRepairSchema.optional(),
}).describe('Where the metered data come from.');

/** One entry of `meter.files` with options. */
export type MeterFile = z.output<typeof meterFileSchema>;
/** The meter section of a site file, checked. */
export type MeterSource = z.output<typeof meterSourceSchema>;
