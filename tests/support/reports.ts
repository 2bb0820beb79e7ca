import { reportSchemas } from '@duskbank/core/study';
import { Ajv2020 } from 'ajv/dist/2020.js';
import * as z from 'zod';

/** The name of a report: `duskbank.NAME/1`. */
export type ReportName = keyof typeof reportSchemas;

const validators = new Map<ReportName, ReturnType<Ajv2020['compile']>>();

/** What keeps a report from its JSON Schema, by place; empty where nothing does. */
export function schemaFaults(name: ReportName, report: unknown): string[] {
  let validate = validators.get(name);
  if (validate === undefined) {
    validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true, validateFormats: false }).compile(
      z.toJSONSchema(reportSchemas[name], { io: 'output' }),
    );
    validators.set(name, validate);
  }
  validate(report);
  return (validate.errors ?? []).map(
    ({ instancePath, message, params }) => `${instancePath} ${message} ${JSON.stringify(params)}`,
  );
}

/** A report as another program reads it: what JSON keeps of it. */
export function asJson<Report>(report: Report): Report {
  return JSON.parse(JSON.stringify(report)) as Report;
}
