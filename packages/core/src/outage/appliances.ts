/** A range of published figures, W. */
export type RangeW = readonly [low: number, high: number];

/**
 * What published tables say about an appliance: to start a list with, never in place of the nameplate. Three figures,
 * each for its own use: what it draws while it runs and while it starts says what fits on the output at one time; its
 * mean says how long the energy lasts. A refrigerator draws 150 W for a third of the time, not 800 W round the clock.
 */
export interface Appliance {
  readonly key: string;
  readonly name: string;
  /** Draw while it runs, W. */
  readonly runningW: RangeW;
  /** What sizing tables plan for while it runs, VA, where that is more: a defrost heater, a poor power factor. */
  readonly plannedVa?: RangeW;
  /** Mean draw over day and night in the season in which it is used, W. */
  readonly meanW: RangeW;
  /** The same of one that is some decades old, where that is far more. */
  readonly oldMeanW?: RangeW;
  /** Share of the time in which it runs in a storm, where that is more than its mean. */
  readonly stormDutyShare?: number;
  /** Absent where nothing starts hard. */
  readonly startingW?: RangeW;
  readonly leg: 'one' | '240';
  /** A large motor: published starting figures are far below what it draws, so only the nameplate will do. */
  readonly nameplate?: boolean;
  /** Must work with nobody at home. */
  readonly unattended?: boolean;
  /** Of what it draws while it runs and starts. */
  readonly sources: readonly string[];
  /** Of its mean draw. A kWh a month is 1.37 W (730 h). */
  readonly meanSources: readonly string[];
}

const COOP = 'a rural electric cooperative’s generator sizing table (hoecoop.org/generatorsizing)';
const GRIT = 'Grit magazine, running and starting watts';
const CMP = 'Central Maine Power, generator guidance';
const DOE = 'US DOE list of typical wattages (as reproduced 2011)';
const LEUVEN =
  'KU Leuven, IDEAS library, records of cold appliances: refrigerator 110 W, fridge-freezer 190 W, freezer 155 to 190 W while running, a fifth to a third of the time (github.com/ibpsa/modelica-ibpsa)';
const TOP_250 = '250 W as the top of a cold appliance’s compressor: common practice, no source';
const NRCAN =
  'Natural Resources Canada, residential appliance details: energy of the stock ÷ appliances in use, 2018 and 2000';
const MGE =
  'Madison Gas and Electric, refrigerators by year of make: 37 kWh a month (2001 or newer) to 110 (side-by-side of 1990–93); older ones up to 135';
const MODERN =
  '600 kWh a year (70 W) as the top of a refrigerator of after 2001, which a table of New York State puts at 485: common practice, from memory';
const LBNL = 'LBNL, “Field Performance of Residential Refrigerators”: 209 of them took 1,009 kWh a year on average';
const EMEC = 'Eastern Maine Electric Cooperative, kWh a month of a family of four (emec.com)';
const CAPITAL = 'Capital Electric Cooperative, average consumption figures (capitalelec.coop)';
const SPRINGVILLE = 'Springville City Power, average monthly kWh (springville.org/power)';
const FRENCH_BROAD = 'French Broad EMC, appliance electric usage: watts and hours a day (frenchbroademc.com)';
const ASAP =
  'Appliance Standards Awareness Project, of US DOE’s rule-making: a furnace fan takes about 1,000 kWh a year';
const MAYER =
  'Mayer et al., Residential End Uses of Water (1999), as LBNL quotes it: 37.2 gal a person and 69.2 gal a household a day indoors';
const WELL = '500 kWh a year for a well pump: US DOE, from memory';
const EIA = 'US EIA, residential survey of 2001: 209 kWh a year for a microwave oven, from memory';
const DOE_HOURS = 'US DOE, energy formula: 270 W for 4 h a day';
const SUMP = 'a sump pump from a hundredth of the time to a third of it in a storm: common practice, no source';
const DOOR = 'a garage door for two to five minutes a day: common practice, no source';

/**
 * Common appliances with the span of what published tables give. The tables disagree by a factor of two and more,
 * which is why the nameplate is asked for and the high end is taken where it isn't known.
 */
export const APPLIANCES: readonly Appliance[] = [
  {
    key: 'refrigerator',
    name: 'Refrigerator',
    runningW: [110, 250],
    plannedVa: [500, 800],
    // 400 to 600 kWh a year, one of after 2001: 45 to 70 W. Of 1990 to 2000: 1,009 to 1,320 kWh.
    meanW: [45, 70],
    oldMeanW: [115, 151],
    startingW: [750, 1500],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, LEUVEN, TOP_250],
    meanSources: [NRCAN, MGE, MODERN, LBNL],
  },
  {
    key: 'freezer',
    name: 'Freezer',
    runningW: [155, 250],
    plannedVa: [720, 800],
    meanW: [37, 160],
    startingW: [1890, 2000],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, LEUVEN, TOP_250],
    meanSources: [NRCAN, EMEC, FRENCH_BROAD],
  },
  {
    key: 'furnace-fan',
    name: 'Furnace fan',
    runningW: [700, 1100],
    meanW: [114, 445],
    startingW: [1400, 2000],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, CMP, DOE],
    meanSources: [ASAP, CAPITAL],
  },
  {
    key: 'sump-pump',
    name: 'Sump pump, ⅓ hp',
    runningW: [750, 800],
    meanW: [8, 264],
    // Half of the time while it rains hard: common practice, no source.
    stormDutyShare: 0.5,
    startingW: [1200, 1400],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, CMP],
    meanSources: [SUMP],
  },
  {
    key: 'well-pump',
    name: 'Well pump, ½ hp',
    runningW: [750, 1050],
    meanW: [9, 57],
    startingW: [1500, 1950],
    leg: '240',
    nameplate: true,
    sources: [COOP, GRIT],
    meanSources: [MAYER, CAPITAL, WELL],
  },
  {
    key: 'central-air-conditioner',
    name: 'Central air conditioner or heat pump, 3 tons',
    runningW: [3000, 5400],
    meanW: [1233, 1875],
    startingW: [5000, 7200],
    leg: '240',
    nameplate: true,
    sources: [COOP],
    meanSources: [EMEC, SPRINGVILLE],
  },
  {
    key: 'room-air-conditioner',
    name: 'Room air conditioner',
    runningW: [1412, 1412],
    meanW: [274, 685],
    leg: 'one',
    sources: [COOP],
    meanSources: [EMEC],
  },
  {
    key: 'water-heater',
    name: 'Water heater',
    runningW: [3000, 4000],
    meanW: [342, 685],
    leg: '240',
    sources: [COOP, GRIT],
    meanSources: [CAPITAL],
  },
  {
    key: 'clothes-washer',
    name: 'Clothes washer',
    runningW: [350, 1150],
    meanW: [4, 15],
    startingW: [2200, 2200],
    leg: 'one',
    sources: [COOP, DOE],
    meanSources: [NRCAN, SPRINGVILLE],
  },
  {
    key: 'clothes-dryer',
    name: 'Clothes dryer',
    runningW: [1800, 5000],
    meanW: [91, 123],
    leg: '240',
    sources: [DOE],
    meanSources: [NRCAN, EMEC, SPRINGVILLE],
  },
  {
    key: 'dishwasher',
    name: 'Dishwasher',
    runningW: [1200, 2400],
    meanW: [8, 96],
    leg: 'one',
    sources: [DOE],
    meanSources: [NRCAN, EMEC],
  },
  {
    key: 'garage-door',
    name: 'Garage door, ¼ hp',
    runningW: [550, 550],
    meanW: [0.8, 2],
    startingW: [1000, 1000],
    leg: 'one',
    sources: [COOP],
    meanSources: [DOOR],
  },
  {
    key: 'microwave',
    name: 'Microwave oven',
    runningW: [750, 1100],
    meanW: [11, 24],
    leg: 'one',
    sources: [GRIT, DOE],
    meanSources: [SPRINGVILLE, EIA],
  },
  {
    key: 'coffee-maker',
    name: 'Coffee maker',
    runningW: [900, 1200],
    meanW: [11, 21],
    leg: 'one',
    sources: [COOP, DOE],
    meanSources: [EMEC],
  },
  {
    key: 'hair-dryer',
    name: 'Hair dryer',
    runningW: [1200, 1875],
    meanW: [4, 7],
    leg: 'one',
    sources: [DOE],
    meanSources: [EMEC],
  },
  {
    key: 'iron',
    name: 'Iron',
    runningW: [1000, 1800],
    meanW: [7, 16],
    leg: 'one',
    sources: [COOP, DOE],
    meanSources: [EMEC, SPRINGVILLE],
  },
  {
    key: 'portable-heater',
    name: 'Portable heater',
    runningW: [750, 1500],
    // From 8 h a day of 1,500 W to all the time: in an outage it may be the only heat.
    meanW: [500, 1500],
    leg: 'one',
    sources: [DOE],
    meanSources: [FRENCH_BROAD],
  },
  {
    key: 'dehumidifier',
    name: 'Dehumidifier',
    runningW: [785, 785],
    meanW: [164, 667],
    leg: 'one',
    sources: [DOE],
    meanSources: [EMEC, CAPITAL],
  },
  {
    key: 'ceiling-fan',
    name: 'Ceiling fan',
    runningW: [65, 175],
    meanW: [3, 25],
    leg: 'one',
    sources: [DOE],
    meanSources: [FRENCH_BROAD],
  },
  {
    key: 'computer',
    name: 'Computer with monitor',
    runningW: [270, 300],
    meanW: [45, 300],
    leg: 'one',
    sources: [COOP, DOE],
    meanSources: [DOE_HOURS, EMEC],
  },
  {
    key: 'television',
    name: 'Television',
    runningW: [400, 400],
    meanW: [55, 62],
    leg: 'one',
    sources: [COOP],
    meanSources: [CAPITAL, SPRINGVILLE],
  },
];

/** The list's entry of that key. */
export function applianceOf(key: string): Appliance | undefined {
  return APPLIANCES.find((appliance) => appliance.key === key);
}
