// Homes, tariffs and the judging of a settings sheet, for scripts/validate-settings.mjs and the test that makes rows again.
// `core` holds the library's functions, of whatever version is judged.
import { INVENTED_HOMES, INVENTED_TARIFFS, inventedHome } from './invented.mjs';

const { window, 'window, demand charge': demand, 'window, blocks': blocks } = INVENTED_TARIFFS;
const one = [{ name: 'all hours', otherwise: true, pricePerKwh: 0.24 }];

/** Tariffs by the names that the table has for them. */
export const SHEET_TARIFFS = {
  window,
  'demand charge': demand,
  blocks,
  'one price': { ...window, name: 'one price', windows: one },
};

export const CONTROLLER = { windowsPerDay: 2, seasons: 2, weekends: true, clockMinutes: 30 };

/** What may be given up for hours of backup: a share of the savings, and of the bill at least. */
export const GIVEN_UP = { ofSavings: 0.02, ofBill: 0.001 };

export const sheetHomes = () => INVENTED_HOMES.map((spec) => inventedHome(spec));

const PLANT = {
  capacityKwh: 10,
  floorKwh: 2,
  shutdownKwh: 0.5,
  startKwh: 2,
  chargeLimitKw: 5,
  dischargeLimitKw: 5,
  chargeEfficiency: Math.sqrt(0.87),
  dischargeEfficiency: Math.sqrt(0.87),
  decayPerHour: 0,
  standbyW: 10,
  gridCharging: true,
  batteryExport: false,
  coupling: 'ac',
  inverterKw: 5,
  solarChargeEfficiency: Math.sqrt(0.87),
  reach: 1,
};

/** A third of the home's load is backed up, without its sun. */
function islandOf({ loadKwh }) {
  const third = Float64Array.from(loadKwh, (kwh) => kwh / 3);
  return {
    loadKwh: third,
    wantedKwh: third,
    splitLegs: false,
    solarKwh: new Float64Array(loadKwh.length),
    energyShare: 1,
    gaugeErrorKwh: 0,
    fullMarginKwh: 0,
    circuits: [],
    circuitsListed: 0,
    medical: false,
    basis: 'a third of the load',
  };
}

/** What a sheet saves over the data and leaves in nine of ten starts, on the data that it was found on and judged apart. */
export function sheetRow(core, data, tariffName, wishes = {}) {
  const axis = core.makeAxis(data);
  const tariff = core.compileTariff(core.parseTariff(SHEET_TARIFFS[tariffName]), axis);
  const service = { importLimitKw: Number.POSITIVE_INFINITY, exportLimitKw: Number.POSITIVE_INFINITY };
  const { loadKwh, solarKwh } = data;
  const home = core.makeCase({ axis, loadKwh, solarKwh, tariff, plant: PLANT, service }, islandOf(data));
  const bill = core.evaluate(home, core.none, ['bill']).bill.total;
  const judge = (outcome) => ({
    saved: bill - outcome.bill.total,
    hours: core.summarizeBackup(axis, outcome.backupHours).allHours.p10,
  });
  const apart = core.evaluate(home, core.searchedSettings(CONTROLLER, wishes), ['bill', 'backupHours', 'sheets']);
  const sheet = core.evaluate(home, core.followSheet(apart.sheets.all), ['bill', 'backupHours']);
  return { bill, sheet: judge(sheet), apart: judge(apart), lights: apart.sheets.lights };
}
