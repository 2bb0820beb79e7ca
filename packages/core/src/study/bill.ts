import { aDate } from '../axis/civil-day.ts';
import { anAxis } from '../axis/inside.ts';
import { series as aSeries, check, list, number, optional, record, text } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import type { Finding } from '../meter/index.ts';
import { someFindings } from '../meter/inside.ts';
import type { MeterCosts, PastInput } from '../site/index.ts';
import { type ActualBill, reconcileBills } from '../tariff/index.ts';
import { VERSION } from '../version.ts';
import { fact, factOf } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';
import type { BillReport } from './bill-schema.ts';
import { billPast } from './bills.ts';
import { billsOfCosts } from './cost-bills.ts';
import { provenanceOf, tariffOver } from './provenance.ts';
import { axisPart, moneyParts } from './report-parts.ts';

/** What {@link bill} needs. */
export interface BillInput extends PastInput {
  /** What reading the meter files found. */
  readonly findings?: readonly Finding[];
  /** The bills that the household got, to be set beside ours. */
  readonly actual?: readonly ActualBill[];
  /** What was read into their file, in words: it is told beside them. */
  readonly actualNotes?: readonly string[];
  /** What the meter files say that their energy cost, in place of `actual`: bills are made of it. */
  readonly actualCosts?: MeterCosts;
}

const someCosts = record<MeterCosts>({
  columns: list(record<MeterCosts['columns'][number]>({ axis: anAxis, values: aSeries({ gaps: true, length: null }) })),
  bills: list(record<MeterCosts['bills'][number]>({ start: aDate, end: aDate, total: number() })),
});

/**
 * The bills of the metered past, line by line, and beside those that were charged.
 * @throws InputError where the data can't carry a bill: gaps left, channels missing, series of another length or zone
 */
export function bill(input: BillInput): BillReport {
  const past = billPast(input);
  check(
    { findings: input.findings, actualCosts: input.actualCosts, actualNotes: input.actualNotes },
    { findings: optional(someFindings), actualCosts: optional(someCosts), actualNotes: optional(list(text)) },
  );
  const { site, tariff, tariffOptions, findings = [], actualCosts } = input;
  const { axis } = past.tariff;
  const told = actualCosts === undefined || actualCosts.bills.length === 0 ? undefined : actualCosts.bills;
  const ofCosts =
    input.actual !== undefined || told !== undefined || actualCosts === undefined
      ? undefined
      : billsOfCosts(actualCosts.columns, past.tariff);
  const actual = input.actual ?? told ?? ofCosts?.bills;
  const warnings = [...findings.filter((finding) => finding.severity !== 'note').map(factOf), ...past.warnings];
  if (ofCosts !== undefined && ofCosts.leftOut.length > 0)
    warnings.push(
      fact(HOME_WORDS, 'cost-missing', 'warning', { periods: ofCosts.leftOut }, { path: ['meter', 'files'] }),
    );
  const reconciled =
    actual === undefined
      ? undefined
      : reconcileBills(tariff, axis, { ...tariffOptions, account: site.account }, past.flows, actual);
  return ownCopy({
    format: 'duskbank.bill/1',
    version: VERSION,
    site: site.name,
    axis: axisPart(axis, input.series.axis.stepMinutes),
    provenance: provenanceOf(input.origin, tariffOver(tariff, axis)),
    tariff: tariff.name,
    ...moneyParts(past.tariff),
    periods: past.bill.periods.map(({ start, end, lines, total }, p) => {
      const { days, fullDays } = past.tariff.periods[p]!;
      return { start, end, days, fullDays, lines, total };
    }),
    total: past.bill.total,
    baseline: past.baseline,
    actual:
      reconciled === undefined
        ? null
        : {
            from: input.actual !== undefined ? 'bills' : told === undefined ? 'meter-file' : 'meter-file-bills',
            ...reconciled,
            notes: [...(input.actual === undefined ? [] : (input.actualNotes ?? [])), ...reconciled.notes],
          },
    warnings,
  });
}
