import type * as z from 'zod';
import { backupNeedsReportSchema } from './backup-needs-schema.ts';
import { billReportSchema } from './bill-schema.ts';
import { checkReportSchema } from './check-schema.ts';
import { circuitsReportSchema } from './circuits-schema.ts';
import { compareReportSchema } from './compare-schema.ts';
import { explainReportSchema } from './explain-schema.ts';
import { inspectReportSchema } from './inspect-schema.ts';
import { outageReportSchema } from './outage-schema.ts';
import { refusalSchema } from './refusal-schema.ts';
import { settingsReportSchema } from './settings-schema.ts';
import { tariffChoiceReportSchema } from './tariff-choice-schema.ts';
import { tariffReportSchema } from './tariff-report-schema.ts';

/** The schema of every report, and of a refusal in place of one, under the name that its `format` has: `duskbank.NAME/1`. */
export const reportSchemas = {
  'backup-needs': backupNeedsReportSchema,
  bill: billReportSchema,
  check: checkReportSchema,
  circuits: circuitsReportSchema,
  compare: compareReportSchema,
  explain: explainReportSchema,
  inspect: inspectReportSchema,
  outage: outageReportSchema,
  refusal: refusalSchema,
  settings: settingsReportSchema,
  'tariff-choice': tariffChoiceReportSchema,
  'tariff-description': tariffReportSchema,
} as const satisfies Record<string, z.ZodType>;
