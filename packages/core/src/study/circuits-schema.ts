import * as z from 'zod';
import { factSchema } from './meter-parts-schema.ts';
import {
  cautionsSchema,
  type DeepReadonly,
  formatField,
  medicalField,
  nameField as name,
  stormDutySchema,
  studyShape,
  wiringRulesField,
} from './report-parts-schema.ts';

const va = (what: string) => z.number().min(0).describe(what);
const leg = z.enum(['L1', 'L2', '240']);

const rowSchema = z
  .object({
    name: name('The circuit.'),
    leg: leg.describe('The leg that feeds it, or both.'),
    priority: z.int().min(1).describe('1 is let go last.'),
    runningVa: va('Running power, VA.'),
    startVa: z
      .number()
      .min(0)
      .nullable()
      .describe('Power while it starts, its soft starter counted, VA; null where unknown.'),
    meanW: z.number().min(0).describe('Mean draw in its hours and months, W: how long energy lasts, not what fits.'),
    verdict: z
      .enum(['together', 'alone', 'never'])
      .describe('With all of higher priority that are together; only with something else off; not at all.'),
    reasons: z.array(z.string()).describe('Why it isn’t together, the strictest limit first; empty where it is.'),
    sharesNeutral: z
      .string()
      .nullable()
      .describe('The circuit that shares its neutral: on or off together; null without.'),
    medical: z.boolean().describe('Life-supporting or medical.'),
    neverShed: z.boolean().describe('Kept until the battery is empty.'),
    unattended: z.boolean().describe('Must work with nobody at home.'),
    assumed: z.array(z.string()).describe('What was taken because the file doesn’t say.'),
  })
  .describe('One circuit, by order of priority.');

const waySchema = z
  .object({
    way: z.enum(['sub-panel', 'whole-panel']).describe('Chosen circuits, or the whole existing panel.'),
    basis: z.string().describe('What the load is.'),
    loadVa: va('Load that the output must carry at one time, VA.'),
    fits: z
      .boolean()
      .nullable()
      .describe(
        'Whether the units there are carry it, starts, each leg and 240 V included; null where that isn’t known: of a whole panel on units that are no pool, and where the meter’s maximum would fit but a part of the panel doesn’t.',
      ),
    toManageVa: va('What must be shed or managed for it to fit, VA.'),
    units: z
      .int()
      .min(1)
      .nullable()
      .describe(
        'Units that run and start it, and carry it for the goal’s hours from full, whenever the grid fails: without sun, on other days at any time of the year, and with `hardAtWork` in the storm months (in any month where none are stated). The least energy that does. Null where none of `mostUnits` do, or it isn’t known: see `lacks`.',
      ),
    modulesPerUnit: z.int().min(0).nullable().describe('Modules on each of those; null where `units` is.'),
    usual: z
      .object({
        units: z.int().min(1).describe('Units.'),
        modulesPerUnit: z.int().min(0).describe('Modules on each.'),
      })
      .nullable()
      .describe('The same with all circuits as on other days, no storm counted; null where none do.'),
    lacks: z
      .enum(['output', 'energy', 'unknown'])
      .nullable()
      .describe(
        'Why `units` is null: no number of units and modules that the site may hold runs and starts it, or none lasts so long; or it isn’t known, as where a circuit is medical or its start isn’t known, the load isn’t, or the data are shorter than the goal. Null where `units` isn’t.',
      ),
  })
  .describe('What one way to back the home up asks for.');

/** The results of `circuits`, as `--json` prints them. Every load figure is an estimate, never a permit document. */
export const circuitsReportSchema = z
  .object({
    format: formatField('duskbank.circuits/1'),
    ...studyShape,
    basis: z.string().describe('What the figures rest on.'),
    medical: medicalField,
    cautions: cautionsSchema,
    findings: z
      .array(
        factSchema.extend({
          severity: z.enum(['hazard', 'question']).describe('A danger, or a figure that looks wrong.'),
          circuits: z.array(z.string()).describe('The circuits concerned.'),
        }),
      )
      .describe('Dangers first, then questions.'),
    splitPhase: z
      .boolean()
      .describe(
        'Whether the home is taken to have two legs of half the volts: in the United States, and elsewhere where circuits or the output speak of legs.',
      ),
    output: z
      .object({
        arrangement: z.enum(['pooled', 'unit-per-leg', 'one-leg']).describe('How the units feed the legs.'),
        continuousVa: va('Continuous output, VA.'),
        legVa: va('The same of one leg, VA.'),
        surgeVa: va('Short output, VA.'),
        legSurgeVa: va('The same of one leg, VA.'),
        surgeSeconds: z.number().optional().describe('How long it is given, s; left out where not stated.'),
        assumed: z.array(z.string()).describe('What was taken because the file doesn’t say.'),
      })
      .describe('What the equipment puts out when the grid is down.'),
    circuits: z.array(rowSchema).min(1),
    totals: z
      .object({
        togetherVa: va('All that are together, at the most, VA.'),
        legVa: z.object({ L1: va('On leg 1, VA.'), L2: va('On leg 2, VA.') }).describe('The same by leg.'),
        hardestStartVa: va('With the hardest start on top, VA.'),
      })
      .describe('What the circuits that are together draw.'),
    panel: z
      .array(
        z.object({
          what: z.string().describe('Breaker or conductor, with its rating.'),
          neededAmps: z
            .number()
            .min(0)
            .describe('Current of the heavier leg with the grid up and all listed circuits running, A.'),
          permittedAmps: z.number().min(0).describe('The rating, A.'),
          fits: z
            .boolean()
            .nullable()
            .describe(
              'Whether it carries that; null where it would, but the rest of the home flows through it as well and isn’t known.',
            ),
        }),
      )
      .describe(
        'The panel against what all listed circuits draw with the grid up, whatever the battery carries; empty where the site states none.',
      ),
    busbar: z
      .object({
        sourcesAmps: z
          .number()
          .min(0)
          .describe('125 % of what battery and solar can give, A; solar by its highest interval.'),
        withSolar: z.boolean().describe('Whether solar is in it.'),
        busbarAmps: z
          .number()
          .min(0)
          .nullable()
          .describe('Rating of the busbar, A; null where not stated: ask for it.'),
        leavesAmps: z
          .number()
          .min(0)
          .describe(
            'What it leaves to sources beside the main breaker, A; unstated: were it rated as the main breaker is.',
          ),
        fits: z.boolean().nullable().describe('Whether it takes them; null where its rating isn’t stated.'),
      })
      .nullable()
      .describe(
        'Sources on the panel’s busbar (in the United States NEC 705.12); null where the site states no panel.',
      ),
    main: z
      .object({ balancedVa: va('On both legs alike, VA.'), continuousVa: va('80 % of that, VA.') })
      .nullable()
      .describe('What the main breaker permits; null where the site doesn’t state it.'),
    calculated: z
      .object({
        method: z.string().describe('In the manner of which method.'),
        generalVa: va('General load, VA.'),
        generalDemandVa: va('The same after the method’s two steps, VA.'),
        climateVa: va('Largest heating or cooling load, VA.'),
        climateBy: z.string().describe('Which one that is.'),
        totalVa: va('Both, VA.'),
        amps: z.number().min(0).describe('The same at `volts`, A.'),
        volts: z.number().gt(0).describe('Between the legs: `backup.panel.volts`, else 240.'),
      })
      .nullable()
      .describe('Calculated load, an estimate; null where the site doesn’t describe the dwelling.'),
    measured: z
      .object({
        maximumKw: z.number().min(0).describe('Highest interval of the data, kW.'),
        interval: z.int().min(0).describe('Which one.'),
        totalVa: va('Maximum × 125 % + new load, VA.'),
        amps: z.number().min(0).describe('The same at `volts`, A.'),
        volts: z.number().gt(0).describe('Between the legs: `backup.panel.volts`, else 240.'),
        doubts: z.array(z.string()).describe('Where the data fall short of the method.'),
      })
      .describe('Load from the metered maximum, an estimate.'),
    ways: z.array(waySchema).length(2),
    chosenWay: z.enum(['sub-panel', 'whole-panel']).describe('The site’s own way.'),
    hardAtWork: stormDutySchema.shape.circuits,
    stormMonths: z.array(z.int().min(1).max(12)).nullable().describe('The storm months that the site states.'),
    mayGrow: z.boolean().describe('Whether the site states that units or modules may be added.'),
    goalHours: z.number().min(0).describe('Hours that the units, full when the grid fails, are counted for.'),
    mostUnits: z.int().min(1).describe('The most units that may be pooled: `battery.maxUnits`, else those there are.'),
    wiringRules: wiringRulesField,
    siting: z
      .array(
        factSchema.extend({
          question: z.string().describe('What to ask.'),
          usual: z.string().describe('What is usual.'),
          source: z.string().describe('Where it is written.'),
        }),
      )
      .describe('Where the equipment may stand: the local code decides.'),
  })
  .describe('Results of duskbank circuits.');

/** Results of `circuits`: see {@link circuitsReportSchema}. */
export type CircuitsReport = DeepReadonly<z.output<typeof circuitsReportSchema>>;
