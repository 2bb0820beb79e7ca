import { quoteName } from '@duskbank/core/input';
import type { CompareReport, StrategyResult } from '@duskbank/core/study';
import { csvCell } from '../io/output.ts';
import { atDates } from './at-dates.ts';
import { HEALTH_CAUTION } from './cautions.ts';
import { halvesOf, seenWords } from './halves.ts';
import { carriedText, plantText, spanText } from './home.ts';
import { lossText } from './loss.ts';
import { fixed, hours, isDark, money, moneyBound, percent, printsZero } from './numbers.ts';
import { paybackLine, paybackText } from './payback.ts';
import { type Span, spanOf } from './span.ts';
import { stepsTable } from './steps.ts';
import { MONTHS, stormLine } from './storm.ts';
import { heading, nameHeading, table, wrap } from './text.ts';
import { DOUBTS, leavesOpen, warningsApart } from './warnings.ts';

/** The report for people: the answer with its limit and the table it comes from, then what stands behind them. */
export function compareText(report: CompareReport): string {
  // Who depends on power for somebody's health reads that first.
  const { first: medical } = warningsApart(report, 'medical-load');
  // What lasts longer on evenings stands beside the evenings that are told.
  const { first: evenings } = warningsApart(report, 'sheet-lasts-on-evenings');
  // Where savings are withheld that is said first, with why.
  const isOpen = report.savingsWithheld === null && report.warnings.some(leavesOpen);
  const { first: doubts } = warningsApart(report, ...DOUBTS);
  const { others: warnings } = warningsApart(report, 'medical-load', 'sheet-lasts-on-evenings', ...DOUBTS);
  const span = spanOf(report.axis);
  const payback = paybackLine(report);
  const parts = [
    [
      nameHeading(report.site),
      medical,
      ...(isOpen ? [doubts] : []),
      meaning(report, span),
      payback ?? '',
      ...(isOpen ? [] : [doubts]),
      evenings,
    ]
      .filter((part) => part !== '')
      .join('\n'),
    strategyTable(report, span),
    rowWords(report),
    settingsLine(report, span),
    boundLine(report, span),
    opening(report, span),
    warnings,
    plannedSteps(report, span),
    wearTable(report, span),
    paybackText(report),
    stormText(report),
    wrap(HEALTH_CAUTION),
  ];
  return parts.filter((part) => part !== undefined && part !== '').join('\n\n');
}

/** What each kind of row does, in the order of the table. */
const ROW_WORDS: readonly [strategy: string, words: string][] = [
  ['none', 'no battery'],
  ['hold', 'kept full for an outage; its own draw, and filling it once, are paid for'],
  ['self-consumption', 'stores own solar that is left over, spends it at any time'],
  ['window', 'full before the dear hours, spent in them'],
  ['peak-shave', 'spent to keep the highest draw low'],
  ['settings', 'what to enter on the box'],
  ['rolling', 'plans again every hour from the past alone'],
  ['optimum', 'the best there was, every interval known beforehand; nobody can run it'],
];

/** What the names in the table mean, of those that are in it and ours. */
function rowWords(report: CompareReport): string {
  const ours = ROW_WORDS.filter(([name]) => report.strategies.some((row) => row.strategy === name));
  const rows = ours.map(([name, words]) => `${name}: ${words}`).join('. ');
  return wrap(`${rows}. A full cycle spends the battery’s whole energy once, at a time or in parts.`);
}

function opening(report: CompareReport, { factor, words, note }: Span): string {
  const { baseline, currency, currencyDecimals: decimals, plannedSolar: planned } = report;
  const throughService = (home: CompareReport['baseline']) =>
    `${money(factor * home.bill.total, currency, decimals)}, ${fixed(factor * home.importKwh, 0)} kWh bought, ${fixed(factor * home.exportKwh, 0)} kWh sold, highest draw ${fixed(home.peakImportKw, 1)} kW`;
  return [
    wrap(`Data: ${spanText(report.axis)}; tariff ${quoteName(report.tariff)}.`),
    wrap(`Battery: ${plantText(report.plant)}`),
    wrap(`Without it, ${words}: ${throughService(baseline)}.`),
    ...(planned === null
      ? []
      : [
          wrap(
            `With ${fixed(factor * planned.solarKwh, 0)} kWh of planned solar and no battery: ${throughService(planned)}.`,
          ),
        ]),
    ...(note === undefined ? [] : [wrap(note)]),
  ].join('\n');
}

function strategyTable(report: CompareReport, { factor, head }: Span): string {
  const { currencyDecimals: decimals, capHours: cap } = report;
  const missing = report.medical ? 'withheld' : 'unknown';
  const rows = mergedRows(
    report.strategies.map((row) => [
      row.strategy,
      // From two bills a saving can be reckoned.
      isWithheld(row) ? 'withheld' : fixed(factor * row.bill.total, decimals),
      row.role === 'baseline'
        ? ''
        : row.batterySavings === null
          ? 'withheld'
          : fixed(factor * row.batterySavings, decimals),
      shareCell(row),
      row.role === 'baseline' ? '' : fixed(factor * row.equivalentFullCycles, 0),
      backup(row, (b) => b.worstMonth.p10, cap, missing),
      backup(row, (b) => b.weekdayEvenings.p10, cap, missing),
      backup(row, (b) => b.weekdayEvenings.median, cap, missing),
    ]),
    // What isn't printed may be another sum all the same.
    report.strategies.map((row) => row.bill.total),
  );
  const tableOf = (evening: string, width?: number) =>
    table(
      [
        { head: 'strategy' },
        { head: `bill ${report.currency}\n${head}`, align: 'right' },
        { head: `saved\n${head}`, align: 'right' },
        { head: 'of\nbest', align: 'right' },
        { head: 'full\ncycles', align: 'right' },
        { head: 'worst\nmonth *', align: 'right' },
        { head: `${evening}\n9 in 10`, align: 'right' },
        { head: `${evening}\n1 in 2`, align: 'right' },
      ],
      rows,
      width,
    );
  // A strategy's name is typed in as it stands here: no letter of it gives way while a head can.
  const wide = tableOf('evening *', Number.POSITIVE_INFINITY).split('\n')[2]!;
  const grid = tableOf(wide.length > 80 ? 'evening' : 'evening *');
  if (missing === 'unknown' && report.strategies.every((row) => row.backupHours === null))
    return `${grid}\n${wrap(`* Hours of backup are unknown: ${whyUnknown(report)}. Metered solar, a list of circuits or "backup.load" in watts would tell.`)}`;
  return `${grid}\n${wrap(`* Hours of backup: at least this long in 9 of 10, or 1 of 2, outages that begin on a weekday evening (17 to 21 h); in each row’s worst month, 9 in 10. They carry ${report.backupBasis}; all that is held back is used.`)}`;
}

/** Why the load isn't known that hours of backup would be reckoned from. */
function whyUnknown({ warnings }: CompareReport): string {
  return warnings.some(({ code }) => code === 'sun-unseen')
    ? 'next to nothing is drawn by day, as under panels that no file tells of, so what the home uses then isn’t known'
    : 'solar isn’t metered, so what the home draws behind the meter isn’t known either';
}

/** Whether nothing is told of what a row saves. */
function isWithheld({ role, batterySavings }: StrategyResult): boolean {
  return role !== 'baseline' && batterySavings === null;
}

/** A share of the best: a range where it is known to within a gap, from that of the bound to that of the best found. */
function shareCell({ capturedShare: ofBound, capturedShareOfFound: ofFound }: StrategyResult): string {
  if (ofBound === null) return '';
  const [least, most] = [ofBound, ofFound ?? ofBound].sort((a, b) => a - b).map((share) => fixed(100 * share, 0));
  if (least === most) return `${least} %`;
  return `${least}${least!.startsWith('−') ? '…' : '–'}${most} %`;
}

/** Rows that print the same figures are one: what else does the same stands under it, without them again. */
function mergedRows(rows: readonly string[][], bills: readonly number[]): (string[] | string)[] {
  const first = new Map<string, { row: string[]; also: string[] }>();
  for (const [k, [name, ...figures]] of rows.entries()) {
    const key = [...figures, figures[0] === 'withheld' ? bills[k] : ''].join('|');
    const known = first.get(key);
    if (known === undefined) first.set(key, { row: [name!, ...figures], also: [] });
    else known.also.push(name!);
  }
  return [...first.values()].flatMap(({ row, also }) => [
    row,
    ...(also.length === 0 ? [] : [wrap(`  and so ${also.length === 1 ? 'does' : 'do'} ${also.join(', ')}`)]),
  ]);
}

function backup(
  row: StrategyResult,
  pick: (backup: NonNullable<StrategyResult['backupHours']>) => number,
  cap: number,
  missing: string,
): string {
  if (row.role === 'baseline') return '';
  return row.backupHours === null ? missing : hours(pick(row.backupHours), cap);
}

/** What using the battery wears off it, with and without counting it; where strategies that count it were run. */
function wearTable(report: CompareReport, { factor, head }: Span): string | undefined {
  const { wear, currency, currencyDecimals: decimals } = report;
  if (wear === null || !report.strategies.some((row) => row.countsWear)) return undefined;
  const rows = report.strategies.flatMap((row) =>
    row.wear === null
      ? []
      : [
          [
            row.strategy,
            fixed(factor * row.equivalentFullCycles, 0),
            row.batterySavings === null ? 'withheld' : fixed(factor * row.batterySavings, decimals),
            fixed(factor * row.wear.cost, decimals),
            row.wear.savingsAfter === null ? 'withheld' : fixed(factor * row.wear.savingsAfter, decimals),
          ],
        ],
  );
  const grid = table(
    [
      { head: 'counting wear' },
      { head: 'full\ncycles', align: 'right' },
      { head: `saved\n${head}`, align: 'right' },
      { head: `worn off\n${head}`, align: 'right' },
      { head: `left\n${head}`, align: 'right' },
    ],
    rows,
  );
  return `${grid}\n${wrap(
    `A cycle wears off ${money(wear.perCycle, currency, decimals + 1)}, a kWh delivered ${money(wear.perKwh, currency, decimals + 2)}: ${money(wear.cost, currency, decimals)}, ${wear.basis}. Those called "-wear" plan no cycle that earns less. It is no money of the bill, and not in the savings or the payback.`,
  )}`;
}

/** How the row of settings was judged, and what the sheet does on the weeks that it was found on. */
function settingsLine(report: CompareReport, { factor, words }: Span): string | undefined {
  const row = report.strategies.find((candidate) => candidate.inSample !== null);
  if (row === undefined) return undefined;
  if (report.medical)
    return wrap(
      `${quoteName(row.strategy)} keeps the battery full, for the circuit that is life-supporting or medical.`,
    );
  const { savings, apart } = row.inSample!;
  const halves = halvesOf(apart);
  const stated = !report.warnings.some(({ code }) => code === 'controller-assumed');
  const seen =
    savings === null || apart === 'nothing'
      ? ''
      : `${printsZero(factor * (savings - row.batterySavings!), report.currencyDecimals) ? ` That sheet, found on all ${halves} and replayed on them, saves the same.` : ` That sheet, found on all ${halves} and replayed on them, having seen them, saves ${money(factor * savings, report.currency, report.currencyDecimals)} ${words}.`}`;
  const saving = row.batterySavings;
  const rules = report.strategies.filter(
    (other) =>
      other.role === 'rule' &&
      saving !== null &&
      (other.batterySavings ?? 0) > saving &&
      !printsZero(factor * (other.batterySavings! - saving), report.currencyDecimals),
  );
  const tie = row.inSample!.tiePerYear ?? 0;
  const isTied = (other: StrategyResult) => report.axis.perYear * (other.batterySavings! - saving!) <= tie;
  // Within a tie nothing more is asked for, whatever the row would take.
  const [near, far] = [rules.filter(isTied), rules.filter((other) => !isTied(other))];
  const beyond = far.filter(({ strategy }) => !PLAIN_ROWS.includes(strategy));
  const why =
    beyond.length === 0
      ? ''
      : ` What saves more (${beyond.map((other) => other.strategy).join(', ')}) asks more of a box than this one can be told.`;
  const plain = far.filter(({ strategy }) => PLAIN_ROWS.includes(strategy)).map(plainWords);
  const tied = near.map((other) => tieWords(row, other));
  const judged =
    apart === 'nothing'
      ? 'Its money, cycles and hours:'
      : `Its money: odd ${halves} run with the settings found on the even ones, even ${halves} with those found on the odd ones. Its cycles and hours:`;
  return wrap(
    `${quoteName(row.strategy)} is for ${stated ? 'the box that is stated' : 'the plainest box, since none is stated'}. ${judged} of the one sheet that "duskbank settings" prints${atDates(row.inSample!.reserveByHand ? ', with the reserve set by hand at its dates' : '', row.inSample!.outagesOver)}${apart === 'nothing' ? ', found on all weeks and tested on no others' : ''}.${seen}${why}${plain.join('')}${tied.join('')}`,
  );

  function cash(sum: number): string {
    return money(sum, report.currency, report.currencyDecimals);
  }

  function savesMore(other: StrategyResult): string {
    return `${quoteName(other.strategy)} saves ${cash(factor * (other.batterySavings! - saving!))} ${words} more`;
  }

  function plainWords(other: StrategyResult): string {
    return ` ${savesMore(other)}: a box that can do nothing else may do that.`;
  }

  /** Why the sheet is counted on, and not a row that saves a little more. */
  function tieWords({ backupHours: ours }: StrategyResult, other: StrategyResult): string {
    const longer = (ours?.p10 ?? 0) - (other.backupHours?.p10 ?? 0);
    const counted = `${moneyBound((factor / report.axis.perYear) * tie, 'down', report.currency, report.currencyDecimals)}${report.axis.isYear ? '' : ` ${words}`}`;
    const is = savesMore(other);
    return longer > 0.05
      ? ` ${is}, no more than the ${counted} that count as a tie, and a tie goes to the lights: the sheet keeps them on for ${hours(longer)} longer in 9 of 10 outages at any hour.`
      : ` ${is}, no more than the ${counted} that count as a tie.`;
  }
}

/** Rows that any box can do: without clock windows, or kept full. */
const PLAIN_ROWS = ['hold', 'self-consumption'];

/** Today → planned solar → battery, where solar is planned. */
function plannedSteps(report: CompareReport, span: Span): string | undefined {
  if (report.plannedSolar === null) return undefined;
  return stepsTable(report.plannedSolar.steps, report.currency, report.currencyDecimals, span);
}

/** What "of best" is measured by. */
function boundLine(report: CompareReport, { factor, words }: Span): string | undefined {
  const { bound, currency, currencyDecimals: decimals } = report;
  if (bound === null || bound.savings === null) return undefined;
  const cash = (sum: number) => money(factor * Math.abs(sum), currency, decimals);
  // What nothing can pass is a bound: at least so much is lost, or at most so much saved.
  const possible = moneyBound(factor * Math.abs(bound.savings), bound.savings < 0 ? 'down' : 'up', currency, decimals);
  const gap = moneyBound(factor * Math.abs(bound.gap), 'up', currency, decimals);
  const least = 0.5 * 10 ** -decimals;
  let proof = `nothing found does; it is proven to within ${gap}`;
  if (bound.proof === 'exact') proof = 'exact for this model';
  else if (bound.gap < least) proof = 'proven to the digits shown, for this model';
  if (bound.savings < least)
    return wrap(
      bound.savings > -least
        ? `Of best: nothing. Even with every interval known beforehand this battery could not have saved anything (${proof}).`
        : `Of best: nothing. Even with every interval known beforehand this battery costs at least ${possible} more ${words} than none (${proof}).`,
    );
  // Of the lines as they are rounded where a schedule reaches it: what the row "optimum" prints.
  const reached = bound.proof === 'exact' || bound.found?.savings == null ? bound.savings : bound.found.savings;
  if (bound.proof === 'exact' || bound.gap < least)
    return wrap(
      `Of best: share of ${cash(reached)} ${words}, the most that this battery could have saved, with every interval known beforehand (${proof}).`,
    );
  const { strategy, savings } = bound.found;
  const by = strategy === 'optimum' ? '' : `, by ${quoteName(strategy)}, which "optimum" then shows`;
  return wrap(
    (savings ?? 0) < least
      ? `Of best: share of ${possible} ${words}, which nothing can save more than, with every interval known beforehand. Nothing was found that saves anything: the least there is lies up to ${gap} from the proof.`
      : `Of best: a range. Nothing can save more than ${possible} ${words}, with every interval known beforehand; the most that was found is ${cash(savings!)}${by}. The best possible lies between, so that each share does too: of the one, and of the other.`,
  );
}

/** What to do before a storm. */
function stormText(report: CompareReport): string | undefined {
  if (report.storm === null) return undefined;
  return wrap(stormLine(report.storm, carriedText(report.carried), report.capHours));
}

/** One sentence: what the battery does for this home, against what, and how much of it is model. */
function meaning(report: CompareReport, { factor, words }: Span): string {
  const { headline, currencyDecimals: decimals } = report;
  if (headline === null) {
    const reason = report.savingsWithheld ?? 'none of the strategies run is one that a home can count on';
    return wrap(`No saving is given: ${reason}.`);
  }
  const best = report.strategies.find((row) => row.strategy === headline.strategy)!;
  const saved = factor * headline.savings;
  const before = (report.plannedSolar ?? report.baseline).bill.total;
  const share = before > 0 ? `, ${percent(headline.savings / before)} of the bill` : '';
  const against = `against ${report.against}`;
  const left =
    best.backupHours === null
      ? ''
      : isDark(best.backupHours.worstMonth.p10)
        ? ` On weekday evenings in ${MONTHS[best.backupHours.worstMonth.month - 1]}, the worst month, one outage in ten or more is dark at once: nothing is left, or more is drawn than the equipment gives; see "duskbank outage".`
        : ` On weekday evenings in ${MONTHS[best.backupHours.worstMonth.month - 1]}, the worst month, it keeps${carriedText(report.carried)} ${report.carried === null ? 'the backed-up load ' : report.carried.circuits === report.carried.listed ? `the ${report.carried.circuits} listed circuits ` : ''}on for ${hours(best.backupHours.worstMonth.p10, report.capHours)} or more in 9 of 10 outages; "duskbank outage" tells the worst start.`;
  const judged =
    best.inSample === null
      ? ''
      : `, ${seenWords(best.inSample.apart, 'its')}${ownFigure(best.inSample, report, factor)}`;
  const sentence = printsZero(saved, decimals)
    ? `Run as ${quoteName(best.strategy)}, the battery saves nothing and costs nothing, ${against} (modelled, not metered${judged}).${left}`
    : saved > 0
      ? `Run as ${quoteName(best.strategy)}, the battery saves ${money(saved, report.currency, decimals)} ${words}${share}, ${against} (modelled, not metered${judged}).${left}`
      : `${losing(best, report)} costs ${lossText(-saved, factor * best.bill.boughtOnce, report, words)}, ${against} (modelled, not metered${judged}).${left}`;
  return heading(sentence);
}

/** What the printed sheet did where it was found, where that is another sum than the judged one. */
function ownFigure(
  { savings, differs, apart }: NonNullable<StrategyResult['inSample']>,
  { currency, currencyDecimals }: CompareReport,
  factor: number,
): string {
  if (savings === null || !differs) return '';
  const cash = money(factor * Math.abs(savings), currency, currencyDecimals);
  const halves = halvesOf(apart);
  return `; the one sheet that is printed, on the ${halves} that it was found on, ${savings >= 0 ? 'saves' : 'costs'} ${cash}${savings >= 0 ? '' : ' more'}`;
}

function losing({ strategy, inSample }: StrategyResult, { medical, strategies }: CompareReport): string {
  if (medical) return `Run as ${quoteName(strategy)}, kept full for the medical circuit, the battery saves nothing: it`;
  // Where no sheet was searched, the caller chose what ran.
  const ran = strategies.filter(({ yardstick, batterySavings }) => !yardstick && batterySavings !== null).length;
  if (inSample === null && ran > 1)
    return `None of the ${ran} strategies that were run saves money: the best of them, ${quoteName(strategy)},`;
  return `Run as ${quoteName(strategy)}, the battery loses money: it`;
}

const CSV_COLUMNS: [name: string, cell: (row: StrategyResult) => string | number | boolean | null | undefined][] = [
  ['strategy', (row) => row.strategy],
  ['causal', (row) => row.causal],
  ['tariff', (row) => row.tariff],
  ['bill', (row) => (isWithheld(row) ? null : row.bill.total)],
  ['savings', (row) => row.savings],
  ['savings per year', (row) => row.savingsPerYear],
  ['yardstick', (row) => row.yardstick],
  ['savings in sample', (row) => row.inSample?.savings],
  ['battery savings', (row) => row.batterySavings],
  ['wear cost', (row) => row.wear?.cost],
  ['captured share', (row) => row.capturedShare],
  ['captured share of best found', (row) => row.capturedShareOfFound],
  ['import kWh', (row) => row.importKwh],
  ['export kWh', (row) => row.exportKwh],
  ['peak import kW', (row) => row.peakImportKw],
  ['charged kWh', (row) => row.chargedKwh],
  ['discharged kWh', (row) => row.dischargedKwh],
  ['loss kWh', (row) => row.lossKwh],
  ['standby kWh', (row) => row.standbyKwh],
  ['curtailed kWh', (row) => row.curtailedKwh],
  ['unserved kWh', (row) => row.unservedKwh],
  ['equivalent full cycles', (row) => row.equivalentFullCycles],
  ['reserve min kWh', (row) => row.reserve?.minKwh],
  ['reserve p10 kWh', (row) => row.reserve?.p10Kwh],
  ['reserve median kWh', (row) => row.reserve?.medianKwh],
  ['backup h, weekday evenings p10', (row) => row.backupHours?.weekdayEvenings.p10],
  ['backup h, weekday evenings median', (row) => row.backupHours?.weekdayEvenings.median],
  ['backup h, all p10', (row) => row.backupHours?.p10],
  ['backup h, all median', (row) => row.backupHours?.median],
  ['backup h, worst', (row) => row.backupHours?.worst],
];

/** One row a strategy; numbers unrounded, an empty cell where there is none. */
export function compareCsv(report: CompareReport): string {
  const lines = [CSV_COLUMNS.map(([name]) => csvCell(name)).join(',')];
  for (const row of report.strategies) lines.push(CSV_COLUMNS.map(([, cell]) => csvCell(cell(row))).join(','));
  return lines.join('\n');
}
