// A year of quarter hours under `rolling`, planned again every hour and at every step, beside the best in hindsight of the same year:
// first the demo home, then a home, tariffs and prices made from seeds.
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome, marketSeries } from '../support/invented.mjs';
import { demoHome } from './harness/demo.mjs';

const CADENCES = [1, 0.25];
const TARIFFS = ['window', 'window, demand charge', 'hourly', 'hourly, demand charge'];

export function* groups({ core }) {
  yield group(core, 'demo home: planning from the past', demoHome(core).home, false);
  const data = inventedHome(INVENTED_HOMES.find((home) => home.solarKw > 0));
  const axis = core.makeAxis(data);
  const series = marketSeries(7, data.startEpochMs, data.intervals * axis.stepHours);
  const oneWay = Math.sqrt(0.88);
  const plant = {
    capacityKwh: 13.5,
    floorKwh: 1.5,
    shutdownKwh: 0,
    startKwh: 1.5,
    chargeLimitKw: 5,
    dischargeLimitKw: 5,
    chargeEfficiency: oneWay,
    dischargeEfficiency: oneWay,
    decayPerHour: 0,
    standbyW: 0,
    gridCharging: true,
    batteryExport: true,
    coupling: 'ac',
    inverterKw: 5,
    solarChargeEfficiency: oneWay,
    reach: 1,
  };
  const service = { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw: Number.POSITIVE_INFINITY };
  for (const name of TARIFFS) {
    const tariff = core.compileTariff(core.parseTariff(INVENTED_TARIFFS[name]), axis, { series });
    const home = { axis, loadKwh: data.loadKwh, solarKwh: data.solarKwh, tariff, plant, service };
    yield group(core, `~ ${data.name}, ${name}: planning from the past`, home, true);
  }
}

function group(core, title, home, made) {
  const steps = home.axis.intervals;
  const total = (strategy) => core.billTotal(home.tariff, core.runStrategy(strategy, home).flows);
  const kept = { bound: 0, planned: new Map() };
  const hindsight = () => {
    kept.bound = core.bestInHindsight(home).boundTotal;
  };
  return {
    title,
    lines: [
      { name: 'hindsight', made, steps, run: hindsight, sum: () => kept.bound },
      ...CADENCES.map((everyHours) => ({
        name: `planned every ${60 * everyHours} min`,
        made,
        steps,
        beside: 'hindsight',
        run: () => kept.planned.set(everyHours, core.runStrategy(core.rolling({ everyHours }), home).flows),
        sum: () => core.billTotal(home.tariff, kept.planned.get(everyHours)),
        note() {
          const baseline = total(core.none);
          const saved = baseline - core.billTotal(home.tariff, kept.planned.get(everyHours));
          return `captures ${((100 * saved) / (baseline - kept.bound)).toFixed(2)} % of what hindsight saves`;
        },
      })),
    ],
  };
}
