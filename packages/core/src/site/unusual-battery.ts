import type { PlantSection } from '../plant/index.ts';
import { unitFigures } from '../plant/inside.ts';
import { type Fact, fact } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';

/** Of one unit: common practice, no source (data sheets of the 2020s, from memory). */
const USUAL = {
  kWh: { most: 60, from: 0.8, to: 30 },
  kW: { most: 50, from: 0.5, to: 20 },
} as const;

/** Full power for less than this, hours, is asked about. */
const LEAST_HOURS = 0.25;

/** Asks about figures of a battery unit that no battery of a home has: in Wh for kWh, or with a digit too many. */
export function batteryQuestions(plant: PlantSection): Fact[] {
  const { battery } = plant;
  const modulesKwh = battery.modules === undefined ? 0 : battery.modules.perUnit * battery.modules.usableKwh;
  const usableKwh = battery.usableKwh + modulesKwh;
  return unitFigures(plant).flatMap(([path, value]) => {
    const field = path.join('.');
    const unit = path.at(-1) === 'usableKwh' ? 'kWh' : 'kW';
    const ofPower = field === 'battery.chargeKw' || field === 'battery.dischargeKw';
    const why = value > USUAL[unit].most ? 'size' : ofPower && usableKwh < LEAST_HOURS * value ? 'power' : undefined;
    if (why === undefined) return [];
    const { from, to } = USUAL[unit];
    // A cure that is no unit of a home either would be no cure.
    const inThousandths = value / 1000 >= from && value / 1000 <= to;
    const data = { field, value, unit, why, usual: `${from} to ${to}`, inThousandths, usableKwh } as const;
    return [fact(HOME_WORDS, 'battery-unusual', 'question', data, { path: ['plant', ...path] })];
  });
}
