import { bound } from './bounds.ts';
import { clockOf, figure, listed, MONTHS, moneyText } from './figures.ts';
import { quoteName } from './quote.ts';

/** What bears on how far the answers of a study can be trusted. */
export const STUDY_WORDS = {
  /** A circuit is life-supporting or medical: hours of backup are withheld, and the battery should be kept full. */
  'medical-load': () =>
    'a circuit is life-supporting or medical: hours of backup are withheld here, and `outage` gives the worst case only; it needs a plan of its own, the utility’s medical list, and a battery kept full, as "hold" and the sheet of `settings` keep it: what the others save, they spend of that',

  /** A strategy could not keep the reserve floor in some intervals: the load or the losses were more than there was. */
  'floor-shortfall': ({
    strategy,
    intervals,
    mostKwh,
    asBest,
  }: {
    strategy: string;
    intervals: number;
    mostKwh: number;
    asBest: boolean;
  }) =>
    `${quoteName(strategy)}: the reserve floor could not be kept in ${intervals} ${intervals === 1 ? 'interval' : 'intervals'}, by up to ${bound(mostKwh, 'up', 2).toFixed(2)} kWh` +
    (asBest
      ? ', no more than the best possible'
      : ', which the best possible keeps more of: no share of that is given'),

  /** Solar is planned, not metered: every row but the baseline has it. */
  'planned-solar': ({ solarKwh, scaleOfExisting }: { solarKwh: number; scaleOfExisting: number | null }) =>
    `solar of ${Math.round(solarKwh).toLocaleString('en-US')} kWh is planned, not metered (${plannedSolarBasis(scaleOfExisting)}): all but the baseline has it`,

  /** A limit of the service is still to come: what it takes on the same days, with and without the battery. */
  'limit-to-come': ({
    from,
    importLimitKw,
    exportLimitKw,
    without,
    withBattery,
    money,
  }: {
    from: string;
    importLimitKw: number | null;
    exportLimitKw: number | null;
    without: CutOff;
    withBattery: CutOff | null;
    money: {
      strategy: string;
      savings: number;
      savingsNow: number;
      currency: string;
      currencyDecimals: number;
    } | null;
  }) => {
    const limits = [
      ...(importLimitKw === null ? [] : [`${figure(importLimitKw)} kW be drawn`]),
      ...(exportLimitKw === null ? [] : [`${figure(exportLimitKw)} kW be fed to the grid`]),
    ];
    const saves =
      money === null
        ? ''
        : `. ${quoteName(money.strategy)} then saves ${money.currency} ${moneyText(money.savings, money.currencyDecimals)} (now ${moneyText(money.savingsNow, money.currencyDecimals)}); kWh that can’t be drawn count as if they had been bought, with the battery and without`;
    return `from ${from} on the service lets at most ${limits.join(' and ')}, which is not in the figures here. On the data’s days that would take ${cutOff(without)} from the home without a battery${withBattery === null ? '' : `, and ${cutOff(withBattery)} with it`}${saves}`;
  },

  /** The tariff has ended before the plan holds, and nothing known follows it: no payback is given. */
  'tariff-ended': ({ tariff }: { tariff: string }) =>
    `no payback is given: ${quoteName(tariff)} has ended before the plan holds, and what follows is not known`,

  /** Prices change from hour to hour, and the site doesn't say that its box follows them: no row counts on that. */
  'prices-not-followed': ({ tariff }: { tariff: string }) =>
    `the prices of ${quoteName(tariff)} differ from hour to hour and day to day; a box or an automation that follows them as they are published may save more than what is counted on here: where the home has one, state "follows": "published-prices" in plant.controller`,

  /** The site states no controller: the plainest box is assumed. Its clock's step is in minutes. */
  'controller-assumed': ({ windowsPerDay, clockMinutes }: { windowsPerDay: number; clockMinutes: number }) =>
    `the site states no box ("plant.controller"): the plainest is assumed, ${windowsPerDay} clock window a day, the same all year, in steps of ${clockMinutes} minutes`,

  /**
   * In a window of the sheet the home may draw more than its service lets through, or than 80 % of its main breaker: the most that
   * it draws anyway, and the most were the battery charging then, kW.
   */
  'charging-above-service': ({
    of,
    mostKw,
    highestKw,
    whileChargingKw,
    at,
    gridChargeKw,
  }: {
    of: 'service' | 'main-breaker';
    mostKw: number;
    highestKw: number;
    whileChargingKw: number;
    at: string;
    gridChargeKw: number;
  }) =>
    `with the battery charging in its window the home may draw ${bound(whileChargingKw, 'up', 1).toFixed(1)} kW (as at ${at}, ${bound(gridChargeKw, 'up', 1).toFixed(1)} kW of it the battery’s; ${bound(highestKw, 'up', 1).toFixed(1)} kW at the most without), more than ${of === 'service' ? `the ${bound(mostKw, 'down', 1).toFixed(1)} kW that the service lets through` : `the ${bound(mostKw, 'down', 1).toFixed(1)} kW that its main breaker carries for three hours or more (80 % of its rating)`}. A box that doesn’t measure the home’s draw doesn’t hold back: have a licensed electrician look at it before this is typed in, or charge with less power or at other hours`,

  /** With these settings the battery costs more than it saves. */
  'settings-lose-money': ({ reservePercent }: { reservePercent: number }) =>
    reservePercent === 100
      ? 'all of the battery is kept for an outage, so that it saves nothing here: its standby and losses, and filling it once, are a cost'
      : 'with what this controller can be told, the battery loses money here: its losses and standby cost more than it saves',

  /** The best windows did worse than none at all on the weeks or billing periods that they were not found on. */
  'windows-failed': ({ apart }: { apart: 'weeks' | 'billing-periods' }) =>
    `the best clock windows saved less than none at all on the ${apart === 'weeks' ? 'weeks' : 'billing periods'} that they were not found on: none are told`,

  /** Charge windows that end in hours dearer than others of them: their ends, minutes since midnight. */
  'charges-into-dear-hours': ({ toMinutes }: { toMinutes: readonly number[] }) =>
    `that charging goes on into dear hours (to ${listed(toMinutes.map(clockOf))}) is meant so: while its window lasts a box gives nothing, and keeps what it has for the hours after it. It should be full before them: what is missing then is bought at their price`,

  /** "rolling" keeps less of the reserve floor than the settings do: intervals that miss it, and the most by which they do. */
  'rolling-misses-floor': ({ intervals, mostKwh }: { intervals: number; mostKwh: number }) =>
    `"rolling", a cleverer controller, could not keep the reserve floor in ${intervals} ${intervals === 1 ? 'interval' : 'intervals'}, by up to ${bound(mostKwh, 'up', 2).toFixed(2)} kWh, and these settings miss less of it: what it saves is not set beside them`,

  /**
   * Another row costs at most a tie more than the headline's and keeps the lights on longer: hours in nine of ten starts, money
   * a year; days of the data where these are no year, for which money is then told.
   */
  'row-lasts-longer': ({
    strategy,
    hours,
    moreSavedPerYear,
    headline,
    headlineHours,
    mostPerYear,
    shortDays,
    currency,
    currencyDecimals,
  }: {
    strategy: string;
    hours: number;
    moreSavedPerYear: number;
    headline: string;
    headlineHours: number;
    mostPerYear: number;
    shortDays: number | null;
    currency: string;
    currencyDecimals: number;
  }) => {
    const share = shortDays === null ? 1 : shortDays / 365.25;
    const [more, most] = [share * moreSavedPerYear, share * mostPerYear];
    const span = shortDays === null ? 'a year' : `in ${Math.round(shortDays)} days`;
    const saves =
      Number(more.toFixed(currencyDecimals)) === 0
        ? 'as much'
        : `${currency} ${moneyText(Math.abs(more), currencyDecimals)} ${span} ${more >= 0 ? 'more' : `less, where up to ${currency} ${moneyText(bound(most, 'down', currencyDecimals), currencyDecimals)} counts as a tie`}`;
    return `${quoteName(strategy)} keeps the backed-up load on for ${bound(hours, 'down', 1).toFixed(1)} h or more in 9 of 10 outages at any hour, ${quoteName(headline)} for ${bound(headlineHours, 'down', 1).toFixed(1)} h, and saves ${saves}: ask whether the box can be told to do that`;
  },

  /**
   * Another sheet costs at most a tie more than the printed one and lasts longer on weekday evenings, in nine of ten outages; it lasts
   * less at any hour, or loses too much on weeks that it wasn't found on. Both as they ran over the data; money a year; days of the data where these are no year.
   */
  'sheet-lasts-on-evenings': (data: {
    schedules: readonly Schedule[];
    eveningHours: number;
    hours: number;
    printedEveningHours: number;
    printedHours: number;
    moreSavedPerYear: number;
    shortDays: number | null;
    currency: string;
    currencyDecimals: number;
  }) => {
    const { shortDays, currency, currencyDecimals: decimals } = data;
    const more = (shortDays === null ? 1 : shortDays / 365.25) * data.moreSavedPerYear;
    const span = shortDays === null ? 'a year' : `in ${Math.round(shortDays)} days`;
    const saves =
      Number(more.toFixed(decimals)) === 0
        ? 'as much'
        : `${currency} ${moneyText(Math.abs(more), decimals)} ${span} ${more > 0 ? 'more' : 'less'}`;
    const h = (value: number) => `${bound(value, 'down', 1).toFixed(1)} h`;
    return (
      `on weekday evenings the settings that are printed last ${h(data.printedEveningHours)} or more in 9 of 10 outages, at any hour ${h(data.printedHours)}${data.hours < data.printedHours ? ', for which they were taken' : ''}. ` +
      `Others last ${h(data.eveningHours)} on weekday evenings and ${h(data.hours)} at any hour, and save ${saves} on the same data (judged on no other weeks): ${data.schedules.map(scheduleWords).join('; ')}`
    );
  },

  /** The site's box follows published prices: the settings are for when it doesn't. */
  'box-follows-prices': () =>
    'the site’s box follows prices as they are published, and "duskbank compare" counts on that ("follow-prices"): these settings are for a box that takes clock windows alone, to be entered until it follows prices, or where it loses them',

  /** The settings keep the battery full, for a circuit that is life-supporting or medical. */
  'reserve-full-medical': () =>
    'the settings keep the battery full, for the circuit that is life-supporting or medical: they save nothing on the bill',

  /** The data are too short to say what the hours to keep take: the settings keep the battery full. */
  'reserve-no-history': () =>
    'the data are too short to say what the hours to keep take: the settings keep the battery full until a week of load is there to tell',

  /** The hours to keep take more than the battery holds, at their most. */
  'keep-hours-beyond-battery': ({
    hours,
    mostKwh,
    capacityKwh,
  }: {
    hours: number;
    mostKwh: number;
    capacityKwh: number;
  }) =>
    `${hours} h of the backed-up load take up to ${bound(mostKwh, 'up', 1).toFixed(1)} kWh stored, more than the ${capacityKwh.toFixed(1)} kWh of this battery: the settings keep it full, and even that is too little at times`,

  /** Months (1 to 12) of which the data hold nothing: the windows, where there are any, were not found for them. */
  'settings-months-unseen': ({ months, windows }: { months: readonly number[]; windows: boolean }) =>
    `the data hold no ${months.map((month) => MONTHS[month - 1]).join(', ')}: ${windows ? 'the clock windows were not found for these months, whose prices and use may differ. Leave the windows off then, and run' : 'whether a clock window would pay in these months isn’t known, since their prices and use may differ. Run'} this again once there are data of them`,

  /** Under two weeks of data: settings can hardly be judged on weeks that they were not found on. */
  'settings-unjudged': () =>
    'under two weeks of data: there is hardly another week to judge settings on, and what they save is a guess',
} as const;

/** One schedule of a sheet. */
interface Schedule {
  readonly months: readonly number[];
  readonly days: string;
  readonly charge: Window | null;
  readonly chargeToPercent: number;
  readonly discharge: Window | null;
}

interface Window {
  readonly fromMinute: number;
  readonly toMinute: number;
}

function scheduleWords({ months, days, charge, chargeToPercent, discharge }: Schedule): string {
  const clock = ({ fromMinute, toMinute }: Window) => `${clockOf(fromMinute)}–${clockOf(toMinute)}`;
  const when = months.length === 12 ? 'all year' : `in ${listed(months.map((month) => MONTHS[month - 1]!))}`;
  const filled = charge === null ? 'no charging from the grid' : `charge ${clock(charge)} up to ${chargeToPercent} %`;
  const carried = discharge === null ? 'whenever it doesn’t charge' : clock(discharge);
  return `${when}, ${days}, ${filled}, carry load ${carried}`;
}

/** What a limit keeps from being drawn, and from being sold. */
type CutOff = { readonly unservedKwh: number; readonly lostKwh: number };

function cutOff({ unservedKwh, lostKwh }: CutOff): string {
  const parts = [
    ...(unservedKwh >= 0.05 ? [`${figure(unservedKwh)} kWh of load`] : []),
    ...(lostKwh >= 0.05 ? [`${figure(lostKwh)} kWh of solar`] : []),
  ];
  return parts.length === 0 ? 'nothing' : parts.join(' and ');
}

/** Where planned solar comes from: so many times the metered solar, or (null) a file. */
export function plannedSolarBasis(scaleOfExisting: number | null): string {
  return scaleOfExisting === null
    ? 'from the site’s file of planned production'
    : `${scaleOfExisting} × the metered solar, interval by interval`;
}

/** What is told of another tariff than today's, in a sentence that doesn't name it. */
export function onTariff(tariff: string, sentence: string): string {
  return `on ${quoteName(tariff)}: ${sentence}`;
}
