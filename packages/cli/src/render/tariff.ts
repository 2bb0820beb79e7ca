import { monthsInWords, quoteName } from '@duskbank/core/input';
import type { TariffReport } from '@duskbank/core/study';
import { heading, nameHeading, quoteNames, wrap } from './text.ts';

type Blocks = NonNullable<TariffReport['weeks'][number]['blocks']>;

const DAYS = ['Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat', 'Sun'];

/** Cheapest to dearest; the first is also what one price for all looks like. */
const SHADES = ['·', '░', '▒', '▓', '█'];

/** A tariff in words and pictures. */
export function tariffPage(report: TariffReport): string {
  const { date, name, utility, currency, version, sections, weeks, ended } = report;
  const head = [nameHeading(name, utility === undefined ? '' : `, ${quoteName(utility)}`)];
  const since =
    version.from === undefined
      ? ''
      : `, in the version of ${version.from}${version.note === undefined ? '' : ` (${quoteName(version.note)})`}`;
  const holds = ended === undefined ? `As it holds on ${date}` : `It ended on ${ended.on}, before ${date}: as it was`;
  head.push(wrap(`${holds}${since}; money in ${currency}.`));
  const now = nowText(report);
  if (now !== undefined) head.push(wrap(now));
  const parts = [head.join('\n')];
  for (const section of sections)
    parts.push([heading(section.title), ...section.lines.map((line) => wrap(`  ${line}.`, 80, '    '))].join('\n'));
  const hasExport = weeks.some(
    (week) => week.flow === 'export' && week.pricePerKwh.flat().some((price) => price !== 0),
  );
  for (const week of weeks) if (week.flow === 'import' || hasExport) parts.push(picture(week, report.seriesLeftOut));
  parts.push(wrap(outlook(report)));
  return parts.join('\n\n');
}

/** What a kWh costs in the season of the date, dearest first: what somebody who asks for a tariff wants to know. */
function nowText({ date, currency, weeks, seriesLeftOut }: TariffReport): string | undefined {
  if (seriesLeftOut.length > 0) return undefined;
  const month = Number(date.slice(5, 7));
  const week = weeks.find((each) => each.flow === 'import' && each.months.includes(month));
  if (week === undefined) return undefined;
  const prices = new Map<number, Set<string>>();
  for (const [d, day] of week.statedPerKwh.entries())
    for (const [h, price] of day.entries()) {
      const rounded = Number(price.toPrecision(5));
      prices.set(rounded, (prices.get(rounded) ?? new Set()).add(week.window[d]![h]!));
    }
  if (prices.size > 5) return undefined;
  const named = [...prices]
    .sort(([a], [b]) => b - a)
    .map(([price, names]) => (prices.size === 1 ? `${price} at every hour` : `${price} ${quoteNames(names)}`));
  const season = week.season === 'all year' ? '' : ` in ${quoteName(week.season)} (${monthsInWords(week.months)})`;
  const block = week.blocks === undefined ? '' : ', in its first block';
  return `Now${season} a kWh bought costs ${currency}${block}: ${named.join('; ')}.`.replaceAll(' -', ' −');
}

function outlook({ ended, nextChange }: TariffReport): string {
  if (ended !== undefined)
    return `This tariff ended on ${ended.on}${ended.successor === undefined ? '; what follows it isn’t said in its file' : `; ${quoteName(ended.successor)} follows it`}.`;
  if (nextChange === undefined) return 'No change is in sight for a year.';
  return `Next change: from ${nextChange.date} ${nextChange.what}.`;
}

/** What a kWh costs in the blocks after the first: whole prices where one charge has blocks, else what each adds. */
function laterText(price: number, set: Blocks['sets'][number]): string {
  const shown = (value: number) => `${Number(value.toPrecision(5))}`.replace('-', '−');
  const [one, ...others] = set;
  if (others.length === 0)
    return one!.later.map(({ above, addedPerKwh }) => `${shown(price + addedPerKwh)} above ${above}`).join(', ');
  return set
    .map(
      ({ charge, later }) =>
        `${later.map(({ above, addedPerKwh }) => `${addedPerKwh < 0 ? '' : '+'}${shown(addedPerKwh)} above ${above}`).join(', ')} of ${quoteName(charge)}`,
    )
    .join('; ');
}

/** The prices of the steps that a half hour holds a part of. */
function pricesWithin(day: readonly number[], halfHour: number, stepMinutes: number): number[] {
  const first = Math.floor((halfHour * 30) / stepMinutes);
  const end = Math.ceil(((halfHour + 1) * 30) / stepMinutes);
  return day.slice(first, end);
}

/** A week, a column each half-hour: the darker, the more a kWh costs or earns. Where a price begins within one, it shows the higher. Prices are those of the sentences above it; what riders and taxes make of them stands below. */
function picture(week: TariffReport['weeks'][number], series: readonly string[]): string {
  const prices = week.statedPerKwh;
  const season =
    week.season === 'all year'
      ? monthsInWords(week.months)
      : `${quoteName(week.season)} (${monthsInWords(week.months)})`;
  const { blocks } = week;
  const first = blocks === undefined ? '' : ' in its first block';
  const beside = series.length === 0 ? '' : ` beside ${quoteNames(series)}`;
  const title = `${week.flow === 'import' ? 'Import, a kWh costs' : 'Export, a kWh earns'}${first}${beside}: ${season}`;
  const levels = [...new Set(prices.flat().map((price) => Number(price.toPrecision(9))))].sort((a, b) => a - b);
  if (levels.length === 1 && blocks === undefined) {
    const all = Number(levels[0]!.toPrecision(5));
    const more = Number(week.pricePerKwh[0]![0]!.toPrecision(5));
    const taxed = all === more ? '' : `, ${more} with riders and taxes`;
    return `${heading(title)}\n${`  ${all} at every hour${taxed}`.replaceAll(' -', ' −')}`;
  }
  const shade = (price: number) => {
    const rank = levels.indexOf(Number(price.toPrecision(9)));
    return SHADES[levels.length === 1 ? 0 : Math.round((rank / (levels.length - 1)) * (SHADES.length - 1))]!;
  };
  const allIn = (price: number) => {
    for (const [d, day] of prices.entries())
      for (const [h, p] of day.entries()) if (Number(p.toPrecision(9)) === price) return week.pricePerKwh[d]![h]!;
    return price;
  };
  const lines = [heading(title), `      0     3     6     9     12    15    18    21    24 h`];
  const columns = prices.map((day) => Array.from({ length: 48 }, (_, h) => pricesWithin(day, h, week.stepMinutes)));
  for (const [d, day] of columns.entries())
    lines.push(`  ${DAYS[d]} ${day.map((within) => shade(Math.max(...within))).join('')}`);
  if (columns.flat().some((within) => new Set(within.map(shade)).size > 1))
    lines.push(`      a half hour of two prices shows the ${week.flow === 'import' ? 'dearer' : 'one that pays more'}`);
  const key = levels.length <= 5 ? levels : [levels[0]!, levels[levels.length >> 1]!, levels[levels.length - 1]!];
  /** The indexes of the sets of blocks that hours of a price stand in. */
  const setsOf = (price: number) => {
    const sets = new Set<number>();
    for (const [d, day] of prices.entries())
      for (const [h, p] of day.entries())
        if (Number(p.toPrecision(9)) === price && blocks !== undefined) sets.add(blocks.set[d]![h]!);
    return [...sets].filter((set) => set >= 0);
  };
  const named = (price: number) => {
    if (week.flow === 'export') return '';
    const names = new Set<string>();
    for (const [d, day] of prices.entries())
      for (const [h, p] of day.entries()) if (Number(p.toPrecision(9)) === price) names.add(week.window[d]![h]!);
    names.delete('all hours');
    return names.size === 0 ? '' : ` ${quoteNames(names)}`;
  };
  lines.push(
    wrap(
      `      ${key.map((price) => `${shade(price)} ${Number(price.toPrecision(5))}${named(price)}`).join('   ')}`,
      80,
      '      ',
    ),
  );
  if (blocks !== undefined)
    for (const price of key)
      for (const set of setsOf(price))
        lines.push(
          wrap(`      ${shade(price)} in later blocks ${laterText(price, blocks.sets[set]!)}`, 80, '        '),
        );
  if (key.some((price) => Math.abs(allIn(price) - price) > 1e-9))
    lines.push(
      wrap(
        `      with riders and taxes ${key.map((price) => `${shade(price)} ${Number(allIn(price).toPrecision(5))}`).join('   ')}`,
        80,
        '      ',
      ),
    );
  return lines.join('\n');
}
