import { check } from '../../input/door.ts';
import type { BillPlan } from '../build.ts';
import type { CompiledTariff } from '../compiled.ts';
import { termValues } from '../evaluate.ts';
import { FlowSums } from '../flow-sums.ts';
import type { ServiceFlows } from '../flows.ts';
import { moneyOf, roundUnits } from '../money.ts';
import { aBilledTariff, serviceFlowsUnread } from '../rules.ts';
import type { TermFromBill } from '../terms/kind.ts';
import { chargeOf, closingKinds } from '../terms/registry.ts';
import { percentsOf, selects } from '../weights.ts';
import { energyLines } from './energy.ts';
import { LineMaker, type PeriodLines, printed } from './lines.ts';
import type { Bill, PeriodBill } from './result.ts';

/** Decimals that lines keep beyond the currency's own where only the total is rounded. */
const GUARD_DECIMALS = 6;

/**
 * The bills of an axis, line by line, one a billing period. Each line is quantity × rate, reckoned in decimals and
 * rounded where the tariff says; a total is the exact sum of its lines.
 *
 * @param flows what passed the service, kWh an interval; under buy-all the whole load with the battery's part, and all solar. What
 * the bill reads of it is checked on the way
 * @throws InputError `length-mismatch` | `not-finite` | `out-of-range`; `not-compiled` on a tariff put together by hand
 */
export function billTariff(compiled: CompiledTariff, flows: ServiceFlows): Bill {
  check({ compiled, flows }, { compiled: aBilledTariff, flows: serviceFlowsUnread });
  const plan = compiled.plan!;
  const { rounding } = plan.tariff;
  const decimals = rounding.at === 'line' ? rounding.decimals : rounding.decimals + GUARD_DECIMALS;
  const maker = new LineMaker(plan, rounding, decimals);
  const lines = chargeLines(plan, flows, maker);
  const beforeTaxes = closingLines(plan, 'adjustments', maker);
  const afterTaxes = closingLines(plan, 'taxes', maker);
  let sum = 0;
  const periods = lines.map((list, p): PeriodBill => {
    percentLines(plan, 'adjustment', p, maker, list);
    for (const add of beforeTaxes) add(p, list);
    percentLines(plan, 'tax', p, maker, list);
    for (const add of afterTaxes) add(p, list);
    const total = roundedTotal(maker, list);
    sum += total;
    const { startDate, endDate } = compiled.periods[p]!;
    return {
      start: startDate,
      end: endDate,
      lines: list.map((entry) => printed(entry, decimals)),
      total: moneyOf(total, decimals),
    };
  });
  return { currency: compiled.currency, periods, total: moneyOf(sum, decimals) };
}

/** The lines of all charges, before percentages and what is measured against the bill. */
function chargeLines(plan: BillPlan, flows: ServiceFlows, maker: LineMaker): readonly PeriodLines[] {
  const sums = new FlowSums(plan.axis, flows);
  const values = termValues(plan.terms.slice(0, plan.plans.length), sums);
  const periods: PeriodLines[] = plan.spans.map(() => []);
  energyLines(plan, sums, values, maker, periods);
  for (const [k, planned] of plan.plans.entries())
    chargeOf(planned).lines?.(planned.plan, values[k]!, { layout: plan, maker, periods });
  return periods;
}

/** What adds the lines of terms that are measured against the bill, period by period. */
function closingLines(
  plan: BillPlan,
  after: TermFromBill<never, never>['after'],
  maker: LineMaker,
): ((period: number, lines: PeriodLines) => void)[] {
  return closingKinds().flatMap(([kind, closing]) => {
    const term = plan.terms.find((candidate) => candidate.kind === kind);
    return term === undefined || closing.after !== after ? [] : [closing.closeLines(term, { layout: plan, maker })];
  });
}

function percentLines(
  plan: BillPlan,
  kind: 'adjustment' | 'tax',
  period: number,
  maker: LineMaker,
  lines: PeriodLines,
): void {
  const programmes = plan.account.programmes ?? [];
  for (const version of plan.days.versions[period]!) {
    const percents = percentsOf(plan.tariff.versions[version]!, programmes);
    for (const rule of kind === 'adjustment' ? percents.adjustments : percents.taxes) {
      let base = 0;
      for (const entry of lines) if (entry.version === version && selects(rule.on, entry.line)) base += entry.units;
      if (base !== 0)
        lines.push(maker.onMoney({ name: rule.name, kind, supplier: undefined }, version, period, base, rule.share));
    }
  }
}

/** The total of a period's lines in units; where the tariff rounds it, with a line for what that changes. */
function roundedTotal({ rounding, decimals }: LineMaker, lines: PeriodLines): number {
  let total = 0;
  for (const entry of lines) total += entry.units;
  if (rounding.at !== 'bill') return total;
  const rounded = roundUnits(total, decimals, rounding.decimals, rounding.mode) * 10 ** GUARD_DECIMALS;
  if (rounded !== total) {
    const units = rounded - total;
    const line = { name: 'Rounding', kind: 'rounding', supplier: undefined } as const;
    const rate = moneyOf(units, decimals);
    lines.push({ line, version: 0, part: '', text: line.name, quantity: 1, unit: 'bill', rate, units });
  }
  return rounded;
}
