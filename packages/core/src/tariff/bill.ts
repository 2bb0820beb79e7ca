import type { RatedCharge } from './charges.ts';
import type { Bill, BillLine, CompiledTariff, PeriodBill } from './compiled.ts';
import { type TermValue, termValues } from './evaluate.ts';
import { checkLengths } from './flow-checks.ts';
import { addScaled, FlowSums, type ServiceFlows } from './flow-sums.ts';
import {
  type Decimal,
  decimalOf,
  decimalQuantity,
  moneyOf,
  multiply,
  ONE,
  roundQuantity,
  roundSum,
  roundUnits,
} from './money.ts';
import type { Share } from './shares.ts';
import type { Rounding } from './tariff.ts';
import { type BillPlan, minimumShare, type NettingPlan, type TierPlan } from './terms-build.ts';
import { type LineIdentity, percentsOf, selects } from './weights.ts';

/** Decimals that lines keep beyond the currency's own where only the total is rounded. */
const GUARD_DECIMALS = 6;

/** A line before it is printed; `units` are whole units of the last decimal kept. */
interface Entry {
  readonly line:
    | LineIdentity
    | { readonly name: string; readonly kind: 'carry' | 'rounding'; readonly supplier: undefined };
  readonly version: number;
  /** Which part of the charge: a window, a block, a class. */
  readonly part: string;
  readonly text: string;
  readonly quantity: number;
  readonly unit: string;
  readonly rate: number;
  readonly units: number;
}

/**
 * The bills of an axis, line by line, one a billing period. Each line is quantity × rate, reckoned in decimals and
 * rounded where the tariff says; a total is the exact sum of its lines.
 *
 * @param flows what passed the service, kWh an interval; under buy-all the home's whole load and all its solar. What
 * the bill reads of it is checked on the way
 * @throws InputError `length-mismatch` | `not-finite` | `out-of-range`
 */
export function billTariff(compiled: CompiledTariff, flows: ServiceFlows): Bill {
  const { plan } = compiled;
  if (plan === undefined) throw new Error('internal: a bill needs a tariff that was compiled from its file');
  checkLengths(flows, plan.axis.intervals);
  const { rounding } = plan.tariff;
  const decimals = rounding.at === 'line' ? rounding.decimals : rounding.decimals + GUARD_DECIMALS;
  const maker = new LineMaker(plan, rounding, decimals);
  const sums = new FlowSums(plan.axis, flows);
  const values = termValues(
    plan.terms.filter((term) => term.kind !== 'minimum' && term.kind !== 'carry' && term.kind !== 'fixed'),
    sums,
  );
  const entries: Entry[][] = plan.spans.map(() => []);
  energyEntries(plan, sums, values, maker, entries);
  demandEntries(plan, values, maker, entries);
  rebateEntries(plan, values, maker, entries);
  fixedEntries(plan, maker, entries);
  let carried = Math.round((plan.carry?.carriedIn[0] ?? 0) * 10 ** decimals);
  const periods = entries.map((list, p): PeriodBill => {
    percentEntries(plan, 'adjustment', p, maker, list);
    minimumEntry(plan, p, maker, list);
    percentEntries(plan, 'tax', p, maker, list);
    carried = carryEntries(plan, p, carried, maker, list);
    let total = 0;
    for (const entry of list) total += entry.units;
    if (rounding.at === 'bill') {
      const rounded = roundUnits(total, decimals, rounding.decimals, rounding.mode) * 10 ** GUARD_DECIMALS;
      if (rounded !== total) {
        const line = { name: 'Rounding', kind: 'rounding', supplier: undefined } as const;
        const units = rounded - total;
        list.push({
          line,
          version: 0,
          part: '',
          text: 'Rounding',
          quantity: 1,
          unit: 'bill',
          rate: moneyOf(units, decimals),
          units,
        });
        total = rounded;
      }
    }
    const { startDate, endDate } = compiled.periods[p]!;
    return {
      start: startDate,
      end: endDate,
      lines: list.map((entry) => printed(entry, decimals)),
      total: moneyOf(total, decimals),
    };
  });
  let sum = 0;
  for (const period of periods) sum += Math.round(period.total * 10 ** decimals);
  return { currency: compiled.currency, periods, total: moneyOf(sum, decimals) };
}

function printed(entry: Entry, decimals: number): BillLine {
  return {
    name: entry.text,
    kind: entry.line.kind,
    charge: entry.line.name,
    ...(entry.part === '' ? {} : { part: entry.part }),
    ...(entry.line.supplier === undefined ? {} : { supplier: entry.line.supplier }),
    quantity: entry.quantity,
    unit: entry.unit,
    rate: entry.rate,
    amount: moneyOf(entry.units, decimals),
  };
}

const WHOLE: Share = { times: 1, per: 1 };

/** Makes lines, rounding each once. */
class LineMaker {
  private readonly rates = new Map<number, Decimal>();

  constructor(
    readonly plan: BillPlan,
    readonly rounding: Rounding,
    readonly decimals: number,
  ) {}

  /** A rate as it is written: each comes back in every period. */
  private rateOf(rate: number): Decimal {
    let decimal = this.rates.get(rate);
    if (decimal === undefined) {
      decimal = decimalOf(rate);
      this.rates.set(rate, decimal);
    }
    return decimal;
  }

  /** The line's text: where a period has two versions, it says which one. */
  private text(name: string, label: string, version: number, period: number): string {
    const { days, tariff } = this.plan;
    const text = label === '' ? name : `${name}, ${label}`;
    const versions = days.versions[period]!;
    if (versions.length < 2) return text;
    const later = tariff.document.versions ?? [];
    return version === versions[0]
      ? `${text} (before ${later[versions[1]! - 1]!.from})`
      : `${text} (from ${later[version - 1]!.from})`;
  }

  /** A metered quantity times a price, times a share of a month. */
  metered(
    line: LineIdentity,
    label: string,
    version: number,
    period: number,
    quantity: number,
    unit: string,
    rate: number,
    share: Share = WHOLE,
  ): Entry {
    const { rounding } = this;
    const kept = rounding.at === 'never' ? undefined : rounding.energyDecimals;
    const billed = kept === undefined ? quantity : roundQuantity(quantity, kept);
    return {
      line,
      version,
      part: label,
      text: this.text(line.name, label, version, period),
      quantity: billed,
      unit,
      rate: share === WHOLE ? rate : (rate * share.times) / share.per,
      units: multiply(
        decimalQuantity(quantity, kept),
        this.rateOf(rate),
        share.times,
        share.per,
        this.decimals,
        rounding.mode,
      ),
    };
  }

  /** Many prices in one line: their mean is its rate. */
  averaged(line: LineIdentity, version: number, period: number, quantity: number, money: number): Entry {
    const units = roundSum(money, this.decimals, this.rounding.mode);
    const billed = roundQuantity(quantity, this.rounding.energyDecimals);
    return {
      line,
      version,
      part: '',
      text: this.text(line.name, '', version, period),
      quantity: billed,
      unit: 'kWh',
      rate: billed === 0 ? 0 : moneyOf(units, this.decimals) / billed,
      units,
    };
  }

  /** An amount for a share of a month, a number of days and the like. */
  shared(
    line: LineIdentity,
    label: string,
    version: number,
    period: number,
    share: Share,
    unit: string,
    rate: number,
  ): Entry {
    return {
      line,
      version,
      part: label,
      text: this.text(line.name, label, version, period),
      quantity: share.times / share.per,
      unit,
      rate,
      units: multiply(ONE, this.rateOf(rate), share.times, share.per, this.decimals, this.rounding.mode),
    };
  }

  /** A rate on an amount of money. */
  onMoney(line: Entry['line'], version: number, period: number, units: number, rate: number): Entry {
    const base: Decimal = { digits: units, scale: this.decimals };
    return {
      line,
      version,
      part: '',
      text: this.text(line.name, '', version, period),
      quantity: moneyOf(units, this.decimals),
      unit: this.plan.tariff.currency,
      rate,
      units: multiply(base, this.rateOf(rate), 1, 1, this.decimals, this.rounding.mode),
    };
  }
}

// ── energy ───────────────────────────────────────────────────────────────────────────────────────────────────────

function energyEntries(
  plan: BillPlan,
  sums: FlowSums,
  values: readonly TermValue[],
  maker: LineMaker,
  entries: Entry[][],
): void {
  const { cells, netting } = plan;
  const netted = netting === undefined ? undefined : values[0]!;
  for (const [c, charge] of plan.charges.entries()) {
    const nets = plan.tariff.versions[charge.version]!.export.kind === 'net-metering' && !charge.nonBypassable;
    const own = sums.ofCells(cells, charge.flow === 'export' ? 'exportKwh' : 'importKwh');
    const offset = nets ? sums.ofCells(cells, 'exportKwh') : undefined;
    const sign = charge.flow === 'export' ? -1 : 1;
    const tierIndex = plan.tiers.findIndex((tier) => tier.charge === c);
    const tier = plan.tiers[tierIndex];
    if (charge.averaged) {
      averagedEntries(plan, charge, sums, own, offset, sign, maker, entries);
      continue;
    }
    const { slotLine, lines } = charge;
    const quantity = new Float64Array(entries.length * lines.length);
    const add = (period: number, slot: number, kwh: number) => {
      const line = slotLine[slot]!;
      if (line >= 0) quantity[period * lines.length + line] = quantity[period * lines.length + line]! + kwh;
    };
    if (nets && netting !== undefined)
      for (const [g, group] of netting.groups.entries()) {
        if (group.version !== charge.version) continue;
        const money = settlesInMoney(plan, group.version);
        if (!hasBlocks(charge, group.slot)) add(group.period, group.slot, netted!.due[g]!);
        if (money) add(group.period, group.slot, -netted!.left[g]!);
      }
    for (let cell = 0; cell < own.length; cell++) {
      if (nets && netting !== undefined && netting.groupOfCell[cell]! >= 0) continue;
      const kwh = own[cell]! - (offset?.[cell] ?? 0);
      if (kwh === 0) continue;
      const s = cells.slot[cell]!;
      const { parts } = plan.schedule.slots[s]!;
      if (parts === undefined || charge.dominant) {
        if (!hasBlocks(charge, s)) add(cells.period[cell]!, s, kwh);
      } else for (const part of parts) add(cells.period[cell]!, part.slot, kwh * part.weight);
    }
    const blocks =
      tier === undefined ? undefined : blockQuantities(tier, values[(netting === undefined ? 0 : 1) + tierIndex]!);
    for (let p = 0; p < entries.length; p++) {
      for (const [l, line] of lines.entries()) {
        const kwh = quantity[p * lines.length + l]!;
        if (kwh !== 0)
          entries[p]!.push(
            maker.metered(charge.line, charge.labels[line.label]!, charge.version, p, kwh, 'kWh', sign * line.rate),
          );
      }
      for (const block of blocks?.[p] ?? []) {
        const label = [charge.labels[block.label]!, `block ${block.index + 1}`]
          .filter((part) => part !== '')
          .join(', ');
        entries[p]!.push(maker.metered(charge.line, label, charge.version, p, block.kwh, 'kWh', sign * block.price));
      }
    }
  }
  if (netting !== undefined) surplusEntries(plan, netting, netted!, maker, entries);
}

function hasBlocks(charge: RatedCharge, slot: number): boolean {
  const label = charge.label[slot]!;
  return label >= 0 && charge.blocks?.[label] !== undefined;
}

function settlesInMoney(plan: BillPlan, version: number): boolean {
  const rule = plan.tariff.versions[version]!.export;
  return rule.kind === 'net-metering' && rule.carry === 'money';
}

function averagedEntries(
  plan: BillPlan,
  charge: RatedCharge,
  sums: FlowSums,
  own: Float64Array,
  offset: Float64Array | undefined,
  sign: number,
  maker: LineMaker,
  entries: Entry[][],
): void {
  const quantity = new Float64Array(entries.length);
  const money = new Float64Array(entries.length);
  for (let cell = 0; cell < own.length; cell++) {
    const s = plan.cells.slot[cell]!;
    if (charge.label[s]! < 0) continue;
    const p = plan.cells.period[cell]!;
    const kwh = own[cell]! - (offset?.[cell] ?? 0);
    quantity[p] = quantity[p]! + kwh;
    money[p] = money[p]! + kwh * charge.rate[s]!;
  }
  const prices = charge.seriesPricePerKwh;
  if (prices !== undefined) {
    money.set(sums.ofSeries(prices, plan.cells, charge.flow === 'export' ? 'exportMoney' : 'importMoney'));
    if (offset !== undefined) addScaled(money, sums.ofSeries(prices, plan.cells, 'exportMoney'), -1);
  }
  for (let p = 0; p < entries.length; p++)
    if (quantity[p] !== 0 || money[p] !== 0)
      entries[p]!.push(maker.averaged(charge.line, charge.version, p, quantity[p]!, sign * money[p]!));
}

interface BlockQuantity {
  readonly label: number;
  readonly index: number;
  readonly price: number;
  kwh: number;
}

/** kWh in each block, by period. Days that have blocks of their own are added up. */
function blockQuantities(tier: TierPlan, value: TermValue): BlockQuantity[][] {
  const byPeriod: BlockQuantity[][] = [];
  for (const [g, { period, label }] of tier.groups.entries()) {
    byPeriod[period] ??= [];
    const list = byPeriod[period];
    const bounds = tier.upToKwh[g]!;
    const prices = tier.prices[g]!;
    let lower = 0;
    for (let k = 0; k < bounds.length; k++) {
      const kwh = Math.min(value.quantity[g]!, bounds[k]!) - lower;
      if (kwh <= 0) continue;
      lower = bounds[k]!;
      const known = list.find((b) => b.label === label && b.index === k && b.price === prices[k]);
      if (known === undefined) list.push({ label, index: k, price: prices[k]!, kwh });
      else known.kwh += kwh;
    }
  }
  for (const list of byPeriod) list?.sort((a, b) => a.label - b.label || a.index - b.index);
  return byPeriod;
}

/** Surplus kWh that settle in a period, and those that go on to the next. */
function surplusEntries(
  plan: BillPlan,
  netting: NettingPlan,
  value: TermValue,
  maker: LineMaker,
  entries: Entry[][],
): void {
  for (const [g, group] of netting.groups.entries()) {
    const left = value.left[g]!;
    if (left === 0 || settlesInMoney(plan, group.version)) continue;
    const rule = plan.tariff.versions[group.version]!.export;
    if (rule.kind !== 'net-metering') continue;
    const line: LineIdentity = { name: rule.name, kind: 'export', supplier: undefined };
    const next = netting.next[g]!;
    if (next >= 0 && netting.groups[next]!.period === group.period) continue;
    const later = next < 0 ? group.period : netting.groups[next]!.period;
    const what =
      next < 0
        ? 'surplus settled'
        : later === group.period + 1
          ? 'surplus carried to the next bill'
          : 'surplus kept for a later bill';
    const label = [group.label, what].filter((t) => t !== '');
    entries[group.period]!.push(
      maker.metered(
        line,
        label.join(', '),
        group.version,
        group.period,
        left,
        'kWh',
        next < 0 ? -rule.surplusPerKwh : 0,
      ),
    );
  }
}

// ── the rest ─────────────────────────────────────────────────────────────────────────────────────────────────────

function demandEntries(plan: BillPlan, values: readonly TermValue[], maker: LineMaker, entries: Entry[][]): void {
  const offset = (plan.netting === undefined ? 0 : 1) + plan.tiers.length;
  for (const [d, demand] of plan.demands.entries()) {
    const { quantity } = values[offset + d]!;
    const line: LineIdentity = { name: demand.name, kind: 'demand', supplier: demand.supplier };
    const { steps } = demand.charge;
    for (const [p, parts] of demand.parts.entries())
      for (const part of parts) {
        if (steps === undefined) {
          entries[p]!.push(maker.metered(line, '', part.version, p, quantity[p]!, part.unit, part.price, part.share));
          continue;
        }
        const kw = roundQuantity(quantity[p]!, 9);
        const step = steps.find((s) => kw <= s.upToKw)!;
        const label = step.upToKw === Number.POSITIVE_INFINITY ? 'highest class' : `up to ${step.upToKw} kW`;
        entries[p]!.push(maker.shared(line, label, part.version, p, part.share, 'month', step.amount));
      }
  }
}

function rebateEntries(plan: BillPlan, values: readonly TermValue[], maker: LineMaker, entries: Entry[][]): void {
  const offset = (plan.netting === undefined ? 0 : 1) + plan.tiers.length + plan.demands.length;
  for (const [r, rebate] of plan.rebates.entries()) {
    const { quantity } = values[offset + r]!;
    const line: LineIdentity = { name: rebate.name, kind: 'rebate', supplier: undefined };
    for (let p = 0; p < entries.length; p++) {
      let kwh = 0;
      for (let g = 0; g < quantity.length; g++) if (rebate.period[g] === p) kwh += quantity[g]!;
      if (kwh > 0) entries[p]!.push(maker.metered(line, '', rebate.version, p, kwh, 'kWh', -rebate.price));
    }
  }
}

function fixedEntries(plan: BillPlan, maker: LineMaker, entries: Entry[][]): void {
  for (const fixed of plan.fixed) {
    const line: LineIdentity = { name: fixed.charge.name, kind: 'fixed', supplier: fixed.charge.supplier };
    for (const [p, share] of fixed.shares.entries())
      if (share !== undefined)
        entries[p]!.push(maker.shared(line, '', fixed.version, p, share, fixed.unit, fixed.rate));
  }
}

function percentEntries(
  plan: BillPlan,
  kind: 'adjustment' | 'tax',
  period: number,
  maker: LineMaker,
  list: Entry[],
): void {
  const programmes = plan.account.programmes ?? [];
  for (const version of plan.days.versions[period]!) {
    const percents = percentsOf(plan.tariff.versions[version]!, programmes);
    for (const rule of kind === 'adjustment' ? percents.adjustments : percents.taxes) {
      let base = 0;
      for (const entry of list)
        if (entry.version === version && selects(rule.on, entry.line as LineIdentity)) base += entry.units;
      if (base !== 0)
        list.push(maker.onMoney({ name: rule.name, kind, supplier: undefined }, version, period, base, rule.share));
    }
  }
}

function minimumEntry(plan: BillPlan, period: number, maker: LineMaker, list: Entry[]): void {
  let least = 0;
  let counted = 0;
  let last = -1;
  for (const version of plan.days.versions[period]!) {
    const rule = plan.tariff.versions[version]!.minimumBill;
    if (rule === undefined) continue;
    last = version;
    const share = minimumShare(plan, period, version);
    least += multiply(ONE, decimalOf(rule.amount), share.times, share.per, maker.decimals, maker.rounding.mode);
    for (const entry of list)
      if (entry.version === version && selects(rule.on, entry.line as LineIdentity)) counted += entry.units;
  }
  if (last < 0 || counted >= least) return;
  const name = plan.tariff.versions[last]!.minimumBill!.name;
  const line: LineIdentity = { name, kind: 'minimum', supplier: undefined };
  const units = least - counted;
  list.push({
    line,
    version: last,
    part: 'top-up',
    text: `${name}, top-up`,
    quantity: 1,
    unit: 'bill',
    rate: moneyOf(units, maker.decimals),
    units,
  });
}

/** Credit used, carried on or settled; returns what goes to the next period, in units. */
function carryEntries(plan: BillPlan, period: number, carriedIn: number, maker: LineMaker, list: Entry[]): number {
  const { carry } = plan;
  if (carry === undefined) return 0;
  const { version } = plan.days.last[period]!;
  const rule = plan.tariff.versions[version]!.export;
  if (!('carry' in rule) || rule.carry !== 'money') return 0;
  let counted = 0;
  for (const entry of list)
    if (rule.offsets === 'all' || entry.line.kind === 'energy' || entry.line.kind === 'export') counted += entry.units;
  const due = Math.max(0, counted - carriedIn);
  const left = Math.max(0, carriedIn - counted);
  const push = (text: string, units: number, rate: number, change: number) => {
    const line = { name: text, kind: 'carry', supplier: undefined } as const;
    const quantity = moneyOf(units, maker.decimals);
    list.push({ line, version, part: '', text, quantity, unit: plan.tariff.currency, rate, units: change });
  };
  if (counted > due) push('Credit from earlier bills', counted - due, -1, due - counted);
  if (counted < 0) push('Credit carried over', -counted, 1, -counted);
  const next = carry.next[period]!;
  if (next < 0 && left > 0) {
    const share = rule.settleShare;
    push('Credit settled at the true-up', left, -share, -Math.round(share * left));
    return 0;
  }
  return next < 0 ? 0 : left;
}
