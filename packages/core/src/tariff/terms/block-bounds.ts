import { InputError } from '../../input/issue.ts';
import { quoteName } from '../../words/quote.ts';
import { type Account, accountField } from '../account.ts';
import type { BlockSet } from '../charges.ts';
import type { Layout } from '../layout.ts';
import { coveredDays, monthShare, sumOverDays } from '../period-days.ts';
import type { Tariff } from '../tariff.ts';

/** Upper ends of a set's blocks in a billing period, kWh. */
export function boundsOf(layout: Layout, set: BlockSet, version: number, period: number): Float64Array {
  const { days, account, tariff } = layout;
  const count = coveredDays(days, period, version, set.seasonMask);
  return Float64Array.from(set.blocks, ({ bound }) => {
    if (bound === undefined) return Number.POSITIVE_INFINITY;
    if (bound.by === 'baseline') {
      const perSeason = baselinePerSeason(tariff, version, account);
      return bound.value * sumOverDays(days, period, version, perSeason, set.seasonMask);
    }
    if (bound.by === 'day') return bound.value * count;
    const share = monthShare(days, period, count);
    return (bound.value * share.times) / share.per;
  });
}

/** Upper ends of a set's blocks that start anew each day, on a day of a season, kWh. */
export function dailyBounds(layout: Layout, set: BlockSet, version: number, season: number): Float64Array {
  return Float64Array.from(set.blocks, ({ bound }) => {
    if (bound === undefined) return Number.POSITIVE_INFINITY;
    if (bound.by !== 'baseline') return bound.value;
    return bound.value * baselinePerSeason(layout.tariff, version, layout.account)[season]!;
  });
}

function baselinePerSeason(tariff: Tariff, version: number, account: Account): number[] {
  const rates = tariff.versions[version]!;
  const zones = [...new Set(rates.baselines.flatMap((b) => b.zone ?? []))];
  const zone =
    zones.length > 0 ? accountField(account, 'baselineZone', `baseline (${quoteName(tariff.name)})`, zones) : undefined;
  return rates.seasonNames.map((name, season) => {
    const found = rates.baselines.find(
      (b) => (b.seasonMask >> season) & 1 && (b.zone === undefined || b.zone === zone),
    );
    if (found === undefined)
      throw new InputError([
        {
          code: 'missing',
          where: { file: tariff.file, path: ['baseline'] },
          received: `no baseline for season ${quoteName(name)}${zone === undefined ? '' : ` in zone ${quoteName(zone)}`}`,
          expected: 'a baseline for every season and the home’s zone',
          hint: 'add it, or mend the account’s "baselineZone"',
        },
      ]);
    return found.kwhPerDay;
  });
}
