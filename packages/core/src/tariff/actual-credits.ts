import { plainLetters } from '../meter/inside.ts';
import type { ActualBill } from './causes.ts';

/** A card is no credit: it pays. */
const CARD =
  /\b(?:credit|debit|bank) ?cards?\b|\bkredit ?karten?\b|\bcarte (?:de credit|bancaire|bleue)\b|\btarjeta\b(?: de (?:credito|debito))?|\bcarta (?:di credito|di debito)\b/g;

/** What was paid, in six languages; letters without accents. */
const PAYMENT =
  /\bcard\b|\bpay(?:ment|ments|ed|pal)?\b|\bpaid\b|\bauto ?pay\b|\bdirect debit\b|\bthank you\b|\b\w*(?:zahlung|zahlungen|zahlungseingang)\b|\b(?:be|ge)zahlt\b|\b\w*lastschrift\w*|\babbuchung\w*|\buberweisung\w*|\bpaiements?\b|\bpayee?s?\b|\breglements?\b|\bprelevements?\b|\bvirements?\b|\bpagos?\b|\bpagad[oa]\b|\bdomiciliacion\b|\bpagament[oi]\b|\bpagat[oa]\b|\baddebito diretto\b|\bbonific[oi]\b|\bbetaling(?:en)?\b|\bbetaald\b|\bincasso\b|\boverboeking(?:en)?\b/;

/** What lowers a charge, in six languages; energy that was sold among it. */
const CREDIT =
  /\bcredits?\b|\brebates?\b|\bdiscounts?\b|\brefund\w*|\breversals?\b|\bcancel\w*|\bwaive[dr]?\b|\ballowance\b|\badjustment\b|\bbonus\w*|\b\w+bonus\b|\b\w*gutschrift\w*|\b\w*rabatte?\b|\b\w*nachlass\b|\b\w*erstattung\b|\bstorn\w+|\bermassigung\b|\b\w*vergutung\b|\bavoirs?\b|\bremises?\b|\brabais\b|\bristourne\b|\breductions?\b|\bremboursements?\b|\bannulation\b|\babonos?\b|\bdescuentos?\b|\bbonificacion(?:es)?\b|\bcreditos?\b|\bdevolucion\b|\banulacion\b|\baccredit[oi]\b|\bscont[oi]\b|\brimbors[oi]\b|\bcredit[oi]\b|\babbuon[oi]\b|\bkorting(?:en)?\b|\bcreditering\b|\bcreditnota\b|\bteruggave\b|\btegoed\b|\bterugbetaling\b|\bexport\w*|\bfeed ?in\b|\bsolar\b|\b\w*einspeis\w*|\binjection\b|\bexcedentes?\b|\bimmissione\b|\bteruglevering\b/;

/** What an amount below zero is, by the texts of its row; undefined where they don't say, or say both. */
export function creditKind(texts: readonly string[]): ActualBill['kind'] {
  const plain = plainLetters(texts.join(' | '))
    .toLowerCase()
    .replace(/[^\p{L}\p{N}|]+/gu, ' ')
    .replace(CARD, ' card ');
  // What is paid back is a credit.
  const paidBack = /\b(?:re|ruck|rueck|terug)(?:zahlung|betaling|payment)\b|\bpaid back\b/.test(plain);
  const isPayment = !paidBack && PAYMENT.test(plain);
  const isCredit = paidBack || CREDIT.test(plain);
  return isPayment === isCredit ? undefined : isPayment ? 'payment' : 'credit';
}

/** The columns that are named a credit in money, of those that hold nothing else. */
export function columnsOfCredit(head: readonly string[], taken: ReadonlySet<number>): number[] {
  return head.flatMap((name, c) =>
    !taken.has(c) && creditKind([name]) === 'credit' && !/\b(?:k|m)?[wv]a?h\b/.test(name) ? [c] : [],
  );
}
