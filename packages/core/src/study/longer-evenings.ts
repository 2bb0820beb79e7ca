import { type FoundSheets, followSheet } from '../dispatch/index.ts';
import { summarizeBackup } from '../outage/index.ts';
import { perYear, type Study, spanDays } from '../site/index.ts';
import { coversYear } from '../site/inside.ts';
import { type Abort, evaluate } from '../trial/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { STUDY_WORDS } from '../words/study.ts';
import { isIslandKnown } from './island-known.ts';

/** Longer by less than this share, or by fewer hours, is no remark: it takes a good part of the first screen. */
const WORTH_SAYING = { share: 0.25, hours: 1 };

/**
 * Another sheet that is about as cheap as the printed one and lasts longer on weekday evenings, where there is one: both run over the
 * whole past. The printed one is the one that lasts longest at any hour, and on evenings of those that last as long: what is named here
 * lasts less at other hours, or loses too much on weeks that it wasn't found on. Evenings are what a household thinks of first.
 */
export function longerEvenings(study: Study, sheets: FoundSheets, signal?: Abort): Fact[] {
  const { home } = study;
  const { evenings: other, all } = sheets;
  if (other === undefined || all.reservePercent === 100 || !isIslandKnown(study) || study.savingsWithheld !== undefined)
    return [];
  const { axis, tariff } = home;
  const [ours, its] = [all, other].map((sheet) => {
    const { bill, backupHours } = evaluate(home, followSheet(sheet), ['bill', 'backupHours'], { signal });
    const { allHours, weekdayEvenings } = summarizeBackup(axis, backupHours!);
    return { total: bill.total, hours: allHours.p10, evenings: weekdayEvenings.p10 };
  }) as [Seen, Seen];
  const longer = its.evenings - ours.evenings;
  if (longer < Math.max(WORTH_SAYING.hours, WORTH_SAYING.share * ours.evenings)) return [];
  return [
    fact(STUDY_WORDS, 'sheet-lasts-on-evenings', 'warning', {
      schedules: other.schedules.map(({ months, days, charge, chargeToPercent, discharge }) => ({
        months,
        days,
        charge,
        chargeToPercent,
        discharge,
      })),
      eveningHours: its.evenings,
      hours: its.hours,
      printedEveningHours: ours.evenings,
      printedHours: ours.hours,
      moreSavedPerYear: (ours.total - its.total) * perYear(axis),
      shortDays: coversYear(axis) ? null : spanDays(axis),
      currency: tariff.currency,
      currencyDecimals: tariff.currencyDecimals,
    }),
  ];
}

/** What one of the two came to. */
interface Seen {
  readonly total: number;
  readonly hours: number;
  readonly evenings: number;
}
