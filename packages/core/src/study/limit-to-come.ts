import { none, type Strategy } from '../dispatch/index.ts';
import { resolveService } from '../plant/inside.ts';
import type { Study } from '../site/index.ts';
import { isToCome } from '../site/inside.ts';
import { type Case, evaluate, withTariff } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';

/** What a limit takes from one run, and what the run costs with that. */
interface UnderLimit {
  /** Load that the limit keeps from being drawn, kWh. */
  readonly unservedKwh: number;
  /** Solar that it keeps from being sold and that nothing stores, kWh, beyond what is lost without the limit. */
  readonly lostKwh: number;
  /** The bill, and what the unserved kWh would have cost. */
  readonly cost: number;
}

/**
 * What limits of the service that are still to come will take from the home, on the days of the data: without the battery,
 * and with it under the strategy of the headline. Unserved kWh count as if they had been bought, in both: a kWh that stays
 * away saves nothing.
 *
 * @param strategy what the battery does; undefined where nothing that was run can be counted on
 * @returns undefined where no limit is to come
 */
export function limitToCome(study: Study, strategy: Strategy | undefined): Fact | undefined {
  const { site, home } = study;
  const { service } = site;
  if (service?.from === undefined || !isToCome(service, home.axis)) return undefined;
  const limits = resolveService(service);
  const limited = withTariff(home, home.tariff, {
    importLimitKw: Math.min(home.service.importLimitKw, limits.importLimitKw),
    exportLimitKw: Math.min(home.service.exportLimitKw, limits.exportLimitKw),
  });
  const without = underLimit(home, limited, none);
  const withIt = strategy === undefined ? undefined : underLimit(home, limited, strategy);
  const money =
    withIt === undefined || strategy === undefined || study.savingsWithheld !== undefined
      ? null
      : {
          strategy: strategy.name,
          savings: without.cost - withIt.cost,
          savingsNow: evaluate(home, none, ['bill']).bill.total - evaluate(home, strategy, ['bill']).bill.total,
          currency: home.tariff.currency,
          currencyDecimals: home.tariff.currencyDecimals,
        };
  const data = {
    from: service.from,
    importLimitKw: service.importLimitKw ?? null,
    exportLimitKw: service.exportLimitKw ?? null,
    without: { unservedKwh: without.unservedKwh, lostKwh: without.lostKwh },
    withBattery: withIt === undefined ? null : { unservedKwh: withIt.unservedKwh, lostKwh: withIt.lostKwh },
    money,
  };
  return fact(STUDY_WORDS, 'limit-to-come', 'warning', data, { path: ['service', 'from'] });
}

function underLimit(home: Case, limited: Case, strategy: Strategy): UnderLimit {
  const { bill, flows, energy, judged } = evaluate(limited, strategy, ['bill', 'flows', 'energy', 'judged']);
  const { importPricePerKwh } = home.tariff;
  let unservedCost = 0;
  // A kWh that is paid for being taken is worth no less than nothing.
  for (const [i, kwh] of (judged?.flows ?? flows).unservedKwh.entries())
    if (kwh > 0) unservedCost += kwh * Math.max(0, importPricePerKwh[i]!);
  const before = evaluate(home, strategy, ['energy']).energy.curtailedKwh;
  return {
    unservedKwh: energy.unservedKwh,
    lostKwh: Math.max(0, energy.curtailedKwh - before),
    cost: bill.total + unservedCost,
  };
}
