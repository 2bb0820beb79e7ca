import * as z from 'zod';
import {
  apartSchema,
  capHoursField,
  carriedField,
  type DeepReadonly,
  differsSchema,
  formatField,
  medicalField,
  moneyShape,
  savingsWithheldField,
  stepSchema,
  stormReadySchema,
  studyShape,
  warningsSchema,
} from './report-parts-schema.ts';
import { tariffSwitchSchema } from './tariff-switch-schema.ts';

const money = z.number();
const day = z.iso.date();
const lifeEnd = z.enum(['cycles', 'warranty', 'calendar', 'age']);
const energyKwh = z.number().min(0);
/** Storage and balance round: a sum that should be zero may stand a hair under it. */
const nearlyNotNegative = z.number().min(-1e-6);
const percentilesSchema = z.object({
  p10: z.number().min(0).describe('At least this long in 9 of 10.'),
  median: z.number().min(0).describe('At least this long in 1 of 2.'),
});

const strategySchema = z
  .object({
    strategy: z.string().describe('Its name.'),
    role: z
      .enum(['baseline', 'rule', 'settings', 'yardstick', 'bound'])
      .describe(
        'What it is for: "baseline" runs the home without its battery, "rule" is what a home can run, "settings" what its controller can be told, "yardstick" measures what is possible, "bound" is the best in hindsight.',
      ),
    causal: z.boolean().describe('Whether it decides without seeing the future.'),
    tariff: z.string().describe('The tariff that it is billed on.'),
    bill: z
      .object({
        total: money.describe('Everything that the home pays over the axis.'),
        startEnergy: money.describe(
          'Energy stored above the floor before the first interval, at the mean import price: part of the total.',
        ),
        boughtOnce: money.describe(
          'What of the total was bought once, so that no later year has it: startEnergy, and the first filling up to what the run, once there, never falls under again.',
        ),
      })
      .describe('The bill over the axis. Where savings are null it is of data in doubt: not to be taken from another.'),
    savings: money
      .nullable()
      .describe(
        'Over the axis, baseline.bill.total − bill.total: all that the plan gives, solar planned and a switch of tariff included; null where a basis withholds it.',
      ),
    savingsPerYear: money.nullable().describe('The same a year: × axis.perYear.'),
    batterySavings: money
      .nullable()
      .describe(
        'What the battery alone gives: the bill without it, on the same tariff and with the planned solar, − bill.total. The same as savings where no solar is planned and the tariff stays.',
      ),
    yardstick: z
      .boolean()
      .describe('Whether it measures what is possible and is no promise: never the headline or the payback.'),
    countsWear: z
      .boolean()
      .describe('Whether it plans no cycle that earns less than it wears off: see `duskbank compare --wear`.'),
    inSample: z
      .object({
        bill: z.object({ total: money.describe('Everything that the home pays over the axis.') }).describe('Its bill.'),
        savings: money
          .nullable()
          .describe('What the battery alone gives, as batterySavings; null where a basis withholds it.'),
        savingsPerYear: money.nullable().describe('The same a year: × axis.perYear.'),
        basis: z.string().describe('What it has seen.'),
        differs: differsSchema,
        tiePerYear: money
          .nullable()
          .describe(
            'What counts as a tie a year and goes to the lights: `dispatch.sumForHoursPerYear`, else 2 % of what the cheapest sheet saves or 0.1 % of the bill; null where savings are withheld.',
          ),
        apart: apartSchema,
        reserveByHand: z
          .boolean()
          .describe(
            'Whether this row and this sheet have their reserve set by hand at dates that aren’t over: see `settings`.',
          ),
        outagesOver: z
          .array(z.string())
          .describe('Planned outages in these figures that are over today, by their beginnings on the home’s clock.'),
      })
      .nullable()
      .describe(
        '`settings` only: the one sheet found on the whole axis, replayed on that axis. Money of the row itself is of each half of the data run with settings found on the other half; its energy, cycles and hours are of this one sheet, which is what a box then does. Null for other strategies.',
      ),
    importKwh: energyKwh.describe('Bought from the grid.'),
    exportKwh: energyKwh.describe('Sold to the grid.'),
    peakImportKw: z.number().min(0).describe('Highest import of any interval, kW.'),
    chargedKwh: energyKwh.describe('Taken by the battery, at AC.'),
    dischargedKwh: energyKwh.describe('Given by the battery, at AC.'),
    lossKwh: nearlyNotNegative.describe('Conversion and decay: charged − discharged − change of stored energy.'),
    standbyKwh: energyKwh.describe('Drawn by the equipment itself: standby, and what converting draws on top.'),
    curtailedKwh: energyKwh.describe('Solar that could be neither used, stored nor exported.'),
    unservedKwh: energyKwh.describe('Load that neither grid nor battery could carry.'),
    equivalentFullCycles: z.number().min(0).describe('Σ discharge ÷ discharge efficiency ÷ capacity.'),
    startKwh: energyKwh.describe('Stored before the first interval.'),
    endKwh: energyKwh.describe('Stored after the last.'),
    reserve: z
      .object({
        minKwh: energyKwh.describe('The least of the year.'),
        p10Kwh: energyKwh.describe('At least this much in 9 of 10 intervals.'),
        medianKwh: energyKwh.describe('At least this much in 1 of 2.'),
      })
      .nullable()
      .describe('Energy deliverable to loads; null without a plant.'),
    backupHours: percentilesSchema
      .extend({
        weekdayEvenings: percentilesSchema.describe('Outages that begin Monday to Friday, 17:00 to 21:00.'),
        worst: z.number().min(0).describe('The shortest of all once the run has settled.'),
        worstMonth: z
          .object({
            month: z.int().min(1).max(12).describe('The month whose weekday evenings are the shortest, 1 to 12.'),
            p10: z.number().min(0).describe('At least this long on 9 of 10 of its weekday evenings.'),
          })
          .describe('The worst month.'),
      })
      .nullable()
      .describe(
        'Hours of backup over every start; null without a plant, where the load isn’t known, and where a circuit is medical.',
      ),
    capturedShare: z
      .number()
      .nullable()
      .describe(
        'Battery savings as a share of the bound’s; null where the bound saves nothing, and for a row that keeps less of the reserve floor than the best does (a warning says so), or leaves more load unserved.',
      ),
    capturedShareOfFound: z
      .number()
      .nullable()
      .describe(
        'Battery savings as a share of those of the best found: the other end of the range that a gap leaves, the same as capturedShare where the proof is exact. Null with it, and where the best found saves nothing.',
      ),
    wear: z
      .object({
        cost: z.number().min(0).describe('What its use wears off over the axis: discharged kWh × wear.perKwh.'),
        savingsAfter: money.nullable().describe('batterySavings − cost; null where a basis withholds savings.'),
      })
      .nullable()
      .describe('Beside the bill, never in it; null without a plant, and where the site states no cycle life.'),
  })
  .describe('One strategy’s results.');

/**
 * The results of `compare`, as `--json` prints them. Bills are rounded as the tariff says, the bound is not; energy is
 * summed over the axis, kWh at AC.
 * The types {@link CompareReport} and {@link StrategyResult} are read off it, so that they can't drift apart.
 */
export const compareReportSchema = z
  .object({
    format: formatField('duskbank.compare/1'),
    ...studyShape,
    basis: z.string().describe('“modelled, not metered”, and what the model rests on.'),
    against: z.string().describe('What savings are against, in words.'),
    ...moneyShape,
    tariff: z.string().describe('Name of the tariff.'),
    baseline: z
      .object({
        bill: z.object({ total: money.describe('Everything that the home pays over the axis.') }).describe('Its bill.'),
        importKwh: energyKwh.describe('Bought from the grid.'),
        exportKwh: energyKwh.describe('Sold to the grid.'),
        peakImportKw: z.number().min(0).describe('Highest import of any interval, kW.'),
      })
      .describe('The home as metered with its existing solar, no battery, on the same tariff.'),
    plannedSolar: z
      .object({
        basis: z.string().describe('Where its production comes from, in words.'),
        solarKwh: energyKwh.describe('What it would give over the axis, at AC.'),
        bill: z
          .object({ total: money.describe('Everything that the home would pay over the axis.') })
          .describe('The bill with it and without a battery: what batterySavings are against.'),
        importKwh: energyKwh.describe('Bought from the grid.'),
        exportKwh: energyKwh.describe('Sold to the grid.'),
        peakImportKw: z.number().min(0).describe('Highest import of any interval, kW.'),
        savings: money.nullable().describe('baseline.bill.total − bill.total; null where a basis withholds it.'),
        savingsPerYear: money.nullable().describe('The same a year: × axis.perYear.'),
        steps: z.array(stepSchema).describe('Today → planned solar → battery, the battery as in the headline.'),
      })
      .nullable()
      .describe('Solar that the site plans; null where it plans none.'),
    strategies: z.array(strategySchema).min(1),
    bound: z
      .object({
        billTotal: money.describe('The proven lower bound, unrounded.'),
        proof: z.enum(['exact', 'gap']).describe('Whether the bound is reached exactly, or known to within the gap.'),
        gap: z.number().min(0).describe('The excess of the best found over it, money; 0 where it is reached.'),
        savings: money
          .nullable()
          .describe(
            'The most that the battery could have saved, as it is printed: where the proof is exact, what the rounded bills of the best found come to, else of the unrounded bound. Captured shares are of the same, unrounded; null where a basis withholds savings.',
          ),
        found: z
          .object({
            strategy: z
              .string()
              .describe(
                'The row that it is of: "optimum", or another one that does better, which that row then shows.',
              ),
            billTotal: money.describe('The least unrounded bill found: of this row, or one that rounds to cents more.'),
            savings: money
              .nullable()
              .describe('What the battery saves with it, as it is printed; null where a basis withholds savings.'),
          })
          .describe('The best that was found, of the schedule in hindsight and of all rows that are of the same home.'),
      })
      .nullable()
      .describe('The best possible in hindsight; null until it is computed.'),
    wear: z
      .object({
        cost: money.describe('What is worn off over the cycle life.'),
        cycleLife: z.number().gt(0).describe('Full cycles.'),
        perCycle: money.describe('cost ÷ cycleLife.'),
        perKwh: money.describe('The same per kWh delivered at AC.'),
        basis: z.string().describe('How it was reckoned.'),
      })
      .nullable()
      .describe('What a cycle wears off the battery; null where the site states no cycle life.'),
    headline: z
      .object({
        strategy: z.string().describe('The strategy that it is of.'),
        tariff: z.string().describe('The tariff that the home with the battery is on.'),
        savings: money.describe('What the battery alone saves over the axis.'),
        savingsPerYear: money.describe('The same a year: × axis.perYear.'),
        cyclesPerYear: z.number().min(0).describe('Full cycles a year.'),
        basis: z.string().describe('How it was judged, and against what.'),
      })
      .nullable()
      .describe(
        'What the home may count on: the settings sheet where the site states a controller, else the strategy that saves most among those a home can run. Never a yardstick; null where none was run, or a basis withholds savings.',
      ),
    medical: medicalField,
    savingsWithheld: savingsWithheldField,
    carried: carriedField,
    backupBasis: z.string().describe('What the backed-up load is, in words.'),
    capHours: capHoursField,
    storm: stormReadySchema
      .nullable()
      .describe('A storm that is coming; null where the load isn’t known, and where a circuit is medical.'),
    payback: z
      .object({
        cost: money.describe('Price less rebate.'),
        savingsPerYear: money.describe('The battery’s savings a year on the first stretch.'),
        verdict: z
          .enum(['within-life', 'life-not-stated', 'beyond-life', 'tariff-ends', 'never'])
          .describe(
            'What becomes of the cost: it comes back within the stated life; no life is stated, and it comes back within 25 years; not within the stated life (or, where none is, 25 years); not as long as the tariff is known; never.',
          ),
        life: z
          .object({
            years: z
              .number()
              .gt(0)
              .describe(
                'The least of cycleYears and calendarYears; warrantyYears where neither is stated. Without calendarYears 25 at most.',
              ),
            setBy: lifeEnd.describe('Which of these that is; "age" for the 25 years.'),
            firstEnd: z
              .object({
                years: z.number().gt(0).describe('Years until then.'),
                of: lifeEnd.describe('What ends.'),
              })
              .describe('The earliest of all ends, that of the warranty too.'),
            cycleYears: z
              .number()
              .gt(0)
              .nullable()
              .describe('Years until economics.cycleLife is used up; null where none is stated, or it isn’t.'),
            warrantyYears: z.number().nullable().describe('As the site states it.'),
            calendarYears: z.number().nullable().describe('As the site states it.'),
          })
          .nullable()
          .describe('How long the battery is stated to last; null where the site says nothing of it.'),
        limitYears: z.number().gt(0).describe('Years beyond which nothing is claimed: those of the life, else 25.'),
        years: z
          .number()
          .min(0)
          .nullable()
          .describe(
            'Years until the savings add up to the cost; null unless they do within the stretches and the life.',
          ),
        from: day.describe('The day from which it is counted.'),
        paidBackOn: day
          .nullable()
          .describe('The day on which the savings have added up to the cost; null where years is.'),
        validUntil: day
          .nullable()
          .describe(
            'Last day of the stretch in which that happens, else of the last stretch known: the tariff ends then, and what follows is not known. Null where it has no end.',
          ),
        recovered: money.nullable().describe('Where it isn’t paid back by validUntil: what has come back; else null.'),
        savedByFirstEnd: money
          .nullable()
          .describe(
            'Savings from the day from which it is counted to the first end of its life (life.firstEnd), or over limitYears where no life is stated; null where the stretches read end before.',
          ),
        stretches: z
          .array(
            z.object({
              from: day.describe('Its first day.'),
              until: day.nullable().describe('Its last day; null where no end is known.'),
              tariff: z.string().describe('The tariff, in the version that holds then.'),
              strategy: z.string().describe('What runs the battery.'),
              savingsPerYear: money.describe('What the battery saves a year, the metered days replayed on it.'),
              cyclesPerYear: z.number().min(0).optional().describe('Full cycles of the battery a year.'),
            }),
          )
          .min(1)
          .describe(
            'The tariff’s scheduled life: versions, successors, the time of bill protection; read no further than to the payback.',
          ),
        basis: z.string().describe('“simple payback of …, against …”.'),
        tariff: z.string().describe('The tariff of the first stretch.'),
        strategy: z.string().describe('What runs the battery on the first stretch.'),
      })
      .nullable()
      .describe(
        'Simple payback of the headline’s savings; null without a price or a headline, and where the tariff has ended before the plan holds and nothing known follows.',
      ),
    tariffSwitch: tariffSwitchSchema
      .nullable()
      .describe(
        'With several tariffs: each row is of its own tariff and against today’s bill, headline and payback are of the best pair of tariff and battery, against the best tariff without a battery. Null with one tariff.',
      ),
    warnings: warningsSchema,
  })
  .describe('Results of duskbank compare.');

/** Results of `compare`: see {@link compareReportSchema}. */
export type CompareReport = DeepReadonly<z.output<typeof compareReportSchema>>;

/** One strategy's row of a {@link CompareReport}. */
export type StrategyResult = CompareReport['strategies'][number];
