import { civilDayOfDate } from '../axis/index.ts';
import { check, optional } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import type { Origin } from '../site/index.ts';
import { anOrigin } from '../site/inside.ts';
import { describeTariff, type Tariff } from '../tariff/index.ts';
import { provenanceOf } from './provenance.ts';
import type { TariffReport } from './tariff-report-schema.ts';

/**
 * What a tariff says on a day, in words and a week of prices for each season.
 *
 * @param date "2026-03-31"
 * @throws InputError on a tariff or a day that is none
 */
export function tariffReport(tariff: Tariff, date: string, origin?: Origin): TariffReport {
  check({ origin }, { origin: optional(anOrigin) });
  const described = describeTariff(tariff, date);
  const { name, utility, currency, version, sections, weeks, seriesLeftOut, ended, nextChange, warnings } = described;
  const civilDay = civilDayOfDate(date);
  return ownCopy({
    format: 'duskbank.tariff-description/1',
    provenance: provenanceOf(origin, { tariff, firstDay: civilDay, lastDay: civilDay }),
    date,
    name,
    utility,
    currency,
    currencyDecimals: tariff.currencyDecimals,
    version,
    sections,
    weeks,
    seriesLeftOut,
    ended,
    nextChange,
    warnings,
  });
}
