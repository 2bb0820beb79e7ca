import type { BillPlan } from '../build.ts';
import type { RatedCharge } from '../charges.ts';
import { addScaled, type FlowSums } from '../flow-sums.ts';
import type { NettingPlan, NettingValue } from '../terms/netting.ts';
import type { Value } from '../terms/term.ts';
import { blockQuantities, type TierPlan, type TierValue } from '../terms/tier.ts';
import type { LineMaker, PeriodLines } from './lines.ts';

interface EnergyBill {
  readonly plan: BillPlan;
  readonly sums: FlowSums;
  readonly maker: LineMaker;
  readonly periods: readonly PeriodLines[];
  readonly netting: { readonly plan: NettingPlan; readonly value: NettingValue } | undefined;
}

/** A charge per kWh, with the energy of each cell that it falls on. */
interface Metered {
  readonly charge: RatedCharge;
  readonly own: Float64Array;
  /** Export that offsets it, where it is netted. */
  readonly offset: Float64Array | undefined;
  readonly sign: 1 | -1;
}

/**
 * Adds the lines of all charges per kWh: those of netting and blocks too, which bill the energy that their terms say.
 *
 * @param values of the plan's terms
 */
export function energyLines(
  plan: BillPlan,
  sums: FlowSums,
  values: readonly Value[],
  maker: LineMaker,
  periods: readonly PeriodLines[],
): void {
  let netting: EnergyBill['netting'];
  const tierOf = new Map<number, { plan: TierPlan; value: TierValue }>();
  for (const [k, planned] of plan.plans.entries()) {
    if (planned.kind === 'netting') netting = { plan: planned.plan, value: values[k] as NettingValue };
    if (planned.kind === 'tier') tierOf.set(planned.plan.charge, { plan: planned.plan, value: values[k] as TierValue });
  }
  const bill: EnergyBill = { plan, sums, maker, periods, netting };
  for (const [c, charge] of plan.charges.entries()) {
    const nets = plan.tariff.versions[charge.version]!.export.kind === 'net-metering' && !charge.nonBypassable;
    const metered: Metered = {
      charge,
      own: sums.ofCells(plan.cells, charge.flow === 'export' ? 'exportKwh' : 'importKwh'),
      offset: nets ? sums.ofCells(plan.cells, 'exportKwh') : undefined,
      sign: charge.flow === 'export' ? -1 : 1,
    };
    if (charge.averaged) averagedLines(bill, metered);
    else pricedLines(bill, metered, tierOf.get(c));
  }
}

/** A line for each price and window, then one for each block. */
function pricedLines(
  bill: EnergyBill,
  { charge, own, offset, sign }: Metered,
  tier: { readonly plan: TierPlan; readonly value: TierValue } | undefined,
): void {
  const { maker, periods } = bill;
  const { line: identity, labels, version, lines } = charge;
  const quantity = quantities(bill, charge, own, offset);
  const blocks = tier === undefined ? undefined : blockQuantities(tier.plan, tier.value);
  for (let p = 0; p < periods.length; p++) {
    for (const [l, line] of lines.entries()) {
      const kwh = quantity[p * lines.length + l]!;
      if (kwh !== 0)
        periods[p]!.push(maker.metered(identity, labels[line.label]!, version, p, kwh, 'kWh', sign * line.rate));
    }
    for (const block of blocks?.[p] ?? []) {
      const part = [labels[block.label]!, `block ${block.index + 1}`].filter((text) => text !== '').join(', ');
      periods[p]!.push(maker.metered(identity, part, version, p, block.kwh, 'kWh', sign * block.price));
    }
  }
}

/** kWh of each line of a charge in each period, blocks apart. */
function quantities(
  { plan, periods, netting }: EnergyBill,
  charge: RatedCharge,
  own: Float64Array,
  offset: Float64Array | undefined,
): Float64Array {
  const { cells } = plan;
  const { slotLine, lines } = charge;
  const quantity = new Float64Array(periods.length * lines.length);
  const add = (period: number, slot: number, kwh: number) => {
    const line = slotLine[slot]!;
    if (line >= 0) quantity[period * lines.length + line] = quantity[period * lines.length + line]! + kwh;
  };
  const nettedCells = offset === undefined ? undefined : netting?.plan.groupOfCell;
  if (nettedCells !== undefined) addNetted(plan, charge, netting!, add);
  for (let cell = 0; cell < own.length; cell++) {
    if (nettedCells !== undefined && nettedCells[cell]! >= 0) continue;
    const kwh = own[cell]! - (offset?.[cell] ?? 0);
    if (kwh === 0) continue;
    const s = cells.slot[cell]!;
    const { parts } = plan.schedule.slots[s]!;
    if (parts === undefined || charge.dominant) {
      if (!hasBlocks(charge, s)) add(cells.period[cell]!, s, kwh);
    } else for (const part of parts) add(cells.period[cell]!, part.slot, kwh * part.weight);
  }
  return quantity;
}

/** Adds what netting bills of a charge, blocks apart; with credit in money also what is left, at its own price. */
function addNetted(
  plan: BillPlan,
  charge: RatedCharge,
  netting: NonNullable<EnergyBill['netting']>,
  add: (period: number, slot: number, kwh: number) => void,
): void {
  const { dueKwh, leftKwh } = netting.value;
  for (const [g, { version, period, slot }] of netting.plan.groups.entries()) {
    if (version !== charge.version) continue;
    if (!hasBlocks(charge, slot)) add(period, slot, dueKwh[g]!);
    if (settlesInMoney(plan, version)) add(period, slot, -leftKwh[g]!);
  }
}

function hasBlocks(charge: RatedCharge, slot: number): boolean {
  const label = charge.label[slot]!;
  return label >= 0 && charge.blocks?.[label] !== undefined;
}

function settlesInMoney(plan: BillPlan, version: number): boolean {
  const rule = plan.tariff.versions[version]!.export;
  return rule.kind === 'net-metering' && rule.carry === 'money';
}

/** One line a period for many prices (a series, a table): the sum of its intervals, at their mean price. */
function averagedLines(
  { plan, sums, maker, periods, netting }: EnergyBill,
  { charge, own, offset, sign }: Metered,
): void {
  const { cells } = plan;
  const quantity = new Float64Array(periods.length);
  const money = new Float64Array(periods.length);
  const add = (p: number, slot: number, kwh: number) => {
    if (charge.label[slot]! < 0) return;
    quantity[p] = quantity[p]! + kwh;
    money[p] = money[p]! + kwh * charge.rate[slot]!;
  };
  const nettedCells = offset === undefined ? undefined : netting?.plan.groupOfCell;
  if (nettedCells !== undefined) addNetted(plan, charge, netting!, add);
  for (let cell = 0; cell < own.length; cell++)
    if (nettedCells === undefined || nettedCells[cell]! < 0)
      add(cells.period[cell]!, cells.slot[cell]!, own[cell]! - (offset?.[cell] ?? 0));
  const prices = charge.seriesPricePerKwh;
  if (prices !== undefined) {
    money.set(sums.ofSeries(prices, cells, charge.flow === 'export' ? 'exportMoney' : 'importMoney'));
    if (offset !== undefined) addScaled(money, sums.ofSeries(prices, cells, 'exportMoney'), -1);
  }
  for (let p = 0; p < periods.length; p++)
    if (quantity[p] !== 0 || money[p] !== 0)
      periods[p]!.push(maker.averaged(charge.line, charge.version, p, quantity[p]!, sign * money[p]!));
}
