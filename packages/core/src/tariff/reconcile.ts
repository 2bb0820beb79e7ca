import type { Axis } from '../axis/index.ts';
import { civilDayOf, dateOfCivilDay, formatDate } from '../axis/index.ts';
import { billTariff } from './bill.ts';
import { type CompileOptions, compileTariff } from './compile.ts';
import type { PeriodBill } from './compiled.ts';
import type { ServiceFlows } from './flow-sums.ts';
import { civilDayOfDate } from './resolve.ts';
import type { Tariff } from './tariff.ts';

/** A bill that the household got. */
export interface ActualBill {
  /** First and last day. */
  readonly start: string;
  readonly end: string;
  readonly total: number;
  /** Energy that it bills, where the household has it. */
  readonly importKwh?: number;
}

/** One bill beside ours, over the same days. */
export interface ReconciledBill {
  readonly start: string;
  readonly end: string;
  readonly actual: number;
  /** Null where the data don't cover the days. */
  readonly ours: number | null;
  /** `actual − ours`. */
  readonly difference: number | null;
  readonly importKwh: number | null;
}

export interface Reconciliation {
  readonly bills: readonly ReconciledBill[];
  /** The likely causes, the likeliest first; empty where every bill agrees to the cent. */
  readonly causes: readonly { readonly code: string; readonly message: string }[];
}

/**
 * Sets our bills beside those that the household got, over the days that those state, and names what would explain the
 * difference: the days, the energy, a missing charge by bill, by day, by kWh, by kW or in percent, the baseline's zone.
 *
 * A cause is named only where it explains every bill to within a cent or two.
 */
export function reconcileBills(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
): Reconciliation {
  const sorted = [...actual].sort((a, b) => a.start.localeCompare(b.start));
  const ours = billOn(tariff, axis, options, flows, sorted);
  const { days } = axis.calendar;
  const covered = (bill: ActualBill) =>
    civilDayOfDate(bill.start) >= days[0]!.civilDay && civilDayOfDate(bill.end) <= days[days.length - 1]!.civilDay;
  const rows = sorted.map((bill) => {
    const own = covered(bill) ? ours.find((p) => p.start === bill.start && p.end === bill.end) : undefined;
    return { bill, own };
  });
  const bills = rows.map(
    ({ bill, own }): ReconciledBill => ({
      start: bill.start,
      end: bill.end,
      actual: bill.total,
      ours: own === undefined ? null : own.total,
      difference: own === undefined ? null : cents(bill.total - own.total),
      importKwh: own === undefined ? null : energyOf(own),
    }),
  );
  const known = rows.flatMap(({ bill, own }) => (own === undefined ? [] : [{ bill, own }]));
  const causes: { code: string; message: string }[] = [];
  if (known.length === 0) return { bills, causes };
  const differences = known.map(({ bill, own }) => bill.total - own.total);
  if (differences.every((d) => Math.abs(d) <= 0.011)) return { bills, causes };

  const atHome = billTariff(compileTariff(tariff, axis, options), flows).periods;
  const shifted = known.filter(({ bill }) => !atHome.some((p) => p.start === bill.start && p.end === bill.end));
  if (shifted.length > 0)
    causes.push({
      code: 'days-in-period',
      message:
        `${shifted.length} of ${known.length} bills run over other days than the site says, such as ${shifted[0]!.bill.start} to ` +
        `${shifted[0]!.bill.end} (${civilDayOfDate(shifted[0]!.bill.end) - civilDayOfDate(shifted[0]!.bill.start) + 1} days): ` +
        'put them in the account’s "readDates". They are compared over their own days here.',
    });
  const metered = known.filter(({ bill }) => bill.importKwh !== undefined);
  const off = metered.filter(
    ({ bill, own }) => Math.abs(bill.importKwh! - energyOf(own)) > Math.max(1, 0.005 * energyOf(own)),
  );
  if (off.length > 0)
    causes.push({
      code: 'energy',
      message:
        `${off.length} of ${metered.length} bills charge other energy than the data hold, such as ${off[0]!.bill.importKwh} kWh ` +
        `against ${energyOf(off[0]!.own).toFixed(1)} kWh from ${off[0]!.bill.start}: a gap, an estimate, or a reading on another day.`,
    });
  causes.push(...zoneCauses(tariff, axis, options, flows, sorted, known));
  const single = explain(known, differences, tariff.currency);
  if (single !== undefined) causes.push(single);
  if (causes.every((cause) => cause.code === 'days-in-period'))
    causes.push({
      code: 'unexplained',
      message:
        'no single charge explains the differences: compare the lines of one bill with those of `duskbank bill`.',
    });
  return { bills, causes };
}

type Known = readonly { readonly bill: ActualBill; readonly own: PeriodBill }[];

function billOn(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
): readonly PeriodBill[] {
  const starts = new Set<number>();
  for (const bill of actual) {
    starts.add(civilDayOfDate(bill.start));
    starts.add(civilDayOfDate(bill.end) + 1);
  }
  const readDates = [...starts].sort((a, b) => a - b).map((day) => formatDate(dateOfCivilDay(day)));
  const { cycleDay, ...account } = options.account ?? {};
  return billTariff(compileTariff(tariff, axis, { ...options, account: { ...account, readDates } }), flows).periods;
}

function cents(value: number): number {
  return Math.round(value * 1e6) / 1e6;
}

function energyOf(bill: PeriodBill): number {
  // Several charges fall on the same kWh: the one that bills most of them says how many there were.
  const byCharge = new Map<string, number>();
  for (const line of bill.lines)
    if (line.kind === 'energy' && line.quantity > 0) {
      const name = line.name.split(',')[0]!;
      byCharge.set(name, (byCharge.get(name) ?? 0) + line.quantity);
    }
  return Math.max(0, ...byCharge.values());
}

function daysOf(bill: { start: string; end: string }): number {
  return civilDayOfDate(bill.end) - civilDayOfDate(bill.start) + 1;
}

/** Another zone's baseline under which every bill agrees. */
function zoneCauses(
  tariff: Tariff,
  axis: Axis,
  options: CompileOptions,
  flows: ServiceFlows,
  actual: readonly ActualBill[],
  known: Known,
): { code: string; message: string }[] {
  const zones = new Set(tariff.versions.flatMap((rates) => rates.baselines.flatMap((b) => b.zone ?? [])));
  zones.delete(options.account?.baselineZone ?? '');
  for (const baselineZone of zones) {
    const bills = billOn(tariff, axis, { ...options, account: { ...options.account, baselineZone } }, flows, actual);
    if (
      known.every(
        ({ bill }) => Math.abs((bills.find((p) => p.start === bill.start)?.total ?? Number.NaN) - bill.total) <= 0.011,
      )
    )
      return [
        {
          code: 'baseline',
          message: `with the baseline of zone "${baselineZone}" every bill agrees to the cent: the account’s "baselineZone" is wrong.`,
        },
      ];
  }
  return [];
}

/** One number that, multiplied with something of each bill, gives every difference. */
function explain(
  known: Known,
  differences: readonly number[],
  currency: string,
): { code: string; message: string } | undefined {
  interface Candidate {
    code: string;
    of: (bill: PeriodBill) => number;
    say: (factor: number) => string;
  }
  const price = (value: number) =>
    `${currency} ${Math.abs(value)
      .toFixed(4)
      .replace(/0{1,2}$/, '')}`;
  const verb = (value: number) =>
    value > 0 ? 'is missing from the tariff file' : 'is in the tariff file and wasn’t charged';
  const candidates: Candidate[] = [
    {
      code: 'fixed-per-bill',
      of: () => 1,
      say: (f) => `a charge of ${price(f)} a bill ${verb(f)}: a fixed charge or rider.`,
    },
    { code: 'fixed-per-day', of: daysOf, say: (f) => `a charge of ${price(f)} a day ${verb(f)}: a fixed charge.` },
    { code: 'rider', of: energyOf, say: (f) => `a charge of ${price(f)} per kWh ${verb(f)}: a rider or adjustment.` },
    {
      code: 'tax',
      of: (bill) => bill.total,
      say: (f) => `${(Math.abs(f) * 100).toFixed(2)} % on the whole bill ${verb(f)}: a tax or a rider in percent.`,
    },
    {
      code: 'tax-on-energy',
      of: (bill) => bill.lines.filter((line) => line.kind === 'energy').reduce((sum, line) => sum + line.amount, 0),
      say: (f) => `${(Math.abs(f) * 100).toFixed(2)} % on the charges per kWh ${verb(f)}: a tax or a rider in percent.`,
    },
  ];
  const names = new Set(known.flatMap(({ own }) => own.lines.map((line) => line.name)));
  for (const name of names)
    candidates.push({
      code: 'line',
      of: (bill) => bill.lines.filter((line) => line.name === name).reduce((sum, line) => sum + line.amount, 0),
      say: (f) =>
        Math.abs(f + 1) < 0.01
          ? `the line "${name}" wasn’t charged.`
          : `the line "${name}" was charged ${(1 + f).toFixed(3)} times what the tariff file says: its price or quantity (a baseline, a peak) differs.`,
    });
  // Bills are rounded line by line: two cents, or a little more where a sum of many lines meets a percentage.
  const slack = 0.021;
  for (const candidate of candidates) {
    const x = known.map(({ own }) => candidate.of(own));
    const square = x.reduce((sum, value) => sum + value * value, 0);
    if (square === 0) continue;
    const factor = x.reduce((sum, value, k) => sum + value * differences[k]!, 0) / square;
    const varied = Math.max(...x) - Math.min(...x) > 1e-9 || candidate.code === 'fixed-per-bill';
    if (!varied && known.length > 1) continue;
    if (x.every((value, k) => Math.abs(differences[k]! - factor * value) <= slack) && Math.abs(factor) > 1e-5)
      return {
        code: candidate.code,
        message:
          known.length === 1
            ? `with one bill nothing can be told apart; among others, ${candidate.say(factor)}`
            : candidate.say(factor),
      };
  }
  return undefined;
}

/** Civil day of a date; for callers that check the dates of bills. */
export function isDate(text: string): boolean {
  const match = /^(\d{4})-(\d\d)-(\d\d)$/.exec(text);
  if (match === null) return false;
  const day = civilDayOf(Number(match[1]), Number(match[2]), Number(match[3]));
  return formatDate(dateOfCivilDay(day)) === text;
}
