import type { ClockWindow } from '@duskbank/core/dispatch';
import { monthsInWords, quoteName } from '@duskbank/core/input';
import type { SettingsReport } from '@duskbank/core/study';
import { atDates } from './at-dates.ts';
import { HEALTH_CAUTION } from './cautions.ts';
import { halvesOf, seenWords } from './halves.ts';
import { lossText } from './loss.ts';
import { fixed, hours, hoursAtMost, isDark, money, moneyBound, printsZero, sharePercent } from './numbers.ts';
import { spanOf } from './span.ts';
import { circuitNames, MONTHS, monthList } from './storm.ts';
import { styled } from './style.ts';
import { heading, nameHeading, table, wrap } from './text.ts';
import { DOUBTS, leavesOpen, warningsApart } from './warnings.ts';

/** The sheet to enter on the box and what it saves, then what is done by hand and what it all rests on. */
export function settingsText(report: SettingsReport): string {
  // What box the sheet is for bounds all of it, and so does what is assumed of its times.
  const ofBox = [
    report.controllerStated ? 'box-follows-prices' : 'controller-assumed',
    'steps-split',
    'charging-above-service',
  ];
  const { first: box } = warningsApart(report, ...ofBox);
  const { others } = warningsApart(report, ...ofBox, ...DOUBTS);
  const { first: doubts } = warningsApart(report, ...DOUBTS);
  // A sheet that no saving can be told of isn't to be entered before the doubt is read.
  const isWithheld = report.savingsWithheld !== null;
  const isOpen = isWithheld || report.warnings.some(leavesOpen);
  const parts = [
    nameHeading(report.site, ': what to enter on the box (the battery’s controller)'),
    ...report.cautions
      .filter((caution) => caution.code === 'medical')
      .map((caution) => styled('bold', wrap(`! ${caution.text}`, 80, '  '))),
    ...(isWithheld ? [meaning(report), doubts] : isOpen ? [doubts] : []),
    triedText(report),
    always(report),
    schedules(report),
    ...(isWithheld ? [] : [meaning(report)]),
    box,
    byHand(report),
    wrap(
      `For tariff ${quoteName(report.tariff)}. Times are the home’s clock (${report.axis.zone}), ${report.year.some(({ what }) => what === 'clock-change') ? 'daylight saving followed' : 'which keeps no daylight saving'}; percentages are of the ${kwh(report.plant.capacityKwh)} usable. A box that counts from another capacity: enter the percentage that gives the same kWh.`,
    ),
    checks(report),
    outcome(report),
    ...(isOpen ? [] : [doubts]),
    lightsText(report),
    others,
    wrap(HEALTH_CAUTION),
  ];
  return parts.filter((part) => part !== undefined && part !== '').join('\n\n');
}

const kwh = (amount: number) => `${fixed(amount, 1)} kWh`;

/** What a window fills up to: never less than the reserve, which the box fills anyway. */
function upToOf({ chargeToPercent }: Schedule, reservePercent: number): string {
  return chargeToPercent < reservePercent
    ? `${reservePercent} %, its reserve, since ${chargeToPercent} % would be below it`
    : `${chargeToPercent} %`;
}

/** What the settings that were given come to, beside the sheet that follows. */
function triedText(report: SettingsReport): string | undefined {
  const { tried, inSample, currency, currencyDecimals: decimals } = report;
  if (tried === null) return undefined;
  const { factor, words } = spanOf(report.axis);
  const { schedules, reservePercent } = tried.sheet;
  const [first] = schedules;
  const power = powerText(tried);
  const charges =
    schedules.length === 1
      ? rowText(first!, reservePercent, power)
      : `in ${schedules.length} rows${power === '' ? '' : `, charging${power}`}`;
  const set = `Your box, as it is set now (${charges}, keeps ${reservePercent} %${monthsKept(tried.reserveByMonth)}${tried.reserveByHand ? reserveAtDates(report, 'its reserve set by hand at the dates below') : ''}),`;
  const rows = schedules.map((row) => `${monthsInWords(row.months)} ${row.days}: ${rowText(row, reservePercent)}`);
  const all =
    schedules.length === 1 ? [] : [wrap(`Its rows, of which the first that fits a day holds: ${rows.join('; ')}.`)];
  const onEvenings = (h: number | null) =>
    h === null ? '' : isDark(h) ? ' (on weekday evenings dark at once)' : ` (${hours(h)} on weekday evenings)`;
  const lasts = (h: number | null) =>
    h === null
      ? ''
      : isDark(h)
        ? ', and leaves the backed-up load dark at once in one of 10 outages or more'
        : `, and keeps the backed-up load on for ${hours(h)} or more in 9 of 10 outages`;
  if (tried.savings === null || inSample.savings === null)
    return [wrap(`${set} has no saving given: ${report.savingsWithheld}.`), ...all].join('\n');
  const cash = (value: number) => money(factor * Math.abs(value), currency, decimals);
  const gap = inSample.savings - tried.savings;
  const moreSaved = (more: number) =>
    printsZero(factor * more, decimals)
      ? 'The sheet below would have saved as much on the same data'
      : more > 0
        ? `On the same data the sheet below saves ${cash(more)} more than your box`
        : `On the same data your box saves ${cash(more)} more than the sheet below`;
  return [
    heading(
      `${set} ${printsZero(factor * tried.savings, decimals) ? 'saves nothing' : `${tried.savings >= 0 ? `saves ${cash(tried.savings)}` : `costs ${lossText(-factor * tried.savings, factor * tried.bill.boughtOnce, report, words, 'more than no battery')}`}${tried.savings >= 0 ? ` ${words}` : ''}`}${lasts(tried.hours)}${onEvenings(tried.eveningHours)}.`,
    ),
    ...all,
    wrap(
      `${moreSaved(gap)}${tried.sheetHours === null ? '' : `; with the sheet below it keeps it on for ${hours(tried.sheetHours)}${onEvenings(tried.sheetEveningHours)}`}.`,
    ),
    ...stormOfTried(tried),
    ...(report.unattendedShare === null ? [] : [wrap(`All hours${aloneText(report)}.`)]),
  ].join('\n');
}

/** Where nobody may be home to change over: what the hours leave out. */
function aloneText({ unattendedShare }: SettingsReport): string {
  return unattendedShare === null
    ? ''
    : ` count on somebody home to change over by hand: of all starts ${sharePercent(unattendedShare)} find nobody, and fridge, freezer, pump and furnace then have 0 h`;
}

/** How long both last in a storm, and whether that is what is wished for. */
function stormOfTried(tried: NonNullable<SettingsReport['tried']>): string[] {
  const { stormHours, sheetStormHours, hardAtWork, stormMonths, goalHours } = tried;
  if (stormHours === null || sheetStormHours === null || (stormMonths === null && goalHours === null)) return [];
  const season = stormMonths === null ? 'at any hour' : `in ${monthList(stormMonths)}`;
  const working =
    hardAtWork.length === 0 ? '' : `, with ${circuitNames(hardAtWork.map((circuit) => ({ circuit })))} hard at work`;
  const reaches = (h: number) => h >= goalHours! - 1e-9;
  const [own, printed] = goalHours === null ? [false, false] : [reaches(stormHours), reaches(sheetStormHours)];
  const met =
    goalHours === null
      ? ''
      : ` The ${hours(goalHours)} asked for: ${own ? (printed ? 'with both' : 'with your box, not with the sheet below') : printed ? 'with the sheet below, not with your box' : 'with neither; "duskbank outage" tells what it takes'}.`;
  return [
    wrap(
      `In 9 of 10 outages ${season}${working}, your box lasts ${hours(stormHours)}, with the sheet below ${hours(sheetStormHours)}.${met}`,
    ),
  ];
}

/** `, 60 % in Nov–Mar`: reserves of some months that were tried. */
function monthsKept(byMonth: NonNullable<SettingsReport['tried']>['reserveByMonth']): string {
  return byMonth.map(({ months, percent }) => `, ${percent} % in ${monthsInWords(months)}`).join('');
}

/** What a row of settings that were tried has the box do. */
function rowText(row: Schedule, reservePercent: number, power = ''): string {
  const { charge, discharge } = row;
  if (isAllDay(row))
    return row.chargeToPercent > reservePercent
      ? `charges all day up to ${row.chargeToPercent} %${power} and never carries load`
      : 'never carries load';
  const charges =
    charge === null
      ? 'never charges from the grid'
      : `charges ${windowText(charge)} up to ${upToOf(row, reservePercent)}${power}`;
  return `${charges}${discharge === null ? '' : `, carries load ${windowText(discharge)}`}`;
}

/** The power that settings were tried with, where one was given; what the plant takes of it, where that is less. */
function powerText({ givenChargeKw: given, sheet: { gridChargeKw } }: NonNullable<SettingsReport['tried']>): string {
  if (given === null) return '';
  return given > gridChargeKw
    ? ` with ${exactly(gridChargeKw)} kW, all that the plant takes of the ${exactly(given)} kW given`
    : ` with ${exactly(given)} kW`;
}

/** What holds all year. */
function always(report: SettingsReport): string {
  const { sheet, reserve } = report;
  const why = reserveWords(report);
  return [
    table(
      [{ head: 'always' }, { head: '' }, { head: '' }],
      [
        [
          'reserve for an outage',
          `${sheet.reservePercent} %`,
          reserve.heldKwh === 0
            ? 'nothing is held back'
            : `${kwh(reserve.heldKwh)}; ${fixed(reserve.deliverableKwh, 1)} after losses and minimum`,
        ],
        sheet.gridChargeKw === 0
          ? ['charging from the grid', 'off', 'the site forbids it']
          : ['charging power from the grid', `${exactly(sheet.gridChargeKw)} kW`, limitedBy(report)],
        ...(report.hasSolar ? [['own solar', 'on', 'whatever is left over is stored first']] : []),
      ],
    ),
    ...(why === undefined ? [] : [wrap(why)]),
    ...serviceText(report),
  ].join('\n');
}

/** What the sheet's charging adds to what the service carries. */
function serviceText({ service }: SettingsReport): string[] {
  const { highestKw, at, whileChargingKw, limitKw, mainContinuousKw, stepMinutes } = service;
  // What no window charges adds nothing.
  if (whileChargingKw === null) return [];
  const kw = (value: number) => `${fixed(value, 1)} kW`;
  const limits = [
    ...(limitKw === null ? [] : [`the service lets ${exactly(limitKw)} kW through`]),
    ...(mainContinuousKw === null ? [] : [`80 % of the main breaker are ${exactly(mainContinuousKw)} kW`]),
  ];
  const against =
    limits.length === 0
      ? 'No limit of the service is stated ("service.importLimitKw"): a licensed electrician knows what it bears.'
      : `Stated: ${limits.join(', ')}.`;
  return [
    wrap(
      `The home draws ${kw(highestKw)} at the most without the battery (${at}), ${kw(whileChargingKw)} in the windows with it charging (means of ${stepMinutes} minutes: shorter peaks are higher). ${against}`,
    ),
  ];
}

/** What keeps the charging power from being more. */
function limitedBy({ plant: { units, chargeKw }, sheet: { chargeSetBy } }: SettingsReport): string {
  const each = units === 1 ? '' : ' of each unit';
  return {
    choice: `less than its ${exactly(chargeKw)} kW: more sets a peak`,
    battery: `all that the unit${units === 1 ? ' takes' : 's take'}`,
    inverter: `all that the inverter${each} passes`,
    breaker: `80 % of the breaker${each}`,
    cord: `80 % of the charging cord${each}`,
  }[chargeSetBy];
}

/** Why the standing reserve is what it is, where it isn't just the site's floor. */
function reserveWords({ reserve, sheet }: SettingsReport): string | undefined {
  const { keepHours } = reserve;
  switch (reserve.setBy) {
    case 'medical':
      return 'All of it is kept, always, for the circuit that is life-supporting or medical.';
    case 'no-history':
      return 'The data are too short to say what the hours to keep take, so that all of it is kept.';
    case 'by-hour':
      return 'The site’s floor changes with the hour; the box holds one number, so this is the highest of the day.';
    case 'keep-hours': {
      const less = keepHours!.usualPercent < sheet.reservePercent;
      return `The box holds one number, so this is what ${hours(keepHours!.hours)} of the backed-up load take, without sun, in the hungriest stretch of the data${less ? `; ${keepHours!.usualPercent} % are enough for 9 of 10 such stretches` : ''}.`;
    }
    case 'floor':
      return reserve.floorVaries
        ? 'The floor varies over the year; the box holds one number, so this is the highest.'
        : undefined;
  }
}

/** What somebody does by hand and when, in the order of the year. */
function byHand(report: SettingsReport): string {
  const { year } = report;
  const lines = year.map((entry) => yearLine(entry, report));
  if (year.filter(({ dated }) => dated !== null).length > 1) lines.push('Where two reserves meet, the higher holds.');
  if (lines.length === 0) return '';
  return [
    styled('bold', 'To be set or looked at by hand, in the order of the year'),
    ...lines.map((line) => wrap(`- ${line}`, 80, '  ')),
  ].join('\n');
}

function yearLine({ on, what, dated, months, hours: shift }: YearEntry, report: SettingsReport): string {
  const { sheet, fullCharge } = report;
  switch (what) {
    case 'reserve':
      return `${datedLine(on, sheet.dated[dated!]!, report)}${begunWords(on, sheet.dated[dated!]!)}`;
    case 'storm-season':
      return `${monthsInWords(months!)}, the site’s storm months: on a storm warning set the reserve to 100 %, and back to ${afterStorm(months!, sheet)} when it is over. Not in the figures.`;
    case 'too-cold': {
      const first = firstMonth(months!);
      // In the middle of it the day before has gone: what can be done today, and the next time.
      const begun = hasBegun(on, months!);
      const before = `1 ${MONTHS[first - 1]} ${Number(on.slice(0, 4)) + (begun && Number(on.slice(5, 7)) >= first ? 1 : 0)}`;
      const drifts = fullCharge.longestDays > fullCharge.warmDays;
      const gauge = `, nor is a full charge for the gauge possible: give it one ${begun ? 'when they are over, and ' : ''}on the last day before${begun ? ' they come again' : ''}`;
      const cold = `${monthsInWords(months!)}${begun ? `, which have begun by ${on}` : ''}: the cells are too cold to charge, on a storm warning too${drifts ? gauge : ''}.`;
      const ask = 'Ask the installer about heating or a warmer place.';
      if (sheet.reservePercent === 100)
        return `${cold} Have it full before ${before}: what an outage takes isn’t filled again until they are over. ${ask}`;
      if (sheet.dated.some(({ heldInCold }) => heldInCold))
        return `${cold} What an outage takes isn’t filled again until they are over. ${ask}`;
      const holdNow = begun
        ? `set the reserve to 100 % then, so that what is left is kept until the cold is over, and fill it before ${before}, then hold it so`
        : `fill it before ${before} and set the reserve to 100 % until the cold is over`;
      return `${cold} The battery then holds what is left of it, ${leftInCold(months!, report)}. Where outages matter more than savings, ${holdNow}${heldWords(report)}; ask the installer about heating or a warmer place. Not in the figures.`;
    }
    case 'full-charge':
      return `${monthsInWords(months!)}: once a week, or as often as its maker asks, let the box charge to 100 %, by setting the reserve to 100 % for ${sheet.gridChargeKw > 0 ? 'a night' : 'a sunny day'}. Else it isn’t full for up to ${fullCharge.warmDays} days on end, and what it shows drifts, most of all with lithium iron phosphate (common practice; ask the maker). Not in the figures.`;
    case 'clock-change':
      return `When the clock goes ${shift! > 0 ? 'forward' : 'back'} by ${hours(Math.abs(shift!))}, first on ${on}: look whether the box’s clock has followed.`;
    case 'prices':
      return `${on}, other prices hold as far as the tariff’s file says: run this again with them.`;
  }
}

/** The month that a season begins with: the first whose predecessor is none of it. */
function firstMonth(months: readonly number[]): number {
  return months.find((month) => !months.includes(month === 1 ? 12 : month - 1)) ?? months[0]!;
}

/** Whether the year that is told begins in the middle of a season. */
function hasBegun(on: string, months: readonly number[]): boolean {
  return !on.endsWith(`-${String(firstMonth(months)).padStart(2, '0')}-01`);
}

/** Of what is kept through a cold that has begun: what is still there is kept from then on. */
function begunWords(
  on: string,
  { when, heldInCold, reservePercent }: SettingsReport['sheet']['dated'][number],
): string {
  if (heldInCold !== true || !('months' in when) || !hasBegun(on, when.months)) return '';
  return ` By ${on} the cold has begun: set it to ${reservePercent} % then, so that what is still there is kept; it can’t be filled before the cold is over.`;
}

/** What is left in months too cold to charge: the reserve, higher where one is set by hand in them. */
function leftInCold(months: readonly number[], { sheet, plant }: SettingsReport): string {
  const percents = standingIn(months, sheet);
  const words = (percent: number) => `${percent} % (${kwh((percent / 100) * plant.capacityKwh)})`;
  const [first] = percents;
  return percents.every((percent) => percent === first)
    ? `the reserve of ${words(first!)} if it was there before`
    : `the reserve of ${words(Math.min(...percents))} to ${words(Math.max(...percents))} by the month, if it was there before`;
}

/** What keeping all of it through the cold comes to. */
function heldWords({ lights, currency, currencyDecimals: decimals, axis }: SettingsReport): string {
  const held = lights?.heldInCold ?? null;
  if (held === null) return '';
  const cost = ofSpan(held.costPerYear, axis);
  return ` (${printsZero(cost, decimals) ? 'for no more money' : `${money(Math.abs(cost), currency, decimals)} ${spanOf(axis).words} ${cost > 0 ? 'more' : 'less'}`}, for ${hours(held.hours)} in 9 of 10 outages in place of ${hours(held.hoursWithout)})`;
}

/** `20 %`, or `90 % in Dec, 20 % in Jun`: the reserve that stands again after a storm, by month where a dated one is higher. */
function afterStorm(months: readonly number[], sheet: SettingsReport['sheet']): string {
  const standing = standingIn(months, sheet);
  const percents = [...new Set(standing)];
  if (percents.length === 1) return `${percents[0]} %`;
  return percents
    .map((percent) => `${percent} % in ${monthsInWords(months.filter((_, k) => standing[k] === percent))}`)
    .join(', ');
}

/** Of each month the reserve that holds all of it. */
function standingIn(months: readonly number[], { reservePercent, dated }: SettingsReport['sheet']): number[] {
  return months.map((month) =>
    Math.max(
      reservePercent,
      ...dated.flatMap((one) => ('months' in one.when && one.when.months.includes(month) ? [one.reservePercent] : [])),
    ),
  );
}

/** What to look at once all is typed in. */
function checks(report: SettingsReport): string {
  const { sheet } = report;
  const charging = sheet.schedules.filter((schedule) => schedule.charge !== null && !isAllDay(schedule));
  const buys = charging.length > 0 && sheet.gridChargeKw > 0 && sheet.reservePercent < 100;
  const from = ({ charge }: Schedule) => windowText(charge!).slice(0, 5);
  const until = ({ charge }: Schedule) => windowText(charge!).slice(6);
  const upTo = ({ chargeToPercent }: Schedule) => `${chargeToPercent} %`;
  const [first] = charging;
  const starts =
    first !== undefined && sheet.schedules.length === 1
      ? `Does it start to charge at ${from(first)}, and stop at ${upTo(first)}, or at ${until(first)} if that comes first?`
      : `Does it start to charge, and stop, as the row of that day says (${charging.map((one) => `${monthsInWords(one.months)}${one.days === 'every day' ? '' : ` ${one.days}`}: ${from(one)}–${until(one)} up to ${upTo(one)}`).join('; ')})? It stops at the end of its window where it is not there yet.`;
  const lines = [
    `Does it count ${sheet.reservePercent} % of the same ${kwh(report.plant.capacityKwh)}?`,
    ...(buys ? [starts] : []),
    ...(sheet.reservePercent < 100 && sheet.reservePercent > 0
      ? [
          `Does it stop carrying load at ${sheet.dated.some(({ when }) => 'months' in when) ? 'the reserve that holds that day' : `${sheet.reservePercent} %`}?`,
        ]
      : []),
    ...(sheet.reservePercent < 100 && sheet.reservePercent > 0 && sheet.gridChargeKw > 0
      ? [
          `Does it buy to refill the reserve${charging.length > 0 ? ' outside its charge windows' : ''}? Some do, at the dearest hours too, and that is counted so here; ask its maker.`,
        ]
      : []),
    'Does its clock show the home’s time?',
  ];
  return wrap(`The day after typing it in: ${lines.join(' ')}`);
}

/** A sum a year, as of the span that the screen is of. */
function ofSpan(perYear: number, axis: SettingsReport['axis']): number {
  return (perYear / axis.perYear) * spanOf(axis).factor;
}

/** What was taken between settings that cost about the same, and how long the battery is never full. */
function lightsText(report: SettingsReport): string | undefined {
  const { lights, fullCharge, sheet, currency, currencyDecimals: decimals } = report;
  const lines: string[] = [];
  if (lights !== null && sheet.reservePercent < 100) {
    const more = lights.hours - lights.cheapestHours;
    const moreOnEvenings = lights.eveningHours - lights.cheapestEveningHours;
    const wear = lights.wearCounted ? ', what a fuller battery ages more counted in' : '';
    const lasts = isDark(lights.hours)
      ? 'With these settings the backed-up load is dark at once in one of 10 outages or more.'
      : `These settings keep the backed-up load on for ${hours(lights.hours)} or more in 9 of 10 outages at any hour${report.unattendedShare === null ? '' : `. These hours${aloneText(report)}`}.`;
    const { words } = spanOf(report.axis);
    const sum = ofSpan(lights.mostPerYear, report.axis);
    const givenUp = ofSpan(lights.givenUpPerYear, report.axis);
    const most = moneyBound(sum, 'down', currency, decimals);
    const basis = `, both replayed on all ${halves(report)}`;
    const price = `${printsZero(givenUp, decimals) ? 'no more money' : `${money(givenUp, currency, decimals)} ${words}`}${basis}`;
    const isTie = Number(sum.toFixed(decimals + 2)) < 10 ** -decimals;
    const within = isTie ? 'that cost the same' : `within ${most} ${words}`;
    const ofAtMost = isTie ? 'and cost no more' : `and cost at most ${most} ${words} more`;
    // Of those that are tried for their evenings one may last longer at any hour too: it is told by itself.
    const other = report.warnings.find(({ code }) => code === 'sheet-lasts-on-evenings')?.data as
      | { hours: number }
      | undefined;
    const evenings = other?.hours;
    const noWindows = report.warnings.some(({ code }) => code === 'windows-failed');
    lines.push(
      noWindows
        ? lasts
        : more > 0.05
          ? `${lasts} That is ${hours(more)} more than with the cheapest settings, for ${price}${wear}: between settings ${within} those that keep the lights on longest are taken.`
          : moreOnEvenings > 0.05
            ? `${lasts} On weekday evenings it is ${hours(lights.eveningHours)} or more, ${hours(moreOnEvenings)} more than with the cheapest settings, for ${price}${wear}: between settings ${within} those that keep the lights on longest are taken.`
            : evenings !== undefined && evenings > 1.05 * lights.hours
              ? lasts
              : `${lasts} Of all settings that were tried ${ofAtMost} none keeps it on for over 5 % longer at any hour${wear}; others may.`,
    );
  }
  if (fullCharge.longestDays > 1 && sheet.reservePercent < 100)
    lines.push(
      `Longest without a full charge: ${fullCharge.longestDays} days, ${fullCharge.from} to ${fullCharge.to}.`,
    );
  return lines.length === 0 ? undefined : lines.map((line) => wrap(line)).join('\n');
}

function datedLine(
  on: string,
  {
    when,
    reservePercent,
    thenPercent,
    inFigures,
    outage,
    coldMonths,
    heldInCold,
  }: SettingsReport['sheet']['dated'][number],
  report: SettingsReport,
): string {
  const beyond = inFigures ? '' : ' The data don’t reach it: it is in no figure here.';
  const back = thenPercent < reservePercent ? 'back to' : 'then to';
  const wait = thenPercent === reservePercent ? 'and leave it there' : `${back} ${thenPercent} %`;
  if ('months' in when) {
    const next = (when.months[when.months.length - 1]! % 12) + 1;
    const first = when.months[0]!;
    const lead = when.leadHours ?? 0;
    const set =
      lead === 0
        ? `Every year from 1 ${MONTHS[first - 1]} 00:00 set the reserve to ${reservePercent} %`
        : lead <= 24
          ? `Every year on the last of ${MONTHS[(first + 10) % 12]} at ${String(24 - lead).padStart(2, '0')}:00 set the reserve to ${reservePercent} %, to be kept from 1 ${MONTHS[first - 1]} 00:00 on since filling takes up to ${hoursAtMost(lead)}`
          : `Every year set the reserve to ${reservePercent} % ${hours(lead)} before 1 ${MONTHS[first - 1]} 00:00, since filling takes that long`;
    const turn = `${set}, ${back} ${thenPercent} % on 1 ${MONTHS[next - 1]} 00:00:`;
    if (heldInCold) {
      const choice = report.lights?.heldInCold ?? null;
      const cost = choice === null ? 0 : ofSpan(choice.costPerYear, report.axis);
      const worth =
        choice === null
          ? ''
          : ` It costs ${cost < 0 || printsZero(cost, report.currencyDecimals) ? 'no more' : `${money(cost, report.currency, report.currencyDecimals)} ${spanOf(report.axis).words}`}${report.lights!.wearCounted ? ' with what a fuller battery ages more' : ''}, and keeps the backed-up load on for ${hours(choice.hours)} in place of ${hours(choice.hoursWithout)} in 9 of 10 outages.`;
      return `${turn} the cells are too cold to charge then, and what is spent doesn’t come back.${worth}${beyond}`;
    }
    return `${turn} the site’s floor in ${coldMonths === undefined ? 'these months' : `${monthsInWords(when.months.filter((m) => !coldMonths.includes(m)))}, held from the last day before the cold on that can fill it`}.${beyond}`;
  }
  const isHeld = report.sheet.dated.some(
    (one) => one.heldInCold && 'months' in one.when && one.when.months.includes(Number(outage!.from.slice(5, 7))),
  );
  const fills = {
    'in-time':
      outage!.fillHours < 1e-9
        ? `it is full already${isHeld ? ', if no outage has used it since the cold began' : ''}`
        : `filling takes up to ${hoursAtMost(outage!.fillHours)}`,
    'too-late': `filling takes up to ${hoursAtMost(outage!.fillHours)}, more than the notice of ${hours(outage!.noticeHours)}: what is not full by then is not there`,
    'after-another':
      'between another planned outage and this one there is too little time to charge: it will not be full',
    'cold-since-another':
      'the cells are too cold to charge between the planned outage before and this one: what that one took doesn’t come back, and this only keeps what is still there',
    'too-cold':
      'the cells are too cold to charge before it, so that this only keeps what is still there. To have it full, set the reserve to 100 % before the cold comes',
    'no-grid-charging': 'without charging from the grid only sun can fill it, which nobody can promise',
  }[outage!.verdict];
  // Whether one of the same day has begun isn't known: today is a date.
  if (on > outage!.from.slice(0, 10))
    return `Now (${on}): the planned outage from ${outage!.from.replace('T', ' ')} has begun, and the grid is due back at ${outage!.to.replace('T', ' ')}. Till then nothing fills the battery from the grid: what is stored counts, so switch off what can wait. When the grid is back, ${thenPercent === 100 ? 'leave the reserve at 100 %, or set it so, and fill up' : `have the reserve at ${thenPercent} %`}.${beyond}`;
  // Today is a date: of the day itself the hour isn't known.
  const [startDay, startTime] = outage!.from.split('T');
  const begins =
    on === startDay && on > when.from.slice(0, 10)
      ? `Before ${startTime} today (${on})`
      : on > when.from.slice(0, 10)
        ? `Now (${on})`
        : `From ${when.from.replace('T', ' ')}`;
  return `${begins} set the reserve to ${reservePercent} %, ${wait} after ${when.to.replace('T', ' ')}: planned outage from ${outage!.from.replace('T', ' ')}; ${fills}.${beyond}`;
}

function schedules(report: SettingsReport): string {
  // A box that keeps all of it has nothing left to do by the clock.
  if (report.sheet.reservePercent === 100)
    return wrap(
      `No clock windows: with all of it kept, the box carries load only when the grid is down. ${
        report.sheet.gridChargeKw > 0
          ? 'Let it fill from the grid at once and at any hour, or an outage leaves it empty for the next. Look after each outage whether it is full again.'
          : 'The sun alone fills it again: look after each outage whether it is full, and count on less until it is.'
      }`,
    );
  const { windowsPerDay } = report.controller;
  const rows = report.sheet.schedules.map((schedule) => ({ ...schedule, ...windowTextOf(schedule, windowsPerDay) }));
  const grid = table(
    [
      { head: 'months' },
      { head: 'days' },
      { head: 'charge from\nthe grid' },
      { head: 'up to', align: 'right' },
      { head: 'carry load' },
    ],
    rows.map(({ text, ...schedule }) => [
      monthsInWords(schedule.months),
      schedule.days,
      ...(isAllDay(schedule)
        ? holding(schedule, report)
        : [
            schedule.charge === null ? 'never' : text(schedule.charge),
            schedule.charge === null ? '' : `${schedule.chargeToPercent} %`,
            schedule.discharge !== null
              ? text(schedule.discharge)
              : schedule.charge === null
                ? 'any time'
                : 'any other time',
          ]),
    ]),
  );
  const marked = rows.some((row) => row.marked)
    ? [
        wrap(
          '* Its hours after midnight are of the days named here, as much as those before. A box that counts a window to the day on which it begins does something else where the days differ, and saves another sum.',
        ),
      ]
    : [];
  return [grid, ...marked, ...higherInMonths(report)].join('\n');
}

/** Where a reserve by hand is higher than what a row charges up to: the box fills that. */
function higherInMonths({ sheet, year }: SettingsReport): string[] {
  const cold = year.find(({ what }) => what === 'too-cold')?.months ?? [];
  return sheet.dated.flatMap(({ when, reservePercent }) => {
    if (!('months' in when)) return [];
    // Cells that take nothing are filled up to nothing.
    const warm = when.months.filter((month) => !cold.includes(month));
    const below = sheet.schedules.some(
      ({ months, charge, chargeToPercent }) =>
        charge !== null && chargeToPercent < reservePercent && months.some((month) => warm.includes(month)),
    );
    return below
      ? [wrap(`In ${monthsInWords(warm)}, with the reserve at ${reservePercent} % (below), it fills up to that.`)]
      : [];
  });
}

type Schedule = SettingsReport['sheet']['schedules'][number];
type YearEntry = SettingsReport['year'][number];

/** A window of the whole day: the box holds what it has. */
function isAllDay({ charge }: Schedule): boolean {
  return charge !== null && charge.fromMinute === charge.toMinute;
}

/** The cells of a schedule that holds all day. */
function holding({ chargeToPercent }: Schedule, { sheet }: SettingsReport): string[] {
  const buys = sheet.gridChargeKw > 0 && chargeToPercent > sheet.reservePercent;
  return [buys ? 'all day' : 'never', buys ? `${chargeToPercent} %` : '', 'never: hold'];
}

/**
 * Windows in words. On days that differ one over midnight says two things, so that it is printed in two where the box takes
 * so many, else with a mark.
 */
function windowTextOf(
  { days, charge, discharge }: Schedule,
  windowsPerDay: number,
): { readonly text: (window: ClockWindow) => string; readonly marked: boolean } {
  const isOver = (window: ClockWindow) =>
    days !== 'every day' && window.toMinute !== 0 && window.toMinute < window.fromMinute;
  const windows = [charge, discharge].filter((window) => window !== null);
  const over = windows.filter(isOver).length;
  const marks = windows.length + over > windowsPerDay;
  const text = (window: ClockWindow) => {
    if (!isOver(window)) return windowText(window);
    if (marks) return `${windowText(window)} *`;
    const { fromMinute, toMinute } = window;
    return `${windowText({ fromMinute: 0, toMinute })}, ${windowText({ fromMinute, toMinute: 1440 })}`;
  };
  return { text, marked: marks && over > 0 };
}

/** Savings a year, side by side with what they rest on. */
function outcome(report: SettingsReport): string {
  const short = report.apart === 'billing-periods' ? 'periods' : 'weeks';
  const isAlike = report.apart === 'nothing';
  const decimals = report.currencyDecimals;
  const { expected, inSample, rolling } = report;
  const { factor, words, head, note } = spanOf(report.axis);
  const saved = ({ savings }: { savings: number | null }) =>
    savings === null ? 'withheld' : fixed(factor * savings, decimals);
  // From two bills a saving can be reckoned.
  const total = (row: { bill: { total: number }; savings?: number | null }) =>
    row.savings === null ? 'withheld' : fixed(factor * row.bill.total, decimals);
  const lost = rolling === null ? 0 : factor * (rolling.savings - (expected.savings ?? 0));
  const grid = table(
    [{ head: report.currency }, { head: `bill\n${head}`, align: 'right' }, { head: `saved\n${head}`, align: 'right' }],
    [
      ['no battery', total(report.baseline), ''],
      ...(report.tried === null ? [] : [['the box as it is set now', total(report.tried), saved(report.tried)]]),
      ...(isAlike
        ? [['these settings, on the weeks they were found on *', total(expected), saved(expected)]]
        : total(expected) === total(inSample)
          ? [[`these settings, tested on other ${short} *`, total(expected), saved(expected)]]
          : [
              [`these settings, tested on other ${short} *`, total(expected), saved(expected)],
              [`these settings, on the ${short} they were found on`, total(inSample), saved(inSample)],
            ]),
      ...(rolling === null ? [] : [['"rolling", a cleverer controller **', total(rolling), saved(rolling)]]),
    ],
  );
  return [
    grid,
    ...(note === undefined ? [] : [wrap(note)]),
    wrap(
      isAlike
        ? '* One sheet for all weeks, tested on no others: those that odd and even weeks find apart cost about as much, and what they lead to lasts less long.'
        : `* Odd ${halves(report)} run with what was found on the even ones, even ${halves(report)} with what was found on the odd ones.${report.savingsWithheld === null && total(expected) === total(inSample) ? ` On the ${halves(report)} they were found on they save the same.` : ''}`,
    ),
    ...(rolling === null
      ? []
      : [
          wrap(
            `** Plans again every hour from the past alone; no promise that a box can. It would save ${printsZero(lost, decimals) ? 'the same' : `${money(Math.abs(lost), report.currency, decimals)} ${words} ${lost >= 0 ? 'more' : 'less'}`}.`,
          ),
        ]),
  ].join('\n');
}

const halves = ({ apart }: Pick<SettingsReport, 'apart'>) => halvesOf(apart);

/** What to count on, in one sentence. */
function meaning(report: SettingsReport): string {
  const { savings } = report.expected;
  if (savings === null) return wrap(`No saving is given: ${report.savingsWithheld}.`);
  const { factor, words } = spanOf(report.axis);
  const cash = money(factor * Math.abs(savings), report.currency, report.currencyDecimals);
  const byHand = reserveAtDates(report, 'the reserve set by hand at its dates');
  const basis = `against ${report.against} (modelled, not metered, ${seenWords(report.apart, 'the')}${byHand}${ownFigure(report)})`;
  if (printsZero(factor * savings, report.currencyDecimals))
    return heading(`Run on these settings the battery saves nothing and costs nothing, ${basis}.`);
  return heading(
    savings > 0
      ? `Run on these settings the battery saves ${cash} ${words}, ${basis}.`
      : `${losing(report)} ${lossText(-factor * savings, factor * report.expected.bill.boughtOnce, report, words)}, ${basis}.`,
  );
}

/** Which dated reserves the figures hold: those that the page lists, in the words given, and outages that are over. */
function reserveAtDates({ sheet, year }: SettingsReport, listedWords: string): string {
  const counted = [...sheet.dated.entries()].filter(([, dated]) => dated.inFigures);
  const isListed = (index: number) => year.some(({ dated }) => dated === index);
  const listed = counted.some(([index]) => isListed(index)) ? `, ${listedWords}` : '';
  const over = counted.flatMap(([index, { outage }]) => (outage === null || isListed(index) ? [] : [outage.from]));
  return atDates(listed, over);
}

/** What the printed sheet did where it was found, where that is another sum than the judged one. */
function ownFigure(report: SettingsReport): string {
  const { savings, differs } = report.inSample;
  if (savings === null || !differs) return '';
  const cash = money(spanOf(report.axis).factor * Math.abs(savings), report.currency, report.currencyDecimals);
  return `; this one sheet, on the ${halves(report)} that it was found on, ${savings >= 0 ? 'saves' : 'costs'} ${cash}${savings >= 0 ? '' : ' more'}`;
}

function losing({ reserve, sheet }: SettingsReport): string {
  if (reserve.setBy === 'medical') return 'Kept full for the medical circuit, the battery saves nothing: it costs';
  if (sheet.reservePercent === 100) return 'With all of it kept for an outage the battery saves nothing: it costs';
  return 'The battery loses money on these settings, the best that this controller can be told:';
}

/** A number to be typed in: to the watt, without zeros that say nothing. */
function exactly(value: number): string {
  return String(Number(value.toFixed(3)));
}

function windowText({ fromMinute, toMinute }: ClockWindow): string {
  const clock = (minute: number) =>
    `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
  // Most of a day over midnight reads like a slip.
  const overMidnight = toMinute > 0 && toMinute < fromMinute && fromMinute - toMinute < 720;
  return `${clock(fromMinute)}–${clock(toMinute)}${overMidnight ? ' (next day)' : ''}`;
}
