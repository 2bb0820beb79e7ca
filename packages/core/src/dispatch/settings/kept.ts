import type { PlantOnAxis } from '../../plant/index.ts';
import { highest, quantityAt } from '../../plant/inside.ts';
import type { CompiledTariff } from '../../tariff/index.ts';
import { holdsAllAtStart, type ReservePlan, reserveLevelsKwh } from './sheet.ts';
import type { SettingsWishes } from './wishes.ts';

/** What is kept for an outage, by the charging power that a sheet enters, and whether all of it is held through the cold. */
export class Kept {
  private readonly onAxis: PlantOnAxis;
  private readonly tariff: CompiledTariff;
  private readonly reserve: ReservePlan;
  private readonly wishes: SettingsWishes;
  private readonly levels = new Map<string, Float64Array>();
  private readonly rated: { readonly capacityKwh: number };

  constructor(onAxis: PlantOnAxis, tariff: CompiledTariff, reserve: ReservePlan, wishes: SettingsWishes) {
    this.onAxis = onAxis;
    this.tariff = tariff;
    this.reserve = reserve;
    this.wishes = wishes;
    this.rated = { capacityKwh: highest(onAxis.capacityKwh) };
  }

  /** The reserve plan of a sheet that charges with so much power. */
  planAt(gridChargeKw: number, held = false): ReservePlan {
    const { datedAt, heldAt } = this.wishes;
    const dated = (held ? heldAt : datedAt)?.(gridChargeKw);
    return dated === undefined ? this.reserve : { ...this.reserve, dated };
  }

  /** Kept in each interval, kWh: its dates as far ahead as filling takes with that power. */
  levelsKwh(gridChargeKw: number, held: boolean): Float64Array {
    const key = `${gridChargeKw} ${held}`;
    const known = this.levels.get(key);
    if (known !== undefined) return known;
    const made = reserveLevelsKwh(this.planAt(gridChargeKw, held), this.onAxis.axis, this.rated);
    this.levels.set(key, made);
    return made;
  }

  /** Stored more than the plant's start before the first interval, since it was filled before the cold in which the data begin, kWh. */
  atStartKwh(held: boolean, gridChargeKw: number): number {
    const { axis, startKwh, floorKwh, chargeLimitKwh } = this.onAxis;
    if (!held || startKwh > quantityAt(floorKwh, 0) + 1e-9 || quantityAt(chargeLimitKwh, 0) > 0) return 0;
    const { capacityKwh } = this.rated;
    return holdsAllAtStart(this.planAt(gridChargeKw, true), axis, this.rated) ? capacityKwh - startKwh : 0;
  }

  /** What that energy cost, at the mean price. */
  startEnergy(held: boolean, gridChargeKw: number): number {
    const kwh = this.atStartKwh(held, gridChargeKw);
    if (kwh === 0) return 0;
    const { importPricePerKwh } = this.tariff;
    const mean = importPricePerKwh.reduce((total, price) => total + price, 0) / importPricePerKwh.length;
    return (kwh / this.onAxis.conversion.chargeEfficiency) * mean;
  }
}
