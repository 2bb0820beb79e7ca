import * as z from 'zod';

/** How a file of readings was understood. */
export const layoutSchema = z
  .object({
    name: z.string().describe('What it was taken for.'),
    evidence: z.array(z.string()).describe('What speaks for that, in words.'),
  })
  .describe('How the file was understood.');

const pathSchema = z.array(z.union([z.string(), z.number()]));

/** Where in the user's input something lies. */
export const whereSchema = z
  .object({
    file: z.string().optional().describe('The file.'),
    line: z.int().min(1).optional().describe('Its line.'),
    column: z.union([z.string(), z.number()]).optional().describe('A column of a table, or a flag.'),
    sheet: z.string().optional().describe('A sheet of a spreadsheet, whose rows are the lines.'),
    cell: z.string().optional().describe('The address of a cell of it, such as B7.'),
    path: pathSchema.optional().describe('Address of the field in a document.'),
    name: z.string().optional().describe('Name of the list entry that the path goes through.'),
    namedIn: z
      .object({ file: z.string().describe('The document.'), path: pathSchema.describe('Its field.') })
      .optional()
      .describe('What names the file.'),
  })
  .describe('Where it lies, as far as that can be told.');

/** What a sentence is made of. */
export const dataSchema = z
  .record(z.string(), z.unknown())
  .describe('What the sentence is made of: see the list of facts.');

/** Something found out, as data and in words. */
export const factSchema = z.object({
  code: z.string().describe('Stable, kebab-case.'),
  severity: z
    .enum(['hazard', 'error', 'warning', 'question', 'note'])
    .describe(
      'A hazard can hurt someone; with an error the data can’t be trusted as they are; a warning bears on how far results can be trusted; a question looks wrong and may be right; a note is good to know.',
    ),
  where: whereSchema,
  data: dataSchema,
  message: z.string().describe('The same in words.'),
});

/** What a reader noticed. */
export const findingSchema = z
  .object({
    code: z.string().describe('Stable, kebab-case: see the list of findings of interval files.'),
    severity: z
      .enum(['error', 'warning', 'note'])
      .describe('An error means that the data can’t be trusted as they are.'),
    where: whereSchema,
    data: dataSchema,
    message: z.string().describe('The same in words.'),
    quoted: z
      .object({
        cell: z.string().describe('The cell, in quotation marks.'),
        line: z.int().min(1).describe('Its line.'),
      })
      .optional()
      .describe('The first faulty cell that may be quoted; absent where none may.'),
    lines: z.array(z.int().min(1)).optional().describe('Lines concerned, at most twenty.'),
    count: z.int().min(0).optional().describe('How often it occurs.'),
    energyKwh: z.number().optional().describe('Energy that it concerns, kWh.'),
  })
  .describe('Something that was noticed in the data.');

/** A fault of the input, as data and in words. */
export const issueSchema = z
  .object({
    code: z.string().describe('Stable, kebab-case.'),
    where: whereSchema,
    received: z.string().describe('What was found.'),
    expected: z.string().describe('What would have been right.'),
    hint: z.string().optional().describe('How to mend it, where that isn’t plain.'),
    data: dataSchema.optional().describe('What the finding behind it holds, where one is: see the list of facts.'),
    message: z.string().describe('All of it in words.'),
  })
  .describe('A fault that was found.');

/** The four things that a home's meters measure. */
export const channelField = z.enum(['import', 'export', 'load', 'solar']).describe('What was measured.');
