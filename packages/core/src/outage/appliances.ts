/** A range of published figures, W. */
export type RangeW = readonly [low: number, high: number];

/** What published tables say about an appliance: to start a list with, never in place of the nameplate. */
export interface Appliance {
  readonly key: string;
  readonly name: string;
  readonly runningW: RangeW;
  /** Absent where nothing starts hard. */
  readonly startingW?: RangeW;
  readonly leg: 'one' | '240';
  /** A large motor: published starting figures are far below what it draws, so only the nameplate will do. */
  readonly nameplate?: boolean;
  /** Must work with nobody at home. */
  readonly unattended?: boolean;
  readonly sources: readonly string[];
}

const COOP = 'a rural electric cooperative’s generator sizing table (hoecoop.org/generatorsizing)';
const GRIT = 'Grit magazine, running and starting watts';
const CMP = 'Central Maine Power, generator guidance';
const DOE = 'US DOE list of typical wattages (as reproduced 2011)';

/**
 * Common appliances with the span of what published tables give. The tables disagree by a factor of two and more,
 * which is why the nameplate is asked for and the high end is taken where it isn't known.
 */
export const APPLIANCES: readonly Appliance[] = [
  {
    key: 'refrigerator',
    name: 'Refrigerator',
    runningW: [500, 800],
    startingW: [750, 1500],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT],
  },
  {
    key: 'freezer',
    name: 'Freezer',
    runningW: [720, 800],
    startingW: [1890, 2000],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT],
  },
  {
    key: 'furnace-fan',
    name: 'Furnace fan',
    runningW: [700, 1100],
    startingW: [1400, 2000],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, CMP, DOE],
  },
  {
    key: 'sump-pump',
    name: 'Sump pump, ⅓ hp',
    runningW: [750, 800],
    startingW: [1200, 1400],
    leg: 'one',
    unattended: true,
    sources: [COOP, GRIT, CMP],
  },
  {
    key: 'well-pump',
    name: 'Well pump, ½ hp',
    runningW: [750, 1050],
    startingW: [1500, 1950],
    leg: '240',
    nameplate: true,
    sources: [COOP, GRIT],
  },
  {
    key: 'central-air-conditioner',
    name: 'Central air conditioner or heat pump, 3 tons',
    runningW: [3000, 5400],
    startingW: [5000, 7200],
    leg: '240',
    nameplate: true,
    sources: [COOP],
  },
  { key: 'room-air-conditioner', name: 'Room air conditioner', runningW: [1412, 1412], leg: 'one', sources: [COOP] },
  { key: 'water-heater', name: 'Water heater', runningW: [3000, 4000], leg: '240', sources: [COOP, GRIT] },
  {
    key: 'clothes-washer',
    name: 'Clothes washer',
    runningW: [350, 1150],
    startingW: [2200, 2200],
    leg: 'one',
    sources: [COOP, DOE],
  },
  { key: 'clothes-dryer', name: 'Clothes dryer', runningW: [1800, 5000], leg: '240', sources: [DOE] },
  { key: 'dishwasher', name: 'Dishwasher', runningW: [1200, 2400], leg: 'one', sources: [DOE] },
  {
    key: 'garage-door',
    name: 'Garage door, ¼ hp',
    runningW: [550, 550],
    startingW: [1000, 1000],
    leg: 'one',
    sources: [COOP],
  },
  { key: 'microwave', name: 'Microwave oven', runningW: [750, 1100], leg: 'one', sources: [GRIT, DOE] },
  { key: 'coffee-maker', name: 'Coffee maker', runningW: [900, 1200], leg: 'one', sources: [COOP, DOE] },
  { key: 'hair-dryer', name: 'Hair dryer', runningW: [1200, 1875], leg: 'one', sources: [DOE] },
  { key: 'iron', name: 'Iron', runningW: [1000, 1800], leg: 'one', sources: [COOP, DOE] },
  { key: 'portable-heater', name: 'Portable heater', runningW: [750, 1500], leg: 'one', sources: [DOE] },
  { key: 'dehumidifier', name: 'Dehumidifier', runningW: [785, 785], leg: 'one', sources: [DOE] },
  { key: 'ceiling-fan', name: 'Ceiling fan', runningW: [65, 175], leg: 'one', sources: [DOE] },
  { key: 'computer', name: 'Computer with monitor', runningW: [270, 300], leg: 'one', sources: [COOP, DOE] },
  { key: 'television', name: 'Television', runningW: [400, 400], leg: 'one', sources: [COOP] },
];

/** The list's entry of that key. */
export function applianceOf(key: string): Appliance | undefined {
  return APPLIANCES.find((appliance) => appliance.key === key);
}
