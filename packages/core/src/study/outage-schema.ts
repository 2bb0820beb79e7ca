import * as z from 'zod';
import {
  capHoursField,
  carriedField,
  cautionsSchema,
  type DeepReadonly,
  formatField,
  medicalField,
  moneyShape,
  nameField as name,
  overloadField,
  stormDutySchema,
  stormReadySchema,
  studyShape,
  unattendedShareField,
  warningsSchema,
} from './report-parts-schema.ts';

/** Null where the question has no answer, as its description says. */
const numberOrNull = (what: string) => z.number().min(0).nullable().describe(what);
const hours = (what: string) => z.number().min(0).describe(what);
const share = (what: string) => z.number().min(0).max(1).describe(what);
const kwh = (what: string) => z.number().min(0).describe(what);
const money = (what: string) => z.number().describe(what);

const percentilesSchema = z.object({
  p10: hours('At least this long on 9 of 10.'),
  median: hours('At least this long on half.'),
});

const startSchema = z.object({
  interval: z.int().min(0).describe('Interval of the axis that it begins with.'),
  local: z.string().describe('The same on the local clock: "2026-01-15 19:45".'),
  weekday: z.enum(['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun']).describe('Its weekday.'),
  hours: hours('Hours of backup from there.'),
  reserveKwh: kwh('Stored energy then, deliverable to loads.'),
});

const survivalSchema = z.object({
  hours: z.array(z.number()).describe('Lengths asked for, h.'),
  probability: z.array(z.number().min(0).max(1)).describe('Share of starts that last at least so long, one a length.'),
  starts: z.int().min(0).describe('Starts counted.'),
});

const sliceSchema = percentilesSchema.extend({
  key: z.int().describe('Month 1 to 12, hour 0 to 23, or weekday 1 (Monday) to 7.'),
  starts: z.int().min(1).describe('Starts counted.'),
  least: hours('The shortest.'),
  survival: z.array(z.number().min(0).max(1)).describe('Share that lasts 1, 2, 4, 8, 12, 24, 48, 72 h.'),
});

const unservedSchema = z.object({
  hours: hours('Length of the outage.'),
  meanKwh: kwh('Backed-up load that goes without, mean over all starts.'),
  worstKwh: kwh('The most that any start misses.'),
  carriedShare: share('Share of starts that miss nothing.'),
  unservedShare: share('Share of the backed-up load that goes without.'),
});

const reserveSchema = z.object({
  minKwh: kwh('The least.'),
  p10Kwh: kwh('Tenth percentile.'),
  medianKwh: kwh('Median.'),
});

const monthSchema = z.object({
  month: z.int().min(1).max(12).describe('The month whose weekday evenings are the shortest, 1 to 12.'),
  p10: hours('At least this long on 9 of 10 of its weekday evenings.'),
});

const strategySchema = z
  .object({
    strategy: name('Its name.'),
    causal: z.boolean().describe('Whether it decides without seeing the future.'),
    planningHours: startSchema.describe('The worst start of all, without sun, with 80 % of capacity: to plan with.'),
    planningOverload: overloadField,
    worstEvening: startSchema
      .nullable()
      .describe('The worst start on a weekday evening once the run has settled; null where a circuit is medical.'),
    worstMonth: monthSchema.nullable().describe('The worst month; null where a circuit is medical.'),
    hours: z
      .object({
        allHours: percentilesSchema.describe('Over every start.'),
        weekdayEvenings: percentilesSchema.describe('Over starts Monday to Friday, 17:00 to 21:00.'),
        worst: z
          .object({ hours: hours('Its length.'), interval: z.int().min(0).describe('Where it begins.') })
          .describe('The shortest of all once the run has settled.'),
        censoredShare: share('Share of starts that lasted up to the cap: their true hours are at least that.'),
        capHours: hours('The cap.'),
      })
      .nullable()
      .describe('Hours of backup; null where a circuit is medical.'),
    survival: z
      .object({
        weekdayEvenings: survivalSchema.describe('Over weekday evenings.'),
        allHours: survivalSchema.describe('Over every start.'),
      })
      .nullable()
      .describe('Chance to last; null where a circuit is medical.'),
    slices: z
      .object({
        byMonth: z.array(sliceSchema).describe('By month of the start.'),
        byHour: z.array(sliceSchema).describe('By hour of the start.'),
        byWeekday: z.array(sliceSchema).describe('By weekday of the start.'),
        eveningsByMonth: z.array(sliceSchema).describe('Weekday evenings, by month.'),
      })
      .nullable()
      .describe('Hours of backup by local clock; null where a circuit is medical.'),
    worstStarts: z
      .array(startSchema)
      .describe('The shortest, one a day, once the run has settled; where a circuit is medical the worst alone.'),
    unserved: z
      .object({
        withSun: z.array(unservedSchema).describe('With the island’s sun.'),
        withoutSun: z.array(unservedSchema).describe('Without any sun.'),
      })
      .nullable()
      .describe('What goes without, by length of the outage; null where a circuit is medical.'),
    reserve: z
      .object({
        allHours: reserveSchema.describe('Over all intervals.'),
        endOfPeak: reserveSchema.optional().describe('At the end of each on-peak window.'),
        eventNights: reserveSchema.optional().describe('At the end of each event of the tariff.'),
        stormSeason: reserveSchema.optional().describe('In the site’s storm months.'),
      })
      .describe('Energy deliverable to loads that it leaves.'),
  })
  .describe('What one strategy leaves for an outage.');

const keptSchema = z
  .object({
    circuit: name('The circuit.'),
    sharesNeutral: z
      .string()
      .nullable()
      .describe('The circuit that shares its neutral, kept or let go with it and counted in this row; null without.'),
    ownW: z.number().min(0).describe('Its mean draw while it can run, W.'),
    totalW: z.number().min(0).describe('The same of it and all before it, W.'),
    worstEveningHours: z.number().min(0).nullable().describe('On the worst weekday evening.'),
    evenings: percentilesSchema.nullable().describe('On weekday evenings.'),
    planningHours: numberOrNull(
      'Worst start, no sun, 80 % of capacity; null where a circuit is medical: fewer circuits last longer.',
    ),
    needsSomebodyHome: z.boolean().describe('0 h while nobody is home to switch over.'),
  })
  .describe('A circuit with all before it kept on.');

const playedSchema = z.object({
  start: startSchema.describe('Where it begins.'),
  lengthHours: hours('Its length.'),
  darkAfterHours: hours('Hours until the island first went dark; the length where it never did.'),
  darkBy: z.enum(['empty', 'overload']).nullable().describe('Why; null where it never did.'),
  solarTrips: z.int().min(0).describe('Times that solar tripped off a full battery.'),
  restarts: z.int().min(0).describe('Times that sun started it again.'),
  circuits: z
    .array(
      z.object({
        name: name('The circuit.'),
        firstLossHours: hours('Hours until it first goes without.'),
        servedKwh: kwh('Energy served.'),
        unservedKwh: kwh('Energy missing.'),
      }),
    )
    .describe('By priority.'),
});

const goalSchema = z.object({
  hours: hours('Hours wished for.'),
  eveningsShare: z.number().min(0).max(1).nullable().describe('Share of weekday evenings that meet them.'),
  allShare: z.number().min(0).max(1).nullable().describe('Share of all starts that meet them.'),
});

const pointSchema = z
  .object({
    floorShare: share('Standing reserve as a share of usable energy; what the site keeps at dates is kept above it.'),
    floorKwh: kwh('The same in energy.'),
    strategies: z
      .array(
        z.object({
          strategy: name('The strategy.'),
          savingsPerYear: z.number().nullable().describe('What it saves a year with this floor; null where withheld.'),
          boughtOncePerYear: z
            .number()
            .nullable()
            .describe('What of that was bought once, and lowers it in the first year alone; null where withheld.'),
          replayed: z
            .object({
              savingsPerYear: money('What it saves a year.'),
              boughtOncePerYear: money('What of that was bought once.'),
            })
            .nullable()
            .describe(
              'The same of the one sheet that is entered, replayed on all weeks of the data, which it has seen: what `hourPrices`, `nextHour`, `wish` and `bestFloor` compare. The same as above but for "settings"; null where withheld.',
            ),
          keepsFloor: z
            .boolean()
            .describe(
              'Whether it keeps as much of this floor as the best in hindsight does; where not, it may save more than that.',
            ),
          planningHours: hours('Worst start, no sun, 80 % of capacity.'),
          evenings: percentilesSchema.nullable().describe('On weekday evenings.'),
          worstMonthHours: numberOrNull('On 9 of 10 weekday evenings of the month in which it lasts least.'),
          allHours: percentilesSchema.nullable().describe('At all hours.'),
          stormHours: numberOrNull(
            'In 9 of 10 starts of the storm months, with circuits as hard at work as in a storm; of all months, as on other days, where the site states none.',
          ),
          unservedKwhPerYear: z.number().min(0).nullable().describe('Backed-up load expected to go without in a year.'),
        }),
      )
      .describe('What each strategy makes of it.'),
    boundSavingsPerYear: z
      .number()
      .nullable()
      .describe('The most that any dispatch could save with this floor, proven; null where withheld.'),
  })
  .describe('A reserve floor, what it saves and what it leaves.');

const priceSchema = z.object({
  fromFloorShare: share('From this floor …'),
  toFloorShare: share('… to this one.'),
  hoursGained: z.number().describe('Hours gained on 9 of 10 weekday evenings.'),
  costPerYear: money('Savings forgone a year: both replayed on all weeks of the data.'),
  costOnce: money('Savings forgone once besides: what is bought to fill it, in no year’s cost.'),
  pricePerHour: z.number().nullable().describe('One over the other; null where no hour is gained.'),
});

const toTargetPercent = z
  .number()
  .min(0)
  .max(100)
  .nullable()
  .describe('What every window that charges from the grid fills up to at the least, %; null: as the sheet says.');

const nextHourSchema = priceSchema.extend({ toTargetPercent });

/**
 * The results of `outage`, as `--json` prints them. Where a circuit is medical everything that speaks of a chance is
 * null, and only the worst start without sun and with 80 % of capacity is left.
 */
export const outageReportSchema = z
  .object({
    format: formatField('duskbank.outage/1'),
    ...studyShape,
    tariff: z.string().describe('Name of the tariff.'),
    ...moneyShape,
    basis: z.string().describe('What the backed-up load is, and what the figures rest on.'),
    medical: medicalField.describe('A circuit is medical: no chance of lasting is given anywhere.'),
    solarOnIsland: z.boolean().describe('Whether any sun helps to carry the backed-up load.'),
    cautions: cautionsSchema,
    capHours: capHoursField,
    headline: name(
      'The strategy that the answers are about; where a circuit is medical one that keeps the battery full.',
    ),
    carried: carriedField,
    strategies: z.array(strategySchema).min(1),
    keepOn: z.array(keptSchema),
    played: playedSchema
      .nullable()
      .describe(
        'The worst weekday evening played through; null without circuits, for units a leg each, and where one is medical.',
      ),
    transfer: z
      .object({
        kind: z.enum(['automatic', 'manual', 'unknown']).describe('Unknown counts as by hand.'),
        unattendedShare: unattendedShareField,
        note: z.string().describe('What follows from it.'),
      })
      .describe('How the home changes over.'),
    planned: z
      .array(
        z.object({
          from: z.string().describe('When the grid goes down, local.'),
          to: z.string().describe('When it is due back, local.'),
          noticeHours: hours('How long before it is known.'),
          interval: z.int().min(-1).describe('Interval that it begins with; −1 outside the data.'),
          fillHours: z.number().min(0).nullable().describe('Hours that filling takes; null where it never fills.'),
          verdict: z
            .enum(['in-time', 'too-late', 'no-grid-charging', 'too-cold', 'after-another', 'cold-since-another'])
            .describe(
              'Whether notice is long enough, but for cells that are "too-cold", or one shortly before, or one before with such cells since; from what the headline’s run keeps by the notice: the box’s reserve, or the site’s floors.',
            ),
          begun: z
            .boolean()
            .describe('Whether it began on a day before today: what is stored then counts, and no notice helps.'),
          beginsToday: z
            .boolean()
            .describe('Whether it begins today: the hour of now isn’t known, so that notice may be too short by then.'),
          lengthHours: hours('How long the grid is down.'),
          lastsHours: hours('How long a full battery lasts: worst start, no sun, 80 % of capacity.'),
          carriesAll: z.boolean().describe('Whether that is all of it.'),
        }),
      )
      .describe('Outages known beforehand.'),
    goal: goalSchema.nullable().describe('How often `backup.goalHours` is met; null without it.'),
    keepHours: goalSchema.nullable().describe('How often `reserve.keepHours` is met without sun; null without it.'),
    byMonthHour: z
      .array(z.array(z.number().min(0).nullable()).length(24))
      .length(12)
      .nullable()
      .describe('Hours of backup on 9 of 10 days, by month and hour of the start; null where a circuit is medical.'),
    recharge: z
      .object({
        medianHours: hours('Half of the time.'),
        longestHours: hours('At the longest.'),
      })
      .describe(
        'Filling up from empty once power is back at noon or midnight, of a day on which the cells can be charged.',
      ),
    frontier: z
      .array(pointSchema)
      .describe('Floors with what they save and leave; where a circuit is medical the full battery alone.'),
    hourPrices: z.array(priceSchema).describe('What more floor costs, step by step; empty where a circuit is medical.'),
    nextHour: nextHourSchema
      .nullable()
      .describe(
        'The cheapest way to an hour more: a higher reserve, windows of the sheet that fill further, or both. Null where none that was tried lasts a minute longer on 9 of 10 weekday evenings, savings are withheld, or a circuit is medical.',
      ),
    reliability: z
      .object({
        source: z.string().describe('Where the figures come from.'),
        kinds: z
          .array(
            z.object({
              name: name('The kind of outage.'),
              perYear: z.number().min(0).describe('How many a year.'),
              meanHours: hours('Mean length.'),
              sigma: z.number().min(0).describe('Standard deviation of the logarithm of the length.'),
            }),
          )
          .describe('Ordinary outages and major events.'),
        longerThan: z
          .array(z.object({ hours: hours('Length.'), share: share('Share of outages that are longer.') }))
          .describe('How lengths spread; empty where a circuit is medical.'),
        unservedKwhPerYear: numberOrNull('Backed-up load expected to go without in a year; null where one is medical.'),
        unservedWithoutBatteryKwhPerYear: kwh('The same without a battery.'),
      })
      .nullable()
      .describe('How often and how long the grid fails; null where neither the site nor its country tells.'),
    bestFloor: z
      .object({
        floorShare: share('The floor that costs least.'),
        lowShare: share('The one with half as much at stake.'),
        highShare: share('The one with twice as much at stake.'),
        valuePerKwh: money('Worth of a kWh not served.'),
      })
      .nullable()
      .describe(
        'Of the floors that last an hour or more on 9 of 10 weekday evenings of every month; null without one, without a value of lost load, and where savings are withheld or a circuit is medical.',
      ),
    wish: z
      .object({
        hours: hours('Hours wished for: `backup.goalHours`, else 8.'),
        stated: z.boolean().describe('Whether the site states them.'),
        now: hours('What 9 of 10 starts of the storm months reach as it is.'),
        hardAtWork: z
          .array(name('The circuit.'))
          .describe(
            'Circuits that are counted as hard at work as in a storm: those of `storm.duty` where the site states storm months.',
          ),
        fromReservePercent: z.number().min(0).max(100).describe('The reserve as it is, %.'),
        reservePercent: z
          .number()
          .min(0)
          .max(100)
          .nullable()
          .describe(
            'The reserve of the cheapest way tried that reaches them, %; 100 where more equipment is needed; null: out of reach.',
          ),
        toTargetPercent,
        costPerYear: z
          .number()
          .nullable()
          .describe(
            'Savings forgone a year for it, both replayed on all weeks of the data; below 0 where the figures have it saving more, which nobody should count on; null where withheld or not weighed.',
          ),
        costOnce: z
          .number()
          .nullable()
          .describe('The same once besides: what is bought to fill it, in no year’s cost; null where that is.'),
        reached: z.number().min(0).nullable().describe('What it then reaches.'),
        units: z
          .int()
          .min(1)
          .nullable()
          .describe('Units that this takes, kept full; null: those there are, or no number.'),
        modulesPerUnit: z.int().min(0).nullable().describe('Modules on each of them.'),
        mayGrow: z.boolean().describe('Whether the site states that units or modules may be added.'),
        season: z
          .object({
            reservePercent: z
              .number()
              .min(0)
              .max(100)
              .describe('The lowest whole reserve of these months that reaches the hours, %; no window fills further.'),
            turns: z
              .array(
                z.object({
                  months: z.array(z.int().min(1).max(12)).describe('The months in which it stands, 1 to 12.'),
                  leadHours: hours('Set so long before the first of them, since filling takes that long.'),
                  thenPercent: z.number().min(0).max(100).describe('The reserve that is set again after them, %.'),
                }),
              )
              .describe('When it is set, a run of months each.'),
            costPerYear: money('Savings forgone a year for it: both sheets replayed on all weeks of the data.'),
            costOnce: money('The same once besides.'),
            reached: hours('What it then reaches.'),
          })
          .nullable()
          .describe(
            'The same by a higher reserve in the storm months alone, set by hand and back. Null where the home reaches the hours as it is or can’t with it, the site states no storm months, the data hold not every month, no sheet is entered, or savings are withheld.',
          ),
      })
      .nullable()
      .describe(
        'What to keep back or fill up to for so many hours in 9 of 10 starts of the storm months; null where one is medical.',
      ),
    storm: stormReadySchema
      .extend({
        duty: stormDutySchema
          .extend({
            evenings: percentilesSchema
              .nullable()
              .describe(
                'On weekday evenings of the storm months, of all months where the site states none, run as the headline; null where one is medical.',
              ),
            planningHours: hours(
              'Run as the headline, worst start of the same months, of all with a medical circuit, no sun, 80 % of capacity.',
            ),
          })
          .nullable()
          .describe(
            'Circuits that work harder in a storm, as they are counted in all hours of it, and how long the home as it is run lasts so; null where none does.',
          ),
      })
      .nullable()
      .describe('A storm that is coming, and what circuits take in it; null where the load isn’t known.'),
    worstWeek: z
      .object({
        from: z.iso.date().describe('Its first day.'),
        to: z.iso.date().describe('Its last day.'),
        p10: hours('At least this long in 9 of 10 starts at any hour of it.'),
        median: hours('At least this long in half of them.'),
      })
      .nullable()
      .describe('The week, Monday to Sunday, whose starts are the shortest in 9 of 10; null where one is medical.'),
    warnings: warningsSchema,
  })
  .describe('Results of duskbank outage.');

/** Results of `outage`: see {@link outageReportSchema}. */
export type OutageReport = DeepReadonly<z.output<typeof outageReportSchema>>;

/** A start of an outage, with its local clock. */
export type DatedStart = DeepReadonly<z.output<typeof startSchema>>;
/** Hours of backup under one strategy. */
export type StrategyOutage = OutageReport['strategies'][number];
/** A circuit with all those before it kept on: how long that lasts. */
export type KeptOn = OutageReport['keepOn'][number];
/** An outage played through, with circuits let go one by one. */
export type PlayedOutage = NonNullable<OutageReport['played']>;
/** Hours wished for, and how often they are met; null shares where a circuit is medical. */
export type GoalMet = NonNullable<OutageReport['goal']>;
/** One point of the frontier. */
export type FrontierPoint = OutageReport['frontier'][number];
/** What more floor costs, from one point of the frontier to the next. */
export type HourPrice = OutageReport['hourPrices'][number];

/** The cheapest way to an hour more. */
export type NextHour = NonNullable<OutageReport['nextHour']>;
