import { monthMaskOf } from '../hours.ts';
import type { EnergyCharge, ExportRule } from '../tariff.ts';
import type { Path } from './faults.ts';
import { resolvePricing } from './pricing.ts';
import type { Version, Windows } from './version.ts';

/** What exported energy earns. */
export function resolveExport(version: Version, windows: Windows): ExportRule {
  const { faults } = version;
  const rule = version.document.export;
  const path = version.pathOf('export');
  if (rule === undefined) return { kind: 'none', name: 'Export credit', limitKw: Number.POSITIVE_INFINITY };
  const limitKw = rule.limitKw ?? Number.POSITIVE_INFINITY;
  switch (rule.kind) {
    case 'none':
      return { kind: 'none', name: 'Export credit', limitKw };
    case 'buy-all':
      return { kind: 'buy-all', name: rule.name, limitKw, pricing: resolvePricing(version, windows, rule, path) };
    case 'net-billing':
      checkTrueUp(version, rule, path, 'money');
      return {
        kind: 'net-billing',
        name: rule.name,
        limitKw,
        pricing: resolvePricing(version, windows, rule, path),
        carry: rule.carry,
        offsets: rule.offsets,
        trueUpMonth: rule.trueUpMonth,
        settleShare: rule.settleShare,
      };
    case 'net-metering': {
      checkTrueUp(version, rule, path, 'kwh');
      if (rule.carry === 'money' && rule.surplusPerKwh !== 0)
        faults.add(
          'not-together',
          [...path, 'surplusPerKwh'],
          rule.surplusPerKwh,
          'no price of surplus kWh beside "carry": "money"',
          'use "settleShare"',
        );
      return {
        kind: 'net-metering',
        name: rule.name,
        limitKw,
        within: rule.within,
        carry: rule.carry,
        offsets: rule.offsets,
        trueUpMonth: rule.trueUpMonth,
        surplusPerKwh: rule.surplusPerKwh,
        settleShare: rule.settleShare,
      };
    }
  }
}

function checkTrueUp(
  { faults }: Version,
  rule: { readonly carry: string; readonly trueUpMonth?: number | undefined },
  path: Path,
  usual: string,
): void {
  if (rule.carry !== 'none' || rule.trueUpMonth === undefined) return;
  faults.add(
    'not-together',
    [...path, 'trueUpMonth'],
    rule.trueUpMonth,
    '"carry" beside it',
    `add "carry": "${usual}"`,
  );
}

/** Faults of net metering beside the charges that it nets. */
export function checkNetting(
  version: Version,
  windows: Windows,
  energy: readonly EnergyCharge[],
  rule: ExportRule,
): void {
  if (rule.kind !== 'net-metering') return;
  const { faults, pathOf } = version;
  if (rule.within === 'period' && rule.carry !== 'money') {
    const several = energy.findIndex((c) => !c.nonBypassable && !['flat', 'blocks'].includes(c.pricing.form));
    const windowPrices = new Set(windows.rules.map((w) => JSON.stringify([w.pricePerKwh, w.blocks])));
    if (several >= 0 || windowPrices.size > 1)
      faults.add(
        'several-prices',
        [...pathOf('export'), 'within'],
        'period',
        '"window": kWh of different prices can’t offset each other over the period',
        'write "within": "window", or "carry": "money" where credits are reckoned at the retail price',
      );
  }
  if (rule.carry !== 'money') {
    const series = energy.findIndex((c) => !c.nonBypassable && c.pricing.form === 'series');
    if (series >= 0)
      faults.addWords(
        'not-together',
        [...pathOf('energy'), series, 'series'],
        'a price series',
        'no series under net metering in kWh',
        'use "net-billing" with the same series, or "carry": "money"',
      );
  }
  if (rule.carry === 'kwh') {
    const byMonth = energy.findIndex(
      (c) =>
        !c.nonBypassable &&
        c.pricing.form === 'table' &&
        c.pricing.rows.some((row) => row.monthMask !== monthMaskOf(undefined)),
    );
    if (byMonth >= 0)
      faults.addWords(
        'not-together',
        [...pathOf('energy'), byMonth, 'table'],
        'a table whose prices change by month',
        'hours with names, so that kWh carried on know which hours they go on to',
        'give its prices as "windows", or use "carry": "money"',
      );
  }
  const daily = energy.findIndex((c) => !c.nonBypassable && c.pricing.form === 'blocks' && c.pricing.resets === 'day');
  if (daily >= 0)
    faults.add(
      'not-together',
      [...pathOf('energy'), daily, 'resets'],
      'day',
      'blocks of the billing period under net metering, which nets over it',
      'remove "resets", or mark the charge "nonBypassable"',
    );
}
