import { monthsInWords, quoteName } from '@duskbank/core/input';
import type { DatedStart, GoalMet, OutageReport, PlayedOutage, StrategyOutage } from '@duskbank/core/study';
import { HEALTH_ASK, otherCautions } from './cautions.ts';
import { carriedText, equipmentText } from './home.ts';
import { countedTo, fixed, hours, hoursAtMost, isDark, money, percent, printsZero, sharePercent } from './numbers.ts';
import { spanOf } from './span.ts';
import { circuitNames, MONTHS, monthList, stormLine, stormSeason } from './storm.ts';
import { cellName, heading, nameHeading, quoteNames, table, wrap } from './text.ts';
import { leavesOpen, warningLines } from './warnings.ts';

/** The report for people: six questions answered on a page; with `full` what stands behind the answers too. */
export function outageText(report: OutageReport, full = false): string {
  const row = report.strategies.find((each) => each.strategy === report.headline)!;
  const medical = report.cautions.find((caution) => caution.code === 'medical');
  const outdrawn = report.warnings.filter((warning) => warning.code === 'circuits-above-meter');
  const open = report.warnings.filter(leavesOpen);
  const others = report.warnings.filter((warning) => warning.code !== 'circuits-above-meter' && !leavesOpen(warning));
  const told = (warnings: OutageReport['warnings']) => warningLines(warnings, report.axis.intervals).join('\n');
  const opening = [nameHeading(report.site, ': when the grid fails')];
  if (medical !== undefined) opening.push(wrap(`! ${medical.text}`, 80, '  '));
  if (open.length > 0)
    opening.push(wrap('What the battery holds when the grid fails rests on readings that are in doubt.'), told(open));
  const parts = [[...opening, planOn(report, row)].join('\n')];
  if (outdrawn.length > 0) parts.push(told(outdrawn));
  parts.push(howLong(report, row, full), keepOn(report));
  const prices = report.medical
    ? ''
    : [wishText(report, full), aloneText(report)].filter((text) => text !== '').join('\n');
  parts.push(prices === '' ? hourPrice(report) : `${hourPrice(report)}\n${prices}`);
  if (!full) {
    const next = [worstWeekText(report), stormText(report)].filter((text) => text !== '');
    if (next.length > 0) parts.push([heading('When it is worst, and before a storm'), ...next].join('\n'));
  }
  if (full) {
    if (report.played !== null) parts.push(played(report, report.played));
    if (!report.medical)
      parts.push(
        ...(eveningsKnown(report) ? [byMonth(report, row)] : []),
        byHour(report),
        byLength(row, report.solarOnIsland),
      );
    const week = [worstWeekText(report), stormText(report)].filter((text) => text !== '');
    parts.push(worst(report, row), ...(week.length > 0 ? [week.join('\n')] : []), reserve(report), frontier(report));
    parts.push(howOften(report));
  }
  if (report.planned.length > 0) parts.push(planned(report));
  parts.push(assumed(report, full));
  const cautions = [
    otherCautions(report.cautions),
    ...(medical === undefined ? [wrap(`! ${HEALTH_ASK}`, 80, '  ')] : []),
  ].join('\n');
  parts.push(others.length > 0 ? `${told(others)}\n${cautions}` : cautions);
  return parts.join('\n\n');
}

/** The first figure: what to plan on, which stays true at the worst start; what is usual stands after it. */
function planOn(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const duty = report.storm?.duty ?? null;
  const working =
    duty === null
      ? ''
      : ` (${hours(duty.planningHours, cap)}${inStormMonths(report)} with ${circuitNames(duty.circuits)} hard at work *)`;
  const evenings = row.worstEvening === null || row.hours === null ? null : row.hours.weekdayEvenings.p10;
  const usual =
    evenings === null
      ? ''
      : isDark(evenings)
        ? ' On one weekday evening in ten or more it is dark at once.'
        : ` On 9 of 10 weekday evenings it lasts ${hours(evenings, cap)} or more.`;
  const { planningOverload: over } = row;
  const why =
    over === null
      ? ', no sun, the battery worn to 80 % of its capacity'
      : `, draws ${fixed(over.drawnKw, 2)} kW, and the battery gives ${fixed(over.givenKw, 2)} kW at the most, however full it is: what it carries decides, not what it holds`;
  return heading(
    `Plan on ${isDark(row.planningHours.hours) ? 'no light at all' : hours(row.planningHours.hours, cap)}${working}: the worst start, ${when(row.planningHours)}${why}.${usual}`,
  );
}

/** ` in Aug, Sep`: of which months hours in a storm are; nothing where they are of the whole year. */
function inStormMonths({ storm, medical }: OutageReport): string {
  const unseen = storm?.unseenMonths ?? [];
  const counted = (storm?.months ?? []).filter((month) => !unseen.includes(month));
  return medical || counted.length === 0 || counted.length === 12 ? '' : ` in ${monthList(counted)}`;
}

/** What the answers rest on. */
function assumed(report: OutageReport, full: boolean): string {
  const lines = [`${sentence(report.basis)} ${sentence(report.transfer.note)}${full ? '' : ' More: `--full`.'}`];
  if (report.capHours < LONGEST_HOURS)
    lines.push(
      `The data are short: hours are counted up to ${hours(report.capHours)}, and "${countedTo(report.capHours)}" may be longer.`,
    );
  return [heading('What is assumed'), ...lines.map((line) => wrap(line))].join('\n');
}

/** Two weeks: what hours are counted to where the data are long enough. */
const LONGEST_HOURS = 336;

function worstWeekText({ worstWeek: week, capHours: cap }: OutageReport): string {
  if (week === null) return '';
  return wrap(
    `Worst week, from ${week.from}: ${isDark(week.p10) ? 'dark at once in one of 10 outages or more' : `${hours(week.p10, cap)} in 9 of 10 outages`}, ${hours(week.median, cap)} in half.`,
  );
}

function stormText(report: OutageReport): string {
  const { storm, capHours: cap } = report;
  // With a medical circuit it is kept full, always.
  if (storm === null || report.medical) return '';
  return wrap(stormLine(storm, carriedText(report.carried), cap, true));
}

/** What to keep back or fill up to for the hours wished for. */
function wishText(report: OutageReport, full: boolean): string {
  const { wish, capHours: cap, currency, currencyDecimals } = report;
  if (wish === null) return '';
  const what = `For ${wish.stated ? `the ${hours(wish.hours)} asked for` : `${hours(wish.hours)} (no \`goalHours\` stated)`} in 9 of 10 ${stormSeason(report.storm)}${withWorking(report)}`;
  const now = `; now ${hours(wish.now, cap)}`;
  if (wish.reservePercent === null)
    return wrap(
      `${what}: not with this equipment, even full${wish.mayGrow ? ' and with all that may be added to it' : ''}${now}.`,
    );
  if (wish.units !== null)
    return wrap(
      `${what}: not with this battery, even full. ${equipmentText({ units: wish.units, modulesPerUnit: wish.modulesPerUnit! })}, kept full, would last ${hours(wish.reached!, cap)}${now}.`,
    );
  const { scale, words } = spanned(report);
  // Said once, with the price of an hour above where one is given.
  const basis = report.nextHour === null ? ` (${REPLAYED})` : '';
  const forgone = wish.costPerYear === null ? null : scale * wish.costPerYear;
  const costs = (perYear: number, once: number) =>
    perYear <= 0 || printsZero(perYear, currencyDecimals)
      ? `costs nothing more${noGain(-perYear, report)}${onceText(once, report)}`
      : `saves ${money(perYear, currency, currencyDecimals)} ${words}${onceText(once, report)} less`;
  const cost = forgone === null ? '' : `, which ${costs(forgone, wish.costOnce!)}${basis}`;
  const nothing = printsZero(forgone ?? 0, currencyDecimals) && printsZero(wish.costOnce ?? 0, currencyDecimals);
  if (hours(wish.reached!, cap) === hours(wish.now, cap) && nothing)
    return wrap(`${what}: leave the reserve as it is; it lasts ${hours(wish.now, cap)}.`);
  const kept = `hold back ${wish.reservePercent} %`;
  const filled = `fill up to ${wish.toTargetPercent} % in every window that charges`;
  const both = wish.reservePercent > wish.fromReservePercent ? `${kept} and ${filled}` : filled;
  const way = wish.toTargetPercent === null ? kept : both;
  const { season } = wish;
  // What is dearer than holding it all year needs nobody who sets it at dates.
  const cheaper =
    season !== null && forgone !== null && !printsZero(forgone - scale * season.costPerYear, currencyDecimals);
  if (!cheaper || scale * season.costPerYear > forgone)
    return wrap(`${what}: ${way}${cost}: ${hours(wish.reached!, cap)}${now}.`);
  const turns = season.turns.map((turn) => turnText(season.reservePercent, turn)).join(', ');
  const allYear = full ? ` All year, ${way}: it ${costs(forgone, wish.costOnce!)}.` : '';
  return wrap(
    `${what}: hold back ${turns}, each year, which ${costs(scale * season.costPerYear, season.costOnce)}${basis}: ${hours(season.reached, cap)}${now}.${allYear}`,
  );
}

/** Where nobody may be home to change over: what no reserve mends. */
function aloneText({ transfer: { unattendedShare } }: OutageReport): string {
  if (unattendedShare === null) return '';
  return wrap(
    `With nobody home to change over (${sharePercent(unattendedShare)} of all starts) it is 0 h for fridge, freezer, pump and furnace, whatever is held back: a transfer that changes over by itself mends that, no reserve does.`,
  );
}

/** `60 % from the last of Oct, 21:00, until 1 Apr, then 20 % again` */
function turnText(
  reservePercent: number,
  { months, leadHours, thenPercent }: NonNullable<NonNullable<OutageReport['wish']>['season']>['turns'][number],
): string {
  const first = months[0]!;
  const next = (months.at(-1)! % 12) + 1;
  const on =
    leadHours === 0
      ? `1 ${MONTHS[first - 1]}`
      : leadHours <= 24
        ? `the last of ${MONTHS[(first + 10) % 12]}, ${String(24 - leadHours).padStart(2, '0')}:00`
        : `${hours(leadHours)} before 1 ${MONTHS[first - 1]}`;
  return `${reservePercent} % from ${on}, until 1 ${MONTHS[next - 1]}, then ${thenPercent} %${thenPercent < reservePercent ? ' again' : ''}`;
}

/** `, with "Sump pump" hard at work *`, or as on other days where no storm months are stated. */
function withWorking({ wish, storm }: OutageReport): string {
  if (storm === null || storm.duty === null) return '';
  const names = circuitNames(storm.duty.circuits);
  return wish!.hardAtWork.length > 0 ? `, with ${names} hard at work *` : `, with ${names} as on other days`;
}

/**
 * What a higher reserve saves more by the figures. The best there is never saves more with more held back: so the controller
 * missed less of it, as where settings are tested on a few billing periods.
 */
function noGain(more: number, report: OutageReport): string {
  const { headline, currency, currencyDecimals } = report;
  if (more <= 0 || printsZero(more, currencyDecimals)) return '';
  return ` (by these figures even ${money(more, currency, currencyDecimals)} ${spanned(report).words} less: with more held back ${quoteName(headline)} errs less, by chance; count on none of it)`;
}

/** `Thu 2026-01-15 19:45` */
function when(start: DatedStart): string {
  return `${start.weekday} ${start.local}`;
}

function howLong(report: OutageReport, row: StrategyOutage, full: boolean): string {
  const cap = report.capHours;
  const planning = row.planningHours;
  const lines: string[][] = [];
  if (row.hours === null) {
    lines.push(['worst start, no sun, 80 % of capacity', hours(planning.hours, cap), when(planning)]);
    if (report.storm !== null && report.storm.duty !== null)
      lines.push(['the same, circuits hard at work *', hours(report.storm.duty.planningHours, cap), 'a storm']);
  } else {
    const { weekdayEvenings, allHours } = row.hours;
    if (row.worstEvening !== null)
      lines.push(
        ['on the worst weekday evening', hours(row.worstEvening.hours, cap), when(row.worstEvening)],
        ['on 9 of 10 weekday evenings, at least', hours(weekdayEvenings.p10, cap), 'Mon–Fri, 17:00 to 21:00'],
        [`on 9 of 10 in ${MONTHS[row.worstMonth!.month - 1]}, the worst month`, hours(row.worstMonth!.p10, cap), ''],
        ['on half of the weekday evenings, at least', hours(weekdayEvenings.median, cap), ''],
      );
    else lines.push(['in 9 of 10 outages, at least', hours(allHours.p10, cap), 'no weekday evening in the data']);
    if (full || row.worstEvening === null)
      lines.push([
        'at half of all hours, at least',
        hours(allHours.median, cap),
        row.worstEvening !== null && allHours.median > weekdayEvenings.median ? 'flatters: noon counts too' : '',
      ]);
    // The page's first sentence says it already.
    if (full) lines.push(['worst start, no sun, 80 % of capacity', hours(planning.hours, cap), when(planning)]);
    const duty = report.storm?.duty ?? null;
    if (duty !== null && duty.evenings !== null) {
      lines.push(
        ...(row.worstEvening === null
          ? []
          : [
              [
                '9 of 10 evenings, circuits hard at work *',
                hours(duty.evenings.p10, cap),
                inStormMonths(report) === '' ? '' : 'in the storm months',
              ],
            ]),
        ...(full
          ? [
              [
                'worst start, and those at work *',
                hours(duty.planningHours, cap),
                `${inStormMonths(report) === '' ? 'a storm' : 'storm months'}: no sun, 80 %`,
              ],
            ]
          : []),
      );
    }
  }
  const goals = full || report.keepHours !== null ? goalLines(report) : [];
  const working = report.storm?.duty ?? null;
  if (working !== null)
    goals.unshift(
      `* ${working.circuits.map((each) => `${quoteName(each.circuit)} on ${sharePercent(each.share)} of the time (${watts(each.watts)} on average)`).join(', ')}${report.keepOn.length === 0 ? '' : '; below as on other days'}.`,
    );
  if (report.keepOn.length === 0)
    goals.push(
      'Means of an interval hide motor starts and short peaks that can trip the output: list the circuits to see.',
    );
  return [
    heading(`How long do I have${carriedText(report.carried, ' with ')}, run as ${quoteName(report.headline)}?`),
    table(
      [
        { head: row.hours === null ? 'if the power fails' : 'if the power fails, battery as new' },
        { head: 'it lasts', align: 'right' },
        { head: '' },
      ],
      lines,
    ),
    ...goals.map((line) => wrap(line)),
  ].join('\n');
}

/** How often the hours that the site asks for are met. */
function goalLines(report: OutageReport): string[] {
  const lines: string[] = [];
  const met = (goal: GoalMet) =>
    goal.eveningsShare === null
      ? `${sharePercent(goal.allShare!)} of all starts`
      : `${sharePercent(goal.eveningsShare)} of weekday evenings, ${sharePercent(goal.allShare!)} of all hours`;
  const { storm } = report;
  const working =
    storm === null || storm.duty === null ? '' : `, with ${circuitNames(storm.duty.circuits)} as on other days`;
  if (report.goal !== null && report.goal.allShare !== null)
    lines.push(`The ${hours(report.goal.hours)} asked for are met on ${met(report.goal)}${working}.`);
  if (report.keepHours !== null && report.keepHours.allShare !== null)
    lines.push(
      `What is held back to keep ${hours(report.keepHours.hours)}, without sun, does so on ${met(report.keepHours)}.`,
    );
  return lines;
}

function keepOn(report: OutageReport): string {
  const head = heading('What may I keep on?');
  if (report.keepOn.length === 0)
    return `${head}\n${wrap('The site lists no circuits, so the load is one block. List them under "backup.circuits" to see which may stay on, and for how long (see `duskbank circuits --appliances`).')}`;
  const cap = report.capHours;
  const evenings = report.keepOn.some((kept) => kept.evenings !== null);
  const rows = report.keepOn.flatMap((kept, k) => {
    const cells = [
      watts(kept.totalW),
      ...(evenings
        ? [hours(kept.worstEveningHours!, cap), hours(kept.evenings!.p10, cap), hours(kept.evenings!.median, cap)]
        : []),
      ...(report.medical || evenings ? [] : [hours(kept.planningHours!, cap)]),
    ];
    const name = `${k === 0 ? '' : '+ '}${cellName(kept.circuit)}`;
    const flag = kept.needsSomebodyHome ? ' *' : '';
    if (kept.sharesNeutral === null) return [[`${name}${flag}`, ...cells]];
    return [
      [`${name} and`, ...cells.map(() => '')],
      [`  ${cellName(kept.sharesNeutral)}${flag}`, ...cells],
    ];
  });
  const grid = table(
    [
      { head: 'keep on, from the top down' },
      { head: 'total W', align: 'right' },
      ...(evenings
        ? [
            { head: 'worst evening', align: 'right' as const },
            { head: '9 of 10', align: 'right' as const },
            { head: 'half of them', align: 'right' as const },
          ]
        : report.medical
          ? []
          : [{ head: 'worst start, no sun,\n80 % of capacity', align: 'right' as const }]),
    ],
    rows,
  );
  const notes = ['Each line keeps on all above it, and the battery’s own draw.'];
  if (report.keepOn.some((kept) => kept.sharesNeutral !== null)) notes.push('Two with "and" share a neutral.');
  notes.push('What isn’t listed doesn’t fit (`duskbank circuits`).');
  if (report.medical) notes.push('How long fewer of them last isn’t told: plan with the worst start above.');
  if (report.keepOn.some((kept) => kept.needsSomebodyHome)) notes.push('* 0 h while nobody is home to switch over.');
  return `${head}\n${grid}\n${wrap(notes.join(' '))}`;
}

/** One outage, circuit by circuit. */
function played(report: OutageReport, outage: PlayedOutage): string {
  const rows = outage.circuits.map((circuit) => [
    cellName(circuit.name),
    circuit.firstLossHours >= outage.lengthHours
      ? 'never'
      : circuit.firstLossHours * 60 < 1
        ? 'at once'
        : `after ${hours(circuit.firstLossHours)}`,
    fixed(circuit.servedKwh, 1),
    fixed(circuit.unservedKwh, 1),
  ]);
  const notes = [
    outage.darkBy === null
      ? 'The lights stay on all through.'
      : outage.darkBy === 'empty'
        ? `Dark after ${hours(outage.darkAfterHours)}, empty.`
        : `Dark after ${hours(outage.darkAfterHours)}, overloaded.`,
  ];
  const above = outage.start.hours;
  if (Math.abs(outage.darkAfterHours - Math.min(above, outage.lengthHours)) > 0.05) {
    const gone = outage.circuits.filter((circuit) => circuit.firstLossHours < outage.darkAfterHours - 1e-6);
    notes.push(
      gone.length > 0
        ? `With all of them kept on it lasts ${hours(above, report.capHours)} from there, as above: here ${quoteNames(gone.map((circuit) => circuit.name))} ${gone.length === 1 ? 'is' : 'are'} let go before.`
        : `Above stand ${hours(above, report.capHours)}: there solar that trips off counts as gone for longer than here.`,
    );
  }
  if (outage.restarts > 0) notes.push(`Sun starts it again ${outage.restarts} times.`);
  if (outage.solarTrips > 0) notes.push(`Solar trips off a full battery ${outage.solarTrips} times.`);
  notes.push('Each circuit is let go below its own level of energy, where the site states one ("shedBelow").');
  return [
    heading(`Played through: ${when(outage.start)}, ${outage.lengthHours} h without the grid`),
    table(
      [
        { head: 'circuit' },
        { head: 'goes without', align: 'right' },
        { head: 'served kWh', align: 'right' },
        { head: 'missing kWh', align: 'right' },
      ],
      rows,
    ),
    wrap(notes.join(' ')),
  ].join('\n');
}

/** What prices rest on: what is compared, such as two sheets. */
const REPLAYED = 'same windows, replayed on all weeks';

/** The time that all money of the page is of, as in `compare`, and what brings a year's sum to it. */
function spanned({ axis }: OutageReport): { readonly scale: number; readonly words: string; readonly head: string } {
  const { factor, words, head } = spanOf(axis);
  return { scale: factor / axis.perYear, words, head };
}

function hourPrice(report: OutageReport): string {
  const { scale, words } = spanned(report);
  const asked = `What does an hour more cost me ${words}?`;
  const head = heading(asked);
  const decimals = report.currencyDecimals;
  if (report.medical)
    return `${head}\n${wrap('No price is given: all of the battery is kept for the circuit that is life-supporting or medical, and no lower reserve is weighed against money.')}`;
  const next = report.nextHour;
  const on = eveningsKnown(report) ? 'on 9 of 10 weekday evenings' : 'in 9 of 10 outages';
  if (next === null || next.pricePerHour === null) {
    const why = report.frontier.some((point) => point.strategies.some((row) => row.savingsPerYear === null))
      ? 'savings are withheld'
      : report.wish?.fromReservePercent === 100
        ? 'all of it is kept already, and nothing lasts longer'
        : `no higher reserve that was tried, nor windows that fill further where it has any, lasts longer ${on}`;
    return `${head}\n${wrap(`No price is given: ${why}.`)}`;
  }
  const gained = next.hoursGained < 1 ? hours(next.hoursGained) : `${fixed(next.hoursGained, 2)} h`;
  const cost = scale * next.costPerYear;
  const way = (keeping: string, filling: string) => {
    const kept = `${keeping} ${percent(next.toFloorShare)} instead of ${percent(next.fromFloorShare)}`;
    if (next.toTargetPercent === null) return kept;
    const filled = `up to ${next.toTargetPercent} % in every window that charges`;
    return next.toFloorShare > next.fromFloorShare ? `${kept} and filling ${filled}` : `${filling} ${filled}`;
  };
  const text =
    cost > 0 && !printsZero(cost, decimals)
      ? `${way('Keeping', 'Filling')} lasts ${gained} longer ${on} and saves ${money(cost, report.currency, decimals)} ${words}${onceText(next.costOnce, report)} less: ${money(scale * next.pricePerHour, report.currency, decimals)} ${words} for an hour.`
      : `Nothing: ${way('keeping back', 'filling')} lasts ${gained} longer ${on} and saves no less${noGain(-cost, report)}${onceText(next.costOnce, report)}.`;
  return `${heading(`${asked} (${REPLAYED})`)}\n${wrap(text)}`;
}

/** What is bought once beside a cost. */
function onceText(once: number, { currency, currencyDecimals: decimals }: OutageReport): string {
  return once < 0 || printsZero(once, decimals) ? '' : ` and ${money(once, currency, decimals)} once`;
}

/** Whether the data hold any weekday evening. */
function eveningsKnown(report: OutageReport): boolean {
  return report.strategies.some((row) => row.worstEvening !== null);
}

function byMonth(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const rows = (row.slices?.eveningsByMonth ?? []).map((slice) => {
    const all = row.slices!.byMonth.find((month) => month.key === slice.key)!;
    return [
      MONTHS[slice.key - 1]!,
      hours(slice.least, cap),
      hours(slice.p10, cap),
      hours(slice.median, cap),
      hours(all.median, cap),
      sharePercent(slice.survival[2]!),
      sharePercent(slice.survival[5]!),
    ];
  });
  return [
    heading('By month'),
    table(
      [
        { head: '' },
        { head: 'weekday evenings\nworst', align: 'right' },
        { head: '9 of 10', align: 'right' },
        { head: 'half', align: 'right' },
        { head: 'all hours\nhalf', align: 'right' },
        { head: 'evenings that\nlast 4 h', align: 'right' },
        { head: 'last\n24 h', align: 'right' },
      ],
      rows,
    ),
  ].join('\n');
}

/** When it is short: a row an hour of the start, a column a month. */
function byHour(report: OutageReport): string {
  const cap = Math.round(report.capHours);
  const cell = (value: number | null) =>
    value === null ? '' : value >= report.capHours ? `${cap}+` : value.toFixed(value < 9.95 ? 1 : 0);
  const months = report.byMonthHour!.flatMap((row, m) => (row.every((value) => value === null) ? [] : [{ row, m }]));
  return [
    heading('When it is short: hours on 9 of 10 days, by hour of the start and month'),
    table(
      [{ head: 'hour' }, ...months.map(({ m }) => ({ head: MONTHS[m]!, align: 'right' as const }))],
      Array.from({ length: 24 }, (_, h) => [
        `${String(h).padStart(2, '0')}:00`,
        ...months.map(({ row }) => cell(row[h]!)),
      ]),
    ),
  ].join('\n');
}

function byLength(row: StrategyOutage, sunOnIsland: boolean): string {
  const { withSun, withoutSun } = row.unserved!;
  const rows = withSun.map((at, j) => [
    `${at.hours} h`,
    sharePercent(at.carriedShare),
    fixed(at.meanKwh, 1),
    fixed(at.worstKwh, 1),
    ...(sunOnIsland ? [sharePercent(withoutSun[j]!.carriedShare), fixed(withoutSun[j]!.meanKwh, 1)] : []),
  ]);
  return [
    heading('By length of the outage, starting at any hour'),
    table(
      [
        { head: 'outage' },
        { head: 'carried\nthrough', align: 'right' },
        { head: 'missing\nmean kWh', align: 'right' },
        { head: 'worst\nkWh', align: 'right' },
        ...(sunOnIsland
          ? [
              { head: 'no sun:\ncarried', align: 'right' as const },
              { head: 'missing\nmean kWh', align: 'right' as const },
            ]
          : []),
      ],
      rows,
    ),
  ].join('\n');
}

function worst(report: OutageReport, row: StrategyOutage): string {
  const cap = report.capHours;
  const rows = row.worstStarts.map((start) => [when(start), hours(start.hours, cap), fixed(start.reserveKwh, 1)]);
  return [
    heading(report.medical ? 'The worst starts, no sun, 80 % of capacity' : 'The worst starts'),
    table([{ head: 'start' }, { head: 'lasts', align: 'right' }, { head: 'reserve then, kWh', align: 'right' }], rows),
  ].join('\n');
}

function reserve(report: OutageReport): string {
  const situations = [
    ['endOfPeak', 'end of on-peak'],
    ['eventNights', 'event nights'],
    ['stormSeason', 'storm season'],
    ['allHours', 'all hours'],
  ] as const;
  const shown = situations.filter(([key]) => report.strategies.some((row) => row.reserve[key] !== undefined));
  const heads = report.medical ? ['least'] : ['9 of 10', 'half'];
  const rows = report.strategies.map((row) => [
    row.strategy,
    ...shown.flatMap(([key]) => {
      const summary = row.reserve[key];
      if (summary === undefined) return heads.map(() => '');
      const { minKwh, p10Kwh, medianKwh } = summary;
      return (report.medical ? [minKwh] : [p10Kwh, medianKwh]).map((kwh) => fixed(kwh, 1));
    }),
  ]);
  return [
    heading('Reserve that each strategy leaves, kWh that reach the loads'),
    table(
      [
        { head: 'strategy' },
        ...shown.flatMap(([, name]) =>
          heads.map((head, k) => ({ head: k === 0 ? `${name}\n${head}` : head, align: 'right' as const })),
        ),
      ],
      rows,
    ),
  ].join('\n');
}

function frontier(report: OutageReport): string {
  const cap = report.capHours;
  const decimals = report.currencyDecimals;
  const { scale, head: span } = spanned(report);
  const hasBound = report.frontier.some((point) => point.boundSavingsPerYear !== null);
  const ofHeadline = (point: OutageReport['frontier'][number]) =>
    point.strategies.find((each) => each.strategy === report.headline)!;
  // Of a sheet there are two sums: what was tested on other weeks, and the one sheet on all, which prices are between.
  const hasTwo = report.frontier.some((point) => {
    const { savingsPerYear, replayed } = ofHeadline(point);
    return (
      replayed !== null && fixed(scale * replayed.savingsPerYear, decimals) !== fixed(scale * savingsPerYear!, decimals)
    );
  });
  const boughtOnce = report.frontier.some((point) => {
    const { replayed } = ofHeadline(point);
    return replayed !== null && !printsZero(scale * replayed.boughtOncePerYear, decimals);
  });
  const rows = report.frontier.map((point) => {
    const row = ofHeadline(point);
    return [
      percent(point.floorShare),
      row.savingsPerYear === null
        ? 'withheld'
        : `${fixed(scale * row.savingsPerYear, decimals)}${hasBound && !row.keepsFloor ? ' †' : ''}`,
      ...(hasTwo ? [fixed(scale * row.replayed!.savingsPerYear, decimals)] : []),
      ...(hasBound
        ? [point.boundSavingsPerYear === null ? '' : fixed(scale * point.boundSavingsPerYear, decimals)]
        : []),
      ...(row.evenings === null
        ? [hours(row.planningHours, cap)]
        : [hours(row.evenings.p10, cap), hours(row.evenings.median, cap), hours(row.planningHours, cap)]),
    ];
  });
  return [
    heading(`Savings against hours, by what is held back (${quoteName(report.headline)})`),
    ...(report.plant.floorRises
      ? [wrap('Each row keeps that much all year, and what the site keeps at dates above it, as the sheet does.')]
      : []),
    table(
      [
        { head: 'kept\nback', align: 'right' },
        { head: `saved ${span}\n${report.currency}`, align: 'right' },
        ...(hasTwo ? [{ head: 'on all\nweeks **', align: 'right' as const }] : []),
        ...(hasBound ? [{ head: 'best in\nhindsight', align: 'right' as const }] : []),
        ...(report.medical
          ? []
          : [
              { head: `9 of 10\n${eveningsKnown(report) ? 'evenings' : 'outages'}`, align: 'right' as const },
              { head: `half of\n${eveningsKnown(report) ? 'evenings' : 'outages'}`, align: 'right' as const },
            ]),
        { head: 'worst, no sun,\n80 %', align: 'right' },
      ],
      rows,
    ),
    ...(boughtOnce
      ? [
          wrap(
            `What fills each reserve once is in these sums${hasTwo ? ', of both columns' : ''}; the price of an hour above tells it apart, as "once".`,
          ),
        ]
      : []),
    ...(hasTwo
      ? [
          wrap(
            '** The one sheet with that reserve, replayed on all weeks of the data, which it has seen: what an hour more costs is between two of these. Saved: tested on other weeks, as the headline.',
          ),
        ]
      : []),
    ...(hasBound
      ? [
          wrap(
            `Best in hindsight (and "optimum" above): nothing saves more that holds as much back. Nobody reaches it.${rows.some((cells) => cells.some((cell) => cell.endsWith('†'))) ? ' † Holds back less than that at times, and so may save more.' : ''}`,
          ),
        ]
      : []),
  ].join('\n');
}

function howOften(report: OutageReport): string {
  const { reliability, bestFloor } = report;
  const refill = `After the power is back, filling up from empty takes ${hoursAtMost(report.recharge.medianHours)}${report.recharge.longestHours > report.recharge.medianHours + 0.1 ? `, ${hoursAtMost(report.recharge.longestHours)} at the longest` : ''}.${coldRefill(report)}`;
  if (reliability === null)
    return `${heading('How often, how long')}\n${wrap(`How often the grid fails here isn’t known: the site states no figures of its utility ("backup.reliability"), and none of its country are held. ${refill}`)}`;
  const kinds = reliability.kinds.map(
    (kind) => `${fixed(kind.perYear, 2)} ${kind.name} a year of ${fixed(kind.meanHours, 1)} h on average`,
  );
  const long = reliability.longerThan.map((point) => `${sharePercent(point.share)} last over ${point.hours} h`);
  const spread = report.medical ? '' : ` Lengths vary widely: ${long.join(', ')}.`;
  const lines = [`${sentence(kinds.join(' and '))}${spread} Source: ${quoteName(reliability.source)}.`];
  if (reliability.unservedKwhPerYear !== null)
    lines.push(
      `Backed-up load that goes without in a year, expected: ${fixed(reliability.unservedKwhPerYear, 2)} kWh with the battery, ${fixed(reliability.unservedWithoutBatteryKwhPerYear, 2)} kWh without.`,
    );
  if (bestFloor !== null) {
    const value = money(bestFloor.valuePerKwh, report.currency, report.currencyDecimals);
    const same = bestFloor.lowShare === bestFloor.highShare;
    lines.push(
      `With a kWh not served worth ${value}, of the reserves that last an hour or more on 9 of 10 weekday evenings of every month ${percent(bestFloor.floorShare)} costs least` +
        (same
          ? ', and still does with half or twice as much at stake.'
          : `; ${percent(bestFloor.lowShare)} with half as much at stake, ${percent(bestFloor.highShare)} with twice.`),
    );
  }
  lines.push(refill);
  return `${heading('How often, how long')}\n${lines.map((line) => wrap(line)).join('\n')}`;
}

/** Where cold keeps it from filling, one outage empties it for months. */
function coldRefill({ storm }: OutageReport): string {
  const months = storm?.tooColdMonths ?? [];
  return months.length === 0
    ? ''
    : ` Not in ${monthsInWords(months)}: the cells are too cold to charge then, and after one outage it stays empty until that is over.`;
}

const PLANNED = {
  'in-time': 'notice is long enough',
  'too-late': 'notice is too short to fill up',
  'no-grid-charging': 'only sun can fill it: not to be relied on',
  'too-cold': 'too cold to charge before it',
  'after-another': 'NOT full: no time to charge after another',
  'cold-since-another': 'NOT full: too cold since another outage',
};

/** Verdicts beside which the time that filling takes says nothing. */
const NOT_TIMED: ReadonlySet<OutageReport['planned'][number]['verdict']> = new Set([
  'after-another',
  'cold-since-another',
]);

/** Whether it is full when the grid goes down; in the cold nothing fills again what was taken since. */
function isReady({ from, fillHours, verdict }: OutageReport['planned'][number], { storm }: OutageReport): string {
  if (verdict !== 'in-time' || fillHours === null || fillHours >= 0.05) return PLANNED[verdict];
  const inCold = storm?.tooColdMonths?.includes(Number(from.slice(5, 7))) === true;
  return inCold ? 'kept full, unless used since the cold began' : 'kept full before any notice';
}

function carries(
  { verdict, carriesAll, lastsHours }: OutageReport['planned'][number],
  capHours: OutageReport['capHours'],
): string {
  const lasts = hours(lastsHours, capHours);
  if (verdict === 'in-time') return carriesAll ? 'carries all of it' : `lasts ${lasts}: it does NOT carry all of it`;
  return carriesAll ? 'would carry all of it' : `would last ${lasts}: it would NOT carry all of it`;
}

function planned(report: OutageReport): string {
  const rows = report.planned.flatMap((outage): (string[] | string)[] => [
    [
      outage.from.replace('T', ' '),
      `${outage.noticeHours} h`,
      outage.begun || outage.fillHours === null || NOT_TIMED.has(outage.verdict)
        ? ''
        : outage.fillHours < 0.05
          ? 'full'
          : hoursAtMost(outage.fillHours),
      outage.begun
        ? 'has begun: what is stored counts'
        : outage.beginsToday && outage.verdict === 'in-time' && outage.fillHours !== null && outage.fillHours >= 0.05
          ? `begins today: what is stored by ${outage.from.slice(11)} counts`
          : isReady(outage, report),
    ],
    wrap(
      outage.begun
        ? `  ${hoursAtMost(outage.lengthHours)} long, the grid due back at ${outage.to.replace('T', ' ')}; till then nothing fills from the grid: switch off what can wait. Full at its start, it would last ${hours(outage.lastsHours, report.capHours)} (worst start, no sun, 80 % of capacity)`
        : `  ${hoursAtMost(outage.lengthHours)} long; ${outage.verdict === 'in-time' ? '' : 'were it '}full at its start, the battery ${carries(outage, report.capHours)} (worst start, no sun, 80 % of capacity)`,
      80,
      '  ',
    ),
  ]);
  return [
    heading('Planned outages'),
    table(
      [{ head: 'from' }, { head: 'notice', align: 'right' }, { head: 'filling', align: 'right' }, { head: '' }],
      rows,
    ),
  ].join('\n');
}

function watts(value: number): string {
  return value < 1000 ? `${Math.round(value)} W` : `${fixed(value / 1000, 1)} kW`;
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
