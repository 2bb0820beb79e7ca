import * as z from 'zod';
import { type DeepReadonly, nameField, stepSchema } from './report-parts-schema.ts';

const money = (what: string) => z.number().describe(what);
const day = (what: string) => z.iso.date().describe(what);

const rowSchema = z
  .object({
    tariff: nameField('Its name.'),
    today: z.boolean().describe('Whether the home is on it today.'),
    open: z
      .boolean()
      .describe(
        'Whether the home may have it from the day of the switch: one that is closed or has ended is shown, never chosen.',
      ),
    withoutBattery: money('Bill of the home as metered.'),
    withPlannedSolar: z
      .number()
      .nullable()
      .describe('Bill with the planned solar and no battery; null where none is planned.'),
    withBattery: z
      .number()
      .nullable()
      .describe('Bill with the planned solar, where there is one, and the battery; null where savings are withheld.'),
    strategy: z.string().nullable().describe('What runs the battery then.'),
    unavoidable: money('What a home that took and gave nothing would still pay: no battery removes it.'),
    withProtection: z
      .number()
      .nullable()
      .describe(
        'Bill without a battery, had the home switched on the data’s first day: what it costs above today’s tariff while bills are protected is credited. Null where they aren’t.',
      ),
    life: z.array(z.string()).describe('Dates and conditions, in words.'),
  })
  .describe('What a tariff would cost the home, without a battery and with one.');

/** What `compare` adds where several tariffs are set side by side. */
export const tariffSwitchSchema = z
  .object({
    switchOn: day(
      'The first day on which the home can be on another tariff: the plan’s start, or where today’s binds it, the end of that.',
    ),
    today: z
      .array(
        z.object({
          start: day('First day of the billing period.'),
          end: day('Its last day.'),
          total: money('Its bill.'),
          later: z
            .number()
            .nullable()
            .describe('What the same energy will cost if nothing is done; null where nothing is scheduled to change.'),
        }),
      )
      .describe('The home as it is, bill by bill.'),
    laterBasis: z.string().describe('Why there is, or isn’t, a later bill.'),
    tariffs: z.array(rowSchema).min(1),
    steps: z.array(stepSchema).describe('Today → best tariff → planned solar → battery: the changes sum to the cent.'),
    betterWithBattery: z
      .object({
        tariff: nameField('Its name.'),
        strategy: nameField('What runs the battery.'),
        total: money('Its bill.'),
      })
      .nullable()
      .describe('The best tariff once there is a battery, where it is another one.'),
    runnerUp: z
      .object({
        tariff: nameField('Its name.'),
        strategy: nameField('What runs the battery.'),
        total: money('Its bill.'),
      })
      .nullable()
      .describe('The best of all other pairs of an open tariff and what a home can run; null where there is none.'),
    conclusion: z.string().describe('The answer in one sentence.'),
  })
  .describe('What a switch of tariff gives.');

/** What a switch of tariff gives: see {@link tariffSwitchSchema}. */
export type TariffSwitch = DeepReadonly<z.output<typeof tariffSwitchSchema>>;
/** What a tariff would cost the home, without a battery and with one. */
export type TariffRow = TariffSwitch['tariffs'][number];
/** One step of the way from today's bill; `change = total − total of the step before`, to the cent. */
export type SwitchStep = TariffSwitch['steps'][number];
