import * as z from 'zod';
import { dateField } from '../input/date-field.ts';
import { fields } from '../input/index.ts';
import { UNITS } from '../meter/index.ts';

/** At most this many units may be pooled, and this many modules added to each: more is a typing error. */
const MAX_UNITS = 12;
const MAX_MODULES = 16;

/** No unit of a home has as much energy, kWh, or power, kW: it is in Wh or W. */
const MOST_OF_A_UNIT = 1000;

/** The figures of one unit that are easily given in another unit of measure, by their fields. */
export function unitFigures({
  battery,
  inverter,
}: {
  readonly battery: {
    readonly usableKwh: number;
    readonly chargeKw: number;
    readonly dischargeKw: number;
    readonly modules?: { readonly usableKwh: number } | undefined;
  };
  readonly inverter?: { readonly continuousKw: number } | undefined;
}): (readonly [path: readonly string[], value: number])[] {
  return [
    [['battery', 'usableKwh'], battery.usableKwh],
    [['battery', 'chargeKw'], battery.chargeKw],
    [['battery', 'dischargeKw'], battery.dischargeKw],
    ...(battery.modules === undefined
      ? []
      : [[['battery', 'modules', 'usableKwh'], battery.modules.usableKwh] as const]),
    ...(inverter === undefined ? [] : [[['inverter', 'continuousKw'], inverter.continuousKw] as const]),
  ];
}

/** What must be there, from a thousandth on: what is divided by less comes to no hours that anybody could read. */
const positive = (what: string) => z.number().min(0.001).max(100_000).describe(what);
const share = (what: string) => z.number().min(0).max(1).describe(what);
const efficiency = (what: string) => z.number().min(0.01).max(1).describe(what);

const circuitRating = (what: string) =>
  fields({
    ampere: z.number().min(0.01).max(400).describe('Rating printed on it, A.'),
    volt: z.number().min(0.01).max(600).describe('Voltage that it carries, V.'),
  }).describe(what);

const floorSchema = fields({
  share: share('Share of the usable energy that normal dispatch may not touch.').optional(),
  kwh: z.number().min(0).max(100_000).describe('The same, in kWh.').optional(),
}).describe('Reserve floor: energy kept for an outage, and released in one. Give one of the two; none is 0.');

/** The `plant` section of a site file. */
export const plantSchema = fields({
  battery: fields({
    units: z.int().min(1).max(MAX_UNITS).describe('Units whose energy and power are pooled.'),
    maxUnits: z.int().min(1).max(MAX_UNITS).describe('The most units that the maker allows to be pooled.').optional(),
    usableKwh: positive('Usable energy of one unit, kWh.'),
    chargeKw: positive('Continuous charging power of one unit at AC, kW.'),
    dischargeKw: positive('Continuous output of one unit at AC, kW.'),
    modules: fields({
      perUnit: z.int().min(0).max(MAX_MODULES).describe('Added modules on each unit.'),
      maxPerUnit: z.int().min(0).max(MAX_MODULES).describe('The most modules that the maker allows on a unit.'),
      usableKwh: positive('Usable energy that one module adds, kWh.'),
      addsChargeKw: z
        .number()
        .min(0)
        .max(1000)
        .describe('Charging power that one module adds, kW; most add none.')
        .default(0),
      addsDischargeKw: z
        .number()
        .min(0)
        .max(1000)
        .describe('Output that one module adds, kW; most add none.')
        .default(0),
    })
      .describe('Modules that add energy to a unit, and only the power that their maker allows.')
      .optional(),
    roundTripEfficiency: efficiency(
      'AC energy out per AC energy in over a full cycle, 0 … 1; split evenly both ways.',
    ).optional(),
    chargeEfficiency: efficiency('Stored energy per AC energy taken, 0 … 1.').optional(),
    dischargeEfficiency: efficiency('AC energy delivered per stored energy, 0 … 1.').optional(),
    decayPerMonth: z
      .number()
      .min(0)
      .max(0.5)
      .describe('Share of the stored energy lost in a month of standing.')
      .default(0),
    standbyW: z.number().min(0).max(500).describe('What one unit draws at AC all the time, W.').default(0),
    conversionW: z
      .number()
      .min(0)
      .max(500)
      .describe(
        'What one unit draws at AC on top of `standbyW` while it charges or discharges, and all through an outage, W. 20 to 60 W is usual for a unit of 5 kW (common practice, no source); leave it 0 where the round trip was measured with it.',
      )
      .default(0),
  }).describe('The battery, a unit at a time.'),
  inverter: fields({
    continuousKw: positive('Continuous output of one unit at AC, kW. Solar and discharge share it under DC coupling.'),
    efficiency: efficiency(
      'DC to AC, 0 … 1; needed under DC coupling, where surplus solar is stored without it.',
    ).optional(),
  })
    .describe('The inverter of each unit, where it has a rating of its own.')
    .optional(),
  breaker: circuitRating('Breaker that each unit hangs on; 80 % of it may flow continuously, both ways.').optional(),
  chargingCord: circuitRating('Cord that each unit charges through; 80 % of it may flow continuously.').optional(),
  coupling: z
    .enum(['ac', 'dc'])
    .describe('Whether solar has an inverter of its own (ac) or shares this one (dc).')
    .default('ac'),
  floor: floorSchema.default({}),
  shutdown: fields({
    share: share('Share of the usable energy at which the equipment stops.').optional(),
    kwh: z.number().min(0).max(100_000).describe('The same, in kWh.').optional(),
  })
    .describe('Level at which the equipment stops, even in an outage. At most the floor; none is 0.')
    .default({}),
  startShare: share(
    'Stored share before the first interval; left out: the floor, or full where a circuit is medical.',
  ).optional(),
  gridCharging: z.boolean().describe('Whether the battery may be charged from the grid.').default(true),
  batteryExport: z.boolean().describe('Whether stored energy may be sold to the grid.').default(false),
  controller: fields({
    windowsPerDay: z.int().min(0).max(2).describe('Clock windows a day, for charging and discharging together.'),
    seasons: z.int().min(1).max(4).describe('Schedules that the year may be divided into; 1: one all year.').default(1),
    weekends: z.boolean().describe('Whether weekends may have a schedule of their own.').default(false),
    clockMinutes: z
      .union([z.literal(5), z.literal(10), z.literal(15), z.literal(30), z.literal(60)])
      .describe('Step of its clock, minutes.')
      .default(30),
    follows: z
      .literal('published-prices')
      .describe(
        'The box, or an automation that drives it, follows the prices of each hour as they are published: then a plan that does so may be counted on.',
      )
      .optional(),
  })
    .describe('What the box on the wall lets its owner enter, beside self-consumption and a reserve.')
    .optional(),
  reach: z
    .union([
      z.literal('whole-home').describe('Grid-parallel: discharge offsets all load.'),
      fields({ share: z.number().min(0.001).max(1).describe('Share of the load behind the transfer equipment.') }),
      fields({
        file: z.string().min(1).describe('Interval file of the circuits behind the transfer equipment.'),
        column: z.string().min(1).describe('Its column, as in `meter.files`.').optional(),
        unit: z.enum(UNITS).describe('Unit of its values, as in `meter.files`.').optional(),
      }),
    ])
    .describe('What discharge can offset: the whole home, or only the circuits behind the transfer equipment.')
    .default('whole-home'),
})
  .superRefine((plant, context) => {
    const issue = (path: (string | number)[], message: string, code: string, hint?: string, received?: string) =>
      context.addIssue({ code: 'custom', path, message, params: { code, hint, received } });
    const { battery } = plant;
    for (const [path, value] of unitFigures(plant))
      if (value > MOST_OF_A_UNIT) {
        const unit = path.at(-1) === 'usableKwh' ? 'Wh' : 'W';
        issue(
          [...path],
          `at most ${MOST_OF_A_UNIT} k${unit}, of one unit`,
          'out-of-range',
          `it is in k${unit}: is this in ${unit}? Then write ${round3(value / 1000)}`,
          String(value),
        );
      }
    if (battery.maxUnits !== undefined && battery.units > battery.maxUnits)
      issue(['battery', 'units'], `at most ${battery.maxUnits}, the file's own battery.maxUnits`, 'above-cap');
    if (battery.modules && battery.modules.perUnit > battery.modules.maxPerUnit)
      issue(
        ['battery', 'modules', 'perUnit'],
        `at most ${battery.modules.maxPerUnit}, the file's own maxPerUnit`,
        'above-cap',
      );
    const oneWay = battery.chargeEfficiency !== undefined || battery.dischargeEfficiency !== undefined;
    if (battery.roundTripEfficiency !== undefined && oneWay)
      issue(
        ['battery', 'roundTripEfficiency'],
        'either a round trip or both one-way efficiencies',
        'given-twice',
        battery.chargeEfficiency !== undefined && battery.dischargeEfficiency !== undefined
          ? 'remove it, or both of the others'
          : `remove "${battery.chargeEfficiency === undefined ? 'dischargeEfficiency' : 'chargeEfficiency'}": one way alone says too little`,
      );
    if (
      battery.roundTripEfficiency === undefined &&
      !(battery.chargeEfficiency !== undefined && battery.dischargeEfficiency !== undefined)
    )
      issue(
        ['battery', 'roundTripEfficiency'],
        'a round-trip efficiency, or chargeEfficiency and dischargeEfficiency both',
        'missing',
        'makers print the round trip, AC to AC; 0.85 to 0.92 is usual',
        'nothing',
      );
    const capacityKwh =
      battery.units * (battery.usableKwh + (battery.modules?.perUnit ?? 0) * (battery.modules?.usableKwh ?? 0));
    // Shares are multiplied in binary: 0.1 of 7.4 kWh is a hair above 0.74. A level below 0 is refused where it stands.
    const passes = (kwh: number, most: number) => Number.isFinite(kwh) && most >= 0 && kwh > most * (1 + 1e-9);
    const levels = (['floor', 'shutdown'] as const).map((name) => {
      const level = plant[name];
      if (level.share !== undefined && level.kwh !== undefined)
        issue([name], '"share" or "kwh", not both', 'given-twice', 'remove one of the two');
      if (level.kwh !== undefined && passes(level.kwh, capacityKwh))
        issue([name, 'kwh'], `at most the usable energy, ${round3(capacityKwh)} kWh`, 'above-capacity');
      return level.kwh ?? (level.share ?? 0) * capacityKwh;
    });
    if (passes(levels[1]!, levels[0]!))
      issue(
        ['shutdown'],
        `a level at or under the floor, ${round3(levels[0]!)} kWh`,
        'above-floor',
        'the equipment stops at the shutdown level, so the floor must keep at least that',
        `${round3(levels[1]!)} kWh`,
      );
    if (plant.startShare !== undefined && passes(levels[1]!, plant.startShare * capacityKwh))
      issue(['startShare'], `at least the shutdown level, ${round3(levels[1]! / capacityKwh)}`, 'below-shutdown');
    if (plant.coupling === 'dc' && plant.inverter?.efficiency === undefined)
      issue(
        ['inverter', 'efficiency'],
        'the inverter efficiency, which DC-coupled solar is stored without',
        'missing',
        'add "inverter": { "continuousKw": …, "efficiency": 0.96 }',
        'nothing',
      );
    if (plant.batteryExport && plant.reach !== 'whole-home')
      issue(
        ['batteryExport'],
        'false while "reach" is less than the whole home',
        'contradiction',
        'a battery that can feed the grid offsets all load on the way: set "reach": "whole-home"',
      );
  })
  .describe('The battery with its inverter and wiring limits.');

/** The `service` section of a site file. */
export const serviceSchema = fields({
  importLimitKw: z
    .number()
    .min(0.001)
    .max(10_000)
    .describe(
      'Most power that the service may draw, kW; none where not given. Below what was metered it contradicts the data, and counts as that.',
    )
    .optional(),
  exportLimitKw: z
    .number()
    .min(0)
    .max(10_000)
    .describe(
      'Most power that may be fed to the grid, kW; none where not given. Below what was metered it contradicts the data, and counts as that.',
    )
    .optional(),
  from: dateField
    .describe(
      'Day from which these limits hold, where they are still to come. They take nothing from what was metered before; `compare` says what they will take from the home with and without the battery. Left out: they always held.',
    )
    .optional(),
}).describe('The connection to the grid.');

/** A `plant` section, checked. */
export type PlantSection = z.output<typeof plantSchema>;
/** A `service` section, checked. */
export type ServiceSection = z.output<typeof serviceSchema>;

/** Three decimals at most, for messages. */
function round3(value: number): number {
  return Math.round(value * 1000) / 1000;
}
