import { ALL_SEASONS, coverageIssues, dayMaskOf, monthMaskOf } from '../hours.ts';
import type { Pricing } from '../tariff.ts';
import { resolveBlocks } from './blocks.ts';
import type { Path } from './faults.ts';
import type { Element, Version, Windows } from './version.ts';
import { resolveWindows } from './windows.ts';

/** The forms of a price per kWh that charges and export credits share. */
export type PricingInput = Pick<
  Element<'energy'>[number],
  'pricePerKwh' | 'byWindow' | 'windows' | 'table' | 'blocks' | 'series' | 'resets'
>;

/** A price per kWh in one of its forms. */
export function resolvePricing(version: Version, windows: Windows, input: PricingInput, path: Path): Pricing {
  const { faults } = version;
  oneForm(version, input, path);
  if (input.resets !== undefined && input.blocks === undefined)
    faults.add('not-together', [...path, 'resets'], input.resets, '"blocks" beside it', 'remove "resets"');
  if (input.byWindow !== undefined) return pricesByWindow(version, windows, input.byWindow, [...path, 'byWindow']);
  if (input.windows !== undefined)
    return { form: 'windows', windows: resolveWindows(version, input.windows, [...path, 'windows'], true) };
  if (input.table !== undefined) return resolveTable(version, input.table, [...path, 'table']);
  if (input.blocks !== undefined)
    return {
      form: 'blocks',
      blocks: resolveBlocks(version, input.blocks, [...path, 'blocks']),
      resets: input.resets ?? 'billing-period',
    };
  if (input.series !== undefined) return { form: 'series', ...input.series };
  return { form: 'flat', pricePerKwh: input.pricePerKwh ?? 0 };
}

/** A fault unless just one form of price is given. */
function oneForm({ faults }: Version, input: PricingInput, path: Path): void {
  const forms = (['pricePerKwh', 'byWindow', 'windows', 'table', 'blocks', 'series'] as const).filter(
    (form) => input[form] !== undefined,
  );
  if (forms.length !== 1) {
    const [first, second] = forms;
    if (first === undefined)
      faults.add(
        'missing',
        [...path, 'pricePerKwh'],
        undefined,
        'a price: one of pricePerKwh, byWindow, windows, table, blocks, series',
        'add "pricePerKwh"',
      );
    else
      faults.add(
        'not-together',
        [...path, second!],
        input[second!],
        `one form of price; "${first}" is there already`,
        'keep one, and make the other a charge of its own',
      );
  }
}

function pricesByWindow(
  version: Version,
  windows: Windows,
  byWindow: NonNullable<PricingInput['byWindow']>,
  path: Path,
): Pricing {
  const { faults } = version;
  if (version.document.windows === undefined)
    faults.add('not-together', path, byWindow, 'a tariff with "windows"', 'add "windows", or give "pricePerKwh"');
  for (const name of Object.keys(byWindow))
    if (!windows.names.includes(name))
      faults.unknownName('unknown-window', [...path, name], name, windows.names, 'window');
  for (const name of windows.names)
    if (byWindow[name] === undefined)
      faults.add(
        'missing',
        [...path, name],
        undefined,
        'a price for each window',
        `add "${name}", 0 where it costs nothing`,
      );
  return { form: 'by-window', pricePerKwh: windows.rules.map((w) => byWindow[w.name] ?? 0) };
}

function resolveTable(version: Version, table: NonNullable<PricingInput['table']>, path: Path): Pricing {
  const { faults, days } = version;
  const rows = table.map((row) => ({
    monthMask: monthMaskOf(row.months),
    dayMask: dayMaskOf(row.days),
    pricesByHour: row.pricesByHour,
  }));
  const rules = rows.map((row) => ({
    seasonMask: ALL_SEASONS,
    monthMask: row.monthMask,
    dayMask: row.dayMask,
    from: 0,
    to: 1440,
    byStartDay: false,
    otherwise: false,
  }));
  for (const issue of coverageIssues(
    rules,
    rows.map((_, r) => `row ${r + 1}`),
    days,
    ['all year'],
    path,
    faults.file,
    'row',
  )) {
    const where = issue.where.path!.at(-1) === 'from' ? [...issue.where.path!.slice(0, -1), 'days'] : issue.where.path!;
    faults.issues.push({
      ...issue,
      where: { ...issue.where, path: where },
      expected: 'each month and kind of day in exactly one row',
      hint:
        issue.code === 'window-missing'
          ? 'add the month or the days to the "months" or "days" of a row, or add a row for them'
          : 'take the month or the days out of one of the rows',
    });
  }
  return { form: 'table', rows };
}
