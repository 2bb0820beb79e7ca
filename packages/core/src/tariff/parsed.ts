import { anything, optional, type Rule, record, report, text, unlessMadeHere } from '../input/door.ts';
import { sameData } from '../input/same-data.ts';
import { resolveTariff } from './resolve/tariff.ts';
import type { Tariff } from './tariff.ts';

/** A tariff that `parseTariff` made, or a copy of one: its document is resolved again then, and must give the same. */
export const aTariff: Rule = unlessMadeHere('tariff', (value, path, looking) => {
  const before = looking.issues.length;
  record<Pick<Tariff, 'document' | 'file'>>({ document: anything, file: optional(text) })(value, path, looking);
  if (looking.issues.length > before || isResolved(value as Tariff)) return;
  const hint = 'change the document, and let parseTariff read it again';
  report(looking, path, 'not-parsed', value, 'a tariff that parseTariff gave', hint);
});

function isResolved(tariff: Tariff): boolean {
  try {
    return sameData(resolveTariff(tariff.document, tariff.file).tariff, tariff);
  } catch {
    // A document that no schema has looked at may lack anything: then this is no tariff of ours.
    return false;
  }
}
