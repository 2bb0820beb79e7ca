import { hold, none, selfConsumption, windowFill } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { evaluate, type Outcome } from '@duskbank/core/trial';
import {
  type Checked,
  type CheckedFlow,
  type CheckedRule,
  checkedSite,
  type Document,
} from '../../support/checker/index.ts';

/** Energy of one interval in which two reckonings agree, kWh. */
export const ENERGY_KWH = 1e-6;

/** What a site is read from: its documents, and the text of its files by path. */
export interface SiteFiles {
  readonly path: string;
  readonly document: Document;
  readonly tariff: Document;
  readonly files: Readonly<Record<string, string>>;
  readonly read: (path: string) => Uint8Array;
  /** The interval file in our own format that the checker reads. */
  readonly meter?: string;
  /** Backed-up load, where the checker is handed it. */
  readonly islandLoad?: (checked: Checked) => Float64Array;
}

const RULES = { none, hold, 'self-consumption': selfConsumption, window: windowFill } as const;
const FLOWS = ['importKwh', 'exportKwh', 'chargeKwh', 'dischargeKwh', 'curtailedKwh', 'unservedKwh', 'socKwh'] as const;
const WANTED = ['flows', 'bill', 'lines', 'backupHours'] as const;

/** Every difference between the core and the checker on a site, in words; none where they agree. */
export async function differences(site: SiteFiles): Promise<string[]> {
  const loaded = await loadSite(site.path, site.read);
  const home = loaded.case;
  const checked = checkedSite({
    site: site.document,
    tariff: site.tariff,
    meter: site.meter ?? site.files['home.csv']!,
    files: site.files,
  });
  const said: string[] = [];
  const flowLength = checked.home.load.length;
  said.push(...priceDifferences(checked, home.tariff));
  for (const rule of Object.keys(RULES) as CheckedRule[]) {
    if (rule === 'window' && checked.windowIsDescribedUntil === 0) continue;
    const outcome = evaluate(home, RULES[rule], WANTED);
    const until = rule === 'window' ? checked.windowIsDescribedUntil : flowLength;
    let flow = checked.run(rule);
    let said2 = flowDifferences(rule, flow, outcome, until);
    // A whole number of hours that fills the battery exactly is a tie: the next hour is bought or not.
    if (rule === 'window' && said2.length > 0) {
      const other = checked.run(rule, 1e-9);
      if (flowDifferences(rule, other, outcome, until).length === 0) {
        flow = other;
        said2 = [];
      }
    }
    said.push(...said2);
    if (said2.length > 0) continue;
    // What the document leaves open is the core's own: billed and outlasted as it ran.
    if (rule === 'window') flow = { ...outcome.flows, startKwh: flow.startKwh };
    said.push(...billDifferences(rule, site.tariff, checked, flow, outcome));
    if (rule !== 'none') said.push(...hourDifferences(rule, checked, flow, outcome, site.islandLoad?.(checked)));
  }
  return said;
}

type Run = Outcome<(typeof WANTED)[number]>;

function priceDifferences(
  { laid }: Checked,
  tariff: { importPricePerKwh: Float64Array; exportPricePerKwh: Float64Array },
): string[] {
  for (const [name, mine, its] of [
    ['import', laid.importPrice, tariff.importPricePerKwh],
    ['export', laid.exportPrice, tariff.exportPricePerKwh],
  ] as const) {
    const i = mine.findIndex((price, k) => !(Math.abs(price - its[k]!) < 1e-9));
    if (i >= 0) return [`${name} price of interval ${i}: ${mine[i]} here, ${its[i]} in core`];
  }
  return [];
}

function flowDifferences(rule: CheckedRule, flow: CheckedFlow, outcome: Run, until: number): string[] {
  for (const name of FLOWS) {
    if (rule === 'none' && name === 'socKwh') continue;
    const its = outcome.flows[name];
    const i = flow[name].findIndex((kwh, k) => k < until && !(Math.abs(kwh - its[k]!) < ENERGY_KWH));
    if (i >= 0) return [`${rule}: ${name} of interval ${i}: ${flow[name][i]} here, ${its[i]} in core`];
  }
  return [];
}

function billDifferences(
  rule: CheckedRule,
  tariff: Document,
  checked: Checked,
  flow: CheckedFlow,
  outcome: Run,
): string[] {
  const bill = checked.bill(flow);
  const { lines } = outcome;
  if (bill.periods.length !== lines.periods.length)
    return [`${rule}: ${bill.periods.length} bills here, ${lines.periods.length} in core`];
  const allowed = 1e-5;
  const said: string[] = [];
  for (const [p, period] of lines.periods.entries()) {
    const mine = bill.periods[p]!.total;
    if (!(Math.abs(mine - period.total) <= allowed))
      said.push(`${rule}: the bill from ${period.start}: ${mine} here, ${period.total} in core`);
  }
  // Start energy is rounded once, as the tariff rounds.
  const total = bill.total + (rule === 'none' ? 0 : checked.startEnergy(rule));
  const unit = 0.5 * 10 ** -outcomeDecimals(tariff);
  if (!(Math.abs(total - outcome.bill.total) <= unit + allowed * lines.periods.length))
    said.push(`${rule}: all bills: ${total} here, ${outcome.bill.total} in core`);
  return said;
}

/** Decimals of the tariff's money; the panel's currencies with others than two are named. */
function outcomeDecimals(tariff: Document): number {
  const stated = (tariff.rounding as Document | undefined)?.decimals as number | undefined;
  return stated ?? ({ JPY: 0, KWD: 3 } as Record<string, number>)[tariff.currency as string] ?? 2;
}

function hourDifferences(
  rule: CheckedRule,
  checked: Checked,
  flow: CheckedFlow,
  outcome: Run,
  load: Float64Array | undefined,
): string[] {
  const its = outcome.backupHours!;
  const mine = checked.hours(flow, load);
  const differs = (hours: Float64Array, k: number) => !(Math.abs(hours[k]! - its[k]!) < 1e-6);
  if (!mine.some((_, k) => differs(mine, k))) return [];
  // Sun and load that are the same to the last digit, or a load of just the output: the order of adding up decides.
  const least = checked.hours(flow, load, -1e-9);
  const most = checked.hours(flow, load, 1e-9);
  const i = mine.findIndex((_, k) => its[k]! < least[k]! - 1e-6 || its[k]! > most[k]! + 1e-6);
  return i < 0 ? [] : [`${rule}: hours of backup from interval ${i}: ${mine[i]} here, ${its[i]} in core`];
}
