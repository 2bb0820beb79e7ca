import { civilDayOfDate } from '../../axis/civil-day.ts';
import type { InputIssue } from '../../input/issue.ts';
import { nearestName } from '../../input/suggest.ts';
import { CURRENCY_CODES, currencyDecimals } from '../currency.ts';
import type { TariffDocument } from '../schema/tariff.ts';
import type { Rates, Tariff } from '../tariff.ts';
import { resolveBilling } from './billing.ts';
import { Faults, type Path } from './faults.ts';
import { resolveRates } from './rates.ts';
import type { RatesDocument } from './version.ts';

/** Turns a document whose form is right into a tariff, and finds every fault of its sense. */
export function resolveTariff(
  document: TariffDocument,
  file: string | undefined,
): { tariff: Tariff; issues: InputIssue[] } {
  const faults = new Faults(file);
  checkCurrency(document.currency, faults);
  const decimals = currencyDecimals(document.currency);
  const versions = resolveVersions(document, faults);
  const tariff: Tariff = {
    document,
    file,
    name: document.name,
    utility: document.utility,
    currency: document.currency,
    currencyDecimals: decimals,
    rounding: {
      at: document.rounding?.at ?? 'line',
      mode: document.rounding?.mode ?? 'half-up',
      decimals: document.rounding?.decimals ?? decimals,
      energyDecimals: document.rounding?.energyDecimals ?? 6,
    },
    billing: resolveBilling(document.billing, faults),
    versions,
    life: document.life ?? {},
  };
  return { tariff, issues: faults.issues };
}

function checkCurrency(currency: string, faults: Faults): void {
  if (!CURRENCY_CODES.includes(currency)) {
    const near = nearestName(currency, CURRENCY_CODES);
    faults.add(
      'unknown-currency',
      ['currency'],
      currency,
      'an ISO 4217 code such as "USD"',
      CURRENCY_CODES.includes(currency.toUpperCase())
        ? `write "${currency.toUpperCase()}"`
        : near === undefined
          ? undefined
          : `did you mean "${near}"?`,
    );
  }
}

/** Every version, whole: each has the fields of the one before that it doesn't replace. */
function resolveVersions(document: TariffDocument, faults: Faults): Rates[] {
  const versions: Rates[] = [];
  let merged: RatesDocument = document;
  /** Where an element stands that a later version replaced. */
  const paths: Record<string, Path> = {};
  const pathOf = (key: string): Path => paths[key] ?? [key];
  versions.push(resolveRates(merged, pathOf, Number.NEGATIVE_INFINITY, undefined, faults));
  let lastDay = Number.NEGATIVE_INFINITY;
  for (const [v, version] of (document.versions ?? []).entries()) {
    const { from, note, ...changes } = version;
    const fromDay = civilDayOfDate(from);
    if (fromDay <= lastDay)
      faults.add(
        'not-rising',
        ['versions', v, 'from'],
        from,
        'a date after the version before',
        'order versions by date',
      );
    lastDay = fromDay;
    merged = { ...merged, ...changes };
    for (const key of Object.keys(changes)) paths[key] = ['versions', v, key];
    const before = faults.issues.length;
    versions.push(resolveRates(merged, pathOf, fromDay, note, faults));
    // A fault that an earlier version has told already, in a field that this one doesn't change.
    const fresh = faults.issues
      .splice(before)
      .filter((issue) => issue.where.path?.[0] === 'versions' || !faults.issues.some((old) => samePlace(old, issue)));
    faults.issues.push(...fresh);
  }
  return versions;
}

function samePlace(a: InputIssue, b: InputIssue): boolean {
  return a.code === b.code && a.where.path?.join('/') === b.where.path?.join('/') && a.received === b.received;
}
