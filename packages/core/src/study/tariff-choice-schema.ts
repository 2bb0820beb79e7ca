import * as z from 'zod';
import {
  axisSchema,
  type DeepReadonly,
  formatField,
  moneyShape,
  nameField,
  provenanceSchema,
  warningsSchema,
} from './report-parts-schema.ts';
import { tariffSwitchSchema } from './tariff-switch-schema.ts';

/** The results of `compare --tariff` for a home that has no battery, as `--json` prints them. */
export const tariffChoiceReportSchema = z
  .object({
    format: formatField('duskbank.tariff-choice/1'),
    version: z.string().describe('Version of Duskbank that made it.'),
    site: z.string().describe('The home’s name.'),
    axis: axisSchema,
    provenance: provenanceSchema,
    tariff: nameField('The tariff that the home is on today.'),
    ...moneyShape,
    basis: z.string().describe('What the figures rest on.'),
    tariffSwitch: tariffSwitchSchema,
    warnings: warningsSchema,
  })
  .describe('Results of duskbank compare --tariff for a home without a battery: whatever speaks of one is null.');

/** Results of `compare --tariff` without a battery: see {@link tariffChoiceReportSchema}. */
export type TariffChoiceReport = DeepReadonly<z.output<typeof tariffChoiceReportSchema>>;
