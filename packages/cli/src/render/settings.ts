import type { ClockWindow } from '@duskbank/core/dispatch';
import { type SettingsReport, type Study, spanDays } from '@duskbank/core/study';
import { HEALTH_CAUTION } from './cautions.ts';
import { fixed, money } from './numbers.ts';
import { styled } from './style.ts';
import { heading, table, wrap } from './text.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** The sheet to enter on the box, then what it comes to. The answer in one sentence stands last. */
export function settingsText(report: SettingsReport, study: Study): string {
  const parts = [
    heading(`${report.site}: what to enter on the box`),
    report.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n'),
    ...report.cautions
      .filter((caution) => caution.code === 'medical')
      .map((caution) => styled('bold', wrap(`! ${caution.text}`, 80, '  '))),
    always(report, study),
    schedules(report),
    wrap(
      `For tariff "${report.tariff}". Times are the home’s clock (${study.home.axis.zone}), daylight saving followed; percentages are of the ${kwh(study.home.plant.capacityKwh)} usable. A box that counts them of another capacity needs the same kWh.`,
    ),
    outcome(report, study),
    wrap(HEALTH_CAUTION),
    meaning(report, study),
  ];
  return parts.filter((part) => part !== '').join('\n\n');
}

const kwh = (amount: number) => `${fixed(amount, 1)} kWh`;

/** What holds all year. */
function always({ sheet, reserve }: SettingsReport, study: Study): string {
  const varies = typeof study.home.plant.floorKwh !== 'number';
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
    ...(varies
      ? [wrap('The site’s floor varies over the year; the box holds one number, so this is the highest.')]
      : []),
  ].join('\n');
}

function schedules(report: SettingsReport): string {
  return table(
    [
      { head: 'months' },
      { head: 'days' },
      { head: 'charge from\nthe grid' },
      { head: 'up to', align: 'right' },
      { head: 'carry load' },
    ],
    report.sheet.schedules.map((schedule) => [
      monthsText(schedule.months),
      schedule.days,
      schedule.charge === null ? 'never' : windowText(schedule.charge),
      schedule.charge === null ? '' : `${schedule.chargeToPercent} %`,
      carrying(schedule),
    ]),
  );
}

function carrying({ charge, discharge }: SettingsReport['sheet']['schedules'][number]): string {
  if (discharge !== null) return windowText(discharge);
  return charge === null ? 'any time' : 'any other time';
}

/** Savings a year, side by side with what they rest on. */
function outcome(report: SettingsReport, study: Study): string {
  const decimals = study.home.tariff.currencyDecimals;
  const { expected, inSample, rolling } = report;
  const perYear = (row: { savingsPerYear: number | null }) =>
    row.savingsPerYear === null ? 'withheld' : fixed(row.savingsPerYear, decimals);
  const total = (row: { bill: { total: number } }) => fixed(row.bill.total, decimals);
  const grid = table(
    [
      { head: report.currency },
      { head: `bill of\n${fixed(spanDays(study.home.axis), 0)} days`, align: 'right' },
      { head: 'saved\na year', align: 'right' },
    ],
    [
      ['no battery', total(report.baseline), ''],
      ['these settings, judged apart *', total(expected), perYear(expected)],
      ['these settings, where they were found', total(inSample), perYear(inSample)],
      ...(rolling === null ? [] : [['"rolling", a yardstick **', total(rolling), perYear(rolling)]]),
    ],
  );
  return [
    grid,
    wrap('* Odd weeks run with what was found on the even ones, even weeks with what was found on the odd ones.'),
    ...(rolling === null
      ? []
      : [
          wrap(
            `** A controller that plans again every hour from the past alone, no promise: ${rolling.lostPerYear >= 0 ? 'these settings leave' : 'these settings get'} ${money(Math.abs(rolling.lostPerYear), report.currency, decimals)} a year ${rolling.lostPerYear >= 0 ? 'of what it gets' : 'more'}.`,
          ),
        ]),
  ].join('\n');
}

/** What to count on, in one sentence. */
function meaning(report: SettingsReport, study: Study): string {
  const yearly = report.expected.savingsPerYear;
  if (yearly === null) return wrap(`No saving is given: ${study.savingsWithheld}.`);
  const cash = money(Math.abs(yearly), report.currency, study.home.tariff.currencyDecimals);
  const home = study.plannedSolar === undefined ? 'as metered with its solar' : 'with its planned solar';
  const basis = `against the home ${home} and no battery, on the same tariff (modelled, not metered, on weeks that the settings were not found on)`;
  return heading(
    yearly > 0
      ? `Run on these settings the battery saves ${cash} a year, ${basis}.`
      : `The battery loses money on these settings, the best that this controller can be told: ${cash} a year more, ${basis}.`,
  );
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
