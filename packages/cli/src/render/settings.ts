import type { ClockWindow } from '@duskbank/core/dispatch';
import type { SettingsReport } from '@duskbank/core/study';
import { HEALTH_CAUTION } from './cautions.ts';
import { fixed, hours, money } from './numbers.ts';
import { spanOf } from './span.ts';
import { styled } from './style.ts';
import { heading, table, wrap } from './text.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** The sheet to enter on the box, then what it comes to. The answer in one sentence stands last. */
export function settingsText(report: SettingsReport): string {
  const parts = [
    heading(`${report.site}: what to enter on the box`),
    ...report.cautions
      .filter((caution) => caution.code === 'medical')
      .map((caution) => styled('bold', wrap(`! ${caution.text}`, 80, '  '))),
    report.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n'),
    always(report),
    schedules(report),
    byHand(report),
    wrap(
      `For tariff "${report.tariff}". Times are the home’s clock (${report.axis.zone}), daylight saving followed; percentages are of the ${kwh(report.plant.capacityKwh)} usable. A box that counts them of another capacity needs the same kWh.`,
    ),
    outcome(report),
    wrap(HEALTH_CAUTION),
    meaning(report),
  ];
  return parts.filter((part) => part !== '').join('\n\n');
}

const kwh = (amount: number) => `${fixed(amount, 1)} kWh`;

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
            : `${kwh(reserve.heldKwh)}, of which ${kwh(reserve.deliverableKwh)} reach loads`,
        ],
        sheet.gridChargeKw === 0
          ? ['charging from the grid', 'off', 'the site forbids it']
          : [
              'charging power from the grid',
              `${exactly(sheet.gridChargeKw)} kW`,
              'all that unit, inverter and breaker take',
            ],
        ['own solar', 'on', 'whatever is left over is stored first'],
      ],
    ),
    ...(why === undefined ? [] : [wrap(why)]),
  ].join('\n');
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

/** What somebody sets on the box at its date, in the order of the year. */
function byHand({ sheet, reserve }: SettingsReport): string {
  const lines = sheet.dated.map(datedLine);
  if (lines.length > 1) lines.push('Where two of these meet, the higher holds.');
  if (reserve.stormMonths.length > 0 && sheet.reservePercent < 100)
    lines.push(
      `On a storm warning (${monthsText(reserve.stormMonths)} are this site’s storm months) set the reserve to 100 %, and back when it is over. No figure here holds that.`,
    );
  if (lines.length === 0) return '';
  return [
    styled('bold', 'To be set by hand, in the order of their dates'),
    ...lines.map((line) => wrap(`- ${line}`, 80, '  ')),
  ].join('\n');
}

function datedLine({
  when,
  reservePercent,
  thenPercent,
  inFigures,
  outage,
}: SettingsReport['sheet']['dated'][number]): string {
  const beyond = inFigures ? '' : ' The data don’t reach it: it is in no figure here.';
  const back = thenPercent < reservePercent ? 'back to' : 'then to';
  const wait = thenPercent === reservePercent ? 'and leave it there' : `${back} ${thenPercent} %`;
  if ('months' in when) {
    const next = (when.months[when.months.length - 1]! % 12) + 1;
    return `Every year from 1 ${MONTHS[when.months[0]! - 1]} 00:00 set the reserve to ${reservePercent} %, ${back} ${thenPercent} % on 1 ${MONTHS[next - 1]} 00:00: the site’s floor in these months.${beyond}`;
  }
  const fills = {
    'in-time': outage!.fillHours < 1e-9 ? 'it is full already' : `filling takes up to ${hours(outage!.fillHours)}`,
    'too-late': `filling takes up to ${hours(outage!.fillHours)}, more than the notice of ${hours(outage!.noticeHours)}: what is not full by then is not there`,
    'no-grid-charging': 'without charging from the grid only sun can fill it, which nobody can promise',
  }[outage!.verdict];
  return `From ${when.from.replace('T', ' ')} set the reserve to ${reservePercent} %, ${wait} after ${when.to.replace('T', ' ')}: planned outage from ${outage!.from.replace('T', ' ')}; ${fills}.${beyond}`;
}

function schedules(report: SettingsReport): string {
  // A box that keeps all of it has nothing left to do by the clock.
  if (report.sheet.reservePercent === 100)
    return wrap('No clock windows: with all of it kept, the box carries load only when the grid is down.');
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
      monthsText(schedule.months),
      schedule.days,
      schedule.charge === null ? 'never' : text(schedule.charge),
      schedule.charge === null ? '' : `${schedule.chargeToPercent} %`,
      schedule.discharge !== null ? text(schedule.discharge) : schedule.charge === null ? 'any time' : 'any other time',
    ]),
  );
  return rows.some((row) => row.marked)
    ? `${grid}\n${wrap('* Its hours after midnight are of the days named here, as much as those before. A box that counts a window to the day on which it begins does something else where the days differ, and saves another sum.')}`
    : grid;
}

type Schedule = SettingsReport['sheet']['schedules'][number];

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
  const decimals = report.currencyDecimals;
  const { expected, inSample, rolling } = report;
  const { factor, words, head, note } = spanOf(report.axis);
  const saved = ({ savings }: { savings: number | null }) =>
    savings === null ? 'withheld' : fixed(factor * savings, decimals);
  const total = (row: { bill: { total: number } }) => fixed(factor * row.bill.total, decimals);
  const lost = rolling === null ? 0 : factor * (rolling.savings - (expected.savings ?? 0));
  const grid = table(
    [{ head: report.currency }, { head: `bill\n${head}`, align: 'right' }, { head: `saved\n${head}`, align: 'right' }],
    [
      ['no battery', total(report.baseline), ''],
      ['these settings, judged apart *', total(expected), saved(expected)],
      ['these settings, where they were found', total(inSample), saved(inSample)],
      ...(rolling === null ? [] : [['"rolling", a yardstick **', total(rolling), saved(rolling)]]),
    ],
  );
  return [
    grid,
    ...(note === undefined ? [] : [wrap(note)]),
    wrap('* Odd weeks run with what was found on the even ones, even weeks with what was found on the odd ones.'),
    ...(rolling === null
      ? []
      : [
          wrap(
            `** A controller that plans again every hour from the past alone, no promise: ${lost >= 0 ? 'these settings leave' : 'these settings get'} ${money(Math.abs(lost), report.currency, decimals)} ${words} ${lost >= 0 ? 'of what it gets' : 'more'}.`,
          ),
        ]),
  ].join('\n');
}

/** What to count on, in one sentence. */
function meaning(report: SettingsReport): string {
  const { savings } = report.expected;
  if (savings === null) return wrap(`No saving is given: ${report.savingsWithheld}.`);
  const { factor, words } = spanOf(report.axis);
  const cash = money(factor * Math.abs(savings), report.currency, report.currencyDecimals);
  const byHand = report.sheet.dated.some((dated) => dated.inFigures) ? ', the reserve set by hand at its dates' : '';
  const basis = `against ${report.against} (modelled, not metered, on weeks that the settings were not found on${byHand})`;
  return heading(
    savings > 0
      ? `Run on these settings the battery saves ${cash} ${words}, ${basis}.`
      : `${losing(report)} ${cash} more ${words}, ${basis}.`,
  );
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
  return `${clock(fromMinute)}–${clock(toMinute)}`;
}

/** `Apr–Sep`, `Jan, Mar`: runs of months, over the new year too. */
function monthsText(months: readonly number[]): string {
  if (months.length === 12) return 'all year';
  const set = new Set(months);
  const starts = months.filter((m) => !set.has(m === 1 ? 12 : m - 1)).sort((a, b) => a - b);
  return starts
    .map((start) => {
      let end = start;
      while (set.has((end % 12) + 1)) end = (end % 12) + 1;
      return start === end ? MONTHS[start - 1]! : `${MONTHS[start - 1]}–${MONTHS[end - 1]}`;
    })
    .join(', ');
}
