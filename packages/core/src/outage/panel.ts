import * as z from 'zod';
import { type Axis, STEP_MINUTES } from '../axis/index.ts';
import { anAxis } from '../axis/inside.ts';
import { bySchema } from '../input/by-schema.ts';
import { check, flag, number, oneOf, optional, record, text } from '../input/door.ts';
import { fields } from '../input/index.ts';
import { amount, energies } from '../plant/inside.ts';

/**
 * Load calculations in the manner of the NEC's optional methods. Editions differ, so every figure is a parameter. What
 * comes out is an estimate to talk about with a licensed electrician, never a permit document.
 */
export interface OptionalMethod {
  readonly name: string;
  /** General lighting and receptacles, VA per square foot. */
  readonly vaPerSqFt: number;
  /** Each small-appliance or laundry circuit, VA. */
  readonly circuitVa: number;
  /** General load up to here at 100 %, VA; the rest at `restShare`. */
  readonly firstVa: number;
  readonly restShare: number;
}

/** New dwelling: NEC 220.82, editions 2005 to 2023. */
export const NEW_DWELLING: OptionalMethod = {
  name: 'NEC 220.82 (2005–2023), optional method for a dwelling',
  vaPerSqFt: 3,
  circuitVa: 1500,
  firstVa: 10_000,
  restShare: 0.4,
};

/** Existing dwelling: NEC 220.83. */
export const EXISTING_DWELLING: OptionalMethod = {
  name: 'NEC 220.83, optional method for an existing dwelling',
  vaPerSqFt: 3,
  circuitVa: 1500,
  firstVa: 8000,
  restShare: 0.4,
};

const aMethod = record<OptionalMethod>({
  name: text,
  vaPerSqFt: amount,
  circuitVa: amount,
  firstVa: amount,
  restShare: number({ least: 0, most: 1 }),
});

/** Two legs, or one phase, have less everywhere; two of three phases have 380 V and more (IEC 60038: 230/400 V), or 208 and 220. */
const MOST_HOME_VOLTS = 260;

/** As the `panel` section has it. */
const aVoltage = number({ least: 0.001, most: 600 });

const va = (what: string) => z.number().min(0).max(1_000_000).describe(what);

/** What a load calculation needs to know of a dwelling. */
export const dwellingSchema = fields({
  floorAreaSqFt: z.number().min(0.001).max(100_000).describe('Living area, square feet (1 m² is 10.764).'),
  smallApplianceCircuits: z.int().min(0).max(50).optional().describe('Small-appliance circuits; left out: 2.'),
  laundryCircuits: z.int().min(0).max(10).optional().describe('Laundry circuits; left out: 1.'),
  appliancesVa: z
    .record(z.string().min(1).max(60), z.number().min(0.001).max(100_000))
    .optional()
    .describe('Nameplate VA of appliances fastened in place, range, dryer, water heater, by name.'),
  coolingVa: va('Air conditioning, nameplate VA.').optional(),
  heatPumpVa: va('Heat pump, nameplate VA.').optional(),
  supplementaryHeatVa: va('Electric heat beside a heat pump, VA.').optional(),
  centralHeatVa: va('Central electric heat, VA.').optional(),
  spaceHeatVa: va('Electric room heaters, VA.').optional(),
  separateControls: z.int().min(0).max(100).optional().describe('Separately controlled room heaters; left out: 1.'),
  thermalStorageVa: va('Thermal storage heat, VA.').optional(),
});

/** A dwelling, checked. */
export type Dwelling = z.output<typeof dwellingSchema>;

/** A calculated load with its parts. */
export interface LoadCalculation {
  readonly method: string;
  readonly generalVa: number;
  /** General load after the method's two steps. */
  readonly generalDemandVa: number;
  readonly climateVa: number;
  /** Which heating or cooling load was the largest. */
  readonly climateBy: string;
  readonly totalVa: number;
  /** At {@link volts}. */
  readonly amps: number;
  /** Between the legs. */
  readonly volts: number;
}

/** Between the legs where nothing else is stated. */
const ASSUMED_VOLTS = 240;

/**
 * The optional method for a dwelling: general load in two steps, then the largest heating or cooling load.
 * @param volts between the legs, which amperes are reckoned at
 * @throws InputError on what the site file may not hold
 */
export function optionalDwellingLoad(
  dwelling: Dwelling,
  method: OptionalMethod = NEW_DWELLING,
  volts = ASSUMED_VOLTS,
): LoadCalculation {
  check({ dwelling, method, volts }, { dwelling: bySchema(dwellingSchema), method: aMethod, volts: aVoltage });
  const generalVa = generalLoadVa(dwelling, method);
  const generalDemandVa =
    Math.min(generalVa, method.firstVa) + Math.max(0, generalVa - method.firstVa) * method.restShare;
  const { coolingVa = 0, heatPumpVa = 0, supplementaryHeatVa = 0, centralHeatVa = 0, spaceHeatVa = 0 } = dwelling;
  // 220.82(C): cooling and heat pump 100 %, supplementary and central heat 65 %, room heat 65 % below four controls.
  const options: [string, number][] = [
    ['cooling at 100 %', coolingVa],
    ['heat pump at 100 % with 65 % of its supplementary heat', heatPumpVa + 0.65 * supplementaryHeatVa],
    ['central electric heat at 65 %', 0.65 * centralHeatVa],
    (dwelling.separateControls ?? 1) >= 4
      ? ['room heat with four or more controls at 40 %', 0.4 * spaceHeatVa]
      : ['room heat at 65 %', 0.65 * spaceHeatVa],
    ['thermal storage at 100 %', dwelling.thermalStorageVa ?? 0],
  ];
  const [climateBy, climateVa] = options.reduce((best, option) => (option[1] > best[1] ? option : best));
  return finish(method.name, generalVa, generalDemandVa, climateVa, climateVa > 0 ? climateBy : 'none', volts);
}

/**
 * The standard method's general lighting demand (NEC Table 220.42 before 2023): 3,000 VA at 100 %, up to 120,000 at
 * 35 %, the rest at 25 %; appliances at the demand that their own tables give, added by the caller's list as they are.
 *
 * @param volts between the legs, which amperes are reckoned at
 * @throws InputError on what the site file may not hold
 */
export function standardDwellingLoad(dwelling: Dwelling, volts = ASSUMED_VOLTS): LoadCalculation {
  check({ dwelling, volts }, { dwelling: bySchema(dwellingSchema), volts: aVoltage });
  const { appliancesVa = {}, ...rest } = dwelling;
  const lightingVa = generalLoadVa(rest, NEW_DWELLING);
  const demandVa =
    Math.min(lightingVa, 3000) +
    0.35 * Math.max(0, Math.min(lightingVa, 120_000) - 3000) +
    0.25 * Math.max(0, lightingVa - 120_000);
  const appliances = Object.values(appliancesVa).reduce((sum, each) => sum + each, 0);
  return finish('NEC standard method', lightingVa + appliances, demandVa + appliances, 0, 'none', volts);
}

function generalLoadVa(dwelling: Dwelling, method: OptionalMethod): number {
  const { floorAreaSqFt, smallApplianceCircuits = 2, laundryCircuits = 1, appliancesVa = {} } = dwelling;
  return (
    floorAreaSqFt * method.vaPerSqFt +
    (smallApplianceCircuits + laundryCircuits) * method.circuitVa +
    Object.values(appliancesVa).reduce((sum, each) => sum + each, 0)
  );
}

function finish(
  method: string,
  generalVa: number,
  generalDemandVa: number,
  climateVa: number,
  climateBy: string,
  volts: number,
): LoadCalculation {
  const totalVa = generalDemandVa + climateVa;
  return { method, generalVa, generalDemandVa, climateVa, climateBy, totalVa, amps: totalVa / volts, volts };
}

/** A load calculated from metered data. */
export interface MeasuredLoad {
  readonly maximumKw: number;
  /** Interval with the maximum. */
  readonly interval: number;
  /** Maximum × 125 % + new load, VA. */
  readonly totalVa: number;
  /** At {@link volts}. */
  readonly amps: number;
  /** Between the legs. */
  readonly volts: number;
  /** Where the data fall short of what the method asks for, in words. */
  readonly doubts: readonly string[];
}

/**
 * Load of an existing home from its metered maximum, in the manner of NEC 220.87: the highest 15-minute demand of a
 * year × 125 %, plus new load. A kW is read as a kVA. The section does not permit this where the service has solar or
 * any peak shaving; then the figure is for comparison only, and says so. With `rules` of "local" no section is cited.
 *
 * @throws InputError on a load of another length, negative or not finite
 */
export function measuredLoad(
  axis: Axis,
  loadKwh: Float64Array,
  options: {
    readonly newVa?: number;
    readonly hasSolar: boolean;
    readonly rules?: 'us' | 'local';
    /** Between the legs. @defaultValue 240 */
    readonly volts?: number;
    /** Step of the data as metered, where the axis' is a part of it. @defaultValue that of `axis` */
    readonly meteredStepMinutes?: number;
  },
): MeasuredLoad {
  check(
    { axis, loadKwh, options },
    {
      axis: anAxis,
      loadKwh: energies,
      options: record<typeof options>({
        newVa: optional(amount),
        hasSolar: flag,
        rules: optional(oneOf(['us', 'local'])),
        volts: optional(aVoltage),
        meteredStepMinutes: optional(oneOf(STEP_MINUTES)),
      }),
    },
  );
  let interval = 0;
  for (let i = 1; i < loadKwh.length; i++) if (loadKwh[i]! > loadKwh[interval]!) interval = i;
  const maximumKw = loadKwh[interval]! / axis.stepHours;
  const totalVa = maximumKw * 1000 * 1.25 + (options.newVa ?? 0);
  const doubts: string[] = [];
  const { volts = ASSUMED_VOLTS, meteredStepMinutes = axis.stepMinutes } = options;
  if (meteredStepMinutes > 15)
    doubts.push(`${meteredStepMinutes}-minute data hide the 15-minute maximum, which is higher than this`);
  if ((axis.intervals * axis.stepHours) / 24 < 365) doubts.push('less than a year of data');
  if (options.hasSolar)
    doubts.push(
      options.rules === 'local'
        ? 'with solar or peak shaving at the service for comparison only: the local code says what counts'
        : 'NEC 220.87 doesn’t permit this where the service has solar or peak shaving: for comparison only',
    );
  return { maximumKw, interval, totalVa, amps: totalVa / volts, volts, doubts };
}

/** The `panel` section of `backup`: ratings to check against, and the dwelling for a load calculation. */
export const panelSchema = fields({
  mainAmps: z
    .number()
    .min(0.001)
    .max(2000)
    .describe('Main breaker, A; of three phases all together, 75 for 3 × 25 A. A metered reading above it is refused.'),
  volts: z
    .number()
    .min(0.001)
    .max(600)
    .superRefine((volts, context) => {
      if (volts <= MOST_HOME_VOLTS || volts > 600) return;
      const hint =
        'the phases of a three-phase home aren’t reckoned one by one: state the volts of one, such as 230, and as mainAmps and busbarAmps the amperes of all three together (75 for 3 × 25 A)';
      context.addIssue({
        code: 'custom',
        params: { code: 'three-phase', received: `${volts} V`, hint },
        message: `at most ${MOST_HOME_VOLTS} V: between two legs, or of one phase`,
      });
    })
    .optional()
    .describe('Between the legs, or of one phase (230), V: at most 260, so never between phases; left out: 240.'),
  subPanelAmps: z.number().min(0.001).max(2000).optional().describe('Breaker that feeds the backed-up sub-panel, A.'),
  busbarAmps: z
    .number()
    .min(0.001)
    .max(2000)
    .optional()
    .describe('Rating of the busbar that battery and solar feed, A: on the panel’s label; left out: asked for.'),
  conductorAmps: z.number().min(0.001).max(2000).optional().describe('Ampacity of the conductors to it, A.'),
  way: z
    .enum(['sub-panel', 'whole-panel'])
    .optional()
    .describe(
      'How the home is backed up: chosen circuits on a sub-panel, or the whole existing panel; left out: sub-panel.',
    ),
  managed: z
    .boolean()
    .optional()
    .describe('Whether a load-management system keeps loads within the output; left out: false.'),
  existing: z
    .boolean()
    .optional()
    .describe('Whether the dwelling stands already (8 kVA at 100 % instead of 10); left out: false.'),
  newLoadVa: va('Load that is to be added to the metered maximum, VA.').optional(),
  dwelling: dwellingSchema.optional().describe('For a load calculation in the manner of the NEC’s optional method.'),
  method: fields({
    name: z.string().min(1).max(100).describe('Edition and section, in words.'),
    vaPerSqFt: z.number().min(0.001).max(10).describe('General lighting and receptacles, VA per square foot.'),
    circuitVa: z.number().min(0.001).max(5000).describe('Each small-appliance or laundry circuit, VA.'),
    firstVa: z.number().min(0.001).max(100_000).describe('General load up to here at 100 %, VA.'),
    restShare: z.number().min(0.001).max(1).describe('Share of the rest.'),
  })
    .optional()
    .describe('Another edition’s figures; left out: those of 2005 to 2023.'),
});

/** The `panel` section, checked. */
export type Panel = z.output<typeof panelSchema>;

/** Share of a standard breaker's or conductor's rating that may flow for three hours or more: NEC 210.19, 210.20, 215.2. */
const CONTINUOUS_SHARE = 0.8;

/**
 * What a breaker or conductor of a 120/240 V panel permits.
 * @throws InputError `out-of-range`
 */
export function panelCapacityVa(amps: number, volts = ASSUMED_VOLTS): { balancedVa: number; continuousVa: number } {
  check({ amps, volts }, { amps: amount, volts: amount });
  return { balancedVa: amps * volts, continuousVa: amps * volts * CONTINUOUS_SHARE };
}

/**
 * Continuous current that may flow through a standard breaker: 80 % of its rating.
 * @throws InputError `out-of-range`
 */
export function continuousAmps(breakerAmps: number): number {
  check({ breakerAmps }, { breakerAmps: amount });
  return breakerAmps * CONTINUOUS_SHARE;
}

/** One limit of the panel against what the listed circuits draw with the grid up. */
export interface PanelCheck {
  readonly what: string;
  /** With 125 % of continuous loads and of the largest motor. */
  readonly neededAmps: number;
  readonly permittedAmps: number;
  /** Null: the listed circuits stay within it, and what else flows through it isn't known. */
  readonly fits: boolean | null;
}

/**
 * The heavier leg's current against the ratings of main breaker, sub-panel breaker and conductors. With the grid
 * up they feed every listed circuit, whatever the battery carries. Through the main breaker the rest of the home flows
 * too, so that the circuits alone never fit it; they can be too much for it.
 *
 * @param heavierLegVa the heavier leg of all listed circuits that can run at one time, VA, continuous ones and the largest
 * motor at 125 %
 * @throws InputError on what the site file may not hold
 */
export function checkPanel(panel: Panel, heavierLegVa: number): PanelCheck[] {
  check({ panel, heavierLegVa }, { panel: bySchema(panelSchema), heavierLegVa: amount });
  const neededAmps = heavierLegVa / ((panel.volts ?? ASSUMED_VOLTS) / 2);
  const limit = (what: string, amps: number | undefined, within: true | null): PanelCheck[] => {
    if (amps === undefined) return [];
    const fits = neededAmps <= amps + 1e-9 ? within : false;
    return [{ what: `${what}, ${amps} A`, neededAmps, permittedAmps: amps, fits }];
  };
  return [
    ...limit('main breaker', panel.mainAmps, null),
    ...limit('sub-panel breaker', panel.subPanelAmps, true),
    ...limit('conductors to the sub-panel', panel.conductorAmps, true),
  ];
}

/** What other sources than the grid bring to the panel's busbar, and whether it takes them. */
export interface BusbarCheck {
  /** 125 % of what battery and solar can give, A; solar by its highest metered interval, so at least this. */
  readonly sourcesAmps: number;
  /** Whether solar is in it. */
  readonly withSolar: boolean;
  /** Rating of the busbar, A; null where the site doesn't state it: then it is asked for. */
  readonly busbarAmps: number | null;
  /** What the busbar leaves to sources beside the main breaker, A: of its rating, else were it rated as the main breaker is. */
  readonly leavesAmps: number;
  /** Null where the rating isn't stated. */
  readonly fits: boolean | null;
}

/**
 * Sources that feed a busbar from the end opposite to the main breaker: with it they may come to 120 % of the busbar's
 * rating, inverters counted at 125 % of their output (NEC 705.12, load-side connection; numbered otherwise in each edition).
 *
 * @param batteryKw what the battery's inverters can give
 * @param solarKw what solar on an inverter of its own can give, at least, on both legs
 * @param onOneLeg the battery's output stands at one leg's voltage, so that one leg may bear all of it
 */
export function checkBusbar(panel: Panel, batteryKw: number, solarKw: number, onOneLeg: boolean): BusbarCheck {
  const volts = panel.volts ?? ASSUMED_VOLTS;
  const sourcesAmps = 1.25 * 1000 * (batteryKw / (onOneLeg ? volts / 2 : volts) + solarKw / volts);
  const busbarAmps = panel.busbarAmps ?? null;
  const leavesAmps = Math.max(0, 1.2 * (busbarAmps ?? panel.mainAmps) - panel.mainAmps);
  return {
    sourcesAmps,
    withSolar: solarKw > 0,
    busbarAmps,
    leavesAmps,
    fits: busbarAmps === null ? null : sourcesAmps <= leavesAmps + 1e-9,
  };
}
