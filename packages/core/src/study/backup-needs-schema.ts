import * as z from 'zod';
import { factSchema } from './meter-parts-schema.ts';
import {
  axisSchema,
  cautionsSchema,
  type DeepReadonly,
  formatField,
  medicalField,
  nameField,
  provenanceSchema,
  warningsSchema,
  wiringRulesField,
} from './report-parts-schema.ts';

const va = (what: string) => z.number().min(0).describe(what);
const kwh = (what: string) => z.number().min(0).describe(what);

/** What a home without a battery asks of one in an outage, as `--json` prints it. */
export const backupNeedsReportSchema = z
  .object({
    format: formatField('duskbank.backup-needs/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    site: z.string().describe('The home’s name.'),
    axis: axisSchema,
    provenance: provenanceSchema,
    basis: z.string().describe('What the figures rest on.'),
    medical: medicalField,
    cautions: cautionsSchema,
    findings: z
      .array(factSchema.extend({ circuits: z.array(z.string()).describe('The circuits concerned.') }))
      .describe('Figures of circuits that look wrong.'),
    circuits: z
      .array(
        z.object({
          name: nameField('The circuit.'),
          leg: z.enum(['L1', 'L2', '240']).describe('The leg that feeds it, or both.'),
          priority: z.int().min(1).describe('1 is let go last.'),
          runningVa: va('Running power, VA.'),
          startVa: z.number().min(0).nullable().describe('Power while it starts, VA; null where unknown.'),
          meanW: z.number().min(0).describe('Mean draw in its hours and months, W.'),
          medical: z.boolean().describe('Life-supporting or medical.'),
        }),
      )
      .describe(
        'The circuits that should stay on, by priority; empty where none are listed: then all of the home’s load.',
      ),
    togetherVa: z
      .number()
      .min(0)
      .nullable()
      .describe('All listed circuits running at once, VA: what the output has to carry; null where none are listed.'),
    hardestStart: z
      .object({ circuit: nameField('Which one.'), startVa: va('Power while it starts, VA.') })
      .nullable()
      .describe('The hardest start among the listed; null where none is known.'),
    energy: z
      .array(
        z.object({
          hours: z.number().min(1).describe('Hours without the grid.'),
          usualKwh: kwh('What they take in the middle one of all starts, kWh.'),
          nineInTenKwh: kwh('What is enough in 9 of 10 starts, kWh.'),
          mostKwh: kwh('The hungriest stretch of the data, kWh.'),
        }),
      )
      .nullable()
      .describe(
        'Energy that the load takes, by hours without the grid; null where what the home uses behind the meter isn’t known.',
      ),
    measured: z
      .object({
        maximumKw: z.number().min(0).describe('Highest interval of the data, kW.'),
        totalVa: va('Maximum × 125 %, VA.'),
      })
      .describe('The metered home, for a panel that is backed up whole.'),
    wiringRules: wiringRulesField,
    notAnswered: z.array(z.string()).min(1).describe('What can’t be said without a battery.'),
    warnings: warningsSchema,
  })
  .describe('Results of duskbank outage and circuits for a home without a battery: what one would have to carry.');

/** What a home asks of a battery in an outage: see {@link backupNeedsReportSchema}. */
export type BackupNeedsReport = DeepReadonly<z.output<typeof backupNeedsReportSchema>>;
