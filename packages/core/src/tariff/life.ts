import type { Tariff } from './tariff.ts';

/** What a tariff's dates mean to whoever reckons with it. */
export function lifeWarnings(tariff: Tariff): { code: string; message: string }[] {
  const { life, name } = tariff;
  const warnings: { code: string; message: string }[] = [];
  if (life.endsOn !== undefined)
    warnings.push({
      code: 'tariff-ends',
      message:
        `"${name}" ends on ${life.endsOn}${life.successor === undefined ? '' : ` and "${life.successor}" follows`}: ` +
        'savings hold until then, and payback is reckoned over its life',
    });
  const versions = tariff.document.versions ?? [];
  const last = versions[versions.length - 1];
  if (last !== undefined)
    warnings.push({
      code: 'tariff-changes',
      message: `"${name}" has a version from ${last.from}${last.note === undefined ? '' : ` (${last.note})`}: each day is billed on the version that holds on it`,
    });
  return warnings;
}
